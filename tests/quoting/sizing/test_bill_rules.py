"""What a good installer never forgets: each rule's quantities are counted again here from the wiring itself."""

from __future__ import annotations

import math
from collections import Counter, defaultdict
from collections.abc import Callable
from functools import lru_cache
from typing import Any

import pytest

from catalog.kinds.capabilities import Conducting, Inverting, Panel, Sleeving, Storage
from catalog.kinds.capabilities_fitting import Airing, Consuming, Insulating, Labelling, Mounting
from quoting import words
from quoting.sizing.appraisal import Appraisal, BillLine
from quoting.sizing.appraise import appraise
from quoting.sizing.bill_lines import SMALL
from quoting.sizing.bill_mounts import Thing, holds
from quoting.sizing.bill_uses import OF_CIRCUIT, OF_ROLE, STEPS
from quoting.sizing.bill_vents import opening_cm2
from quoting.sizing.brief import Brief, read
from quoting.sizing.errors import SizingError
from quoting.sizing.parts import Catalogue
from quoting.wording.building import STEP_OF_BUILD
from quoting.wording.rules import RULE
from quoting.wording.rules_bill import BILL_RULE, COUNTED, LACKING
from tests.quoting.sizing import library_case
from tests.quoting.sizing.many_circuits import many, many_made
from tests.quoting.sizing.wagon import wagon

Made = tuple[Brief, Appraisal]

SYSTEMS: dict[str, Callable[[], Made]] = {
    "12 circuits": lambda: many_made(12),
    "24 V of pairs": lambda: many_made(20, volts=24, series=True, batteries=2, converters=3, senses=4),
    "trailer": lambda: many_made(12, trailer=True, senses=6, starter_loads=4),
    "flooded": lambda: made_of(library_case.brief(24, "flooded", "medium")),
    "three strings": lambda: many_made(20, batteries=4, strings=3),
}


def made_of(brief: Brief) -> Made:
    return brief, appraise(brief)


@lru_cache(maxsize=len(SYSTEMS))
def system(name: str) -> Made:
    return SYSTEMS[name]()


@pytest.fixture(params=SYSTEMS)
def made(request: pytest.FixtureRequest) -> Made:
    return system(request.param)


def by_rule(made: Appraisal, rule: str) -> list[BillLine]:
    return [b for b in made.bill if b.rule == rule]


def total(made: Appraisal, rule: str) -> float:
    return math.fsum(b.quantity for b in by_rule(made, rule))


def pieces_bought(made: Appraisal, rule: str) -> float:
    """Uses of what is bought by the pack, as the rule counted them."""
    return sum(int(b.params["labels"]) for b in by_rule(made, rule))


def crimps(made: Appraisal) -> Counter[str]:
    return Counter(e.form for p in made.pieces if not p.stays for e in p.ends if e.terminal)


def test_metres_of_heat_shrink_are_the_sum_over_the_crimps(made: Made) -> None:
    """25 mm over a ring or blade, twice that over a joint; a tenth more; each size rounded up to 0.1 m."""
    _brief, found = made
    form = crimps(found)
    asked_m = 0.025 * (form["ring"] + form["blade"] + 2 * form["butt"])

    lines = by_rule(found, "heat_shrink")

    assert asked_m > 0.5
    assert asked_m * 1.1 <= sum(b.quantity for b in lines) < asked_m * 1.1 + 0.1 * len(lines)
    assert sum(int(b.params["crimps"]) for b in lines) == form["ring"] + form["blade"] + form["butt"]


def test_heat_shrink_slides_over_its_conductors_and_grips_them(made: Made) -> None:
    brief, found = made
    parts = Catalogue(brief)
    outside: dict[str, list[float]] = defaultdict(list)
    for piece in found.pieces:
        outside[piece.circuit].append(parts.can(piece.part, Conducting).outside_mm or 0)

    for line in by_rule(found, "heat_shrink"):
        can = parts.can(line.part, Sleeving)
        across = [mm for tag in line.circuits for mm in outside[tag]]
        assert can.shrunk_mm is not None
        assert any(1.1 * mm <= can.inner_mm and can.shrunk_mm <= 0.9 * mm for mm in across)
        assert can.inner_mm >= 1.1 * min(across)


