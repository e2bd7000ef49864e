"""Codes and parameters of the pure code, made into sentences (gettext).

The tables are in ``quoting/wording``, a file per topic, each entry a lazy string with named places:
``"The charger takes {input_a}."``. A parameter whose name ends in a unit (``input_a``) is printed with it,
``_ratio`` becomes per cent. A code without words is shown as the code itself, never as nothing; a test finds it.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from django.utils import formats
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy as lazy

from quoting.drawings import wording as drawings
from quoting.sizing.appraisal import Appraisal, BillLine, Expectation, Shortfall
from quoting.sizing.brief import UNITS
from quoting.sizing.load_circuit import LIVE, words_of
from quoting.sizing.outlook import Bar
from quoting.sizing.trace import Figure, Finding, Step
from quoting.wording.building import STEP_OF_BUILD
from quoting.wording.findings import FINDING
from quoting.wording.hand import why_words
from quoting.wording.inputs import INPUT
from quoting.wording.methods import FIGURE, METHOD, SOURCE
from quoting.wording.questions import OF_INVERTER, QUESTION
from quoting.wording.readings import READING
from quoting.wording.rules import RULE
from quoting.wording.rules_bill import COUNTED, LACKING, NAMES
from quoting.wording.settings import SETTING
from quoting.wording.settings import UNIT as SETTING_UNIT
from quoting.wording.shortfalls import BY_RULE, INSTEAD, NEED, NOTHING_INSTEAD, SHORTFALL, SUBJECT
from quoting.wording.steps import ORIGIN, STEP
from quoting.wording.steps_choosing import OFFER

__all__ = [
    "FIGURE",
    "FINDING",
    "INPUT",
    "METHOD",
    "NEED",
    "ORIGIN",
    "QUESTION",
    "READING",
    "RULE",
    "SHORTFALL",
    "SOURCE",
    "STEP",
    "bill_name",
    "bill_words",
    "build_step_words",
    "drawing_words",
    "figure_words",
    "finding_words",
    "input_words",
    "lacking_words",
    "method_words",
    "number_words",
    "origin_words",
    "question_words",
    "questions_for",
    "reading_words",
    "rule_words",
    "setting_value",
    "setting_words",
    "shortfall_words",
    "source_words",
    "step_words",
]

MONTHS = (
    lazy("January"),
    lazy("February"),
    lazy("March"),
    lazy("April"),
    lazy("May"),
    lazy("June"),
    lazy("July"),
    lazy("August"),
    lazy("September"),
    lazy("October"),
    lazy("November"),
    lazy("December"),
)
NARROW = "\N{NO-BREAK SPACE}"


def number_words(value: float, unit: str = "") -> str:
    """Print a number as a workshop would: three significant figures or whole units, and its unit."""
    size = abs(value)
    places = (
        0 if size >= 100 or value == int(value) else 1 if size >= 10 else 2 if size >= 1 else 3 if size >= 0.1 else 4
    )
    text = formats.number_format(round(value, places), places, use_l10n=True)
    separator = formats.get_format("DECIMAL_SEPARATOR")
    if places and separator in text:
        text = text.rstrip("0").rstrip(separator)
    if text in ("-0", ""):
        text = "0"
    return f"{text.replace('-', '−')}{NARROW}{unit}" if unit else text.replace("-", "−")


def param_words(name: str, value: Any) -> str:
    """Print one parameter by what its name says about its unit."""
    if value is None:
        return _("not known")
    if isinstance(value, bool):
        return _("yes") if value else _("no")
    if isinstance(value, str):
        return str(OFFER.get(value, value)) if name == "offer" else value
    if name.endswith("_ratio"):
        return number_words(100 * float(value), "%")
    if name == "month" and 1 <= int(value) <= 12:
        return str(MONTHS[int(value) - 1])
    if name == "hour":
        return f"{int(value):02d}:00"
    for ending, unit in _ENDINGS:
        if name.endswith(ending):
            return number_words(float(value), unit)
    return number_words(float(value))


_ENDINGS = sorted(
    {
        **{k: v for k, v in UNITS.items() if k.startswith("_")},
        "_va": "VA",
        "_m2": "m²",
        "_mm": "mm",
        "_cm2": "cm²",
        "_mv": "mV",
        "_wh_day": "Wh/day",
        "_km": "km",
        "_days": "days",
    }.items(),
    key=lambda pair: -len(pair[0]),
)


class _Places(dict[str, str]):
    def __missing__(self, key: str) -> str:
        return f"({key})"


def fill(template: Any, params: Mapping[str, Any]) -> str:
    """Put parameters into a template; a missing one shows its own name in brackets."""
    text: str = str(template).format_map(_Places({k: param_words(k, v) for k, v in params.items()}))
    return text


def _look_up(table: Mapping[str, Any], code: str, params: Mapping[str, Any]) -> str:
    return fill(table[code], params) if code in table else code


def step_words(step: Step) -> str:
    """What the number in this line of a sum is."""
    return _look_up(STEP, step.code, step.params)


def input_words(bar: Bar) -> str:
    """What was moved: a line of the figure's sum, or an input of the trip."""
    return _look_up(INPUT if bar.code in INPUT else STEP, bar.code, bar.params)


