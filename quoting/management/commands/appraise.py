"""Brief in, Appraisal out, as JSON; or one method by name. No database is touched."""

from __future__ import annotations

import json
import sys
from argparse import ArgumentParser
from pathlib import Path
from typing import Any

from django.core.management.base import BaseCommand
from pydantic import BaseModel

from quoting.sizing import brief as briefs
from quoting.sizing.errors import SizingError

LARGEST_BYTES = 20_000_000
"""Longest Brief that is read. [byte]"""


class Refused(Exception):
    """Input that cannot be worked with; printed in one line, exit code 2."""


class Command(BaseCommand):
    help = (
        "Work out a Brief (JSON, from a file or standard input) into an Appraisal (JSON), "
        "or a single method by name. Exit code 2 and one line on bad input."
    )
    requires_system_checks: list[str] = []
    requires_migrations_checks = False

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("brief", nargs="?", default="-", help="file with the Brief; - or nothing: standard input")
        parser.add_argument("--out", metavar="FILE", help="write there instead of standard output")
        parser.add_argument("--indent", type=int, default=None, help="pretty-print with so many spaces")
        parser.add_argument("--schema", choices=("brief", "appraisal", "method"), help="print the JSON Schema")
        parser.add_argument("--method", metavar="NAME", help="work one method; its inputs follow as name=value")
        parser.add_argument("--list", action="store_true", help="list the methods with inputs, units and ranges")
        parser.add_argument("inputs", nargs="*", metavar="NAME=VALUE", help="inputs of --method")

    def handle(self, *args: Any, **options: Any) -> None:
        try:
            self._write(self._answer(options), options)
        except (SizingError, Refused) as error:
            self.stderr.write(f"appraise: {' '.join(str(error).split())}")
            sys.exit(2)

    def _answer(self, options: dict[str, Any]) -> Any:
        if options["list"]:
            return _listing()
        if options["schema"]:
            return _schema(options["schema"])
        if options["method"]:
            from quoting.sizing.methods import run

            words = list(options["inputs"])
            if "=" in options["brief"]:
                words.insert(0, options["brief"])
            return run(options["method"], _pairs(words)).model_dump(mode="json")
        if options["inputs"]:
            raise Refused(f"{options['inputs'][0]!r} is not understood; inputs go with --method.")
        from quoting.sizing.appraise import appraise

        return appraise(briefs.read(_read(options["brief"]))).model_dump(mode="json")

    def _write(self, answer: Any, options: dict[str, Any]) -> None:
        if isinstance(answer, str):
            text = answer
        else:
            indent = options["indent"]
            if indent is not None and not 0 <= indent <= 16:
                raise Refused(f"--indent is {indent}; it must be at least 0 and at most 16.")
            try:
                text = json.dumps(answer, ensure_ascii=False, indent=indent, allow_nan=False)
            except ValueError:
                raise Refused("the result is not a number; check the Brief for extreme values.") from None
        if not options["out"]:
            self.stdout.write(text)
            return
        try:
            Path(options["out"]).write_text(text + "\n", encoding="utf-8")
        except OSError as error:
            raise Refused(f"{options['out']} cannot be written: {error.strerror}.") from None


def _read(place: str) -> str:
    try:
        raw = sys.stdin.buffer.read(LARGEST_BYTES + 1) if place == "-" else _bytes(Path(place))
    except OSError as error:
        raise Refused(f"{place} cannot be read: {error.strerror}.") from None
    if len(raw) > LARGEST_BYTES:
        raise Refused(f"the Brief is longer than {LARGEST_BYTES} bytes.")
    try:
        return raw.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        raise Refused(f"the Brief is not UTF-8 text (byte {error.start}).") from None


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


def _schema(which: str) -> dict[str, Any]:
    from quoting.sizing.appraisal import Appraisal
    from quoting.sizing.methods import MethodResult

    models: dict[str, type[BaseModel]] = {"brief": briefs.Brief, "appraisal": Appraisal, "method": MethodResult}
    model = models[which]
    version = model.model_fields["version"].default
    schema = model.model_json_schema(mode="validation" if which == "brief" else "serialization")
    return {"$schema": "https://json-schema.org/draft/2020-12/schema", "$id": f"urn:{version}", **schema}


def _listing() -> str:
    from quoting.sizing.methods import METHODS

    out = []
    for method in METHODS.values():
        out.append(f"{method.name}: {method.help}")
        for x in method.inputs:
            unit = f" [{x.unit}]" if x.unit else ""
            if x.options:
                span = f" {' | '.join(x.options)}"
            elif x.type == "yes":
                span = " yes | no"
            else:
                low = "" if x.minimum is None else f"{x.minimum:g}"
                high = "" if x.maximum is None else f"{x.maximum:g}"
                span = f" {low} to {high}"
            default = "" if x.default is None else f" (default {_shown(x.default)})"
            out.append(f"  {x.name}{unit}{span}{default}: {x.help}")
    return "\n".join(out)


def _shown(value: Any) -> str:
    if isinstance(value, bool):
        return "yes" if value else "no"
    return f"{value:g}" if isinstance(value, int | float) else str(value)
