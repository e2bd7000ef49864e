"""Panels on roofs, batteries in boxes: against published instances, against all packings, and by what must hold."""

from __future__ import annotations

from functools import cache

import pytest
from hypothesis import event, example, given, settings
from hypothesis import strategies as st

from quoting.sizing import packing_programme, packing_search
from quoting.sizing.brief_choosing import BatterySpace, RoofArea, Taken
from quoting.sizing.errors import SizingError
from quoting.sizing.packing import Packed, batteries_fit, most_on
from quoting.sizing.packing_bound import most_by_slices

PUBLISHED = [
    # M from memory of the literature on the manufacturer's pallet loading problem; each optimum is proved here by
    # Barnes' bound above and the packing itself below, so that nothing rests on the memory.
    (22, 16, 5, 3, 23),  # Letchford and Amaral (2001), European Journal of Operational Research 132
    (86, 82, 15, 11, 42),  # Nelissen (1995), same journal 84
    (57, 44, 12, 5, 41),  # Scheithauer and Terno (1996), Operations Research Letters 18
    (67, 40, 11, 6, 40),  # Birgin, Lobato and Morabito (2010), Journal of the Operational Research Society 61
    (1000, 1000, 205, 159, 30),  # Morabito and Morales (1998), same journal 49
    (14, 10, 3, 2, 23),  # by hand: 140 / 6
]


def barnes(length: int, width: int, a: int, b: int) -> int:
    """Barnes, F. W. (1979). Packing the maximum number of m x n tiles in a large p x q rectangle. Discrete Math. 26.

    A tile holds bars of either side by 1; packed with such bars, a place leaves at least this much bare.
    """
    bare = max(min((length % n) * (width % n), (n - length % n) * (n - width % n)) for n in (a, b))
    return (length * width - bare) // (a * b)


def roof(length_m: float, width_m: float, *taken: tuple[float, float, float, float], key: str = "roof") -> RoofArea:
    rest = tuple(Taken(x_m=x, y_m=y, length_m=ln, width_m=w) for x, y, ln, w in taken)
    return RoofArea(key=key, name=key, length_m=length_m, width_m=width_m, taken=rest)


def holds(packed: Packed, areas: list[RoofArea], gap_m: float = 0.0, edge_m: float = 0.0) -> None:
    """Every piece is inside its area, off its edge, and off every other piece and whatever stands there."""
    of = {area.key: area for area in areas}
    assert packed.count == len(packed.places)
    tiny = 1e-6
    for i, one in enumerate(packed.places):
        area = of[one.area]
        assert min(one.x, one.y) >= edge_m - tiny
        assert one.x + one.length <= area.length_m - edge_m + tiny
        assert one.y + one.width <= area.width_m - edge_m + tiny
        others = [(o.x, o.y, o.length, o.width) for o in packed.places[:i] if o.area == one.area]
        others += [(t.x_m, t.y_m, t.length_m, t.width_m) for t in area.taken]
        for x, y, ln, w in others:
            apart_x = max(x - one.x - one.length, one.x - x - ln)
            apart_y = max(y - one.y - one.width, one.y - y - w)
            assert max(apart_x, apart_y) >= gap_m - tiny


@pytest.mark.parametrize(("length", "width", "a", "b", "most"), PUBLISHED)
def test_published_instances_are_packed_to_their_proved_optimum(length, width, a, b, most):
    scale = 0.001 if length >= 1000 else 0.01
    area = roof(length * scale, width * scale)

    packed = most_on([area], a * scale, b * scale)

    holds(packed, [area])
    assert (packed.count, barnes(length, width, a, b), packed.proved) == (most, most, True)


