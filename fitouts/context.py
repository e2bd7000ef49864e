"""What every page knows."""

from __future__ import annotations

from typing import Any

from django.http import HttpRequest


def workshop(request: HttpRequest) -> dict[str, Any]:
    return {"workshop": getattr(request, "workshop", None)}
