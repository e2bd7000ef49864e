"""The Brief's catalogue as capabilities: who can do what, cheapest first."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from copy import copy
from dataclasses import dataclass
from decimal import Decimal
from typing import Any, Generic, TypeVar

import catalog.kinds as kinds
from catalog.kinds.capabilities import Capability
from quoting.sizing.appraisal import Chosen, Need, Shortfall
from quoting.sizing.brief import Brief, Part, Wishes
from quoting.sizing.errors import SizingError
from quoting.sizing.own_heat import in_place
from quoting.sizing.trace import Scalar

C = TypeVar("C", bound=Capability)


@dataclass(frozen=True, slots=True)
class Able(Generic[C]):
    """A part and the one capability it is looked at for."""

    part: Part
    can: C

    @property
    def cost(self) -> Decimal:
        return Decimal(self.part.cost)

    @property
    def order(self) -> tuple[Decimal, float, str]:
        """Ties are settled by cost, mass and key, so that equal Briefs give equal systems."""
        return self.cost, self.part.mass_kg, self.part.key


MOST_KEPT = 3
"""Catalogues at hand: a choice is asked for again with one wish or another left out."""


class Catalogue:
    """Parts by what they can do, banned ones left out, pinned ones first."""

    def __init__(self, brief: Brief) -> None:
        self.brief = brief
        banned, self._pinned = set(brief.wishes.banned), set(brief.wishes.pinned)
        self._by_key = _read(brief)
        self._able = [entry for entry in self._by_key.values() if entry[0].key not in banned]
        self._having: dict[type[Capability], list[Able[Any]]] = {}
        self._memo: dict[tuple[Any, ...], Any] = {}
        self._free: Catalogue | None = None

    @classmethod
    def of(cls, brief: Brief) -> Catalogue:
        """The catalogue of a Brief; the last few are kept, as one appraisal asks for it many times.

        A Brief that differs in nothing that the catalogue goes by, as those of one selection do, looks at the same.
        """
        kept = _last[0]
        if kept and kept[0].brief is brief:
            return kept[0]
        alike = next((one for one in kept if one.serves(brief)), None)
        found = alike.seen_by(brief) if alike is not None else cls(brief)
        _last[0] = (found, *(one for one in kept if one is not alike))[:MOST_KEPT]
        return found

    def serves(self, brief: Brief) -> bool:
        """Say whether another Brief has the very same catalogue, and bans, pins and surroundings to see it by."""
        mine = self.brief
        return (
            mine.catalogue is brief.catalogue
            and mine.policy is brief.policy
            and mine.vehicle is brief.vehicle
            and (mine.wishes is brief.wishes or _see_alike(mine.wishes, brief.wishes))
        )

    def seen_by(self, brief: Brief) -> Catalogue:
        """The same parts, and what was found of them, for a Brief that differs in none of what they go by."""
        view = copy(self)
        view.brief = brief
        return view

    def having(self, wanted: type[C]) -> list[Able[C]]:
        """Every part with that capability, cheapest first; only pinned ones when any of those has it."""
        if wanted not in self._having:
            found = [Able(part, c) for part, cans in self._able for c in cans if isinstance(c, wanted)]
            wished = [a for a in found if a.part.key in self._pinned]
            self._having[wanted] = sorted(wished or found, key=lambda a: a.order)
        return self._having[wanted]

    def remember(self, key: tuple[Any, ...], make: Callable[[], Any]) -> Any:
        """What was found for ``key`` before, or what ``make`` finds now: the parts do not change."""
        if key not in self._memo:
            self._memo[key] = make()
        return self._memo[key]

    def narrowed(self, key: str, to: tuple[type[Capability], ...]) -> Catalogue:
        """The same catalogue in which only one part has those capabilities: one that is kept, banned or not."""
        view = copy(self)
        only = {w: [Able(self.part(key), self.can(key, w))] if self.has(key, w) else [] for w in to}
        view._having = {**self._having, **only}
        return view

    def free(self) -> Catalogue:
        """The same catalogue with nothing banned or pinned."""
        if self._free is None:
            view = copy(self)
            view._pinned, view._having, view._memo = set(), {}, {}
            view._able = list(self._by_key.values())
            self._free = view
        return self._free

    def part(self, key: str) -> Part:
        return self._by_key[key][0]

    def can(self, key: str, wanted: type[C]) -> C:
        """The capability of a part; KeyError when it has none of that class."""
        for c in self._by_key[key][1]:
            if isinstance(c, wanted):
                return c
        raise KeyError(f"{key} has no {wanted.__name__}")

    def all(self, key: str) -> tuple[Capability, ...]:
        """Everything a part can do."""
        return self._by_key[key][1]

    def has(self, key: str, wanted: type[Capability]) -> bool:
        return any(isinstance(c, wanted) for c in self._by_key[key][1])

    def __iter__(self) -> Iterator[tuple[Part, tuple[Capability, ...]]]:
        return iter(self._able)


def _see_alike(one: Wishes, other: Wishes) -> bool:
    """Wishes that differ in the chemistries alone: those rule no part out of a catalogue."""
    return one.model_copy(update={"chemistries": other.chemistries}) == other


_last: list[tuple[Catalogue, ...]] = [()]
"""The catalogues that were asked for last, the last first. Replaced whole: threads at worst build one twice."""

Entry = tuple[Part, tuple[Capability, ...]]
_last_read: list[tuple[Brief, dict[str, Entry]] | None] = [None]
"""The parts that were read last, and a Brief that has them; as :data:`_last`."""


def _read(brief: Brief) -> dict[str, Entry]:
    """Every part of a Brief with what it can do where it sits, by key; those of the last Brief again, if they are."""
    last = _last_read[0]
    if last is not None and _same_parts(last[0], brief):
        return last[1]
    found = {}
    for index, part in enumerate(brief.catalogue):
        cans = capabilities_of(part, f"catalogue[{index}]")
        found[part.key] = part, tuple(in_place(c, brief.wishes.system_v, brief.policy) for c in cans)
    _last_read[0] = brief, found
    return found


def _same_parts(one: Brief, other: Brief) -> bool:
    same = one.catalogue is other.catalogue and one.policy is other.policy
    return same and one.wishes.system_v == other.wishes.system_v


def capabilities_of(part: Part, where: str = "catalogue") -> tuple[Capability, ...]:
    """What a part can do, its specification checked by its kind."""
    try:
        kind = kinds.get(part.kind)
        return kind.capabilities(kind.clean(part.spec))
    except kinds.UnknownKind:
        raise SizingError(f"{where}.kind", value=part.kind, code="not_a_choice", message=_no_kind(part)) from None
    except kinds.SpecError as error:
        first = error.problems[0]
        raise SizingError(
            f"{where}.spec.{first.field}",
            value=first.value,
            minimum=first.minimum,
            maximum=first.maximum,
            unit=first.unit,
            code=first.code,
            message=first.message,
        ) from None


def _no_kind(part: Part) -> str:
    return f"{part.kind!r} of {part.name!r} is not a kind of component"


def rating_of(part: Part) -> str:
    """The one-line rating of a part, from the fields its kind puts there."""
    kind = kinds.get(part.kind)
    words = []
    for field in kind.fields:
        value: Any = part.spec.get(field.name, field.default)
        if not field.in_rating or value in (None, "", [], ()):
            continue
        shown = dict(field.options).get(str(value), value)
        if field.type == "curve":
            shown = f"{shown[0][1]:g} to {shown[-1][1]:g}" if shown else ""
        if isinstance(shown, int | float) and not isinstance(shown, bool):
            shown = f"{shown:g}"
        elif isinstance(shown, list | tuple):
            shown = ", ".join(
                f"{v:g}" if isinstance(v, int | float) else str(dict(field.options).get(v, v)) for v in shown
            )
        unit = field.unit if field.unit and not str(shown).endswith(field.unit) else ""
        text = f"{shown} {unit}".rstrip()
        words.append(field.rating_words.format(text))
    return ", ".join(words)


def short(
    code: str,
    need: str,
    subject: str,
    *,
    best: Able[Any] | None = None,
    best_value: float | None = None,
    asked: float | None = None,
    unit: str = "",
    **params: float | str | bool,
) -> Shortfall:
    """Write a need that nothing meets, with the nearest and how far it is off."""
    said: dict[str, Any] = dict(params)
    said["best"] = best.part.name if best else ""
    if asked is not None:
        said["asked"] = round(asked, 3)
        said["unit"] = unit
        if best_value is not None:
            said["best_value"] = round(best_value, 3)
            said["short_by"] = round(abs(asked - best_value), 3)
    return Shortfall(need=Need(code=need, params=params), code=code, subject=subject, params=said)  # type: ignore[arg-type]


def first_fit(candidates: list[Able[C]], fits: Callable[[Able[C]], bool]) -> tuple[Able[C] | None, str]:
    """The first that fits and the name of the next that would."""
    good = [a for a in candidates if fits(a)]
    return (good[0] if good else None), (good[1].part.name if len(good) > 1 else "")


def chosen_of(
    role: str,
    serves: tuple[str, ...],
    a: Able[Any],
    runner_up: str,
    *,
    setting: dict[str, Scalar] | None = None,
    quantity: int = 1,
) -> Chosen:
    """A part as the choice for a role."""
    return Chosen(
        role=role,  # type: ignore[arg-type]
        serves=serves,
        part=a.part.key,
        name=a.part.name,
        part_number=a.part.part_number,
        quantity=quantity,
        rating=rating_of(a.part),
        mass_kg=round(a.part.mass_kg * quantity, 3),
        setting=setting or {},
        runner_up=runner_up,
    )
