"""Rows by the hundred thousand, to see whether a large workshop stays quick. Demo and empty workshops only.

Everything is invented from word lists and varied from the starter library, and the same seed gives the same rows. Rows
go in past the services, a batch at a time, but through ``Kind.clean``, so that each is one that a person could have
typed. What is left out: histories and price changes of components, customers and vehicles. Each job has the stage
events of its course, and everything can be found by its words.
"""

from __future__ import annotations

import random
from collections.abc import Callable, Iterator, Sequence
from datetime import date, timedelta
from decimal import Decimal
from itertools import islice
from typing import Any

from django.db import connection, transaction
from django.db.models import Max, Model, prefetch_related_objects
from django.utils import timezone

from catalog import finding, kinds, library
from catalog.kinds.base import Kind
from catalog.models import Component, Supplier
from catalog.services import _sort_key as sort_key
from catalog.specs import rating_text
from fitouts.models import COURSE, Counter, Customer, Fitout, Stage, StageEvent, User, Vehicle, Workshop

BATCH = 2000
VARIED = (0.6, 0.7, 0.8, 0.9, 1.0, 1.1, 1.25, 1.4, 1.6, 2.0)
"""What a number of the library is multiplied by; what its kind refuses is tried once more and then left alone."""
TREES = ("Ash", "Birch", "Cedar", "Elder", "Fern", "Gorse", "Hazel", "Juniper", "Larch", "Maple", "Rowan", "Sedge")
PLACES = ("hollow", "mere", "garth", "wether", "combe", "strand", "holt", "leigh", "mallow", "thwaite", "tarn", "wick")
FIRST = ("Ada", "Bryn", "Cleo", "Dov", "Esme", "Fitz", "Greta", "Hale", "Iris", "Jory", "Kit", "Lena", "Mira", "Ned")
TRADES = ("Tree Care", "Site Services", "Coffee Carts", "Surveying", "Dog Wash", "Shire Council", "Tours", "Plumbing")
MAKES = ("Halvard", "Brindle", "Ostrand", "Quillon", "Tamsett", "Verrin")
MODELS = ("Tor", "Carrier", "Marl", "Drover", "Fell", "Harrier", "Pike", "Rook")
BODIES = ("wagon", "van", "camper", "utility", "truck", "crew cab")
WORK = ("Touring wagon", "Service van", "Camper", "Tree survey truck", "Coffee van", "Field wagon", "Council truck")

Say = Callable[[str], None]


class NotHere(Exception):
    """This workshop is a real one; nothing invented goes into it."""


def refuse_real() -> None:
    """Raise :class:`NotHere` unless the workshop is the demo, or there is nothing at all yet."""
    workshop = Workshop.objects.first()
    if workshop is not None and not workshop.is_demo:
        raise NotHere(f"“{workshop.name}” is a real workshop. Invented rows go only into the demo or an empty one.")
    if workshop is None and any(m.objects.exists() for m in (Customer, Component, User)):
        raise NotHere("There are records but no workshop yet. Invented rows go only into the demo or an empty one.")


def seed(*, components: int, customers: int, vehicles: int, jobs: int, seed: int, say: Say) -> None:
    """Add so many of each; interrupted, what whole batches added stays."""
    refuse_real()
    chance = random.Random(seed)  # noqa: S311 (invented rows, no secret)
    _in_batches("components", Component, _components(components, chance), components, say, "component")
    _in_batches("customers", Customer, _customers(customers, chance), customers, say, "customer")
    owners = list(Customer.objects.filter(retired_at=None).values_list("pk", flat=True)) if vehicles else []
    _in_batches("vehicles", Vehicle, _vehicles(vehicles, owners, chance), vehicles, say, "vehicle")
    _jobs(jobs, chance, say)
    with connection.cursor() as cursor:
        cursor.execute("ANALYZE")  # or the database plans for the few rows it knew


def _in_batches(
    words: str, model: type[Model], rows: Iterator[Any], count: int, say: Say, about: str, after: Any = None
) -> None:
    done = 0
    while batch := list(islice(rows, BATCH)):
        with transaction.atomic():
            made = model._default_manager.bulk_create(batch)
            if after:
                after(made)
            _write_words(finding.FINDABLE[about], made)
        done += len(batch)
        say(f"{words}: {done:,} of {count:,}")


def _write_words(one: finding.Findable, made: Sequence[Any]) -> None:
    """The words of rows that are new, and so have none yet: what ``index_rows`` would write, without looking first."""
    for start in range(0, len(made), finding.BATCH):
        prefetch_related_objects(made[start : start + finding.BATCH], *one.related)
    words = [(word, one.about, row.pk) for row in made for word in sorted(one.words_of(row))]
    with connection.cursor() as cursor:
        cursor.executemany("INSERT INTO catalog_searchword (word, about, row_id) VALUES (%s, %s, %s)", words)


