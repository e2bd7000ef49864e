"""Every circuit of a job's design, and what people settle about them."""

from __future__ import annotations

from typing import Any
from urllib.parse import unquote

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import path, reverse
from django.utils.translation import gettext as _
from django.utils.translation import ngettext
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from catalog import conflicts
from fitouts.models import Fitout
from fitouts.views.access import needs
from fitouts.views.posting import carry_out, words_in
from quoting import rules
from quoting.forms.circuits import CircuitChangeForm, initial_of
from quoting.models import CircuitChange, Design
from quoting.queries.circuits_page import CircuitAt, circuits_page
from quoting.services import briefs, circuit_changes, designs, existing
from quoting.sizing.appraisal import Appraisal, Circuit
from quoting.sizing.errors import SizingError
from quoting.views.existing import existing_urls
from quoting.views.outlook import design_context, why_none
from quoting.views.page import person, the_job
from quoting.wording.hand import refused_words

NEW = "0"
"""State that a form was opened on while nothing was settled for its circuit."""


@require_safe
@needs()
def circuits(request: HttpRequest, pk: int) -> HttpResponse:
    fitout = the_job(request, pk)
    design = designs.latest_of(fitout)
    context = design_context(request, fitout, design) | _rights(request)
    if design is None or not design.appraisal["circuits"]:
        return render(request, "quoting/circuits.html", context | {"why": _why_none(design, fitout)})
    page = circuits_page(design, _changes(fitout), _existing(fitout), words_in(request.GET, "show"))
    context["lies"] = _lies(fitout, page.staying, page.replaced)
    return render(request, "quoting/circuits.html", context | {"page": page})


@require_http_methods(["GET", "HEAD", "POST"])
@needs(rules.can_change_circuits)
def circuit_change(request: HttpRequest, pk: int, key: str) -> HttpResponse:
    """One circuit by hand: tried first, kept with its reason or refused with the rule. ``?leave`` closes it."""
    fitout = the_job(request, pk)
    design, circuit, form = _opened(request, fitout, unquote(key))
    if "leave" in request.GET:
        return _back(request, fitout, circuit)
    kept = circuit_changes.of_circuit(fitout, circuit.key)
    saved_meanwhile, state = _watch(form, kept, request), circuit_changes.state_of(kept)
    if request.method == "POST" and not saved_meanwhile and form.is_valid() and _settle(request, fitout, form, state):
        words = _("%(tag)s %(name)s: the change is kept. It counts once the job is worked out again.")
        messages.success(request, words % {"tag": circuit.tag, "name": circuit.name})
        return _back(request, fitout, circuit)
    context = {"fitout": fitout, "design": design, "circuit": circuit, "form": form, "path": key}
    context["at"] = _at(fitout, design, circuit)
    if getattr(request, "htmx", False):
        next(iter(form.fields.values())).widget.attrs["autofocus"] = True
        return render(request, "quoting/_circuit_change.html", context)
    return render(request, "quoting/circuit_change.html", context, status=422 if form.errors else 200)


@require_POST
@needs(rules.can_change_circuits)
def circuit_change_remove(request: HttpRequest, pk: int, change_pk: int) -> HttpResponse:
    """Take a change back: the circuit is as worked out again."""
    fitout = the_job(request, pk)
    change = get_object_or_404(fitout.circuit_changes, pk=change_pk)
    circuit_changes.take_back(change, by=person(request))
    messages.success(request, _("%(name)s: the change is taken back.") % {"name": change.name})
    return redirect(circuits_url(fitout))


def circuits_url(fitout: Fitout, tag: str = "") -> str:
    return reverse("circuits", args=[fitout.pk]) + (f"#circuit-{tag}" if tag else "")


def _rights(request: HttpRequest) -> dict[str, bool]:
    return {"can_edit": rules.can_change_circuits(request.user)}


def _changes(fitout: Fitout) -> list[CircuitChange]:
    return list(fitout.circuit_changes.select_related("changed_by"))


def _existing(fitout: Fitout) -> list[Any]:
    return list(fitout.existing_circuits.all())


