"""What a component can do, in a sentence for each of its capabilities."""

from __future__ import annotations

from functools import singledispatch

from django.utils.translation import gettext as _

from catalog.kinds import capabilities as can
from catalog.kinds import capabilities_fitting as fitting
from catalog.kinds.capabilities import CHEMISTRIES
from catalog.kinds.towing import DEAD
from catalog.quantities import format_quantity, natural


def q(value: float | None, unit: str) -> str:
    return _("not stated") if value is None else format_quantity(*natural(value, unit))


def _percent(ratio: float) -> str:
    return format_quantity(round(ratio * 100, 3), "%")


def _profiles(codes: tuple[str, ...]) -> str:
    return ", ".join(str(_(dict(CHEMISTRIES).get(code, code))) for code in codes)


def _volts(values: tuple[float, ...]) -> str:
    return _(" or ").join(q(v, "V") for v in values)


def _sharing(words: str, shares: bool) -> str:
    return f"{words} {_('It shares the output with the other inputs.')}" if shares else words


@singledispatch
def sentence(capability: can.Capability) -> str:
    """Say what one capability means, with its figures."""
    return type(capability).__name__


@sentence.register
def storage(c: can.Storage) -> str:
    return _(
        "Stores %(ah)s at %(v)s; gives %(a)s continuously and %(peak)s for %(s)s; takes up to %(charge)s. "
        "Internal resistance: %(ohm)s."
    ) % {
        "ah": q(c.capacity_ah, "Ah"),
        "v": q(c.nominal_v, "V"),
        "a": q(c.max_discharge_a, "A"),
        "peak": q(c.peak_a, "A"),
        "s": q(c.peak_s, "s"),
        "charge": q(c.max_charge_a, "A"),
        "ohm": q(c.resistance_ohm, "Ω"),
    }


@sentence.register
def engine_charging(c: can.EngineCharging) -> str:
    words = _(
        "Charges with %(a)s from a %(v)s starter bus, %(eff)s efficient, and stops below %(stop)s. For %(for)s."
    ) % {
        "a": q(c.output_a, "A"),
        "v": q(c.input_nominal_v, "V"),
        "eff": _percent(c.efficiency_ratio),
        "stop": q(c.stop_below_v, "V"),
        "for": _profiles(c.profiles),
    }
    return _sharing(words, c.shares_output)


@sentence.register
def mains_charging(c: can.MainsCharging) -> str:
    words = _("Charges with %(a)s from %(v)s mains, %(eff)s efficient. For %(for)s.") % {
        "a": q(c.output_a, "A"),
        "v": q(c.mains_v, "V"),
        "eff": _percent(c.efficiency_ratio),
        "for": _profiles(c.profiles),
    }
    return _sharing(words, c.shares_output)


@sentence.register
def solar_control(c: can.SolarControl) -> str:
    words = _("Charges a %(bus)s battery with up to %(a)s from panels of at most %(voc)s and %(isc)s. For %(for)s.") % {
        "bus": _volts(c.output_nominal_v),
        "a": q(c.output_a, "A"),
        "voc": q(c.max_voc_v, "V"),
        "isc": q(c.max_isc_a, "A"),
        "for": _profiles(c.profiles),
    }
    return _sharing(words, c.shares_output)


@sentence.register
def panel(c: can.Panel) -> str:
    return _("Gives %(w)s in full sun, %(vmp)s at best, %(voc)s open; covers %(l)s × %(b)s.") % {
        "w": q(c.power_w, "W"),
        "vmp": q(c.vmp_v, "V"),
        "voc": q(c.voc_v, "V"),
        "l": q(c.length_m, "m"),
        "b": q(c.width_m, "m"),
    }


