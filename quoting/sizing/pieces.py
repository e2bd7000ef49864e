"""Every length of conductor to cut, with what is pressed on its two ends. Cable and terminals are counted from these.

A device parts its positive: node to device, device to device, device to node. What returns is one length, but for the
battery's, which passes the monitor's shunt. A coupling parts both. Lengths of a circuit's parts add up to its run.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from itertools import pairwise

from catalog.kinds.capabilities import Conducting
from quoting.sizing.appraisal import Chosen, Circuit, Device, Node, Shortfall
from quoting.sizing.choice import Choice
from quoting.sizing.holders import Held
from quoting.sizing.landings import CONTACT, RING, Place, Terminals, at_device, at_node
from quoting.sizing.parts import Able, Catalogue, short
from quoting.sizing.runs_colours import negative_of_policy, return_for
from quoting.sizing.topology import way
from quoting.sizing.wiring_records import CableEnd, CablePiece, Polarity

SERIES_LINK_M = 0.4
"""Conductor between two batteries in series. [m] C"""

LINK_M = 0.15
"""Conductor between two devices that sit side by side. [m] C"""

BODY_LEAD_M = 0.3
"""From an appliance to the body, where the body is its return. [m] C"""

COUPLING_TAG = "J1"
"""What an end in the coupling between tow vehicle and trailer lands on."""

MAIN_BAR, NEGATIVE_BAR, BODY, SHUNT = "W1", "N1", "W0", "P1"
SIGNALS = ("sense", "control")
PARTING = ("fuse", "breaker", "isolator", "channel")
"""Devices that part the positive."""


@dataclass(slots=True)
class Cut:
    """The pieces of a wiring, and the terminals and conductors that the catalogue lacks for them."""

    pieces: list[CablePiece] = field(default_factory=list)
    shortfalls: list[Shortfall] = field(default_factory=list)


@dataclass(frozen=True, slots=True)
class _Stretch:
    """A length of a conductor between two places."""

    length_m: float
    a: Place
    b: Place


class Cutter:
    """Cuts the conductors of one wiring."""

    def __init__(
        self, parts: Catalogue, nodes: Sequence[Node], circuits: Sequence[Circuit], holders: Sequence[Held]
    ) -> None:
        self.parts = parts
        self.terminals: Terminals = parts.remember(("terminals",), lambda: Terminals.of(parts))
        self.nodes: Mapping[str, Node] = {n.tag: n for n in nodes}
        self.places: Mapping[str, Place] = {n.tag: at_node(parts, n) for n in nodes}
        self.holders = {tag: h.holder for h in holders for tag in h.devices}
        self.out = Cut()

    def place(self, tag: str, position: str) -> Place:
        """A node by its tag; one that is not on the diagram takes a ring."""
        return self.places.get(tag) or Place(tag, position)

    def cut(self, circuit: Circuit) -> None:
        """Cut everything of one circuit."""
        if circuit.role == "negative_bond":
            self._lay(circuit, "bond", self._whole(circuit, circuit.source, circuit.target), circuit.conductor)
            return
        polarity: Polarity = "signal" if circuit.role in SIGNALS else "positive"
        self._lay(circuit, polarity, self._across(circuit, self._positive(circuit)), circuit.conductor)
        if circuit.return_by == "chassis":
            end = self.place(circuit.target, circuit.to_position)
            self._lay(
                circuit, "bond", [_Stretch(BODY_LEAD_M, end, Place(BODY, circuit.to_position))], self._back(circuit)
            )
            return
        if circuit.role in SIGNALS and circuit.devices:
            return  # told against the return that its part has anyway
        back: Polarity = "signal" if circuit.role in SIGNALS else "negative"
        self._lay(circuit, back, self._across(circuit, self._negative(circuit)), self._back(circuit))

    def links(self, battery: Chosen, leads: Sequence[Circuit]) -> None:
        """Join the batteries of each string in series, by conductors of the string's own lead."""
        for lead in leads:
            post = self.place(lead.source, lead.from_position)
            for _ in range(battery.series - 1):
                self._lay(lead, "positive", [_Stretch(SERIES_LINK_M, post, post)], lead.conductor)

    def _positive(self, circuit: Circuit) -> list[_Stretch]:
        """From node to node through the devices; short ends at them, and the rest in one length."""
        near = [d for d in circuit.devices if d.what in PARTING and not _is_far(d, circuit)]
        far = [d for d in circuit.devices if d.what in PARTING and _is_far(d, circuit)]
        near.sort(key=_order)
        stops = [
            self.place(circuit.source, circuit.from_position),
            *(at_device(self.parts, d, self.holders.get(d.tag)) for d in (*near, *far)),
            self.place(circuit.target, circuit.to_position),
        ]
        long = len(near)
        most = circuit.run_m / (len(stops) - 1)
        lengths = [0.0] * (len(stops) - 1)
        for i in range(len(lengths)):
            if i != long:
                wished = near[0].distance_m if i == 0 else far[-1].distance_m if i == len(lengths) - 1 else LINK_M
                lengths[i] = round(min(wished or LINK_M, most), 3)
        lengths[long] = round(circuit.run_m - sum(lengths), 4)
        return [_Stretch(m, a, b) for m, (a, b) in zip(lengths, pairwise(stops), strict=True)]

    def _negative(self, circuit: Circuit) -> list[_Stretch]:
        """Back from the load to the negative bar that belongs to where the positive came from."""
        source = NEGATIVE_BAR if circuit.source == MAIN_BAR else circuit.source
        target = NEGATIVE_BAR if circuit.target == MAIN_BAR else circuit.target
        whole = self._whole(circuit, target, source)
        if circuit.role != "battery_main" or circuit.target != MAIN_BAR or SHUNT not in self.places:
            return whole
        shunt, half = self.places[SHUNT], round(circuit.run_m / 2, 3)
        (one,) = whole
        return [_Stretch(half, one.b, shunt), _Stretch(round(circuit.run_m - half, 4), shunt, one.a)]

    def _whole(self, circuit: Circuit, a: str, b: str) -> list[_Stretch]:
        at = {circuit.source: circuit.from_position, MAIN_BAR: circuit.from_position}
        ends = [self.place(tag, at.get(tag, circuit.to_position)) for tag in (a, b)]
        return [_Stretch(circuit.run_m, ends[0], ends[1])]

    def _across(self, circuit: Circuit, stretches: list[_Stretch]) -> list[_Stretch]:
        """Part the longest length at the coupling, where the circuit crosses the hitch."""
        if not circuit.crosses_hitch:
            return stretches
        share = self._share_before_coupling(circuit)
        i = max(range(len(stretches)), key=lambda n: stretches[n].length_m)
        long = stretches[i]
        before = sum(s.length_m for s in stretches[:i])
        backwards = long.a.position == circuit.to_position and circuit.from_position != circuit.to_position
        at_m = circuit.run_m * ((1 - share) if backwards else share) - before
        first = round(min(max(at_m, 0.0), long.length_m), 3)
        pin = Place(COUPLING_TAG, self._tow_position(), (CONTACT,))
        halves = [_Stretch(first, long.a, pin), _Stretch(round(long.length_m - first, 4), pin, long.b)]
        return [*stretches[:i], *halves, *stretches[i + 1 :]]

    def _tow_position(self) -> str:
        hitch = self.parts.brief.vehicle.hitch
        return hitch.tow if hitch is not None else ""

    def _share_before_coupling(self, circuit: Circuit) -> float:
        """Share of the way that lies before the coupling, which is the tow vehicle's socket."""
        vehicle = self.parts.brief.vehicle
        whole = way(vehicle, circuit.from_position, circuit.to_position)
        if vehicle.hitch is None:
            return 0.5
        return way(vehicle, circuit.from_position, vehicle.hitch.tow).run_m / max(whole.run_m, 1e-9)

    def _back(self, circuit: Circuit) -> str:
        """Key of the conductor that returns; empty where the catalogue has none, which is said."""
        if circuit.negative or circuit.stays:
            return circuit.negative
        able = negative_of(self.parts, circuit)
        if able is None:
            self.out.shortfalls.append(
                short(
                    "none_of_kind", "conducting", circuit.tag, asked=circuit.area_mm2, unit="mm²", colour="black",
                    insulation_c=circuit.insulation_c,
                )
            )  # fmt: skip
            return ""
        return able.part.key

    def _lay(self, circuit: Circuit, polarity: Polarity, stretches: list[_Stretch], key: str) -> None:
        """Cut each stretch of one conductor and press on its ends."""
        known = bool(key) and self.parts.has(key, Conducting)
        can = self.parts.can(key, Conducting) if known else None
        area = can.area_mm2 if can else circuit.area_mm2
        returns = polarity in ("negative", "bond")
        colour = can.colour if can else (circuit.negative_colour or "black") if returns else circuit.colour
        for s in stretches:
            ends = tuple(self._end(circuit, area, place) for place in (s.a, s.b))
            self.out.pieces.append(
                CablePiece(
                    circuit=circuit.tag, polarity=polarity, part=key if known else "",
                    name=self.parts.part(key).name if known else "", area_mm2=area, colour=colour,
                    length_m=s.length_m, ends=(ends[0], ends[1]), stays=circuit.stays,
                )
            )  # fmt: skip

    def _end(self, circuit: Circuit, area_mm2: float, place: Place) -> CableEnd:
        bare = CableEnd(at=place.at, position=place.position, stud_mm=place.stud_mm)
        if place.forms == (CONTACT,):
            return bare.model_copy(update={"form": CONTACT})
        if circuit.stays or not place.forms:
            return bare
        fit = self.terminals.fit(area_mm2, place)
        if fit is None:
            self.out.shortfalls.append(self._lacking(circuit, area_mm2, place))
            return bare.model_copy(update={"form": place.forms[0] if place.stud_mm is None else RING[0]})
        stud = fit.can.stud_mm if fit.can.form == "ring" and fit.can.stud_mm else place.stud_mm
        return bare.model_copy(
            update={"stud_mm": stud, "terminal": fit.part.key, "name": fit.part.name, "form": fit.can.form}
        )

    def _lacking(self, circuit: Circuit, area_mm2: float, place: Place) -> Shortfall:
        near = next(iter(self.terminals.models(area_mm2)), None)
        code = "no_match" if near else "none_of_kind"
        return short(
            code, "terminating", circuit.tag, best=near, asked=area_mm2, unit="mm²", stud_mm=place.stud_mm or 0.0
        )


