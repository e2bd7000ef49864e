"""Assemblies in a job: counted by its design, priced in its quote, fitted in its build; nothing missing or doubled."""

from __future__ import annotations

import json
from decimal import Decimal

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from catalog import services as catalog
from catalog.models import AssemblyVersion, Component, LabourOperation
from catalog.services_assemblies import LineValues, save_assembly
from fitouts.models import BuildTick, FitoutAssembly, FittedPart, Stage, User
from fitouts.services import assemblies as uses
from fitouts.services import fitouts as jobs
from quoting.documents.builders import content_of, open_for
from quoting.models import Line
from quoting.queries.assemblies import panel
from quoting.services import assemblies, designs, proof, quotes
from tests.factories.jobs import make_user

pytestmark = pytest.mark.django_db
D = Decimal


@pytest.fixture
def wagon(worked_out):
    return worked_out


@pytest.fixture
def terminal(wagon) -> Component:
    return Component.objects.filter(kind="terminal").first()


@pytest.fixture
def kit(wagon, terminal, estimator):
    """Three terminals for each circuit and one more, a battery monitor, and two ends to crimp for each circuit."""
    monitor = Component.objects.filter(kind="battery_monitor").first()
    crimp = LabourOperation.objects.get(code="terminate")
    lines = [
        LineValues(component=terminal, fixed=1.0, each=3.0, per="circuit"),
        LineValues(component=monitor, each=1.0),
        LineValues(labour=crimp, each=2.0, per="circuit"),
    ]
    return save_assembly({"name": "Circuit kit"}, lines, by=estimator).assembly


@pytest.fixture
def taken(wagon, kit, estimator) -> FitoutAssembly:
    return uses.add(wagon, kit, 2, by=estimator)


@pytest.fixture
def desk(client, estimator):
    client.force_login(estimator)
    return client


def next_version(kit, estimator, **change):
    kept = kit.versions.first()
    lines = [LineValues(x.component, x.labour, x.fixed, x.each, x.per, x.round_up) for x in kept.lines.all()]
    first = lines[0]
    lines[0] = LineValues(first.component, None, change.get("fixed", first.fixed), 5.0, first.per)
    return save_assembly({"name": kit.name}, lines, by=estimator, assembly=kit, why="More of them")


def test_counts_are_those_of_the_design(wagon):
    design = wagon.designs.first()
    appraisal = designs.appraisal_of(design)

    counts = assemblies.counts_of_design(design)

    assert counts["circuit"] == len(appraisal.circuits) > 5
    laid = [x.quantity for x in appraisal.bill if x.unit == "m" and x.part and x.rule != "heat_shrink"]
    assert counts["metre"] == pytest.approx(sum(laid))
    assert counts["battery"] == sum(c.quantity for c in appraisal.chosen if c.role == "battery") >= 1
    assert counts["panel"] == sum(c.quantity for c in appraisal.chosen if c.role == "panel")
    assert counts["load"] == sum(line.quantity for line in wagon.requirements.all())
    assert counts["cable_end"] == sum(x.quantity for x in appraisal.bill if x.labour in ("terminate", "crimp_lug"))


def test_a_draft_holds_the_lines_and_adds_up(wagon, taken, terminal, estimator):
    bare = quotes.draft(wagon, by=estimator).offers.get()
    without = {(x.component_id, x.rule): x.quantity for x in bare.lines.all()}
    n = len(designs.appraisal_of(wagon.designs.first()).circuits)

    rule = "assembly:Circuit kit v1"
    extra = {x.component.kind: x for x in bare.lines.filter(rule=rule)}

    assert extra["terminal"].quantity == 1 + 3 * n
    assert extra["terminal"].amount == (extra["terminal"].quantity * extra["terminal"].unit_price).quantize(D("0.01"))
    assert extra["terminal"].mass_kg == pytest.approx((1 + 3 * n) * terminal.mass_kg, abs=1e-3)
    assert extra["battery_monitor"].quantity == 2
    assert bare.net == sum(x.amount for x in bare.lines.all())
    # the design's own terminals stand as they did, and the ends crimped are one line with both
    design = designs.appraisal_of(wagon.designs.first())
    own = [x for x in design.bill if x.part == str(terminal.pk)]
    assert all(without[terminal.pk, x.rule] == D(str(x.quantity)) for x in own)
    crimped = bare.lines.get(labour_code="terminate")
    ends = next(x.quantity for x in design.bill if x.labour == "terminate")
    minutes = LabourOperation.objects.get(code="terminate").minutes_per_unit
    assert crimped.quantity == (D(str(minutes)) * D(str(ends + 2 * n)) / 60).quantize(D("0.01"))


