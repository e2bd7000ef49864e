"""Readings the technician takes, each with what it should be, computed from the design."""

from __future__ import annotations

from catalog.kinds.capabilities import Converting, EngineCharging, MainsCharging, Panel, SolarControl
from quoting.sizing.appraisal import Circuit, Expectation
from quoting.sizing.brief import Brief
from quoting.sizing.choice import Choice
from quoting.sizing.circuits import Wiring
from quoting.sizing.parts import Catalogue
from quoting.sizing.trace import Figure, Scalar

CRANKING_LOWEST_V_PER_12 = 9.6
"""Lowest voltage while cranking of a sound starter battery, per 12 V. [V] C"""

SLEEPING_MOST_A = 0.05
"""Most standing draw of a vehicle asleep. [A] C"""

ADDED_SLEEPING_MOST_A = 0.005
"""Most that the auxiliary system adds to the starter battery's standing draw. [A] C"""

READING_MARGIN_RATIO = 1.1
"""Room of a reading over the computed drop: instrument and joints. C"""

LEAST_READING_V = 0.02
"""Under this a drop is not told apart from the instrument's own. [V] C"""

CHARGER_LEAST_RATIO = 0.95
"""Least output over the computed one. C"""

STARTER_CHARGING_V_PER_12 = 13.2
"""Starter battery at hot idle while charging: under this it is being drawn down. [V] C"""

SMART_CHARGING_V_PER_12 = 12.4
"""The same where the vehicle lowers its alternator's voltage by itself. [V] C"""

STARTER_MOST_V_PER_12 = 15.5
"""Over this the regulator is at fault, and battery and electronics suffer. [V] C"""

OUTPUT_SPREAD_RATIO = 0.05
"""How far a converter's output under load may lie from what its maker states. C"""

IRRADIANCE_W_M2 = 800.0
"""Irradiance that the solar reading is stated for. [W/m²]"""

SOLAR_LEAST_RATIO = 0.65
"""Least share of the nameplate at that irradiance: heat, dirt, wiring. C"""

HOT_SPOT_K = 40.0
"""Most rise of a joint over the air in the load run. [K] C"""

LOAD_RUN_MIN = 20.0
"""Length of the load run. [min] C"""

RCD_1X_MS, RCD_5X_MS = 300.0, 40.0
"""Longest trip times at 1 and 5 times the rated residual current. [ms] IEC 61008-1."""

EARTH_OHM, INSULATION_MOHM = 0.5, 1.0
"""Most of earth continuity, least of insulation at 500 V DC. [Ω] [MΩ] AS/NZS 3000 8.3; IEC 60364-6."""

NO_FEED = ("load", "negative_bond", "solar_array", "sense", "control")
"""Roles of circuits whose drop is not read as a feed's: their own sheet has it, or there is none to read."""

LEADS_DIFFER_RATIO = 0.1
"""How far the currents of parallel batteries may lie apart, over their mean. C"""

NAMES_OF_DROP = ("positive", "negative")


def expect(brief: Brief, choice: Choice, wiring: Wiring, figures: dict[str, Figure]) -> tuple[Expectation, ...]:
    """Make the readings of the test sheet.

    Parameters
    ----------
    brief : Brief
        For the vehicle's measured values and the catalogue.
    choice : Choice
        The chosen components with their settings.
    wiring : Wiring
        Circuits with their drops.
    figures : dict of str to Figure
        Figures of the Appraisal; ``engine.output_a`` (what is left in the heat) lowers the least charger output.

    Returns
    -------
    tuple of Expectation
        In the order of the sheet: vehicle, drop, circuits, watched, sources, mains.
    """
    return (
        *_vehicle(brief, choice),
        *_feeds(wiring),
        *_couplings(wiring),
        *_circuits(wiring),
        *_watched(wiring),
        *_sources(brief, choice, wiring, figures),
        *_mains(choice, wiring),
    )


