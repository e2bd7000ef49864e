"""Labour operations: how long a piece of work takes."""

from __future__ import annotations

from django.core.validators import MaxValueValidator, MinValueValidator, RegexValidator
from django.db import models
from django.utils.translation import gettext_lazy as _

from catalog.history import history
from catalog.models.base import Retirable


class LabourOperation(Retirable):
    """``code`` is what a bill of materials asks for; minutes are for one unit."""

    class Unit(models.TextChoices):
        EACH = "each", _("each")
        METRE = "metre", _("metre")
        JOB = "job", _("job")

    code = models.CharField(
        _("code"),
        max_length=40,
        unique=True,
        validators=[RegexValidator(r"^[a-z][a-z0-9_]*$", _("Use small letters, digits and underscores: fit_battery."))],
    )
    name = models.CharField(_("name"), max_length=120)
    unit = models.CharField(_("per"), max_length=5, choices=Unit.choices, default=Unit.EACH)
    minutes_per_unit = models.FloatField(_("time"), validators=[MinValueValidator(0.1), MaxValueValidator(2400)])
    is_licensed = models.BooleanField(_("for licensed people only"), default=False)
    source = models.CharField(_("source of the figure"), max_length=200, default="common practice")
    history = history()

    class Meta:
        ordering = ["name"]
        constraints = [
            models.CheckConstraint(condition=~models.Q(code=""), name="labour_has_code"),
            models.CheckConstraint(
                condition=models.Q(minutes_per_unit__gt=0, minutes_per_unit__lte=2400), name="labour_minutes_in_range"
            ),
        ]

    def __str__(self) -> str:
        return self.name