def test_a_change_asks_for_the_draft_to_be_priced_again(wagon, taken, estimator):
    revision = quotes.draft(wagon, by=estimator)
    assert quotes.obstacles(revision) == []

    uses.change(taken, 3, by=estimator)
    assert any("assemblies have changed" in words for words in quotes.obstacles(revision))
    with pytest.raises(quotes.QuoteNotReady, match="Price it again"):
        quotes.issue(revision, by=estimator)

    quotes.reprice(revision)
    revision.refresh_from_db()
    assert quotes.obstacles(revision) == []
    uses.remove(taken, by=estimator)
    assert any("assemblies have changed" in words for words in quotes.obstacles(revision))


def test_a_retired_part_stands_in_the_way(wagon, taken, estimator):
    revision = quotes.draft(wagon, by=estimator)
    catalog.retire(Component.objects.get(pk=taken.version.lines.all()[1].component_id), by=estimator)

    assert any("is retired" in words for words in quotes.obstacles(revision))


def test_an_issued_quote_is_untouched_by_a_new_version(wagon, kit, taken, estimator):
    revision = quotes.draft(wagon, by=estimator)
    quotes.issue(revision, by=estimator)
    revision.refresh_from_db()
    before, lines = (
        revision.snapshot.body,
        list(Line.objects.filter(offer__revision=revision).values_list("name", "amount")),
    )

    next_version(kit, estimator)
    uses.take_newest(taken, by=estimator)

    revision.refresh_from_db()
    assert revision.snapshot.body == before
    assert list(Line.objects.filter(offer__revision=revision).values_list("name", "amount")) == lines
    body = json.loads(before)
    assert body["assemblies"] == [{"name": "Circuit kit", "version": 1, "quantity": 2}]
    lines_of_it = [x for x in body["offer"]["lines"] if x["rule"] == "assembly:Circuit kit v1"]
    assert len(lines_of_it) == 2
    assert body["offer"]["mass_kg"] > body["appraisal"]["mass_kg"]
    paper = repr(content_of("quote", open_for("quote", body, None, revision.snapshot.sha256)))
    assert next(x["name"] for x in lines_of_it if "monitor" in x["name"].lower()) in paper


def test_what_was_accepted_is_locked_and_fitted(wagon, kit, taken, estimator):
    revision = quotes.draft(wagon, by=estimator)
    quotes.issue(revision, by=estimator)
    revision.refresh_from_db()
    quotes.accept(revision, accepted_by="Dr Ines Venn", note="", by=estimator)
    wagon.refresh_from_db()
    next_version(kit, estimator)
    for deed in (
        lambda: uses.change(taken, 9, by=estimator),
        lambda: uses.take_newest(taken, by=estimator),
        lambda: uses.remove(taken, by=estimator),
    ):
        with pytest.raises(uses.AssemblyRefused, match="accepted"):
            deed()

    proof.start_build(wagon, by=estimator)

    n = len(designs.appraisal_of(wagon.designs.first()).circuits)
    words = " ".join(
        BuildTick.objects.filter(fitout=wagon, key__startswith="assembly:").values_list("words", flat=True)
    )
    terminal, monitor = (x.component for x in taken.version.lines.all()[:2])
    assert f"{1 + 3 * n} × {terminal}" in words
    assert f"2 × {monitor}" in words
    fitted = FittedPart.objects.filter(fitout=wagon, role="assembly")
    assert [(p.component, p.part_number) for p in fitted] == [(monitor, monitor.part_number)] * 2
    # every priced part of an assembly is in the steps or among the parts, each once
    priced = Line.objects.filter(offer__revision=revision, rule__startswith="assembly:", component__isnull=False)
    assert all(str(line.component) in words for line in priced)
    assert BuildTick.objects.filter(fitout=wagon, words__contains=str(terminal)).count() == 1


def test_wrong_uses_are_refused_in_words(wagon, kit, taken, estimator):
    with pytest.raises(uses.AssemblyRefused, match="in this job already"):
        uses.add(wagon, kit, 1, by=estimator)
    with pytest.raises(uses.AssemblyRefused, match="at least 1 and at most 500"):
        uses.change(taken, 501, by=estimator)
    catalog.retire(kit, by=estimator)
    uses.remove(taken, by=estimator)
    with pytest.raises(uses.AssemblyRefused, match="retired"):
        uses.add(wagon, kit, 1, by=estimator)


