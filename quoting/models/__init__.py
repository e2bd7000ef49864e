"""What we propose, what was frozen, and the papers made from it."""

from quoting.models.archive import Archive
from quoting.models.background import BackgroundJob
from quoting.models.circuits import CircuitChange, ExistingCircuit, InputPlace, OutputPlace
from quoting.models.design import Design
from quoting.models.document import Document
from quoting.models.fleet import FleetItem, FleetRun
from quoting.models.package_price import PackagePrice
from quoting.models.quote import Line, Offer, Quote, Revision
from quoting.models.selection import JobPicks, OfferName, Proposal, Selection
from quoting.models.sheets import SheetImport, SheetMapping
from quoting.models.snapshot import PersonalBlock, PersonalKey, Snapshot

__all__ = [
    "Archive",
    "BackgroundJob",
    "CircuitChange",
    "Design",
    "Document",
    "ExistingCircuit",
    "FleetItem",
    "FleetRun",
    "InputPlace",
    "JobPicks",
    "Line",
    "Offer",
    "OfferName",
    "OutputPlace",
    "PackagePrice",
    "PersonalBlock",
    "PersonalKey",
    "Proposal",
    "Quote",
    "Revision",
    "Selection",
    "SheetImport",
    "SheetMapping",
    "Snapshot",
]
