"""Vehicle identification numbers against the regulation's own example."""

from __future__ import annotations

import pytest

from fitouts.vin import VinError, check_digit, read_vin


@pytest.mark.parametrize(
    ("vin", "digit", "source"),
    [
        # 49 CFR 565.15(c), table VI works this number through: 411 over 11 leaves 4 (M; the sum is redone by hand, D)
        ("1G4AH59H45G118341", "4", "49 CFR 565.15 table VI"),
        # seventeen ones: the weights add up to 89, which leaves 1 (D)
        ("11111111111111111", "1", "weights of 49 CFR 565.15 table IV"),
        # a 1 in place one (weight 8), a 2 in the last (weight 2), noughts else: 8 + 4 = 12, which leaves 1 (D)
        ("10000000000000002", "1", "weights"),
        # 2 x 8 + 3 x 2 = 22, which leaves 0 (D)
        ("20000000000000003", "0", "weights"),
        # 4 x 8 = 32, which leaves 10, written X (D)
        ("40000000000000000", "X", "weights"),
    ],
)
def test_check_digit(vin, digit, source):
    assert check_digit(vin) == digit, source


def test_north_american_vin_is_read_and_verified():
    assert read_vin(" 1g4ah59h45g-118341 ") == ("1G4AH59H45G118341", True)


def test_one_wrong_character_of_a_north_american_vin_is_found():
    with pytest.raises(VinError) as refused:
        read_vin("1G4AH59H45G118342")

    assert (refused.value.code, refused.value.params) == ("check", {"found": "4", "due": "6"})


@pytest.mark.parametrize("first", "ABCDEFGHJKLMNPRSTUVWXYZ6789")
def test_elsewhere_place_nine_may_hold_anything(first):
    assert read_vin(f"{first}1111111Z11111111") == (f"{first}1111111Z11111111", False)


@pytest.mark.parametrize(
    ("text", "code", "params"),
    [
        ("1G4AH59H45G11834", "length", {"length": 16}),
        ("1G4AH59H45G1183411", "length", {"length": 18}),
        ("WIOQH59H45G118341", "letters", {"letters": "I, O, Q"}),
        ("W<script>5G118341", "letters", {"letters": "<, >, I"}),
    ],
)
def test_what_cannot_be_a_vin(text, code, params):
    with pytest.raises(VinError) as refused:
        read_vin(text)

    assert (refused.value.code, refused.value.params) == (code, params)
