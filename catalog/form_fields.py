"""Entries of forms for quantities, money, lists of numbers and curves."""

from __future__ import annotations

from decimal import Decimal
from typing import Any

from django import forms
from django.core.exceptions import ValidationError
from django.utils.translation import gettext as _

from catalog.kinds.base import Field, Problem, check
from catalog.quantities import QuantityError, format_number, format_quantity, parse, parse_decimal, typed
from catalog.specs import read_field
from catalog.words import field_sentence, quantity_sentence, range_words


class QuantityField(forms.CharField):
    """A typed quantity; the cleaned value is a float in the stored unit.

    ``factor`` is shown value over stored value (100 for a fraction shown in percent); ``minimum`` and ``maximum`` are
    stored values. ``read_unit`` is the unit that text is read in when ``unit`` is only words beside the entry.
    """

    def __init__(
        self,
        *,
        unit: Any = "",
        minimum: float | None = None,
        maximum: float | None = None,
        factor: float = 1.0,
        whole: bool = False,
        read_unit: str | None = None,
        **kwargs: Any,
    ) -> None:
        self.unit, self.minimum, self.maximum, self.factor, self.whole = unit, minimum, maximum, factor, whole
        self.read_unit = unit if read_unit is None else read_unit
        kwargs.setdefault(
            "widget", forms.TextInput(attrs={"class": "num", "inputmode": "decimal", "autocomplete": "off"})
        )
        super().__init__(**kwargs)

    def prepare_value(self, value: Any) -> Any:
        """A stored value as it is typed: in the unit shown, 0.3 as 30 where per cent are shown."""
        if isinstance(value, bool) or not isinstance(value, int | float | Decimal):
            return value
        if self.factor == 1.0:
            return typed(value)
        return typed(round(Decimal(str(value)) * Decimal(str(self.factor)), 9))

    def clean(self, value: Any) -> Any:
        text = super().clean(value)
        if not text:
            return None
        try:
            shown = parse(text, self.read_unit)
        except QuantityError as error:
            raise ValidationError(quantity_sentence(error), code=error.code) from None
        if self.whole and shown != int(shown):
            raise ValidationError(_("It must be a whole number."), code="not_a_whole_number")
        stored = shown if self.factor == 1.0 else round(shown / self.factor, 12)
        low, high = self.minimum, self.maximum
        if (low is not None and stored < low) or (high is not None and stored > high):
            raise ValidationError(self._range_sentence(shown), code="out_of_range")
        return int(stored) if self.whole else stored

    def validate(self, value: Any) -> None:
        if self.required and value in self.empty_values:
            raise ValidationError(_("Enter a number,%(range)s.") % {"range": self._range()}, code="required")

    def _range_sentence(self, shown: float) -> str:
        params = {"value": format_quantity(shown, str(self.unit)), "range": self._range()}
        return _("It is %(value)s; it must be%(range)s.") % params

    def _range(self) -> str:
        return range_words(self.minimum, self.maximum, str(self.unit), self.factor)


class AmountField(forms.CharField):
    """Typed money; the cleaned value is a Decimal of at most four places."""

    def __init__(self, *, unit: Any = "", minimum: Decimal | None = None, **kwargs: Any) -> None:
        self.unit, self.minimum = unit, minimum
        kwargs.setdefault(
            "widget", forms.TextInput(attrs={"class": "num", "inputmode": "decimal", "autocomplete": "off"})
        )
        super().__init__(**kwargs)

    def prepare_value(self, value: Any) -> Any:
        if not isinstance(value, Decimal):
            return value
        cents = value.quantize(Decimal("0.01"))
        return str(cents) if cents == value else typed(value)

    def validate(self, value: Any) -> None:
        if self.required and value in self.empty_values:
            raise ValidationError(_("Enter an amount."), code="required")

    def clean(self, value: Any) -> Decimal | None:
        text = super().clean(value)
        if not text:
            return None
        try:
            amount = parse_decimal(text)
        except QuantityError as error:
            raise ValidationError(quantity_sentence(error), code=error.code) from None
        if self.minimum is not None and amount < self.minimum:
            words = _("It is %(value)s; it must be at least %(low)s.")
            params = {"value": format_number(amount, 2), "low": format_number(self.minimum, 2)}
            raise ValidationError(words % params, code="out_of_range")
        if amount > Decimal("99999999.9999"):
            raise ValidationError(_("It must be at most 99 999 999.99."), code="out_of_range")
        return amount


class DeclaredField(forms.CharField):
    """An entry read and limited by its declaration; how entries go together is checked with the whole form."""

    def __init__(self, *, declared: Field, **kwargs: Any) -> None:
        self.declared = declared
        self.unit = declared.shown_unit
        super().__init__(**kwargs)

    def clean(self, value: Any) -> Any:
        text = super().clean(value)
        if not text:
            return None
        try:
            stored = read_field(self.declared, text)
        except QuantityError as error:
            raise ValidationError(quantity_sentence(error), code=error.code) from None
        for problem in check(self.declared, stored):
            raise ValidationError(field_sentence(self.declared, problem), code=problem.code)
        return stored


class ListField(DeclaredField):
    """Several numbers, parted by semicolons."""


class CurveField(DeclaredField):
    """Pairs of numbers, parted by semicolons."""


def field_for(declared: Field) -> forms.Field:
    """The entry of a form for one field of a declaration."""
    common: dict[str, Any] = {
        "label": _(declared.label),
        "help_text": _(declared.help),
        "required": declared.required and declared.default is None,
        "error_messages": {"required": field_sentence(declared, Problem(declared.name, "missing"))},
    }
    figures = {"class": "num", "inputmode": "decimal", "autocomplete": "off"}
    if declared.type == "boolean":
        return forms.BooleanField(**{**common, "required": False})
    options = [(code, _(words)) for code, words in declared.options]
    if declared.type == "choices":
        return forms.MultipleChoiceField(choices=options, widget=forms.CheckboxSelectMultiple, **common)
    if declared.type == "choice" or declared.options:
        blank = [] if declared.default is not None else [("", _("choose"))]
        if declared.type == "choice":
            return forms.ChoiceField(choices=blank + options, **common)
        number = int if declared.type == "integer" else float
        return forms.TypedChoiceField(choices=blank + options, coerce=number, empty_value=None, **common)
    if declared.type == "numbers":
        return ListField(declared=declared, widget=forms.TextInput(attrs={**figures, "inputmode": "text"}), **common)
    if declared.type == "curve":
        field = CurveField(declared=declared, widget=forms.TextInput(attrs={**figures, "inputmode": "text"}), **common)
        field.unit = f"{declared.x_shown_unit} → {declared.shown_unit}"
        return field
    if declared.type == "text":
        return forms.CharField(max_length=200, **common)
    return DeclaredField(declared=declared, widget=forms.TextInput(attrs=figures), **common)
