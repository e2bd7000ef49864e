"""The single-line diagram of a design, for the page. Not a view itself."""

from __future__ import annotations

from django.core.cache import cache
from django.utils.safestring import SafeString, mark_safe
from django.utils.translation import get_language
from django.utils.translation import gettext as _

from quoting.documents import fonts
from quoting.drawings import single_line, svg
from quoting.models import Design
from quoting.sizing.appraisal import Appraisal
from quoting.words import drawing_words

KEPT_S = 24 * 3600


def diagram_of(design: Design, appraisal: Appraisal) -> SafeString | str:
    """The diagram as SVG, drawn once for a design; nothing while the design has no nodes."""
    if not appraisal.nodes:
        return ""
    key = f"diagram:{design.pk}:{design.key}:{get_language()}"
    drawn = cache.get(key)
    if drawn is None:
        fonts.register()
        sheet = single_line.draw(appraisal, words=drawing_words)
        title = _("Single-line diagram of design %(number)d") % {"number": design.number}
        words = _("%(nodes)d parts and %(circuits)d circuits; the circuits are listed in the table above.") % {
            "nodes": len(appraisal.nodes),
            "circuits": len(appraisal.circuits),
        }
        drawn = svg.to_svg(sheet.drawing, title, words)
        cache.set(key, drawn, KEPT_S)
    return mark_safe(str(drawn))  # noqa: S308 our own drawing; every typed text in it is escaped by to_svg