def _lies(fitout: Fitout, staying: int, replaced: int) -> str:
    """A sentence about what lies in the vehicle already, where there may be something."""
    if staying or replaced:
        stay = ngettext("%(n)d circuit in the vehicle stays", "%(n)d circuits in the vehicle stay", staying)
        gone = ngettext("%(n)d is replaced", "%(n)d are replaced", replaced)
        return f"{stay % {'n': staying}}, {gone % {'n': replaced}}."
    if fitout.kind == Fitout.Kind.UPGRADE or existing.systems_before(fitout):
        return _("Circuits may lie in the vehicle that this design could be drawn onto.")
    return ""


def _why_none(design: Design | None, fitout: Fitout) -> tuple[str, str]:
    if design is None:
        title, words = why_none(design, fitout)
        return title, words if fitout.kind == Fitout.Kind.FAULT else _("Circuits follow when the job is worked out.")
    return _("No circuits"), _("They follow once components are chosen. See the findings of the design.")


def _opened(request: HttpRequest, fitout: Fitout, key: str) -> tuple[Design, Circuit, CircuitChangeForm]:
    """The latest design, its circuit of that key, and the form as it stands; 404 without either."""
    design = designs.latest_of(fitout)
    if design is None:
        raise Http404
    appraisal: Appraisal = designs.appraisal_of(design)
    circuit = next((c for c in appraisal.circuits if c.key and c.key == key), None)
    if circuit is None:
        raise Http404
    kept = circuit_changes.of_circuit(fitout, key)
    initial = initial_of(kept.values, kept.reason) if kept else {}
    form = CircuitChangeForm(request.POST or None, initial=initial, brief=designs.brief_of(design), circuit=circuit)
    return design, circuit, form


def _watch(form: CircuitChangeForm, kept: CircuitChange | None, request: HttpRequest) -> bool:
    """True when somebody else settled this circuit, or took it back, while the form was open."""
    if kept is not None:
        return conflicts.watch(form, kept, request.POST, reader=request.user)
    seen = words_in(request.POST, conflicts.SEEN)
    form.seen = NEW  # type: ignore[attr-defined]
    if not form.is_bound or seen in ("", NEW):
        return False
    form.add_error(None, _("This change was taken back while it was open here. Save again to put it in place."))
    return True


def _settle(request: HttpRequest, fitout: Fitout, form: CircuitChangeForm, state: str) -> CircuitChange | None:
    """Keep what was settled; what is refused stands on the form, at the value it is about."""
    circuit, values = form.circuit, form.cleaned_data
    try:
        kept: CircuitChange | None = carry_out(
            form, circuit_changes.settle, fitout, circuit.key, circuit.name, form.values(), values["reason"],
            by=person(request), state=state,
        )  # fmt: skip
    except circuit_changes.ChangeRefused as error:
        for refused in error.refused:
            form.add_error(refused.field if refused.field in form.fields else None, refused_words(refused))
        if str(error):
            form.add_error(None, str(error))
    except (briefs.BriefIncomplete, SizingError) as error:
        form.add_error(None, _("It cannot be tried: %(why)s") % {"why": error})
    else:
        return kept
    return None


def _at(fitout: Fitout, design: Design, circuit: Circuit) -> CircuitAt | None:
    page = circuits_page(design, _changes(fitout), _existing(fitout))
    return next((at for group in page.groups for at in group.circuits if at.row.key == circuit.key), None)


def _back(request: HttpRequest, fitout: Fitout, circuit: Circuit) -> HttpResponse:
    """To the circuit on its page; for htmx its row anew and what has changed since the design."""
    if not getattr(request, "htmx", False):
        return redirect(circuits_url(fitout, circuit.tag))
    design = designs.latest_of(fitout)
    assert design is not None
    context = design_context(request, fitout, design) | _rights(request) | {"at": _at(fitout, design, circuit)}
    response = render(request, "quoting/_circuit_answer.html", context | {"open": True})
    response["HX-Retarget"], response["HX-Reswap"] = "#circuits-state", "outerHTML"
    return response


circuit_urls = [
    path("jobs/<int:pk>/circuits/", circuits, name="circuits"),
    path("jobs/<int:pk>/circuits/<str:key>/", circuit_change, name="circuit_change"),
    path("jobs/<int:pk>/circuit-changes/<int:change_pk>/remove/", circuit_change_remove, name="circuit_change_remove"),
    *existing_urls,
]
