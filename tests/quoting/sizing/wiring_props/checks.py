"""Rules of circuits as checks over an Appraisal, each written for reading and with nothing of the sizing's own search.

Each yields what is wrong, in words; a system that keeps a rule yields nothing.
"""

from __future__ import annotations

import math
from collections import Counter, defaultdict
from collections.abc import Iterator

from catalog.kinds.capabilities import Conducting, Holding, Protecting, Switching, Terminating
from quoting.sizing.appraisal import Appraisal, Circuit, Device
from quoting.sizing.brief import Brief
from quoting.sizing.conductor_tables import CFR_COLUMNS_C, CFR_TABLE_5, ISO_10133_A1, ISO_10133_COLUMNS_C
from quoting.sizing.conductors import awg_mm2
from quoting.sizing.parts import Catalogue
from quoting.sizing.wiring_records import CablePiece
from quoting.wording.rules_bill import BILL_RULE
from tests.quoting.sizing.wiring_props.network import add_strong_sources, cold_network

OPENS = ("fuse", "breaker")
SIGNALS = ("sense", "control")
CHARGERS = ("charger", "controller", "mains_charger")
ONE_WAY = ("inverter", "converter", "load", "sensor", "outlet", "monitor", "module", "panel")
"""Nodes that no battery's current comes out of, whatever lies on their other side."""


def circuits_with_copper(made: Appraisal) -> list[Circuit]:
    return [c for c in made.circuits if c.role != "negative_bond"]


def is_whole(made: Appraisal) -> bool:
    """Nothing kept a circuit from being designed: conductors and devices were there for every one."""
    return not any(s.need.code in ("conducting", "protecting", "holding", "coupling") for s in made.shortfalls)


def opening(circuit: Circuit) -> list[Device]:
    return [d for d in circuit.devices if d.what in OPENS]


def fuse_under_ampacity_under_table(brief: Brief, made: Appraisal) -> Iterator[str]:
    """Device <= corrected ampacity <= ISO 10133 table A.1 and 33 CFR 183.425 table 5 at the next smaller gauge."""
    for c in circuits_with_copper(made):
        for d in opening(c):
            if d.rating_a > c.ampacity_a + 0.01:
                yield f"{c.tag}: {d.rating_a} A on a conductor that carries {c.ampacity_a} A"
        if c.area_mm2 < min(ISO_10133_A1) or c.area_mm2 < awg_mm2(18):
            continue
        size = max(a for a in ISO_10133_A1 if a <= c.area_mm2 + 1e-9)
        iso_a = ISO_10133_A1[size][sum(t <= c.insulation_c for t in ISO_10133_COLUMNS_C) - 1]
        gauge = min(n for n in CFR_TABLE_5 if awg_mm2(n) <= c.area_mm2 + 1e-9)
        cfr_a = CFR_TABLE_5[gauge][sum(t <= c.insulation_c for t in CFR_COLUMNS_C) - 1]
        if c.ampacity_a > min(iso_a, cfr_a) + 0.01:
            yield f"{c.tag}: {c.ampacity_a} A where the tables have {iso_a} and {cfr_a} A"
        if c.current_a > c.ampacity_a + 0.01:
            yield f"{c.tag}: {c.current_a} A over {c.ampacity_a} A"