def origin_words(step: Step | Bar) -> str:
    """Where the number comes from, in a word or two; empty for what is worked out."""
    return str(ORIGIN["estimate" if step.params.get("estimated") else step.origin]) if step.origin in ORIGIN else ""


def figure_words(figure: Figure | str, names: Mapping[str, str] | None = None) -> str:
    """The name of a figure, as a heading; ``names`` are those of loads, by their keys."""
    code = figure if isinstance(figure, str) else figure.code
    if code.startswith("cooling.") and code.endswith(".duty"):
        key = code.split(".")[1]
        return _("Duty of %(name)s") % {"name": (names or {}).get(key, key)}
    return str(FIGURE.get(code, code))


def method_words(code: str) -> str:
    return str(METHOD.get(code, code))


def source_words(code: str) -> str:
    return str(SOURCE.get(code, code))


def finding_words(finding: Finding) -> tuple[str, str]:
    """A finding's title and its sentence: what is the matter and what to do."""
    if finding.code not in FINDING:
        return finding.code, ", ".join(f"{k} {param_words(k, v)}" for k, v in finding.params.items())
    title, sentence = FINDING[finding.code]
    params = {"subject": finding.subject, **finding.params}
    if "lacks" in params:
        params["lacking"] = lacking_words(str(params["lacks"]))
    if "rule" in params:
        params["why"] = why_words(str(params["rule"]), finding.params)
    return fill(title, params), fill(sentence, params)


def shortfall_words(shortfall: Shortfall) -> str:
    """What the catalogue cannot meet, by how much, and the nearest it has."""
    need = str(NEED.get(shortfall.need.code, shortfall.need.code))
    unit = str(shortfall.params.get("unit") or "")
    params: dict[str, Any] = {"need": need, "subject": str(SUBJECT.get(shortfall.subject, shortfall.subject))}
    params |= shortfall.params
    for name in ("asked", "best_value", "short_by"):
        value = shortfall.params.get(name)
        if isinstance(value, int | float) and not isinstance(value, bool):
            params[name] = number_words(value, unit)
    by_rule = BY_RULE.get((shortfall.need.code, str(shortfall.params.get("rule") or "")))
    if by_rule is not None and not shortfall.code.startswith(("kept_", "picked_")):
        return fill(by_rule, params)
    said = _look_up(SHORTFALL, shortfall.code, params)
    if "instead" in shortfall.params:
        said = f"{said} {fill(INSTEAD if shortfall.params['instead'] else NOTHING_INSTEAD, params)}"
    return said


def question_words(code: str) -> str:
    return str(QUESTION.get(code, code))


def questions_for(appraisal: Appraisal) -> list[str]:
    """What the licensed person must answer about this system, in words; nothing about a part it does not have."""
    inverts = any(chosen.role == "inverter" for chosen in appraisal.chosen)
    return [question_words(code) for code in appraisal.questions if inverts or code not in OF_INVERTER]


def reading_words(expectation: Expectation) -> str:
    """What the technician reads."""
    return _look_up(READING, expectation.code, expectation.params)


def rule_words(code: str) -> str:
    """Why a line is on the bill, or what decided a conductor."""
    return str(RULE.get(code, code))


def lacking_words(rules: str) -> str:
    """What the catalogue has no part for, by the rules that asked, with commas between them."""
    return ", ".join(str(LACKING.get(rule, rule)) for rule in rules.split(","))


def bill_words(line: BillLine) -> str:
    """What the rule of a line counted, with its numbers; empty where the quantity says it all."""
    known = line.rule in COUNTED and line.params
    return fill(COUNTED[line.rule], line.params) if known else ""


def bill_name(line: BillLine) -> str:
    """Name of a line: of a part its own; of what is neither part nor labour in words."""
    return str(NAMES.get(line.name, line.name)) if not line.part and not line.labour else line.name


def build_step_words(code: str) -> str:
    """A step of the build as a heading; what was kept before there were steps is in none."""
    return str(STEP_OF_BUILD.get(code, code)) if code else _("Step not given")


def drawing_words(code: str, **params: Any) -> str:
    """What a drawing says, in the reader's language; the ``words`` of ``quoting.drawings``."""
    if code in drawings.MESSAGES:
        return str(_(drawings.MESSAGES[code])).format(**params)
    return drawings.english(code, **params)


def setting_words(name: str, loads: Mapping[str, str] | None = None) -> tuple[str, str]:
    """A setting's label and unit. ``shed_<load>_ratio`` names the load when ``loads`` has it."""
    if name.startswith("shed_") and name.endswith("_ratio"):
        key = name[len("shed_") : -len("_ratio")].removesuffix(LIVE)
        return str(SETTING["shed"]) % {"name": (loads or {}).get(key) or words_of(key)}, "%"
    ending, unit = next(((ending, unit) for ending, unit in _ENDINGS if name.endswith(ending)), ("", ""))
    bare = name.removesuffix(ending).replace("_", " ")
    return str(SETTING.get(name) or bare), SETTING_UNIT.get(name) or ("%" if name.endswith("_ratio") else unit)


def setting_value(name: str, value: Any) -> str:
    """What a setting is set to, with its unit."""
    if isinstance(value, bool | str) or value is None:
        return param_words(name, value)
    if name.endswith("_ratio"):
        return number_words(100 * float(value), "%")
    return number_words(float(value), setting_words(name)[1])
