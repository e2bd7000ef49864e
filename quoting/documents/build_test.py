"""From a frozen design or system as built to the words and numbers of its test sheet."""

from __future__ import annotations

from dataclasses import replace
from typing import Any, Literal

from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from quoting import words
from quoting.documents import as_found, cautions
from quoting.documents.by_hand import circuit_line
from quoting.documents.common import Frozen, setting_rows
from quoting.documents.content import Check, CheckGroup, Fact, Field, InstrumentRow, SettingRow, TestContent
from quoting.documents.speech import figure, percent, quantity
from quoting.documents.text import quiet, strong
from quoting.sizing.appraisal import Expectation

GROUPS = {
    "vehicle": gettext_lazy("Vehicle, before and after"),
    "drop": gettext_lazy("Voltage drop, positive and negative apart"),
    "circuits": gettext_lazy("Circuits, under load"),
    "watched": gettext_lazy("What is watched, and signals"),
    "sources": gettext_lazy("Sources, load run, protection"),
    "mains": gettext_lazy("Mains voltage"),
}


def test_content(frozen: Frozen) -> TestContent:
    """Everything a test sheet prints: what is expected, and what was read as far as it was."""
    body = frozen.body
    filled = frozen.is_as_built
    title = body["job"].get("title") or body["brief"]["title"]
    number = body["job"]["number"]
    groups, licensed = _checks(frozen)
    open_rows = (
        Field(_("Tested"), _tester(body), 4, 4),
        Field(_("Signature"), "", 8, 2),
        Field(_("Date"), _tested_on(frozen), 10, 3),
    )
    return TestContent(
        frame=frozen.frame(
            title=_("Test sheet"),
            lead=_lead(frozen, str(title)),
            running=_("Test sheet, job %(number)s: %(title)s, %(plate)s")
            % {"number": number, "title": title, "plate": frozen.plate()},
            mark=_("Test sheet, job %s") % number,
            dated=_("%(state)s, %(design)s; %(day)s")
            % {
                "state": _("as built") if filled else _("to fill in"),
                "design": frozen.design_mark(),
                "day": frozen.dated(),
            },
            facts=_facts(frozen),
        ),
        filled=filled,
        instruments=tuple(
            InstrumentRow(
                each["name"], _("no. %s") % each["serial"], frozen.locality.month_year(each.get("calibrated_until"))
            )
            for each in body.get("instruments") or ()
        ),
        groups=groups,
        licensed=licensed,
        licensed_fields=(_licensed_fields(body),),
        settings=_settings(frozen),
        result=_result(groups, licensed) if filled else _("To be filled in once every field above is."),
        fields=(
            open_rows,
            (Field(_("Checked"), "", 4, 4), Field(_("Signature"), "", 8, 2), Field(_("Date"), "", 10, 3)),
        ),
        questions=tuple(words.questions_for(frozen.appraisal)),
        notices=frozen.notices(),
        cautions=cautions.wiring(frozen),
        notes=tuple(str(each) for each in (body.get("found") or "").splitlines() if each.strip()),
        by_hand=_unread(frozen),
    )


test_content.__test__ = False  # type: ignore[attr-defined]


def _lead(frozen: Frozen, title: str) -> str:
    volts = quantity(frozen.appraisal.system_v, "V")
    if as_found.is_fault(frozen):
        return _("%(title)s, %(volts)s vehicle, as mended") % {"title": title, "volts": volts}
    return _("%(title)s, %(volts)s auxiliary system, %(state)s") % {
        "title": title,
        "volts": volts,
        "state": _("as built") if frozen.is_as_built else _("as designed"),
    }


def _facts(frozen: Frozen) -> tuple[Fact, ...]:
    conditions = frozen.body.get("test_conditions") or {}
    blank = "………"

    def known(name: str, unit: str, ratio: bool = False) -> str:
        value = conditions.get(name)
        if value is None:
            return f"{blank} {quiet(unit)}"
        return f"{figure(float(value) * (100 if ratio else 1))} {quiet(unit)}"

    when = frozen.dated() if frozen.is_as_built else f"{blank}{blank}"
    return (
        Fact(_("Vehicle"), frozen.vehicle_lines()),
        Fact(_("Customer"), frozen.customer_lines()[:2]),
        Fact(
            _("When, and how warm"),
            (
                strong(when),
                _("air %s") % known("air_c", "°C"),
                _("battery %s") % known("battery_c", "°C"),
            ),
        ),
        Fact(
            _("State of charge at start"),
            (strong(known("charge_ratio", "%", True)), _("rested %s") % known("rested_h", "h")),
        ),
    )


def _checks(frozen: Frozen) -> tuple[tuple[CheckGroup, ...], tuple[CheckGroup, ...]]:
    """Every reading numbered through: those of the workshop, then those of the licensed person."""
    taken = {each["key"]: each for each in frozen.body.get("readings") or ()}
    expected = list(frozen.appraisal.expectations)
    known = {each.key for each in expected}
    expected += [_expectation(each) for key, each in taken.items() if key not in known]
    number = 0
    by_hand = {circuit.tag: circuit_line(circuit) for circuit in frozen.appraisal.circuits if circuit.changed}
    out: list[list[CheckGroup]] = [[], []]
    for licensed in (False, True):
        members = [each for each in expected if each.licensed is licensed]
        for group in dict.fromkeys([*GROUPS, *(each.group for each in members)]):
            checks = []
            for each in [m for m in members if m.group == group]:
                number += 1
                check = _check(str(number), each, taken.get(each.key))
                checks.append(replace(check, by_hand=by_hand.pop(str(each.params.get("tag", "")), "")))
            if checks:
                out[licensed].append(CheckGroup(str(GROUPS[group]), tuple(checks), licensed))
    if out[1]:
        name = _("Mains voltage: for the licensed person to measure and sign")
        merged = tuple(check for group in out[1] for check in group.checks)
        out[1] = [CheckGroup(name, merged, True)]
    return tuple(out[0]), tuple(out[1])


