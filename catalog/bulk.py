"""Which records can be worked on many at once, and how; each app declares its own when it is ready."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass, field
from typing import Any

from django.core.exceptions import ObjectDoesNotExist
from django.db.models import Model, QuerySet

MOST = 5000
"""Records of one action: more would keep everybody else's saving waiting."""


@dataclass(frozen=True, slots=True)
class Deed:
    """Something done to many records: which columns it moves and how; ``words`` say it of a number of records."""

    code: str
    """A ``BulkAction.Deed``."""
    names: tuple[str, ...]
    change: Callable[[Any], None]
    """Sets the columns of one row, unsaved; may leave a row as it is."""
    words: Callable[[int], str]
    money: str = ""
    """The column of money it moves, whose totals are told before and after."""


@dataclass(frozen=True, slots=True)
class Onward:
    """A page elsewhere that goes on with picked records: it reads the same entries as the page of deeds."""

    code: str
    title: Any
    words: Any
    press: Any
    address: str
    may: Callable[[Any], bool]


@dataclass(frozen=True, slots=True)
class BulkType:
    """Records of one kind that can be picked from their list."""

    about: str
    section: str
    """Which list of the catalogue they stand in; empty for a list elsewhere."""
    plural: Any
    model: type[Model]
    rows: Callable[[Any], QuerySet[Any]]
    filterset: Any
    list_name: str
    page_name: str
    may: Callable[[Any], bool]
    forms: tuple[Any, ...] = ()
    """Forms of what can be done besides retiring and taking back; each makes a :class:`Deed`."""
    uses: list[Callable[[Sequence[int]], str]] = field(default_factory=list)
    """What still uses records with these keys, in words; empty when nothing does."""
    onward: list[Onward] = field(default_factory=list)
    """Pages of the apps above that go on with what is picked."""


TYPES: dict[str, BulkType] = {}


class UnknownBulkType(ObjectDoesNotExist):
    """Nothing of this name can be worked on in bulk."""


def declare(one: BulkType) -> None:
    TYPES[one.about] = one


def get(about: str) -> BulkType:
    """The declared kind, or :class:`UnknownBulkType`."""
    try:
        return TYPES[about]
    except KeyError:
        raise UnknownBulkType(about) from None


def used_by(about: str, words: Callable[[Sequence[int]], str]) -> None:
    """Let an app above say what of it still uses these records."""
    get(about).uses.append(words)


def leads_on(about: str, onward: Onward) -> None:
    """Let an app above go on with picked records."""
    get(about).onward.append(onward)


def uses_of(one: BulkType, keys: Iterable[int]) -> list[str]:
    """What still uses these records, each in a phrase."""
    found = list(keys)
    return [words for tell in one.uses if found and (words := tell(found))]