def breaks_the_fault(brief: Brief, made: Appraisal, most_over: float = 8.0) -> Iterator[str]:
    """Nodal analysis of the whole network: no device sees more than is said of it, or than it breaks.

    The short is to the negative beside the device, then to the body, which the negative is bonded to. Ours is that
    of a run's source end for both its devices, and not more than ``most_over`` times what the network has at the worse
    of the two: it leaves out the conductor up to the device and the return.
    """
    if any(s.subject.startswith("Battery") for s in made.shortfalls):
        most_over = (
            math.inf
        )  # the bank's own ways are not all there, so the network has less behind it than was reckoned
    wired = cold_network(brief, made)
    add_strong_sources(brief, made, wired.network)
    circuit_of = {d.tag: c for c in made.circuits for d in c.devices}
    house = {"W0"} & {e.at for p in made.pieces for e in p.ends}
    solved = wired.network.solve()
    seen: list[tuple[str, Device, Circuit, float]] = []
    for tag, (device, _, _) in wired.devices.items():
        circuit = circuit_of[tag]
        if device.what not in OPENS or circuit.role in ("solar_array", "converter_output"):
            continue
        if _behind_a_converter(made, circuit):
            continue
        found = [wired.prospective_a(solved, tag)]
        if house and circuit.source not in ("B0", "G1") and circuit.role != "starter_feed":
            to_body = wired.prospective_a(solved, tag, ("W0", "-"))
            found += [to_body] if to_body < 1e6 else []
        seen.append((tag, device, circuit, max(found)))
    at_circuit = {c.tag: max(amps for _, _, each, amps in seen if each.tag == c.tag) for _, _, c, _ in seen}
    for tag, device, circuit, worst in seen:
        if device.fault_a is None or device.breaking_a is None:
            yield f"{tag}: fault or breaking capacity not known"
        elif worst > device.fault_a * 1.001:
            yield f"{tag} in {circuit.tag}: {worst:.0f} A by the network, {device.fault_a} A said"
        elif device.breaking_a < worst:
            yield f"{tag} in {circuit.tag}: breaks {device.breaking_a} A, sees {worst:.0f} A"
        elif is_whole(made) and device.fault_a > most_over * at_circuit[circuit.tag]:
            yield f"{tag} in {circuit.tag}: {device.fault_a} A said, only {worst:.0f} A by the network"


def _behind_a_converter(made: Appraisal, circuit: Circuit) -> bool:
    """Fed from a converter's board, or read at an appliance of one: the converter's limit is not in the network."""
    feeding = next((c for c in made.circuits if c.target == circuit.source), None)
    if feeding is None:
        return False
    return feeding.role == "converter_output" or (feeding.role == "load" and _behind_a_converter(made, feeding))


def protected_at_each_end(brief: Brief, made: Appraisal) -> Iterator[str]:
    """From every end that a battery stands behind, no more than the policy's distance of conductor before a device."""
    most_m = brief.policy.place_m + 1e-6
    for c in circuits_with_copper(made):
        if c.stays:
            continue
        line = [p for p in made.pieces if p.circuit == c.tag and p.polarity in ("positive", "signal")]
        line = [p for p in line if p.part == c.conductor and {e.at for e in p.ends} != {c.source}]
        if c.role == "sense" and not opening(c):
            continue  # a pair from a sensor: nothing stands behind either end but an input's own milliamperes
        for end, pieces in ((c.source, line), (c.target, line[::-1])):
            if not feeds(made, end, c):
                continue
            bare_m = 0.0
            tags = {d.tag for d in opening(c)}
            for piece in pieces:
                bare_m += piece.length_m
                if {e.at for e in piece.ends} & tags:
                    break
            if bare_m > most_m:
                yield f"{c.tag}: {bare_m:.2f} m from {end} before a device"


def feeds(made: Appraisal, end: str, through: Circuit) -> bool:
    """Say whether current of a battery, the vehicle's or the house's, can come to a node without a circuit.

    A charger counts as a source for its own feeds, which need a device at both ends; nothing passes it.
    """
    what = {n.tag: n.what for n in made.nodes}
    near: dict[str, set[str]] = defaultdict(set)
    for c in circuits_with_copper(made):
        if c.tag != through.tag and c.role not in SIGNALS:
            near[c.source].add(c.target)
            near[c.target].add(c.source)
    if what.get(end) in CHARGERS:
        return True
    if what.get(end) in ONE_WAY:
        return False
    seen, waiting = {end}, [end]
    while waiting:
        here = waiting.pop()
        if what.get(here) in ("battery", "starter_battery"):
            return True
        if what.get(here) in (*ONE_WAY, *CHARGERS):
            continue
        for there in near[here] - seen:
            seen.add(there)
            waiting.append(there)
    return False


