"""Roof areas and battery spaces of a vehicle drawn to scale, with what a design puts there."""

from __future__ import annotations

import hashlib
from collections.abc import Sequence
from dataclasses import dataclass

from django.core.cache import cache
from django.utils.safestring import SafeString, mark_safe
from django.utils.translation import get_language, ngettext
from django.utils.translation import gettext as _

from fitouts.models import BatterySpace, RoofArea
from quoting.documents import fonts
from quoting.drawings import svg
from quoting.drawings.space import Floor, draw_space, of_roof, of_spaces
from quoting.services.brief_vehicle import area_values, space_values
from quoting.sizing import brief_choosing
from quoting.words import drawing_words

KEPT_S = 24 * 3600
DRAWN = 1
"""Part of the key that a drawing is kept under: raised with a change of how it is drawn."""


@dataclass(frozen=True, slots=True)
class SpaceFigure:
    """A drawing as a page shows it."""

    svg: str

    @property
    def drawing(self) -> SafeString:
        return mark_safe(self.svg)  # noqa: S308 our own drawing; every typed text in it is escaped by to_svg


def roof_figure(areas: Sequence[RoofArea]) -> SpaceFigure | None:
    """Surveyed roof areas with what stands in them; nothing where there are none."""
    sized = [brief_choosing.RoofArea.model_validate(area_values(area)) for area in areas]
    words = ngettext("%(count)d area, front at the left", "%(count)d areas, front at the left", len(sized))
    return figure(of_roof(sized), _("Roof from above"), words % {"count": len(sized)})


def space_figure(spaces: Sequence[BatterySpace]) -> SpaceFigure | None:
    """Surveyed battery spaces; nothing where there are none."""
    sized = [brief_choosing.BatterySpace.model_validate(space_values(space)) for space in spaces]
    words = ngettext("%(count)d space, front at the left", "%(count)d spaces, front at the left", len(sized))
    return figure(of_spaces(sized), _("Battery spaces from above"), words % {"count": len(sized)}, in_mm=True)


def figure(floors: Sequence[Floor], title: str, said: str, *, in_mm: bool = False) -> SpaceFigure | None:
    """Draw floors once for what they show."""
    if not floors:
        return None
    shown = hashlib.sha256(repr((floors, title, said, in_mm)).encode()).hexdigest()
    key = f"space:{DRAWN}:{shown}:{get_language()}"
    made: SpaceFigure | None = cache.get(key)
    if made is None:
        fonts.register()
        sheet, _scale = draw_space(floors, in_mm=in_mm, words=drawing_words)
        words = _("%(said)s; the table beside says the same in figures.") % {"said": said}
        made = SpaceFigure(svg.to_svg(sheet.drawing, title, words))
        cache.set(key, made, KEPT_S)
    return made
