"""Entries for quantities, shares and money: typed as people type them, shown with their unit."""

from __future__ import annotations

from decimal import Decimal
from typing import Any

from catalog.quantities import SENTENCES, QuantityError, format_quantity, parse, parse_decimal, typed
from django import forms
from django.core.exceptions import ValidationError
from django.utils.translation import gettext as _


class _Numeric(forms.Field):
    """Common to all: a right-aligned text entry, a range with its unit in the refusal."""

    widget = forms.TextInput

    def __init__(
        self,
        *,
        unit: str = "",
        minimum: float | Decimal | None = None,
        maximum: float | Decimal | None = None,
        **kwargs: Any,
    ) -> None:
        self.unit, self.minimum, self.maximum = unit, minimum, maximum
        super().__init__(**kwargs)
        self.widget.attrs.update({"class": "num", "inputmode": "decimal", "autocomplete": "off", "maxlength": 60})

    def read(self, text: str) -> Any:
        raise NotImplementedError

    def shown(self, value: Any) -> Any:
        """The value in the unit of the entry."""
        return value

    def to_python(self, value: Any) -> Any:
        if value in self.empty_values or (isinstance(value, str) and not value.strip()):
            return None
        try:
            return self.read(str(value))
        except QuantityError as error:
            raise ValidationError(_(SENTENCES[error.code]).format(**error.params), code=error.code) from None

    def validate(self, value: Any) -> None:
        super().validate(value)
        if value is None:
            return
        number = self.shown(value)
        low, high = self.minimum, self.maximum
        if (low is None or number >= low) and (high is None or number <= high):
            return
        said = format_quantity(number, self.unit)
        if low is not None and high is not None:
            words = _("{value} is outside {low} to {high}.")
        elif low is not None:
            words = _("{value} is too little: at least {low}.")
        else:
            words = _("{value} is too much: at most {high}.")
        raise ValidationError(
            words.format(
                value=said,
                low="" if low is None else format_quantity(low, self.unit),
                high="" if high is None else format_quantity(high, self.unit),
            ),
            code="out_of_range",
        )

    def prepare_value(self, value: Any) -> Any:
        if value is None or isinstance(value, str):
            return value
        return typed(self.shown(value))

    def has_changed(self, initial: Any, data: Any) -> bool:
        try:
            return bool(self.to_python(data) != (self.to_python(initial) if isinstance(initial, str) else initial))
        except ValidationError:
            return True


class QuantityField(_Numeric):
    """A physical quantity. ``factor`` turns the shown unit into the stored one: 0.001 for mΩ kept as Ω.

    >>> QuantityField(unit="m").clean("250 cm")
    2.5
    """

    def __init__(self, *, factor: float = 1.0, whole: bool = False, **kwargs: Any) -> None:
        self.factor, self.whole = factor, whole
        super().__init__(**kwargs)

    def read(self, text: str) -> float | int:
        value = parse(text, self.unit)
        if self.whole:
            if value != int(value):
                raise ValidationError(_("{value} is not a whole number.").format(value=typed(value)), code="not_whole")
            return int(value)
        return value if self.factor == 1.0 else round(value * self.factor, 12)

    def shown(self, value: Any) -> Any:
        return value if self.factor == 1.0 else round(value / self.factor, 9)


class RatioField(_Numeric):
    """A share, typed in percent and kept as 0 to 1; a Decimal with ``exact=True``."""

    def __init__(self, *, exact: bool = False, minimum: float = 0, maximum: float = 100, **kwargs: Any) -> None:
        self.exact = exact
        super().__init__(unit="%", minimum=minimum, maximum=maximum, **kwargs)

    def read(self, text: str) -> float | Decimal:
        percent = Decimal(repr(parse(text, "%")))
        if percent != round(percent, 3):
            raise QuantityError("too_many_decimals", text=text, maximum=3)
        return percent / 100 if self.exact else float(percent / 100)

    def shown(self, value: Any) -> Any:
        return round(value * 100, 9)


class MoneyEntry(_Numeric):
    """An amount of the workshop's currency, exact. ``unit`` is the sign of the currency."""

    def __init__(self, *, decimals: int = 2, **kwargs: Any) -> None:
        self.decimals = decimals
        super().__init__(**{"minimum": Decimal(0), "maximum": Decimal("9999999"), **kwargs})

    def read(self, text: str) -> Decimal:
        return parse_decimal(text, self.decimals)


class DayField(forms.DateField):
    """A day, with the browser's own calendar."""

    widget = forms.DateInput(attrs={"type": "date"}, format="%Y-%m-%d")

    def __init__(self, **kwargs: Any) -> None:
        super().__init__(**kwargs)
        self.input_formats = ["%Y-%m-%d"]
        self.error_messages["invalid"] = _("This is not a day. Write it as 2026-11-24.")
