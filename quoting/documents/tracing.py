"""Where every number on a paper comes from: the snapshot, a sum of it named here, or a short list of fixed words.

Tests read a paper back and hold each number on it against these.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from datetime import date
from decimal import Decimal, InvalidOperation
from io import BytesIO
from typing import Any

from quoting import words
from quoting.documents import speech, tracing_plan, tracing_wiring, weathers
from quoting.documents.build_handover import handover_content
from quoting.documents.build_quote import count_words, own_draw_wh, worn_ratio
from quoting.documents.circuit_words import SHAPES
from quoting.documents.common import Frozen
from quoting.documents.conditions import payload_after_kg
from quoting.documents.folding import offer_lines
from quoting.documents.speech import figure
from quoting.drawings.spread import day_step

TOKEN = re.compile(r"\d{1,3}(?:[ \u202f\u00a0]\d{3}(?!\d))+(?:\.\d+)?|\d+(?:,\d{3}(?!\d))*(?:[.,]\d+)?")
"""A number as printed: thousands by a space or the locale's mark, one decimal mark."""

FIXED = {
    "checksum": ("16", "64"),
    "standards": ("60617", "60228", "10133", "8820"),
    "mains zone on the diagram": ("230",),
}
"""Numbers in the fixed words of the papers, with what they are."""

CURVES = frozenset(
    {"charge_median", "charge_low", "charge_high", "charge_typical", "load_w", "engine_w", "mains_w", "sun_w"}
)
"""Drawn and never printed; so many numbers would allow any."""


def numbers_on(pdf: bytes) -> list[tuple[int, str]]:
    """Every number of a PDF with its page, the foot's ``page x of y`` and checksum left out."""
    from pypdf import PdfReader

    found = []
    for number, page in enumerate(PdfReader(BytesIO(pdf)).pages, 1):
        text = re.sub(r"page \d+ of \d+|checksum (?:[0-9a-f]{4} ?)+", " ", page.extract_text())
        found += [(number, _plain(token)) for token in TOKEN.findall(text)]
    return found


def allowed_numbers(body: dict[str, Any], personal: dict[str, Any] | None, form: str = "") -> set[str]:
    """Every number a paper of this snapshot may print.

    Parameters
    ----------
    body, personal : dict
        The snapshot. Each leaf counts in the ways its name says: a ratio as per cent, hours as minutes or days,
        amperes of a fault as kiloamperes, money with its marks, a day as day and year.
    form : str
        Label sheet it is printed on, whose measures stand on the paper.

    Returns
    -------
    set of str
        Tokens as :func:`numbers_on` finds them.
    """
    frozen = Frozen.open(body, personal, "")
    allowed: set[str] = set()
    for name, value in [*_leaves("", frozen.body), *_leaves("", frozen.personal or {})]:
        allowed |= _forms(frozen, name, value)
    others = (derived(frozen), tracing_wiring.derived(frozen, form), tracing_plan.derived(frozen))
    for made in (tokens for each in others for tokens in each.values()):
        allowed |= made
    for tokens in FIXED.values():
        allowed |= set(tokens)
    return allowed


def derived(frozen: Frozen) -> dict[str, set[str]]:
    """Numbers that no leaf holds, by what they are made of."""
    return {
        "sum of a group's lines": _group_sums(frozen),
        "cable and terminals added up": _folded(frozen),
        "own draw of the components": {figure(own_draw_wh(frozen), 0)},
        "payload left with the system in": _payload(frozen),
        "what weathers make of the trip": _weathers(frozen),
        "worn capacity": {figure(100 * worn_ratio(frozen))},
        "numbers and counts of readings": _counts(frozen),
        "scales of the bars": _scales(frozen),
        "fixed numbers in the words of this design's codes": _wording(frozen),
    }


def _leaves(name: str, value: Any) -> Iterator[tuple[str, Any]]:
    if isinstance(value, dict):
        for key, each in value.items():
            if key in CURVES:
                continue
            yield "", str(key)
            yield from _leaves(str(key), each)
    elif isinstance(value, list | tuple):
        for each in value:
            yield from _leaves(name, each)
    elif value is not None and not isinstance(value, bool):
        yield name, value


def _forms(frozen: Frozen, name: str, value: Any) -> set[str]:
    if isinstance(value, str):
        return _of_text(frozen, name, value)
    return _of_number(name, float(value))


def _of_text(frozen: Frozen, name: str, value: str) -> set[str]:
    found = _tokens(value)
    if re.fullmatch(r"\d{4}-\d\d-\d\d.*", value):
        day = date.fromisoformat(value[:10])
        found |= {str(day.day), str(day.year)}
    if re.fullmatch(r"[−-]?\d+(\.\d+)?", value):
        try:
            exact = Decimal(value)
        except InvalidOperation:
            return found
        if name.endswith("_ratio"):
            return found | _of_number(name, float(exact))
        money = frozen.locality
        found |= _tokens(money.amount(exact)) | _tokens(money.money(exact))
        if name == "quantity":
            found |= _of_number(name, float(exact))
    return found


