"""What can be asked for many records at once. Each form makes a deed; entries left empty leave things as they are."""

from __future__ import annotations

from collections.abc import Callable
from decimal import ROUND_HALF_UP, Decimal
from typing import Any

from django import forms
from django.core.exceptions import ValidationError
from django.utils import timezone
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy, ngettext

from catalog.bulk import Deed
from catalog.form_fields import AmountField, QuantityField
from catalog.models import Appliance, BulkAction, LabourOperation, Supplier
from catalog.quantities import MINUS, format_number

STEPS = [("0.01", "0.01"), ("0.05", "0.05"), ("0.10", "0.10"), ("1", "1")]
LIMIT = Decimal("9999999")
MOST_PERCENT = Decimal(1000)
YES_NO = [("", gettext_lazy("as it is")), ("yes", gettext_lazy("yes")), ("no", gettext_lazy("no"))]


class DeedForm(forms.Form):
    """``code`` names it in the page; ``deed()`` after it is valid."""

    code = ""
    title: Any = ""
    words: Any = ""
    press: Any = gettext_lazy("Show what changes")

    def __init__(self, data: Any = None, *, currency: str = "", plural: Any = "") -> None:
        super().__init__(data, prefix=self.code)
        self.plural = plural
        for bound in self.fields.values():
            if isinstance(bound, AmountField):
                bound.unit = bound.unit or currency

    def deed(self) -> Deed:
        raise NotImplementedError


def rounded(amount: Decimal, step: Decimal) -> Decimal:
    """A price of the catalogue at the step a person chose, half up: 12.375 at 0.05 is 12.40.

    Nothing issued is rounded here; what a customer pays is rounded by ``quoting.money`` alone.
    """
    return (amount / step).quantize(Decimal(1), ROUND_HALF_UP) * step


class RepriceForm(DeedForm):
    code = "reprice"
    title = gettext_lazy("Re-price")
    words = gettext_lazy("A minus lowers: −4 takes four per cent off.")
    field = forms.ChoiceField(
        label=gettext_lazy("What"),
        choices=[("cost", gettext_lazy("cost")), ("sell_price", gettext_lazy("own selling price"))],
    )
    way = forms.ChoiceField(
        label=gettext_lazy("How"),
        choices=[
            ("percent", gettext_lazy("by per cent")),
            ("amount", gettext_lazy("by an amount")),
            ("set", gettext_lazy("to an amount")),
        ],
    )
    value = AmountField(label=gettext_lazy("By or to"), unit=gettext_lazy("% or money"))
    step = forms.ChoiceField(label=gettext_lazy("Rounded to"), choices=STEPS)

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean() or self.cleaned_data
        value, way = cleaned.get("value"), cleaned.get("way")
        if value is None:
            return cleaned
        if way == "percent" and not -100 <= value <= MOST_PERCENT:
            words = _("It is %(value)s %%; it must be at least −100 %% and at most 1000 %%.")
            self.add_error("value", words % {"value": format_number(value)})
        elif way == "set" and value < 0:
            self.add_error("value", _("It is %(value)s; a price must be at least 0.") % {"value": format_number(value)})
        elif abs(value) > LIMIT:
            self.add_error("value", _("It must be at most 9 999 999."))
        return cleaned

    def deed(self) -> Deed:
        field, way, value = (self.cleaned_data[name] for name in ("field", "way", "value"))
        step = Decimal(self.cleaned_data["step"])

        def change(row: Any) -> None:
            old = getattr(row, field)
            if old is None and way != "set":
                return  # markup makes this one's price
            new = {"percent": lambda: old * (1 + value / 100), "amount": lambda: old + value, "set": lambda: value}[
                way
            ]()
            new = rounded(new, step)
            if new < 0:
                words = _("it would cost %(price)s; a price must be at least 0.")
                raise ValidationError(words % {"price": format_number(new, 2)})
            setattr(row, field, new)

        return Deed(BulkAction.Deed.REPRICE, (field,), change, self._words(field, way, value), money=field)

    @staticmethod
    def _words(field: str, way: str, value: Decimal) -> Callable[[int], str]:
        figure = format_number(abs(value)) + (_(" %") if way == "percent" else "")

        def words(count: int) -> str:
            many = ngettext("%(n)d component", "%(n)d components", count) % {"n": count}
            what = _("Cost") if field == "cost" else _("Own selling price")
            if way == "set":
                how = _("%(what)s of %(many)s set to %(figure)s")
            elif value < 0:
                how = _("%(what)s of %(many)s lowered by %(figure)s")
            else:
                how = _("%(what)s of %(many)s raised by %(figure)s")
            return how % {"what": what, "many": many, "figure": figure}

        return words


class ChangeForm(DeedForm):
    """Entries of one kind of record; only those filled in are changed."""

    code = "edit"
    title = gettext_lazy("Change")
    words = gettext_lazy("Only what is filled in changes; the rest stays as it is on each.")

    def values(self) -> dict[str, Any]:
        """Columns and what they become."""
        return {name: value for name, value in self.cleaned_data.items() if value not in (None, "")}

    def said(self) -> list[str]:
        return [str(self.fields[name].label).lower() for name in self.cleaned_data if self._filled(name)]

    def _filled(self, name: str) -> bool:
        return self.cleaned_data.get(name) not in (None, "", False)

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean() or self.cleaned_data
        if not self.errors and not any(self._filled(name) for name in cleaned):
            raise ValidationError(_("Fill in at least one entry: nothing here would change."))
        return cleaned

    def deed(self) -> Deed:
        values, said = self.values(), ", ".join(self.said())

        def change(row: Any) -> None:
            for name, value in values.items():
                setattr(row, name, value)

        def words(count: int) -> str:
            return _("%(plural)s, %(n)d changed: %(what)s") % {"plural": self.plural, "n": count, "what": said}

        return Deed(BulkAction.Deed.EDIT, tuple(values), change, words)


