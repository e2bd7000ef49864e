from __future__ import annotations

from quoting.drawings.placing import CLEAR_MM, CLEAR_WIRE_MM, Rect, Register

SHEET = Rect(0, 0, 100, 50)


def test_a_text_takes_the_first_free_of_its_places():
    register = Register(SHEET)
    register.add("symbol", Rect(10, 10, 20, 20))

    index = register.settle("F1", [(Rect(15, 12, 25, 15),), (Rect(30, 12, 40, 15),), (Rect(50, 12, 60, 15),)])

    assert index == 1
    assert [box.rect for box in register.texts] == [Rect(30, 12, 40, 15)]


def test_a_text_of_two_pieces_needs_both_free():
    register = Register(SHEET)
    register.add("symbol", Rect(10, 30, 20, 40))
    pair = (Rect(10, 10, 20, 12), Rect(10, 32, 20, 34))

    assert register.settle("size and length", [pair]) is None
    assert register.unplaced == ["size and length"]
    assert register.texts == []


def test_nothing_is_placed_outside_the_sheet():
    register = Register(SHEET)

    assert register.settle("out", [(Rect(95, 10, 101, 12),)]) is None


def test_texts_keep_their_distance_on_both_sides_of_the_limit():
    register = Register(SHEET)
    register.add("symbol", Rect(10, 10, 20, 20))
    register.wire([(40, 0), (40, 50)], 0.4)  # from 39.8 to 40.2 mm

    assert not register.is_free(Rect(20 + CLEAR_MM - 0.01, 10, 30, 12))
    assert register.is_free(Rect(20 + CLEAR_MM + 0.01, 10, 30, 12))
    assert not register.is_free(Rect(40.2 + CLEAR_WIRE_MM - 0.01, 10, 45, 12))
    assert register.is_free(Rect(40.2 + CLEAR_WIRE_MM + 0.01, 10, 45, 12))


def test_a_bent_wire_is_kept_clear_along_both_legs():
    register = Register(SHEET)
    register.wire([(10, 10), (30, 10), (30, 40)], 0.4)

    assert not register.is_free(Rect(15, 9, 20, 11))
    assert not register.is_free(Rect(29, 30, 31, 32))
    assert register.is_free(Rect(12, 30, 20, 32))  # inside the bend
