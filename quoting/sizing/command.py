"""The sizing from the command line: Brief in, Appraisal out, as JSON; one method, a trial, a schema.

The one edge of the package that reads and writes files, shared by ``python -m quoting.sizing`` and
``manage.py appraise``. Bad input is one line and exit code 2, never a traceback.
"""

from __future__ import annotations

import csv
import io
import json
import sys
from argparse import ArgumentParser
from collections.abc import Callable, Mapping
from contextlib import suppress
from pathlib import Path
from typing import Any

from pydantic import BaseModel, ValidationError

import catalog.kinds as kinds
from quoting.sizing import brief as briefs
from quoting.sizing.brief import Site
from quoting.sizing.errors import SizingError

HELP = (
    "Work out a Brief (JSON, from a file or standard input) into an Appraisal (JSON), try something on it, ask what a "
    "figure is most sensitive to, or work a single method by name. Exit code 2 and one line on bad input."
)
LARGEST_BYTES = 20_000_000
"""Longest Brief that is read. [byte]"""
LONGEST_LINE = 600
"""Characters of a refusal; what was given may be longer than anybody reads."""
SCHEMAS = ("brief", "appraisal", "method", "trial", "outlook", "tornado")


SITES = Path(kinds.__file__).parents[1] / "library" / "sites.csv"
"""Places whose climate is known, as they ship."""


class Refused(Exception):
    """Input that cannot be worked with; printed in one line, exit code 2."""


def add_arguments(parser: ArgumentParser) -> None:
    parser.add_argument("brief", nargs="?", default="-", help="file with the Brief; - or nothing: standard input")
    parser.add_argument("--out", metavar="FILE", help="write there instead of standard output")
    parser.add_argument("--indent", type=int, default=None, help="pretty-print with so many spaces")
    parser.add_argument("--schema", choices=SCHEMAS, help="print the JSON Schema")
    parser.add_argument("--method", metavar="NAME", help="work one method; its inputs follow as name=value")
    parser.add_argument("--list", action="store_true", help="list the methods with inputs, units and ranges")
    parser.add_argument("--try", dest="trial", metavar="TRIAL", help="work a trial (JSON file) beside the Brief")
    parser.add_argument("--sensitivity", metavar="CODE", help="tell what this figure is most sensitive to")
    parser.add_argument("inputs", nargs="*", metavar="NAME=VALUE", help="inputs of --method")


def perform(options: Mapping[str, Any], write: Callable[[str], Any], complain: Callable[[str], Any]) -> int:
    """Do what the options ask.

    Parameters
    ----------
    options : mapping
        As :func:`add_arguments` names them.
    write, complain : callable
        Take the answer, and the one line that refuses.

    Returns
    -------
    int
        Exit code: 0, or 2 for input that cannot be worked with.
    """
    try:
        text = _text(_answer(options), options["indent"])
        if options["out"]:
            _save(Path(options["out"]), text)
        else:
            write(text)
    except (SizingError, Refused) as error:
        line = " ".join(str(error).split())
        complain(f"appraise: {line if len(line) <= LONGEST_LINE else line[:LONGEST_LINE] + ' …'}")
        return 2
    return 0


def main(arguments: list[str] | None = None) -> int:
    """``python -m quoting.sizing``; the exit code."""
    parser = _Parser(prog="python -m quoting.sizing", description=HELP)
    add_arguments(parser)
    if sys.stdout is None:  # closed by who called; --out may still be asked for
        sys.stdout = io.TextIOWrapper(io.BytesIO())
    sys.stdout.reconfigure(encoding="utf-8")  # type: ignore[union-attr]
    try:
        return perform(vars(parser.parse_args(arguments)), _line_to(sys.stdout), _line_to(sys.stderr))
    except BrokenPipeError:
        sys.stderr.close()  # the reader has gone; nothing is left to say
        return 1
    except OSError as error:
        _line_to(sys.stderr)(f"appraise: the answer cannot be written: {_why(error)}.")
        _drop_output()
        return 2


def _drop_output() -> None:
    """Let the interpreter end without trying once more what could not be written."""
    with suppress(OSError):
        sys.stdout.close()


class _Parser(ArgumentParser):
    def error(self, message: str) -> Any:
        self.exit(2, f"appraise: {' '.join(message.split())}\n")


def _line_to(stream: Any) -> Callable[[str], Any]:
    def write(text: str) -> None:
        stream.write(f"{text}\n")
        stream.flush()

    return write


def _answer(options: Mapping[str, Any]) -> Any:
    if options["list"]:
        return listing()
    if options["schema"]:
        return schema(options["schema"])
    if options["method"]:
        return _method(options["method"], options["brief"], list(options["inputs"]))
    if options["inputs"]:
        raise Refused(f"{options['inputs'][0]!r} is not understood; inputs go with --method.")
    if options["trial"] and options["sensitivity"]:
        raise Refused("--try and --sensitivity are two questions; ask one.")
    return _work_out(options).model_dump(mode="json")


def _method(name: str, first: str, words: list[str]) -> Any:
    from quoting.sizing.methods import METHODS, run

    if "=" in first:
        words.insert(0, first)
    sites = known_sites() if name in METHODS and METHODS[name].wants_sites else ()
    return run(name, _pairs(words), sites).model_dump(mode="json")