def _vehicle(brief: Brief, choice: Choice) -> list[Expectation]:
    volts = brief.vehicle.nominal_v
    standing = brief.vehicle.standing_draw_a
    lowest = CRANKING_LOWEST_V_PER_12 * volts / 12
    engine = any("engine_charging" in c.serves for c in choice.chosen)
    return [
        Expectation(key="fault_codes", group="vehicle", code="fault_codes", answer="yes", safety=True),
        Expectation(key="cranking_v", group="vehicle", code="cranking_v", unit="V", minimum=lowest, safety=engine),
        Expectation(
            key="sleeping_vehicle_a", group="vehicle", code="sleeping_vehicle_a", unit="A", minimum=0.0,
            maximum=round(max(SLEEPING_MOST_A, 1.2 * (standing or 0.0)), 3),
        ),
        Expectation(
            key="sleeping_added_a", group="vehicle", code="sleeping_added_a", unit="A", minimum=0.0,
            maximum=ADDED_SLEEPING_MOST_A,
        ),
    ]  # fmt: skip


def _parts_of_drop(circuit: Circuit) -> tuple[float, float]:
    """Positive and negative parts of a circuit's drop: devices and joints are counted with the positive. [V]"""
    # the rest of the drop is two equal conductors; half the joints belong to each, the devices to the positive
    loop = 0.0
    for i, s in enumerate(circuit.steps):
        if s.code == "conductor_drop":
            loop = circuit.steps[i].value
            break
    rest = max(circuit.drop_v - loop, 0.0)
    devices = sum(d.what in ("fuse", "breaker", "isolator", "channel") for d in circuit.devices)
    positive_share = (2 + 2 * devices) / (4 + 2 * devices)
    return loop / 2 + rest * positive_share, loop / 2 + rest * (1 - positive_share)


def _most_v(value_v: float) -> float:
    return round(max(value_v * READING_MARGIN_RATIO, LEAST_READING_V), 3)


def _feeds(wiring: Wiring) -> list[Expectation]:
    out = []
    for c in wiring.circuits:
        if c.role in NO_FEED:
            continue
        for name, value in zip(NAMES_OF_DROP, _parts_of_drop(c), strict=True):
            said: dict[str, Scalar] = {"tag": c.tag, "name": c.name, "current_a": round(c.current_a, 1)}
            out.append(
                Expectation(
                    key=f"drop_{name}:{c.tag}", group="drop", code=f"drop_{name}", params=said, unit="V", minimum=0.0,
                    maximum=_most_v(value), safety=c.role in ("battery_main", "engine_feed", "inverter_feed"),
                )
            )  # fmt: skip
    return out


def _couplings(wiring: Wiring) -> list[Expectation]:
    """Polarity in both halves, then what each circuit over the hitch loses in its pins at the design current."""
    over = [c for c in wiring.circuits if c.crosses_hitch]
    polarity = Expectation(key="coupling_polarity", group="drop", code="coupling_polarity", answer="yes", safety=True)
    dead = ", ".join(dict.fromkeys(c.name for c in wiring.circuits if c.dead_unhitched))
    seen = [polarity]
    if dead:
        seen.append(
            Expectation(
                key="unhitched_dead", group="drop", code="unhitched_dead", params={"names": dead}, answer="yes",
            )
        )  # fmt: skip
    seen.append(Expectation(key="pins_covered", group="drop", code="pins_covered", answer="yes", safety=True))
    return seen * bool(over) + [
        Expectation(
            key=f"coupling_drop:{c.tag}", group="drop", code="coupling_drop",
            params={"tag": c.tag, "name": c.name, "current_a": round(c.drop_a or c.current_a, 1)}, unit="V",
            minimum=0.0, maximum=_most_v(c.coupling_v), safety=c.role != "load",
        )
        for c in over
        if c.pin_pairs
    ]  # fmt: skip


def _circuits(wiring: Wiring) -> list[Expectation]:
    out = []
    for c in wiring.circuits:
        if c.role != "load":
            continue
        positive, negative = _parts_of_drop(c)
        said: dict[str, Scalar] = {
            "tag": c.tag, "name": c.name, "current_a": round(c.current_a, 2), "positive_v": _most_v(positive),
            "negative_v": _most_v(negative),
        }  # fmt: skip
        for name, value in zip(NAMES_OF_DROP, (positive, negative), strict=True):
            out.append(
                Expectation(
                    key=f"circuit_{name}:{c.tag}", group="circuits", code=f"circuit_{name}", params=said, unit="V",
                    minimum=0.0, maximum=_most_v(value),
                )
            )  # fmt: skip
    return out


