"""Records of the workshop: people, customers, vehicles, jobs, what is installed."""

from fitouts.models.audit import Requirement, TripStop
from fitouts.models.customer import Contact, Customer
from fitouts.models.fitout import COURSE, Fitout, Placement, Stage, StageEvent
from fitouts.models.found import Defect, FoundPart
from fitouts.models.installed import (
    BuildTick,
    Commissioning,
    FittedPart,
    InstalledComponent,
    InstalledSystem,
    Instrument,
    Reading,
)
from fitouts.models.package import FitoutAssembly, JobPackage
from fitouts.models.people import User
from fitouts.models.sensing import SensePoint
from fitouts.models.space import BatterySpace, RoofArea
from fitouts.models.towing import Hitch
from fitouts.models.vehicle import Vehicle, VehiclePhoto, VehiclePosition, VehicleRun
from fitouts.models.workshop import Counter, Markup, TaxRate, Workshop

__all__ = [
    "COURSE",
    "BatterySpace",
    "BuildTick",
    "Commissioning",
    "Contact",
    "Counter",
    "Customer",
    "Defect",
    "Fitout",
    "FitoutAssembly",
    "FittedPart",
    "FoundPart",
    "Hitch",
    "InstalledComponent",
    "InstalledSystem",
    "Instrument",
    "JobPackage",
    "Markup",
    "Placement",
    "Reading",
    "Requirement",
    "RoofArea",
    "SensePoint",
    "Stage",
    "StageEvent",
    "TaxRate",
    "TripStop",
    "User",
    "Vehicle",
    "VehiclePhoto",
    "VehiclePosition",
    "VehicleRun",
    "Workshop",
]
