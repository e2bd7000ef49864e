"""Where in or on a vehicle there is room: roof areas for panels, spaces for batteries."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any, ClassVar

from django.core.validators import MaxValueValidator, MinValueValidator
from django.db import models
from django.utils.translation import gettext_lazy as _

from catalog.history import history
from catalog.quantities import format_number
from fitouts.models.vehicle import Vehicle


def taken_words(taken: list[dict[str, float]]) -> str:
    """What stands in an area, for its history."""
    words = _("{length} × {width} m at {x}; {y} m")
    said = (
        words.format(**{name[:-2]: format_number(one[name]) for name in ("x_m", "y_m", "length_m", "width_m")})
        for one in taken
    )
    return ", ".join(said) or str(_("nothing"))


def _between(low: float, high: float) -> list[Callable[[Any], None]]:
    return [MinValueValidator(low), MaxValueValidator(high)]


class RoofArea(models.Model):
    """A rectangle of a roof that is free for panels."""

    vehicle = models.ForeignKey(Vehicle, on_delete=models.CASCADE, related_name="roof_areas")
    name = models.CharField(_("name"), max_length=60)
    length_m = models.FloatField(_("length, along the vehicle"), validators=_between(0.1, 20))
    width_m = models.FloatField(_("width, across it"), validators=_between(0.1, 5))
    x_m = models.FloatField(
        _("front edge behind the front"),
        null=True,
        blank=True,
        validators=_between(0, 25),
        help_text=_("For the plan."),
    )
    y_m = models.FloatField(
        _("middle right of the middle"),
        null=True,
        blank=True,
        validators=_between(-2, 2),
        help_text=_("Looking forwards; left is negative. For the plan."),
    )
    taken = models.JSONField(_("what stands in it"), default=list, blank=True)
    """Rectangles in it that something stands in: ``x_m`` from its front edge, ``y_m`` from its left, length, width."""
    says: ClassVar[dict[str, Callable[[Any], str]]] = {"taken": taken_words}
    """How a value of these fields is said in the history."""
    history = history()

    class Meta:
        ordering = ["pk"]
        constraints = [
            models.UniqueConstraint(fields=["vehicle", "name"], name="roof_area_named_once"),
            models.CheckConstraint(
                condition=models.Q(length_m__gte=0.1, length_m__lte=20, width_m__gte=0.1, width_m__lte=5),
                name="roof_area_0_1_to_20_by_5_m",
            ),
        ]

    def __str__(self) -> str:
        return self.name


class BatterySpace(models.Model):
    """A box in a vehicle into which batteries may go, upright."""

    vehicle = models.ForeignKey(Vehicle, on_delete=models.CASCADE, related_name="battery_spaces")
    name = models.CharField(_("name"), max_length=60)
    length_mm = models.FloatField(_("length"), validators=_between(50, 6000))
    width_mm = models.FloatField(_("width"), validators=_between(50, 3000))
    height_mm = models.FloatField(_("height"), validators=_between(50, 2500))
    history = history()

    class Meta:
        ordering = ["pk"]
        constraints = [
            models.UniqueConstraint(fields=["vehicle", "name"], name="battery_space_named_once"),
            models.CheckConstraint(
                condition=models.Q(
                    length_mm__gte=50,
                    length_mm__lte=6000,
                    width_mm__gte=50,
                    width_mm__lte=3000,
                    height_mm__gte=50,
                    height_mm__lte=2500,
                ),
                name="battery_space_50_to_6000_mm",
            ),
        ]

    def __str__(self) -> str:
        return self.name
