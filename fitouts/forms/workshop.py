"""Forms of the workshop itself."""

from __future__ import annotations

from collections.abc import Mapping
from decimal import Decimal
from typing import Any

from babel.numbers import get_currency_symbol
from django import forms
from django.contrib.auth.password_validation import validate_password
from django.core.exceptions import ValidationError
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from catalog.kinds.base import GROUPS
from catalog.quantities import format_number, format_quantity
from fitouts import places
from fitouts.forms.fields import AmountField, DayField, QuantityField, RatioField
from fitouts.forms.vehicles import _Sectioned
from fitouts.models import Instrument, TaxRate, User, Workshop
from fitouts.services import first_run


class WorkshopForm(_Sectioned, forms.ModelForm):
    country = forms.ChoiceField(label=gettext_lazy("country"), choices=places.countries)
    currency = forms.ChoiceField(label=gettext_lazy("currency"), choices=places.currencies)
    language = forms.ChoiceField(label=gettext_lazy("number format"), choices=places.number_formats)
    time_zone = forms.ChoiceField(label=gettext_lazy("time zone"), choices=places.time_zones)

    SECTIONS = (
        (gettext_lazy("On every paper"), ("name", "phone", "email", "business_no", "address")),
        (gettext_lazy("Where it is"), ("country", "currency", "language", "time_zone", "emergency_number")),
    )

    class Meta:
        model = Workshop
        fields = [
            *("name", "phone", "email", "business_no", "address"),
            *("country", "currency", "language", "time_zone", "emergency_number"),
        ]
        widgets = {"address": forms.Textarea(attrs={"rows": 3})}
        help_texts = {"emergency_number": gettext_lazy("Printed on handover sheets, such as 112.")}


class MoneyRulesForm(_Sectioned, forms.ModelForm):
    labour_rate = AmountField(label=gettext_lazy("labour per hour"), minimum=Decimal(0))
    licensed_rate = AmountField(label=gettext_lazy("licensed electrician per hour"), minimum=Decimal(0))
    labour_cost = AmountField(label=gettext_lazy("own cost of labour per hour"), minimum=Decimal(0))
    sundries_ratio = RatioField(label=gettext_lazy("sundries, of parts"), maximum=0.5)
    deposit_ratio = RatioField(label=gettext_lazy("deposit, of the total"))
    round_total_to = AmountField(
        label=gettext_lazy("round the total to"),
        minimum=Decimal("0.01"),
        help_text=gettext_lazy("0.01 for the cent, 0.05, 1, 10."),
    )
    quote_days = QuantityField(
        label=gettext_lazy("quotes are good for"), unit="d", read_unit="d", minimum=1, maximum=365, whole=True
    )

    SECTIONS = (
        (gettext_lazy("Labour and parts"), ("labour_rate", "licensed_rate", "labour_cost", "sundries_ratio")),
        (gettext_lazy("Quotes"), ("quote_days", "deposit_ratio", "round_total_to", "tax_rounding", "half_cent")),
        (gettext_lazy("Printed on each quote"), ("terms", "exclusions")),
    )

    class Meta:
        model = Workshop
        fields = [
            *("labour_rate", "licensed_rate", "labour_cost", "sundries_ratio"),
            *("quote_days", "deposit_ratio", "round_total_to", "tax_rounding", "half_cent", "terms", "exclusions"),
        ]
        widgets = {"terms": forms.Textarea(attrs={"rows": 6}), "exclusions": forms.Textarea(attrs={"rows": 4})}

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        for name, words in WHAT_MONEY_CHANGES.items():
            before = f"{self.fields[name].help_text} " if self.fields[name].help_text else ""
            self.fields[name].help_text = before + _("Default %(default)s. Changes %(what)s. Source: %(source)s.") % {
                "default": _default_words(name),
                "what": words,
                "source": _("the workshop's own choice"),
            }
        sign = get_currency_symbol(self.instance.currency, locale=self.instance.language)
        for name in ("labour_rate", "licensed_rate", "labour_cost", "round_total_to"):
            self.fields[name].unit = sign  # type: ignore[attr-defined]


WHAT_MONEY_CHANGES = {
    "labour_rate": gettext_lazy("the price of labour in drafts"),
    "licensed_rate": gettext_lazy("the price of licensed labour in drafts"),
    "labour_cost": gettext_lazy("the margin shown, no price"),
    "sundries_ratio": gettext_lazy("the line of small parts in drafts"),
    "quote_days": gettext_lazy("how long a quote issued from now on is good for"),
    "deposit_ratio": gettext_lazy("the deposit asked in drafts"),
    "round_total_to": gettext_lazy("the sum to pay in drafts"),
    "tax_rounding": gettext_lazy("the tax in drafts by a cent or two"),
    "half_cent": gettext_lazy("single lines by a cent"),
    "terms": gettext_lazy("what a quote issued from now on says"),
    "exclusions": gettext_lazy("what a quote issued from now on says"),
}


