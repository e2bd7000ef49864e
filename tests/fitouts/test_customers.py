"""Customers and contacts."""

from __future__ import annotations

import pytest
from django.urls import reverse

from fitouts.models import Contact, Customer
from fitouts.services import customers

SCRIPT = '<script>alert("x")</script>'


def test_customer_is_added(as_estimator, estimator):
    response = as_estimator.post(
        reverse("customer_add"), {"kind": "person", "name": "  Mira   Oakhollow ", "phone": "(08) 5550 0123"}
    )

    made = Customer.objects.get()
    assert response.headers["Location"] == reverse("customer", args=[made.pk])
    assert (made.name, made.phone) == ("Mira Oakhollow", "(08) 5550 0123")
    assert made.history.get().history_user_id == estimator.pk


@pytest.mark.parametrize(
    ("wrong", "words"),
    [
        ({"name": ""}, "This field is required."),
        ({"name": "   "}, "This field is required."),
        ({"name": "x" * 121}, "Ensure this value has at most 120 characters (it has 121)."),
        ({"email": "not an address"}, "Enter a valid email address."),
        ({"kind": "robot"}, "Select a valid choice. robot is not one of the available choices."),
        ({"name": "a\x00b"}, "Null characters are not allowed."),
    ],
)
def test_wrong_entry_is_refused(as_estimator, wrong, words):
    response = as_estimator.post(reverse("customer_add"), {"kind": "person", "name": "Mira", **wrong})

    assert words in response.content.decode()
    assert "Not saved" in response.content.decode()
    assert Customer.objects.count() == 0


def test_script_in_a_name_is_shown_as_letters(as_estimator, vehicle, customer, estimator):
    customers.change_customer(customer, by=estimator, name=SCRIPT, notes=SCRIPT, address=SCRIPT)
    customers.add_contact(customer, by=estimator, name=SCRIPT)

    for url in (
        reverse("customer_list"),
        reverse("customer", args=[customer.pk]),
        reverse("customer_edit", args=[customer.pk]),
        reverse("vehicle_list"),
        reverse("vehicle", args=[vehicle.pk]),
    ):
        page = as_estimator.get(url).content.decode()
        assert SCRIPT not in page
        assert "&lt;script&gt;alert(&quot;x&quot;)&lt;/script&gt;" in page


def test_retired_customer_is_found_only_when_asked_for(as_estimator, customer):
    as_estimator.post(reverse("customer_retire", args=[customer.pk]))

    assert "Venn Field Geology" not in as_estimator.get(reverse("customer_list")).content.decode()
    assert "Venn Field Geology" in as_estimator.get(reverse("customer_list"), {"retired": "on"}).content.decode()

    as_estimator.post(reverse("customer_retire", args=[customer.pk]))
    customer.refresh_from_db()
    assert customer.retired_at is None
    assert [row.history_type for row in customer.history.all()] == ["~", "~", "+"]


@pytest.mark.parametrize(
    ("asked", "found"),
    [
        ({"q": "venn"}, ["Venn Field Geology"]),
        ({"q": "geology venn"}, ["Venn Field Geology"]),
        ({"q": "oakhollow"}, ["Mira"]),  # by the name of a contact
        ({"q": "5550"}, ["Mira"]),
        ({"kind": "person"}, ["Mira"]),
        ({"sort": "-name"}, ["Venn Field Geology", "Mira"]),
        ({"q": "100%"}, []),
    ],
)
def test_search(as_technician, customer, asked, found):
    other = customers.add_customer(by=None, name="Mira", phone="(08) 5550 0123")
    customers.add_contact(other, by=None, name="Tam Oakhollow")
    customers.add_contact(other, by=None, name="Wil Oakhollow")

    response = as_technician.get(reverse("customer_list"), asked)

    assert [row.record.name for row in response.context["table"].rows] == found


def test_wrong_filter_shows_the_list_and_says_so(as_technician, customer):
    response = as_technician.get(reverse("customer_list"), {"kind": "robot", "page": "99", "sort": "nonsense"})

    assert response.status_code == 200
    assert "robot is not one of the available choices" in response.content.decode()


def test_contact_is_added_changed_removed(as_estimator, customer):
    as_estimator.post(reverse("contact_add", args=[customer.pk]), {"name": "Dr Ines Venn", "phone": "01632 960 418"})
    contact = Contact.objects.get()
    as_estimator.post(reverse("contact_edit", args=[contact.pk]), {"name": "Dr Ines Venn", "job_title": "geologist"})
    contact.refresh_from_db()
    assert (contact.job_title, contact.phone) == ("geologist", "")

    as_estimator.post(reverse("contact_remove", args=[contact.pk]))

    assert Contact.objects.count() == 0
    assert (
        "Contact “Dr Ines Venn” removed" in as_estimator.get(reverse("customer", args=[customer.pk])).content.decode()
    )


def test_technician_is_offered_no_button(as_technician, customer):
    page = as_technician.get(reverse("customer", args=[customer.pk])).content.decode()

    assert reverse("customer_edit", args=[customer.pk]) not in page
    assert reverse("customer_retire", args=[customer.pk]) not in page
