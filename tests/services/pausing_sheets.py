"""Loaded by a worker under test beside its own modules: tables as they are, but it can be caught in the middle.

It notes every check and save begun and ended in files of the workshop's folder. While ``pause`` is there it waits: a
check half way through its rows, a save with everything written and nothing committed.
"""

from __future__ import annotations

import os
import time
from collections.abc import Callable
from pathlib import Path
from typing import Any

from django.conf import settings

from catalog import sheets

_check, _save = sheets.check, sheets.save


def _note(name: str) -> None:
    with (Path(settings.HOME) / name).open("a", encoding="utf-8") as file:
        file.write(f"{os.getpid()}\n")


def _wait() -> None:
    while (Path(settings.HOME) / "pause").exists():
        time.sleep(0.05)


def _checked(*args: Any, tick: Callable[[int, int], Any], **kwargs: Any) -> Any:
    def caught(done: int, of: int) -> None:
        tick(done, of)
        if done:
            _note("begun")
            _wait()

    plan = _check(*args, tick=caught, **kwargs)
    _note("ended")
    return plan


def _saved(*args: Any, **kwargs: Any) -> Any:
    saved = _save(*args, **kwargs)
    _note("begun")
    _wait()
    _note("ended")
    return saved


if os.environ.get("CATCH_PAPERS"):  # not when pytest only looks for doctests here
    sheets.check, sheets.save = _checked, _saved
