from __future__ import annotations

import pytest

from quoting.documents import fonts


@pytest.fixture(scope="session", autouse=True)
def _inter() -> None:
    """The typeface the drawings ask for, as the papers register it."""
    fonts.register()