def _default_words(name: str) -> str:
    field: Any = Workshop._meta.get_field(name)
    default = field.get_default()
    if field.choices:
        return str(dict(field.flatchoices)[default])
    if name.endswith("_ratio"):
        return format_quantity(default * 100, "%")
    if isinstance(default, Decimal):
        return format_number(default, 2)
    return str(default) or _("nothing")


class TaxRateForm(forms.ModelForm):
    ratio = RatioField(label=gettext_lazy("rate"), exact=True)
    valid_from = DayField(label=gettext_lazy("from"))

    class Meta:
        model = TaxRate
        fields = ["name", "ratio", "valid_from"]


class MarkupForm(forms.Form):
    """One share for each group of the bill."""

    def __init__(self, *args: Any, ratios: Mapping[str, Decimal], **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        for group, words in GROUPS:
            self.fields[group] = RatioField(
                label=_(words),
                exact=True,
                maximum=5.0,
                initial=ratios.get(group, Decimal(0)),
                help_text=_("Default: none put on. Changes prices of this group in drafts. The workshop's own choice."),
            )


class InstrumentForm(forms.ModelForm):
    calibrated_until = DayField(label=gettext_lazy("calibration good until"), required=False)

    class Meta:
        model = Instrument
        fields = ["name", "serial", "calibrated_until"]


class FirstRunForm(_Sectioned, forms.Form):
    """All that a workshop needs to begin."""

    code = forms.CharField(
        label=gettext_lazy("code from the console"),
        max_length=40,
        widget=forms.TextInput(attrs={"autocomplete": "off", "spellcheck": "false"}),
        help_text=gettext_lazy("Printed where the server was started."),
    )
    name = forms.CharField(label=gettext_lazy("name of the workshop"), max_length=80)
    country = forms.ChoiceField(label=gettext_lazy("country"), choices=places.countries, initial="AU")
    currency = forms.ChoiceField(label=gettext_lazy("currency"), choices=places.currencies, initial="AUD")
    time_zone = forms.ChoiceField(
        label=gettext_lazy("time zone"), choices=places.time_zones, initial="Australia/Adelaide"
    )
    tax_name = forms.CharField(label=gettext_lazy("tax on sales"), max_length=40, initial="GST")
    tax_ratio = RatioField(label=gettext_lazy("its rate"), exact=True, initial=Decimal("0.1"))
    display_name = forms.CharField(label=gettext_lazy("your name"), max_length=80)
    username = forms.CharField(
        label=gettext_lazy("name to sign in with"),
        max_length=150,
        widget=forms.TextInput(attrs={"autocomplete": "username"}),
    )
    password = forms.CharField(
        label=gettext_lazy("password"),
        max_length=128,
        strip=False,
        widget=forms.PasswordInput(attrs={"autocomplete": "new-password"}),
        help_text=gettext_lazy("At least 10 characters."),
    )
    password_again = forms.CharField(
        label=gettext_lazy("password again"),
        max_length=128,
        strip=False,
        widget=forms.PasswordInput(attrs={"autocomplete": "new-password"}),
    )

    SECTIONS = (
        (gettext_lazy("Whose server this is"), ("code",)),
        (gettext_lazy("The workshop"), ("name", "country", "currency", "time_zone", "tax_name", "tax_ratio")),
        (gettext_lazy("The first account, a manager's"), ("display_name", "username", "password", "password_again")),
    )

    def clean_code(self) -> str:
        if not first_run.is_code(self.cleaned_data["code"]):
            raise ValidationError(_("This is not the code on the console."), code="wrong_code")
        return self.cleaned_data["code"]

    def clean_username(self) -> str:
        username = self.cleaned_data["username"].strip()
        User._meta.get_field("username").run_validators(username)
        return username

    def clean(self) -> dict[str, Any]:
        values = super().clean() or {}
        password = values.get("password")
        if password and values.get("password_again") is not None and password != values["password_again"]:
            self.add_error("password_again", _("The two passwords differ."))
        if password:
            person = User(username=values.get("username", ""), display_name=values.get("display_name", ""))
            try:
                validate_password(password, person)
            except ValidationError as error:
                self.add_error("password", error)
        return values

    def open(self) -> tuple[Workshop, User]:
        """Make the workshop of what was entered."""
        values = self.cleaned_data
        return first_run.open_workshop(
            workshop={
                "name": values["name"],
                "country": values["country"],
                "currency": values["currency"],
                "time_zone": values["time_zone"],
                "language": places.number_format(values["country"]),
            },
            tax_name=values["tax_name"],
            tax_ratio=values["tax_ratio"],
            username=values["username"],
            password=values["password"],
            display_name=values["display_name"],
        )
