"""Conductor colours by the policy of a country, and the return conductor of a run."""

from __future__ import annotations

from collections.abc import Sequence

from catalog.kinds.capabilities import Conducting
from quoting.sizing.parts import Able, Catalogue
from quoting.sizing.policy import Policy

POSITIVE_COLOURS: dict[str, tuple[str, ...]] = {"red": ("red",), "brown": ("brown",)}
"""Policy value -> colours of the catalogue. Red ISO 10133:2012, 6; brown HD 308 S2, two-wire DC (M)."""

NEGATIVE_COLOURS: dict[str, tuple[str, ...]] = {
    "black_or_yellow": ("black", "yellow"),
    "black": ("black",),
    "yellow": ("yellow",),
    "blue": ("blue",),
    "grey": ("grey",),
    "white": ("white",),
}
"""Policy value -> colours of the catalogue. Black or yellow ISO 10133:2012, 6; blue (earthed) and grey (not earthed)
HD 308 S2, white IEC 60445:2021 (M)."""


def positive_of(policy: Policy) -> tuple[str, ...]:
    """Colours that a positive conductor may have."""
    return POSITIVE_COLOURS[policy.positive_colour]


def negative_of_policy(policy: Policy) -> tuple[str, ...]:
    """Colours that a negative conductor may have."""
    return NEGATIVE_COLOURS[policy.negative_colour]


def return_for(
    parts: Catalogue, colours: Sequence[str], area_mm2: float, insulation_c: float
) -> Able[Conducting] | None:
    """The return conductor of a run: of at least its area and class, the thinnest first, then the cheapest."""

    def find() -> Able[Conducting] | None:
        fits = (
            a
            for a in parts.having(Conducting)
            if a.can.colour in colours
            and a.can.area_mm2 >= area_mm2 - 1e-9
            and a.can.insulation_c >= insulation_c - 1e-9
        )
        return min(fits, key=lambda a: (a.can.area_mm2, a.order), default=None)

    found: Able[Conducting] | None = parts.remember(("return", tuple(colours), area_mm2, insulation_c), find)
    return found
