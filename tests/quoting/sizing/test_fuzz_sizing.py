"""Wrong input of every kind: refused with field, value, range and unit, or worked out to numbers. Never a traceback."""

from __future__ import annotations

import copy
import io
import json
import math
import sys
from collections.abc import Iterator
from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from quoting.sizing import brief as briefs
from quoting.sizing.appraisal import Appraisal
from quoting.sizing.appraise import appraise
from quoting.sizing.command import known_sites, main
from quoting.sizing.errors import SizingError
from quoting.sizing.limits import limits_of
from quoting.sizing.methods import METHODS, run
from quoting.sizing.outlook import Trial
from quoting.sizing.policy import Policy
from quoting.sizing.trial import try_out
from tests.quoting.sizing.wagon import raw

SLOW = settings(deadline=None, suppress_health_check=[HealthCheck.too_slow, HealthCheck.function_scoped_fixture])
HUGE = 10**400
SITES = known_sites()
ODD = (
    float("nan"),
    float("inf"),
    float("-inf"),
    HUGE,
    -HUGE,
    "NaN",
    "",
    "12 V",
    [],
    {},
    [1.0],
    True,
    "\x00\n",
    "ﬁ½Ω\u202e",
)


def places(value: Any, path: tuple[Any, ...] = ()) -> Iterator[tuple[Any, ...]]:
    """Every place in a JSON value, the value itself left out."""
    inner = value.items() if isinstance(value, dict) else enumerate(value) if isinstance(value, list) else ()
    for key, one in inner:
        yield (*path, key)
        yield from places(one, (*path, key))


def at(value: Any, path: tuple[Any, ...]) -> Any:
    for key in path:
        value = value[key]
    return value


def dotted(path: tuple[Any, ...]) -> str:
    return "".join(f"[{p}]" if isinstance(p, int) else f".{p}" for p in path).lstrip(".")


def whole() -> dict[str, Any]:
    """The example with its policy written out, in fewer weathers, and nothing to choose from."""
    return raw() | {"policy": Policy(weather_draws=50).model_dump(mode="json"), "catalogue": []}


NUMBERS = [
    p for p in places(whole()) if isinstance(at(whole(), p), int | float) and not isinstance(at(whole(), p), bool)
]


@pytest.mark.parametrize("path", NUMBERS, ids=dotted)
def test_every_number_of_a_brief_is_refused_with_field_value_range_and_unit(path):
    spoilt = whole()
    limits = limits_of(briefs.Brief, _tagged(path, spoilt))
    last = path[-1]
    inner = at(spoilt, path[:-1])
    assert limits.minimum is not None or limits.choices, "a number without a range"
    beyond = [x for x in (_under(limits.minimum), _over(limits.maximum)) if x is not None]

    for value in (*beyond, float("nan"), float("inf"), HUGE, "much", [], {}):
        inner[last] = value
        with pytest.raises(SizingError) as refused:
            briefs.read(spoilt)
        said = str(refused.value)
        assert refused.value.field == dotted(path)
        assert said.startswith(dotted(path))
        assert "\n" not in said
        if not limits.choices:
            assert f"at least {limits.minimum:g}" in said
            assert f"at most {limits.maximum:g}" in said
            assert f" {limits.unit}" in said


def _tagged(path: tuple[Any, ...], value: Any) -> tuple[Any, ...]:
    """The place as pydantic names it, a load's way put in."""
    if path[0] == "loads" and "use" in path:
        return (*path[:3], at(value, path[:3])["way"], *path[3:])
    return path


def _under(minimum: float | None) -> float | None:
    return None if minimum is None else math.nextafter(minimum, -math.inf) if minimum % 1 else minimum - 1


def _over(maximum: float | None) -> float | None:
    return None if maximum is None else math.nextafter(maximum, math.inf) if maximum % 1 else maximum + 1


def test_limits_are_found_for_what_pydantic_holds_to_them():
    """A plain walk through the schema, as JSON has it, says the same as the records' own declaration."""
    schema = briefs.Brief.model_json_schema()
    stop = schema["$defs"]["Stop"]["properties"]["driving_h_per_day"]
    found = limits_of(briefs.Brief, ("trip", 3, "driving_h_per_day"))

    assert (found.minimum, found.maximum, found.unit) == (stop["minimum"], stop["maximum"], stop["unit"])
    assert limits_of(briefs.Brief, ("trip", 0, "no_such")).minimum is None
    assert limits_of(briefs.Brief, ("vehicle", "nominal_v")).choices == (12, 24)


SCALARS = st.one_of(
    st.none(), st.booleans(), st.integers(-3, 40), st.floats(-50, 200), st.floats(), st.sampled_from(ODD),
    st.text(max_size=12), st.sampled_from(["steady", "cooling", "event", "house12", "usb", "ac", "agm", "flooded"]),
)  # fmt: skip
JSON = st.recursive(
    SCALARS, lambda x: st.lists(x, max_size=3) | st.dictionaries(st.text(max_size=8), x, max_size=3), max_leaves=8
)
SPOILS = st.sampled_from(["within", "within", "within", "within", "scale", "scale", "put", "drop", "again", "swap"])