def cut(
    parts: Catalogue, choice: Choice, nodes: Sequence[Node], circuits: Sequence[Circuit], holders: Sequence[Held]
) -> Cut:
    """Cut every conductor of a wiring.

    Parameters
    ----------
    parts : Catalogue
        Conductors, terminals, and the Brief's vehicle for the place of the coupling.
    choice : Choice
        For batteries in series.
    nodes, circuits : sequences
        The wiring, designed and tagged.
    holders : sequence of Held
        Where fuse-links sit: their studs are the holder's.

    Returns
    -------
    Cut
        Pieces in the order of the circuits, positive before negative, from source to load; what the catalogue lacks.
    """
    cutter = Cutter(parts, nodes, circuits, holders)
    for circuit in circuits:
        cutter.cut(circuit)
    battery = choice.role("battery")
    if battery is not None and battery.series > 1:
        strings = {n.tag for n in nodes if n.what == "battery"}
        leads = [c for c in circuits if c.role == "battery_main" and c.source in strings]
        cutter.links(battery, leads)
    return cutter.out


def negative_of(parts: Catalogue, circuit: Circuit) -> Able[Conducting] | None:
    """The return conductor of a circuit that does not name its own: of at least its area and class."""
    return return_for(parts, negative_of_policy(parts.brief.policy), circuit.area_mm2, circuit.insulation_c)


def _is_far(device: Device, circuit: Circuit) -> bool:
    """Say whether a device sits at the far end. An isolator marked so sits with the source all the same."""
    if device.what in ("isolator", "channel"):
        return False
    return device.end == "load"


def _order(device: Device) -> int:
    """Order of devices at the source: what protects comes first, then what parts by hand, then what switches."""
    return {"isolator": 1, "channel": 2}.get(device.what, 0)
