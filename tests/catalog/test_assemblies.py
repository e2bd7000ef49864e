"""Assemblies: quantities by formula, versions that stay, a form that loses nothing, and no money for a technician."""

from __future__ import annotations

import re
from decimal import Decimal

import pytest
from django.core.exceptions import PermissionDenied, ValidationError
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.urls import reverse
from hypothesis import given
from hypothesis import strategies as st

from catalog import services
from catalog.assemblies import count, differences, quantity_of
from catalog.library.labour import LABOUR
from catalog.models import Assembly, AssemblyLine, AssemblyVersion
from catalog.services_assemblies import LinesRefused, LineValues, copy_assembly, save_assembly
from fitouts.services.workshop import set_markups
from tests.catalog.conftest import add_component
from tests.seen import seen

pytestmark = pytest.mark.django_db
D = Decimal
Per = AssemblyLine.Per
NAMES = {"name": "Panel fixings", "what_for": "Per panel on a roof", "notes": ""}


@pytest.fixture
def labour(estimator):
    row = next(x for x in LABOUR if x["code"] == "terminate")
    return services.save_labour(row, by=estimator)


@pytest.fixture
def assembly(battery, labour, estimator) -> Assembly:
    lines = [
        LineValues(component=battery, each=2.0, per=Per.PANEL),
        LineValues(labour=labour, fixed=1.0, per=Per.PANEL),
    ]
    return save_assembly(NAMES, lines, by=estimator).assembly


def line(fixed: float, each: float, per: str = Per.CIRCUIT, *, whole: bool = True) -> AssemblyLine:
    return AssemblyLine(fixed=fixed, each=each, per=per, round_up=whole)


@pytest.mark.parametrize(
    ("fixed", "each", "count_of", "whole", "by_hand"),
    [
        (0, 1, 6, True, "6"),
        (2, 0.5, 7, True, "6"),  # 2 + 3.5 = 5.5, up to 6
        (0, 0.1, 30, True, "3"),  # exactly 3, though 0.1 × 30 is a little more in binary
        (0, 0.1, 31, True, "4"),
        (1.5, 0.25, 14.2, False, "5.05"),
        (0, 0.333, 0.5, False, "0.167"),  # 0.1665, up to the thousandth
        (0, 3, 0, True, "0"),
        (4, 3, 0, True, "4"),
    ],
)
def test_quantities_by_hand(fixed, each, count_of, whole, by_hand):
    assert quantity_of(line(fixed, each, whole=whole), {"circuit": count_of}) == D(by_hand)


@given(
    fixed=st.integers(0, 10**7).map(lambda n: n / 1000),
    each=st.integers(0, 10**7).map(lambda n: n / 1000),
    count_of=st.integers(0, 10**5).map(lambda n: n / 10),
    whole=st.booleans(),
)
def test_a_quantity_is_never_below_its_formula(fixed, each, count_of, whole):
    exact = D(str(fixed)) + D(str(each)) * D(str(count_of))

    got = quantity_of(line(fixed, each, whole=whole), {"circuit": count_of})

    assert exact <= got < exact + (1 if whole else D("0.001"))
    assert not whole or got == got.to_integral_value()


def test_a_change_makes_the_next_version_and_leaves_the_first(assembly, battery, estimator):
    first = assembly.versions.get()
    before = list(first.lines.values_list("component", "labour", "fixed", "each", "per"))

    second = save_assembly(
        NAMES, [LineValues(component=battery, each=4.0, per=Per.PANEL)], by=estimator, assembly=assembly, why="Wind"
    )

    assert (second.number, second.why, second.made_by_id) == (2, "Wind", estimator.pk)
    assert list(first.lines.values_list("component", "labour", "fixed", "each", "per")) == before
    changed, gone = differences(list(first.lines.all()), list(second.lines.all()))
    assert (changed.before.each, changed.after.each) == (2.0, 4.0)
    assert gone.after is None


def test_the_same_lines_again_make_no_version(assembly, estimator):
    kept = assembly.versions.get()
    lines = [LineValues(x.component, x.labour, x.fixed, x.each, x.per, x.round_up) for x in kept.lines.all()]

    again = save_assembly({**NAMES, "what_for": "Roof"}, lines, by=estimator, assembly=assembly)

    assert again == kept
    assert Assembly.objects.get().what_for == "Roof"


