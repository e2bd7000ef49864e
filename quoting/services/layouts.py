"""Circuits laid on switched outputs by hand: each move is tried on the latest design, then kept whole or refused.

The first move of a job writes down where every circuit hangs, so that no other circuit jumps when one is moved.
"""

from __future__ import annotations

import hashlib
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from django.db import transaction
from django.utils.translation import gettext as _

from fitouts.models import Fitout, User
from fitouts.services.keeping import signed
from quoting.models import Design, OutputPlace
from quoting.services import designs
from quoting.sizing.brief_wiring import LaidOut
from quoting.sizing.outputs import Bench, bench_of
from quoting.sizing.outputs_fit import Laid, Place, Refusal
from quoting.wording.laid import laid_refused_words

Row = tuple[str, int, int]
"""Circuit's key, module and channel, counted from 1."""


class LayoutRefused(Exception):
    """The circuit cannot hang there; the text says why, with numbers."""


@dataclass(frozen=True, slots=True)
class Moved:
    """A move that was kept, and what it takes to take it back."""

    words: str
    before: tuple[Row, ...]
    after: str
    """State of the layout now."""


def rows_of(fitout: Fitout) -> tuple[Row, ...]:
    """The layout of a job as it is kept."""
    return tuple(fitout.output_places.order_by("module", "channel").values_list("circuit", "module", "channel"))


def state_of(rows: Iterable[Row]) -> str:
    """Short name of one state of a layout."""
    return hashlib.sha256(repr(sorted(rows)).encode()).hexdigest()[:16]


def laid(rows: Iterable[Row]) -> list[LaidOut]:
    return [LaidOut(circuit=circuit, module=module, channel=channel) for circuit, module, channel in rows]


def bench_for(design: Design) -> Bench | None:
    """What layouts of a design are tried on; ``None`` where it switches nothing."""
    return bench_of(designs.brief_of(design), designs.appraisal_of(design))


@transaction.atomic
def move(fitout: Fitout, design: Design, circuit: str, to: Place, *, seen: str, by: User | None) -> Moved:
    """Hang a circuit on another output; what hangs there changes places with it.

    ``to``: module and channel, counted from 1. ``seen``: state of the layout that the person looked at.
    Raises LayoutRefused with the sentence why; nothing is kept then.
    """
    Fitout.objects.select_for_update().get(pk=fitout.pk)
    before = rows_of(fitout)
    _must_be_seen(fitout, before, seen)
    bench = bench_for(design)
    if bench is None:
        raise LayoutRefused(_("This design has no switched outputs. Work it out again."))
    names = {w.key: w.name for w in bench.wants}
    if circuit not in names:
        raise LayoutRefused(_("The design has no such circuit on an output."))
    here = bench.try_layout(laid(before))
    tried, other = _with_move(here, circuit, (to[0] - 1, to[1] - 1))
    refused = bench.try_layout(tried).refused
    if refused:
        raise LayoutRefused(_why_not(refused, circuit, other, names))
    rows = tuple((x.circuit, x.module, x.channel) for x in tried)
    _write(fitout, before, rows, by)
    words = _("%(name)s is on output %(channel)d of module %(module)d.") % _named(names[circuit], to)
    if other is not None and other in here.places:
        words += " " + _("%(name)s changed places with it.") % {"name": names[other]}
    return Moved(words, before, state_of(rows))


def why_move_refused(bench: Bench, here: Laid, circuit: str, to: Place) -> str:
    """Why a circuit cannot be moved to an output, counted from 0; empty where it can."""
    tried, other = _with_move(here, circuit, to)
    refused = bench.try_layout(tried).refused
    return _why_not(refused, circuit, other, {w.key: w.name for w in bench.wants}) if refused else ""


@transaction.atomic
def by_itself(fitout: Fitout, *, seen: str, by: User | None) -> Moved:
    """Forget what people laid: the design lays the outputs out."""
    Fitout.objects.select_for_update().get(pk=fitout.pk)
    before = rows_of(fitout)
    _must_be_seen(fitout, before, seen)
    _write(fitout, before, (), by)
    return Moved(_("The outputs are laid out by themselves."), before, state_of(()))


@transaction.atomic
def put_back(fitout: Fitout, before: Sequence[Row], *, after: str, by: User | None) -> str:
    """Take the last move back, unless somebody moved something since."""
    Fitout.objects.select_for_update().get(pk=fitout.pk)
    now = rows_of(fitout)
    if state_of(now) != after:
        raise LayoutRefused(_("The outputs were laid out anew since your move, so it cannot be taken back."))
    _write(fitout, now, tuple(before), by)
    return _("The last move is taken back.")


def _with_move(here: Laid, circuit: str, to: Place) -> tuple[list[LaidOut], str | None]:
    """Every circuit where it is, the moved one where it is to be; and the circuit that hung there."""
    places, own = dict(here.places), here.places.get(circuit)
    other = next((key for key, place in places.items() if place == to and key != circuit), None)
    places.pop(circuit, None)
    if other is not None:
        places.pop(other)
    rows = [(key, place) for key, place in sorted(places.items(), key=lambda p: p[1])]
    if other is not None and own is not None:
        rows.append((other, own))
    return [LaidOut(circuit=key, module=m + 1, channel=c + 1) for key, (m, c) in [*rows, (circuit, to)]], other


def _why_not(refused: Sequence[Refusal], circuit: str, other: str | None, names: dict[str, str]) -> str:
    first = next((r for r in refused if r.circuit == circuit), refused[0])
    words = laid_refused_words(first)
    if first.circuit == other and other is not None:
        return _("%(name)s hangs there and would have to change places: %(why)s") % {"name": names[other], "why": words}
    return words


def _named(name: str, to: Place) -> dict[str, object]:
    return {"name": name, "module": to[0], "channel": to[1]}


def _must_be_seen(fitout: Fitout, rows: tuple[Row, ...], seen: str) -> None:
    """Refuse a move made on a layout that is another by now."""
    if seen == state_of(rows):
        return
    last = OutputPlace.history.filter(fitout_id=fitout.pk).first()
    who = str(last.history_user) if last is not None and last.history_user else _("Somebody")
    raise LayoutRefused(_("%(who)s moved circuits while this page was open. Look again, then move.") % {"who": who})


def _write(fitout: Fitout, before: tuple[Row, ...], rows: tuple[Row, ...], by: User | None) -> None:
    """Keep these rows; those that stay as they are get no history."""
    stays = set(before) & set(rows)
    for place in fitout.output_places.all():
        if (place.circuit, place.module, place.channel) not in stays:
            signed(place, by).delete()
    for circuit, module, channel in rows:
        if (circuit, module, channel) not in stays:
            place = OutputPlace(fitout=fitout, circuit=circuit, module=module, channel=channel)
            place.full_clean()
            signed(place, by).save()