def all_packings(length: int, width: int, a: int, b: int, taken: list[tuple[int, int, int, int]]) -> int:
    """The most pieces by trying every unit cell: written apart from the code that it holds."""

    def bits(x: int, y: int, ln: int, w: int) -> int:
        cells = ((i, j) for i in range(x, min(x + ln, length)) for j in range(y, min(y + w, width)))
        return sum(1 << (i * width + j) for i, j in {*cells})

    blocked = 0
    for box in taken:
        blocked |= bits(*box)
    cells = length * width

    @cache
    def most(cell: int, ahead: int) -> int:
        while ahead & 1:
            cell, ahead = cell + 1, ahead >> 1
        if cell >= cells:
            return 0
        x, y = divmod(cell, width)
        best = most(cell + 1, ahead >> 1)
        for ln, w in ((a, b), (b, a)):
            if x + ln <= length and y + w <= width:
                cover = bits(x, y, ln, w) >> cell
                if not cover & ahead:
                    best = max(best, 1 + most(cell + 1, (ahead | cover) >> 1))
        return best

    return most(0, blocked)


boxes = st.tuples(st.integers(0, 6), st.integers(0, 5), st.integers(1, 3), st.integers(1, 3))


@settings(max_examples=80, deadline=None)
@given(st.integers(2, 7), st.integers(2, 5), st.integers(1, 4), st.integers(2, 3), st.lists(boxes, max_size=3))
def test_small_places_with_things_in_them_are_packed_as_well_as_every_packing_tried(length, width, a, b, taken):
    inside = [t for t in taken if t[0] < length and t[1] < width]
    area = roof(length / 10, width / 10, *(tuple(v / 10 for v in t) for t in inside))

    packed = most_on([area], a / 10, b / 10)

    event(f"{min(len(inside), 2)} taken, {'none' if not packed.count else 'few' if packed.count < 4 else 'many'}")
    holds(packed, [area])
    assert packed.proved
    assert packed.count == all_packings(length, width, a, b, inside)


sides = st.integers(300, 1900).map(lambda mm: mm / 1000)
hatches = st.tuples(*(st.integers(0, 30).map(lambda dm: dm / 10) for _ in range(2)), st.just(0.4), st.just(0.5))


@settings(max_examples=25, deadline=None)
@given(st.floats(1.0, 5.0), st.floats(0.8, 2.4), sides, sides, st.lists(hatches, max_size=2), st.integers(0, 60))
def test_gaps_and_edges_are_kept_and_more_roof_never_holds_less(length_m, width_m, a, b, taken, gap_mm):
    small, large = roof(length_m, width_m, *taken), roof(length_m + 0.3, width_m, *taken)
    gap_m, edge_m = gap_mm / 1000, gap_mm / 500

    packed, more = (most_on([area], a, b, gap_m, edge_m) for area in (small, large))

    holds(packed, [small], gap_m, edge_m)
    holds(more, [large], gap_m, edge_m)
    if more.proved:
        assert more.count >= packed.count
    if packed.count:
        few = most_on([small], a, b, gap_m, edge_m, wanted=packed.count - 1)
        holds(few, [small], gap_m, edge_m)
        assert (few.count, few.proved) == (packed.count - 1, True)


def test_a_roof_with_a_hatch_by_hand():
    # 2.4 m x 1.2 m with a hatch of 0.4 m in the middle: a panel of 1.0 m x 0.6 m lies before and behind it, two each.
    area = roof(2.4, 1.2, (1.0, 0.4, 0.4, 0.4))

    packed = most_on([area], 1.0, 0.6)

    assert packed.count == 4
    assert {(p.x, p.y, p.length, p.width) for p in packed.places} == {
        (0.0, 0.0, 1.0, 0.6),
        (0.0, 0.6, 1.0, 0.6),
        (1.4, 0.0, 1.0, 0.6),
        (1.4, 0.6, 1.0, 0.6),
    }


def test_panels_stay_together_on_one_area_where_it_holds_all():
    areas = [roof(1.0, 1.0, key="hood"), roof(2.2, 1.1, key="canopy")]

    two, three = (most_on(areas, 1.0, 1.0, wanted=n) for n in (2, 3))

    assert [p.area for p in two.places] == ["canopy", "canopy"]
    assert [p.area for p in three.places] == ["canopy", "canopy", "hood"]


def test_the_gap_between_panels_decides_at_its_edge():
    # 2 x 500 mm + 20 mm between + 2 x 30 mm at the edges = 1080 mm
    assert most_on([roof(1.08, 0.46)], 0.5, 0.4, 0.02, 0.03).count == 2
    assert most_on([roof(1.0799, 0.46)], 0.5, 0.4, 0.02, 0.03).count == 1


