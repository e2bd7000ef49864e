"""What watches the system: inputs enough of each kind, and the sensors that they read.

The inputs of what is chosen anyway come first: monitor, switching modules, chargers. Only for what they lack is a
further part chosen that reads and does nothing else to the system. An input is counted by its kind (``voltage``,
``resistance``, ``temperature``, ``current``, ``digital``), whatever part has it.
"""

from __future__ import annotations

import math
from collections import Counter, defaultdict
from collections.abc import Iterable
from dataclasses import dataclass
from decimal import Decimal

from catalog.kinds.capabilities import (
    Capability,
    Converting,
    CurrentSensing,
    EngineCharging,
    Inverting,
    MainsCharging,
    Monitoring,
    Sensing,
    SolarControl,
    Storage,
    TankSensing,
    TemperatureSensing,
)
from quoting.sizing.appraisal import Chosen, Shortfall
from quoting.sizing.brief import Brief
from quoting.sizing.brief_wiring import INPUT_OF, Sense, Watched
from quoting.sizing.errors import SizingError
from quoting.sizing.one_piece import pieces
from quoting.sizing.parts import Able, Catalogue, chosen_of, short
from quoting.sizing.topology import position
from quoting.sizing.trace import Finding

SENSOR_OF: dict[Watched, type[Capability]] = {
    "tank": TankSensing,
    "temperature": TemperatureSensing,
    "current": CurrentSensing,
}
"""What a sensor must be able to tell. A voltage and a contact are read as they are."""

SAID: dict[Watched, str] = {
    "tank": "the level of a tank",
    "temperature": "a temperature",
    "voltage": "a voltage",
    "current": "a current",
    "digital": "a contact",
}

MORE_THAN_READS = (Storage, EngineCharging, MainsCharging, SolarControl, Inverting, Converting, Monitoring)
"""What a part that is chosen for its inputs alone must not be: it would have to be wired as something else."""

READ_BY_RESISTANCE = "resistance"
"""Form of temperature sensor that an input for temperatures reads unless its maker says otherwise. C"""


@dataclass(frozen=True, slots=True)
class Unit:
    """One piece of a part with sensing inputs."""

    number: int
    """From 1, in the order of the chosen parts."""
    chosen: Chosen
    piece: int
    """Which of several pieces of the same part, from 0."""
    inputs: dict[str, int]
    """Kind of input -> how many."""


def units_of(parts: Catalogue, chosen: Iterable[Chosen]) -> list[Unit]:
    """Every piece of the chosen parts that has inputs, in their order."""
    found: list[Unit] = []
    for one in pieces(chosen):
        if parts.has(one.part, Sensing):
            inputs = dict(parts.can(one.part, Sensing).inputs)
            found += [Unit(len(found) + 1 + i, one, i, inputs) for i in range(one.quantity)]
    return found


def wanted(brief: Brief) -> Counter[str]:
    """Inputs asked by kind, with the policy's spare ones of every kind that is used at all."""
    asked = Counter(INPUT_OF[sense.what] for sense in brief.senses)
    return Counter({kind: count + brief.policy.spare_inputs for kind, count in asked.items()})


def lacking(brief: Brief, units: Iterable[Unit]) -> Counter[str]:
    """Inputs that are asked and not there, by kind."""
    have: Counter[str] = Counter()
    for unit in units:
        have.update(unit.inputs)
    return wanted(brief) - have


def choose_sensing(brief: Brief, parts: Catalogue, chosen: Iterable[Chosen]) -> Chosen | Shortfall | None:
    """One further model whose inputs make up for what the chosen parts lack; the most kinds first, then the cheapest.

    ``None``: nothing is lacking, or nothing in the catalogue helps. What is lacking still is told by
    :func:`shortfalls_of`.
    """
    missing = lacking(brief, units_of(parts, chosen))
    if not missing:
        return None
    rows: list[tuple[int, Decimal, float, str, Able[Sensing], int]] = []
    for able in parts.having(Sensing):
        if any(isinstance(can, MORE_THAN_READS) for can in parts.all(able.part.key)):
            continue
        inputs = dict(able.can.inputs)
        helps = [kind for kind in missing if inputs.get(kind)]
        if helps:
            pieces = max(math.ceil(missing[kind] / inputs[kind]) for kind in helps)
            rows.append((-len(helps), able.cost * pieces, able.part.mass_kg * pieces, able.part.key, able, pieces))
    rows.sort(key=lambda row: row[:4])
    if not rows:
        return None
    *_, best, pieces = rows[0]
    second = rows[1][4].part.name if len(rows) > 1 else ""
    return chosen_of("sensing", ("sensing",), best, second, quantity=pieces)


