"""Components, circuits and bill of a design in words."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from django.utils.translation import gettext as _

from catalog.kinds.base import GROUPS
from catalog.kinds.capabilities import CHEMISTRIES
from catalog.quantities import format_number
from quoting import words
from quoting.queries.shown import Shown, SumLine, shown, sum_lines
from quoting.sizing.appraisal import Appraisal, BillLine, Circuit
from quoting.sizing.brief import Brief
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
    return [
        ChosenRow(
            name=c.name,
            part_number=c.part_number,
            serves=", ".join(str(words.NEED.get(code, code)) for code in c.serves),
            quantity=c.quantity,
            layout=_("%(s)d in series, %(p)d in parallel") % {"s": c.series, "p": c.parallel}
            if c.series > 1 or c.parallel > 1
            else "",
            rating=c.rating,
            settings=tuple(_setting(name, value) for name, value in c.setting.items()),
            runner_up=c.runner_up,
            mass=shown(c.mass_kg, "kg"),
        )
        for c in appraisal.chosen
    ]


def _setting(name: str, value: Scalar) -> tuple[str, str]:
    """A setting as it is entered: its name in the trade and its value with unit."""
    if name in SETTING_WORDS:
        label, unit = SETTING_WORDS[name]
        if isinstance(value, int | float) and not isinstance(value, bool):
            return str(_(label)), words.number_words(100 * value if unit == "%" else value, unit)
        return str(_(label)), str(_(dict(CHEMISTRIES).get(str(value), str(value))))
    if name.startswith("shed_") and name.endswith("_ratio"):
        channel = name.removeprefix("shed_").removesuffix("_ratio")
        return _("output %(channel)s off below") % {"channel": channel}, words.param_words(name, value)
    return name.replace("_", " "), words.param_words(name, value)


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
class DeviceRow:
    tag: str
    what: str
    name: str
    rating: Shown | None
    breaking: Shown | None
    fault: Shown | None
    is_short: bool
    """What it breaks is unknown or less than the fault."""
    at_end: bool


@dataclass(frozen=True, slots=True)
class CircuitRow:
    tag: str
    name: str
    group: str
    current: Shown | None
    run: Shown | None
    area: Shown | None
    drop: Shown | None
    drop_share: Shown | None
    drop_limit: Shown | None
    is_over: bool
    voltage: Shown | None
    ampacity: Shown | None
    devices: tuple[DeviceRow, ...]
    decided_by: str
    clears: Shown | None
    drop_iso: Shown | None
    lines: tuple[SumLine, ...]
    way: str


def circuit_rows(appraisal: Appraisal, brief: Brief) -> list[CircuitRow]:
    names = {p.key: _("Trailer: %s") % p.name if p.on_trailer else p.name for p in brief.vehicle.positions}
    return [_circuit(c, names) for c in appraisal.circuits]


def _circuit(c: Circuit, names: dict[str, str]) -> CircuitRow:
    way = _("%(a)s to %(b)s") % {
        "a": names.get(c.from_position, c.source),
        "b": names.get(c.to_position, c.target),
    }
    groups = {"always_live": _("Always live"), "away": _("Away set"), "none": ""}
    return CircuitRow(
        tag=c.tag,
        name=c.name,
        group=groups[c.group],
        current=shown(c.current_a, "A"),
        run=shown(c.run_m, "m"),
        area=shown(c.area_mm2, "mm²"),
        drop=shown(c.drop_v, "V"),
        drop_share=shown(100 * c.drop_ratio, "%"),
        drop_limit=shown(100 * c.drop_limit_ratio, "%") if c.drop_limit_ratio < 1 else None,
        is_over=c.drop_ratio > c.drop_limit_ratio + 1e-9,
        voltage=shown(c.voltage_v, "V"),
        ampacity=shown(c.ampacity_a, "A"),
        devices=tuple(
            DeviceRow(
                tag=d.tag,
                what=DEVICE_WORDS[d.what](),
                name=d.name,
                rating=shown(d.rating_a, "A"),
                breaking=_amperes(d.breaking_a),
                fault=_amperes(d.fault_a),
                is_short=d.fault_a is not None
                and d.what in ("fuse", "breaker")
                and (d.breaking_a is None or d.breaking_a < d.fault_a),
                at_end=d.end == "load",
            )
            for d in c.devices
        ),
        decided_by=words.rule_words(c.decided_by),
        clears=shown(c.clears_s, "s") if c.clears_s is not None else None,
        drop_iso=shown(c.drop_iso_v, "V"),
        lines=sum_lines(c.steps),
        way=way,
    )


DEVICE_WORDS = {
    "fuse": lambda: _("fuse"),
    "breaker": lambda: _("circuit breaker"),
    "isolator": lambda: _("isolator"),
    "channel": lambda: _("switched output"),
    "residual": lambda: _("residual-current device"),
}


def _amperes(value: float | None) -> Shown | None:
    if value is None:
        return None
    return shown(value / 1000, "kA") if value >= 1000 else shown(value, "A")


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
                    labour.get(x.labour, x.name),
                    _quantity(x),
                    shown(x.mass_kg, "kg") if x.mass_kg else None,
                    words.rule_words(x.rule),
                )
                for x in found[code]
            ),
            mass=shown(sum(x.mass_kg for x in found[code]), "kg"),
        )
        for code in codes
    ]


def _quantity(line: BillLine) -> str:
    number = format_number(round(line.quantity, 2))
    return number if line.unit == "each" else f"{number}\N{NO-BREAK SPACE}{line.unit}"
