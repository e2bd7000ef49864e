"""What the workshop knows before there is a job."""

from catalog.models.appliance import Appliance
from catalog.models.component import Component, PriceChange
from catalog.models.labour import LabourOperation
from catalog.models.site import MONTHS, Site
from catalog.models.supplier import Supplier

__all__ = ["MONTHS", "Appliance", "Component", "LabourOperation", "PriceChange", "Site", "Supplier"]
