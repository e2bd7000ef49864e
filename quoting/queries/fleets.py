"""Fleet runs for their list and their page."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass, field
from decimal import Decimal
from typing import Any, TypeVar

from django.db.models import Count, F, Max, Q, QuerySet, Sum
from django.utils.translation import gettext as _

from fitouts.models import Fitout, Vehicle
from fitouts.services.fitouts import ASIDE
from quoting.models import Design, FleetItem, FleetRun, Line, Offer, Revision
from quoting.queries.fleet_apart import apart
from quoting.queries.fleet_buying import SupplierRows, buying
from quoting.queries.shown import Shown, shown
from quoting.services import fleets
from quoting.services.offered import ORDER

State = FleetItem.State
Said = TypeVar("Said", str, tuple[str, ...])


def visible_to(user: Any) -> QuerySet[FleetRun]:
    """Everybody of the workshop reads fleet runs; nobody else does."""
    if getattr(user, "is_authenticated", False) and user.is_active:
        return FleetRun.objects.select_related("source", "package", "job", "made_by")
    return FleetRun.objects.none()


def for_list(user: Any) -> QuerySet[FleetRun]:
    """Runs, the newest first, with how many vehicles of each are done and failed."""
    return (
        visible_to(user)
        .defer("content")
        .annotate(
            of=Count("items"),
            done=Count("items", filter=Q(items__state=State.DONE)),
            failed=Count("items", filter=Q(items__state=State.FAILED)),
        )
        .order_by("-pk")
    )


@dataclass(frozen=True, slots=True)
class Row:
    """One vehicle of a run, as its page and the table to take out show it."""

    item: FleetItem
    vehicle: Vehicle
    fitout: Fitout | None
    facts: dict[str, Any]
    revision: Revision | None = None
    """The newest of the job's quote."""
    offer: Offer | None = None
    mass_kg: float | None = None
    """Of everything the quote adds, assemblies included."""
    is_older: bool = False
    """Somebody has worked the job out again since."""
    is_aside: bool = False
    apart: list[str] = field(default_factory=list)

    @property
    def name(self) -> str:
        return self.vehicle.registration or str(self.vehicle)

    @property
    def payload_kg(self) -> float | None:
        """Left when it is fitted; below nothing when it is too heavy."""
        left = self.facts["vehicle"]["payload_left_kg"] if self.facts else None
        return None if left is None or self.mass_kg is None else left - self.mass_kg

    @property
    def battery(self) -> str:
        return _names(self.facts, "battery")

    @property
    def panels(self) -> str:
        return _names(self.facts, "panel")


def _names(facts: dict[str, Any], role: str) -> str:
    there = facts.get("parts", {}).get(role, ())
    return ", ".join(f"{many} × {name}" if many > 1 else name for many, name in there)


@dataclass(frozen=True, slots=True)
class Spread:
    """One figure over all vehicles that are done: the least and the most of it."""

    label: str
    least: Any
    most: Any
    is_money: bool = False
    lacking: int = 0
    """Vehicles that have no such figure."""

    @property
    def is_same(self) -> bool:
        return bool(self.least == self.most)


@dataclass(frozen=True, slots=True)
class Summary:
    """A run as its page shows it."""

    run: FleetRun
    rows: list[Row]
    counts: dict[str, int]
    spread: list[Spread]
    buying: list[SupplierRows]
    total: Decimal
    """What all customers would pay, tax included."""
    net: Decimal
    cost: Decimal

    @property
    def done(self) -> int:
        return self.counts[State.DONE]

    @property
    def failed(self) -> list[Row]:
        return [row for row in self.rows if row.item.state == State.FAILED]

    @property
    def alike(self) -> int:
        return sum(bool(row.facts) and not row.apart for row in self.rows)

    @property
    def apart(self) -> list[tuple[tuple[str, ...], str]]:
        """How some came out otherwise, with the names of those it is true of."""
        return _together((tuple(row.apart), row.name) for row in self.rows if row.apart)

    @property
    def open(self) -> list[tuple[str, str]]:
        """What keeps quotes from being issued, with the names of the vehicles it is true of."""
        return _together((words, row.name) for row in self.rows for words in row.facts.get("open", ()))


MOST_NAMED = 12


def _together(pairs: Iterable[tuple[Said, str]]) -> list[tuple[Said, str]]:
    """What is said, once, with whom it is said of."""
    found: dict[Said, list[str]] = {}
    for said, name in pairs:
        found.setdefault(said, []).append(name)
    return [(said, _listed(names)) for said, names in found.items()]


def _listed(names: list[str]) -> str:
    some = ", ".join(names[:MOST_NAMED])
    rest = len(names) - MOST_NAMED
    return _("%(some)s and %(n)d more") % {"some": some, "n": rest} if rest > 0 else some


