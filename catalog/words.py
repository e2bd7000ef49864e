"""Sentences for what is wrong with a specification or a typed quantity."""

from __future__ import annotations

from django.utils.translation import gettext as _

from catalog.kinds.base import Field, Kind, Problem
from catalog.quantities import SENTENCES, QuantityError, format_quantity


def problem_sentence(kind: Kind, problem: Problem) -> str:
    """Say what is wrong with one field: what it is, what it may be, with units."""
    field = next((f for f in kind.fields if f.name == problem.field), None)
    if field is None:
        return _("%(name)s is no field of a %(kind)s.") % {"name": problem.field, "kind": _(kind.label)}
    return field_sentence(field, problem)


def field_sentence(field: Field, problem: Problem) -> str:
    """The same for a field that is at hand."""
    label = _(field.label)
    if problem.code == "missing":
        return _("%(label)s is missing%(range)s.") % {"label": label, "range": _range_of(field, _("; it must be"))}
    if problem.code == "conflict":
        return _(problem.message)
    if problem.code == "out_of_range":
        return _("%(label)s is %(value)s; it must be%(range)s.") % {
            "label": label,
            "value": _shown(field, problem.value),
            "range": _range_of(field, ""),
        }
    if problem.code == "not_a_choice":
        choices = ", ".join(str(_(words)) for _code, words in field.options)
        return _("%(label)s must be one of: %(choices)s.") % {"label": label, "choices": choices or _("yes, no")}
    if problem.code == "not_a_whole_number":
        return _("%(label)s must be a whole number.") % {"label": label}
    if problem.code == "not_rising":
        return _("%(label)s: the first of each pair must rise.") % {"label": label}
    if problem.code == "not_text":
        return _("%(label)s must be text of at most 200 characters.") % {"label": label}
    return _("%(label)s must be a number%(range)s.") % {"label": label, "range": _range_of(field, _(","))}


def quantity_sentence(error: QuantityError) -> str:
    """The sentence of a typed quantity that could not be read, translated with its parameters."""
    return _(SENTENCES[error.code]).format(**error.params)


def _shown(field: Field, value: object) -> str:
    if isinstance(value, bool) or not isinstance(value, int | float):
        return str(value)
    return format_quantity(round(value * field.shown_factor, 9), field.shown_unit)


def _range_of(field: Field, lead: str) -> str:
    words = range_words(field.minimum, field.maximum, field.shown_unit, field.shown_factor)
    return lead + words if words else ""


def range_words(minimum: float | None, maximum: float | None, unit: str, factor: float = 1.0) -> str:
    """`` at least 1 A and at most 60 A``, empty when there are no limits; ``factor`` is shown over stored."""
    low = None if minimum is None else format_quantity(round(minimum * factor, 9), unit)
    high = None if maximum is None else format_quantity(round(maximum * factor, 9), unit)
    if low is not None and high is not None:
        return _(" at least %(low)s and at most %(high)s") % {"low": low, "high": high}
    if low is not None:
        return _(" at least %(low)s") % {"low": low}
    return _(" at most %(high)s") % {"high": high} if high is not None else ""


def labour_time(minutes: float, unit: str) -> str:
    """How long a piece of work takes, in words: ``6 min a metre``, ``2.5 h a job``, ``15 min each``."""
    time = format_quantity(round(minutes / 60, 2), "h") if minutes >= 120 else format_quantity(minutes, "min")
    words = {"metre": _("%(time)s a metre"), "job": _("%(time)s a job")}.get(unit, _("%(time)s each"))
    return words % {"time": time}
