"""Text as words to find it by: small letters without accents, numbers typed with or without what parts them.

Pure. A record keeps, for each piece of text between spaces, what is left of it from each letter or number on:
``LD-12-100`` gives ``ld12100``, ``12100``, ``100``. A typed word finds every record with a word that begins with it,
so ``ld12``, ``12-1`` and ``100`` all find that part, and ``417V`` finds the plate KF 417 V.
"""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Iterable

from catalog.quantities import UNITS

LONGEST = 40
"""Characters of a word; the column takes no more."""
MOST_KEPT = 160
"""Words of one record."""
MOST_ASKED = 6
"""Words of a search that are looked at."""
MOST_TEXT = 400
"""Characters of one text that are looked at."""
PHONE_DIGITS = 6
"""From here on, a search of digits that begins as a phone number does is one number however it is spaced."""

_GROUP = re.compile(r"\d+|[^\W\d_]+")
_PARTED = re.compile(r"\s+|(?<!\d)[,;]|[,;](?!\d)")
_UNITS = frozenset(name.casefold() for name in UNITS if name.isalpha() and len(name) <= 3)


def folded(text: object) -> str:
    """Small letters without accents, wide and joined characters as plain ones.

    >>> folded("Œuvre Ångström ﬁ ²")
    'œuvre angstrom fi 2'
    """
    plain = unicodedata.normalize("NFKD", unicodedata.normalize("NFKD", str(text)[:MOST_TEXT]).casefold())
    return "".join(c for c in plain if not unicodedata.combining(c))


def groups(text: str) -> list[str]:
    """Runs of letters and runs of digits of folded text.

    >>> groups("ld-12x100")
    ['ld', '12', 'x', '100']
    """
    return _GROUP.findall(text)


def compact(text: object) -> str:
    """All letters and digits of a text together: how keys are compared.

    >>> compact("KF 417 V") == compact("kf-417v")
    True
    """
    return "".join(groups(folded(text)))[:LONGEST]


def kept_words(texts: Iterable[object], keys: Iterable[object] = ()) -> frozenset[str]:
    """What a record is found by. ``keys`` (numbers of all kinds) are one word each, whatever is between their parts.

    >>> sorted(kept_words(["Orrin 12 V"], ["KF 417 V"]))
    ['12', '12v', '417v', 'kf417v', 'orrin', 'v']
    """
    found: dict[str, None] = {}
    for key in keys:
        parts = groups(folded(key))
        found.update(dict.fromkeys("".join(parts[i:])[:LONGEST] for i in range(len(parts))))
    for text in texts:
        chunks = [parts for chunk in _PARTED.split(folded(text)) if (parts := groups(chunk))]
        for at, parts in enumerate(chunks):
            found.update(dict.fromkeys("".join(parts[i:])[:LONGEST] for i in range(len(parts))))
            if at + 1 < len(chunks) and _go_together(parts, chunks[at + 1]):
                after = "".join(chunks[at + 1])
                found.update(dict.fromkeys(("".join(parts[i:]) + after)[:LONGEST] for i in range(len(parts))))
    return frozenset(list(found)[:MOST_KEPT])


def _go_together(one: list[str], after: list[str]) -> bool:
    """A number and what follows it (12 V), a few letters and a number (LD 12-100)."""
    if one[-1].isdecimal():
        return not after[0].isdecimal()
    return len(one) == 1 and len(one[0]) <= 3 and after[0].isdecimal()


def asked_words(text: object) -> tuple[str, ...]:
    """The words of a search; each must begin a word of a record. A number keeps its unit: "12 V" is one word.

    >>> asked_words("Larkham, 12 V 100-A")
    ('larkham', '12v', '100a')
    >>> asked_words("(08) 5550 0123")
    ('0855500123',)
    """
    plain = folded(text).strip()
    if re.fullmatch(r"[+(]?[0+][\d\s()/.-]*", plain) and sum(c.isdecimal() for c in plain) >= PHONE_DIGITS:
        return ("".join(groups(plain))[:LONGEST],)
    words: list[str] = []
    for chunk in _PARTED.split(plain):
        parts = groups(chunk)
        if not any(part.isdecimal() for part in parts):
            if len(parts) == 1 and words and words[-1].isdecimal() and parts[0] in _UNITS:
                words[-1] += parts[0]
            else:
                words.extend(parts)
        else:
            words.append("".join(parts))
    return tuple(dict.fromkeys(word[:LONGEST] for word in words))[:MOST_ASKED]
