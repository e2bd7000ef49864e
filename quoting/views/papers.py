"""The papers of a job: what is queued, running, done or failed; ask, try again, cancel, open."""

from __future__ import annotations

import io

from django.contrib import messages
from django.contrib.auth.decorators import login_required
from django.core.exceptions import PermissionDenied
from django.http import FileResponse, HttpRequest, HttpResponse, HttpResponseBase
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import path
from django.utils.http import url_has_allowed_host_and_scheme
from django.utils.translation import gettext as _
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_GET, require_POST

from fitouts.models import Fitout, User
from quoting.models import Document
from quoting.paper_list import kinds_for, paper_list
from quoting.services import background, documents


@login_required
@never_cache
@require_GET
def papers(request: HttpRequest, pk: int) -> HttpResponse:
    """The list alone for htmx, which asks again while something is under way; a page of its own otherwise."""
    return _answer(request, get_object_or_404(Fitout, pk=pk))


@login_required
@require_POST
def paper_ask(request: HttpRequest, pk: int) -> HttpResponse:
    fitout = get_object_or_404(Fitout, pk=pk)
    kind = request.POST.get("kind", "")
    if kind not in Document.Kind.values:
        return _answer(request, fitout, _("There is no paper of the kind “%s”.") % kind[:40], status=400)
    if kind not in kinds_for(_user(request)):
        raise PermissionDenied
    try:
        form, first = _form(request, kind)
        documents.ask_latest(kind, fitout, by=_user(request), form=form, first=first)
    except documents.PaperNotPossible as error:
        return _answer(request, fitout, str(error))
    return _answer(request, fitout)


@login_required
@require_POST
def paper_retry(request: HttpRequest, pk: int) -> HttpResponse:
    document = _document(request, pk)
    tried = documents.retry(document, by=_user(request))
    return _answer(request, document.fitout, "" if tried else _("Nothing to repeat: this paper did not fail."))


@login_required
@require_POST
def paper_cancel(request: HttpRequest, pk: int) -> HttpResponse:
    document = _document(request, pk)
    stopped = document.job is not None and background.cancel(document.job)
    return _answer(request, document.fitout, "" if stopped else _("Too late to cancel: this paper is finished."))


@login_required
@require_GET
def paper_open(request: HttpRequest, pk: int) -> HttpResponseBase:
    document = _document(request, pk)
    try:
        pdf = documents.content(document)
    except documents.PaperNotPossible as error:
        return _answer(request, document.fitout, str(error), status=409)
    response = FileResponse(
        io.BytesIO(pdf), content_type="application/pdf", filename=f"{document.fitout.number} {document.title}.pdf"
    )
    response["Cache-Control"] = "private, no-store"
    response["X-Content-Type-Options"] = "nosniff"
    return response


def _form(request: HttpRequest, kind: str) -> tuple[str, int]:
    """What it is made for, and the first label that is free. A list and a number stand beside each kind's button."""
    typed = request.POST.get(f"{kind}-first", "").strip() or "1"
    if not typed.isascii() or not typed.isdecimal() or len(typed) > 4:
        raise documents.PaperNotPossible(
            _("The first free label is a whole number, counted from the upper left; “%s” is none.") % typed[:20]
        )
    return request.POST.get(f"{kind}-form", ""), int(typed)


def _user(request: HttpRequest) -> User:
    assert isinstance(request.user, User)  # login_required saw to it
    return request.user


def _document(request: HttpRequest, pk: int) -> Document:
    document = get_object_or_404(Document.objects.select_related("fitout", "job"), pk=pk)
    if document.kind not in kinds_for(_user(request)):
        raise PermissionDenied
    return document


def _answer(request: HttpRequest, fitout: Fitout, problem: str = "", *, status: int = 200) -> HttpResponse:
    if getattr(request, "htmx", False):
        context = {"papers": paper_list(fitout, _user(request)), "problem": problem}
        return render(request, "quoting/_papers_list.html", context)
    if request.method == "POST" and status == 200:
        if problem:
            messages.error(request, problem)
        return redirect(_back(request) or "papers", *(() if _back(request) else (fitout.pk,)))
    context = {"papers": paper_list(fitout, _user(request)), "problem": problem, "fitout": fitout}
    return render(request, "quoting/papers.html", context, status=status)


def _back(request: HttpRequest) -> str:
    """The page the button was on, if it is one of ours."""
    page = request.headers.get("Referer", "")
    ours = url_has_allowed_host_and_scheme(page, allowed_hosts={request.get_host()}, require_https=request.is_secure())
    return page if ours else ""


paper_urls = [
    path("jobs/<int:pk>/papers/", papers, name="papers"),
    path("jobs/<int:pk>/papers/ask/", paper_ask, name="paper_ask"),
    path("papers/<int:pk>/", paper_open, name="paper_open"),
    path("papers/<int:pk>/retry/", paper_retry, name="paper_retry"),
    path("papers/<int:pk>/cancel/", paper_cancel, name="paper_cancel"),
]
