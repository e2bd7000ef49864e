"""Heat-shrink over every crimp: how long, how wide, of what temperature.

A ferrule has a collar of its own and is clamped bare; a coupling's contact sits in its housing. Neither is covered.
"""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Mapping

from catalog.kinds.capabilities import Conducting, Sleeving
from quoting.sizing.bill_lines import METRE, Count
from quoting.sizing.bill_uses import Uses, step_of
from quoting.sizing.parts import Able, Catalogue
from quoting.sizing.sleeves import hottest_c
from quoting.sizing.sleeves_fill import estimated_outside_mm
from quoting.sizing.wiring_records import CablePiece

LENGTHS_OVER: Mapping[str, int] = {"ring": 1, "blade": 1, "butt": 2}
"""Form of a terminal -> lengths of heat-shrink over it; a joint is covered over both its conductors. C"""

SLIDES_ON, GRIPS = 1.1, 0.9
"""Inside before and after shrinking, over the conductor's outside: it slides on before, and grips after. C"""


def heat_shrink(count: Count) -> None:
    """Count heat-shrink over the crimps of every piece, the narrowest that slides on and grips, by the metre.

    A crimp that no heat-shrink of the catalogue covers is told.
    """
    each_m = count.brief.policy.shrink_length_mm / 1000
    uses: dict[str, Uses] = defaultdict(Uses)
    tags: dict[str, list[str]] = defaultdict(list)
    crimps: dict[str, int] = defaultdict(int)
    for piece in count.wiring.pieces:
        forms = [] if piece.stays else [e for e in piece.ends if e.terminal and e.form in LENGTHS_OVER]
        if not forms:
            continue
        tube = tube_for(count, piece)
        if tube is None:
            count.lacks("heat_shrink")
            continue
        key, step = tube.part.key, step_of(count.circuits.get(piece.circuit))
        for end in forms:
            uses[key].add(step, end.position, LENGTHS_OVER[end.form] * each_m)
            crimps[key] += 1
        tags[key].append(piece.circuit)
    for key, used in uses.items():
        count.add(
            key, "heat_shrink", used, tags[key], unit=METRE, spare_ratio=count.spare_ratio, crimps=crimps[key],
            each_mm=count.brief.policy.shrink_length_mm, bought_over_ratio=count.spare_ratio,
        )  # fmt: skip


def outside_mm(count: Count, piece: CablePiece) -> float:
    """Outside of a piece's conductor, as its maker states it or as such conductors have it. [mm]"""
    stated = count.parts.can(piece.part, Conducting).outside_mm if piece.part else None
    return stated if stated is not None else estimated_outside_mm(piece.area_mm2)


def tube_for(count: Count, piece: CablePiece) -> Able[Sleeving] | None:
    """The narrowest heat-shrink for a piece's ends: it slides over the conductor, grips it and stands its heat."""
    across, circuit = outside_mm(count, piece), count.circuits.get(piece.circuit)
    hot_c = math.ceil(hottest_c([circuit], circuit.ambient_c)) if circuit is not None else 0
    found: Able[Sleeving] | None = count.parts.remember(
        ("tube", across, hot_c), lambda: _narrowest(count.parts, across, hot_c)
    )
    return found


def _narrowest(parts: Catalogue, across: float, hot_c: float) -> Able[Sleeving] | None:
    fits = [
        a
        for a in parts.having(Sleeving)
        if a.can.form == "heat_shrink"
        and a.can.shrunk_mm is not None
        and a.can.inner_mm >= SLIDES_ON * across
        and a.can.shrunk_mm <= GRIPS * across
        and a.can.max_c >= hot_c
    ]
    return min(fits, key=lambda a: (a.can.inner_mm, a.order), default=None)
