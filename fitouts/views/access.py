"""Who gets in. Nobody: to the sign-in page. Not allowed: 403. Not there, or not yours: 404 from the view itself."""

from __future__ import annotations

from collections.abc import Callable
from functools import wraps
from typing import Any, ClassVar, TypeVar

from django.contrib.auth.mixins import AccessMixin
from django.contrib.auth.views import redirect_to_login
from django.core.exceptions import PermissionDenied
from django.http import HttpRequest, HttpResponse
from django.http.response import HttpResponseBase
from django_htmx.http import HttpResponseClientRedirect
from django_htmx.middleware import HtmxDetails

from fitouts.models import User, Workshop
from fitouts.rules import is_staff_member

Rule = Callable[[Any], bool]
Answer = TypeVar("Answer", bound=HttpResponseBase)


class StaffRequest(HttpRequest):
    """A request behind a rule: its person is of the workshop. Only its annotations are used."""

    user: User  # type: ignore[assignment]
    workshop: Workshop
    htmx: HtmxDetails


def _to_sign_in(request: HttpRequest) -> HttpResponse:
    if getattr(request, "htmx", False):
        return HttpResponseClientRedirect(redirect_to_login(request.htmx.current_url_abs_path or "/").url)  # type: ignore[attr-defined]
    return redirect_to_login(request.get_full_path())


class RuleRequired(AccessMixin):
    """A class view behind a rule: ``rule = staticmethod(can_survey)``. ``write_rule`` guards what changes things."""

    rule: ClassVar[staticmethod[[Any], bool]] = staticmethod(is_staff_member)
    write_rule: ClassVar[staticmethod[[Any], bool] | None] = None

    def dispatch(self, request: HttpRequest, *args: Any, **kwargs: Any) -> HttpResponseBase:
        if not request.user.is_authenticated:
            return _to_sign_in(request)
        writes = request.method not in ("GET", "HEAD", "OPTIONS")
        if not self.rule(request.user) or (writes and self.write_rule and not self.write_rule(request.user)):
            raise PermissionDenied
        return super().dispatch(request, *args, **kwargs)  # type: ignore[misc,no-any-return]


def needs(rule: Rule = is_staff_member) -> Callable[[Callable[..., Answer]], Callable[..., Answer]]:
    """The same for a function view: ``@needs(can_survey)``."""

    def wrap(view: Callable[..., Answer]) -> Callable[..., Answer]:
        @wraps(view)
        def inner(request: HttpRequest, *args: Any, **kwargs: Any) -> Any:
            if not request.user.is_authenticated:
                return _to_sign_in(request)
            if not rule(request.user):
                raise PermissionDenied
            return view(request, *args, **kwargs)

        return inner

    return wrap
