"""Frozen records. Runs on SQLite here and, by ``tests/services``, on PostgreSQL."""

from __future__ import annotations

import hashlib
import json

import pytest
from django.db import IntegrityError, connection, transaction
from django.db.utils import DatabaseError

from quoting.models import PersonalBlock, PersonalKey, Snapshot
from quoting.services import snapshots
from tests.factories.jobs import make_fitout, make_snapshot

pytestmark = pytest.mark.django_db


def test_canonical_text_is_one_for_one_content():
    text = snapshots.canonical({"b": [1, 2.5, None, True], "a": {"Ω": "35 mm²"}})

    assert text == '{"a":{"Ω":"35 mm²"},"b":[1,2.5,null,true]}'


@pytest.mark.parametrize("content", [{"x": float("nan")}, {"x": float("inf")}])
def test_canonical_refuses_what_is_no_number(content):
    with pytest.raises(ValueError, match="JSON"):
        snapshots.canonical(content)


def test_canonical_refuses_keys_that_two_contents_would_share():
    with pytest.raises(TypeError, match="Key 1 is not text"):
        snapshots.canonical({"parts": {1: "a"}})


def test_frozen_record_reads_back_and_checks():
    fitout = make_fitout()
    frozen = make_snapshot(fitout, note="Keep the spare wheel free")

    body, personal = snapshots.read(Snapshot.objects.get(pk=frozen.pk))

    assert body == {
        "schema": "loomwright.quote/1",
        "job": {"number": "26-0001", "title": "Coffee trailer"},
        "note": "Keep the spare wheel free",
    }
    assert personal == {"customer": {"name": "Mira Oakhollow", "phone": "(08) 5550 0123"}}
    assert snapshots.verify(frozen)


def test_checksum_is_of_body_followed_by_checksum_of_personal_block():
    frozen = make_snapshot(make_fitout())
    block = PersonalBlock.objects.get(snapshot=frozen)

    assert frozen.sha256 == hashlib.sha256((frozen.body + block.sha256).encode()).hexdigest()


def test_no_personal_word_stands_readable_in_the_database():
    frozen = make_snapshot(make_fitout())
    block = PersonalBlock.objects.get(snapshot=frozen)

    assert "Oakhollow" not in frozen.body + block.ciphertext
    assert snapshots.read(frozen)[1]["customer"]["name"] == "Mira Oakhollow"


@pytest.mark.parametrize("table", ["quoting_snapshot", "quoting_personalblock"])
@pytest.mark.parametrize("sql", ["UPDATE {} SET sha256 = 'x'", "DELETE FROM {}"])
def test_database_refuses_changes(table, sql):
    frozen = make_snapshot(make_fitout())

    refused = pytest.raises(DatabaseError, match="never changed or deleted")
    with refused, transaction.atomic(), connection.cursor() as cursor:
        cursor.execute(sql.format(table))

    assert Snapshot.objects.get() == frozen
    assert snapshots.verify(Snapshot.objects.get())


def test_model_save_and_delete_are_refused_too():
    frozen = make_snapshot(make_fitout())

    frozen.body = "{}"
    with pytest.raises(DatabaseError, match="never changed"), transaction.atomic():
        frozen.save()
    with pytest.raises(DatabaseError), transaction.atomic():
        Snapshot.objects.filter(pk=frozen.pk)._raw_delete("default")

    assert snapshots.verify(Snapshot.objects.get())


@pytest.mark.skipif("connection.vendor != 'sqlite'", reason="only SQLite replaces rows on INSERT")
def test_insert_or_replace_cannot_slip_past():
    frozen = make_snapshot(make_fitout())

    with pytest.raises(DatabaseError, match="never changed"), transaction.atomic(), connection.cursor() as cursor:
        cursor.execute(
            "INSERT OR REPLACE INTO quoting_snapshot (id, kind, schema_version, body, sha256, made_at) "
            "VALUES (%s, 'quote', 'x', '{}', 'x', '2026-01-01')",
            [frozen.pk],
        )

    assert snapshots.verify(Snapshot.objects.get())


@pytest.mark.skipif("connection.vendor != 'postgresql'", reason="only PostgreSQL truncates")
def test_truncate_is_refused():
    make_snapshot(make_fitout())

    with connection.cursor() as cursor:
        cursor.execute("SET CONSTRAINTS ALL IMMEDIATE")  # else it is refused for the checks still to come
        with pytest.raises(DatabaseError, match="never changed"), transaction.atomic():
            cursor.execute("TRUNCATE quoting_snapshot CASCADE")

    assert Snapshot.objects.count() == 1


def test_erasure_destroys_the_key_and_nothing_else():
    one, other = make_fitout("26-0001"), make_fitout("26-0002")
    erased, kept = make_snapshot(one), make_snapshot(other)
    before = Snapshot.objects.values().get(pk=erased.pk)

    count = snapshots.erase_personal(one.customer_id)

    assert count == 1
    assert Snapshot.objects.values().get(pk=erased.pk) == before
    assert snapshots.read(erased) == (json.loads(erased.body), None)
    assert snapshots.verify(erased)
    assert snapshots.read(kept)[1] is not None
    assert list(PersonalKey.objects.values_list("snapshot", flat=True)) == [kept.pk]


def test_checksum_left_after_erasure_does_not_confirm_a_guessed_name():
    frozen = make_snapshot(make_fitout())
    personal = snapshots.read(frozen)[1]
    guess = hashlib.sha256(snapshots.canonical(personal).encode()).hexdigest()

    assert PersonalBlock.objects.get(snapshot=frozen).sha256 != guess


def test_damage_is_noticed():
    frozen = make_snapshot(make_fitout())
    damaged = Snapshot(kind=frozen.kind, body=frozen.body.replace("number", "numbers"), sha256=frozen.sha256)
    damaged.pk = frozen.pk

    assert not snapshots.verify(damaged)
    with pytest.raises(snapshots.SnapshotDamaged, match="checksum"):
        snapshots.read(damaged)


def test_personal_data_without_a_customer_is_refused():
    with pytest.raises(ValueError, match="go together"):
        snapshots.freeze(kind="quote", body={"schema": "x"}, personal={"customer": {}}, customer_id=None, by=None)


def test_two_blocks_for_one_record_are_refused():
    frozen = make_snapshot(make_fitout())

    with pytest.raises(IntegrityError), transaction.atomic():
        PersonalBlock.objects.create(snapshot=frozen, ciphertext="x", sha256="x")
