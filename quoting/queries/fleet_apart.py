"""Which vehicles of a fleet came out otherwise than the rest, and in what. Pure: facts in, sentences out."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Iterator, Mapping, Sequence
from typing import Any

from django.utils.translation import gettext as _

from catalog.quantities import format_quantity
from quoting.wording.roles import role_words

Facts = Mapping[str, Any]
SAME_RUN_M = 0.25
"""A way that differs by less is not told as the reason for another cable. [m] Workshop practice: a hand's breadth."""


def apart(all_facts: Sequence[Facts]) -> list[list[str]]:
    """For each vehicle how it differs from what most have; of equally many, from what the first of them has.

    ``all_facts`` are those of ``quoting.services.fleet_facts``. A fleet of one differs from nobody.
    """
    usual_vehicle = _usual(facts["vehicle"] for facts in all_facts)
    usual_parts = _usual(_parts(facts) for facts in all_facts)
    usual_circuits = _usual(facts["circuits"] for facts in all_facts)
    return [
        [
            *_of_vehicle(facts["vehicle"], usual_vehicle),
            *_of_parts(_parts(facts), usual_parts),
            *_of_circuits(facts["circuits"], usual_circuits),
        ]
        for facts in all_facts
    ]


def _parts(facts: Facts) -> dict[str, str]:
    """By role, what is there for it in words."""
    return {
        role: ", ".join(f"{many} × {name}" if many > 1 else name for many, name in there)
        for role, there in facts["parts"].items()
    }


def _usual(sides: Iterable[Mapping[str, Any]]) -> dict[str, Any]:
    """For each name the value that most have; ``None`` where most have none."""
    rows = list(sides)
    names = dict.fromkeys(name for row in rows for name in row)
    return {name: _commonest([row.get(name) for row in rows]) for name in names}


def _commonest(values: Sequence[Any]) -> Any:
    by_words = {repr(_marks(value)): value for value in reversed(values)}
    return by_words[Counter(repr(_marks(value)) for value in values).most_common(1)[0][0]]


def _marks(value: Any) -> Any:
    """What of a value makes it another one: of a circuit its conductor and its protection, not its length."""
    return (value["area_mm2"], value["rating_a"]) if isinstance(value, Mapping) else value


VEHICLE_WORDS = {
    "nominal_v": (lambda: _("System voltage"), "V"),
    "alternator_a": (lambda: _("Alternator"), "A"),
}


def _of_vehicle(mine: Mapping[str, Any], usual: Mapping[str, Any]) -> Iterator[str]:
    for name, (label, unit) in VEHICLE_WORDS.items():
        if mine.get(name) != usual.get(name):
            yield _in_place_of(label(), _quantity(mine.get(name), unit), _quantity(usual.get(name), unit))
    if mine.get("alternator_control") != usual.get("alternator_control"):
        yield _("The alternator is controlled otherwise.")


def _of_parts(mine: Mapping[str, str], usual: Mapping[str, str | None]) -> Iterator[str]:
    for role, most in usual.items():
        if mine.get(role) != most:
            yield _in_place_of(role_words(role), mine.get(role) or _("nothing"), most or _("nothing"))


def _of_circuits(mine: Mapping[str, Any], usual: Mapping[str, Any]) -> Iterator[str]:
    for key, most in usual.items():
        here = mine.get(key)
        if here is None and most is not None:
            yield _("“%(name)s”: no such circuit.") % {"name": most["name"]}
        elif most is None and here is not None:
            yield _("“%(name)s”: a circuit that the others do not have.") % {"name": here["name"]}
        elif here is not None and most is not None and _marks(here) != _marks(most):
            yield _circuit(here, most)


def _circuit(here: Mapping[str, Any], most: Mapping[str, Any]) -> str:
    said = []
    if here["area_mm2"] != most["area_mm2"]:
        said.append(_pair(here["area_mm2"], most["area_mm2"], "mm²"))
    if here["rating_a"] != most["rating_a"]:
        said.append(_("protected by %(pair)s") % {"pair": _pair(here["rating_a"], most["rating_a"], "A")})
    gap_m = here["run_m"] - most["run_m"]
    way = _("longer way") if gap_m >= SAME_RUN_M else _("shorter way") if gap_m <= -SAME_RUN_M else ""
    if way:
        said.append(_("%(way)s, %(pair)s") % {"way": way, "pair": _pair(here["run_m"], most["run_m"], "m")})
    return _("%(name)s: %(how)s.") % {"name": here["name"], "how": "; ".join(said)}


def _pair(here: float | None, most: float | None, unit: str) -> str:
    return _("%(here)s in place of %(most)s") % {"here": _quantity(here, unit), "most": _quantity(most, unit)}


def _in_place_of(label: str, here: str, most: str) -> str:
    return _("%(label)s: %(here)s in place of %(most)s.") % {"label": label, "here": here, "most": most}


def _quantity(value: float | None, unit: str) -> str:
    return _("none") if value is None else str(format_quantity(value, unit))
