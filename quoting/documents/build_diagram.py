"""From a frozen design to the words and numbers around its single-line diagram."""

from __future__ import annotations

from dataclasses import replace

from django.utils.translation import gettext as _

from quoting import words
from quoting.documents import build_schedule, cautions
from quoting.documents.build_wiring import wiring_frame
from quoting.documents.by_hand import hand_notes
from quoting.documents.common import Frozen
from quoting.documents.content_wiring import DiagramContent


def diagram_content(frozen: Frozen) -> DiagramContent:
    """Everything beside the drawing itself."""
    frame = wiring_frame(frozen, _("Single-line diagram"), _("Single-line diagram and circuit schedule"))
    return DiagramContent(
        frame=replace(frame, dated=_("%s; symbols after IEC 60617") % frame.dated),
        schedule=build_schedule.schedule_rows(frozen),
        by_hand=hand_notes(frozen),
        questions=tuple(words.questions_for(frozen.appraisal)),
        notices=frozen.notices(),
        cautions=cautions.wiring(frozen),
        notes=build_schedule.notes(frozen),
    )
