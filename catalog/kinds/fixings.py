"""What holds, covers and names the parts, and what is used up in the work."""

from __future__ import annotations

from catalog.kinds import declare
from catalog.kinds.base import Field, Kind, Problem, Spec
from catalog.kinds.capabilities import Sleeving
from catalog.kinds.capabilities_fitting import Consuming, Insulating, Labelling, Mounting
from catalog.kinds.common import choice, conflict, count, number, yes_no

COVERS = (("conduit", "split conduit"), ("sleeve", "braided sleeve"), ("heat_shrink", "heat-shrink"))
"""What conductors run in, cut by the metre."""


def _outside_is_outside(spec: Spec) -> tuple[Problem, ...]:
    if spec["outside_mm"] is not None and spec["outside_mm"] <= spec["inner_mm"]:
        return conflict(
            "outside_mm",
            f"The outside, {spec['outside_mm']:g} mm, must be above the inside, {spec['inner_mm']:g} mm.",
        )
    return ()


def _shrinks(spec: Spec) -> tuple[Problem, ...]:
    if spec["form"] != "heat_shrink":
        if spec["shrunk_mm"] is not None:
            return conflict("shrunk_mm", "Only heat-shrink has an inside after shrinking.")
        return ()
    if spec["shrunk_mm"] is None:
        return (Problem("shrunk_mm", "missing", minimum=0.2, maximum=100, unit="mm"),)
    if spec["shrunk_mm"] >= spec["inner_mm"]:
        return conflict(
            "shrunk_mm",
            f"After shrinking {spec['shrunk_mm']:g} mm must be below {spec['inner_mm']:g} mm before it.",
        )
    return ()


CONDUIT = declare(
    Kind(
        code="conduit",
        label="conduit or sleeving",
        plural="conduit and sleeving",
        group="conductors",
        priced_per="metre",
        help="Covers conductors along their run, by the metre.",
        fields=(
            choice("form", "Form", COVERS, rating="{}"),
            number("inner_mm", "Inside", "mm", 0.5, 100, "Before shrinking, where it shrinks.", rating="inside {}"),
            number("outside_mm", "Outside", "mm", 0.6, 120, required=False),
            number("shrunk_mm", "Inside after shrinking", "mm", 0.2, 100, required=False, rating="shrinks to {}"),
            number("max_c", "Hottest", "°C", 60, 300, "In continuous use.", rating="{}"),
        ),
        capabilities=lambda spec: (
            Sleeving(
                inner_mm=spec["inner_mm"],
                form=spec["form"],
                max_c=spec["max_c"],
                outside_mm=spec["outside_mm"],
                shrunk_mm=spec["shrunk_mm"],
            ),
        ),
        checks=(_outside_is_outside, _shrinks),
    )
)


def _fits_the_hole(spec: Spec) -> tuple[Problem, ...]:
    if spec["inner_mm"] >= spec["hole_mm"]:
        return conflict(
            "inner_mm",
            f"What passes, {spec['inner_mm']:g} mm, must be thinner than the hole, {spec['hole_mm']:g} mm.",
        )
    return ()


GROMMET = declare(
    Kind(
        code="grommet",
        label="grommet or gland",
        plural="grommets and glands",
        group="conductors",
        help="Where a conductor passes through sheet metal. No conductor passes a bare edge.",
        fields=(
            number("hole_mm", "Hole", "mm", 2, 120, "In the sheet.", rating="hole {}"),
            number("inner_mm", "Passes", "mm", 1, 110, "The thickest cable or conduit.", rating="up to {}"),
            count("ways", "Ways", 1, 20, "How many of that thickness it passes, each by itself.", default=1),
            number("sheet_mm", "Thickest sheet", "mm", 0.5, 30, required=False),
            yes_no("watertight", "Watertight", "A gland that keeps spray out, as on a roof."),
            number("max_c", "Hottest", "°C", 60, 300, default=90.0),
        ),
        capabilities=lambda spec: (
            Sleeving(
                inner_mm=spec["inner_mm"],
                form="grommet",
                max_c=spec["max_c"],
                watertight=spec["watertight"],
                ways=spec["ways"],
            ),
        ),
        checks=(_fits_the_hole,),
    )
)

HOLDS = (
    ("battery", "a battery"),
    ("panel", "a solar panel"),
    ("inverter", "an inverter"),
    ("board", "a distribution board"),
    ("tank", "a tank"),
)


def _size_is_a_size(spec: Spec) -> tuple[Problem, ...]:
    if spec["width_mm"] > spec["length_mm"]:
        return conflict(
            "width_mm",
            f"The width, {spec['width_mm']:g} mm, is above the length, {spec['length_mm']:g} mm; turn them round.",
        )
    return ()


MOUNTING = declare(
    Kind(
        code="mounting",
        label="mounting",
        plural="mountings",
        group="fittings",
        help="Holds one part in place, in a crash as well. What it is bolted to must hold as much.",
        fields=(
            choice("what", "For", HOLDS, rating="for {}"),
            number("carries_kg", "Carries", "kg", 0.1, 500, "As the maker allows in a vehicle.", rating="{}"),
            number("length_mm", "Length", "mm", 20, 3000, "Of what it holds, at most.", rating="{} long"),
            number("width_mm", "Width", "mm", 20, 2000, "Of what it holds, at most.", rating="{} wide"),
            number("height_mm", "Height", "mm", 5, 2000, "Of what it holds, at most.", required=False),
        ),
        capabilities=lambda spec: (
            Mounting(
                what=spec["what"],
                carries_kg=spec["carries_kg"],
                length_mm=spec["length_mm"],
                width_mm=spec["width_mm"],
                height_mm=spec["height_mm"],
            ),
        ),
        checks=(_size_is_a_size,),
    )
)

