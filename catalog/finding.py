"""What can be found by typing words, and the index of those words.

Each app declares its findable records when it is ready; an app above may be found without being known here. The index
follows every save and removal through one hook for each declared model, connected here and nowhere else: records are
written by some forty services and by their histories' undoing, and one forgotten call would lose a record without a
word. The hook runs inside the service's transaction. What writes many rows past ``save()`` (bulk_create, bulk_update,
update) calls :func:`index_rows` itself; ``manage.py index_words --check`` tells whether anything was forgotten.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass
from itertools import islice
from typing import Any

from django.db import connection
from django.db.models import Model, QuerySet
from django.db.models.signals import post_delete, post_save

from catalog.finding_words import asked_words, compact, kept_words
from catalog.models import SearchWord

BATCH = 500


@dataclass(frozen=True, slots=True)
class Hit:
    """One record as it stands among others that were found."""

    words: str
    sub: str
    url: str
    """Where it is opened; empty for who may not open it."""
    off: bool = False
    """Retired, removed or erased: dimmed, and after all others."""


@dataclass(frozen=True, slots=True)
class Findable:
    """How the records of one model are found and shown."""

    about: str
    label: Any
    model: type[Model]
    texts: Callable[[Any], Iterable[object]]
    """Words in any order."""
    line: Callable[[Any, Any], Hit]
    visible: Callable[[Any], QuerySet[Any]]
    keys: Callable[[Any], Iterable[object]]
    """Numbers that name one record: registration, serial, part number. An exact one comes first."""
    related: tuple[str, ...]
    """What ``texts`` and ``line`` read beside the row."""
    page: str
    """Name of the address that opens one, for the recent ones; empty when it has none of its own."""

    def words_of(self, row: Any) -> frozenset[str]:
        return kept_words(self.texts(row), self.keys(row))

    def rows(self) -> QuerySet[Any]:
        rows: QuerySet[Any] = self.model._default_manager.order_by("pk")
        return rows.select_related(*self.related) if self.related else rows


FINDABLE: dict[str, Findable] = {}
"""By what they are about, in the order in which equals are shown."""
FOLLOWERS: dict[str, dict[str, Callable[[Any], QuerySet[Any]]]] = defaultdict(dict)
"""By what changed, then by what follows: which records hold words of it."""


def _none(row: Any) -> Any:
    return ()


def findable(
    about: str,
    model: type[Model],
    *,
    label: Any,
    texts: Callable[[Any], Iterable[object]],
    line: Callable[[Any, Any], Hit],
    visible: Callable[[Any], QuerySet[Any]],
    keys: Callable[[Any], Iterable[object]] = _none,
    related: tuple[str, ...] = (),
    page: str = "",
) -> None:
    """Declare records to be found and keep their words true from now on. Called from ``AppConfig.ready``."""
    FINDABLE[about] = Findable(about, label, model, texts, line, visible, keys, related, page)

    def saved(instance: Any, **kwargs: Any) -> None:
        index_rows(about, [instance])

    def removed(instance: Any, **kwargs: Any) -> None:
        forget(about, [instance.pk])

    post_save.connect(saved, sender=model, weak=False, dispatch_uid=f"find {about}")
    post_delete.connect(removed, sender=model, weak=False, dispatch_uid=f"find {about}")


def follows(about: str, changed: str, rows: Callable[[Any], QuerySet[Any]]) -> None:
    """Declare that records hold words of another: a vehicle is found by its owner's name too."""
    FOLLOWERS[changed][about] = rows


# --- The index -------------------------------------------------------------------------------------------


def index_rows(about: str, rows: Iterable[Any]) -> int:
    """Bring the words of these rows up to date; return how many words came or went. Unknown ``about``: ``KeyError``.

    Two statements for 500 rows that are as they were. Rows that hold words of a changed one follow.
    """
    one, moved = FINDABLE[about], 0
    follow: dict[str, set[int]] = defaultdict(set)
    for batch in _batches(rows):
        changed, count = _write(one, batch)
        moved += count
        for row in changed:
            for other, theirs in FOLLOWERS[about].items():
                follow[other].update(theirs(row).order_by().values_list("pk", flat=True))
    for other, keys in follow.items():
        for some in _batches(sorted(keys)):
            moved += index_rows(other, FINDABLE[other].rows().filter(pk__in=some))
    return moved