def test_every_circuit_has_a_label_at_both_ends_and_every_device_one(made: Made) -> None:
    _brief, found = made
    new = [c for c in found.circuits if not c.stays]

    assert pieces_bought(found, "label_conductor") == 2 * len(new)
    assert pieces_bought(found, "label_device") == sum(len(c.devices) for c in new)
    assert set(by_rule(found, "label_conductor")[0].circuits) == {c.tag for c in new}
    assert total(found, "label_list") == sum(n.what == "board" for n in found.nodes)
    assert total(found, "label_shut_off") == sum(d.what == "isolator" for c in new for d in c.devices)


def test_warnings_are_those_that_the_system_calls_for(made: Made) -> None:
    brief, found = made
    parts = Catalogue(brief)
    battery = next(c for c in found.chosen if c.role == "battery")
    warned = {b.rule: parts.can(b.part, Labelling).hazard for b in found.bill if b.rule.startswith("label_")}

    assert warned["label_battery"] == "battery"
    assert ("label_hydrogen" in warned) == parts.can(battery.part, Storage).needs_venting
    assert ("label_daylight" in warned) == any(c.role == "solar_array" for c in found.circuits)
    assert ("label_mains" in warned) == any(n.what in ("inlet", "inverter") for n in found.nodes)


def test_every_battery_panel_and_board_is_held_by_what_carries_it(made: Made) -> None:
    brief, found = made
    parts = Catalogue(brief)

    for role in ("battery", "panel", "inverter"):
        for one in (c for c in found.chosen if c.role == role):
            (line,) = by_rule(found, f"mount_{role}")
            can = parts.can(line.part, Mounting)
            assert line.quantity == one.quantity
            assert can.what == role
            assert can.carries_kg >= parts.part(one.part).mass_kg
            if role == "panel":
                panel = parts.can(one.part, Panel)
                assert can.length_mm >= 1000 * max(panel.length_m, panel.width_m)
    assert total(found, "mount_board") == sum(n.what == "board" for n in found.nodes)


def test_without_a_mounting_that_carries_it_the_design_says_so_and_still_has_a_bill() -> None:
    raw = many(5)
    raw["catalogue"] = [p for p in raw["catalogue"] if p["kind"] not in ("mounting", "insulating_cover")]

    found = appraise(read(raw))

    (told,) = [f for f in found.findings if f.code == "bill_lacks_fixing"]
    assert told.level == "warning"
    assert str(told.params["lacks"]).split(",") == ["cover_bar", "cover_post", "mount_battery", "mount_panel"]
    assert "a mounting that holds the battery" in words.finding_words(told)[1]
    assert found.bill
    assert not found.shortfalls


def test_a_catalogue_of_before_quotes_on_and_leaves_small_parts_to_the_sundries() -> None:
    found = appraise(wagon())

    assert not found.shortfalls
    assert {f.level for f in found.findings if f.code == "bill_lacks_small"} == {"info"}
    assert not {b.rule for b in found.bill} & SMALL


def test_live_bars_and_posts_are_covered(made: Made) -> None:
    brief, found = made
    parts = Catalogue(brief)
    bars = [n for n in found.nodes if n.what in ("busbar", "board") and n.tag != "N1"]
    bare = {d.tag for c in found.circuits for d in c.devices if d.what in ("isolator", "breaker")}
    studs = sum(e.at in bare and e.form == "ring" for p in found.pieces if p.polarity == "positive" for e in p.ends)

    assert total(found, "cover_bar") == len(bars)
    for line in by_rule(found, "cover_bar"):
        can = parts.can(line.part, Insulating)
        assert all(float(n.params["studs"] or 0) <= can.studs for n in bars if n.tag in line.circuits)
    batteries = sum(c.quantity for c in found.chosen if c.role == "battery")
    assert total(found, "cover_post") == batteries + studs


