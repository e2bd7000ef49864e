"""Anything at all brought in as a table: refused in a sentence or checked, and never a row written."""

from __future__ import annotations

import random

import pytest
from hypothesis import HealthCheck, Phase, given, settings
from hypothesis import strategies as st

from catalog import kinds, services, sheets
from catalog.kinds.base import Field, Kind, SpecError
from catalog.kinds.uses import WAYS
from catalog.models import Appliance, Component, Site
from tests.catalog.bad_sheets import GOOD, HEADS, book
from tests.catalog.sheet_files import bring, check_file, still, table, write
from tests.catalog.test_sheets_bad import FUSES, counts

FUZZED = settings(
    max_examples=60, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture, HealthCheck.too_slow]
)
CELL = st.text(max_size=20) | st.sampled_from(
    ["", "-", "=1+1", "1,500", "2.5 kA", "yes", "#N/A", "1e400", "−3", "½", "٣"]
)
HEAD = st.sampled_from(HEADS) | st.text(max_size=10)
TABLE = st.integers(1, 6).flatmap(
    lambda width: st.tuples(
        st.lists(HEAD, min_size=width, max_size=width),
        st.lists(st.lists(CELL, max_size=width + 1), max_size=5),
    )
)


def checked(content: bytes, name: str, by, folder, code: str = FUSES) -> sheets.Plan | None:
    """The plan; ``None`` when the table was refused in words."""
    path = write(folder, name, content)
    type = sheets.get(code)
    before = counts()
    try:
        reading = sheets.guess_reading(path, name)
        reading["encoding"] = reading["encoding"] or reading.get("offered", "")
        heads = sheets.heads(path, reading)
        sheets.sample(path, reading)
        mapping = sheets.propose(type, heads)
        plan = sheets.check(type, path, reading, mapping, by=by, tick=still)
    except sheets.SheetRefused as refused:
        plan, words = None, str(refused)
    assert counts() == before
    if plan is None:
        assert len(words) > 10
        return None
    assert sum(plan.counts.values()) > 0
    assert all(problem.words for problem in plan.problems(0, 10**6))
    assert len({problem.row for problem in plan.problems(0, 10**6)}) == plan.wrong
    return plan


@FUZZED
@given(content=st.binary(max_size=400), name=st.sampled_from(["t.csv", "t.xlsx", "t"]))
def test_any_bytes(content, name, estimator, tmp_path):
    checked(content, name, estimator, tmp_path)


@FUZZED
@given(text=st.text(max_size=300), encoding=st.sampled_from(["utf-8", "utf-16", "cp1252"]))
def test_any_text(text, encoding, estimator, tmp_path):
    checked(text.encode(encoding, "replace"), "t.csv", estimator, tmp_path)


@FUZZED
@given(content=TABLE, delimiter=st.sampled_from(sheets.DELIMITERS))
def test_any_table(content, delimiter, estimator, tmp_path):
    heads, rows = content
    checked(table(heads, *rows, delimiter=delimiter).encode("utf-8", "replace"), "t.csv", estimator, tmp_path)


@FUZZED
@given(place=st.integers(0, len(HEADS) - 1), cell=CELL, code=st.sampled_from([FUSES, "prices", "supplier", "labour"]))
def test_one_cell_of_a_good_table_changed(place, cell, code, estimator, tmp_path):
    row = [*GOOD[:place], cell, *GOOD[place + 1 :]]
    plan = checked(table(HEADS, row).encode("utf-8", "replace"), "t.csv", estimator, tmp_path, code)
    if plan is not None and not plan.wrong and plan.added:
        made = bring(sheets.get(code), plan, estimator)
        for record in sheets.get(code).model.objects.all():
            record.full_clean()
        assert made.added == plan.added
        sheets.get(code).model.objects.all().delete()


@FUZZED
@given(seed=st.integers(0, 10**6), cuts=st.integers(1, 12))
def test_a_workbook_with_some_bytes_changed(seed, cuts, estimator, tmp_path):
    content, dice = bytearray(book(HEADS, GOOD)), random.Random(seed)
    for _ in range(cuts):
        content[dice.randrange(len(content))] = dice.randrange(256)
    checked(bytes(content), "t.xlsx", estimator, tmp_path)


