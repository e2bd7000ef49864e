"""What opens on overcurrent, what holds it, and what parts a circuit by hand."""

from __future__ import annotations

from catalog.kinds import declare
from catalog.kinds.base import Field, Kind, Spec
from catalog.kinds.capabilities import Capability, Holding, Isolating, Protecting
from catalog.kinds.common import choice, count, number, yes_no
from catalog.kinds.landing import STUD, landed

SERIES = (
    ("blade_f", "blade, small (ISO 8820-3 type F)"),
    ("blade_c", "blade (ISO 8820-3 type C)"),
    ("blade_e", "blade, large (ISO 8820-3 type E)"),
    ("bolt_b", "bolt-in (ISO 8820-4 type B)"),
    ("strip_30", "strip, 30 mm (ISO 8820-5 SF30)"),
    ("strip_51", "strip, 51 mm (ISO 8820-5 SF51)"),
    ("stud", "stud-mounted block, M8"),
    ("class_t", "high breaking (UL 248-15 class T)"),
    ("cartridge_38", "cartridge, 10 × 38 mm (IEC 60269-2)"),
)
"""Shapes of fuse-links by the standard that gives them; a link fits holders of its own series only."""

BREAKING = number(
    "breaking_a",
    "Breaking capacity",
    "A",
    50,
    200000,
    "At its highest voltage. Left empty it counts as not stated, and the device is never chosen where a fault decides.",
    required=False,
    rating="breaks {}",
)


def _protecting(spec: Spec, *, form: str, series: str, needs_holder: bool) -> Protecting:
    return Protecting(
        form=form,
        series=series,
        rating_a=spec["rating_a"],
        breaking_a=spec["breaking_a"],
        max_v=spec["max_v"],
        resistance_ohm=spec["resistance_ohm"],
        min_melting_s_at_2x=spec["min_opening_s_at_2x"],
        needs_holder=needs_holder,
    )


FUSE = declare(
    Kind(
        code="fuse",
        label="fuse",
        plural="fuses",
        group="distribution",
        help="A fuse-link; its holder is a part of its own.",
        fields=(
            number("rating_a", "Rating", "A", 0.5, 1000, rating="{}"),
            BREAKING,
            choice("series", "Series", SERIES, "It fits holders of the same series.", rating="{}"),
            number("max_v", "Highest voltage", "V", 12, 1500, "Direct current."),
            number("resistance_ohm", "Cold resistance", "Ω", 0.00001, 1, "From the maker's drop at rated current."),
            number(
                "min_opening_s_at_2x",
                "Shortest opening time at twice the rating",
                "s",
                0,
                600,
                "For inrush; zero when not known.",
                default=0.0,
            ),
        ),
        capabilities=lambda spec: (_protecting(spec, form="fuse", series=spec["series"], needs_holder=True),),
    )
)

FUSE_HOLDER = declare(
    Kind(
        code="fuse_holder",
        label="fuse holder",
        plural="fuse holders",
        group="distribution",
        help="Holds fuse-links of one series, one or several ways.",
        fields=(
            choice("series", "Series", SERIES, rating="{}"),
            number("max_rating_a", "Largest fuse", "A", 1, 1000, "In one way.", rating="up to {}"),
            count("ways", "Ways", 1, 48, default=1),
            number("max_v", "Highest voltage", "V", 12, 1500),
            STUD,
        ),
        capabilities=landed(
            lambda spec: (
                Holding(
                    series=spec["series"], max_rating_a=spec["max_rating_a"], ways=spec["ways"], max_v=spec["max_v"]
                ),
            )
        ),
    )
)


def _breaker(spec: Spec) -> tuple[Capability, ...]:
    can: tuple[Capability, ...] = (_protecting(spec, form="breaker", series="", needs_holder=False),)
    if spec["isolates"]:
        can += (Isolating(spec["rating_a"], spec["max_v"], spec["poles"], spec["resistance_ohm"]),)
    return can


CIRCUIT_BREAKER = declare(
    Kind(
        code="circuit_breaker",
        label="circuit breaker",
        plural="circuit breakers",
        group="distribution",
        help="For direct current; it stands by itself and needs no holder.",
        fields=(
            number("rating_a", "Rating", "A", 0.5, 1000, rating="{}"),
            BREAKING,
            number("max_v", "Highest voltage", "V", 12, 1500, "Direct current.", rating="{}"),
            count("poles", "Poles", 1, 4, default=1),
            number("resistance_ohm", "Resistance of a pole", "Ω", 0.00001, 1),
            number("min_opening_s_at_2x", "Shortest opening time at twice the rating", "s", 0, 600, default=0.0),
            yes_no("isolates", "Serves as an isolator", "Can be switched off by hand and says so."),
            STUD,
        ),
        capabilities=landed(_breaker),
    )
)

ISOLATOR = declare(
    Kind(
        code="isolator",
        label="isolator",
        plural="isolators",
        group="distribution",
        help="Parts a circuit by hand.",
        fields=(
            number("rating_a", "Rating", "A", 5, 2000, "Continuous.", rating="{}"),
            number("max_v", "Highest voltage", "V", 12, 1500, "Direct current.", rating="{}"),
            Field("poles", "Poles", "integer", "", 1, 4, default=1),
            number("resistance_ohm", "Resistance of a pole", "Ω", 0.00001, 0.01, default=0.0002),
            STUD,
        ),
        capabilities=landed(
            lambda spec: (
                Isolating(
                    rating_a=spec["rating_a"],
                    max_v=spec["max_v"],
                    poles=spec["poles"],
                    resistance_ohm=spec["resistance_ohm"],
                ),
            )
        ),
    )
)