def reduced_conductors_have_their_own_device(brief: Brief, made: Appraisal) -> Iterator[str]:
    """Graph search: with every device open, no battery reaches a conductor farther off than the policy's distance."""
    near: dict[str, list[tuple[str, CablePiece]]] = defaultdict(list)
    tags = {d.tag for c in made.circuits for d in opening(c)}
    sensors = {c.tag for c in made.circuits if c.role == "sense" and not opening(c)}
    links = [p for p in made.pieces if p.polarity == "positive" and p.ends[0].at == p.ends[1].at]
    for piece in made.pieces:
        if piece.polarity not in ("positive", "signal") or piece.circuit in sensors or piece.stays or piece in links:
            continue
        a, b = (_port(made, piece, e.at) for e in piece.ends)
        near[a].append((b, piece))
        near[b].append((a, piece))
    for node in made.nodes:
        if node.what not in ("battery", "starter_battery"):
            continue
        reached, waiting = {node.tag: 0.0}, [node.tag]
        while waiting:
            here = waiting.pop()
            for there, piece in near[here]:
                far_m = reached[here] + piece.length_m
                if far_m > brief.policy.place_m + 1e-6:
                    yield f"{node.tag}: {far_m:.2f} m of {piece.circuit} without a device"
                elif there not in reached and there not in tags:
                    reached[there] = far_m
                    waiting.append(there)


def _port(made: Appraisal, piece: CablePiece, tag: str) -> str:
    circuit = next(c for c in made.circuits if c.tag == piece.circuit)
    into = circuit.role in ("engine_feed", "solar_array", "converter_input") and circuit.target == tag
    return f"{tag} input" if into else tag


def outputs_within_their_module(brief: Brief, made: Appraisal) -> Iterator[str]:
    """Each output within its limit, all of a module within its whole; each circuit on one output at most."""
    parts = Catalogue(brief)
    load: dict[tuple[str, int], float] = defaultdict(float)
    currents = {c.tag: c for c in made.circuits}
    for row in made.channels:
        load[row["part"], row["module"]] += currents[row["circuit"]].current_a
        if currents[row["circuit"]].current_a > row["limit_a"] + 1e-6:
            yield f"{row['tag']}: {currents[row['circuit']].current_a} A over {row['limit_a']} A"
    for (part, module), amps in load.items():
        if amps > parts.can(part, Switching).total_a + 1e-6:
            yield f"module {module} of {part}: {amps} A"
    used = [(row["part"], row["module"], row["channel"]) for row in made.channels]
    if len(set(used)) != len(used) or len({row["circuit"] for row in made.channels}) != len(used):
        yield "an output has two circuits, or a circuit two outputs"


def nothing_away_is_always_live(brief: Brief, made: Appraisal) -> Iterator[str]:
    """A circuit holds loads of one group only, hangs on that group's board, and is in that group."""
    live = {x.key for x in brief.loads if x.always_live}
    boards = {"W2": "always_live", "W3": "away"}
    for c in made.circuits:
        if c.role != "load" or not c.loads or c.source == "B0":
            continue
        groups = {key in live for key in c.loads}
        if len(groups) > 1 and c.group != "none":
            yield f"{c.tag} holds loads of both groups"
        if boards.get(c.source, c.group) != c.group:
            yield f"{c.tag} is {c.group} on {c.source}"
        if c.group in ("always_live", "away") and (c.group == "always_live") not in groups:
            yield f"{c.tag} is {c.group}, its loads are not"


def parallel_leads_are_alike(brief: Brief, made: Appraisal) -> Iterator[str]:
    """Leads of batteries side by side have one length, area and device; strings have a link fewer than batteries."""
    if not is_whole(made):
        return
    battery = next(c for c in made.chosen if c.role == "battery")
    strings = [n.tag for n in made.nodes if n.what == "battery"]
    leads = [c for c in made.circuits if c.role == "battery_main" and c.source in strings]
    alike = {(c.run_m, c.area_mm2, tuple(d.rating_a for d in opening(c))) for c in leads}
    if len(leads) != battery.parallel or len(alike) != 1:
        yield f"{len(leads)} leads of {len(alike)} sorts for {battery.parallel} strings"
    links = Counter(p.ends[0].at for p in made.pieces if p.polarity == "positive" and p.ends[0].at == p.ends[1].at)
    for tag in strings:
        if links[tag] != battery.series - 1:
            yield f"{tag}: {links[tag]} links for {battery.series} in series"
    for c in leads if battery.parallel > 1 else ():
        if len(opening(c)) != 2:
            yield f"{c.tag}: {len(opening(c))} devices between {c.source} and the other strings"


