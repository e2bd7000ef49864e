"""Circuits of a design in words: one row for each, with its devices, what a person changed, what stays."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from urllib.parse import quote

from django.utils.translation import gettext as _

from catalog.kinds.conductors import COLOURS
from catalog.quantities import format_number
from quoting import words
from quoting.queries.shown import Shown, SumLine, shown, sum_lines
from quoting.sizing.appraisal import Appraisal, Circuit, Device
from quoting.sizing.brief import Brief
from quoting.wording.settled import value_name, value_words

LEAST_A = 0.1
"""Under it a second decimal is shown: a signal is not nothing. [A]"""


@dataclass(frozen=True, slots=True)
class DeviceRow:
    """Protection or switching at one end."""

    tag: str
    what: str
    name: str
    series: str
    rating: Shown | None
    breaking: Shown | None
    fault: Shown | None
    is_short: bool
    """What it breaks is unknown or less than the fault."""
    at_end: bool
    position: str
    distance: Shown | None
    stays: bool


@dataclass(frozen=True, slots=True)
class DeviceLine:
    """Equal devices of a circuit on one line of a table."""

    tags: str
    first: DeviceRow
    where: str


@dataclass(frozen=True, slots=True)
class ChangedRow:
    """One value that a person settled, as it was worked out and as it is."""

    field: str
    what: str
    before: str
    after: str
    reason: str
    by: str


@dataclass(frozen=True, slots=True)
class CircuitRow:
    """One circuit."""

    key: str
    path: str
    """The key as it stands in an address."""
    tag: str
    name: str
    role: str
    source: str
    target: str
    group: str
    current: Shown | None
    peak: Shown | None
    run: Shown | None
    area: Shown | None
    conductor: str
    returns: str
    drop: Shown | None
    drop_total: Shown | None
    drop_share: Shown | None
    drop_limit: Shown | None
    is_over: bool
    voltage: Shown | None
    ampacity: Shown | None
    left: Shown | None
    devices: tuple[DeviceRow, ...]
    decided_by: str
    clears: Shown | None
    fault_end: Shown | None
    drop_iso: Shown | None
    lines: tuple[SumLine, ...]
    way: str
    along: str
    """Every position along the way; empty where there are but the two ends."""
    ambient: Shown | None
    bundled: int
    changed: tuple[ChangedRow, ...]
    stays: bool
    stays_source: str
    crosses_hitch: bool
    pins: Shown | None

    @property
    def is_faulty(self) -> bool:
        """Over a limit: drop, ampacity, or what a device breaks."""
        return self.is_over or any(d.is_short for d in self.devices)

    @property
    def device_lines(self) -> list[DeviceLine]:
        """Devices, those that are equal but for their end on one line."""
        alike: dict[tuple[str, Shown | None, Shown | None, Shown | None], list[DeviceRow]] = {}
        for d in self.devices:
            alike.setdefault((d.what, d.rating, d.breaking, d.fault), []).append(d)
        return [DeviceLine(", ".join(d.tag for d in same), same[0], _where(same)) for same in alike.values()]

    @property
    def in_pen(self) -> frozenset[str]:
        """Names of the values that a person settled."""
        return frozenset(one.field for one in self.changed)


def circuit_rows(appraisal: Appraisal, brief: Brief) -> list[CircuitRow]:
    names = position_names(brief)
    return [_circuit(c, names) for c in appraisal.circuits]


def position_names(brief: Brief) -> dict[str, str]:
    """What the positions of a Brief are called; those of a trailer say so."""
    return {p.key: _("Trailer: %s") % p.name if p.on_trailer else p.name for p in brief.vehicle.positions}


def key_in_address(key: str) -> str:
    """A circuit's key as one part of an address: what a person named a circuit may hold a slash."""
    return quote(key, safe=":@")


