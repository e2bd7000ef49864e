"""Findings of roof areas and battery spaces: a title and a sentence."""

from typing import Any

from django.utils.translation import gettext_lazy as _

FINDING_SPACE: dict[str, Any] = {
    "panels_over_roof": (
        _("Not all panels lie on the roof areas"),
        _("Of {asked} × {name}, {fits} lie on the areas that were surveyed, with the gaps of the workshop's policy."),
    ),
    "batteries_over_space": (
        _("Not all batteries stand in their spaces"),
        _("Of {asked} × {name}, {fits} stand upright in the spaces that were surveyed, with room round each."),
    ),
    "battery_size_unknown": (
        _("Whether the battery goes into its space is not known"),
        _("The catalogue states no size of {name}. Measure it before it is ordered, and write its size down."),
    ),
}
