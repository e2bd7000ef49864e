"""What needs a person today. A fixed number of queries, however much work there is."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, timedelta
from typing import Any

from django.db.models import Count, Exists, F, OuterRef, Q, QuerySet
from django.urls import reverse
from django.utils import timezone
from django.utils.formats import date_format
from django.utils.translation import gettext as _

from catalog.quantities import format_quantity
from fitouts.models import Fitout, InstalledSystem, Reading, Stage
from quoting import rules
from quoting.models import BackgroundJob, Document, Revision
from quoting.paper_list import kinds_for
from quoting.queries.jobs import visible_to

SHOWN = 12
"""Tasks of one part; the count says how many there are."""
LAPSES_WITHIN = timedelta(days=7)
RETORQUE_WITHIN = timedelta(days=14)
ALWAYS = frozenset({"enquiries", "send", "build", "due"})
"""Parts that stand there when empty, and say what to do next."""


@dataclass(frozen=True, slots=True)
class Task:
    """One thing to do, and the button that begins it."""

    when: str
    where: str
    title: str
    job: Fitout
    words: str
    press: str
    url: str
    danger: bool = False


@dataclass(frozen=True, slots=True)
class Part:
    """A part of the bench. An empty one says what to do next."""

    key: str
    title: str
    words: str
    count: int
    tasks: tuple[Task, ...]
    empty: str = ""
    empty_url: str = ""
    empty_press: str = ""

    @property
    def more(self) -> int:
        return self.count - len(self.tasks)


def bench(user: Any, today: date) -> list[Part]:
    """The parts of the bench that this person works on, the most pressing first."""
    parts = [_stopped(user), _failed_papers(user), _enquiries(user, today)]
    if rules.can_see_money(user):
        parts += [_to_send(user), _lapsing(user, today), _to_book(user)]
    parts += [_in_build(user), _due(user, today), _retorque(user, today)]
    return [part for part in parts if part.count or part.key in ALWAYS]


def _jobs(user: Any, *stages: str) -> QuerySet[Fitout]:
    return visible_to(user).filter(stage__in=stages).select_related("customer", "vehicle", "assigned_to")


def _day(day: date | None) -> str:
    return date_format(day, "j M") if day else ""


def _weekday(day: date | None) -> str:
    return date_format(day, "D") if day else _("no day")


def _local_day(moment: Any) -> date:
    return timezone.localtime(moment).date()


def _about(job: Fitout) -> str:
    who = str(job.assigned_to) if job.assigned_to_id else _("nobody yet")
    return f"{job.customer}, {job.vehicle.registration or job.vehicle}. {who}."


def _taken(rows: QuerySet[Any]) -> tuple[int, list[Any]]:
    return rows.count(), list(rows[:SHOWN])


def _stopped(user: Any) -> Part:
    """Safety readings that failed and were not taken again."""
    later = Reading.objects.filter(fitout=OuterRef("fitout"), key=OuterRef("key"), pk__gt=OuterRef("pk"))
    rows = (
        Reading.objects.filter(safety=True, passed=False, fitout__in=_jobs(user, Stage.IN_BUILD, Stage.TESTED))
        .filter(~Exists(later))
        .select_related("fitout__customer", "fitout__vehicle", "fitout__assigned_to", "by")
        .order_by("at", "pk")
    )
    count, found = _taken(rows)
    tasks = tuple(
        Task(
            when=_day(_local_day(reading.at)),
            where=date_format(timezone.localtime(reading.at), "H:i"),
            title=_("a safety reading failed"),
            job=reading.fitout,
            words=_reading_words(reading),
            press=_("Open test readings"),
            url=reverse("build", args=[reading.fitout_id]),
            danger=True,
        )
        for reading in found
    )
    return Part("stopped", _("Stop work"), _("Nothing goes on until somebody decides."), count, tasks)


def _reading_words(reading: Reading) -> str:
    by = reading.by or _("somebody")
    if reading.value is None:
        return _("Answered no, by {by}.").format(by=by)
    return _("{value}, taken by {by}.").format(value=format_quantity(reading.value, reading.unit), by=by)


def _failed_papers(user: Any) -> Part:
    """Papers whose last try failed and that nobody asked for anew."""
    newer = Document.objects.filter(fitout=OuterRef("fitout"), kind=OuterRef("kind"), pk__gt=OuterRef("pk"))
    rows = (
        Document.objects.filter(
            job__state=BackgroundJob.State.FAILED, job__cancel_asked=False, kind__in=kinds_for(user)
        )
        .filter(~Exists(newer), fitout__in=visible_to(user))
        .select_related("fitout__customer", "fitout__vehicle", "fitout__assigned_to", "job")
        .order_by("-job__ended_at", "-pk")
    )
    count, found = _taken(rows)
    tasks = tuple(
        Task(
            when=_day(_local_day(paper.job.ended_at or paper.asked_at)),
            where=date_format(timezone.localtime(paper.job.ended_at or paper.asked_at), "H:i"),
            title=_("{paper} failed").format(paper=paper.get_kind_display()),
            job=paper.fitout,
            words=paper.job.reason,
            press=_("See why, try again"),
            url=reverse("job", args=[paper.fitout_id]) + "#papers",
        )
        for paper in found
    )
    return Part("papers", _("Papers that failed"), _("Read why, then try again."), count, tasks)


def _enquiries(user: Any, today: date) -> Part:
    rows = _jobs(user, Stage.ENQUIRY, Stage.SURVEYED).order_by("created_at", "pk")
    count, found = _taken(rows)
    opens = rules.can_open_job(user)
    return Part(
        "enquiries",
        _("Enquiries waiting"),
        _("The oldest first."),
        count,
        tuple(_enquiry(job, today) for job in found),
        _("Nobody waits for a survey or a design."),
        reverse("job_add") if opens else "",
        _("Take an enquiry") if opens else "",
    )


def _enquiry(job: Fitout, today: date) -> Task:
    asked = _local_day(job.created_at)
    days = (today - asked).days
    is_new, page = job.stage == Stage.ENQUIRY, reverse("job", args=[job.pk])
    if job.kind == Fitout.Kind.FAULT:
        words = _("Waits to be looked at.") if is_new else _("Waits for its quote.")
        press, url = _("Open fault"), f"{page}#found"
    elif is_new:
        words, press, url = _("Waits for its survey."), _("Open survey"), reverse("vehicle", args=[job.vehicle_id])
    else:
        words, press, url = _("Waits for its design."), _("Open design"), page
    return Task(
        when=_day(asked),
        where=_("today") if days <= 0 else _("{days} d ago").format(days=days),
        title=job.title,
        job=job,
        words=f"{words} {_about(job)}",
        press=press,
        url=url,
    )


def _revisions(user: Any) -> QuerySet[Revision]:
    return Revision.objects.filter(quote__fitout__in=visible_to(user)).select_related(
        "quote__fitout__customer", "quote__fitout__vehicle", "quote__fitout__assigned_to"
    )


def _revision(revision: Revision, when: date, words: str, press: str) -> Task:
    return Task(
        when=_weekday(when),
        where=_day(when),
        title=words.format(number=revision.quote.number, letter=revision.letter),
        job=revision.quote.fitout,
        words=_about(revision.quote.fitout),
        press=press,
        url=reverse("job", args=[revision.quote.fitout_id]) + "#quote"
        if revision.state == Revision.State.DRAFT
        else reverse("revision", args=[revision.pk]),
    )


def _to_send(user: Any) -> Part:
    rows = _revisions(user).filter(state=Revision.State.DRAFT).order_by("created_at", "pk")
    count, found = _taken(rows)
    words = _("Send quote {number}, revision {letter}")
    return Part(
        "send",
        _("Quotes to send"),
        _("Drafts, the oldest first."),
        count,
        tuple(_revision(row, _local_day(row.created_at), words, _("Open draft")) for row in found),
        _("No draft waits. A draft is made on the page of its job."),
        reverse("job_list"),
        _("Open jobs"),
    )


def _lapsing(user: Any, today: date) -> Part:
    rows = (
        _revisions(user)
        .filter(state=Revision.State.ISSUED, valid_until__lte=today + LAPSES_WITHIN)
        .exclude(quote__fitout__stage__in=[Stage.LOST, Stage.CANCELLED, Stage.CLOSED])
        .order_by("valid_until", "pk")
    )
    count, found = _taken(rows)
    lapsed, lapses = _("Quote {number}, revision {letter} has lapsed"), _("Quote {number}, revision {letter} lapses")
    tasks = tuple(
        _revision(row, row.valid_until, lapsed if row.valid_until < today else lapses, _("Open quote")) for row in found
    )
    return Part("lapsing", _("Quotes lapsing"), _("Within seven days, or lapsed."), count, tasks)


def _to_book(user: Any) -> Part:
    rows = _jobs(user, Stage.ACCEPTED).order_by("changed_at", "pk")
    count, found = _taken(rows)
    tasks = tuple(
        Task(
            when=_day(_local_day(job.changed_at)),
            where=_("accepted"),
            title=_("Book a bay for {title}").format(title=job.title),
            job=job,
            words=_about(job),
            press=_("Open job"),
            url=reverse("job", args=[job.pk]),
        )
        for job in found
    )
    return Part("book", _("To be booked"), _("Accepted, no day in the bay yet."), count, tasks)


def _in_build(user: Any) -> Part:
    rows = (
        _jobs(user, Stage.BOOKED, Stage.IN_BUILD)
        .annotate(ticks_all=Count("ticks"), ticks_done=Count("ticks", filter=Q(ticks__done_at__isnull=False)))
        .order_by("-stage", F("booked_from").asc(nulls_last=True), "pk")
    )
    count, found = _taken(rows)
    tasks = tuple(
        Task(
            when=_weekday(job.booked_from),
            where=_day(job.booked_from),
            title=job.title,
            job=job,
            words=_build_words(job),
            press=_("Open build"),
            url=reverse("build", args=[job.pk]),
        )
        for job in found
    )
    return Part(
        "build",
        _("In build"),
        _("In the bay, or booked for it."),
        count,
        tasks,
        _("No vehicle is in the bays or booked. Book a day on the page of an accepted job."),
        reverse("job_list"),
        _("Open jobs"),
    )


def _build_words(job: Any) -> str:
    if job.stage == Stage.BOOKED:
        return _("Booked.") + " " + _about(job)
    if not job.ticks_all:
        return _about(job)
    return _("{done} of {all} steps ticked.").format(done=job.ticks_done, all=job.ticks_all) + " " + _about(job)


def _due(user: Any, today: date) -> Part:
    rows = (
        visible_to(user)
        .filter(Q(stage=Stage.TESTED) | Q(stage=Stage.IN_BUILD, booked_to__lte=today))
        .select_related("customer", "vehicle", "assigned_to")
        .order_by(F("booked_to").asc(nulls_last=True), "pk")
    )
    count, found = _taken(rows)
    tasks = tuple(
        Task(
            when=_weekday(job.booked_to),
            where=_day(job.booked_to),
            title=_("Deliver {title}").format(title=job.title),
            job=job,
            words=(_("Tested.") if job.stage == Stage.TESTED else _("Still in build.")) + " " + _about(job),
            press=_("Open delivery"),
            url=reverse("build", args=[job.pk]),
        )
        for job in found
    )
    return Part(
        "due",
        _("Deliveries due"),
        _("By the last day in the bay."),
        count,
        tasks,
        _("Nothing waits to be handed over. A job comes here when it is tested."),
    )


def _retorque(user: Any, today: date) -> Part:
    rows = (
        InstalledSystem.objects.filter(
            removed_on=None, retorque_due_on__lte=today + RETORQUE_WITHIN, fitout__in=_jobs(user, Stage.DELIVERED)
        )
        .select_related("fitout__customer", "fitout__vehicle", "fitout__assigned_to")
        .order_by("retorque_due_on", "pk")
    )
    count, found = _taken(rows)
    tasks = tuple(
        Task(
            when=_weekday(system.retorque_due_on),
            where=_day(system.retorque_due_on),
            title=_("Re-torque {title}").format(title=system.title),
            job=system.fitout,
            words=_about(system.fitout),
            press=_("Open vehicle"),
            url=reverse("vehicle", args=[system.vehicle_id]),
        )
        for system in found
    )
    return Part("retorque", _("Re-torque due"), _("Within a fortnight, or overdue."), count, tasks)
