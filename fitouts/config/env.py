"""Typed reading of the environment. A bad value is refused loudly, never guessed at."""

from __future__ import annotations

import os
from pathlib import Path

from django.core.exceptions import ImproperlyConfigured

_TRUE, _FALSE = {"1", "true"}, {"0", "false", ""}


def text(name: str, default: str = "") -> str:
    return os.environ.get(name, default).strip()


def flag(name: str, default: bool = False) -> bool:
    raw = os.environ.get(name)
    if raw is None:
        return default
    value = raw.strip().lower()
    if value in _TRUE:
        return True
    if value in _FALSE:
        return False
    raise ImproperlyConfigured(f"{name}={raw!r}: write 1 or 0 (or true, false).")


def whole(name: str, default: int, *, minimum: int, maximum: int) -> int:
    raw = os.environ.get(name)
    if raw is None or not raw.strip():
        return default
    try:
        value = int(raw)
    except ValueError:
        raise ImproperlyConfigured(f"{name}={raw!r}: write a whole number.") from None
    if not minimum <= value <= maximum:
        raise ImproperlyConfigured(f"{name}={value}: write a number from {minimum} to {maximum}.")
    return value


def folder(name: str, default: Path) -> Path:
    """A folder of the running workshop, made private if it is not there."""
    path = Path(text(name) or default).expanduser().resolve()
    path.mkdir(mode=0o700, parents=True, exist_ok=True)
    return path


def names(name: str, default: tuple[str, ...] = ()) -> list[str]:
    raw = text(name)
    return [part.strip() for part in raw.split(",") if part.strip()] if raw else list(default)
