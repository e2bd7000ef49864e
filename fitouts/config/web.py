"""What gunicorn does beside serving: ``-c python:fitouts.config.web``."""

from __future__ import annotations

from importlib import import_module
from threading import Thread
from typing import Any

SLOW = ("pvlib", "scipy.special")
"""Libraries of the sizing that take a second to read in."""


def post_worker_init(worker: Any) -> Thread:
    """Read the slow libraries in beside a worker's first answers, so that nobody's first question waits for them."""
    reader = Thread(target=lambda: [import_module(name) for name in SLOW], name="slow libraries", daemon=True)
    reader.start()
    return reader
