"""Findings of conductors, protection, circuits and choice."""

from typing import Any

FINDING_WIRING: dict[str, Any] = {}
