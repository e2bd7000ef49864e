"""What a person settles about a circuit: tried by the sizing first, kept with its reason, taken back."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from django.db import transaction
from django.utils.translation import gettext as _
from pydantic import ValidationError as WrongValue

from fitouts.models import Fitout, User
from fitouts.services.keeping import keep, signed
from quoting.models import CircuitChange
from quoting.services.briefs import make_brief
from quoting.sizing.brief import from_validation
from quoting.sizing.brief_wiring import CHANGEABLE, HandChange
from quoting.sizing.hand import try_change
from quoting.sizing.wiring_records import RefusedChange

MOST_CHANGES = 200


class ChangeRefused(Exception):
    """A rule that nothing overrides, or a job that has too many; ``refused`` says which rules, with numbers."""

    def __init__(self, words: str = "", refused: tuple[RefusedChange, ...] = ()) -> None:
        self.refused = refused
        super().__init__(words)


def change_of(circuit: str, values: Mapping[str, Any], reason: str) -> HandChange:
    """The values as the sizing reads them. Raises ``SizingError`` naming field, value, range and unit."""
    told = {name: values[name] for name in CHANGEABLE if values.get(name) is not None}
    try:
        return HandChange.model_validate({"circuit": circuit, **told, "reason": reason})
    except WrongValue as error:
        raise from_validation(error, HandChange) from None


def settle(
    fitout: Fitout,
    circuit: str,
    name: str,
    values: Mapping[str, Any],
    reason: str,
    *,
    by: User | None,
    state: str | None = None,
) -> CircuitChange:
    """Try a change against the job as it stands; keep it, with who and why, in place of an earlier one.

    Raises :class:`ChangeRefused` for what section 7 lets nobody override, ``BriefIncomplete`` while the job cannot be
    worked out, ``SizingError`` for a value that cannot be. Then nothing is kept. ``state``: of what was settled when
    the person looked (:func:`state_of`); trying takes its time, and somebody else may settle the circuit meanwhile.
    """
    change = change_of(circuit, values, reason.strip())
    refused = try_change(make_brief(fitout), change)
    if refused:
        raise ChangeRefused(refused=refused)
    told = {field: value for field in CHANGEABLE if (value := getattr(change, field)) is not None}
    with transaction.atomic():
        Fitout.objects.select_for_update().get(pk=fitout.pk)
        row = of_circuit(fitout, circuit)
        if state not in (None, state_of(row)):
            raise ChangeRefused(_("Somebody else settled this circuit just now. Save again to see what is kept."))
        if row is None and fitout.circuit_changes.count() >= MOST_CHANGES:
            raise ChangeRefused(_("At most %(most)d circuits of a job are changed by hand.") % {"most": MOST_CHANGES})
        row = row or CircuitChange(fitout=fitout, circuit=circuit)
        kept = {"name": name[:120], "values": told, "reason": change.reason, "changed_by": by}
        return keep(row, kept, by)


def state_of(row: CircuitChange | None) -> str:
    """Short name of what is settled for a circuit now."""
    return f"{row.pk} {row.changed_at.isoformat()}" if row else ""


def of_circuit(fitout: Fitout, circuit: str) -> CircuitChange | None:
    """What was settled for a circuit, if anything."""
    return fitout.circuit_changes.filter(circuit=circuit).select_related("changed_by").first()


@transaction.atomic
def take_back(change: CircuitChange, *, by: User | None) -> None:
    """Let the circuit be as it is worked out; who took the change back stays in the history."""
    Fitout.objects.select_for_update().get(pk=change.fitout_id)
    if CircuitChange.objects.filter(pk=change.pk).exists():  # pressed twice, it is history once
        signed(change, by).delete()