def test_supports_stand_as_close_as_iso_10133_asks() -> None:
    """ISO 10133 (P): every 450 mm, battery conductors every 300 mm. By hand for two ways of the system."""
    _brief, found = many_made(12)
    ways = found.sleeves
    feeds = {c.tag for c in found.circuits if c.role in ("battery_main", "engine_feed", "inverter_feed")}
    asked = sum(math.ceil(u.length_m / (0.3 if set(u.circuits) & feeds else 0.45) - 1e-9) * u.count for u in ways)
    engine = next(u for u in ways if u.passes_wall)
    assert (engine.length_m, math.ceil(4.4 / 0.3)) == (4.4, 15)

    (line,) = by_rule(found, "support")

    assert line.quantity == pytest.approx(asked / 100, abs=0.0011)  # ties by the hundred
    assert Catalogue(many_made(12)[0]).can(line.part, Consuming).pack == 100


def test_each_solar_conductor_passes_the_roof_by_a_way_of_its_own_that_keeps_water_out(made: Made) -> None:
    brief, found = made
    parts = Catalogue(brief)
    strings = [c for c in found.circuits if c.role == "solar_array"]

    passed = sum(b.quantity * parts.can(b.part, Sleeving).ways for b in by_rule(found, "gland_roof"))

    assert strings
    assert 2 * len(strings) <= passed < 2 * len(strings) + 2
    assert all(parts.can(b.part, Sleeving).watertight for b in by_rule(found, "gland_roof"))


def test_a_way_behind_the_coupling_passes_by_a_watertight_gland_or_is_told() -> None:
    brief, found = system("trailer")
    assert brief.vehicle.hitch is not None
    outside = {brief.vehicle.hitch.tow, brief.vehicle.hitch.trailer}
    passing = [u for u in found.sleeves if u.wall == "hitch"]

    assert passing
    assert all(u.passes_at in outside for u in passing)
    told = [f for f in found.findings if f.code == "no_gland_fits"]
    assert bool(told) == any(not u.grommet for u in passing)


def test_openings_of_a_battery_compartment_by_hand() -> None:
    """IEC 62485-2 7.3, A = 28 Q (M). 12 cells, 20 mA/Ah, 200 Ah: 0.05 × 12 × 20 × 200 / 1000 = 2.4 m³/h; 67.2 cm²."""
    assert opening_cm2(2.4) == pytest.approx(67.2)
    with pytest.raises(SizingError, match="air_m3_h"):
        opening_cm2(-1)


def test_a_bank_that_makes_hydrogen_gets_an_opening_low_and_one_high() -> None:
    brief, found = system("flooded")
    (line,) = by_rule(found, "vent")
    free = line.quantity / 2 * Catalogue(brief).can(line.part, Airing).free_cm2

    assert line.params["asked_cm2"] == pytest.approx(28 * found.value("battery.vent_m3_h"), abs=0.01)
    assert free >= float(line.params["asked_cm2"] or 0)
    assert line.quantity % 2 == 0
    assert not by_rule(many_made(12)[1], "vent")


def test_cable_of_the_ac_side_has_no_size_and_no_part() -> None:
    _brief, found = many_made(12)
    (line,) = by_rule(found, "ac_cable")

    assert (line.part, line.labour, line.mass_kg, line.step) == ("", "", 0.0, "ac")
    assert line.quantity == len(found.ac)
    assert "no size" in words.bill_name(line)
    raw = many(5, ac=False)
    raw["wishes"] |= {"shore_inlet": False, "mains_charging": False}
    assert not by_rule(appraise(read(raw)), "ac_cable")


def test_uses_add_up_to_what_is_bought(made: Made) -> None:
    brief, found = made
    positions = {p.key for p in brief.vehicle.positions} | {""}

    for line in found.bill:
        assert line.uses, line.name
        assert math.fsum(u.quantity for u in line.uses) == pytest.approx(line.quantity, abs=1e-6), line.name
        assert all(u.quantity > 0 for u in line.uses), line.name
        assert {u.position for u in line.uses} <= positions
        assert line.step == line.uses[0].step
        assert [STEPS.index(u.step) for u in line.uses] == sorted(STEPS.index(u.step) for u in line.uses)