def box(length_mm: float, width_mm: float, height_mm: float) -> BatterySpace:
    return BatterySpace(key="box", name="Box", length_mm=length_mm, width_mm=width_mm, height_mm=height_mm)


def test_batteries_stand_upright_with_room_round_each():
    # two of 330 x 175 mm with 10 mm round each: 2 x 175 + 3 x 10 = 380 mm; 330 + 20 = 350 mm; 220 + 10 = 230 mm high
    fits = batteries_fit([box(380, 350, 230)], 330, 175, 220, gap_mm=10)

    assert (fits.count, fits.proved) == (2, True)
    assert [(p.x, p.y, p.length, p.width) for p in fits.places] == [(10, 10, 175, 330), (195, 10, 175, 330)]
    assert batteries_fit([box(379, 350, 230)], 330, 175, 220, gap_mm=10).count == 1
    assert batteries_fit([box(380, 350, 229)], 330, 175, 220, gap_mm=10).count == 0


def test_a_battery_is_not_laid_on_its_side():
    assert batteries_fit([box(400, 400, 200)], 300, 180, 220).count == 0


@pytest.mark.parametrize(("length_m", "gap_m", "field"), [(0, 0, "length_m"), (1.0, -0.1, "gap_m")])
def test_sizes_that_cannot_be_are_refused(length_m, gap_m, field):
    with pytest.raises(SizingError, match=field):
        most_on([roof(2, 1)], length_m, 0.5, gap_m)


def test_a_great_many_small_pieces_are_laid_and_said_to_be_unproved():
    packed = most_on([roof(20, 5)], 0.31, 0.17)

    holds(packed, [roof(20, 5)])
    assert packed.count >= 64 * 29  # rows alone: 20 / 0.31 by 5 / 0.17
    assert not packed.proved


HOLED = [  # (length, width, taken) in decimetres, and the piece: none is packed to its bound by cuts right through
    (7, 7, [(3, 3, 1, 1)], (4, 3)),
    (9, 7, [(4, 3, 1, 1), (0, 6, 2, 1)], (4, 2)),
    (8, 8, [(3, 3, 2, 2)], (5, 3)),
    (10, 6, [(2, 2, 1, 1), (7, 3, 1, 2)], (3, 2)),
]


@pytest.mark.parametrize(("length", "width", "taken", "piece"), HOLED)
def test_the_programme_finds_what_the_search_finds(length, width, taken, piece, monkeypatch):
    size = (length * 1000, width * 1000)
    boxes = tuple(tuple(v * 1000 for v in box) for box in taken)
    sides = (piece[0] * 1000, piece[1] * 1000)
    most = all_packings(length, width, *piece, taken)

    searched = packing_search.search(*size, sides, boxes, [], 99)
    monkeypatch.setattr(packing_search, "MOST_NODES", 1)
    programmed = packing_search.search(*size, sides, boxes, [], 99)

    assert [(len(places), proved) for places, proved in (searched, programmed)] == [(most, True), (most, True)]
    assert most_by_slices(*size, sides, boxes) >= most


@settings(max_examples=60, deadline=None)
@example(2, 3, 1, 3, [])  # no piece lies along a side that is shorter than it
@given(st.integers(2, 7), st.integers(2, 5), st.integers(1, 4), st.integers(2, 3), st.lists(boxes, max_size=2))
def test_no_packing_is_above_the_bound(length, width, a, b, taken):
    inside = [(x, y, min(ln, length - x), min(w, width - y)) for x, y, ln, w in taken if x < length and y < width]

    bound = most_by_slices(length, width, (max(a, b), min(a, b)), inside)

    assert bound >= all_packings(length, width, a, b, inside)


def test_packing_that_is_given_up_is_still_a_packing(monkeypatch):
    monkeypatch.setattr(packing_search, "MOST_NODES", 1)
    monkeypatch.setattr(packing_programme, "MOST_COVERED", 0)
    area = roof(1.03, 0.89, (0.45, 0.41, 0.07, 0.07))

    packed = most_on([area], 0.31, 0.17)

    holds(packed, [area])
    assert packed.count > 0
    assert not packed.proved
