"""What goes into choosing beside the Brief, and what comes out: frozen, JSON. Money is text without tax."""

from __future__ import annotations

from collections.abc import Iterable
from decimal import ROUND_HALF_UP, Decimal
from typing import Annotated, Literal

from pydantic import Field

from quoting import money
from quoting.sizing.appraisal import BillLine, Shortfall
from quoting.sizing.bill_labour import booked
from quoting.sizing.bill_lines import SMALL
from quoting.sizing.brief_choosing import KeptRole, Objective, OfferName, Pick, Room
from quoting.sizing.fields import Key, Name, n
from quoting.sizing.trace import Finding, Record, Scalar

SELECTION_VERSION = "loomwright.selection/1"

Money = Annotated[str, Field(pattern=r"^-?\d{1,9}(\.\d{1,4})?$")]
"""An amount in the workshop's currency, without tax."""


class Said(Record):
    """A sentence as data: worded by ``quoting.wording.selecting``."""

    code: str
    params: Annotated[dict[str, Scalar], Field(default_factory=dict)]


_THOUSANDTH, _HUNDREDTH = Decimal("0.001"), Decimal("0.01")

# --- In: what a Brief does not hold, as it moves without a design becoming another -------------------------------


class MarketPart(Record):
    """What the workshop can get a part for, and when."""

    price: Money = Field(description="What the customer pays for one, without tax.")
    supplier: str = ""
    """Key of its supplier; empty where none is named."""
    stock: int = Field(default=0, ge=0)
    lead_days: int = Field(default=0, ge=0, le=720)


class Operation(Record):
    """One labour operation: how long one unit takes, what an hour of whoever does it is sold for."""

    minutes: float = n("min", 0, 100_000)
    hour_price: Money


class Market(Record):
    """Prices of today: of parts by key, of one unit of each labour operation by code."""

    parts: dict[str, MarketPart] = Field(default_factory=dict)
    labour: dict[str, Money] = Field(default_factory=dict)
    """Of one unit of each operation, not rounded to whole cents; what a line comes to says :meth:`amount`."""
    suppliers: dict[str, Name] = Field(default_factory=dict)
    operations: dict[str, Operation] = Field(default_factory=dict)
    sundries_ratio: str = Field(default="0", pattern=r"^0(\.\d{1,9})?$", description="Small parts, of all parts.")
    half: Literal["up", "down"] = "up"
    """Where half a cent goes."""

    def price(self, part: str) -> Decimal:
        """What one of a part is sold for; 0 for one that the market does not know."""
        one = self.parts.get(part)
        return Decimal(one.price) if one else Decimal(0)

    def amount(self, line: BillLine) -> Decimal:
        """What a line of a bill comes to, to the cent as a quote has it: hours are rounded as they are printed."""
        quantity = Decimal(str(line.quantity)).quantize(_THOUSANDTH)
        if line.labour:
            one = self.operations.get(line.labour)
            if one is None:
                return Decimal(0)
            hours = (Decimal(str(one.minutes)) * quantity / 60).quantize(_HUNDREDTH, ROUND_HALF_UP)
            return money.line_amount(hours, Decimal(one.hour_price), self.half)
        return Decimal(0) if line.kept else money.line_amount(quantity, self.price(line.part), self.half)

    def bill(self, lines: Iterable[BillLine]) -> Decimal:
        """What a whole bill comes to: parts, cable, labour; without sundries, discount and tax."""
        return sum((self.amount(line) for line in booked(lines, self.operations)), Decimal(0))

    def sundries(self, lines: Iterable[BillLine]) -> Decimal:
        """What small parts come to that go by a share of all others, less those that are on the bill by themselves."""
        bought = [(line.rule in SMALL, self.amount(line)) for line in lines if line.part]
        parts, listed = (sum((amount for small, amount in bought if small is of), Decimal(0)) for of in (False, True))
        return money.share_beyond(parts, Decimal(self.sundries_ratio), listed, self.half)


class Steer(Record):
    """What a person wishes of the choice itself. Chemistries, pins and bans of parts are wishes of the Brief."""

    budget: Money | None = None
    """Most that the whole bill and its sundries (``Market.sundries``) may come to. [currency, without tax]"""
    prefer_stock: bool = False
    """A part on the shelf is taken where it is no dearer than the policy's premium."""
    most_lead_days: int | None = Field(default=None, ge=0, le=720)
    most_mass_kg: float | None = n("kg", 0, 20000, None, "Most that the system may weigh, the payload that is left.")
    suppliers_banned: tuple[Key, ...] = ()
    banned_with_supplier: tuple[Key, ...] = ()
    """Parts that the Brief bans for no other reason than their supplier."""
    suppliers_wanted: tuple[Key, ...] = ()
    """Where any of them has a part that does what is asked, it comes from them."""
    swaps: tuple[Pick, ...] = ()
    """Parts settled by hand: they are in every offer."""


