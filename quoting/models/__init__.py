"""What we propose, what was frozen, and the papers made from it."""

from quoting.models.archive import Archive
from quoting.models.background import BackgroundJob
from quoting.models.circuits import CircuitChange, ExistingCircuit, InputPlace, OutputPlace
from quoting.models.design import Design
from quoting.models.document import Document
from quoting.models.package_price import PackagePrice
from quoting.models.quote import Line, Offer, Quote, Revision
from quoting.models.sheets import SheetImport, SheetMapping
from quoting.models.snapshot import PersonalBlock, PersonalKey, Snapshot

__all__ = [
    "Archive",
    "BackgroundJob",
    "CircuitChange",
    "Design",
    "Document",
    "ExistingCircuit",
    "InputPlace",
    "Line",
    "Offer",
    "OutputPlace",
    "PackagePrice",
    "PersonalBlock",
    "PersonalKey",
    "Quote",
    "Revision",
    "SheetImport",
    "SheetMapping",
    "Snapshot",
]