def _unread(frozen: Frozen) -> tuple[str, ...]:
    """Circuits settled by hand that no reading names."""
    read = {str(each.params.get("tag", "")) for each in frozen.appraisal.expectations}
    return tuple(
        f"{circuit.tag} {circuit.name}: {circuit_line(circuit)}"
        for circuit in frozen.appraisal.circuits
        if circuit.changed and circuit.tag not in read
    )


def _expectation(reading: dict[str, Any]) -> Expectation:
    answer: Literal["yes", "number"] = "yes" if reading.get("answer") is not None else "number"
    fields = ("key", "group", "code", "params", "unit", "minimum", "maximum", "safety", "licensed")
    return Expectation(**{name: reading[name] for name in fields if name in reading}, answer=answer)


def _check(number: str, asked: Expectation, reading: dict[str, Any] | None) -> Check:
    return Check(
        no=number,
        words=words.reading_words(asked),
        expected=expected_words(asked),
        measured="" if reading is None else _measured(asked, reading),
        unit=asked.unit,
        passed=None if reading is None else bool(reading["passed"]),
        by="" if reading is None else str(reading.get("by") or ""),
    )


def expected_words(asked: Expectation) -> str:
    """What the reading should be."""
    if asked.answer == "yes":
        return _("yes")
    low, high, digits = asked.minimum, asked.maximum, _digits(asked)
    if low is not None and low == high:
        return figure(low, digits)
    if low and high is not None:
        return _("%(low)s to %(high)s") % {"low": figure(low, digits), "high": figure(high, digits)}
    if low:
        return f"≥ {figure(low, digits)}"
    if high is not None:
        return f"≤ {figure(high, digits)}"
    return _("write down")


def _digits(asked: Expectation) -> int | None:
    """Decimals of a reading: millivolts and milliamperes where the limit is below one, else as the figure asks."""
    limit = asked.maximum if asked.maximum is not None else asked.minimum
    return 3 if asked.unit in ("V", "A") and limit is not None and limit < 1 else None


def _measured(asked: Expectation, reading: dict[str, Any]) -> str:
    if reading.get("answer") is not None:
        return _("yes") if reading["answer"] else _("no")
    return "" if reading.get("value") is None else figure(float(reading["value"]), _digits(asked))


def _tested_on(frozen: Frozen) -> str:
    """Day of the last reading the workshop took."""
    days = [
        str(each["at"]) for each in frozen.body.get("readings") or () if each.get("at") and not each.get("licensed")
    ]
    return frozen.locality.day(max(days)) if days else ""


def _tester(body: dict[str, Any]) -> str:
    names = [str(each.get("by") or "") for each in body.get("readings") or () if not each.get("licensed")]
    return ", ".join(dict.fromkeys(name for name in names if name))


def _licensed_fields(body: dict[str, Any]) -> tuple[Field, ...]:
    """The licensed person's own signature is always by hand; what was entered with a reading stands on the line."""
    readings = [each for each in body.get("readings") or () if each.get("licensed")]
    names = ", ".join(dict.fromkeys(str(each["by"]) for each in readings if each.get("by")))
    numbers = ", ".join(dict.fromkeys(str(each["licence_no"]) for each in readings if each.get("licence_no")))
    used = ", ".join(dict.fromkeys(str(each["instrument"]) for each in readings if each.get("instrument")))
    return (
        Field(_("Licensed person"), names, 1, 3),
        Field(_("Licence no."), numbers, 4, 2),
        Field(_("Instrument, serial, calibration"), used, 6, 4),
        Field(_("Signature, date"), "", 10, 3),
    )


def _settings(frozen: Frozen) -> tuple[SettingRow, ...]:
    if frozen.is_as_built:
        rows = [
            row
            for part in frozen.body.get("fitted") or ()
            for row in setting_rows(
                part["name"], part.get("settings_asked") or {}, part.get("settings_entered") or {}, frozen.load_names
            )
        ]
    else:
        rows = [
            row
            for each in frozen.appraisal.chosen
            for row in setting_rows(each.name, dict(each.setting), {}, frozen.load_names)
        ]
    return tuple(rows)


def _result(groups: tuple[CheckGroup, ...], licensed: tuple[CheckGroup, ...]) -> str:
    """Counted, not judged: passed of all, and what is still open."""
    own = [check for group in groups for check in group.checks]
    theirs = [check for group in licensed for check in group.checks]
    said = [_part(_("Extra-low voltage"), own)]
    if theirs:
        said.append(_part(_("Mains voltage"), theirs))
    failed = [check.no for check in [*own, *theirs] if check.passed is False]
    if failed:
        said.append(_("Failed: no. %s.") % ", ".join(failed))
    if any(check.passed is None for check in [*own, *theirs]):
        said.append(_("What is open is filled in and signed before the system is used."))
    return " ".join(said)


def _part(name: str, checks: list[Check]) -> str:
    passed = sum(1 for check in checks if check.passed)
    waiting = sum(1 for check in checks if check.passed is None)
    words_ = _("%(part)s: passed, %(passed)s of %(all)s") % {"part": name, "passed": passed, "all": len(checks)}
    if waiting:
        words_ += _(", %s open") % waiting
    return strong(words_ + ".")


__all__ = ["expected_words", "percent", "test_content"]
