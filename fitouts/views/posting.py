"""What every page with a form does: keep what a service refused, say what was done."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from django import forms
from django.core.exceptions import NON_FIELD_ERRORS, ValidationError


def carry_out(form: forms.BaseForm, service: Callable[..., Any], *args: Any, **kwargs: Any) -> Any:
    """Call a service with a valid form; what it refuses is put on the form and ``None`` returned."""
    try:
        return service(*args, **kwargs)
    except ValidationError as refused:
        if not hasattr(refused, "error_dict"):
            form.add_error(None, refused)
            return None
        for name, errors in refused.error_dict.items():
            form.add_error(name if name in form.fields else None, errors if name != NON_FIELD_ERRORS else list(errors))
        return None