@pytest.mark.parametrize(
    ("change", "words"),
    [
        ({"fixed": 0.0, "each": 0.0}, "both 0"),
        ({"each": 1e9}, "at most 10000"),
        ({"fixed": -1.0}, "at least 0"),
        ({"each": 0.0001}, "three decimals"),
        ({"per": "moon"}, "nothing that is counted"),
        ({"component": None}, "one component or one labour"),
        ({"labour": "labour"}, "one component or one labour"),
    ],
)
def test_wrong_lines_are_refused_in_words(battery, labour, estimator, change, words):
    values = {"component": battery, **change}
    if values.get("labour"):
        values["labour"] = labour

    with pytest.raises(LinesRefused, match=words):
        save_assembly(NAMES, [LineValues(**values)], by=estimator)
    assert not Assembly.objects.exists()


def test_no_lines_and_retired_parts_are_refused(battery, estimator, technician):
    with pytest.raises(ValidationError, match="at least one line"):
        save_assembly(NAMES, [], by=estimator)
    with pytest.raises(PermissionDenied):
        save_assembly(NAMES, [LineValues(component=battery)], by=technician)
    services.retire(battery, by=estimator)
    with pytest.raises(LinesRefused, match="is retired"):
        save_assembly(NAMES, [LineValues(component=battery)], by=estimator)
    assert not AssemblyVersion.objects.exists()


def test_a_copy_has_the_next_free_name(assembly, estimator):
    names = [copy_assembly(assembly, by=estimator).name for _ in range(2)]

    assert names == ["Copy of Panel fixings", "Copy of Panel fixings 2"]
    assert Assembly.objects.get(name=names[1]).versions.get().lines.count() == 2


def rows(*lines: dict[str, str], **more: str) -> dict[str, str]:
    data = {"name": "Cable kit", "what_for": "", "notes": "", "rows": str(len(lines)), "seen": "0", "act": "save"}
    for i, entries in enumerate(lines):
        data |= {f"row{i}-{k}": v for k, v in entries.items()}
    return data | more


def test_the_form_saves_what_is_typed_by_name_number_or_code(desk, battery, labour):
    data = rows(
        {"what": battery.part_number.lower(), "fixed": "1", "each": "0,5", "per": "battery"},
        {"what": "terminate", "each": "2", "per": "circuit", "round_up": "on"},
        {"what": "", "fixed": "", "each": "", "per": "assembly"},
        {"what": "", "fixed": "", "each": "1", "per": "assembly", "round_up": "on"},
    )

    answer = desk.post(reverse("catalog:assembly_add"), data)

    first, second = AssemblyLine.objects.all()
    assert answer.status_code == 302
    assert (first.component, first.fixed, first.each, first.per, first.round_up) == (
        battery,
        1.0,
        0.5,
        "battery",
        False,
    )
    assert (second.labour, second.each, second.per, second.round_up) == (labour, 2.0, "circuit", True)


def test_what_fits_two_things_is_asked_back_and_nothing_is_lost(desk, battery, estimator):
    add_component("Larkham LF-200", by=estimator, name="Larkham twin")
    add_component("Larkham LF-300", by=estimator, name="Larkham twin")

    answer = desk.post(reverse("catalog:assembly_add"), rows({"what": "larkham TWIN", "each": "3", "per": "circuit"}))

    page = answer.content.decode()
    assert answer.status_code == 422
    assert "may mean several things: “LF-200”, “LF-300”" in page
    assert 'value="larkham TWIN"' in page
    assert 'value="3"' in page
    assert not Assembly.objects.exists()


@pytest.mark.parametrize("typed", ["1e9", "-3", "lots"])
def test_a_wrong_number_is_refused_and_shown_again(desk, battery, typed):
    answer = desk.post(reverse("catalog:assembly_add"), rows({"what": battery.name, "each": typed, "per": "circuit"}))

    assert answer.status_code == 422
    assert f'value="{typed}"' in answer.content.decode()
    assert not Assembly.objects.exists()


def test_lines_are_added_removed_and_moved_without_saving(desk, battery):
    url = reverse("catalog:assembly_add")
    two = ({"what": "one", "each": "1", "per": "circuit"}, {"what": "two", "each": "2", "per": "panel"})

    def whats(act: str) -> list[str]:
        answer = desk.post(url, rows(*two, act=act))
        assert answer.status_code == 200
        return re.findall(r'name="row\d-what"[^>]*?value="(\w+)"|name="row\d-what"', answer.content.decode())

    assert whats("add") == ["one", "two", ""]
    assert whats("remove-0") == ["two"]
    assert whats("down-0") == ["two", "one"]
    assert whats("up-0") == ["one", "two"]
    assert not Assembly.objects.exists()