@sentence.register
def inverting(c: can.Inverting) -> str:
    return _("Makes %(v)s AC from %(bus)s: %(w)s continuously, %(surge)s for %(s)s; takes %(idle)s when idle.") % {
        "v": q(c.output_v, "V"),
        "bus": q(c.nominal_v, "V"),
        "w": q(c.continuous_w, "W"),
        "surge": q(c.surge_w, "W"),
        "s": q(c.surge_s, "s"),
        "idle": q(c.no_load_w, "W"),
    }


@sentence.register
def conducting(c: can.Conducting) -> str:
    return _("Conducts through %(mm2)s of copper, insulation to %(t)s, %(r)s at 20 °C.") % {
        "mm2": q(c.area_mm2, "mm²"),
        "t": q(c.insulation_c, "°C"),
        "r": q(c.ohm_per_km_20c, "Ω/km"),
    }


@sentence.register
def protecting(c: can.Protecting) -> str:
    return _("Opens on overcurrent above %(a)s; breaking capacity %(ka)s at up to %(v)s.") % {
        "a": q(c.rating_a, "A"),
        "ka": q(c.breaking_a, "A"),
        "v": q(c.max_v, "V"),
    }


@sentence.register
def holding(c: can.Holding) -> str:
    return _("Holds %(n)d fuse-links of up to %(a)s each.") % {"n": c.ways, "a": q(c.max_rating_a, "A")}


@sentence.register
def isolating(c: can.Isolating) -> str:
    return _("Parts a circuit of up to %(a)s and %(v)s by hand, poles: %(n)d.") % {
        "a": q(c.rating_a, "A"),
        "v": q(c.max_v, "V"),
        "n": c.poles,
    }


@sentence.register
def switching(c: can.Switching) -> str:
    words = _("Switches %(n)d channels of up to %(most)s, %(a)s in all.") % {
        "n": len(c.channel_limits_a),
        "most": q(max(c.channel_limits_a), "A"),
        "a": q(c.total_a, "A"),
    }
    if c.sheds:
        words += " " + _("It can let loads go by charge or voltage.")
    if c.protects:
        words += " " + _("Each channel protects its own circuit.")
    return words


@sentence.register
def sensing(c: can.Sensing) -> str:
    names = {
        "voltage": _("voltage"),
        "resistance": _("resistance"),
        "temperature": _("temperature"),
        "current": _("current"),
        "digital": _("on or off"),
    }
    inputs = ", ".join(f"{count} × {names.get(what, what)}" for what, count in c.inputs)
    return _("Reads further inputs: %(inputs)s.") % {"inputs": inputs}


@sentence.register
def monitoring(c: can.Monitoring) -> str:
    return _("Counts charge through a shunt of %(a)s, up to %(v)s.") % {"a": q(c.shunt_a, "A"), "v": q(c.max_v, "V")}


@sentence.register
def residual(c: can.ResidualProtection) -> str:
    return _(
        "Opens on a residual current of %(ma)s, rated %(a)s, type %(type)s, poles: %(n)d. For licensed people."
    ) % {
        "ma": q(c.sensitivity_ma, "mA"),
        "a": q(c.rated_a, "A"),
        "type": c.type.upper(),
        "n": c.poles,
    }


@sentence.register
def inlet(c: can.Inlet) -> str:
    return _("Takes a shore lead of up to %(a)s at %(v)s. For licensed people.") % {
        "a": q(c.rated_a, "A"),
        "v": q(c.rated_v, "V"),
    }


@sentence.register
def distributing(c: can.Distributing) -> str:
    return _("Hands on up to %(a)s over %(n)d studs of %(mm)s.") % {
        "a": q(c.rating_a, "A"),
        "n": c.studs,
        "mm": q(c.stud_mm, "mm"),
    }


@sentence.register
def landing(c: can.Landing) -> str:
    return _("Takes conductors on studs of %(mm)s.") % {"mm": q(c.stud_mm, "mm")}