def _write(one: Findable, rows: Sequence[Any]) -> tuple[list[Any], int]:
    """The rows whose words moved, and by how many words."""
    missing, gone = differences(one, rows)
    SearchWord.objects.bulk_create(missing, batch_size=BATCH, ignore_conflicts=True)
    for some in _batches(gone):
        SearchWord.objects.filter(pk__in=[word.pk for word in some]).delete()
    moved = {word.row_id for word in (*missing, *gone)}
    return [row for row in rows if row.pk in moved], len(missing) + len(gone)


def differences(one: Findable, rows: Sequence[Any]) -> tuple[list[SearchWord], list[SearchWord]]:
    """Words that the index lacks for these rows, and words it has too many."""
    stored: dict[int, dict[str, SearchWord]] = defaultdict(dict)
    for word in SearchWord.objects.filter(about=one.about, row_id__in=[row.pk for row in rows]):
        stored[word.row_id][word.word] = word
    missing, gone = [], []
    for row in rows:
        wanted, has = one.words_of(row), stored[row.pk]
        missing += [SearchWord(word=w, about=one.about, row_id=row.pk) for w in sorted(wanted - has.keys())]
        gone += [has[w] for w in sorted(has.keys() - wanted)]
    return missing, gone


def forget(about: str, keys: Iterable[int]) -> None:
    """Drop all words of records that are gone."""
    for some in _batches(keys):
        SearchWord.objects.filter(about=about, row_id__in=some).delete()


def index_all(*, check: bool = False, tell: Callable[[str, int, int], None] = lambda *_: None) -> int:
    """Bring the whole index up to date, or only count what is wrong in it; return how many words that is.

    ``tell`` hears of each kind: what about, how many records, how many words were wrong.
    """
    wrong = 0
    for one in FINDABLE.values():
        rows = own = 0
        for batch in _batches(one.rows().iterator(BATCH)):
            missing, gone = differences(one, batch)
            rows, own = rows + len(batch), own + len(missing) + len(gone)
            if not check and (missing or gone):
                _write(one, batch)
        there = one.model._default_manager.order_by().values("pk")
        orphans = SearchWord.objects.filter(about=one.about).exclude(row_id__in=there)
        own += orphans.count() if check else orphans.delete()[0]
        tell(one.about, rows, own)
        wrong += own
    strangers = SearchWord.objects.exclude(about__in=list(FINDABLE))
    return wrong + (strangers.count() if check else strangers.delete()[0])


def index_if_empty() -> bool:
    """Fill the index of a database that had records before it had an index; return whether that was needed."""
    if SearchWord.objects.exists():
        return False
    return index_all() > 0


def _batches(rows: Iterable[Any]) -> Iterator[list[Any]]:
    over = iter(rows)
    while batch := list(islice(over, BATCH)):
        yield batch


# --- Lists -----------------------------------------------------------------------------------------------


def begins_with(word: str) -> dict[str, str]:
    """Conditions for words that begin so, in the form that each database looks up in the index."""
    if connection.vendor == "postgresql":
        return {"word__startswith": word}
    return {"word__gte": word, "word__lt": word + "\U0010ffff"}


def keys_with(about: str, word: str) -> QuerySet[Any]:
    """Keys of the records of a kind that have a word beginning so, for ``pk__in``."""
    return SearchWord.objects.filter(about=about, **begins_with(word)).values("row_id")


def matching(rows: QuerySet[Any], about: str, text: str) -> QuerySet[Any]:
    """Rows with a word beginning with each word of ``text``; all of them when there is no text."""
    words = asked_words(text)
    if not words:
        return rows.none() if text.strip() else rows
    for word in words:
        rows = rows.filter(pk__in=keys_with(about, word))
    return rows


def is_key(one: Findable, row: Any, asked: str) -> bool:
    """Whether what was typed is, whole, a number that names this record."""
    return bool(asked) and any(compact(key) == asked for key in one.keys(row) if key)
