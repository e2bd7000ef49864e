"""Lengths to cut and their ends: what parts a conductor, what is pressed on, what stays, what returns by the body."""

from __future__ import annotations

from typing import Any

import pytest

from catalog.kinds.capabilities import Terminating
from quoting.sizing.appraisal import Appraisal, Circuit
from quoting.sizing.appraise import appraise
from quoting.sizing.brief import read
from quoting.sizing.landings import CLAMP, LEAD, RING, TAB, Place, Terminals
from quoting.sizing.parts import Catalogue
from quoting.sizing.wiring_records import CablePiece
from tests.quoting.sizing.many_circuits import many, many_brief, many_made
from tests.quoting.sizing.wiring_props.checks import CHECKS


def of(made: Appraisal, circuit: Circuit, *polarities: str) -> list[CablePiece]:
    return [p for p in made.pieces if p.circuit == circuit.tag and p.polarity in (polarities or ("positive",))]


def tags(pieces: list[CablePiece]) -> list[tuple[str, str]]:
    return [(p.ends[0].at, p.ends[1].at) for p in pieces]


def circuit(made: Appraisal, key: str) -> Circuit:
    return next(c for c in made.circuits if c.key == key)


def test_a_feed_with_a_device_at_each_end_is_three_lengths_and_its_return_one() -> None:
    _, made = many_made(5)
    feed = circuit(made, "engine_feed")
    near, far = (d.tag for d in feed.devices)

    assert tags(of(made, feed)) == [("B0", near), (near, far), (far, feed.target)]
    assert tags(of(made, feed, "negative")) == [(feed.target, "B0")]
    short, long, last = (p.length_m for p in of(made, feed))
    assert short == last == 0.2  # m, the policy's distance
    assert long == pytest.approx(feed.run_m - 0.4)


def test_a_switched_output_is_landed_on_at_both_of_its_ends() -> None:
    _, made = many_made(20)
    tag = made.channels[0]["circuit"]
    switched = next(c for c in made.circuits if c.tag == tag)
    device, output = (d.tag for d in switched.devices)

    lengths = of(made, switched)
    assert tags(lengths) == [(switched.source, device), (device, output), (output, tag)]
    assert all(e.terminal for p in lengths for e in p.ends)


def test_the_batterys_negative_passes_the_shunt() -> None:
    _, made = many_made(20, batteries=2)
    main = circuit(made, "battery_main")
    leads = [c for c in made.circuits if c.role == "battery_main" and c is not main]

    assert tags(of(made, main, "negative")) == [("W4", "P1"), ("P1", "N1")]
    assert [tags(of(made, lead, "negative")) for lead in leads] == [[("W4", "B1")], [("W4", "B2")]]
    assert {b.quantity for b in made.bill if b.rule == "busbar" and "W4" in b.circuits and len(b.circuits) == 1} <= {
        2.0
    }


def test_batteries_in_series_are_joined_by_conductors_of_their_lead() -> None:
    _, made = many_made(20, volts=24, series=True, batteries=2)
    links = [p for p in made.pieces if p.ends[0].at == p.ends[1].at]

    assert sorted(p.ends[0].at for p in links) == ["B1", "B2"]
    assert {p.length_m for p in links} == {0.4}
    assert {p.part for p in links} == {circuit(made, "battery_lead_1").conductor}


def test_a_coupling_parts_feed_and_return_at_the_same_place() -> None:
    _, made = many_made(12, trailer=True)
    feed = circuit(made, "engine_feed")
    forth, back = of(made, feed), of(made, feed, "negative")

    assert [a for pair in tags(forth) for a in pair].count("J1") == 2
    assert tags(back) == [(feed.target, "J1"), ("J1", "B0")]
    # engine bay to tow bar is 5.0 m; the cable on the trailer's side is the rest of the run
    before = [p.length_m for p in forth][: [b for _, b in tags(forth)].index("J1") + 1]
    assert sum(before) == pytest.approx(5.0)
    assert back[1].length_m == pytest.approx(5.0)
    pins = [e for p in (*forth, *back) for e in p.ends if e.at == "J1"]
    assert {(e.form, e.terminal, e.position) for e in pins} == {("contact", "", "towbar")}


def test_a_sensor_has_a_pair_without_device_and_a_voltage_is_read_behind_one() -> None:
    _, made = many_made(12, senses=6)
    wired = {c.key: c for c in made.circuits if c.role == "sense"}
    pair = of(made, wired["sense:sense_1"], "signal")  # a tank
    read_v = of(made, wired["sense:sense_3"], "signal")  # a voltage

    assert len(pair) == 2
    assert len({p.part for p in pair}) == 2  # told apart by their colours
    (fuse,) = (d.tag for d in wired["sense:sense_3"].devices)
    assert [e.at for p in read_v for e in p.ends].count(fuse) == 2


