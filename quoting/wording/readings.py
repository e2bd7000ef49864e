"""Readings the technician takes."""

from typing import Any

READING: dict[str, Any] = {}
