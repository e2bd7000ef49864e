"""Vehicle identification numbers. Pure.

Seventeen characters without I, O and Q (ISO 3779). The check digit in place nine is asked for only where law asks for
it: North American identifiers, whose first character is 1 to 5 (49 CFR 565.15(c)). Others may carry anything there.
"""

from __future__ import annotations

LETTERS = {
    **dict(zip("ABCDEFGH", (1, 2, 3, 4, 5, 6, 7, 8), strict=True)),
    **dict(zip("JKLMNPR", (1, 2, 3, 4, 5, 7, 9), strict=True)),
    **dict(zip("STUVWXYZ", (2, 3, 4, 5, 6, 7, 8, 9), strict=True)),
    **{digit: int(digit) for digit in "0123456789"},
}
"""Value of each character. 49 CFR 565.15(c), table III."""
WEIGHTS = (8, 7, 6, 5, 4, 3, 2, 10, 0, 9, 8, 7, 6, 5, 4, 3, 2)
"""Weight of each place. 49 CFR 565.15(c), table IV."""
NORTH_AMERICA = frozenset("12345")


class VinError(ValueError):
    """A VIN that cannot be: a code and its parameters (``length``, ``letters`` or ``check``)."""

    def __init__(self, code: str, **params: object) -> None:
        self.code, self.params = code, params
        super().__init__(f"{code}: {params}")


def check_digit(vin: str) -> str:
    """The digit or X that place nine of a North American VIN must hold.

    >>> check_digit("11111111111111111")
    '1'
    """
    rest = sum(LETTERS[character] * weight for character, weight in zip(vin, WEIGHTS, strict=True)) % 11
    return "X" if rest == 10 else str(rest)


def read_vin(text: str) -> tuple[str, bool]:
    """The VIN in capitals without spaces, and whether its check digit was verified.

    Raises :class:`VinError` for a wrong length, a character that a VIN never has, or a wrong check digit where one is
    asked for.
    """
    vin = "".join(text.upper().replace("-", "").split())
    if len(vin) != 17:
        raise VinError("length", length=len(vin))
    wrong = sorted({character for character in vin if character not in LETTERS})
    if wrong:
        raise VinError("letters", letters=", ".join(wrong))
    if vin[0] not in NORTH_AMERICA:
        return vin, False
    due = check_digit(vin)
    if vin[8] != due:
        raise VinError("check", found=vin[8], due=due)
    return vin, True
