"""An invented component catalogue. Makers, part numbers and prices are made up; nothing here can be bought.

Each entry: kind, name, maker, part_number, supplier, cost, mass_kg, stock, lead_days, spec. One file for each family.
"""

from __future__ import annotations

from typing import Any

from catalog.library.components.charging import CHARGING
from catalog.library.components.conductors import CONDUCTORS, COVERING
from catalog.library.components.conversion import CONVERSION
from catalog.library.components.distribution import DISTRIBUTION
from catalog.library.components.fittings import COMFORT, HOLDING, NAMING, SENSING, SHIELDING
from catalog.library.components.making import SUPPLIERS
from catalog.library.components.protection import PROTECTION
from catalog.library.components.storage import BATTERIES, WATCHING

__all__ = ["COMPONENTS", "SUPPLIERS"]

COMPONENTS: list[dict[str, Any]] = [
    *BATTERIES,
    *CHARGING,
    *CONVERSION,
    *DISTRIBUTION,
    *WATCHING,
    *PROTECTION,
    *CONDUCTORS,
    *COVERING,
    *SENSING,
    *HOLDING,
    *SHIELDING,
    *COMFORT,
    *NAMING,
]