def small() -> dict[str, Any]:
    """The example with short stops, in few weathers."""
    made = raw() | {"policy": {"weather_draws": 50}}
    for stop in made["trip"]:
        stop["days"] = 1.0
    return made


EVERY = sorted(places(raw()), key=dotted)
NEAR = [p for p in EVERY if p[0] != "catalogue"]
RANGED = [p for p in NEAR if p in set(NUMBERS)]


def _within(path: tuple[Any, ...]) -> st.SearchStrategy[float]:
    """A number's own range, its ends above all."""
    limits = limits_of(briefs.Brief, _tagged(path, whole()))
    if limits.choices:
        return st.sampled_from(limits.choices)
    low, high, is_whole = limits.minimum, limits.maximum, isinstance(at(whole(), path), int)
    ends = st.sampled_from([low, high])
    return ends.map(int) | st.integers(int(low), int(high)) if is_whole else ends | st.floats(low, high)


@st.composite
def spoilt(draw: st.DrawFn) -> dict[str, Any]:
    """The example with one to four things done to it: put, scaled, dropped, given again, exchanged for another."""
    found = small()
    for _ in range(draw(st.integers(1, 4))):
        path = draw(st.sampled_from(RANGED if draw(st.booleans()) else NEAR if draw(st.integers(0, 4)) else EVERY))
        try:
            inner = at(found, path[:-1])
            old = inner[path[-1]]
            _spoil(draw, inner, path, old)
        except (KeyError, IndexError, TypeError):
            continue
    return found


def _spoil(draw: st.DrawFn, inner: Any, path: tuple[Any, ...], old: Any) -> None:
    how = draw(SPOILS)
    if how == "drop":
        del inner[path[-1]]
    elif how == "again" and isinstance(inner, list):
        inner.append(old)
    elif how == "swap":
        inner[path[-1]] = copy.deepcopy(at(raw(), draw(st.sampled_from(EVERY))))
    elif how == "within" and path in RANGED:
        inner[path[-1]] = draw(_within(path))
    elif how == "scale" and isinstance(old, float):
        inner[path[-1]] = old * draw(st.sampled_from([0.0, 1e-12, 1e-3, 0.5, 2.0, 10.0, 1e3]))
    else:
        inner[path[-1]] = draw(JSON)


def holds_numbers_only(record: Any) -> None:
    json.dumps(record.model_dump(mode="json"), allow_nan=False)


def refused_in_one_line(error: SizingError) -> None:
    assert error.field
    assert str(error).startswith(error.field)
    assert len(str(error)) < 5000


@given(spoilt())
@settings(SLOW, max_examples=30)
def test_a_spoilt_brief_is_refused_or_leads_to_numbers(given_brief):
    try:
        found = appraise(briefs.read(given_brief))
    except SizingError as error:
        refused_in_one_line(error)
        return

    holds_numbers_only(found)
    assert Appraisal.model_validate_json(found.model_dump_json()) == found


@given(st.data())
@settings(SLOW, max_examples=25)
def test_a_brief_at_the_ends_of_its_ranges_is_refused_or_leads_to_numbers(data):
    given_brief = small() | {"policy": whole()["policy"]}
    for path in data.draw(st.lists(st.sampled_from(NUMBERS), min_size=1, max_size=6, unique=True)):
        at(given_brief, path[:-1])[path[-1]] = data.draw(_within(path))
    try:
        found = appraise(briefs.read(given_brief))
    except SizingError as error:
        refused_in_one_line(error)
        return

    holds_numbers_only(found)


def command(content: bytes, *arguments: str) -> tuple[int, str, str]:
    """Exit code, output and errors of the command, its input from standard input."""
    before = sys.stdin, sys.stdout, sys.stderr
    out, err = io.TextIOWrapper(io.BytesIO(), "utf-8"), io.StringIO()
    sys.stdin, sys.stdout, sys.stderr = io.TextIOWrapper(io.BytesIO(content)), out, err
    try:
        code = main(list(arguments))
    except SystemExit as stopped:
        code = int(stopped.code or 0)
    finally:
        sys.stdin, sys.stdout, sys.stderr = before
    out.seek(0)
    return code, out.read(), err.getvalue()


RAW = json.dumps(small())
BYTES = st.one_of(
    st.binary(max_size=60),
    st.text(max_size=60).map(lambda x: x.encode("utf-8", "surrogatepass")),
    JSON.map(lambda x: json.dumps(x).encode()),
    st.sampled_from([
        b"", b"\xef\xbb\xbf{}", b"[" * 5000, b'{"loads":' * 400, b"1" * 5000, b'{"title": "\\ud800"}', b"NaN", b"-0",
        b'{"title": "a", "title": "b"}', RAW.encode("utf-16"), RAW[:-1].encode(), RAW.encode() + b"x", b"\x00" * 9,
        ('{"title": ' + "9" * 5000 + "}").encode(), RAW.replace('"quantity": 1', '"quantity": 1e999', 1).encode(),
    ]),
    st.tuples(st.integers(0, len(RAW) - 1), st.sampled_from('{}[]",:x9- \x00é')).map(
        lambda x: (RAW[: x[0]] + x[1] + RAW[x[0] + 1 :]).encode()
    ),
)  # fmt: skip


