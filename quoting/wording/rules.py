"""Rules that put a line on the bill or decided a conductor."""

from typing import Any

RULE: dict[str, Any] = {}
