"""Typed reading of the environment. A bad value is refused loudly, never guessed at."""

from __future__ import annotations

import os
import uuid
from collections.abc import Callable
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


def kept_secret(path: Path, make: Callable[[], str]) -> str:
    """The secret in a file, made on first asking and readable by the owner alone.

    The file appears whole or not at all, and of two that make it at once one wins: a reader never meets an empty one.
    """
    if not path.exists():
        path.parent.mkdir(mode=0o700, parents=True, exist_ok=True)
        part = path.with_name(f".{path.name}.{uuid.uuid4().hex}.part")
        with os.fdopen(os.open(part, os.O_CREAT | os.O_EXCL | os.O_WRONLY, 0o600), "w", encoding="utf-8") as file:
            file.write(make())
            file.flush()
            os.fsync(file.fileno())
        try:
            os.link(part, path)
        except FileExistsError:
            pass  # somebody else was quicker
        except OSError:
            part.replace(path)  # a disk that knows no links
        finally:
            part.unlink(missing_ok=True)
    secret = path.read_text(encoding="utf-8").strip()
    if not secret:
        raise ImproperlyConfigured(f"{path} is empty. Delete it: a new one is made.")
    return secret


def names(name: str, default: tuple[str, ...] = ()) -> list[str]:
    raw = text(name)
    return [part.strip() for part in raw.split(",") if part.strip()] if raw else list(default)