# --- Out ----------------------------------------------------------------------------------------------------------


class Facts(Record):
    """What systems are compared by."""

    price: Money
    """Of the whole bill: parts, cable, labour; without sundries, discount and tax."""
    parts_price: Money
    """Of the parts that were chosen. What the programme minimises is made of it."""
    mass_kg: float
    dark_chance_ratio: float | None
    """Chance that an essential load goes dark on the trip; ``None`` where there was nothing to simulate."""
    dark_high_ratio: float | None
    """Upper end of its 95 % interval."""
    days_without_charging: float | None
    flat_days: float | None
    """From full to flat in the trip's hardest place; ``None``: over a year, or not simulated."""
    battery_years: float | None
    cost_per_year: Money | None
    spare_outputs: int
    lead_days: int
    """Of the part that is waited for longest, what is on the shelf counted as there."""
    waits_for: str = ""
    """Name of that part."""
    capacity_ah: float | None = None
    array_w: float | None = None
    warnings: int = 0


class Candidate(Record):
    """A system that was proved, or tried and fell short."""

    key: str
    """Same picks and room, same key."""
    offer: OfferName
    """Offer it was tried for."""
    picks: tuple[Pick, ...]
    room: Room
    facts: Facts
    holds: bool
    fails: tuple[Said, ...] = ()
    """Why it does not hold."""
    frontier: bool = False
    """No other proved system is both cheaper and safer from going dark."""


class NearMiss(Record):
    """The runner-up for one part of an offer: what the system would be made with instead."""

    role: KeptRole
    part: str
    name: str
    quantity: int
    instead: str = ""
    """Key of the runner-up; empty: nothing else in the catalogue would do."""
    instead_name: str = ""
    instead_quantity: int = 0
    more: Money = "0"
    """What the chosen parts would come to more."""
    more_mass_kg: float = 0.0
    moves: tuple[KeptRole, ...] = ()
    """Other roles that would take another part along with it."""


class WishPrice(Record):
    """What one wish costs: the same choice without it."""

    wish: Said
    more: Money | None
    """Dearer by so much because of it, less than nothing where it saves; ``None``: without it there would be no more of
    an answer than with it."""
    worse: float = 0.0
    """By how much what the offer has least of (price, cost per year, mass) is worse because of it."""
    without: tuple[Pick, ...] = ()


class Miss(Record):
    """A need or limit that cannot be met together with others, and by how much."""

    code: str
    """Name of the row: ``capacity_ah``, ``budget``, ``mass_kg`` ...; ``group:panel`` where no panel goes with the rest;
    ``wish``."""
    asked: float
    best: float
    """The most (or least) there is while the others hold."""
    short_by: float
    unit: str
    wish: Said | None = None
    """Where it is a wish that would have to be given up (code ``wish``)."""


class Clash(Record):
    """What cannot be met together, and the smallest change that would do."""

    together: tuple[Miss, ...]
    """Each is needed for the clash: leave any one out, and the others can be met."""
    change: tuple[Miss, ...]
    """The least, as shares of what was asked, by which limits would have to give for all to be met; in ``best`` what
    each would have to be."""
    limits: tuple[Miss, ...] = ()
    """The least by which limits and wishes alone would have to give, every need met; empty where that would not do, or
    is what ``change`` says already."""
    lacking: tuple[Shortfall, ...] = ()
    """Needs for which the catalogue has no part at all, with the nearest."""


class Solved(Record):
    """What the solver says of an answer."""

    options: int
    rows: int
    bound: float
    objective: float
    gap_ratio: float
    optimal: bool
    rounds: int = 1


class OfferMade(Record):
    """One of the three, proved."""

    offer: OfferName
    objective: Objective
    room: Room
    """As it was in the end: tightened until the proof held."""
    picks: tuple[Pick, ...]
    facts: Facts
    why: Said
    lacks: tuple[Said, ...] = ()
    """What the next cheaper one would lack."""
    solved: Solved
    proofs: int = 1
    """Systems that were worked through for this offer."""
    near_misses: tuple[NearMiss, ...] = ()
    wish_prices: tuple[WishPrice, ...] = ()
    same_as: OfferName | None = None
    """Another offer that came to the very same system."""


class Selection(Record):
    """Three offers for one Brief, how they came about, and what could not be had."""

    version: Literal["loomwright.selection/1"] = "loomwright.selection/1"
    method_version: str
    brief_sha256: str
    """Of the Brief without picks and room."""
    offers: tuple[OfferMade, ...] = ()
    candidates: tuple[Candidate, ...] = ()
    clashes: dict[str, Clash] = Field(default_factory=dict)
    """By offer, where none could be made."""
    findings: tuple[Finding, ...] = ()