def test_a_second_press_saves_nothing_twice(desk, battery, assembly):
    data = rows({"what": battery.name, "each": "1", "per": "circuit"})
    url = reverse("catalog:assembly_add")

    assert desk.post(url, data).status_code == 302
    assert desk.post(url, data).status_code == 422
    assert Assembly.objects.filter(name="Cable kit").count() == 1

    edit = reverse("catalog:assembly_edit", args=[assembly.pk])
    change = rows({"what": battery.name, "each": "7", "per": "panel"}, name="Panel fixings", seen="1")
    assert desk.post(edit, change).status_code == 302
    again = desk.post(edit, change)
    assert again.status_code == 422
    assert "Version 2 was made meanwhile" in again.content.decode()
    assert assembly.versions.count() == 2


def test_the_trial_prices_to_the_cent_by_hand(desk, assembly, battery, labour, workshop, estimator):
    services.save_component(
        battery.kind, battery.specification, name=battery.name, cost=D("798.0000"), by=estimator, component=battery,
        maker=battery.maker, part_number=battery.part_number, sell_price=None, mass_kg=11.2,
    )  # fmt: skip
    set_markups({"storage": D("0.35")}, by=estimator)
    workshop.labour_rate, workshop.labour_cost = D("145.00"), D("62.00")
    workshop.save()

    page = desk.get(reverse("catalog:assembly_detail", args=[assembly.pk]), {"try": "1", "panel": "3"})

    # 6 × 798.00 × 1.35 = 6463.80; (1 + 3) × 5 min = 0.33 h at 145 = 47.85
    price = page.context["price"]
    assert [x.amount for x in price.lines] == [D("6463.80"), D("47.85")]
    assert price.amount == D("6511.65")
    assert price.cost == D("4788.00") + D("20.46")
    assert page.context["mass_kg"] == pytest.approx(67.2)
    assert page.context["minutes"] == pytest.approx(20.0)


def test_a_technician_sees_quantities_and_no_money(client, technician, assembly, battery):
    client.force_login(technician)
    for url in (reverse("catalog:assembly_list"), reverse("catalog:assembly_detail", args=[assembly.pk])):
        page = seen(client.get(url, {"try": "1", "panel": "3"}))
        assert "1133" not in page
        assert "1 133" not in page
        assert "798" not in page
        assert "Price" not in page
        assert "Cost" not in page
    assert client.get(reverse("catalog:assembly_edit", args=[assembly.pk])).status_code == 403


def test_a_version_with_a_retired_part_says_so(desk, assembly, battery, estimator):
    services.retire(battery, by=estimator)

    detail = desk.get(reverse("catalog:assembly_detail", args=[assembly.pk])).content.decode()

    assert f"{battery.name} is no longer in use" in detail
    assert "A part of it is retired." in desk.get(reverse("catalog:assembly_list")).content.decode()


def test_pages_answer_for_versions_that_are_there(desk, assembly, battery, estimator):
    save_assembly(NAMES, [LineValues(component=battery, each=9.0)], by=estimator, assembly=assembly)
    url = reverse("catalog:assembly_detail", args=[assembly.pk])

    assert "an earlier version" in desk.get(url, {"version": "1"}).content.decode()
    assert desk.get(url, {"version": "3"}).status_code == 404
    assert desk.get(url, {"version": "x" * 500}).status_code == 404
    assert desk.get(url, {"try": "1", "panel": "lots", "assembly": "0"}).status_code == 200


def test_the_list_asks_as_often_for_sixty_as_for_three(desk, battery, labour, estimator):
    def queries(n: int) -> int:
        have = Assembly.objects.count()
        for i in range(have, n):
            save_assembly(
                {"name": f"Kit {i}"}, [LineValues(component=battery), LineValues(labour=labour)], by=estimator
            )
        with CaptureQueriesContext(
            connection,
        ) as caught:
            assert desk.get(reverse("catalog:assembly_list")).status_code == 200
        return len(caught)

    assert queries(3) == queries(60)


def test_counting_leaves_out_what_is_not_needed(assembly):
    lines = assembly.versions.get().lines.all()

    counted = count(lines, {"panel": 0.0})

    assert [c.quantity for c in counted] == [D(1)]
    assert counted[0].minutes == 5.0
