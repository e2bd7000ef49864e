"""Cable and terminals of an offer in a few lines that can be read: what is laid, of which area, and its exact sum."""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal
from typing import Any

from django.utils.translation import gettext as _

from catalog import kinds
from catalog.kinds.capabilities import Conducting, Terminating
from catalog.kinds.conductors import COLOURS
from quoting.documents.common import Frozen
from quoting.documents.speech import decimal, quantity


@dataclass(frozen=True, slots=True)
class OfferLine:
    """A line of the offer as it is printed, or several of the snapshot's in one."""

    name: str
    quantity: Decimal
    unit: str
    each: Decimal | None
    """Price of one; ``None`` where lines of several prices or roundings stand in one."""
    amount: Decimal


def offer_lines(frozen: Frozen, offer: dict[str, Any] | None = None) -> dict[str, tuple[OfferLine, ...]]:
    """Lines by their group: cable of one area in one line, all terminals in one; everything else as it was frozen.

    Amounts are the snapshot's own, added up: a group's sum is the same folded and unfolded. Without ``offer`` those
    of the one that leads.
    """
    groups: dict[str, dict[tuple[str, ...], list[dict[str, Any]]]] = {}
    named = {part["name"]: part for part in frozen.parts.values()}
    what: dict[tuple[str, tuple[str, ...]], list[Conducting | Terminating | None]] = {}
    for number, line in enumerate((offer or frozen.body["offer"])["lines"]):
        can = _can(named, line["name"])
        if isinstance(can, Conducting):
            key: tuple[str, ...] = ("cable", f"{can.area_mm2:012.4f}", line["unit"])
        elif isinstance(can, Terminating):
            key = ("terminal", line["unit"])
        else:
            key = ("line", str(number))
        groups.setdefault(line["group"], {}).setdefault(key, []).append(line)
        what.setdefault((line["group"], key), []).append(can)
    return {
        group: tuple(_folded(key, same, what[group, key]) for key, same in _ordered(keys))
        for group, keys in groups.items()
    }


def _ordered(
    keys: dict[tuple[str, ...], list[dict[str, Any]]],
) -> list[tuple[tuple[str, ...], list[dict[str, Any]]]]:
    """Single lines where they stood, then cable from the thickest, then terminals."""
    cable = sorted((key for key in keys if key[0] == "cable"), reverse=True)
    rest = [key for key in keys if key[0] == "line"]
    return [(key, keys[key]) for key in [*rest, *cable, *(key for key in keys if key[0] == "terminal")]]


def _can(named: dict[str, dict[str, Any]], name: str) -> Conducting | Terminating | None:
    """What the part of a line does, when it is a conductor or a terminal. A line ends in its part's own name."""
    part = named.get(name) or named.get(name.rpartition("(")[2].removesuffix(")"))
    if part is None:
        return None
    kind = kinds.get(part["kind"])
    found = kind.capabilities(kind.clean(part["spec"]))
    return next((each for each in found if isinstance(each, Conducting | Terminating)), None)


def _folded(key: tuple[str, ...], lines: list[dict[str, Any]], can: list[Conducting | Terminating | None]) -> OfferLine:
    count = sum((decimal(line["quantity"]) for line in lines), Decimal(0))
    amount = sum((decimal(line["amount"]) for line in lines), Decimal(0))
    each = decimal(lines[0]["unit_price"]) if len(lines) == 1 else None
    if len(lines) == 1 or key[0] == "line":
        name = str(lines[0]["name"])
    elif key[0] == "cable":
        colours = list(dict.fromkeys(c.colour for c in can if isinstance(c, Conducting)))
        area = next(c.area_mm2 for c in can if isinstance(c, Conducting))
        name = _("Cable, %(area)s, %(colours)s") % {"area": quantity(area, "mm²"), "colours": _listed(colours)}
    else:
        areas = [c.area_mm2 for c in can if isinstance(c, Terminating)]
        least, most = quantity(min(areas), "mm²"), quantity(max(areas), "mm²")
        name = _("Crimp terminals, %(least)s to %(most)s") % {"least": least, "most": most}
        if least == most:
            name = _("Crimp terminals, %s") % least
    return OfferLine(name, count, str(lines[0]["unit"]), each, amount)


def _listed(colours: list[str]) -> str:
    """Colours of conductors in words."""
    said = [_(COLOUR_WORDS.get(colour, colour)) for colour in colours]
    if len(said) == 1:
        return said[0]
    return _("%(first)s and %(last)s") % {"first": ", ".join(said[:-1]), "last": said[-1]}


COLOUR_WORDS: dict[str, str] = dict(COLOURS)
