"""Everything that was changed in a job, on one page of its own."""

from __future__ import annotations

import pytest
from django.test import Client
from django.urls import reverse

from fitouts.models import User
from fitouts.services import audit, fitouts, found
from quoting.services import briefs
from tests.factories.jobs import make_user

pytestmark = pytest.mark.django_db


def test_who_changed_what_before_and_after(worked_out, estimator):
    line = worked_out.requirements.first()
    name, before = line.name, line.quantity
    audit.change_line(line, {"quantity": before + 2}, by=estimator, check=briefs.check_line)
    fitouts.change_details(worked_out, {"travellers": "two"}, by=estimator)
    found.add_defect(worked_out, by=estimator, words="Loose earth", remedy="Clean it")
    client = Client()
    client.force_login(make_user(User.Role.TECHNICIAN))

    changes = client.get(reverse("job_changes", args=[worked_out.pk])).context["changes"]

    told = {c.what: {f.label: (f.before, f.after) for f in c.fields} for c in changes if c.kind == "changed"}
    assert told[f"Load “{name}” changed"] == {"How many": (str(before), str(before + 2))}
    assert ("Who travels", "two") in {(f.label, f.after) for c in changes for f in c.fields if c.what == "Job changed"}
    assert "Defect added" in {c.what for c in changes}
    assert {c.by for c in changes} <= {str(estimator), "the server"}


def test_it_asks_as_often_for_a_long_life(worked_out, estimator, django_assert_num_queries):
    client = Client()
    client.force_login(estimator)
    url = reverse("job_changes", args=[worked_out.pk])
    client.get(url)
    with django_assert_num_queries(17):
        client.get(url)
    for quantity in range(2, 20):
        line = worked_out.requirements.first()
        audit.change_line(line, {"quantity": quantity}, by=estimator, check=briefs.check_line)

    with django_assert_num_queries(17):
        client.get(url)
