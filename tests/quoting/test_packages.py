"""Packages: kept in versions, compared, priced on a stand-in vehicle, and no money for a technician."""

from __future__ import annotations

from decimal import Decimal

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from catalog.models import Component
from catalog.services_assemblies import LineValues, save_assembly
from fitouts.models import JobPackage, User
from fitouts.services import assemblies, packages
from fitouts.services import fitouts as jobs
from fitouts.services.workshop import set_markups
from quoting.models import PackagePrice
from quoting.services import package_price, quotes
from tests.factories.jobs import make_user

pytestmark = pytest.mark.django_db
D = Decimal


@pytest.fixture
def kit(worked_out, estimator):
    terminal = Component.objects.filter(kind="terminal").first()
    return save_assembly(
        {"name": "Kit"}, [LineValues(component=terminal, each=2.0, per="circuit")], by=estimator
    ).assembly


@pytest.fixture
def package(worked_out, kit, estimator) -> JobPackage:
    assemblies.add(worked_out, kit, 1, by=estimator)
    return jobs.keep_as_package(worked_out, "Field wagon", by=estimator)


@pytest.fixture
def desk(client, estimator):
    client.force_login(estimator)
    return client


def test_the_price_is_that_of_the_jobs_own_quote(package, worked_out, estimator):
    offer = quotes.draft(worked_out, by=estimator).offers.get()

    kept = package_price.price(package, by=estimator)

    money = {name: D(text) for name, text in kept.result["money"].items()}
    assert kept.result["stand_in"] == "kept"
    for name in ("parts", "labour", "sundries", "net", "tax", "total"):
        assert money[name] == getattr(offer, name), name
    assert money["cost"] == offer.cost.quantize(D("0.01"))


def test_a_price_is_kept_until_something_moves(package, estimator):
    first = package_price.price(package, by=estimator)
    again = package_price.price(package, by=estimator)

    assert (again.pk, again.made_at) == (first.pk, first.made_at)
    assert not package_price.is_stale(package, first)
    set_markups({"storage": D("0.77")}, by=estimator)
    assert package_price.is_stale(package, first)
    later = package_price.price(package, by=estimator)
    assert D(later.result["money"]["total"]) > D(first.result["money"]["total"])
    assert PackagePrice.objects.count() == 1


def test_an_old_package_stands_on_the_usual_positions(package, worked_out, estimator):
    content = {k: v for k, v in package.content.items() if k not in ("survey", "assemblies")}
    old = JobPackage.objects.create(name="Old", make="Halvard", model="Tor", body="wagon", content=content)

    kept = package_price.price(old, by=estimator)

    assert kept.result["stand_in"] == "usual"
    assert D(kept.result["money"]["total"]) > 0
    odd = JobPackage.objects.create(name="Odd", make="Halvard", model="Tor", body="hovercraft", content=content)
    with pytest.raises(package_price.PackageNotPriced, match="hovercraft"):
        package_price.price(odd, by=estimator)


def test_an_empty_package_says_what_it_lacks(worked_out, estimator):
    empty = jobs.open_job(worked_out.customer, worked_out.vehicle, "Empty", by=estimator)
    package = jobs.keep_as_package(empty, "Nothing", by=estimator)

    with pytest.raises(package_price.PackageNotPriced, match="no line"):
        package_price.price(package, by=estimator)


def test_nothing_is_known_of_whose_vehicle_it_was(package, worked_out):
    said = str(package.content)

    assert worked_out.customer.name not in said
    assert worked_out.vehicle.registration not in said


def test_the_same_name_makes_the_next_version_when_asked(package, worked_out, estimator):
    with pytest.raises(jobs.PackageNameTaken, match="as version 2"):
        jobs.keep_as_package(worked_out, "Field wagon", by=estimator)
    before = package.content
    worked_out.requirements.last().delete()

    second = jobs.keep_as_package(worked_out, "Field wagon", by=estimator, as_next=2)

    package.refresh_from_db()
    assert (package.version, second.version, second.replaced_at) == (1, 2, None)
    assert package.replaced_at is not None
    assert package.content == before
    assert [w for w in packages.differences(package.content, second.content) if "taken out" in w]
    with pytest.raises(jobs.PackageNameTaken, match="as version 3"):
        jobs.keep_as_package(worked_out, "Field wagon", by=estimator, as_next=2)


def test_the_page_asks_and_a_second_press_is_asked_again(desk, package, worked_out):
    url = reverse("package_keep", args=[worked_out.pk])

    asked = desk.post(url, {"name": "Field wagon"})
    assert asked.status_code == 422
    assert "Keep as version 2" in asked.content.decode()
    assert desk.post(url, {"name": "Field wagon", "as_next": "2"}).status_code == 302
    assert desk.post(url, {"name": "Field wagon", "as_next": "2"}).status_code == 422
    assert JobPackage.objects.filter(name="Field wagon").count() == 2
    assert desk.post(url, {"name": "Field wagon", "as_next": "x" * 99}).status_code == 422
    page = desk.get(reverse("job_add")).content.decode()
    assert page.count("Field wagon (Halvard") == 1


def test_its_page_prices_retires_and_opens(desk, package):
    url = reverse("package_detail", args=[package.pk])

    assert "Not priced yet" in desk.get(url).content.decode()
    assert desk.post(reverse("package_price", args=[package.pk])).status_code == 302
    page = desk.get(url).content.decode()
    assert "the survey of the vehicle that it was kept from" in page
    assert f"{reverse('job_add')}?package={package.pk}" in page
    desk.post(reverse("package_retire", args=[package.pk]))
    assert "Open a job from it" not in desk.get(url).content.decode()
    assert "Field wagon" not in desk.get(reverse("package_list")).content.decode()
    desk.post(reverse("package_restore", args=[package.pk]))
    assert "Field wagon" in desk.get(reverse("package_list")).content.decode()
    set_markups({"storage": D("0.77")}, by=User.objects.get(username="estimator"))
    assert "no longer as of now" in desk.get(url).content.decode()


def test_a_technician_sees_no_money(client, package, estimator):
    kept = package_price.price(package, by=estimator)
    client.force_login(make_user(User.Role.TECHNICIAN))

    for url in (reverse("package_list"), reverse("package_detail", args=[package.pk])):
        page = client.get(url).content.decode()
        for text in kept.result["money"].values():
            assert text not in page
            assert f"{D(text):,.2f}".replace(",", "\u2009") not in page
        assert "Price" not in page
    assert client.post(reverse("package_price", args=[package.pk])).status_code == 403


def test_the_list_asks_as_often_for_sixty_as_for_three(desk, package):
    def queries(n: int) -> int:
        for i in range(JobPackage.objects.count(), n):
            JobPackage.objects.create(name=f"Package {i}", make="Halvard", model="Tor", content=package.content)
        with CaptureQueriesContext(connection) as caught:
            assert desk.get(reverse("package_list")).status_code == 200
        return len(caught)

    assert queries(3) == queries(60)
