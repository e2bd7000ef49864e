"""What the pages show of a job's quote."""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import date, datetime
from decimal import Decimal
from itertools import groupby

from django.utils import timezone
from django.utils.formats import date_format
from django.utils.translation import gettext_lazy as _

from catalog.templatetags.quantities import money
from fitouts.models import Fitout, Workshop
from quoting.models import Line, Offer, Quote, Revision
from quoting.services import offered, quotes, snapshots

GROUPS = {
    "storage": _("Battery and main protection"),
    "charging": _("Charging"),
    "ac": _("230 V"),
    "distribution": _("Distribution"),
    "conductors": _("Cables and terminals"),
    "fittings": _("Fittings and comfort"),
    "sundries": _("Small parts"),
    "labour": _("Labour"),
    "other": _("Besides"),
}
"""The groups of a bill, in the order they are printed."""


@dataclass(frozen=True, slots=True)
class Group:
    """Lines of one group with their sum."""

    name: str
    lines: list[Line]
    amount: Decimal


@dataclass(frozen=True, slots=True)
class OfferView:
    """One offer as a page shows it."""

    offer: Offer
    groups: list[Group]
    margin: Decimal
    margin_ratio: Decimal | None


@dataclass(frozen=True, slots=True)
class RevisionRow:
    """One issued revision in the list of a quote."""

    revision: Revision
    total: Decimal
    """Of the offer that was taken, or that leads."""
    offers: tuple[str, ...]
    """Names of its offers where there are several."""
    is_lapsed: bool
    is_open: bool
    """Issued, not lapsed: it can be accepted."""


@dataclass(frozen=True, slots=True)
class Panel:
    """The quote part of a job's page."""

    quote: Quote | None = None
    draft: Revision | None = None
    offer: OfferView | None = None
    """The one that leads."""
    others: list[OfferView] = field(default_factory=list)
    obstacles: list[str] = field(default_factory=list)
    issued: list[RevisionRow] = field(default_factory=list)


def panel(fitout: Fitout) -> Panel:
    """Everything about a job's quote, in a fixed number of queries beside the checks of a draft."""
    quote = Quote.objects.filter(fitout=fitout).first()
    if quote is None:
        return Panel()
    revisions = list(
        quote.revisions.select_related("design", "snapshot", "issued_by", "quote__fitout").prefetch_related("offers")
    )
    draft = next((r for r in revisions if r.state == Revision.State.DRAFT), None)
    offers = offered.offers_of(draft) if draft else []
    lead = offered.lead_of(draft) if draft and offers else None
    return Panel(
        quote=quote,
        draft=draft,
        offer=offer_view(lead) if lead else None,
        others=[offer_view(one) for one in offers if lead and one.pk != lead.pk],
        obstacles=quotes.obstacles(draft) if draft else [],
        issued=[revision_row(r) for r in reversed(revisions) if r.state != Revision.State.DRAFT],
    )


def revision_row(revision: Revision) -> RevisionRow:
    """One issued revision with its total and whether it can still be taken."""
    lapsed = (
        revision.state == Revision.State.ISSUED
        and revision.valid_until is not None
        and revision.valid_until < timezone.localdate()
    )
    offers = list(revision.offers.all())
    return RevisionRow(
        revision=revision,
        total=offered.lead_of(revision).total if offers else Decimal(0),
        offers=tuple(str(one.get_name_display()) for one in offers) if len(offers) > 1 else (),
        is_lapsed=lapsed,
        is_open=revision.state == Revision.State.ISSUED and not lapsed,
    )


def offer_view(offer: Offer) -> OfferView:
    """Group the lines of an offer as it is printed, and work out what it leaves."""
    order = list(GROUPS)
    lines = sorted(offer.lines.all(), key=lambda x: (order.index(x.group) if x.group in order else 99, x.place))
    groups = [
        Group(str(GROUPS.get(name, name)), found, sum((x.amount for x in found), Decimal(0)))
        for name, found in ((n, list(g)) for n, g in groupby(lines, key=lambda x: x.group))
    ]
    margin = offer.net - offer.cost
    return OfferView(offer, groups, margin, margin / offer.net if offer.net else None)


def offer_views(revision: Revision) -> list[OfferView]:
    """Every offer of a revision, the one that was taken or that leads first."""
    lead = offered.lead_of(revision)
    offers = offered.offers_of(revision)
    return [offer_view(one) for one in sorted(offers, key=lambda one: one.pk != lead.pk)]


def offer_choices(revision: Revision) -> list[tuple[str, str]]:
    """The offers of a revision to choose among: code, and name with what is to pay."""
    workshop = Workshop.objects.get()
    return [(o.name, f"{o.get_name_display()}, {money(o.total, workshop)}") for o in offered.offers_of(revision)]


def is_intact(revision: Revision) -> bool:
    """Whether the frozen record still has the checksum it was given."""
    return revision.snapshot is not None and snapshots.verify(revision.snapshot)


def revision_facts(row: RevisionRow) -> list[tuple[str, str, str]]:
    """The facts at the head of a revision's page: label, value, more."""
    revision = row.revision
    snapshot = revision.snapshot
    state = str(_("lapsed")) if row.is_lapsed else str(revision.get_state_display())
    facts = [
        (str(_("State")), state, revision.accepted_by),
        (str(_("Issued")), _day(revision.issued_at), str(revision.issued_by or "")),
        (str(_("Good until")), _day(revision.valid_until), ""),
    ]
    if revision.design is not None:
        method = str(_("method %s") % revision.design.method_version)
        facts.append((str(_("Design")), str(revision.design.number), method))
    if snapshot is not None:
        facts.append((str(_("Checksum")), f"{snapshot.sha256[:8]} {snapshot.sha256[8:16]}", ""))
    return facts


def _day(moment: datetime | date | None) -> str:
    if moment is None:
        return ""
    local = timezone.localtime(moment) if isinstance(moment, datetime) else moment
    return date_format(local, "j M Y")
