"""What is cut, pressed on and drawn in: cable by size and colour, terminals, conduits. From a frozen design."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable
from typing import Any

from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from catalog.kinds.conductors import FORMS
from quoting.documents import circuit_words as say
from quoting.documents.common import Frozen
from quoting.documents.content_wiring import CableBlock, Piece, SleeveRow, TerminalRow
from quoting.documents.speech import figure, percent, quantity
from quoting.sizing.appraisal import Circuit
from quoting.sizing.wiring_records import CableEnd, CablePiece, Polarity, SleeveUse

CONTACT = "contact"
FORM: dict[str, Any] = {**dict(FORMS), CONTACT: gettext_lazy("contact")}
LACKING = -1.0
"""Sorts an area or a stud that is not known before all others."""


def pieces_of(frozen: Frozen) -> tuple[CablePiece, ...]:
    """Every length to cut; of designs kept before pieces were, one positive and one negative of each circuit."""
    appraisal = frozen.appraisal
    if appraisal.pieces:
        return appraisal.pieces
    return tuple(piece for circuit in appraisal.circuits if circuit.conductor for piece in _older(frozen, circuit))


def _older(frozen: Frozen, circuit: Circuit) -> list[CablePiece]:
    ends = (CableEnd(at=circuit.source), CableEnd(at=circuit.target))

    def piece(polarity: Polarity, part: str, colour: str) -> CablePiece:
        name = str((frozen.parts.get(part) or {}).get("name") or "")
        return CablePiece(
            circuit=circuit.tag,
            polarity=polarity,
            part=part,
            name=name,
            area_mm2=circuit.area_mm2,
            colour=colour,
            length_m=circuit.run_m,
            ends=ends,
            stays=circuit.stays,
        )

    if circuit.role == "negative_bond":
        return [piece("bond", circuit.conductor, circuit.colour)]
    negative = circuit.negative or _negative_bought(frozen, circuit.area_mm2)
    colour = str((frozen.parts.get(negative) or {}).get("spec", {}).get("colour", "")) or circuit.negative_colour
    found = [piece("positive", circuit.conductor, circuit.colour)]
    return [*found, piece("negative", negative, colour)] if circuit.return_by == "conductor" else found


def _negative_bought(frozen: Frozen, area_mm2: float) -> str:
    """The negative cable of an area, as the bill bought it."""
    for line in frozen.appraisal.bill:
        spec = (frozen.parts.get(line.part) or {}).get("spec", {})
        if line.rule == "cable_negative" and spec.get("area_mm2") == area_mm2:
            return line.part
    return ""


def bought_m(frozen: Frozen, part: str) -> float:
    """Metres of a cable on the bill."""
    return sum(line.quantity for line in frozen.appraisal.bill if part and line.part == part and line.unit == "m")


def by_cable(frozen: Frozen) -> dict[tuple[float, str, str, bool], list[CablePiece]]:
    """Pieces by area (the thickest first), colour, part and whether they stay."""
    groups: dict[tuple[float, str, str, bool], list[CablePiece]] = {}
    for piece in pieces_of(frozen):
        groups.setdefault((piece.area_mm2, piece.colour, piece.part, piece.stays), []).append(piece)
    return dict(sorted(groups.items(), key=lambda each: (each[0][3], -each[0][0], each[0][1], each[0][2])))


def cable_blocks(frozen: Frozen) -> tuple[CableBlock, ...]:
    """Cable of each size and colour with its pieces, its sum and what to buy. What stays is neither cut nor bought."""
    return tuple(_block(frozen, key, pieces) for key, pieces in by_cable(frozen).items())


def laid_m(pieces: Iterable[CablePiece]) -> float:
    return sum(piece.length_m for piece in pieces)


def _block(frozen: Frozen, key: tuple[float, str, str, bool], pieces: list[CablePiece]) -> CableBlock:
    area_mm2, colour, part, stays = key
    name = pieces[0].name or str((frozen.parts.get(part) or {}).get("name") or "")
    size = f"{say.area_words(area_mm2)} {say.colour_words(colour)}".strip()
    laid = laid_m(pieces)
    bought = 0.0 if stays else bought_m(frozen, part)
    return CableBlock(
        size=size,
        name=_("stays in the vehicle") if stays else name,
        pieces=tuple(_piece(piece) for piece in sorted(pieces, key=_order)),
        laid=quantity(laid, "m", 2),
        spare=quantity(bought - laid, "m", 2) if bought else "",
        buy=quantity(bought, "m", 1) if bought else "",
    )


def _order(piece: CablePiece) -> tuple[str, int, str]:
    letters = piece.circuit.rstrip("0123456789")
    return letters, int(piece.circuit[len(letters) :] or 0), piece.polarity


def _piece(piece: CablePiece) -> Piece:
    a, b = piece.ends
    pressed = [_pressed(end) for end in piece.ends]
    return Piece(
        circuit=piece.circuit,
        ends=f"{a.at} – {b.at}",
        terminals=f"{pressed[0]} – {pressed[1]}" if any(pressed) else "",
        length=figure(piece.length_m, 2),
    )


def _pressed(end: CableEnd) -> str:
    """What is pressed on an end: ``ring M8``."""
    if not (end.terminal or end.form or end.stud_mm):
        return ""
    form = str(_(FORM[end.form])) if end.form in FORM else end.form or _("lug")
    return f"{form} M{figure(end.stud_mm)}" if end.stud_mm and end.form in ("ring", "") else form


def terminal_rows(frozen: Frozen) -> tuple[TerminalRow, ...]:
    """Terminals by size, stud and form, with where each goes; of older designs as the bill counts them."""
    if not frozen.appraisal.pieces:
        return _terminals_bought(frozen)
    found: dict[tuple[float, float, str, str, str], Counter[str]] = {}
    for piece in frozen.appraisal.pieces:
        for end in piece.ends:
            if not piece.stays and (end.terminal or end.form or end.stud_mm):
                key = (piece.area_mm2, end.stud_mm or LACKING, end.form, end.terminal, end.name)
                found.setdefault(key, Counter())[f"{piece.circuit}@{end.at}"] += 1
    return tuple(
        _terminal(frozen, key, where) for key, where in sorted(found.items(), key=lambda e: (-e[0][0], *e[0][1:]))
    )


def _terminal(frozen: Frozen, key: tuple[float, float, str, str, str], where: Counter[str]) -> TerminalRow:
    area_mm2, stud_mm, form, part, name = key
    spec = (frozen.parts.get(part) or {}).get("spec", {})
    what = name or str((frozen.parts.get(part) or {}).get("name") or "") or _("none in the catalogue")
    if form == CONTACT:
        what = _("contact of the coupling, as its maker gives it")
    elif form:
        what = f"{_(FORM[form]) if form in FORM else form}: {what}"
    by_end: dict[str, Counter[str]] = {}
    for place, count in where.items():
        circuit, _at, end = place.partition("@")
        by_end.setdefault(end, Counter())[circuit] += count
    return TerminalRow(
        area=figure(area_mm2),
        stud=f"M{figure(stud_mm)}" if stud_mm > 0 else "–",
        what=what,
        count=figure(where.total()),
        where="; ".join(
            _where(end, circuits) for end, circuits in sorted(by_end.items(), key=lambda e: _natural(e[0]))
        ),
        die=str(spec.get("crimp_die") or ""),
        torque=quantity(float(spec["torque_nm"]), "Nm") if spec.get("torque_nm") else "",
    )


def _where(end: str, circuits: Counter[str]) -> str:
    """``W1: L3, L4 ×2``: on which node or device, the cable of which circuits."""
    said = [f"{tag} ×{n}" if n > 1 else tag for tag, n in sorted(circuits.items(), key=lambda e: _natural(e[0]))]
    return f"{end}: {', '.join(said)}" if end not in circuits else ", ".join(said)


def _natural(tag: str) -> tuple[str, int]:
    letters = tag.rstrip("0123456789")
    return letters, int(tag[len(letters) :] or 0)


def _terminals_bought(frozen: Frozen) -> tuple[TerminalRow, ...]:
    rows = []
    for line in frozen.appraisal.bill:
        spec = (frozen.parts.get(line.part) or {}).get("spec", {})
        if line.rule == "terminal":
            rows.append(
                TerminalRow(
                    area=figure(float(spec["area_mm2"])) if spec.get("area_mm2") else "–",
                    stud=f"M{figure(float(spec['stud_mm']))}" if spec.get("stud_mm") else "–",
                    what=line.name,
                    count=figure(line.quantity),
                    where=", ".join(sorted(line.circuits, key=_natural)),
                )
            )
    return tuple(rows)


def sleeve_rows(frozen: Frozen) -> tuple[SleeveRow, ...]:
    """Conduits by way, and how full each is."""
    return tuple(_sleeve(frozen, use) for use in frozen.appraisal.sleeves)


def _sleeve(frozen: Frozen, use: SleeveUse) -> SleeveRow:
    what = use.name or _("none in the catalogue")
    if use.count > 1:
        what = _("%(n)d × %(name)s") % {"n": use.count, "name": what}
    if use.inner_mm and use.name:
        what = _("%(what)s, inside %(inner)s") % {"what": what, "inner": quantity(use.inner_mm, "mm")}
    fill = "–" if use.fill_ratio is None else percent(use.fill_ratio, 0)
    return SleeveRow(
        way=say.places_words(frozen, use.a, use.b),
        length=figure(use.length_m, 1),
        what=what,
        conductors=_("%(n)d, %(area)s%(estimated)s")
        % {
            "n": use.conductors,
            "area": quantity(use.conductors_mm2, "mm²", 0),
            "estimated": _(", estimated") if use.estimated else "",
        },
        fill=fill,
        limit=percent(use.limit_ratio, 0),
        circuits=", ".join(use.circuits),
    )