def lying(raw: dict[str, Any], made: Appraisal, key: str, **values: Any) -> dict[str, Any]:
    """The same with a circuit that lies there already, as it was designed."""
    was = circuit(made, key)
    device = was.devices[0]
    found = {
        "circuit": key, "name": was.name, "area_mm2": was.area_mm2, "insulation_c": was.insulation_c,
        "run_m": was.run_m, "form": "fuse" if device.what == "fuse" else "breaker", "series": device.series,
        "rating_a": device.rating_a, "breaking_a": device.breaking_a, "max_v": 60.0,
        "both_ends": len(was.devices) > 1, "distance_m": 0.1,
        "source": "an earlier job", **values,
    }  # fmt: skip
    return {**raw, "existing": [found]}


def test_what_stays_is_neither_cut_nor_bought() -> None:
    raw = many(8)
    before = appraise(read(raw))
    made = appraise(read(lying(raw, before, "engine_feed", area_mm2=95)))
    feed = circuit(made, "engine_feed")

    assert feed.stays
    mine = of(made, feed, "positive", "negative")
    assert mine
    assert all(p.stays and not e.terminal for p in mine for e in p.ends)
    for line in made.bill:
        assert feed.tag not in line.circuits, line.name
    laid = {b.labour: b.quantity for b in made.bill if b.labour}
    was = {b.labour: b.quantity for b in before.bill if b.labour}
    assert laid["run_cable_m"] == pytest.approx(was["run_cable_m"] - 2 * feed.run_m, abs=0.05)
    ends, before_ends = (x["terminate"] + x.get("crimp_lug", 0) for x in (laid, was))
    assert ends == before_ends - 8
    assert laid["fit_device"] == was["fit_device"] - 2


def test_by_the_body_nothing_runs_back_but_a_short_lead_with_its_lug() -> None:
    raw = many(8)
    raw["policy"] = {"chassis_return_allowed": True}
    lamp = next(c for c in appraise(read(raw)).circuits if c.name == "Cabin lights")
    raw["changes"] = [{"circuit": lamp.key, "return_by": "chassis", "reason": "its housing is on the body", "by": "ab"}]
    made = appraise(read(raw))
    lamp = circuit(made, lamp.key)

    assert made.refused == ()
    assert lamp.return_by == "chassis"
    assert of(made, lamp, "negative") == []
    (lead,) = of(made, lamp, "bond")
    assert lead.length_m == 0.3
    assert lead.ends[1].at == "W0"
    assert lead.ends[1].form == "ring"


def test_every_check_holds_with_something_that_stays_and_something_by_the_body() -> None:
    raw = many(8)
    before = appraise(read(raw))
    brief = read(lying(raw, before, "feed_W3", area_mm2=35))
    made = appraise(brief)

    assert any(c.stays for c in made.circuits)
    skipped = ("breaks_the_fault", "reduced_conductors_have_their_own_device")  # what lies there states no part
    wrong = {c.__name__: found for c in CHECKS if c.__name__ not in skipped and (found := list(c(brief, made)))}
    assert wrong == {}


@pytest.mark.parametrize(
    ("area_mm2", "place", "form", "stud_mm"),
    [
        (2.5, Place("W2", "", RING, 6.0), "ring", 6.0),
        (2.5, Place("F1", "", TAB), "blade", 0.0),
        (2.5, Place("U1", "", CLAMP), "ferrule", 0.0),
        (2.5, Place("C1", "", LEAD), "butt", 0.0),
        (10, Place("U1", "", CLAMP), "ring", 8.0),  # a lug: no clamp is known to take it
        (4, Place("W0", "", RING), "ring", 6.0),  # the usual stud where none is stated
        (50, Place("U4", "", CLAMP, 10.0), "ring", 10.0),
    ],
)
def test_the_terminal_is_that_of_the_place(area_mm2: float, place: Place, form: str, stud_mm: float) -> None:
    fit = Terminals.of(Catalogue(many_brief(3))).fit(area_mm2, place)

    assert fit is not None
    can: Terminating = fit.can
    assert (can.area_mm2, can.form, can.stud_mm) == (area_mm2, form, stud_mm)


def test_a_stud_without_a_lug_is_a_shortfall_and_the_end_stays_without_terminal() -> None:
    raw = many(3)
    raw["catalogue"] = [
        p
        for p in raw["catalogue"]
        if p["kind"] != "terminal" or p["spec"]["stud_mm"] != 10 or p["spec"]["area_mm2"] < 50
    ]
    for part in raw["catalogue"]:
        if part["kind"] == "inverter":
            part["spec"]["stud_mm"] = 10.0
    made = appraise(read(raw))
    feed = circuit(made, "inverter_feed")
    assert feed.area_mm2 >= 35

    missing = {s.subject for s in made.shortfalls if s.need.code == "terminating"}
    bare = [e for p in made.pieces if p.circuit == feed.tag for e in p.ends if e.at == feed.target and not e.terminal]
    assert bool(bare) == (feed.area_mm2 >= 50)
    assert (feed.tag in missing) == bool(bare)