COVERED = (("bar", "busbar"), ("post", "post or stud"))


def _bars_have_studs(spec: Spec) -> tuple[Problem, ...]:
    if spec["over"] == "post" and spec["studs"] != 1:
        return conflict("studs", f"A cover of one post goes over one stud, not {spec['studs']}.")
    return ()


INSULATING_COVER = declare(
    Kind(
        code="insulating_cover",
        label="insulating cover",
        plural="insulating covers",
        group="distribution",
        help="Over live metal, so that no tool and nothing stowed bridges it.",
        fields=(
            choice("over", "Over", COVERED, rating="over a {}"),
            number("stud_mm", "Largest stud", "mm", 3, 30, "Or post.", rating="studs up to {}"),
            count("studs", "Studs", 1, 100, "Of the busbar, at most.", default=1),
        ),
        capabilities=lambda spec: (Insulating(over=spec["over"], stud_mm=spec["stud_mm"], studs=spec["studs"]),),
        checks=(_bars_have_studs,),
    )
)

PURPOSES = (
    ("warning", "warning"),
    ("shut_off", "where to shut off"),
    ("device", "device"),
    ("circuit", "circuit list"),
    ("conductor", "conductor"),
)
HAZARDS = (
    ("none", "none in particular"),
    ("two_sources", "several sources of power"),
    ("daylight", "live in daylight"),
    ("hydrogen", "gives off hydrogen"),
    ("battery", "short-circuit current of a battery"),
    ("mains", "mains voltage"),
)

LABEL = declare(
    Kind(
        code="label",
        label="label",
        plural="labels",
        group="fittings",
        help="Says what a conductor, a device or a hazard is, to whoever opens it in ten years.",
        fields=(
            choice("purpose", "Names", PURPOSES, rating="{}"),
            choice(
                "hazard",
                "Warns of",
                HAZARDS,
                "A design asks for a warning by what it warns of.",
                default="none",
                rating="{}",
            ),
            Field("text", "Text", "text", required=False, default="", help="Empty where it is written on the job."),
            number("length_mm", "Length", "mm", 5, 500, rating="{} long"),
            number("width_mm", "Width", "mm", 3, 300, rating="{} wide"),
            Field("in_pack", "In a pack", "integer", "", 1, 5000, default=1),
            number("max_c", "Hottest", "°C", 40, 250, "Where it stays legible.", default=80.0),
        ),
        capabilities=lambda spec: (
            Labelling(
                text=spec["text"] or "",
                length_mm=spec["length_mm"],
                width_mm=spec["width_mm"],
                purpose=spec["purpose"],
                hazard="" if spec["hazard"] == "none" else spec["hazard"],
                pack=spec["in_pack"],
            ),
        ),
        checks=(_size_is_a_size,),
    )
)

USED_UP = (
    ("tie", "cable ties"),
    ("tape", "tape"),
    ("sealant", "sealant"),
    ("adhesive", "adhesive"),
    ("fastener", "screws and bolts"),
    ("clip", "clips"),
    ("grease", "contact grease"),
    ("cleaner", "cleaner"),
    ("solder", "solder"),
    ("other", "other"),
)
PACKS = (("pieces", "pieces"), ("length_m", "m"), ("content_ml", "ml"), ("content_kg", "kg"))
"""The fields that say how much is in a pack, one of them for each consumable, with the unit."""


def _one_pack(spec: Spec) -> tuple[Problem, ...]:
    stated = [f"{spec[name]:g} {unit}" for name, unit in PACKS if spec[name] is not None]
    if not stated:
        return conflict("pieces", "Say how much is in a pack: pieces, m, ml or kg.")
    if len(stated) > 1:
        return conflict("pieces", f"A pack holds one of these, not {' and '.join(stated)}.")
    return ()


def _consuming(spec: Spec) -> tuple[Consuming, ...]:
    name, unit = next((name, unit) for name, unit in PACKS if spec[name] is not None)
    return (Consuming(what=spec["what"], pack=float(spec[name]), unit=unit, most_mm=spec["most_mm"]),)


CONSUMABLE = declare(
    Kind(
        code="consumable",
        label="consumable",
        plural="consumables",
        group="fittings",
        help="Used up in the work and bought by the pack. What is not listed by itself is in a quote's small parts.",
        fields=(
            choice("what", "What", USED_UP, rating="{}"),
            Field(
                "pieces",
                "Pieces",
                "integer",
                "",
                1,
                100000,
                False,
                help="In a pack.",
                in_rating=True,
                rating_words="{} pieces",
            ),
            number("length_m", "Length", "m", 0.1, 1000, "Of a roll.", required=False, rating="{}"),
            number("content_ml", "Content", "ml", 1, 25000, "Of a tube, tin or bottle.", required=False, rating="{}"),
            number("content_kg", "Mass of the content", "kg", 0.001, 50, required=False, rating="{}"),
            Field(
                "size",
                "Size",
                "text",
                required=False,
                default="",
                help="As people ask for it: M6 × 20.",
                in_rating=True,
            ),
            number(
                "most_mm", "Holds up to", "mm", 1, 500, "Of a tie or clip: the thickest it goes round.", required=False
            ),
            number("keeps_months", "Keeps for", "", 1, 240, "Months on the shelf, where it ages.", required=False),
        ),
        capabilities=_consuming,
        checks=(_one_pack,),
    )
)
