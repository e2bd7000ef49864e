"""The sizing as a package of its own: nothing of a web side is imported, nor can be, while it does all it does."""

from __future__ import annotations

import json
import os
import subprocess
import sys
from pathlib import Path

import pytest

from quoting.sizing.methods import METHODS
from tests.quoting.sizing.test_methods import EXAMPLES
from tests.quoting.sizing.wagon import PLACE

ROOT = Path(__file__).resolve().parents[3]
BLOCKED = "django", "celery", "fitouts", "reportlab", "quoting.models", "quoting.services", "catalog.models"

BLOCK = f"""
import json, sys
class Blocked:
    def find_spec(self, name, path=None, target=None):
        if name.startswith({BLOCKED!r}):
            raise ImportError(f"{{name}} is blocked here")
sys.meta_path.insert(0, Blocked())
def tops():
    return {{name.split(".")[0].lstrip("_") for name in sys.modules}} - set(sys.stdlib_module_names)
"""

WORK = (
    BLOCK
    + """
given = json.loads(sys.stdin.read())
import numpy, pvlib, pydantic.main, scipy.optimize
pydantic.create_model("Any", x=(int, 1))
known = tops()
from quoting.sizing import brief
from quoting.sizing.appraise import appraise
from quoting.sizing.command import known_sites
from quoting.sizing.methods import run
from quoting.sizing.outlook import Trial
from quoting.sizing.sensitivity import of_figure
from quoting.sizing.sensitivity_trip import of_trip
from quoting.sizing.trial import try_out
made = brief.read(open(given["brief"], encoding="utf-8").read())
found = appraise(made)
sites = known_sites()
methods = {name: run(name, inputs, sites).figure.value for name, inputs, _ in given["methods"]}
bars = {code: len(of_figure(one, found.figures).bars) for code, one in found.figures.items()}
tried = try_out(made, found, Trial(sun_ratio=0.5, worn=True))
trip = of_trip(made, found, "trip.lowest_low_ratio")
print(json.dumps({
    "moved": {x.code: [x.before, x.after] for x in tried.moved}, "trip": [x.code for x in trip.bars],
    "figures": {code: one.value for code, one in found.figures.items()}, "methods": methods, "bars": bars,
    "new": sorted(tops() - known), "blocked": sorted(n for n in sys.modules if n.startswith(tuple(given["blocked"]))),
}))
"""
)


def python(*arguments: str, given: str = "") -> subprocess.CompletedProcess[str]:
    """A Python of its own, at the project's root, without any of our settings."""
    env = {k: v for k, v in os.environ.items() if not k.startswith(("DJANGO", "LOOMWRIGHT"))}
    return subprocess.run(
        [sys.executable, *arguments], input=given, capture_output=True, text=True, cwd=ROOT, env=env, timeout=120,
        check=False,
    )  # fmt: skip


@pytest.fixture(scope="module")
def alone():
    given = {"brief": str(PLACE), "methods": EXAMPLES, "blocked": BLOCKED}
    done = python("-c", WORK, given=json.dumps(given))
    assert done.returncode == 0, done.stderr
    return json.loads(done.stdout)


def test_everything_works_with_django_celery_and_our_web_side_blocked(alone):
    assert alone["blocked"] == []
    assert alone["figures"]["battery.asked_ah"] > 0
    assert sum(alone["bars"].values()) > 50


def test_a_trial_and_the_trips_tornado_work_there(alone):
    before, after = alone["moved"]["lowest_low"]
    assert after < before
    assert {"trip_sun", "trip_loads"} <= set(alone["trip"])


def test_every_method_works_there(alone):
    assert set(alone["methods"]) == set(METHODS)
    expected = {name: value for name, _, value in EXAMPLES}
    assert alone["methods"] == pytest.approx(expected, rel=0.006)


def test_nothing_heavy_comes_with_it_but_numpy_scipy_pvlib_and_pydantic(alone):
    """What these bring themselves is theirs; beyond it only our own packages are there."""
    assert set(alone["new"]) <= {"catalog", "quoting"}


def test_the_brief_alone_is_light():
    code = BLOCK + "import quoting.sizing.brief, quoting.sizing.outlook\nprint(json.dumps(sorted(tops())))"

    done = python("-c", code)

    assert done.returncode == 0, done.stderr
    heavy = {"numpy", "scipy", "pvlib", "pandas", "h5py", "requests"}
    assert heavy & set(json.loads(done.stdout)) == set()


def test_the_package_answers_on_the_command_line():
    done = python("-m", "quoting.sizing", str(PLACE), "--sensitivity", "battery.asked_ah")

    found = json.loads(done.stdout)
    assert (done.returncode, done.stderr) == (0, "")
    assert found["code"] == "battery.asked_ah"
    assert found["bars"]


@pytest.mark.parametrize(("arguments", "given", "said"), [
    ((), "[]", "appraise: brief: Input should be an object"),
    (("--bogus",), "", "appraise: unrecognized arguments: --bogus"),
    (("--indent", "wide"), "", "appraise: argument --indent: invalid int value: 'wide'"),
    (("--schema", "quote"), "", "appraise: argument --schema: invalid choice: 'quote'"),
])  # fmt: skip
def test_the_command_line_refuses_in_one_line(arguments, given, said):
    done = python("-m", "quoting.sizing", *arguments, given=given)

    assert (done.returncode, done.stdout) == (2, "")
    assert done.stderr.startswith(said)
    assert done.stderr.count("\n") == 1


@pytest.mark.parametrize(("rest", "said"), [
    ("<&-", "appraise: standard input is closed; give a file with the Brief."),
    ("--list >/dev/full", "appraise: the answer cannot be written: No space left on device."),
])  # fmt: skip
def test_closed_or_full_streams_are_refused_in_one_line(rest, said):
    done = subprocess.run(
        ["sh", "-c", f"exec {sys.executable} -m quoting.sizing {rest}"], text=True, capture_output=True
    )

    assert (done.returncode, done.stdout, done.stderr) == (2, "", f"{said}\n")


def test_help_of_both_commands_is_one():
    from django.core.management import load_command_class

    there = load_command_class("quoting", "appraise").create_parser("manage.py", "appraise").format_help()
    here = python("-m", "quoting.sizing", "--help").stdout

    for option in ("--out", "--indent", "--schema", "--method", "--list", "--try", "--sensitivity"):
        assert option in here
        assert option in there
