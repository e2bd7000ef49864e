"""Loaded by a worker under test beside its own modules: the real renderer, but it can be caught in the middle.

It notes every paper begun and ended in files of the workshop's folder, and waits while ``pause`` is there.
"""

from __future__ import annotations

import os
import time
from pathlib import Path
from typing import Any

from django.conf import settings

from quoting.documents import render as module

_real = module.render


def _note(name: str) -> None:
    with (Path(settings.HOME) / name).open("a", encoding="utf-8") as file:
        file.write(f"{os.getpid()}\n")


def _paused(*args: Any, **kwargs: Any) -> Any:
    _note("begun")
    rendered = _real(*args, **kwargs)
    while (Path(settings.HOME) / "pause").exists():
        time.sleep(0.05)
    _note("ended")
    return rendered


if os.environ.get("CATCH_PAPERS"):  # not when pytest only looks for doctests here
    module.render = _paused
