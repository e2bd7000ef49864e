"""Numbers of jobs and quotes: a counter row bumped in the transaction that uses the number."""

from __future__ import annotations

from django.db import transaction
from django.db.models import F
from django.utils import timezone

from fitouts.models import Counter


def next_number(name: str, prefix: str = "") -> str:
    """Return the next number of a series, as ``26-0417`` (year, running) after ``prefix``.

    Must run inside the transaction that uses it, so that a number is neither lost nor given twice: the row is
    bumped by the database and read back under its lock.
    """
    if not transaction.get_connection().in_atomic_block:
        raise RuntimeError("next_number() belongs inside the transaction that uses the number")
    year = timezone.localdate().year
    series = f"{name}-{year}"
    Counter.objects.get_or_create(name=series)
    Counter.objects.filter(name=series).update(last=F("last") + 1)
    last = Counter.objects.get(name=series).last
    return f"{prefix}{year % 100:02d}-{last:04d}"