@given(BYTES)
@settings(SLOW, max_examples=50)
def test_arbitrary_bytes_are_refused_in_one_line(content):
    code, out, err = command(content)

    if code == 0:  # a letter changed within a name is no fault
        json.loads(out, parse_constant=lambda name: pytest.fail(f"{name} in the result"))
        return
    assert (code, out) == (2, "")
    assert err.startswith("appraise: ")
    assert err.count("\n") == 1
    assert err.isprintable() or err[:-1].isprintable()


WORDS = st.text(st.characters(exclude_categories=("Cs",)), max_size=20)


@given(st.lists(st.one_of(WORDS, st.sampled_from(
    ["--method", "--list", "--schema", "--indent", "--try", "--sensitivity", "peukert", "brief", "=", "a=b", "-1", "9"]
)), max_size=5))  # fmt: skip
@settings(SLOW, max_examples=80)
def test_arbitrary_arguments_end_in_words(arguments):
    code, out, err = command(b"{}", *[a for a in arguments if not a.startswith(("--o", "-h", "--h"))])

    assert code in (0, 2)
    assert bool(out) == (code == 0)
    assert err.count("\n") == (1 if code else 0)


def _middle(x: Any) -> Any:
    if x.default is not None:
        return x.default
    if x.type == "numbers":
        return [x.minimum]
    if x.minimum is None:
        return x.options[0]
    return int((x.minimum + x.maximum) / 2) if x.type == "integer" else (x.minimum + x.maximum) / 2


@pytest.mark.parametrize("name", sorted(METHODS))
def test_a_method_at_and_beyond_the_ends_of_each_input(name):
    method = METHODS[name]
    middle = {x.name: _middle(x) for x in method.inputs}
    for x in method.inputs:
        ends = [e for e in (x.minimum, x.maximum) if e is not None]
        beyond = [e for e in (_under(x.minimum), _over(x.maximum)) if e is not None]
        for value in beyond:
            with pytest.raises(SizingError) as refused:
                run(name, middle | {x.name: [value] if x.type == "numbers" else value}, SITES)
            assert refused.value.field == x.name
            assert x.unit in str(refused.value)
        for value in (*ends, *ODD, "1e400", "1,500", "--5", "9" * 5000):
            try:
                result = run(
                    name, middle | {x.name: [value] if x.type == "numbers" and value in ends else value}, SITES
                )
            except SizingError as error:
                refused_in_one_line(error)
            else:
                holds_numbers_only(result)


@given(st.data())
@settings(SLOW, max_examples=80)
def test_inside_its_ranges_a_method_gives_a_number_or_a_refusal(data):
    method = METHODS[data.draw(st.sampled_from(sorted(METHODS)))]
    kinds = {
        "choice": lambda x: st.sampled_from(x.options),
        "yes": lambda x: st.booleans(),
        "integer": lambda x: st.integers(int(x.minimum), int(x.maximum)),
        "number": lambda x: st.floats(x.minimum, x.maximum),
        "numbers": lambda x: st.lists(st.floats(x.minimum, x.maximum), min_size=1, max_size=12),
    }

    try:
        result = run(method.name, {x.name: data.draw(kinds[x.type](x)) for x in method.inputs}, SITES)
    except SizingError as error:
        refused_in_one_line(error)
        return

    holds_numbers_only(result)


@pytest.fixture(scope="module")
def worked_out():
    read = briefs.read(small())
    return read, appraise(read)


FIELDS = sorted(Trial.model_fields)


@given(st.dictionaries(st.sampled_from([*FIELDS, "more"]), JSON, max_size=3) | st.fixed_dictionaries({}, optional={
    "stop": st.integers(-1, 3), "days": st.floats(0.4, 4), "month": st.integers(0, 13), "shade_ratio": st.floats(0, 1),
    "driving_h_per_day": st.floats(0, 24), "mains_h_per_day": st.floats(0, 25), "sun_ratio": st.floats(0, 1.5),
    "warmer_k": st.floats(-30, 30), "worn": st.booleans(), "drift": st.booleans(),
    "added": st.lists(st.sampled_from(raw()["loads"]).map(lambda x: x | {"key": x["key"] + "2"}), max_size=2),
}))  # fmt: skip
@settings(SLOW, max_examples=40)
def test_any_trial_is_refused_or_leads_to_numbers(worked_out, given_trial):
    from pydantic import ValidationError

    try:
        trial = Trial.model_validate_json(json.dumps(given_trial))
    except ValidationError as error:
        refused_in_one_line(briefs.from_validation(error))
        return
    try:
        found = try_out(*worked_out, trial)
    except SizingError as error:
        refused_in_one_line(error)
        return

    holds_numbers_only(found)