def _watched(wiring: Wiring) -> list[Expectation]:
    """Each thing watched reads plausibly; a signal is there with the engine on and gone with it off."""
    what = {n.tag: str(n.params.get("watched", "")) for n in wiring.nodes if n.what == "sensor"}
    out = []
    for c in wiring.circuits:
        said: dict[str, Scalar] = {"tag": c.tag, "name": c.name}
        if c.role == "sense":
            code = f"reads_{what.get(c.source) or 'voltage'}"
            # what switches a live wire must be protected where that wire is fed; the design cannot see which it is
            safety = code == "reads_digital"
            out.append(
                Expectation(
                    key=c.key, group="watched", code=code, params=said, answer="yes", safety=safety,
                )
            )  # fmt: skip
        elif c.role == "control":
            out.append(Expectation(key=c.key, group="watched", code="signal_follows_engine", params=said, answer="yes"))
    return out


def _bank(wiring: Wiring) -> list[Expectation]:
    """Parallel batteries share the current; nothing but the shunt is on the battery's negative post."""
    out = []
    leads = [c for c in wiring.circuits if c.role == "battery_main" and c.target != "W1"]
    if leads:
        out.append(
            Expectation(
                key="leads_differ", group="sources", code="leads_differ", params={"leads": len(leads)}, unit="%",
                minimum=0.0, maximum=100 * LEADS_DIFFER_RATIO,
            )
        )  # fmt: skip
    if any(n.what == "monitor" for n in wiring.nodes):
        out.append(
            Expectation(key="only_shunt", group="sources", code="only_shunt_on_negative", answer="yes")
        )  # fmt: skip
    return out


def _sources(brief: Brief, choice: Choice, wiring: Wiring, figures: dict[str, Figure]) -> list[Expectation]:
    parts, volts = Catalogue.of(brief), brief.wishes.system_v
    out = [_devices_seen(wiring)]
    for chosen in choice.chosen:
        said: dict[str, Scalar] = {"name": chosen.name}
        if "engine_charging" in chosen.serves:
            engine = parts.can(chosen.part, EngineCharging)
            limit = chosen.output_limit_a
            full_a = engine.output_a if limit is None else limit
            hot = figures.get("engine.output_a")
            least_a = min(full_a, hot.value) if hot is not None else full_a
            out += [
                _range("engine_output_a", "A", least_a * CHARGER_LEAST_RATIO, full_a * 1.05, said),
                Expectation(
                    key="starter_charging_v", group="sources", code="starter_charging_v", unit="V", safety=True,
                    minimum=_starter_least_v(brief),
                    maximum=round(STARTER_MOST_V_PER_12 * brief.vehicle.nominal_v / 12, 2),
                ),
                Expectation(
                    key="engine_charger_stops", group="sources", code="engine_charger_stops", answer="yes", safety=True,
                    params=said,
                ),
            ]  # fmt: skip
        if "solar_control" in chosen.serves:
            panels = choice.role("panel")
            if panels is not None:
                solar = parts.can(chosen.part, SolarControl)
                panel = parts.can(panels.part, Panel)
                array_w = panel.power_w * panels.quantity
                if solar.method == "pwm":
                    array_w = min(array_w, panel.imp_a * panels.parallel * 1.1 * volts)
                most_w = min(array_w, solar.output_a * 1.2 * volts) * IRRADIANCE_W_M2 / 1000
                sun: dict[str, Scalar] = {
                    "irradiance": f"{IRRADIANCE_W_M2:.0f} W/m²",
                    "irradiance_w_m2": IRRADIANCE_W_M2,
                    "array_w": round(array_w, 1),
                }
                out.append(_range("solar_w", "W", most_w * SOLAR_LEAST_RATIO, most_w * 1.1, sun))
        if "mains_charging" in chosen.serves:
            mains = parts.can(chosen.part, MainsCharging)
            out.append(_range("mains_output_a", "A", mains.output_a * CHARGER_LEAST_RATIO, mains.output_a * 1.05, said))
        if "converting" in chosen.serves:
            volts_out = parts.can(chosen.part, Converting).output_v
            low_v, high_v = volts_out * (1 - OUTPUT_SPREAD_RATIO), volts_out * (1 + OUTPUT_SPREAD_RATIO)
            given = _range("converter_output_v", "V", low_v, high_v, said)
            out.append(given.model_copy(update={"safety": True}))  # the bus behind it is for 12 V, its input is not
    out += _bank(wiring)
    out.append(_load_run(choice, wiring))
    if any(row.get("shed_below_ratio") is not None for row in wiring.channels):
        sheds = sorted({round(row["shed_below_ratio"] * 100) for row in wiring.channels if row["shed_below_ratio"]})
        levels = ", ".join(str(level) for level in reversed(sheds))
        out.append(
            Expectation(key="shedding", group="sources", code="shedding", params={"levels": levels}, answer="yes")
        )
    if choice.role("battery") is not None:
        out.append(
            Expectation(
                key="protection_wakes", group="sources", code="protection_wakes", answer="yes", safety=True,
            )
        )  # fmt: skip
        out.append(Expectation(key="isolator", group="sources", code="isolator_opens", answer="yes", safety=True))
    return out