def test_a_formula_beyond_any_quote_is_named(wagon, terminal, estimator):
    huge = save_assembly({"name": "Slip"}, [LineValues(component=terminal, each=10000.0, per="circuit")], by=estimator)
    uses.add(wagon, huge.assembly, 1, by=estimator)

    with pytest.raises(quotes.QuoteNotReady, match=r"“Slip” asks for .* at most 100000"):
        quotes.draft(wagon, by=estimator)


def test_copies_and_packages_carry_assemblies(wagon, taken, estimator):
    copy = jobs.open_from(wagon, wagon.vehicle, by=estimator)
    package = jobs.keep_as_package(wagon, "Field wagon", by=estimator)
    opened = jobs.open_from_package(package, wagon.vehicle, by=estimator)

    for job in (copy, opened):
        assert [(u.version, u.quantity) for u in job.assemblies.all()] == [(taken.version, 2)]
    old = {k: v for k, v in package.content.items() if k not in ("assemblies", "survey")}
    jobs.fill(jobs.open_job(wagon.customer, wagon.vehicle, "Old contents", by=estimator), old, by=estimator)


def test_the_page_takes_changes_and_leaves_out(desk, wagon, kit, estimator):
    take = reverse("assembly_take", args=[wagon.pk])
    data = {"take-assembly": str(kit.pk), "take-quantity": "3"}

    assert desk.post(take, data).status_code == 302
    again = desk.post(take, data)
    use = FitoutAssembly.objects.get()
    assert again.status_code == 422
    assert "in this job already" in again.content.decode()

    edit = reverse("assembly_use_edit", args=[wagon.pk, use.pk])
    for typed in ("0", "501", "1e9", "lots", "2.5"):
        answer = desk.post(edit, {f"use{use.pk}-quantity": typed})
        assert answer.status_code == 422
        assert f'value="{typed}"' in answer.content.decode()
    assert desk.post(edit, {f"use{use.pk}-quantity": "4"}).status_code == 302
    use.refresh_from_db()
    assert use.quantity == 4

    next_version(kit, estimator)
    page = desk.get(reverse("job", args=[wagon.pk])).content.decode()
    assert "Take version 2" in page
    assert "More of them" in page
    assert desk.post(reverse("assembly_use_newest", args=[wagon.pk, use.pk])).status_code == 302
    assert FitoutAssembly.objects.get().version.number == 2
    assert desk.post(reverse("assembly_use_remove", args=[wagon.pk, use.pk])).status_code == 302
    assert desk.post(reverse("assembly_use_remove", args=[wagon.pk, use.pk])).status_code == 404
    assert not FitoutAssembly.objects.exists()


def test_before_a_design_counts_are_not_known(desk, wagon, kit, estimator):
    fresh = jobs.open_job(wagon.customer, wagon.vehicle, "Nothing yet", by=estimator)
    uses.add(fresh, kit, 1, by=estimator)

    page = desk.get(reverse("job", args=[fresh.pk])).content.decode()

    assert "How many there are of each is not known yet" in page


def test_a_technician_sees_how_many_and_may_change_nothing(client, wagon, taken):
    technician = make_user(User.Role.TECHNICIAN)
    client.force_login(technician)

    page = client.get(reverse("job", args=[wagon.pk])).content.decode()

    n = len(designs.appraisal_of(wagon.designs.first()).circuits)
    part = page[page.index('aria-labelledby="assemblies"') : page.index('aria-labelledby="sizing"')]
    assert f'<td class="n got">{1 + 3 * n}' in part
    assert "form" not in part
    assert "$" not in part
    assert client.post(reverse("assembly_use_remove", args=[wagon.pk, taken.pk])).status_code == 403


def test_the_part_asks_as_often_for_six_as_for_one(wagon, taken, terminal, estimator):
    design, _vehicle = wagon.designs.first(), wagon.vehicle

    def queries() -> int:
        with CaptureQueriesContext(connection) as caught:
            panel(wagon, design)
        return len(caught)

    one = queries()
    for i in range(5):
        more = save_assembly({"name": f"Kit {i}"}, [LineValues(component=terminal)], by=estimator).assembly
        uses.add(wagon, more, 1, by=estimator)
    assert queries() == one


def test_every_version_is_still_there(wagon, kit, taken, estimator):
    next_version(kit, estimator)
    taken.refresh_from_db()

    assert taken.version.number == 1
    assert AssemblyVersion.objects.filter(assembly=kit).count() == 2
    assert wagon.stage == Stage.SURVEYED