def pieces_add_up_to_their_runs(brief: Brief, made: Appraisal) -> Iterator[str]:
    """Feed and return of a circuit are each as long as its run; every device has a conductor on either side."""
    links = [p for p in made.pieces if p.ends[0].at == p.ends[1].at]
    for c in made.circuits:
        mine = [p for p in made.pieces if p.circuit == c.tag and p not in links]
        feed = [p for p in mine if p.part == c.conductor and p.polarity in ("positive", "signal", "bond")]
        total = math.fsum(p.length_m for p in feed)
        if c.return_by == "conductor" and not math.isclose(total, c.run_m, abs_tol=1e-6) and not c.stays:
            yield f"{c.tag}: {total} m of feed for a run of {c.run_m} m"
        back = [p for p in mine if p.polarity == "negative"]
        if back and not math.isclose(math.fsum(p.length_m for p in back), c.run_m, abs_tol=1e-6):
            yield f"{c.tag}: return of {math.fsum(p.length_m for p in back)} m for {c.run_m} m"
        if not back and c.role not in ("negative_bond", *SIGNALS) and c.return_by == "conductor" and not c.stays:
            yield f"{c.tag}: no return"
        at = Counter(e.at for p in mine for e in p.ends)
        for d in c.devices:
            if at[d.tag] != 2:
                yield f"{c.tag}: {at[d.tag]} ends at {d.tag}"
        if any(p.length_m < 0 for p in mine):
            yield f"{c.tag}: a negative length"


def ends_fit(brief: Brief, made: Appraisal) -> Iterator[str]:
    """A terminal fits its conductor and the stud it lands on; no end is forgotten that the catalogue could press."""
    parts = Catalogue(brief)
    lacking = {s.subject for s in made.shortfalls if s.need.code == "terminating"}
    for p in made.pieces:
        for e in p.ends:
            if e.terminal:
                can = parts.can(e.terminal, Terminating)
                if can.area_mm2 != p.area_mm2 or (e.stud_mm and can.form == "ring" and can.stud_mm != e.stud_mm):
                    yield f"{p.circuit} at {e.at}: {e.name} on {p.area_mm2} mm², stud {e.stud_mm}"
            elif not p.stays and e.form != "contact" and p.circuit not in lacking:
                yield f"{p.circuit} at {e.at}: no terminal and no shortfall"


def bill_is_counted_from_pieces(brief: Brief, made: Appraisal) -> Iterator[str]:
    """Metres to buy by part are those of the pieces with the spare, rounded up to 0.1 m; terminals are the ends'."""
    laid: dict[str, float] = defaultdict(float)
    ends: Counter[str] = Counter()
    for p in made.pieces:
        if not p.stays:
            laid[p.part] += p.length_m
            ends.update(e.terminal for e in p.ends if e.terminal)
    laid.pop("", None)
    parts = Catalogue(brief)
    bought = {b.part: b.quantity for b in made.bill if b.part and parts.has(b.part, Conducting)}
    if bought.keys() != laid.keys():
        yield f"cable bought and cut differ: {bought.keys() ^ laid.keys()}"
    for key, metres in laid.items():
        over = bought.get(key, 0.0) - metres * (1 + brief.policy.cable_spare_ratio)
        if not -1e-6 <= over < 0.1:
            yield f"{key}: {bought.get(key)} m bought for {metres} m"
    pressed = {b.part: b.quantity for b in made.bill if b.rule == "terminal"}
    if pressed != dict(ends):
        yield f"terminals bought and pressed differ: {pressed} {dict(ends)}"
    work = {b.labour: b.quantity for b in made.bill if b.labour}
    contacts = sum(e.form == "contact" for p in made.pieces if not p.stays for e in p.ends)
    pressed_on = work.get("terminate", 0) + work.get("crimp_lug", 0)
    if pressed_on < sum(ends.values()) + contacts:
        yield f"{pressed_on} ends to press for {sum(ends.values())} terminals and {contacts} contacts"


VEHICLES_OWN = ("alternator", "starter_battery", "body", "load", "outlet", "changeover")
"""Nodes that nobody sells with the system: the vehicle's, the owner's appliances, what the licensed person decides."""


