"""What stands in the way of issuing a draft, each a sentence."""

from __future__ import annotations

from collections.abc import Iterator

from django.utils.translation import gettext as _

from fitouts.models import Fitout, Stage
from quoting.models import Design, Revision
from quoting.services import assemblies, briefs, designs, found_facts, offered, proposals
from quoting.sizing.errors import SizingError


def obstacles(revision: Revision) -> list[str]:
    """Every reason why a draft cannot be issued now, each a sentence."""
    fitout = revision.quote.fitout
    reasons = []
    if fitout.stage == Stage.ENQUIRY:
        reasons.append(_("The vehicle is not surveyed yet. Survey it and move the job to Surveyed."))
    reasons += found_facts.before_issue(fitout)
    if revision.design is None:
        reasons += _of_lines(revision)
    else:
        reasons += _of_design(revision, revision.design, fitout)
    reasons += [reason for reason in _of_offers(revision, fitout) if reason not in reasons]
    reasons += _of_assemblies(revision, fitout)
    if revision.offers.filter(total__lte=0).exists():
        reasons.append(_("The sum to pay is not above zero."))
    return reasons


def _of_design(revision: Revision, design: Design, fitout: Fitout) -> Iterator[str]:
    newest = fitout.designs.first()
    if newest is None or newest.pk != revision.design_id:
        yield _("A newer design was worked out. Price the draft again from it.")
    elif not designs.is_current(design, fitout):
        yield _("The inputs have changed since the design. Work it out again, then price the draft.")
    appraisal = designs.appraisal_of(design)
    yield from proposals.refusals_of(appraisal)
    if not appraisal.bill:
        yield _("The bill of materials is empty.")


def _of_offers(revision: Revision, fitout: Fitout) -> Iterator[str]:
    """What speaks against the systems that are quoted; the job's Brief of today is made once for all of them."""
    offers = [offer for offer in offered.offers_of(revision) if offer.proposal is not None]
    if not offers:
        return
    try:
        now = briefs.make_brief(fitout, held=False)
    except (briefs.BriefIncomplete, SizingError):
        now = None  # told of each offer: it is not current
    for offer in offers:
        yield from proposals.obstacles_of(offer, now)


def _of_lines(revision: Revision) -> Iterator[str]:
    if not revision.offers.filter(lines__isnull=False).exists():
        yield _("The quote has no line yet. Add the parts and the work it takes.")


def _of_assemblies(revision: Revision, fitout: Fitout) -> Iterator[str]:
    now = assemblies.stamp(fitout)
    if now != revision.assemblies:
        yield _("The job's assemblies have changed since the draft was priced. Price it again.")
    for name, part in assemblies.retired_parts(fitout) if now else ():
        yield _("“%(part)s” in the assembly “%(name)s” is retired. Take another version, or leave it out.") % {
            "part": part,
            "name": name,
        }
