"""Find anything: one line of words, every kind of record, the best first.

Two statements look into the index, whatever is typed and however much is stored, and one for each kind reads the rows
that are shown. A beginning that very many words share is not read to its end: the search starts from the rarest word
and says when there was more.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from django.db import connection

from catalog.finding import FINDABLE, Findable, Hit, is_key
from catalog.finding_words import asked_words, compact
from catalog.models import SearchWord
from catalog.recent import recent_keys

LOOKED_THROUGH = 4000
"""Words of one kind of record that are followed from one beginning."""
PAGE = 50
FEW = 8


@dataclass(frozen=True, slots=True)
class Found:
    """A record that was found, or opened lately."""

    about: str
    label: Any
    pk: int
    hit: Hit

    @property
    def id(self) -> str:
        """Its name among the suggestions of a page."""
        return f"found-{self.about}-{self.pk}"


@dataclass(frozen=True, slots=True)
class Answer:
    hits: tuple[Found, ...]
    more: bool = False
    """There is more that begins so than was looked through or is shown."""


def find(user: Any, text: str, limit: int = PAGE) -> Answer:
    """The records this person may see in which every word of ``text`` is found, the best first.

    An exact number first, then records with all words whole, then those whose words only begin so; what this person
    had open lately before others as good; retired ones last.
    """
    words = asked_words(text)
    if not words:
        return Answer(())
    keys, more = _candidates(words, compact(text), limit)
    lately = recent_keys(user)
    recent: dict[str, set[int]] = defaultdict(set)
    for about, key in lately:
        recent[about].add(key)
    ranked = []
    for place, (about, one) in enumerate(FINDABLE.items()):
        found, known = keys.get(about, set()), recent[about]
        if found or known:
            for row in _shown(one, user, found | known):
                if row.pk not in found and not _has_all(one, row, words):
                    continue
                hit = one.line(row, user)
                rank = _rank(one, row, words, compact(text))
                order = (hit.off, rank, lately.get((about, row.pk), len(lately)), place, hit.words.casefold(), row.pk)
                ranked.append((order, Found(about, one.label, row.pk, hit)))
    ranked.sort(key=lambda pair: pair[0])
    return Answer(tuple(found for _order, found in ranked[:limit]), more or len(ranked) > limit)


def opened(user: Any, limit: int) -> tuple[Found, ...]:
    """What this person had open last, the latest first."""
    lately = recent_keys(user)
    keys: dict[str, list[int]] = defaultdict(list)
    for about, pk in lately:
        keys[about].append(pk)
    found = [
        (lately[about, row.pk], Found(about, one.label, row.pk, one.line(row, user)))
        for about, one in FINDABLE.items()
        if about in keys
        for row in _shown(one, user, keys[about])
    ]
    return tuple(one for _place, one in sorted(found, key=lambda pair: pair[0])[:limit])


def _shown(one: Findable, user: Any, keys: Iterable[int]) -> Iterable[Any]:
    rows = one.visible(user).filter(pk__in=list(keys))
    return rows.select_related(*one.related) if one.related else rows


def _has_all(one: Findable, row: Any, words: Sequence[str]) -> bool:
    has = one.words_of(row)
    return all(any(known.startswith(word) for known in has) for word in words)


def _rank(one: Findable, row: Any, words: Sequence[str], whole: str) -> int:
    if is_key(one, row, whole):
        return 0
    has = one.words_of(row)
    return 1 if all(word in has for word in words) else 2


# --- Statements ------------------------------------------------------------------------------------------
# Written out, because SQLite takes no LIMIT inside a UNION that Django writes, and each kind needs its own.

TABLE = SearchWord._meta.db_table


def _begins(alias: str, word: str) -> tuple[str, list[str]]:
    if connection.vendor == "postgresql":
        return f"{alias}.word LIKE %s", [word + "%"]  # a word has letters and digits alone, nothing to escape
    return f"{alias}.word >= %s AND {alias}.word < %s", [word, word + "\U0010ffff"]


def _candidates(words: Sequence[str], whole: str, limit: int) -> tuple[Mapping[str, set[int]], bool]:
    """Keys by kind, at most ``limit`` each and those with an exact word among them; whether there were more."""
    counts = _counts(words) if len(words) > 1 else {}
    parts: list[str] = []
    params: list[Any] = []
    for about in FINDABLE:
        rare = min(words, key=lambda word: (counts.get((about, word), 0), -len(word)))
        others = [word for word in words if word != rare]
        if len(words) > 1 and not counts[about, rare]:
            continue
        # whole words first: they must not drown among a thousand that only begin so
        for condition, word in (("b.word = %s", [rare]), _begins("b", rare)):
            sql, own = _rows_with(about, condition, word, others)
            parts.append(f"SELECT * FROM ({sql} LIMIT {int(limit) + 1}) AS part")  # noqa: S608  (a number)
            params += own
    if len(words) > 1:  # the typed line as one number: 12 34 56 of a serial
        for about in FINDABLE:
            parts.append(f"SELECT '{about}' AS about, row_id FROM {TABLE} WHERE about = %s AND word = %s")  # noqa: S608
            params += [about, whole]
    found: dict[str, set[int]] = defaultdict(set)
    with connection.cursor() as cursor:
        cursor.execute(" UNION ALL ".join(parts), params)
        for about, key in cursor.fetchall():
            found[about].add(key)
    more = any(len(keys) > limit for keys in found.values())
    cut = bool(counts) and any(min(counts[about, word] for word in words) > LOOKED_THROUGH for about in FINDABLE)
    return found, more or cut


def _rows_with(about: str, condition: str, own: Sequence[str], others: Sequence[str]) -> tuple[str, list[Any]]:
    """Keys of the rows whose rarest word meets the condition and that have the others too."""
    sql, params = _with_others(about, others)
    inner = f"SELECT row_id FROM {TABLE} b WHERE b.about = %s AND {condition} LIMIT {LOOKED_THROUGH}"  # noqa: S608
    outer = f"SELECT DISTINCT '{about}' AS about, w.row_id FROM ({inner}) AS w WHERE 1 = 1{sql}"  # noqa: S608
    return outer, [about, *own, *params]


def _with_others(about: str, others: Sequence[str]) -> tuple[str, list[Any]]:
    sql, params = "", []
    for word in others:
        condition, own = _begins("o", word)
        sql += f" AND EXISTS (SELECT 1 FROM {TABLE} o WHERE o.about = %s AND o.row_id = w.row_id AND {condition})"  # noqa: S608
        params += [about, *own]
    return sql, params


def _counts(words: Sequence[str]) -> dict[tuple[str, str], int]:
    """How many words of each kind begin so, counted no further than is looked through, in one statement."""
    asked = [(about, word) for about in FINDABLE for word in words]
    parts, params = [], []
    for about, word in asked:
        condition, own = _begins("c", word)
        parts.append(
            f"(SELECT count(*) FROM (SELECT 1 FROM {TABLE} c WHERE c.about = %s AND {condition} "  # noqa: S608
            f"LIMIT {LOOKED_THROUGH + 1}) AS few)"
        )
        params += [about, *own]
    with connection.cursor() as cursor:
        cursor.execute(f"SELECT {', '.join(parts)}", params)
        return dict(zip(asked, cursor.fetchone(), strict=True))