def every_node_is_on_schedule_and_bill(brief: Brief, made: Appraisal) -> Iterator[str]:
    """Each node is an end of a circuit or of an AC way, and its part is on the bill; unless it is the vehicle's own."""
    ends = {t for c in made.circuits for t in (c.source, c.target)} | {"P1", "G1"}
    ends |= {t for a in made.ac for t in (a.source, a.target)}
    bought = {b.part for b in made.bill if b.part}
    lacking = {s.need.code for s in made.shortfalls}
    for n in made.nodes:
        if n.tag not in ends and is_whole(made):
            yield f"{n.tag} ({n.what}) is on no circuit"
        if n.what in VEHICLES_OWN or lacking & {"distributing", "sensor", "residual"}:
            continue
        if n.what == "sensor" and n.params.get("watched") == "digital":
            continue  # a contact that is there already
        if n.params.get("part") not in bought:
            yield f"{n.tag} ({n.what}) has no part on the bill"
    for c in made.circuits:
        tags = {n.tag for n in made.nodes}
        for t in (c.source, c.target):
            if t not in tags:
                yield f"{c.tag} ends at {t}, which is no node"


def every_line_of_the_bill_is_somewhere(brief: Brief, made: Appraisal) -> Iterator[str]:
    """Each part of the bill is chosen, a device, a node's, a piece's, an end's or a conduit's; or it holds a device.

    What rules of their own add is held against the wiring in ``test_bill_rules``.
    """
    chosen = {c.part for c in made.chosen}
    devices = {d.part: 0 for c in made.circuits for d in c.devices}
    nodes = {n.params.get("part") for n in made.nodes}
    pieces = {p.part for p in made.pieces} | {e.terminal for p in made.pieces for e in p.ends}
    sleeves = {s.part for s in made.sleeves} | {s.grommet for s in made.sleeves}
    known = chosen | devices.keys() | nodes | pieces | sleeves
    tags = {c.tag for c in made.circuits} | {n.tag for n in made.nodes}
    parts = Catalogue(brief)
    for b in made.bill:
        if not b.part:
            continue
        if b.part not in known and not parts.has(b.part, Holding) and b.rule not in BILL_RULE:
            yield f"{b.name} ({b.rule}) is nowhere in the wiring"
        if not set(b.circuits) <= tags:
            yield f"{b.name}: circuits {set(b.circuits) - tags} are not there"


def every_device_has_its_holder_and_spare(brief: Brief, made: Appraisal) -> Iterator[str]:
    """Ways in holders of a series for each link; a spare of each link that is fitted."""
    parts = Catalogue(brief)
    wanted: Counter[str] = Counter()
    links: set[str] = set()
    for c in made.circuits:
        for d in c.devices:
            if d.what == "fuse" and d.part and not d.stays:
                wanted[parts.can(d.part, Protecting).series] += 1
                links.add(d.part)
    ways: Counter[str] = Counter()
    for b in made.bill:
        if b.rule == "holder":
            can = parts.can(b.part, Holding)
            ways[can.series] += int(b.quantity) * can.ways
    for series, count in wanted.items():
        if ways[series] < count:
            yield f"{series}: {ways[series]} ways for {count} links"
    spare = {b.part: b.quantity for b in made.bill if b.rule == "spare_fuse"}
    if spare != dict.fromkeys(links, brief.policy.spare_fuses_each):
        yield f"spares {spare} for {links}"


def bars_have_studs_enough(brief: Brief, made: Appraisal) -> Iterator[str]:
    """No more ends land on a bar than it has studs, positive and negative each on its own."""
    for n in made.nodes:
        studs = n.params.get("studs")
        if not isinstance(studs, int | float):
            continue
        for rails in (("positive", "signal"), ("negative", "bond")):
            ends = sum(e.at == n.tag for p in made.pieces if p.polarity in rails for e in p.ends)
            if ends > studs:
                yield f"{n.tag}: {ends} ends on {studs} studs"


CHECKS = (
    fuse_under_ampacity_under_table,
    breaks_the_fault,
    protected_at_each_end,
    reduced_conductors_have_their_own_device,
    outputs_within_their_module,
    nothing_away_is_always_live,
    parallel_leads_are_alike,
    pieces_add_up_to_their_runs,
    ends_fit,
    bill_is_counted_from_pieces,
    every_node_is_on_schedule_and_bill,
    every_line_of_the_bill_is_somewhere,
    every_device_has_its_holder_and_spare,
    bars_have_studs_enough,
)
