"""Components and bill of a design in words."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from django.utils.translation import gettext as _

from catalog.kinds.base import GROUPS
from catalog.kinds.capabilities import CHEMISTRIES
from catalog.quantities import format_number
from quoting import words
from quoting.queries.shown import Shown, shown
from quoting.sizing.appraisal import Appraisal, BillLine
from quoting.sizing.one_piece import also, pieces
from quoting.sizing.trace import Scalar


@dataclass(frozen=True, slots=True)
class ChosenRow:
    name: str
    part_number: str
    serves: str
    quantity: int
    layout: str
    rating: str
    settings: tuple[tuple[str, str], ...]
    runner_up: str
    mass: Shown | None


def chosen_rows(appraisal: Appraisal) -> list[ChosenRow]:
    """Chosen parts as the page lists them; one that does two things stands once, with both and all its settings."""
    names = {x.key: x.name for x in appraisal.loads}
    every = [(c, (c, *also(appraisal.chosen, c))) for c in pieces(appraisal.chosen)]
    return [
        ChosenRow(
            name=c.name,
            part_number=c.part_number,
            serves=", ".join(str(words.NEED.get(code, code)) for one in both for code in one.serves),
            quantity=c.quantity,
            layout=_("%(s)d in series, %(p)d in parallel") % {"s": c.series, "p": c.parallel}
            if c.series > 1 or c.parallel > 1
            else "",
            rating=c.rating,
            settings=tuple(_setting(name, value, names) for one in both for name, value in one.setting.items()),
            runner_up=c.runner_up,
            mass=shown(c.mass_kg, "kg"),
        )
        for c, both in every
    ]


def _setting(name: str, value: Scalar, loads: Mapping[str, str]) -> tuple[str, str]:
    """A setting as it is entered: its name in the trade and its value with unit. ``loads``: names by key."""
    if name in SETTING_WORDS:
        label, unit = SETTING_WORDS[name]
        if isinstance(value, int | float) and not isinstance(value, bool):
            return str(_(label)), words.number_words(100 * value if unit == "%" else value, unit)
        return str(_(label)), str(_(dict(CHEMISTRIES).get(str(value), str(value))))
    return words.setting_words(name, loads)[0], words.setting_value(name, value)


SETTING_WORDS = {
    "profile": ("profile", ""),
    "absorption_v": ("absorption", "V"),
    "float_v": ("float", "V"),
    "compensation_mv_per_cell_k": ("compensation", "mV/cell/K"),
    "output_limit_a": ("output limit", "A"),
    "low_cutoff_v": ("low-voltage cut-off", "V"),
    "capacity_ah": ("capacity", "Ah"),
    "peukert": ("Peukert exponent", ""),
    "full_v": ("full at", "V"),
}
"""Settings of the chosen parts: what the trade calls them, and their unit."""


@dataclass(frozen=True, slots=True)
class BillGroup:
    title: str
    lines: tuple[tuple[BillLine, str, str, Shown | None, str], ...]
    """Line, its name, its quantity as printed, its mass, and why it is there."""
    mass: Shown | None


def bill_groups(appraisal: Appraisal, labour: Mapping[str, str]) -> list[BillGroup]:
    """The bill in the order in which a quote prints it; labour by the names that its codes have in the catalogue."""
    order = dict(GROUPS) | {"labour": _("Labour")}
    found: dict[str, list[BillLine]] = {}
    for line in appraisal.bill:
        found.setdefault(line.group, []).append(line)
    codes = [c for c in order if c in found] + [c for c in found if c not in order]
    return [
        BillGroup(
            title=str(_(order.get(code, code))),
            lines=tuple(
                (
                    x,
                    labour.get(x.labour) or words.bill_name(x),
                    _quantity(x),
                    shown(x.mass_kg, "kg") if x.mass_kg else None,
                    _why(x),
                )
                for x in found[code]
            ),
            mass=shown(sum(x.mass_kg for x in found[code]), "kg"),
        )
        for code in codes
    ]


def _why(line: BillLine) -> str:
    """The rule that put a line on the bill, and what it counted."""
    counted = words.bill_words(line)
    return f"{words.rule_words(line.rule)}: {counted}" if counted else words.rule_words(line.rule)


def _quantity(line: BillLine) -> str:
    number = format_number(round(line.quantity, 2))
    unit = _("pack") if line.unit == "pack" else line.unit
    return number if line.unit == "each" else f"{number}\N{NO-BREAK SPACE}{unit}"