def _starter_least_v(brief: Brief) -> float:
    """A measured hot idle less half a volt, but never under the voltage at which the battery is drawn down. [V]"""
    least = STARTER_CHARGING_V_PER_12 * brief.vehicle.nominal_v / 12
    if brief.vehicle.alternator_control == "smart":
        least = SMART_CHARGING_V_PER_12 * brief.vehicle.nominal_v / 12
    return round(max(least, (brief.vehicle.hot_idle_v or 0.0) - 0.5), 2)


def _range(code: str, unit: str, minimum: float, maximum: float, params: dict[str, Scalar]) -> Expectation:
    return Expectation(
        key=code, group="sources", code=code, unit=unit, minimum=round(minimum, 1), maximum=round(maximum, 1),
        params=params,
    )  # fmt: skip


def _devices_seen(wiring: Wiring) -> Expectation:
    count = sum(d.what in ("fuse", "breaker", "isolator") for c in wiring.circuits for d in c.devices)
    return Expectation(
        key="devices_seen", group="sources", code="devices_seen", params={"devices": count}, unit="", minimum=count,
        maximum=count, safety=True,
    )  # fmt: skip


def _load_run(choice: Choice, wiring: Wiring) -> Expectation:
    """Twenty minutes at three quarters of what the main carries; the hottest joint counts."""
    main = max((c.current_a for c in wiring.circuits if c.role == "battery_main"), default=0.0)
    said: dict[str, Scalar] = {"current_a": round(0.75 * main), "minutes": LOAD_RUN_MIN}
    return Expectation(
        key="hot_spot_k", group="sources", code="hot_spot_k", params=said, unit="K", minimum=0.0, maximum=HOT_SPOT_K,
        safety=True,
    )  # fmt: skip


def _mains(choice: Choice, wiring: Wiring) -> list[Expectation]:
    """For the licensed person, where there is an AC side at all."""
    residual, inverter = choice.role("residual"), choice.role("inverter")
    if not wiring.questions:
        return []
    out: list[Expectation] = []
    if inverter is not None:
        out.append(_licensed("neutral_earth_link", answer="yes"))
    out += [
        _licensed("earth_continuity_ohm", unit="Ω", minimum=0.0, maximum=EARTH_OHM),
        _licensed("insulation_mohm", unit="MΩ", minimum=INSULATION_MOHM),
        _licensed("polarity", answer="yes"),
    ]
    for n in range(1, (residual.quantity if residual else 0) + 1):
        for times, limit in ((1, RCD_1X_MS), (5, RCD_5X_MS)):
            for degrees in (0, 180):
                key = f"{n}:{times}:{degrees}"
                out.append(
                    _licensed(
                        "rcd_trip_ms",
                        key,
                        unit="ms",
                        minimum=0.0,
                        maximum=limit,
                        device=n,
                        times=times,
                        degrees=degrees,
                    )
                )
        out.append(_licensed("rcd_holds_half", str(n), answer="yes", device=n))
    return out


def _licensed(
    code: str,
    suffix: str = "",
    *,
    unit: str = "",
    minimum: float | None = None,
    maximum: float | None = None,
    answer: str = "number",
    **params: Scalar,
) -> Expectation:
    return Expectation(
        key=f"{code}:{suffix}" if suffix else code, group="mains", code=code, params=params, unit=unit,
        minimum=minimum, maximum=maximum, safety=True, licensed=True, answer=answer,  # type: ignore[arg-type]
    )  # fmt: skip