# --- What is valid goes out and comes in the same ---------------------------------------------------------


WORDS = st.text(st.characters(codec="utf-8", exclude_categories=("C", "Z")), min_size=1, max_size=40) | st.sampled_from(
    ["=cmd", "+61", "-", "@x", "'=a", "12", "1,5", "2026-01-01", "TRUE", "\u202f1"]
)


def number(low: float, high: float):
    return st.floats(low, high, allow_nan=False).map(lambda x: min(max(round(x, 9), low), high)) | st.sampled_from(
        [float(low), float(high)]
    )


def value_of(field: Field) -> st.SearchStrategy:
    """Values that the declaration allows one by one."""
    low, high = -1e6 if field.minimum is None else field.minimum, 1e6 if field.maximum is None else field.maximum
    if field.type == "boolean":
        return st.booleans()
    if field.type == "choices":
        return st.lists(st.sampled_from([code for code, _ in field.options]), min_size=1, unique=True)
    if field.type == "choice":
        return st.sampled_from([code for code, _ in field.options])
    if field.options:
        return st.sampled_from([float(code) for code, _ in field.options])
    if field.type == "integer":
        return st.integers(int(low), int(high))
    if field.type == "numbers":
        return st.lists(number(low, high), min_size=1, max_size=4)
    if field.type == "curve":
        xs = st.lists(st.integers(0, 99), min_size=1, max_size=4, unique=True).map(sorted)
        scale = field.x_shown_factor
        return xs.flatmap(lambda found: st.tuples(*(st.tuples(st.just(x / scale), number(low, high)) for x in found)))
    return WORDS if field.type == "text" else number(low, high)


def spec_of(kind: Kind, data: st.DataObject, start: dict) -> dict:
    """A good specification with one value moved, where the kind's own checks let it."""
    field = data.draw(st.sampled_from(kind.fields))
    try:
        return kind.clean({**start, field.name: data.draw(value_of(field))})
    except SpecError:
        return start


@pytest.fixture
def full(estimator):
    services.load_starter(estimator)
    return estimator


def shake(row, data: st.DataObject) -> None:
    """Give a record other values that it may have."""
    row.notes = data.draw(WORDS)
    if isinstance(row, Component):
        kind = kinds.get(row.kind)
        row.specification = spec_of(kind, data, {k: v for k, v in row.specification.items() if k in kind.names})
        row.mass_kg = data.draw(number(0, 2000))
        row.cost = data.draw(st.decimals(0, 10**7, places=4))
    elif isinstance(row, Appliance):
        row.use = spec_of(WAYS[row.way], data, row.use)
        row.window_start_h, row.shed_below_ratio = data.draw(number(0, 24)), data.draw(st.none() | number(0, 0.95))
    elif isinstance(row, Site):
        row.tmin_c = data.draw(st.lists(number(-60, 0), min_size=12, max_size=12))
        row.tmax_c = data.draw(st.lists(number(0, 55), min_size=12, max_size=12))
    row.save()


@settings(max_examples=5, deadline=None, phases=[Phase.generate], suppress_health_check=list(HealthCheck))
@given(data=st.data())
def test_valid_records_of_every_type_go_out_and_come_in_the_same(data, full, tmp_path):
    format = data.draw(st.sampled_from(sheets.FORMATS))
    for type in sheets.types():
        rows = list(type.rows_for(full)[:2])
        for row in rows if hasattr(type.model, "notes") else ():
            shake(row, data)
        if not rows:
            continue
        found = type.records().filter(pk__in=[row.pk for row in rows])
        path = write(tmp_path, f"out.{format}", b"".join(sheets.export(type, full, format, found)))
        plan = check_file(type, path, full)
        assert (plan.problems(0, 3), plan.rows(0, 3, "changed"), plan.added) == ([], [], 0), type.code
        assert plan.same == len(rows)
