"""How a vehicle came, on paper: parts kept, replaced and taken out, and every defect with what is done about it."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from django.utils.translation import gettext as _

from quoting.documents.common import Frozen
from quoting.documents.content import Named, Notice

ORDER = {"danger": 0, "warning": 1, "info": 2}


def is_fault(frozen: Frozen) -> bool:
    """A job that is mended and not designed."""
    return bool(frozen.body["job"].get("kind") == "fault")


def parts(frozen: Frozen) -> tuple[Named, ...]:
    """Parts as found by what becomes of them; empty where none were written down."""
    rows = _rows(frozen, "parts")
    out = []
    for plan, heading in (
        ("keep", _("Kept")),
        ("replace", _("Replaced")),
        ("remove", _("Taken out")),
        ("undecided", _("Not decided")),
    ):
        said = tuple(_part(row) for row in rows if row["plan"] == plan)
        if said:
            out.append(Named(heading, said))
    return tuple(out)


def _part(row: dict[str, Any]) -> str:
    many = f"{row['quantity']} × " if row["quantity"] > 1 else ""
    told = [row["where"], row["label_words"], _("serial %s") % row["serial"] if row["serial"] else ""]
    words = f"{many}{row['name']}"
    more = ", ".join(each for each in told if each)
    words = f"{words} ({more})." if more else f"{words}."
    if row["plan"] == "keep" and not row["counted_on"]:
        words += " " + _("It stays as it is; nothing here counts on it.")
    return f"{words} {row['notes']}".strip()


def defects(frozen: Frozen) -> tuple[Notice, ...]:
    """What is wrong, the gravest first, each with what was or will be done."""
    rows = sorted(_rows(frozen, "defects"), key=lambda row: ORDER[row["level"]])
    return tuple(_notice(frozen, row) for row in rows)


def left_dangers(frozen: Frozen) -> tuple[Notice, ...]:
    """Dangers that are left as they are, each with its reason."""
    rows = [row for row in _rows(frozen, "defects") if row["level"] == "danger" and row["left_because"]]
    return tuple(_notice(frozen, row) for row in rows)


def _notice(frozen: Frozen, row: dict[str, Any]) -> Notice:
    grave = {"danger": _("Danger"), "warning": _("Look at this"), "info": _("To know")}[row["level"]]
    return Notice(grave, row["words"].rstrip("."), " ".join(_said(frozen, row)), row["level"])


def _said(frozen: Frozen, row: dict[str, Any]) -> Iterator[str]:
    where = ", ".join(each for each in (row["where"], row["part"]) if each)
    if where:
        yield f"{where}."
    if row["measured"]:
        yield _("Measured: %s.") % row["measured"].rstrip(".")
    if row["mended_on"]:
        yield _("Mended on %(day)s: %(words)s.") % {
            "day": frozen.locality.day(row["mended_on"]),
            "words": row["mended_words"].rstrip("."),
        }
    elif row["left_because"]:
        yield _("Left as it is, because: %s.") % row["left_because"].rstrip(".")
    elif row["remedy"]:
        yield _("To be done: %s.") % row["remedy"].rstrip(".")
    else:
        yield _("Nothing is done about it in this job.")


def _rows(frozen: Frozen, what: str) -> list[dict[str, Any]]:
    rows: list[dict[str, Any]] = (frozen.body.get("as_found") or {}).get(what) or []
    return rows


def kept_words(frozen: Frozen) -> tuple[str, ...]:
    """Parts that are kept, and that a design trusts none of their cables and fuses; nothing where none is kept."""
    names = [row["name"] for row in _rows(frozen, "parts") if row["plan"] == "keep"]
    said = [_("Kept in the vehicle: %s.") % ", ".join(names)] if names else []
    if not is_fault(frozen) and any(chosen.kept for chosen in frozen.appraisal.chosen):
        said.append(
            _(
                "Direct-current cables, fuses and breakers of the kept parts that the design counts on are made new, "
                "as priced here: what is there is not relied on. A kept part that fails its check is priced anew "
                "before it is replaced."
            )
        )
    return tuple(said)


def rests_on() -> Named:
    """What a price for mending rests on."""
    return Named(
        _("What it rests on"),
        (
            _(
                "On what could be seen and measured when the vehicle was looked at. A fault that shows only once "
                "covers are off is told to you, and agreed, before it is mended. Local rules and the makers' "
                "instructions come first."
            ),
        ),
    )