def _components(count: int, chance: random.Random) -> Iterator[Component]:
    suppliers = {supplier.name: supplier for supplier in Supplier.objects.all()}
    first = 1 + (Component.objects.aggregate(last=Max("pk"))["last"] or 0)
    for number in range(first, first + count):
        entry = chance.choice(library.COMPONENTS)
        kind = kinds.get(entry["kind"])
        spec = _varied(kind, entry["spec"], chance)
        name = f"{entry['name'][:100]} / {number}"
        yield Component(
            kind=kind.code,
            kind_version=kind.version,
            name=name,
            sort_key=sort_key(name),
            maker=entry.get("maker", ""),
            part_number=f"{chance.choice('ABCDEFGHJKLMNPRSTUVWXYZ')}{number:07d}",
            specification=spec,
            rating=rating_text(kind, spec),
            cost=(Decimal(entry["cost"]) * chance.randrange(60, 180) / 100).quantize(Decimal("0.01")),
            mass_kg=round(entry.get("mass_kg", 0.0) * chance.uniform(0.9, 1.2), 3),
            supplier=suppliers.get(entry.get("supplier", "")),
            stock=chance.choice((0, 0, 0, 0, 1, 2, 5, 20)),
            lead_days=chance.choice((0, 1, 2, 5, 9, 14, 30)),
            retired_at=timezone.now() if chance.random() < 0.03 else None,
        )


def _varied(kind: Kind, spec: dict[str, Any], chance: random.Random) -> dict[str, Any]:
    """The specification with some of its numbers moved, if its kind allows that."""
    numbers = [f for f in kind.fields if f.type == "number" and not f.options and spec.get(f.name)]
    if kind.group in ("conductors", "distribution"):  # areas, ratings and studs come in standard sizes
        numbers = [f for f in numbers if not f.in_rating]
    for _try in range(2):
        moved = dict(spec)
        for field in numbers:
            if chance.random() < 0.4:
                moved[field.name] = float(f"{spec[field.name] * chance.choice(VARIED):.3g}")
        try:
            return kind.clean(moved)
        except kinds.SpecError:
            continue
    return kind.clean(spec)


def _customers(count: int, chance: random.Random) -> Iterator[Customer]:
    first = 1 + (Customer.objects.aggregate(last=Max("pk"))["last"] or 0)
    for number in range(first, first + count):
        family = chance.choice(TREES) + chance.choice(PLACES)
        is_person = chance.random() < 0.7
        yield Customer(
            kind=Customer.Kind.PERSON if is_person else Customer.Kind.ORGANISATION,
            name=f"{chance.choice(FIRST)} {family}" if is_person else f"{family} {chance.choice(TRADES)} {number}",
            phone=f"01632 960 {number % 1000:03d}",
            email=f"c{number}@{family.lower()}.example",
            retired_at=timezone.now() if chance.random() < 0.02 else None,
        )


def _vehicles(count: int, owners: Sequence[int], chance: random.Random) -> Iterator[Vehicle]:
    first = 1 + (Vehicle.objects.aggregate(last=Max("pk"))["last"] or 0)
    for number in range(first, first + count):
        is_24 = chance.random() < 0.2
        surveyed = date(2026, 1, 1) - timedelta(days=chance.randrange(2000)) if chance.random() < 0.6 else None
        yield Vehicle(
            customer_id=chance.choice(owners),
            make=chance.choice(MAKES),
            model=chance.choice(MODELS),
            body=chance.choice(BODIES),
            year=chance.randrange(2004, 2027),
            registration=_plate(number, chance),
            vin=f"ZZ{number:015d}" if chance.random() < 0.8 else "",
            odometer_km=chance.randrange(2_000, 400_000),
            nominal_v=24 if is_24 else 12,
            alternator_a=float(chance.choice((70, 90, 110, 140, 180, 220))),
            surveyed_on=surveyed,
            standing_draw_a=round(chance.uniform(0.01, 0.08), 3) if surveyed else None,
        )


def _plate(number: int, chance: random.Random) -> str:
    letters = "".join(chance.choice("ABCDEFGHJKLMNPRSTUVWXYZ") for _ in range(2))
    return f"{letters}{number:06d}" if chance.random() < 0.97 else ""


def _jobs(count: int, chance: random.Random, say: Say) -> None:
    people = list(User.objects.filter(is_active=True).order_by("pk"))
    vehicles = list(
        Vehicle.objects.filter(retired_at=None).order_by("pk").values_list("pk", "customer_id", "nominal_v")
    )
    year = timezone.localdate().year
    with transaction.atomic():
        counter, _made = Counter.objects.get_or_create(name=f"job-{year}")
        first, counter.last = counter.last + 1, counter.last + count
        counter.save()

    def rows() -> Iterator[Fitout]:
        for number in range(first, first + count):
            vehicle, customer, volts = chance.choice(vehicles)
            yield Fitout(
                number=f"{year % 100:02d}-{number:04d}",
                title=f"{chance.choice(WORK)}, {chance.choice(TREES)}{chance.choice(PLACES)}",
                customer_id=customer,
                vehicle_id=vehicle,
                stage=chance.choice(COURSE) if chance.random() < 0.01 else Stage.CLOSED,
                system_v=volts,
                chemistries=["lifepo4"],
                assigned_to=chance.choice(people) if people and chance.random() < 0.8 else None,
            )

    def events(made: Sequence[Fitout]) -> None:
        StageEvent.objects.bulk_create(event for job in made for event in _course(job))

    _in_batches("jobs", Fitout, rows() if vehicles else iter(()), count, say, "job", events)


def _course(job: Fitout) -> Iterator[StageEvent]:
    """How a job came to where it stands."""
    before = ""
    for stage in COURSE[: COURSE.index(Stage(job.stage)) + 1]:
        yield StageEvent(fitout=job, from_stage=before, to_stage=stage, by=job.assigned_to)
        before = stage
