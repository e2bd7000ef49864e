"""What the workshop knows before there is a job."""

from catalog.models.appliance import Appliance
from catalog.models.assembly import Assembly, AssemblyLine, AssemblyVersion
from catalog.models.component import Component, PriceChange
from catalog.models.desk import BulkAction, BulkChange, RecentItem, SavedFilter, SearchWord
from catalog.models.labour import LabourOperation
from catalog.models.site import MONTHS, MadeFrom, Site
from catalog.models.supplier import Supplier

__all__ = [
    "MONTHS",
    "Appliance",
    "Assembly",
    "AssemblyLine",
    "AssemblyVersion",
    "BulkAction",
    "BulkChange",
    "Component",
    "LabourOperation",
    "MadeFrom",
    "PriceChange",
    "RecentItem",
    "SavedFilter",
    "SearchWord",
    "Site",
    "Supplier",
]