def test_a_part_is_used_in_the_step_of_its_circuit() -> None:
    _brief, found = many_made(12)
    fuses: Counter[tuple[str, str]] = Counter()
    for c in found.circuits:
        for d in c.devices:
            if d.what in ("fuse", "breaker", "isolator"):
                fuses[d.part, OF_CIRCUIT[c.role]] += 1

    billed: Counter[tuple[str, str]] = Counter()
    for line in found.bill:
        if line.rule in ("protects", "isolator"):
            for use in line.uses:
                billed[line.part, use.step] += round(use.quantity)
    assert billed == fuses


def test_every_rule_and_step_has_its_words(made: Made) -> None:
    _brief, found = made

    for line in found.bill:
        assert line.rule in RULE
        said = words.bill_words(line)
        assert "(" not in said, said
        assert bool(said) == (line.rule in COUNTED), line.rule
    assert {u.step for b in found.bill for u in b.uses} <= set(STEP_OF_BUILD) == set(STEPS)
    assert set(OF_ROLE.values()) | set(OF_CIRCUIT.values()) <= set(STEPS)
    assert set(BILL_RULE) >= SMALL | set(LACKING)


def test_the_sentence_of_heat_shrink_has_its_numbers() -> None:
    line = BillLine(
        group="conductors", part="hs", name="HS", quantity=1.3, unit="m", rule="heat_shrink",
        params={"crimps": 46, "each_mm": 25.0, "bought_over_ratio": 0.1},
    )  # fmt: skip

    assert words.bill_words(line).replace("\xa0", " ") == "46 crimps, 25 mm each, 10 % spare"


def test_what_stays_is_not_labelled_nor_shrunk_again() -> None:
    raw: dict[str, Any] = many(5)
    before = appraise(read(raw))
    feed = next(c for c in before.circuits if c.key == "engine_feed")
    lies = {
        "circuit": feed.key, "name": feed.name, "area_mm2": 95, "insulation_c": 105.0, "run_m": feed.run_m,
        "rating_a": feed.devices[0].rating_a, "breaking_a": 20000.0, "max_v": 58.0, "distance_m": 0.1,
        "both_ends": True, "device_ohm": 0.0005,
    }  # fmt: skip
    after = appraise(read({**raw, "existing": [lies]}))
    stays = [c for c in after.circuits if c.stays]

    assert [c.key for c in stays] == ["engine_feed"]
    assert pieces_bought(after, "label_conductor") == pieces_bought(before, "label_conductor") - 2
    assert total(after, "heat_shrink") < total(before, "heat_shrink")


def test_the_library_holds_every_heavy_part_of_its_own() -> None:
    parts = Catalogue(library_case.brief(12, "lifepo4", "small"))
    mountings = [a.can for a in parts.having(Mounting)]

    bare = []
    for part, cans in parts:
        for can in cans:
            if isinstance(can, Storage):
                thing = Thing("battery", part.mass_kg, can.length_mm, can.width_mm, can.height_mm)
            elif isinstance(can, Panel) and not can.flexible:
                thing = Thing("panel", part.mass_kg, 1000 * can.length_m, 1000 * can.width_m)
            elif isinstance(can, Inverting):
                thing = Thing("inverter", part.mass_kg)
            else:
                continue
            if not any(holds(m, thing) for m in mountings):
                bare.append(part.name)
    assert bare == []


def test_the_library_has_a_watertight_gland_for_every_conduit() -> None:
    parts = Catalogue(library_case.brief(12, "lifepo4", "small"))
    covers = [a.can for a in parts.having(Sleeving)]
    widest = max(c.outside_mm or 0 for c in covers if c.form == "conduit")

    assert max(c.inner_mm for c in covers if c.form == "grommet" and c.watertight) >= widest