@sentence.register
def guarded(c: can.Guarded) -> str:
    if c.most_a is None:
        return _("Wants a fuse or breaker of at least %(a)s in its leads.") % {"a": q(c.least_a, "A")}
    if not c.least_a:
        return _("Allows a fuse or breaker of at most %(a)s in its leads.") % {"a": q(c.most_a, "A")}
    return _("Wants a fuse or breaker of %(least)s to %(most)s in its leads.") % {
        "least": q(c.least_a, "A"),
        "most": q(c.most_a, "A"),
    }


@sentence.register
def terminating(c: can.Terminating) -> str:
    if not c.stud_mm:
        return _("Ends a conductor of %(mm2)s.") % {"mm2": q(c.area_mm2, "mm²")}
    return _("Ends a conductor of %(mm2)s on a stud of %(mm)s.") % {
        "mm2": q(c.area_mm2, "mm²"),
        "mm": q(c.stud_mm, "mm"),
    }


@sentence.register
def converting(c: can.Converting) -> str:
    words = _(
        "Makes %(out)s from %(low)s to %(high)s: %(a)s continuously, %(peak)s for %(s)s, %(eff)s efficient; "
        "takes %(idle)s when idle."
    ) % {
        "out": q(c.output_v, "V"),
        "low": q(c.input_min_v, "V"),
        "high": q(c.input_max_v, "V"),
        "a": q(c.continuous_a, "A"),
        "peak": q(c.peak_a, "A"),
        "s": q(c.peak_s, "s"),
        "eff": _percent(c.efficiency_ratio),
        "idle": q(c.no_load_w, "W"),
    }
    return f"{words} {_('Its output is isolated from its input.')}" if c.isolated else words


@sentence.register
def equalising(c: can.Equalising) -> str:
    return _("Keeps two batteries in series equal, %(v)s together, moving up to %(a)s. For %(for)s.") % {
        "v": q(c.nominal_v, "V"),
        "a": q(c.current_a, "A"),
        "for": _profiles(c.chemistries),
    }


@sentence.register
def coupling(c: can.Coupling) -> str:
    words = _(
        "Joins a trailer, pairs for charging: %(n)d, each of up to %(a)s at up to %(v)s; one mated contact has %(ohm)s."
    ) % {"n": c.pins, "a": q(c.pin_a, "A"), "v": q(c.max_v, "V"), "ohm": q(c.pin_ohm, "Ω")}
    dead = ", ".join(str(_(dict(DEAD).get(code, code))) for code in c.dead_unhitched)
    return f"{words} {_('Dead when unhitched: %(what)s.') % {'what': dead}}" if dead else words


@sentence.register
def relaying(c: can.Relaying) -> str:
    words = _("Switches up to %(a)s at up to %(v)s by a coil of %(coil)s, poles: %(n)d.") % {
        "a": q(c.contact_a, "A"),
        "v": q(c.max_v, "V"),
        "coil": q(c.coil_v, "V"),
        "n": c.poles,
    }
    held = _("It holds without power.") if not c.hold_w else _("Its coil takes %(w)s.") % {"w": q(c.hold_w, "W")}
    return f"{words} {held}"


@sentence.register
def sleeving(c: can.Sleeving) -> str:
    words = _("Covers or passes what is up to %(mm)s thick, up to %(t)s.") % {
        "mm": q(c.inner_mm, "mm"),
        "t": q(c.max_c, "°C"),
    }
    if c.shrunk_mm is not None:
        words += " " + _("It shrinks to %(mm)s.") % {"mm": q(c.shrunk_mm, "mm")}
    return f"{words} {_('It keeps water out.')}" if c.watertight else words


@sentence.register
def tank_sensing(c: can.TankSensing) -> str:
    (low, low_ohm), (high, high_ohm) = c.curve[0], c.curve[-1]
    return _("Tells a level: %(a)s at %(low)s full, %(b)s at %(high)s full.") % {
        "a": q(low_ohm, "Ω"),
        "low": _percent(low),
        "b": q(high_ohm, "Ω"),
        "high": _percent(high),
    }


