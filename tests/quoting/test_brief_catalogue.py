"""What of a large catalogue goes into a Brief: nothing that a design would take is left out, or it is told."""

from __future__ import annotations

import random
from collections import Counter
from decimal import Decimal

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from catalog import kinds, library
from catalog import services as catalog
from catalog.models import Component, Supplier
from fitouts.models import Fitout, User, Vehicle
from quoting.services import asked_kinds, brief_catalogue, briefs, designs
from quoting.services.brief_catalogue import Row, survivors
from quoting.sizing.appraise import appraise
from tests.factories.jobs import make_user
from tests.factories.wagon import make_wagon

pytestmark = pytest.mark.django_db


@pytest.fixture
def estimator() -> User:
    return make_user()


@pytest.fixture
def wagon(estimator: User) -> Fitout:
    return make_wagon(estimator)


@pytest.fixture
def large(monkeypatch: pytest.MonkeyPatch) -> None:
    """A catalogue as small as the example's is treated as a large one."""
    monkeypatch.setattr(brief_catalogue, "WHOLE_UP_TO", 0)


def parts_of(appraisal) -> list[tuple]:
    chosen = [(c.role, c.part, c.quantity, c.series, c.parallel, c.setting) for c in appraisal.chosen]
    return chosen + [(line.part, line.quantity, line.rule) for line in appraisal.bill]


def dearer_twins(by: User, chance: random.Random, copies: int) -> None:
    """Copies of every part that state the same and cost as much or more."""
    for part in Component.objects.order_by("pk"):
        for number in range(copies):
            dearer = part.cost * chance.choice((100, 100, 101, 150)) / 100
            catalog.save_component(
                part.kind,
                part.specification,
                name=f"{part.name} twin {number}",
                cost=dearer.quantize(Decimal("0.01")),
                mass_kg=part.mass_kg + chance.choice((0.0, 0.0, 0.5)),
                by=by,
            )


def test_a_small_catalogue_goes_whole(wagon, estimator):
    retired = catalog.save_component("label", LABEL, name="Label", cost=Decimal(1), by=estimator)
    catalog.retire(retired, by=estimator)

    keys = [value["key"] for value in briefs.catalogue_values(wagon)]

    assert keys == [str(pk) for pk in Component.objects.in_use().order_by("pk").values_list("pk", flat=True)]


LABEL = next(entry["spec"] for entry in library.COMPONENTS if entry["kind"] == "label")


@pytest.mark.parametrize("seed", [1, 2])
def test_leaving_out_what_is_not_asked_for_and_what_is_alike_changes_no_design(
    wagon, estimator, large, seed, monkeypatch
):
    originals = Counter(Component.objects.order_by().values_list("kind", flat=True))
    dearer_twins(estimator, random.Random(seed), copies=2)
    catalog.save_component("label", LABEL, name="Label", cost=Decimal(1), by=estimator)
    monkeypatch.setattr(brief_catalogue, "MOST_OF_A_KIND", brief_catalogue.ALIKE * max(originals.values()))
    few = briefs.make_brief(wagon)
    monkeypatch.setattr(brief_catalogue, "WHOLE_UP_TO", 10_000)
    whole = briefs.make_brief(wagon)
    monkeypatch.setattr(brief_catalogue, "WHOLE_UP_TO", 0)

    assert len(few.catalogue) < len(whole.catalogue)
    assert brief_catalogue.cuts(wagon) == []
    assert parts_of(appraise(few)) == parts_of(appraise(whole))


def test_a_kind_that_is_thinned_is_told_and_keeps_what_was_asked_for_by_name(wagon, estimator, large, monkeypatch):
    for entry in [e for e in library.COMPONENTS if e["kind"] == "fuse"][:40]:
        catalog.save_component("fuse", entry["spec"], name=entry["name"], cost=Decimal(entry["cost"]), by=estimator)
    monkeypatch.setattr(brief_catalogue, "MOST_OF_A_KIND", 12)
    dearest = Component.objects.filter(kind="fuse").order_by("-cost", "-pk").first()
    wagon.pinned = [dearest.pk]

    values = briefs.catalogue_values(wagon)
    told = {cut.kind: cut for cut in brief_catalogue.cuts(wagon)}

    assert 12 <= sum(value["kind"] == "fuse" for value in values) <= 13
    assert str(dearest.pk) in {value["key"] for value in values}
    assert told["fuse"].looked_at == 12
    assert "12 were looked at" in told["fuse"].words


def test_a_component_ruled_out_leaves_its_room_to_its_twin(wagon, estimator, large, monkeypatch):
    usable = Component.objects.filter(kind="battery", specification__chemistry__in=wagon.chemistries)
    battery = usable.order_by("cost").first()
    twins = [
        catalog.save_component("battery", battery.specification, name=f"T{i}", cost=battery.cost + i, by=estimator)
        for i in range(1, 4)
    ]
    monkeypatch.setattr(brief_catalogue, "MOST_OF_A_KIND", usable.count() - 2)
    wagon.banned = [battery.pk, twins[0].pk]

    keys = {value["key"] for value in briefs.catalogue_values(wagon)}

    assert str(battery.pk) not in keys
    assert {str(twin.pk) for twin in twins[1:]} <= keys


