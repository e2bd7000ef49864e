"""The order of building: check-in, isolation, fitting, wiring, hold points, settings, test."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from django.utils.translation import gettext as _

from fitouts.models import Fitout
from quoting.services import mend_steps
from quoting.services.build_step import BuildStep, arrival
from quoting.sizing.appraisal import Appraisal, Circuit
from quoting.sizing.one_piece import also, pieces


def steps(fitout: Fitout, appraisal: Appraisal, more: Iterable[BuildStep] = ()) -> Iterator[BuildStep]:
    """Yield the steps of one job in building order; ``more`` are those of its assemblies, after the fitting."""
    if fitout.kind == Fitout.Kind.FAULT:
        yield from mend_steps.of_fault(fitout, more)
        return
    yield from arrival(fitout)
    yield BuildStep(
        "disconnect",
        _("Starter battery negative off first; note what must be relearned. Airbags, fuel and high-voltage kept clear"),
        hold_point=True,
    )
    yield from mend_steps.of_findings(fitout)
    for chosen in pieces(appraisal.chosen):
        if chosen.kept:
            yield mend_steps.checking(chosen)
            continue
        yield BuildStep(
            f"fit:{chosen.role}:{chosen.part}",
            _("Fit %(quantity)d × %(name)s, fixed and vented as its maker says")
            % {"quantity": chosen.quantity, "name": chosen.name},
        )
    yield from more
    for circuit in appraisal.circuits:
        yield BuildStep(f"wire:{circuit.tag}", _wiring(circuit))
    yield BuildStep(
        "before_power",
        _("Before any fuse goes in: polarity, insulation and every crimp seen; lugs torqued and marked"),
        hold_point=True,
    )
    yield BuildStep("power_up", _("Fuses in, source ends first; battery isolator closed; negative reconnected last"))
    for chosen in pieces(appraisal.chosen):
        if any(one.setting for one in (chosen, *also(appraisal.chosen, chosen))):
            yield BuildStep(
                f"set:{chosen.role}:{chosen.part}", _("Enter the settings of %(name)s") % {"name": chosen.name}
            )
    if any(e.licensed for e in appraisal.expectations):
        yield BuildStep(
            "licensed_ac",
            _("230 V work connected, tested and certified under local rules by the licensed person"),
            licensed=True,
        )
    yield BuildStep("labels", _("Circuits labelled, fuse map and cautions in the vehicle"))


def _wiring(circuit: Circuit) -> str:
    devices = ", ".join(f"{d.tag} {d.rating_a:g} A" for d in circuit.devices)
    words = _("%(tag)s %(name)s: %(area)g mm², %(length).1f m one way") % {
        "tag": circuit.tag,
        "name": circuit.name,
        "area": circuit.area_mm2,
        "length": circuit.run_m,
    }
    return f"{words}, {devices}" if devices else words


__all__ = ["BuildStep", "steps"]