def known_sites() -> tuple[Site, ...]:
    """The places that ship with the catalogue, as a method works from them."""
    from quoting.sizing.places import site_of

    with SITES.open(encoding="utf-8", newline="") as file:
        return tuple(site_of(row) for row in csv.DictReader(file))


def _work_out(options: Mapping[str, Any]) -> BaseModel:
    from quoting.sizing.appraise import appraise

    trial = _read_trial(options["trial"]) if options["trial"] else None
    brief = briefs.read(_read(options["brief"], "the Brief"))
    appraisal = appraise(brief)
    if trial is not None:
        from quoting.sizing.trial import try_out

        tried: BaseModel = try_out(brief, appraisal, trial)
        return tried
    if options["sensitivity"]:
        return _sensitivity(options["sensitivity"], brief, appraisal)
    return appraisal


def _sensitivity(code: str, brief: Any, appraisal: Any) -> BaseModel:
    from quoting.sizing.sensitivity import of_figure
    from quoting.sizing.sensitivity_trip import READS, of_trip

    figure = appraisal.figures.get(code)
    if figure is None:
        raise SizingError(
            "sensitivity",
            value=code,
            code="not_a_choice",
            message=f"{code!r} is no figure of this Appraisal; it has {', '.join(appraisal.figures)}",
        )
    if code in READS:
        return of_trip(brief, appraisal, code)
    return of_figure(figure, appraisal.figures)


def _read_trial(place: str) -> Any:
    from quoting.sizing.outlook import Trial

    try:
        return Trial.model_validate_json(_read(place, "the trial"))
    except ValidationError as error:
        raise briefs.from_validation(error) from None


def _text(answer: Any, indent: int | None) -> str:
    if isinstance(answer, str):
        return answer
    if indent is not None and not 0 <= indent <= 16:
        raise Refused(f"--indent is {indent}; it must be at least 0 and at most 16.")
    try:
        return json.dumps(answer, ensure_ascii=False, indent=indent, allow_nan=False)
    except ValueError:
        raise Refused("the result is not a number; check the Brief for extreme values.") from None


def _save(place: Path, text: str) -> None:
    try:
        place.write_text(text + "\n", encoding="utf-8")
    except (OSError, ValueError) as error:
        raise Refused(f"{place} cannot be written: {_why(error)}.") from None


def _read(place: str, what: str) -> str:
    if place == "-" and sys.stdin is None:
        raise Refused(f"standard input is closed; give a file with {what}.")
    try:
        raw = sys.stdin.buffer.read(LARGEST_BYTES + 1) if place == "-" else _bytes(Path(place))
    except (OSError, ValueError) as error:
        raise Refused(f"{place} cannot be read: {_why(error)}.") from None
    if len(raw) > LARGEST_BYTES:
        raise Refused(f"{what} is longer than {LARGEST_BYTES} bytes.")
    try:
        return raw.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        raise Refused(f"{what} is not UTF-8 text (byte {error.start}).") from None


def _why(error: Exception) -> str:
    return str((error.strerror if isinstance(error, OSError) else None) or error)


def _bytes(path: Path) -> bytes:
    with path.open("rb") as file:
        return file.read(LARGEST_BYTES + 1)


def _pairs(words: list[str]) -> dict[str, str]:
    found: dict[str, str] = {}
    for word in words:
        name, equals, value = word.partition("=")
        if not equals or not name:
            raise Refused(f"{word!r} is not an input; write name=value.")
        if name in found:
            raise Refused(f"{name} is given twice.")
        found[name] = value
    return found


def schema(which: str) -> dict[str, Any]:
    """JSON Schema of what goes in or comes out, under its version."""
    from quoting.sizing import outlook
    from quoting.sizing.appraisal import Appraisal
    from quoting.sizing.methods import MethodResult

    models: dict[str, type[BaseModel]] = {
        "brief": briefs.Brief,
        "appraisal": Appraisal,
        "method": MethodResult,
        "trial": outlook.Trial,
        "outlook": outlook.TripOutlook,
        "tornado": outlook.Tornado,
    }
    model = models[which]
    version = model.model_fields.get("version")
    name = version.default if version else f"loomwright.{which}/1"
    made = model.model_json_schema(mode="validation" if which in ("brief", "trial") else "serialization")
    return {"$schema": "https://json-schema.org/draft/2020-12/schema", "$id": f"urn:{name}", **made}


def listing() -> str:
    """Every method with its inputs, their units and ranges."""
    from quoting.sizing.methods import METHODS

    out = []
    for method in METHODS.values():
        out.append(f"{method.name}: {method.help}")
        for x in method.inputs:
            unit = f" [{x.unit}]" if x.unit else ""
            default = "" if x.default is None else f" (default {_shown(x.default)})"
            out.append(f"  {x.name}{unit} {_span(x)}{default}: {x.help}")
    return "\n".join(out)


def _span(x: Any) -> str:
    if x.options:
        return " | ".join(x.options)
    if x.type == "yes":
        return "yes | no"
    low, high = ("" if end is None else f"{end:g}" for end in (x.minimum, x.maximum))
    return f"{low} to {high}"


def _shown(value: Any) -> str:
    if isinstance(value, bool):
        return "yes" if value else "no"
    return f"{value:g}" if isinstance(value, int | float) else str(value)
