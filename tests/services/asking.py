"""A process with Django set up that runs what it is told: a line of JSON with code in, a line of JSON with words out.

Started once for a workshop it answers at once, where a new process for each question takes more than a second.
"""

from __future__ import annotations

import contextlib
import io
import json
import sys
import traceback
from typing import Any


def _answer(code: str) -> dict[str, Any]:
    """What the code printed, or how it failed; nothing of the database is kept open or in mind between two."""
    from django.contrib.contenttypes.models import ContentType
    from django.db import connections

    said = io.StringIO()
    try:
        with contextlib.redirect_stdout(said):
            exec(compile(code, "<asked>", "exec"), {"__name__": "asked"})
    except Exception:
        return {"failed": traceback.format_exc()}
    finally:
        connections.close_all()
        ContentType.objects.clear_cache()
    return {"said": said.getvalue()}


def main() -> None:
    import django

    django.setup()
    for line in sys.stdin:
        print(json.dumps(_answer(json.loads(line))), flush=True)


if __name__ == "__main__":
    main()
