"""What every page with a form does: keep what a service refused; and entries that views read without a form."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import Any

from django import forms
from django.core.exceptions import NON_FIELD_ERRORS, ValidationError

MOST_DIGITS = 18
"""Of a key; more do not fit into a column."""


def words_in(entries: Mapping[str, Any], name: str) -> str:
    """An entry that no form checks, without what no database can keep as text, and without spaces around it."""
    return str(entries.get(name, "")).replace("\0", "").strip()


def key_in(text: str) -> int | None:
    """The key of a row, or ``None`` for text that is none: letters, ``²``, a number of a thousand digits."""
    return int(text) if text.isascii() and text.isdigit() and len(text) <= MOST_DIGITS else None


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