class ComponentChangeForm(ChangeForm):
    supplier = forms.ModelChoiceField(
        Supplier.objects.none(), label=gettext_lazy("Supplier"), required=False, empty_label=gettext_lazy("as it is")
    )
    lead_days = QuantityField(
        label=gettext_lazy("Lead time"), unit="d", minimum=0, maximum=720, whole=True, required=False
    )
    stock = QuantityField(label=gettext_lazy("On the shelf"), minimum=0, maximum=1000000, whole=True, required=False)
    mass_kg = QuantityField(label=gettext_lazy("Mass"), unit="kg", minimum=0, maximum=2000, required=False)
    by_markup = forms.BooleanField(
        label=gettext_lazy("Drop the own selling price, so that cost and markup make it"), required=False
    )

    def __init__(self, data: Any = None, **kwargs: Any) -> None:
        super().__init__(data, **kwargs)
        self.fields["supplier"].queryset = Supplier.objects.in_use()  # type: ignore[attr-defined]

    def values(self) -> dict[str, Any]:
        values = super().values()
        if values.pop("by_markup", False):
            values["sell_price"] = None
        return values

    def said(self) -> list[str]:
        words = {"by_markup": _("own selling price dropped")}
        return [words.get(n, str(self.fields[n].label).lower()) for n in self.cleaned_data if self._filled(n)]


class ApplianceChangeForm(ChangeForm):
    group = forms.ChoiceField(
        label=gettext_lazy("Group"), choices=[("", gettext_lazy("as it is")), *Appliance.Group.choices], required=False
    )
    essential = forms.ChoiceField(label=gettext_lazy("Essential"), choices=YES_NO, required=False)
    source = forms.CharField(label=gettext_lazy("Source of the figures"), max_length=200, required=False)

    def values(self) -> dict[str, Any]:
        values = super().values()
        return values | ({"essential": values["essential"] == "yes"} if "essential" in values else {})


class LabourChangeForm(ChangeForm):
    percent = QuantityField(
        label=gettext_lazy("Time, of what it is now"),
        unit="%",
        minimum=10,
        maximum=1000,
        required=False,
        help_text=gettext_lazy("110 makes every operation a tenth longer; rounded to 0.1 min."),
    )
    is_licensed = forms.ChoiceField(label=gettext_lazy("For licensed people only"), choices=YES_NO, required=False)
    source = forms.CharField(label=gettext_lazy("Source of the figure"), max_length=200, required=False)

    def deed(self) -> Deed:
        deed, percent = super().deed(), self.cleaned_data.get("percent")
        if percent is None:
            return deed

        def change(row: LabourOperation) -> None:
            deed.change(row)
            row.minutes_per_unit = round(row.minutes_per_unit * percent / 100, 1)

        return Deed(deed.code, (*deed.names, "minutes_per_unit"), change, deed.words)

    def values(self) -> dict[str, Any]:
        values = super().values()
        values.pop("percent", None)
        return values | ({"is_licensed": values["is_licensed"] == "yes"} if "is_licensed" in values else {})


class SupplierChangeForm(ChangeForm):
    closes_at = forms.TimeField(
        label=gettext_lazy("Takes orders until"),
        required=False,
        widget=forms.TimeInput(attrs={"type": "time"}, format="%H:%M"),
    )
    contact = forms.CharField(label=gettext_lazy("Contact"), max_length=120, required=False)


class _StateForm(DeedForm):
    """Retire, or take back: nothing to fill in."""

    retires = True

    def deed(self) -> Deed:
        now = timezone.now()

        def change(row: Any) -> None:
            if self.retires and row.retired_at is None:
                row.retired_at = now
            elif not self.retires and row.retired_at is not None and not getattr(row, "erased_at", None):
                row.retired_at = None

        def words(count: int) -> str:
            how = _("%(plural)s, %(n)d retired") if self.retires else _("%(plural)s, %(n)d taken back into use")
            return how % {"plural": self.plural, "n": count}

        return Deed(BulkAction.Deed.RETIRE if self.retires else BulkAction.Deed.RESTORE, ("retired_at",), change, words)


class RetireForm(_StateForm):
    code = "retire"
    title = gettext_lazy("Retire")
    words = gettext_lazy("They are no longer offered for new jobs. Jobs that have them keep them.")
    press = gettext_lazy("Show what would be retired")


class RestoreForm(_StateForm):
    code = "restore"
    title = gettext_lazy("Take back into use")
    words = gettext_lazy("Retired ones are offered again; the others stay as they are.")
    press = gettext_lazy("Show what would come back")
    retires = False


STATE_FORMS = (RetireForm, RestoreForm)


def by_how_much(before: Decimal | None, after: Decimal | None) -> str:
    """How far an amount moves, with its sign."""
    if before is None or after is None:
        return ""
    gap = after - before
    return f"{'+' if gap > 0 else MINUS if gap < 0 else ''}{format_number(abs(gap), 2)}"
