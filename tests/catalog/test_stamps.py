"""Stamps move with every change of a component, however it is written, and with nothing else."""

from __future__ import annotations

import pytest
from django.db import connection, transaction

from catalog import stamps
from catalog.models import Component

pytestmark = pytest.mark.django_db
COMMON = {"kind_version": 1, "cost": "1"}


@pytest.fixture
def fuse():
    Component.objects.create(kind="cable", name="Cable", **COMMON)
    return Component.objects.create(kind="fuse", name="Fuse", **COMMON)


def by_hand(fuse):
    with connection.cursor() as cursor:
        cursor.execute("UPDATE catalog_component SET mass_kg = 2 WHERE id = %s", [fuse.pk])


@pytest.mark.parametrize(
    "change",
    [
        lambda fuse: fuse.save(),
        lambda fuse: fuse.delete(),
        lambda fuse: Component.objects.filter(pk=fuse.pk).update(cost="2"),
        lambda fuse: Component.objects.bulk_update([fuse], ["name"]),
        lambda fuse: Component.objects.bulk_create([Component(kind="fuse", name="Other", **COMMON)]),
        lambda fuse: Component.objects.filter(pk=fuse.pk).delete(),
        by_hand,
    ],
    ids=["save", "delete", "update", "bulk update", "bulk create", "delete by query", "SQL by hand"],
)
def test_every_way_of_writing_moves_the_stamp_of_its_kind_alone(fuse, change):
    before = stamps.stamps()

    change(fuse)

    after = stamps.stamps()
    assert after["fuse"] != before["fuse"]
    assert after["cable"] == before["cable"]


def test_a_part_that_goes_to_another_kind_moves_both(fuse):
    before = stamps.stamps()

    Component.objects.filter(pk=fuse.pk).update(kind="cable")

    after = stamps.stamps()
    assert after["fuse"] != before["fuse"]
    assert after["cable"] != before["cable"]


def test_a_change_taken_back_leaves_its_stamp_to_no_other(fuse):
    with transaction.atomic():
        fuse.save()
        undone = stamps.stamps()["fuse"]
        transaction.set_rollback(True)

    Component.objects.filter(pk=fuse.pk).update(cost="3")

    assert stamps.stamps()["fuse"] != undone


def test_triggers_can_be_laid_again_and_again(fuse):
    before = stamps.stamps()["fuse"]
    stamps.lay_triggers()
    stamps.lay_triggers()

    fuse.save()

    assert stamps.stamps()["fuse"] != before
