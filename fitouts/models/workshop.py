"""The workshop itself: identity, money rules and policy. One row; one workshop per database."""

from __future__ import annotations

from decimal import Decimal

from django.core.validators import MaxValueValidator, MinValueValidator
from django.db import models
from django.utils.translation import gettext_lazy as _

from catalog.history import history
from catalog.money_field import MoneyField


class Workshop(models.Model):
    """Identity printed on papers, and the rules that new work follows. Issued papers keep what they were made by."""

    class TaxRounding(models.TextChoices):
        TOTAL = "total", _("once, on the total")
        LINE = "line", _("on each line")

    class HalfCent(models.TextChoices):
        UP = "up", _("half a cent up")
        DOWN = "down", _("half a cent down")

    name = models.CharField(_("name"), max_length=80)
    address = models.TextField(_("address"), blank=True, max_length=300)
    phone = models.CharField(_("phone"), max_length=40, blank=True)
    email = models.EmailField(_("e-mail"), blank=True)
    business_no = models.CharField(_("business number"), max_length=40, blank=True)
    country = models.CharField(_("country"), max_length=2, default="AU", help_text=_("ISO 3166, two letters."))
    currency = models.CharField(_("currency"), max_length=3, default="AUD", help_text=_("ISO 4217, three letters."))
    language = models.CharField(_("number format"), max_length=12, default="en_AU")
    time_zone = models.CharField(_("time zone"), max_length=60, default="Australia/Adelaide")
    emergency_number = models.CharField(_("emergency number"), max_length=12, blank=True)

    deposit_ratio = models.FloatField(
        _("deposit"), default=0.2, validators=[MinValueValidator(0), MaxValueValidator(1)]
    )
    sundries_ratio = models.FloatField(
        _("sundries, of parts"), default=0.03, validators=[MinValueValidator(0), MaxValueValidator(0.5)]
    )
    quote_days = models.PositiveSmallIntegerField(_("quotes are good for, days"), default=30)
    tax_rounding = models.CharField(
        _("tax is rounded"), max_length=5, choices=TaxRounding.choices, default=TaxRounding.TOTAL
    )
    half_cent = models.CharField(_("half cents"), max_length=4, choices=HalfCent.choices, default=HalfCent.UP)
    round_total_to = MoneyField(_("round the total to"), default=Decimal("0.01"))
    labour_rate = MoneyField(_("labour per hour"), default=Decimal("118"))
    licensed_rate = MoneyField(_("licensed electrician per hour"), default=Decimal("135"))
    labour_cost = MoneyField(_("labour costs the workshop, per hour"), default=Decimal("62"))
    terms = models.TextField(_("terms"), blank=True, max_length=4000)
    exclusions = models.TextField(_("always excluded"), blank=True, max_length=2000)
    engineering = models.JSONField(_("engineering policy"), default=dict, blank=True)
    """Overrides of ``quoting.sizing.policy.Policy``, by name; defaults are not stored."""
    is_demo = models.BooleanField(default=False)
    history = history()

    class Meta:
        constraints = [models.CheckConstraint(condition=models.Q(pk=1), name="one_workshop")]

    def __str__(self) -> str:
        return self.name

    def save(self, *args: object, **kwargs: object) -> None:
        self.pk = 1
        super().save(*args, **kwargs)  # type: ignore[arg-type]


class TaxRate(models.Model):
    """A tax by name and rate, from a day on."""

    name = models.CharField(_("name"), max_length=40)
    ratio = models.DecimalField(
        _("rate"), max_digits=6, decimal_places=5, validators=[MinValueValidator(0), MaxValueValidator(1)]
    )
    valid_from = models.DateField(_("from"))
    history = history()

    class Meta:
        ordering = ["-valid_from", "-pk"]
        constraints = [
            models.CheckConstraint(condition=models.Q(ratio__gte=0, ratio__lte=1), name="tax_ratio_0_to_1"),
        ]

    def __str__(self) -> str:
        return f"{self.name} {self.ratio * 100:f} %"


class Markup(models.Model):
    """What is put on cost, by group of the bill."""

    group = models.CharField(_("group"), max_length=20, unique=True)
    ratio = models.DecimalField(
        _("markup"), max_digits=6, decimal_places=4, validators=[MinValueValidator(0), MaxValueValidator(5)]
    )
    history = history()

    class Meta:
        ordering = ["group"]
        constraints = [models.CheckConstraint(condition=models.Q(ratio__gte=0, ratio__lte=5), name="markup_0_to_5")]

    def __str__(self) -> str:
        return f"{self.group} {self.ratio}"


class Counter(models.Model):
    """The last number given out, of jobs or quotes. Bumped only inside the transaction that uses it."""

    name = models.CharField(max_length=40, primary_key=True)
    last = models.PositiveIntegerField(default=0)

    def __str__(self) -> str:
        return f"{self.name} {self.last}"
