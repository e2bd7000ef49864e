"""Signing in, one's own account, and the first run."""

from __future__ import annotations

from typing import Any

from django.contrib import messages
from django.contrib.auth import login, update_session_auth_hash
from django.contrib.auth.forms import AuthenticationForm, PasswordChangeForm
from django.contrib.auth.views import LoginView, LogoutView
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy
from django.views.decorators.cache import never_cache
from django.views.decorators.debug import sensitive_post_parameters

from fitouts.forms.workshop import FirstRunForm
from fitouts.services import first_run
from fitouts.views.access import StaffRequest, needs


class SignInForm(AuthenticationForm):
    error_messages = {
        **AuthenticationForm.error_messages,
        "invalid_login": gettext_lazy("Name and password do not fit together. Capitals count in the password."),
    }

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["username"].label = _("Name to sign in with")


class SignIn(LoginView):
    template_name = "fitouts/sign_in.html"
    authentication_form = SignInForm
    redirect_authenticated_user = True


class SignOut(LogoutView):
    http_method_names = ["post", "options"]


@sensitive_post_parameters()
@never_cache
@needs()
def account(request: StaffRequest) -> HttpResponse:
    """One's own name and role, and a new password."""
    form = PasswordChangeForm(request.user, request.POST or None)
    for field in form.fields.values():
        field.help_text = "" if field is not form.fields["new_password1"] else _("At least 10 characters.")
    if request.method == "POST" and form.is_valid():
        update_session_auth_hash(request, form.save())
        messages.success(request, _("Password changed. Other places where you were signed in are signed out."))
        return redirect("account")
    return render(request, "fitouts/account.html", {"form": form})


@sensitive_post_parameters()
@never_cache
def first_run_page(request: HttpRequest) -> HttpResponse:
    """Only while there is no workshop; afterwards there is no such page."""
    if request.workshop is not None:  # type: ignore[attr-defined]
        raise Http404
    first_run.code()
    form = FirstRunForm(request.POST or None)
    if request.method == "POST" and form.is_valid():
        try:
            _workshop, manager = form.open()
        except first_run.WorkshopExists:
            raise Http404 from None
        login(request, manager, backend="django.contrib.auth.backends.ModelBackend")
        messages.success(request, _("The workshop is open. Set hourly rates and terms under Workshop, Money."))
        return redirect("bench")
    return render(request, "fitouts/first_run.html", {"form": form})