def _circuit(c: Circuit, names: Mapping[str, str]) -> CircuitRow:
    ends = {"a": names.get(c.from_position, c.source), "b": names.get(c.to_position, c.target)}
    # a signal's conductor may be thinner than any table: no more is claimed for it than what flows
    is_rated = c.role not in ("sense", "control") or c.ampacity_a > c.current_a
    return CircuitRow(
        key=c.key,
        path=key_in_address(c.key),
        tag=c.tag,
        name=c.name,
        role=c.role,
        source=c.source,
        target=c.target,
        group=GROUP_WORDS[c.group](),
        current=_decimals(c.current_a, "A", 1 if c.current_a >= LEAST_A else 2) if c.current_a > 0 else None,
        peak=_decimals(c.peak_a, "A", 1) if c.peak_a > c.current_a else None,
        run=_decimals(c.run_m, "m", 1),
        area=shown(c.area_mm2, "mm²"),
        conductor=_conductor(c),
        returns=_returns(c),
        drop=_decimals(c.drop_v, "V", 2) if c.current_a > 0 else None,
        drop_total=_decimals(c.drop_total_v, "V", 2),
        drop_share=_decimals(100 * c.drop_ratio, "%", 1),
        drop_limit=shown(100 * c.drop_limit_ratio, "%") if c.drop_limit_ratio < 1 else None,
        is_over=c.drop_ratio > c.drop_limit_ratio + 1e-9 or c.left_a < -1e-9,
        voltage=_decimals(c.voltage_v, "V", 1) if c.current_a > 0 else None,
        ampacity=_decimals(c.ampacity_a, "A", 0) if is_rated else None,
        left=_decimals(c.left_a, "A", 0) if is_rated and c.current_a > 0 else None,
        devices=tuple(_device(d, names) for d in c.devices),
        decided_by=words.rule_words(c.decided_by),
        clears=shown(c.clears_s, "s") if c.clears_s is not None else None,
        fault_end=amperes(c.fault_end_a),
        drop_iso=_decimals(c.drop_iso_v, "V", 2),
        lines=sum_lines(c.steps),
        way=_("%(a)s to %(b)s") % ends if ends["a"] != ends["b"] else ends["a"],
        along=", ".join(names.get(p, p) for p in c.passes) if len(c.passes) > 2 else "",
        ambient=shown(c.ambient_c, "°C"),
        bundled=c.bundled,
        changed=tuple(
            ChangedRow(
                one.field, value_name(one.field), value_words(one.field, one.before),
                value_words(one.field, one.after), one.reason, one.by,
            )
            for one in c.changed
        ),
        stays=c.stays,
        stays_source=c.stays_source,
        crosses_hitch=c.crosses_hitch,
        pins=shown(c.pins_a, "A"),
    )  # fmt: skip


def _decimals(value: float, unit: str, places: int) -> Shown:
    """A number with the decimals that the schedule on paper has, so that a column lines up and both say the same."""
    return Shown(format_number(value, places), unit)


def _conductor(c: Circuit) -> str:
    """Size, colour and class as they are said at a bench."""
    return _("%(area)s %(colour)s, %(class)s") % {
        "area": words.number_words(c.area_mm2, "mm²"),
        "colour": colour_words(c.colour),
        "class": words.number_words(c.insulation_c, "°C"),
    }


def _returns(c: Circuit) -> str:
    if c.return_by == "chassis":
        return _("by the vehicle's body")
    return colour_words(c.negative_colour)


def colour_words(colour: str) -> str:
    """A conductor's colour as the catalogue calls it."""
    return _(COLOUR_WORDS.get(colour, colour)).lower() if colour else ""


def _where(same: list[DeviceRow]) -> str:
    if len(same) > 1:
        return _("at each end")
    return _("at the far end") if same[0].at_end else ""


def _device(d: Device, names: Mapping[str, str]) -> DeviceRow:
    protects = d.what in ("fuse", "breaker")
    return DeviceRow(
        tag=d.tag,
        what=DEVICE_WORDS[d.what](),
        name=d.name,
        series=d.series,
        rating=shown(d.rating_a, "A"),
        breaking=amperes(d.breaking_a),
        fault=amperes(d.fault_a),
        is_short=protects and d.fault_a is not None and (d.breaking_a is None or d.breaking_a < d.fault_a),
        at_end=d.end == "load",
        position=names.get(d.position, ""),
        distance=shown(d.distance_m, "m") if protects else None,
        stays=d.stays,
    )


DEVICE_WORDS = {
    "fuse": lambda: _("fuse"),
    "breaker": lambda: _("circuit breaker"),
    "isolator": lambda: _("isolator"),
    "channel": lambda: _("switched output"),
    "residual": lambda: _("residual-current device"),
}
COLOUR_WORDS: dict[str, str] = dict(COLOURS)
GROUP_WORDS = {"always_live": lambda: _("Always live"), "away": lambda: _("Away set"), "none": lambda: ""}


def amperes(value: float | None) -> Shown | None:
    """A current; thousands of amperes as kA."""
    if value is None:
        return None
    return shown(value / 1000, "kA") if value >= 1000 else shown(value, "A")
