"""Systems side by side: what they are compared by, and the parts in which they differ."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal
from typing import Any, get_args

from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from catalog.quantities import format_number
from quoting import words
from quoting.queries.shown import Shown, shown
from quoting.sizing.brief_choosing import KeptRole
from quoting.sizing.selecting.records import Facts
from quoting.wording.roles import ROLES, role_words


@dataclass(frozen=True, slots=True)
class System:
    """One column: a proved system with what the customer would pay for it."""

    name: str
    facts: Facts
    total: Decimal
    net: Decimal
    chosen: tuple[Mapping[str, Any], ...] = ()
    """``Chosen`` records of its Appraisal as they are kept."""


@dataclass(frozen=True, slots=True)
class Cell:
    """A number of one system, or words where there is none; a line under it."""

    value: Shown | None
    words: str = ""
    more: str = ""
    same: bool = False
    """Equal to the system left of it."""


@dataclass(frozen=True, slots=True)
class Row:
    label: str
    unit: str
    cells: tuple[Cell, ...]
    is_lead: bool = False
    is_money: bool = False


def money_shown(amount: Decimal | str | None) -> Shown | None:
    """An amount to the cent; its sign stands in the head of the row."""
    return None if amount is None else Shown(format_number(Decimal(amount), 2), "")


def chance_words(ratio: float) -> str:
    """A chance as people count it: “about 1 trip in 20”.

    >>> chance_words(0.05), chance_words(0.0), chance_words(0.62)
    ('about 1 trip in 20', 'in none of the weathers', 'more often than not')
    """
    if ratio <= 0:
        return _("in none of the weathers")
    if ratio >= 0.995:
        return _("on every trip")
    if ratio > 0.5:
        return _("more often than not")
    often = 1 / ratio
    step = 1 if often < 12 else 5 if often < 60 else 10 if often < 200 else 100
    return _("about 1 trip in %(n)d") % {"n": step * max(1, round(often / step))}


def chance_cell(facts: Facts) -> Cell:
    """The chance in per cent, in words, and what it is at most."""
    ratio, high = facts.dark_chance_ratio, facts.dark_high_ratio
    if ratio is None:
        return Cell(None, _("not simulated"))
    said = chance_words(ratio)
    if high is not None and high > ratio:
        said = _("%(chance)s; at most %(high)s") % {"chance": said, "high": share_words(high)}
    return Cell(share(ratio), more=said)


def share(ratio: float) -> Shown | None:
    """A share in per cent, a decimal under ten of them."""
    value = 100 * ratio
    return shown(round(value) if value >= 10 else round(value, 1), "%")


def share_words(ratio: float) -> str:
    value = 100 * ratio
    return words.number_words(round(value) if value >= 10 else round(value, 1), "%")


def fact_rows(systems: Sequence[System]) -> tuple[Row, ...]:
    """Price, mass, reliability, life and time to get it, one row each; what no system has is left out."""
    rows = (
        _row(_("To pay, with tax"), "", systems, _price, is_lead=True, is_money=True),
        _row(_("Mass"), "kg", systems, lambda s: Cell(shown(_tenth(s.facts.mass_kg), "kg"))),
        _row(_("Chance of going dark"), "%", systems, lambda s: chance_cell(s.facts), is_lead=True),
        _row(_("Days without charging"), "", systems, lambda s: Cell(shown(_tenth(s.facts.days_without_charging)))),
        _row(_("From full to flat, hardest place"), _("days"), systems, _flat),
        _row(_("Life of the battery"), _("years"), systems, lambda s: Cell(shown(_tenth(s.facts.battery_years)))),
        _row(
            _("Cost per year of life"), "", systems, lambda s: Cell(money_shown(s.facts.cost_per_year)), is_money=True
        ),
        _row(_("Spare outputs"), "", systems, lambda s: Cell(shown(s.facts.spare_outputs))),
        _row(_("Lead time"), _("days"), systems, _lead),
        _row(_("Battery"), "Ah", systems, lambda s: Cell(shown(_whole(s.facts.capacity_ah), "Ah"))),
        _row(_("Solar array"), "W", systems, lambda s: Cell(shown(_whole(s.facts.array_w), "W"))),
        _row(_("Warnings"), "", systems, lambda s: Cell(shown(s.facts.warnings))),
    )
    return tuple(row for row in rows if any(cell.value or cell.words for cell in row.cells))


def _row(label: str, unit: str, systems: Sequence[System], cell: Callable[[System], Cell], **kind: bool) -> Row:
    return Row(label, unit, tuple(cell(system) for system in systems), **kind)


def _price(system: System) -> Cell:
    net = format_number(system.net, 2)
    return Cell(money_shown(system.total), more=_("%(net)s without tax") % {"net": net})


def _flat(system: System) -> Cell:
    days = system.facts.flat_days
    if days is not None:
        return Cell(shown(_tenth(days)))
    return Cell(None, "" if system.facts.dark_chance_ratio is None else _("not within a year"))


def _lead(system: System) -> Cell:
    facts = system.facts
    if not facts.lead_days:
        return Cell(shown(0), more=_("all on the shelf or at once"))
    return Cell(shown(facts.lead_days), more=_("for %(part)s") % {"part": facts.waits_for} if facts.waits_for else "")


def _tenth(value: float | None) -> float | None:
    return None if value is None else round(value, 1)


def _whole(value: float | None) -> float | None:
    return None if value is None else round(value)


# --- Parts -------------------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class PartRow:
    """What each system has in one role."""

    role: str
    label: str
    cells: tuple[Cell, ...]
    is_same: bool
    """All systems have the same."""
    is_kept: bool = False
    """The last of the systems keeps what is in the vehicle."""

    @property
    def now(self) -> Cell:
        """What the last of the systems has."""
        return self.cells[-1]

    @property
    def can_swap(self) -> bool:
        """What is kept stays; sensors go by what is watched, not by the choice."""
        return self.role in get_args(KeptRole) and not self.is_kept


def part_rows(systems: Sequence[System]) -> tuple[PartRow, ...]:
    """Parts by role, roles in which systems differ first; a cell equal to its left neighbour says so."""
    by_role = [_by_role(system.chosen) for system in systems]
    roles = [role for role in ROLES if any(role in each for each in by_role)]
    rows = []
    for role in roles:
        made = [each.get(role, ()) for each in by_role]
        cells = tuple(
            Cell(None, *_part_words(parts), same=k > 0 and parts == made[k - 1]) for k, parts in enumerate(made)
        )
        is_same = len(systems) > 1 and all(parts == made[0] for parts in made)
        kept = any(part[3] for part in made[-1])
        rows.append(PartRow(role, role_words(role), cells, is_same, kept))
    return tuple(sorted(rows, key=lambda row: row.is_same))


Part = tuple[str, int, str, bool, bool]
"""Name, how many, layout, kept, by hand."""


def _by_role(chosen: Iterable[Mapping[str, Any]]) -> dict[str, tuple[Part, ...]]:
    found: dict[str, tuple[Part, ...]] = {}
    for one in chosen:
        part = (
            str(one["name"]),
            int(one["quantity"]),
            layout_words(int(one.get("series", 1)), int(one.get("parallel", 1))),
            bool(one.get("kept")),
            bool(one.get("by_hand")),
        )
        found[one["role"]] = (*found.get(one["role"], ()), part)
    return found


def layout_words(series: int, parallel: int) -> str:
    if series > 1 and parallel > 1:
        return _("%(s)d in series, %(p)d such strings") % {"s": series, "p": parallel}
    if series > 1:
        return _("%(s)d in series") % {"s": series}
    return _("%(p)d in parallel") % {"p": parallel} if parallel > 1 else ""


def _part_words(parts: Sequence[Part]) -> tuple[str, str]:
    """Names with their number, and under them how they are laid out and where they come from."""
    if not parts:
        return _("none"), ""
    names = [pieces(name, quantity) for name, quantity, *_rest in parts]
    more = [
        words
        for _name, _quantity, layout, kept, by_hand in parts
        for words in (layout, _("stays in the vehicle") if kept else "", _("by hand") if by_hand else "")
        if words
    ]
    return ", ".join(names), ", ".join(dict.fromkeys(more))


def pieces(name: str, quantity: int) -> str:
    """“2 × Sill 100”; one piece goes by its name alone."""
    return f"{quantity} × {name}" if quantity != 1 else name


def count_words(count: int) -> str:
    """How many options the solver had."""
    return ngettext("%(n)s option", "%(n)s options", count) % {"n": format_number(count)}