def _of_number(name: str, value: float) -> set[str]:
    values = [value]
    if name.endswith("_ratio"):
        values.append(100 * value)
    if name.endswith(("breaking_a", "fault_a")):
        values.append(value / 1000)
    if name.endswith("_h") or name.startswith("hours"):
        values += [60 * value, value / 24]
    found: set[str] = set()
    for each in values:
        found |= _tokens(figure(each)) | {t for d in range(4) for t in _tokens(figure(each, d))}
        found |= _tokens(words.number_words(each))
    return found | _tokens(words.param_words(name, value))


def _tokens(text: str) -> set[str]:
    return {_plain(token) for token in TOKEN.findall(text)}


def _plain(token: str) -> str:
    """A token with one kind of space between thousands: a PDF keeps no others apart."""
    return token.replace("\u202f", " ").replace("\u00a0", " ")


def _group_sums(frozen: Frozen) -> set[str]:
    found: set[str] = set()
    for offer in _offers(frozen):
        groups: dict[str, Decimal] = {}
        for line in offer["lines"]:
            groups[line["group"]] = groups.get(line["group"], Decimal(0)) + speech.decimal(line["amount"])
        found |= {token for amount in groups.values() for token in _tokens(frozen.locality.amount(amount))}
    return found


def _offers(frozen: Frozen) -> list[dict[str, Any]]:
    """The offers of a quote; none on a paper of another record."""
    return list(frozen.body.get("offers") or ([frozen.body["offer"]] if "offer" in frozen.body else ()))


def _folded(frozen: Frozen) -> set[str]:
    """Metres, pieces and amounts of lines that stand in one; their areas are leaves of the parts."""
    groups = [group for offer in _offers(frozen) for group in offer_lines(frozen, offer).values()]
    lines = [line for group in groups for line in group if line.each is None]
    return {
        token
        for line in lines
        for text in (count_words(line), frozen.locality.amount(line.amount))
        for token in _tokens(text)
    }


def _payload(frozen: Frozen) -> set[str]:
    if "offer" not in frozen.body:
        return set()
    after = payload_after_kg(frozen)
    return set() if after is None else _tokens(figure(abs(after), 1))


def _weathers(frozen: Frozen) -> set[str]:
    """Share of the weathers in the band, charges as shares of the battery, and the days below the curve."""
    outlook, figures = frozen.appraisal.outlook, frozen.appraisal.figures
    if outlook is None:
        return set()
    days = round(len(outlook.charge_median) * outlook.step_h / 24)
    found = {figure(100 * weathers.band_ratio(outlook))} | {str(day) for day in range(0, days + 1, day_step(days))}
    charges = [span.grey_day_ah for span in outlook.stops]
    charges += [figures[key].value for key in ("engine.hour_gives_ah",) if key in figures]
    shares = [weathers.of_battery_ratio(frozen, charge_ah) for charge_ah in charges]
    return found | {figure(100 * share, 0) for share in shares if share is not None}


def _counts(frozen: Frozen) -> set[str]:
    asked = {each.key for each in frozen.appraisal.expectations}
    asked |= {each["key"] for each in frozen.body.get("readings") or ()}
    return {str(number) for number in range(len(asked) + 1)}


def _scales(frozen: Frozen) -> set[str]:
    """Marks of the charts: quarters of a charge, and whole steps of hours or days up to the longest bar."""
    from quoting.drawings.charts import _step

    if not frozen.is_as_built:
        return set()
    found = {"100", "75", "50", "25"}
    for chart in handover_content(frozen).charts:
        step = _step(max(bar.new_h for bar in chart.bars))
        found |= {figure(times * step / (24 if step >= 24 else 1)) for times in range(6)}
    return found


def _wording(frozen: Frozen) -> set[str]:
    appraisal = frozen.appraisal
    templates = [text for f in appraisal.findings for text in words.FINDING.get(f.code, ())]
    templates += [words.READING[e.code] for e in appraisal.expectations if e.code in words.READING]
    templates += [words.QUESTION[code] for code in appraisal.questions if code in words.QUESTION]
    templates += [words.RULE[c.decided_by] for c in appraisal.circuits if c.decided_by in words.RULE]
    templates += list(SHAPES.values())
    templates += [words.SHORTFALL[s.code] for s in appraisal.shortfalls if s.code in words.SHORTFALL]
    return {token for text in templates for token in _tokens(re.sub(r"\{[^}]*\}", " ", str(text)))}