@sentence.register
def current_sensing(c: can.CurrentSensing) -> str:
    return _("Tells a current of up to %(a)s by %(ohm)s in its way, at up to %(v)s.") % {
        "a": q(c.most_a, "A"),
        "ohm": q(c.ohm, "Ω"),
        "v": q(c.max_v, "V"),
    }


@sentence.register
def temperature_sensing(c: can.TemperatureSensing) -> str:
    words = _("Tells a temperature between %(low)s and %(high)s.") % {"low": q(c.min_c, "°C"), "high": q(c.max_c, "°C")}
    if not c.curve:
        return words
    (low, low_ohm), (high, high_ohm) = c.curve[0], c.curve[-1]
    curve = _("It has %(a)s at %(low)s and %(b)s at %(high)s.") % {
        "a": q(low_ohm, "Ω"),
        "low": q(low, "°C"),
        "b": q(high_ohm, "Ω"),
        "high": q(high, "°C"),
    }
    return f"{words} {curve}"


@sentence.register
def hand_switching(c: can.HandSwitching) -> str:
    return _("Switches up to %(a)s and %(v)s by hand, ways: %(ways)d, poles: %(poles)d.") % {
        "a": q(c.rating_a, "A"),
        "v": q(c.max_v, "V"),
        "ways": c.ways,
        "poles": c.poles,
    }


@sentence.register
def outletting(c: can.Outletting) -> str:
    words = _("Lets appliances be plugged in: %(n)d × %(a)s at %(v)s.") % {
        "n": c.ways,
        "a": q(c.rating_a, "A"),
        "v": q(c.rated_v, "V"),
    }
    if c.power_w is None:
        return words
    return f"{words} {_('At most %(w)s in all.') % {'w': q(c.power_w, 'W')}}"


@sentence.register
def mounting(c: fitting.Mounting) -> str:
    return _("Holds up to %(kg)s of %(l)s × %(b)s.") % {
        "kg": q(c.carries_kg, "kg"),
        "l": q(c.length_mm, "mm"),
        "b": q(c.width_mm, "mm"),
    }


@sentence.register
def insulating(c: fitting.Insulating) -> str:
    if c.over == "bar":
        return _("Covers a live busbar of up to %(n)d studs of up to %(mm)s.") % {
            "n": c.studs,
            "mm": q(c.stud_mm, "mm"),
        }
    return _("Covers a live post of up to %(mm)s.") % {"mm": q(c.stud_mm, "mm")}


@sentence.register
def airing(c: fitting.Airing) -> str:
    return _("Lets air through %(cm2)s.") % {"cm2": q(c.free_cm2, "cm²")}


@sentence.register
def heating(c: fitting.Heating) -> str:
    return _("Gives %(heat)s of heat and takes %(w)s; starts with %(a)s for %(s)s.") % {
        "heat": q(c.heat_w, "W"),
        "w": q(c.power_w, "W"),
        "a": q(c.start_a, "A"),
        "s": q(c.start_s, "s"),
    }


@sentence.register
def ventilating(c: fitting.Ventilating) -> str:
    return _("Moves %(air)s of air of up to %(t)s for %(w)s.") % {
        "air": q(c.air_m3_h, "m³/h"),
        "t": q(c.max_c, "°C"),
        "w": q(c.power_w, "W"),
    }


@sentence.register
def labelling(c: fitting.Labelling) -> str:
    size = {"l": q(c.length_mm, "mm"), "b": q(c.width_mm, "mm")}
    if not c.text:
        return _("Is written on the job, %(l)s × %(b)s.") % size
    return _("Says “%(text)s”, %(l)s × %(b)s.") % {**size, "text": c.text}


@sentence.register
def consuming(c: fitting.Consuming) -> str:
    return _("Is used up in the work, %(n)s in a pack.") % {"n": q(c.pack, c.unit)}