def shortfalls_of(brief: Brief, parts: Catalogue, chosen: Iterable[Chosen]) -> list[Shortfall]:
    """By kind of input, how many are lacking when everything is chosen."""
    units = units_of(parts, chosen)
    asked = wanted(brief)
    found = []
    for kind, count in lacking(brief, units).items():
        have = sum(unit.inputs.get(kind, 0) for unit in units)
        holder = next((unit.chosen for unit in units if unit.inputs.get(kind)), None)
        best = Able(parts.part(holder.part), parts.can(holder.part, Sensing)) if holder else None
        found.append(
            short(
                "too_small", "sensing", f"inputs_{kind}", best=best, best_value=float(have), asked=float(asked[kind]),
                rule="inputs", kind=kind, lacking=count, spare=brief.policy.spare_inputs,
            )
        )  # fmt: skip
    return found


def choose_sensors(
    brief: Brief, parts: Catalogue, main_a: float
) -> tuple[list[Chosen | Shortfall], list[Finding], dict[str, str]]:
    """The sensor of everything watched that wants one: as named, else the cheapest that can tell it.

    Parameters
    ----------
    brief : Brief
        What is watched.
    parts : Catalogue
        Where sensors come from.
    main_a : float
        Current of the battery's conductor: a shunt that nobody named carries that. [A]

    Returns
    -------
    tuple
        Chosen parts and shortfalls; findings; the part's key by the sense's key.

    Raises
    ------
    SizingError
        If a named part is not in the catalogue or cannot tell what is watched.
    """
    said: list[Finding] = []
    by_part: dict[str, list[Sense]] = defaultdict(list)
    missing: dict[Watched, list[Sense]] = defaultdict(list)
    for index, sense in enumerate(brief.senses):
        found = _named(parts, sense, index) if sense.part else _cheapest(brief, parts, sense, main_a)
        if found is not None:
            by_part[found].append(sense)
            said += _to_check(parts, sense, found)
        elif sense.what in SENSOR_OF:
            missing[sense.what].append(sense)
    rows: list[Chosen | Shortfall] = [_counted(parts, key, senses) for key, senses in by_part.items()]
    rows += [_no_sensor(parts, what, senses) for what, senses in missing.items()]
    return rows, said, {sense.key: key for key, senses in by_part.items() for sense in senses}


def _counted(parts: Catalogue, key: str, senses: list[Sense]) -> Chosen:
    able = Able(parts.part(key), parts.can(key, SENSOR_OF[senses[0].what]))
    return chosen_of("sensor", ("sensor",), able, "", quantity=len(senses))


def _no_sensor(parts: Catalogue, what: Watched, senses: list[Sense]) -> Shortfall:
    models = parts.having(SENSOR_OF[what])
    names = ", ".join(sense.name for sense in senses)
    return short(
        "no_match" if models else "none_of_kind", "sensor", f"watched_{what}", best=models[0] if models else None,
        asked=float(len(senses)), names=names,
    )  # fmt: skip


def _named(parts: Catalogue, sense: Sense, index: int) -> str:
    """The named sensor, if it can tell what is watched."""
    assert sense.part is not None
    where, wanted_can = f"senses[{index}].part", SENSOR_OF.get(sense.what)
    try:
        name = parts.part(sense.part).name
    except KeyError:
        raise SizingError(
            where, value=sense.part, code="not_a_choice", message=f"{sense.part!r} is not in the catalogue"
        ) from None
    if wanted_can is None or not parts.has(sense.part, wanted_can):
        reads = "is read without a sensor" if wanted_can is None else f"cannot be told by {name!r}"
        raise SizingError(where, value=sense.part, code="conflict", message=f"{SAID[sense.what]} {reads}")
    return sense.part


def _cheapest(brief: Brief, parts: Catalogue, sense: Sense, main_a: float) -> str | None:
    """The cheapest sensor that stands the air where it sits and tells it in the usual way; any fluid before one."""
    kind = SENSOR_OF.get(sense.what)
    if kind is None:
        return None
    hottest_c = position(brief.vehicle, sense.position).ambient_c
    fits = [able for able in parts.having(kind) if _suits(able.can, hottest_c, main_a)]
    best = min(fits, key=lambda able: (_fluid(able.can) != "any", able.order), default=None)
    return best.part.key if best else None


def _suits(can: Capability, hottest_c: float, main_a: float) -> bool:
    if isinstance(can, CurrentSensing):
        return can.most_a >= main_a
    if isinstance(can, TemperatureSensing):
        return can.form == READ_BY_RESISTANCE and can.max_c >= hottest_c
    return True


def _fluid(can: Capability) -> str:
    return can.fluid if isinstance(can, TankSensing) else "any"


def _to_check(parts: Catalogue, sense: Sense, key: str) -> list[Finding]:
    """What must be seen to before the sensor is ordered: nobody said which fluid, depth, current or signal."""
    name, can = parts.part(key).name, parts.can(key, SENSOR_OF[sense.what])
    found = []
    if not sense.part and sense.what != "temperature":
        found.append(("info", f"sensor_to_check_{sense.what}"))
    if isinstance(can, TemperatureSensing) and can.form != READ_BY_RESISTANCE:
        found.append(("warning", "sensor_other_signal"))
    return [
        Finding(level=level, code=code, subject=sense.key, params={"name": sense.name, "part": name})  # type: ignore[arg-type]
        for level, code in found
    ]
