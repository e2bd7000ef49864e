"""Working a job out."""

from __future__ import annotations

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect
from django.urls import path, reverse
from django.utils.translation import gettext as _
from django.views.decorators.http import require_POST

from fitouts.models import Fitout
from fitouts.services.fitouts import ASIDE
from fitouts.views.access import needs
from quoting import rules
from quoting.services import briefs, designs
from quoting.sizing.errors import SizingError
from quoting.views.page import job_url, person, the_job

NEXT = ("circuits", "existing", "outputs", "diagram", "plan", "bill")
"""Pages of a job that lead back to themselves once it is worked out."""


def _after(request: HttpRequest, fitout: Fitout) -> str:
    name = request.POST.get("next", "")
    return reverse(name, args=[fitout.pk]) if name in NEXT else job_url(fitout, "#sizing")


@require_POST
@needs(rules.can_edit_audit)
def job_work_out(request: HttpRequest, pk: int) -> HttpResponse:
    """Work the job out; the same inputs give the same design."""
    fitout = the_job(request, pk)
    if fitout.stage in ASIDE:
        messages.error(request, _("The job is set aside. Take it up again first."))
        return redirect(job_url(fitout, "#sizing"))
    before = designs.latest_of(fitout)
    try:
        design = designs.work_out(fitout, by=person(request))
    except briefs.BriefIncomplete as error:
        messages.error(request, str(error))
        return redirect(job_url(fitout, "#sizing"))
    except SizingError as error:
        messages.error(request, _("It cannot be worked out: %(why)s") % {"why": error})
        return redirect(job_url(fitout, "#sizing"))
    if before is not None and before.pk == design.pk:
        messages.info(request, _("Nothing has changed: design %(number)d stands.") % {"number": design.number})
    else:
        messages.success(request, _("Design %(number)d was worked out.") % {"number": design.number})
    return redirect(_after(request, fitout))


design_urls = [path("jobs/<int:pk>/work-out/", job_work_out, name="job_work_out")]
