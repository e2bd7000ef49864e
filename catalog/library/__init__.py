"""What an empty workshop starts with; see README.md here for where the figures come from."""

from __future__ import annotations

import csv
from pathlib import Path

from catalog.library.appliances import APPLIANCES, SOURCE
from catalog.library.assemblies import ASSEMBLIES
from catalog.library.components import COMPONENTS, SUPPLIERS
from catalog.library.labour import LABOUR

__all__ = ["APPLIANCES", "ASSEMBLIES", "COMPONENTS", "LABOUR", "SOURCE", "SUPPLIERS", "site_rows"]

SITES = Path(__file__).with_name("sites.csv")


def site_rows() -> list[dict[str, str]]:
    """Rows of ``sites.csv`` as they are written there."""
    with SITES.open(encoding="utf-8", newline="") as file:
        return list(csv.DictReader(file))