def test_any_change_of_a_component_is_seen_at_once(wagon, estimator, large):
    design = designs.work_out(wagon, by=estimator)
    assert designs.changes_since(design, wagon) == ()

    Component.objects.filter(kind="battery").update(cost=Decimal("1.25"))

    assert [change.part for change in designs.changes_since(design, wagon)] == ["catalogue"]


def test_looking_again_asks_for_stamps_and_size_alone(wagon, large):
    briefs.catalogue_values(wagon)

    with CaptureQueriesContext(connection) as asked:
        briefs.catalogue_values(wagon)

    assert len(asked) <= 2 + 1  # the vehicle of the job may be read for its voltage


def test_parts_displaced_in_a_large_catalogue_are_not_called_gone(wagon, estimator):
    design = designs.work_out(wagon, by=estimator)
    now = {**design.brief, "catalogue": design.brief["catalogue"][1:]}

    changes = list(designs.compare(design.brief, now))

    assert [change.words for change in changes] == ["Fewer components of the catalogue are looked at now."]


def test_every_kind_is_known_by_what_it_can_do():
    for entry in library.COMPONENTS:
        kind = kinds.get(entry["kind"])
        can = asked_kinds.can_do(kind)
        assert can is not None
        assert {type(one) for one in kind.capabilities(kind.clean(entry["spec"]))} <= can


def test_what_the_sizing_chooses_is_among_what_is_asked(wagon):
    whole = briefs.make_brief(wagon)
    by_key = {part.key: part.kind for part in whole.catalogue}

    taken = {by_key[line.part] for line in appraise(whole).bill if line.part in by_key}

    assert taken <= asked_kinds.asked_kinds()
    assert "ventilator" not in asked_kinds.asked_kinds() | taken  # what no need of a design asks for stays out


@pytest.mark.parametrize("seed", range(8))
def test_thinning_keeps_the_ends_the_order_and_the_room(seed):
    chance, kind = random.Random(seed), kinds.get("isolator")
    spec = next(entry["spec"] for entry in library.COMPONENTS if entry["kind"] == "isolator")
    rows = [
        Row(n, (Decimal(chance.randrange(10, 90)), 0.1, str(n)), {**spec, "rating_a": float(chance.randrange(50, 600))})
        for n in range(400)
    ]

    few, is_cut = survivors(kind, rows, 40)

    assert is_cut
    assert len(few) == len({row.pk for row in few}) == 40
    reached = [row.spec["rating_a"] for row in few]
    assert max(reached) == max(row.spec["rating_a"] for row in rows)
    assert min(rows, key=lambda row: row.order) in few


BATTERY = next(entry["spec"] for entry in library.COMPONENTS if entry["kind"] == "battery")


def a_shelf_of_batteries(by: User) -> dict[str, Component]:
    """Many alike, and one that is the best in each way that choosing may go by."""
    firm = Supplier.objects.create(name="Coastal Electrical Supply")
    made = {}
    for n in range(30):
        values = {"name": f"Alike {n}", "cost": Decimal(500 + n), "mass_kg": 12.0, "lead_days": 30}
        catalog.save_component("battery", BATTERY, by=by, **values)
    for name, values in {
        "sold under price": {"sell_price": Decimal(1)},
        "on the shelf": {"stock": 3},
        "soon": {"lead_days": 2},
        "preferred": {"supplier": firm},
        "light": {"mass_kg": 9.0},
    }.items():
        whole = {"name": name, "cost": Decimal(600), "mass_kg": 12.0, "lead_days": 30, **values}
        made[name] = catalog.save_component("battery", BATTERY, by=by, **whole)
    return made


@pytest.mark.parametrize(
    ("name", "wished"),
    [
        ("sold under price", {}),
        ("on the shelf", {"prefer_stock": True}),
        ("soon", {"most_lead_days": 5}),
        ("preferred", {"suppliers_wanted": ["preferred"]}),
        ("light", {"most_mass_kg": 90.0}),
    ],
)
def test_what_choosing_may_go_by_keeps_its_best_beside_the_cheapest(wagon, estimator, large, monkeypatch, name, wished):
    monkeypatch.setattr(brief_catalogue, "MOST_OF_A_KIND", 8)
    made = a_shelf_of_batteries(estimator)
    Vehicle.objects.update(payload_left_kg=None)
    Component.objects.filter(pk=made["sold under price"].pk).update(sell_price=None)
    before = looked_at(wagon)
    Component.objects.filter(pk=made["sold under price"].pk).update(sell_price=Decimal(1))
    Fitout.objects.filter(pk=wagon.pk).update(
        **{k: [made["preferred"].supplier_id] if k == "suppliers_wanted" else v for k, v in wished.items()}
    )

    assert str(made[name].pk) in looked_at(wagon) - before


def looked_at(wagon: Fitout) -> set[str]:
    return {value["key"] for value in briefs.catalogue_values(Fitout.objects.get(pk=wagon.pk))}
