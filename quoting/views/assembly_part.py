"""What the part “Assemblies” of a job's page is made of. Not a view itself."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from django.http import HttpRequest

from fitouts.models import Fitout
from quoting import rules
from quoting.forms.assemblies import TakeForm, UseForm
from quoting.models import Design
from quoting.queries import assemblies
from quoting.queries.designs import DesignPage


def assembly_context(
    request: HttpRequest, fitout: Fitout, design: Design | None, page: DesignPage | None, extra: Mapping[str, Any]
) -> dict[str, Any]:
    """The assemblies of a job, with entries where they may be changed; ``extra`` has a refused one."""
    panel = assemblies.panel(fitout, design, page.appraisal if page else None)
    can_change = rules.can_edit_audit(request.user) and not panel.is_locked
    refused = extra.get("use_form")
    forms = []
    for row in panel.uses:
        form = UseForm(use=row.use.row) if can_change else None
        if refused is not None and refused.use.pk == row.use.row.pk:
            form = refused
        forms.append((row, form))
    return {
        "assemblies": panel,
        "assembly_forms": forms,
        "take_form": TakeForm(fitout=fitout) if can_change else None,
    }
