"""Circuits that lie in a vehicle already: as an earlier job of ours left them, or as they were found."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from django.db import transaction
from django.db.models import Q
from django.utils.formats import date_format
from django.utils.translation import gettext as _

from fitouts.models import Fitout, InstalledSystem, User
from fitouts.services.keeping import keep, signed
from quoting.models import Design, ExistingCircuit, Snapshot
from quoting.services import snapshots
from quoting.services.brief_circuits import EXISTING_VALUES
from quoting.sizing.appraisal import Appraisal, Circuit

MOST_EXISTING = 200
PROTECTS = ("fuse", "breaker")
TYPED = ("area_mm2", "insulation_c", "form", "series", "rating_a")
OF_ITS_MAKER = ("device_ohm", "melting_s_at_2x", "ohm_per_km_20c")
"""Taken over from a record of ours, and gone once another conductor or device is written down."""


class ExistingRefused(Exception):
    """It cannot be written down now; the text says why."""


@dataclass(frozen=True, slots=True)
class BuiltCircuit:
    """A circuit of an as-built record, with what an upgrade may count on."""

    system: int
    """Key of the installed system."""
    tag: str
    key: str
    role: str
    name: str
    ends: tuple[str, str]
    """Keys of the positions."""
    ends_words: tuple[str, str]
    values: Mapping[str, Any]
    """By name of ``EXISTING_VALUES``, without the circuit it is now."""

    @property
    def handle(self) -> str:
        """How an address names it."""
        return f"{self.system}-{self.tag}"


@dataclass(frozen=True, slots=True)
class Matched:
    """Circuits of as-built records, and which circuit of the present design each is."""

    pairs: tuple[tuple[BuiltCircuit, Circuit], ...]
    alone: tuple[BuiltCircuit, ...]
    """Nothing of this design is like them: moved, renamed, or no longer wanted."""


def systems_before(fitout: Fitout) -> list[InstalledSystem]:
    """Our own systems in the vehicle or its trailer, the latest first."""
    owners = Q(vehicle=fitout.vehicle_id)
    if fitout.trailer_id:
        owners |= Q(vehicle=fitout.trailer_id)
    return list(InstalledSystem.objects.filter(owners, removed_on=None).exclude(fitout=fitout).select_related("fitout"))


def as_built(systems: Iterable[InstalledSystem]) -> list[BuiltCircuit]:
    """Every protected circuit of two conductors that those systems were built with; what cannot be read is left out."""
    found: list[BuiltCircuit] = []
    for system in systems:
        snapshot = Snapshot.objects.filter(sha256=system.snapshot_sha256).first()
        if snapshot is None:
            continue
        try:
            body, _personal = snapshots.read(snapshot)
        except snapshots.SnapshotDamaged:
            continue
        found += _circuits_of(system, body)
    return found


def match(built: Sequence[BuiltCircuit], circuits: Iterable[Circuit]) -> Matched:
    """Say which circuit of a design each built one is: by its key and ends, else by role, name and ends.

    What lies between other positions than it is wanted between is not the same circuit. Of two that could be one, the
    later system's is; of two alike in one system neither is, and a person says.
    """
    wanted = [c for c in circuits if c.key and any(d.what in PROTECTS for d in c.devices)]
    alike = Counter(_likeness(c.role, c.name, (c.from_position, c.to_position)) for c in wanted)
    by_key: dict[tuple[str, ...], Circuit] = {(c.key, c.role, c.from_position, c.to_position): c for c in wanted}
    by_name = {
        mark: c for c in wanted if alike[mark := _likeness(c.role, c.name, (c.from_position, c.to_position))] == 1
    }
    taken: set[str] = set()
    pairs: list[tuple[BuiltCircuit, Circuit]] = []
    alone: list[BuiltCircuit] = []
    for one in built:
        circuit = None if _is_of_a_line(one.key) else by_key.get((one.key, one.role, *one.ends))
        circuit = circuit or by_name.get(_likeness(one.role, one.name, one.ends))
        if circuit is None or circuit.key in taken:
            alone.append(one)
        else:
            taken.add(circuit.key)
            pairs.append((one, circuit))
    return Matched(tuple(pairs), tuple(alone))


def _likeness(role: str, name: str, ends: tuple[str, str]) -> tuple[str, ...]:
    return role, name.casefold().strip(), *ends


def _is_of_a_line(key: str) -> bool:
    """A key that holds the number of an audit's line, which another job numbers anew."""
    head, _colon, rest = key.partition(":")
    return not head or (head == "load" and rest.partition("@")[0].isdigit())


@transaction.atomic
def take_over(fitout: Fitout, appraisal: Appraisal | None, *, by: User | None) -> int:
    """Write down every circuit of our own that the latest design has too. Returns how many are new."""
    if appraisal is None:
        raise ExistingRefused(_("Work the job out first: then its circuits are known, and what lies there is matched."))
    Fitout.objects.select_for_update().get(pk=fitout.pk)
    known = set(fitout.existing_circuits.values_list("circuit", flat=True))
    pairs = [
        (one, circuit)
        for one, circuit in match(as_built(systems_before(fitout)), appraisal.circuits).pairs
        if circuit.key not in known
    ]
    for one, circuit in pairs[: MOST_EXISTING - len(known)]:
        row = ExistingCircuit(fitout=fitout, circuit=circuit.key)
        keep(row, {**one.values, "name": circuit.name[:120]}, by)
    return len(pairs)


