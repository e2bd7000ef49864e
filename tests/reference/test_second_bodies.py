"""Where another body's rule is a limit and not a value: what the sizing does is on its safe side, and how far."""

from __future__ import annotations

import pytest

from quoting.sizing.conductors import ambient_factor, bundling_factor
from quoting.sizing.policy import Policy
from quoting.sizing.protection import RATINGS_A, clears_s, fault_current_a
from tests.quoting.sizing.library_case import catalogue
from tests.quoting.sizing.many_circuits import many_made

PUBLISHED_RATINGS_A = {
    "blade_f": (2, 3, 4, 5, 7.5, 10, 15, 20, 25, 30),
    "blade_c": (1, 2, 3, 4, 5, 7.5, 10, 15, 20, 25, 30, 35, 40),
    "blade_e": (20, 30, 40, 50, 60, 70, 80),
    "bolt_b": (30, 40, 50, 60, 70, 80, 100, 125),
    "strip_51": (40, 50, 60, 80, 100, 125, 150, 175, 200, 225, 250, 300, 350, 400, 500),
    "breaker": (6, 10, 13, 16, 20, 25, 32, 40, 50, 63, 80, 100, 125),
}
"""ISO 8820-3, -4, -5; IEC 60898-1 (M)."""


@pytest.mark.parametrize("series", PUBLISHED_RATINGS_A)
def test_rating_series_are_those_of_the_standards(series: str) -> None:
    assert RATINGS_A[series] == PUBLISHED_RATINGS_A[series]


def test_library_fuses_have_ratings_of_their_series() -> None:
    for entry in catalogue():
        known = PUBLISHED_RATINGS_A.get(entry["spec"].get("series", ""))
        if entry["kind"] == "fuse" and known:
            assert entry["spec"]["rating_a"] in known, entry["name"]


@pytest.mark.parametrize(("multiple", "holds_s"), [(1.0, 360_000), (1.1, 360_000)])
def test_a_blade_fuse_is_not_counted_on_to_open_where_the_standard_lets_it_hold(multiple, holds_s) -> None:
    """ISO 8820-3 (M): at 1.10 times its rating it holds for 100 h at least."""
    assert clears_s("blade_c", 10, 10 * multiple) >= holds_s


@pytest.mark.parametrize(
    ("circuits", "iec"), [(1, 1.00), (2, 0.80), (3, 0.70), (4, 0.65), (5, 0.60), (6, 0.57), (7, 0.54), (9, 0.50)]
)
def test_grouping_of_up_to_nine_circuits_is_never_milder_than_iec_60364_5_52(circuits: int, iec: float) -> None:
    """Table B.52.17 row 1, by circuits of two loaded conductors (M). Ours counts conductors, by 33 CFR."""
    assert bundling_factor(2 * circuits) <= iec + 1e-9


@pytest.mark.parametrize(("circuits", "iec"), [(12, 0.45), (16, 0.41), (20, 0.38)])
def test_grouping_of_more_circuits_is_within_a_ninth_of_iec_60364_5_52(circuits: int, iec: float) -> None:
    """The same table (M; 20 circuits P). 33 CFR has no rows between 24 conductors and more: 0.50, then 0.40."""
    assert bundling_factor(2 * circuits) == pytest.approx(iec, rel=0.12)


@pytest.mark.parametrize(("ambient_c", "nec"), [(40, 0.91), (45, 0.87), (55, 0.76), (65, 0.65), (75, 0.50)])
def test_ambient_factor_is_the_necs_at_the_hot_end_of_its_bracket(ambient_c: int, nec: float) -> None:
    """NEC 310.15(B)(1), 90 °C (P): its brackets of 5 K are reckoned at their hot end."""
    assert ambient_factor(90, ambient_c) == pytest.approx(nec, abs=0.012)


def test_fault_at_a_battery_is_never_taken_under_abyc_e_11() -> None:
    """E-11 table V-A (M): by cold-cranking amps a main device breaks 1500 (to 650 A), 3000 (to 1100 A) or 5000 A.

    Cranking amps of a battery that does not state them: 7.2 V left of 12.6 V at -18 °C, where the resistance is about
    double (C). Taken at the head of each row, where what the row asks is meant for that battery.
    """
    for head_a, least_a in ((650, 1500), (1100, 3000), (2000, 5000)):
        resistance_ohm = (12.6 - 7.2) / (2 * head_a)

        assert fault_current_a(14.4, resistance_ohm, 0.0) >= least_a


def test_devices_are_stricter_than_33_cfr_183_455() -> None:
    """183.455(c) (P): under 50 V a device may be 150 % of the conductor's table value, and sit 7 in, 178 mm, away."""
    _, made = many_made(20)
    for c in made.circuits:
        for d in c.devices:
            if d.what in ("fuse", "breaker"):
                assert d.rating_a <= c.ampacity_a + 0.01 < 1.5 * c.ampacity_a
    assert Policy().place_m <= 0.2  # ISO 10133 8.1: 200 mm (M)


def test_a_strings_device_lies_between_the_limits_of_iec_62548() -> None:
    """IEC 62548 (M): 1.5 Isc <= rating <= 2.4 Isc, where the module's own maximum allows; the next standard rating."""
    for strings in (2, 3, 4):
        brief, made = many_made(20, strings=strings)
        isc_a = next(p.spec["isc_a"] for p in brief.catalogue if p.kind == "solar_panel")
        for c in made.circuits:
            if c.role == "solar_array":
                assert c.devices[0].rating_a >= 1.5 * isc_a
                assert c.ampacity_a >= c.current_a == pytest.approx(1.56 * isc_a, abs=0.01)
