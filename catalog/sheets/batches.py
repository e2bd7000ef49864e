"""Some at a time."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from itertools import islice
from typing import TypeVar

Item = TypeVar("Item")


def batches(items: Iterable[Item], size: int) -> Iterator[list[Item]]:
    """The items in lists of ``size``, the last one shorter.

    >>> list(batches("abcde", 2))
    [['a', 'b'], ['c', 'd'], ['e']]
    """
    rest = iter(items)
    while batch := list(islice(rest, size)):
        yield batch