@transaction.atomic
def write_down(row: ExistingCircuit, values: Mapping[str, Any], *, by: User | None) -> ExistingCircuit:
    """Keep what is known of a circuit that lies there. Raises ``ValidationError`` naming each wrong field."""
    Fitout.objects.select_for_update().get(pk=row.fitout_id)
    if row.pk is None and row.fitout.existing_circuits.count() >= MOST_EXISTING:
        raise ExistingRefused(_("At most %(most)d circuits are written down for one job.") % {"most": MOST_EXISTING})
    told = {name: values[name] for name in EXISTING_VALUES if name in values}
    if any(name in told and told[name] != getattr(row, name) for name in TYPED):
        told = {**dict.fromkeys(OF_ITS_MAKER), **told}
    return keep(row, told, by)


@transaction.atomic
def drop(row: ExistingCircuit, *, by: User | None) -> None:
    """Count on it no longer: the circuit is made new. Its history stays."""
    signed(row, by).delete()


def built_circuit(fitout: Fitout, handle: str) -> BuiltCircuit | None:
    """The circuit of an as-built record that an address names."""
    return next((one for one in as_built(systems_before(fitout)) if one.handle == handle), None)


def circuits_of(design: Design | None) -> Appraisal | None:
    """The Appraisal of a design that has circuits."""
    from quoting.services import designs

    return designs.appraisal_of(design) if design is not None and design.appraisal["circuits"] else None


def _circuits_of(system: InstalledSystem, body: Mapping[str, Any]) -> list[BuiltCircuit]:
    vehicle = body["brief"]["vehicle"]
    names = {p["key"]: p["name"] for p in vehicle.get("positions", ())}
    lay = {one["circuit"]: one for one in body["brief"].get("existing", ())}
    source = _("as built, job %(number)s, %(day)s") % {
        "number": body["job"]["number"],
        "day": date_format(system.delivered_on, "j M Y"),
    }
    out = []
    for raw in body["appraisal"].get("circuits", ()):
        devices = [d for d in raw.get("devices", ()) if d["what"] in PROTECTS]
        # what lies there counts as feed and return: one that returned by the body has no second conductor
        if not devices or raw.get("return_by", "conductor") != "conductor":
            continue
        ends = (raw["from_position"], raw["to_position"])
        values = _values(raw, devices, body.get("parts", {}), lay.get(raw.get("key", ""), {}))
        out.append(
            BuiltCircuit(
                system=system.pk,
                tag=raw["tag"],
                key=raw.get("key", ""),
                role=raw["role"],
                name=raw["name"],
                ends=ends,
                ends_words=(names.get(ends[0], ends[0]), names.get(ends[1], ends[1])),
                values={**values, "source": source[:200]},
            )
        )
    return out


def _values(
    raw: Mapping[str, Any], devices: Sequence[Mapping[str, Any]], parts: Mapping[str, Any], lay: Mapping[str, Any]
) -> dict[str, Any]:
    """What is known of it. Of two devices the weaker counts; what either leaves unsaid is not known."""
    specs = [parts.get(str(d.get("part")), {}).get("spec", {}) for d in devices]
    breaking = [d.get("breaking_a") for d in devices]
    volts = [spec.get("max_v", lay.get("max_v")) for spec in specs]
    wire = parts.get(str(raw.get("conductor")), {}).get("spec", {})
    series = {str(d.get("series") or spec.get("series") or "") for d, spec in zip(devices, specs, strict=True)}
    return {
        "area_mm2": raw["area_mm2"],
        "insulation_c": raw["insulation_c"],
        "run_m": raw["run_m"],
        "form": devices[0]["what"],
        "series": (series.pop() if len(series) == 1 else "")[:40],
        "rating_a": max(d["rating_a"] for d in devices),
        "breaking_a": _told(breaking),
        "max_v": _told(volts),
        "distance_m": max(d.get("distance_m", 0.0) for d in devices),
        "device_ohm": _told([spec.get("resistance_ohm", lay.get("device_ohm")) for spec in specs]),
        "melting_s_at_2x": _told([spec.get("min_opening_s_at_2x", lay.get("melting_s_at_2x")) for spec in specs]),
        "ohm_per_km_20c": wire.get("ohm_per_km_20c", lay.get("ohm_per_km_20c")),
        "both_ends": {d.get("end", "source") for d in devices} == {"source", "load"},
    }


def _told(values: Iterable[float | None]) -> float | None:
    """The least of what is stated, where each of them states it."""
    told = list(values)
    known = [value for value in told if value is not None]
    return min(known) if known and len(known) == len(told) else None