def summary(run: FleetRun) -> Summary:
    """Everything about a run; seven queries, however many vehicles it has."""
    items = list(
        run.items.select_related("vehicle__customer", "fitout")
        .order_by("place", "pk")
        .defer("vehicle__survey_notes", "fitout__enquiry")
    )
    jobs = [item.fitout_id for item in items if item.fitout_id]
    revisions = {r.quote.fitout_id: r for r in _revisions(jobs)}
    offers = _leads(revisions.values())
    mass = dict(Line.objects.filter(offer__in=offers.values()).values_list("offer").annotate(Sum("mass_kg")).order_by())
    newest = dict(Design.objects.filter(fitout__in=jobs).values_list("fitout").annotate(Max("pk")).order_by())
    rows = [_row(item, revisions, offers, mass, newest) for item in items]
    rows = _told_apart(rows)
    standing = [row for row in rows if row.offer is not None and not row.is_aside]
    amounts = [row.offer for row in standing if row.offer is not None]
    return Summary(
        run=run,
        rows=rows,
        counts=dict(fleets.counts(items)),
        spread=_spread([row for row in rows if row.facts]),
        buying=buying([offer.pk for offer in amounts]),
        total=sum((offer.total for offer in amounts), Decimal(0)),
        net=sum((offer.net for offer in amounts), Decimal(0)),
        cost=sum((offer.cost for offer in amounts), Decimal(0)),
    )


def _revisions(jobs: Sequence[int]) -> QuerySet[Revision]:
    """Of each job the newest last."""
    rows = Revision.objects.filter(quote__fitout__in=jobs).select_related("quote")
    return rows.annotate(design_key=F("design__key")).order_by("pk")


def _leads(revisions: Iterable[Revision]) -> dict[int, Offer]:
    """The offer of each revision that leads (``offered.lead_of``), for all of them at once."""
    by_key = {revision.pk: revision for revision in revisions}
    offers: dict[int, list[Offer]] = {}
    for offer in Offer.objects.filter(revision__in=by_key).annotate(proposal_key=F("proposal__key")).order_by("pk"):
        offers.setdefault(offer.revision_id, []).append(offer)
    return {key: _lead(by_key[key], there) for key, there in offers.items()}


def _lead(revision: Any, offers: list[Any]) -> Offer:
    in_order = sorted(offers, key=lambda offer: ORDER.get(offer.name, 9))
    taken = [offer for offer in in_order if offer.pk == revision.accepted_offer_id]
    own = [offer for offer in in_order if offer.proposal_id is None or offer.proposal_key == revision.design_key]
    lead: Offer = (taken or own or in_order)[0]
    return lead


def _row(
    item: FleetItem,
    revisions: dict[int, Revision],
    offers: dict[int, Offer],
    mass: dict[int, float],
    newest: dict[int, int],
) -> Row:
    revision = revisions.get(item.fitout_id) if item.fitout_id else None
    offer = offers.get(revision.pk) if revision else None
    is_done = item.state == State.DONE
    return Row(
        item=item,
        vehicle=item.vehicle,
        fitout=item.fitout,
        facts=item.facts if is_done else {},
        revision=revision if is_done else None,
        offer=offer if is_done else None,
        mass_kg=mass.get(offer.pk) if offer and is_done else None,
        is_older=is_done and newest.get(item.fitout_id or 0) not in (None, item.design_id),
        is_aside=item.fitout is not None and item.fitout.stage in ASIDE,
    )


def _told_apart(rows: list[Row]) -> list[Row]:
    done = [row for row in rows if row.facts]
    for row, differences in zip(done, apart([row.facts for row in done]), strict=True):
        row.apart.extend(differences)
    return rows


def _spread(rows: Sequence[Row]) -> list[Spread]:
    """The least and the most of each figure that every vehicle is compared by."""
    figures: tuple[tuple[str, Callable[[Row], float | None], str], ...] = (
        (_("Auxiliary battery"), lambda row: row.facts["battery_ah"], "Ah"),
        (_("Solar array"), lambda row: row.facts["array_w"], "W"),
        (_("Days of autonomy"), lambda row: row.facts["days"], "day"),
        (_("Chance of going dark"), lambda row: _per_cent(row.facts["dark_ratio"]), "%"),
        (_("Fitted mass"), lambda row: row.mass_kg, "kg"),
        (_("Payload left after it"), lambda row: row.payload_kg, "kg"),
    )
    found = []
    for label, read, unit in figures:
        values = [value for row in rows if (value := read(row)) is not None]
        if values:
            lacking = len(rows) - len(values)
            found.append(Spread(label, shown(min(values), unit), shown(max(values), unit), lacking=lacking))
    totals = [row.offer.total for row in rows if row.offer is not None]
    if totals:
        found.append(Spread(_("To pay, tax included"), min(totals), max(totals), is_money=True))
    return found


def _per_cent(ratio: float | None) -> float | None:
    return None if ratio is None else 100 * ratio


def shown_of(row: Row) -> dict[str, Shown | None]:
    """The figures of a row as its table prints them."""
    facts = row.facts
    return {
        "battery": shown(facts.get("battery_ah"), "Ah"),
        "array": shown(facts.get("array_w"), "W"),
        "mass": shown(row.mass_kg, "kg"),
        "payload": shown(row.payload_kg, "kg"),
        "dark": shown(_per_cent(facts.get("dark_ratio")), "%"),
    }


def runs_with(fitout: Fitout) -> QuerySet[FleetRun]:
    """Runs that began from a job or made it."""
    return FleetRun.objects.filter(Q(source=fitout) | Q(items__fitout=fitout)).distinct().defer("content")
