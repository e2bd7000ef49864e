"""Money: the only place that rounds it. Pure; Decimal in, Decimal out; amounts are without tax unless named so.

The rule, once: a line is quantity x price, rounded to a cent where it is written. Lines add up exactly. Tax is
taken once on the sum (``total``) or on each line (``line``), as the workshop chose; half a cent goes up, or
down where the tax law lets it be disregarded. The sum to pay may then be rounded to a coin.

References
----------
.. [1] A New Tax System (Goods and Services Tax) Act 1999 (Cth), s 9-90: to the nearest cent, half up; several
   supplies on one invoice added first and rounded once, or each rounded.
.. [2] Goods and Services Tax Act 1985 (NZ), s 19O: a fraction up to half a cent may be disregarded.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from decimal import ROUND_HALF_DOWN, ROUND_HALF_UP, Decimal
from typing import Literal

Half = Literal["up", "down"]
TaxRounding = Literal["total", "line"]

CENT = Decimal("0.01")
ZERO = Decimal(0)
_MODES = {"up": ROUND_HALF_UP, "down": ROUND_HALF_DOWN}


class MoneyError(ValueError):
    """An amount, ratio or step that no sum can be made from."""

    def __init__(self, field: str, value: object, allowed: str) -> None:
        self.field, self.value, self.allowed = field, value, allowed
        super().__init__(f"{field} is {value}; it must be {allowed}.")


def _exact(field: str, value: Decimal) -> Decimal:
    if not isinstance(value, Decimal) or not value.is_finite():
        raise MoneyError(field, value, "a decimal amount, never a binary fraction")
    return value


def round_to(amount: Decimal, step: Decimal = CENT, half: Half = "up") -> Decimal:
    """Round an amount to a multiple of ``step``.

    Parameters
    ----------
    amount : Decimal
        Amount to round. [currency]
    step : Decimal
        Smallest coin, above zero. [currency]
    half : {"up", "down"}
        Where exactly half a step goes; away from zero, or towards it.

    Returns
    -------
    Decimal
        The rounded amount. [currency]

    Raises
    ------
    MoneyError
        If amount or step is not a finite Decimal, or the step is not above zero.

    Examples
    --------
    >>> round_to(Decimal("0.225")), round_to(Decimal("0.225"), half="down")
    (Decimal('0.23'), Decimal('0.22'))
    >>> round_to(Decimal("11174.21"), Decimal("0.05"))
    Decimal('11174.20')
    """
    _exact("amount", amount)
    if _exact("step", step) <= 0:
        raise MoneyError("step", step, "above 0")
    return (amount / step).quantize(Decimal(1), rounding=_MODES[half]) * step


def line_amount(quantity: Decimal, unit_price: Decimal, half: Half = "up") -> Decimal:
    """Return what one line comes to, rounded to a cent. [currency]

    >>> line_amount(Decimal("10.4"), Decimal("14.80"))
    Decimal('153.92')
    """
    return round_to(_exact("quantity", quantity) * _exact("unit_price", unit_price), CENT, half)


def share_beyond(parts: Decimal, ratio: Decimal, listed: Decimal, half: Half = "up") -> Decimal:
    """A share of an amount, for what is not listed by itself: what is listed of it is taken off, never below nothing.

    Parameters
    ----------
    parts : Decimal
        Amount that the share is of, without what is listed. [currency]
    ratio : Decimal
        The share.
    listed : Decimal
        What of the same things stands in lines of its own. [currency]
    half : {"up", "down"}
        Where half a cent goes.

    Returns
    -------
    Decimal
        What is left of the share. [currency]

    Examples
    --------
    >>> share_beyond(Decimal("5000"), Decimal("0.03"), Decimal("61.20"))
    Decimal('88.80')
    >>> share_beyond(Decimal("1000"), Decimal("0.03"), Decimal("61.20"))
    Decimal('0')
    """
    return max(ZERO, line_amount(parts, ratio, half) - listed)


def marked_up(cost: Decimal, ratio: Decimal, half: Half = "up") -> Decimal:
    """Return the price of a cost under a markup on cost, rounded to a cent. [currency]

    >>> marked_up(Decimal("100"), Decimal("0.35"))
    Decimal('135.00')
    """
    if _exact("ratio", ratio) < 0:
        raise MoneyError("ratio", ratio, "0 or more")
    return round_to(_exact("cost", cost) * (1 + ratio), CENT, half)


def tax_on_lines(
    amounts: Iterable[Decimal], ratio: Decimal, rounding: TaxRounding = "total", half: Half = "up"
) -> Decimal:
    """Return the tax on amounts that are without it.

    Parameters
    ----------
    amounts : iterable of Decimal
        Lines, without tax. [currency]
    ratio : Decimal
        Tax rate, 0 to 1.
    rounding : {"total", "line"}
        Round once on the sum, or on each line.
    half : {"up", "down"}
        Where half a cent goes.

    Returns
    -------
    Decimal
        Tax. [currency]

    Raises
    ------
    MoneyError
        If the ratio is outside 0 to 1, or an amount is not a finite Decimal.

    Examples
    --------
    >>> lines = [Decimal("10.04")] * 3
    >>> tax_on_lines(lines, Decimal("0.1")), tax_on_lines(lines, Decimal("0.1"), "line")
    (Decimal('3.01'), Decimal('3.00'))

    References
    ----------
    .. [1] GST Act 1999 (Cth) s 9-90; see the module.
    """
    if not 0 <= _exact("ratio", ratio) <= 1:
        raise MoneyError("ratio", ratio, "0 to 1")
    lines = [_exact("amount", a) for a in amounts]
    if rounding == "line":
        return sum((round_to(a * ratio, CENT, half) for a in lines), ZERO)
    return round_to(sum(lines, ZERO) * ratio, CENT, half)


def tax_inside(amount_with_tax: Decimal, ratio: Decimal, half: Half = "up") -> Decimal:
    """Return the tax contained in an amount that includes it. [currency]

    >>> tax_inside(Decimal("59.85"), Decimal("0.1"))
    Decimal('5.44')
    """
    if not 0 <= _exact("ratio", ratio) <= 1:
        raise MoneyError("ratio", ratio, "0 to 1")
    return round_to(_exact("amount_with_tax", amount_with_tax) * ratio / (1 + ratio), CENT, half)


@dataclass(frozen=True, slots=True)
class Totals:
    """The foot of a quote. Every part is rounded; they add up exactly. [currency]"""

    lines: Decimal
    discount: Decimal
    net: Decimal
    tax: Decimal
    rounding: Decimal
    total: Decimal
    deposit: Decimal


def totals(
    amounts: Sequence[Decimal],
    *,
    tax_ratio: Decimal,
    discount_ratio: Decimal = ZERO,
    deposit_ratio: Decimal = ZERO,
    tax_rounding: TaxRounding = "total",
    half: Half = "up",
    round_total_to: Decimal = CENT,
) -> Totals:
    """Add up a quote: lines, discount, tax, rounding to a coin, deposit.

    The discount is one line of its own, so lines + discount + tax + rounding is the total to the cent.

    Parameters
    ----------
    amounts : sequence of Decimal
        Lines, without tax, each already rounded to a cent. [currency]
    tax_ratio, discount_ratio, deposit_ratio : Decimal
        Each 0 to 1; the discount is of the lines, the deposit of the total.
    tax_rounding, half, round_total_to
        The workshop's rules.

    Returns
    -------
    Totals
        ``discount`` is 0 or negative; ``net`` = lines + discount; ``total`` = net + tax + rounding.

    Raises
    ------
    MoneyError
        If a ratio is outside 0 to 1 or an amount is not a finite Decimal.

    Examples
    --------
    >>> t = totals([Decimal("10158.37")], tax_ratio=Decimal("0.1"))
    >>> t.tax, t.total
    (Decimal('1015.84'), Decimal('11174.21'))
    """
    for field, ratio in (("discount_ratio", discount_ratio), ("deposit_ratio", deposit_ratio)):
        if not 0 <= _exact(field, ratio) <= 1:
            raise MoneyError(field, ratio, "0 to 1")
    lines = sum((_exact("amount", a) for a in amounts), ZERO)
    discount = -round_to(lines * discount_ratio, CENT, half)
    net = lines + discount
    tax = tax_on_lines([*amounts, discount], tax_ratio, tax_rounding, half)
    exact = net + tax
    total = round_to(exact, round_total_to, half)
    return Totals(
        lines=lines,
        discount=discount,
        net=net,
        tax=tax,
        rounding=total - exact,
        total=total,
        deposit=round_to(total * deposit_ratio, CENT, half),
    )
