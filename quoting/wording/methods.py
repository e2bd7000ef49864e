"""Names of figures, of the methods that make them and of the books they come from."""

from django.utils.translation import gettext_lazy as _

from quoting.wording.methods_single import METHOD_SINGLE, SOURCE_SINGLE
from quoting.wording.steps_trip import FIGURE_TRIP, METHOD_TRIP, SOURCE_TRIP
from quoting.wording.steps_volts import FIGURE_VOLTS, METHOD_VOLTS

FIGURE = {
    "day.energy_wh": _("Energy of a day"),
    "day.charge_ah": _("Charge of a day"),
    "day.peak_a": _("At once"),
    "day.live_wh": _("Always live"),
    "day.away_wh": _("Away set"),
    "battery.asked_ah": _("Auxiliary battery, asked"),
    "battery.got_ah": _("Auxiliary battery, got"),
    "battery.days": _("Lasts, worn"),
    "battery.peak_a": _("Largest battery current"),
    "engine.headroom_idle_a": _("Alternator, spare at hot idle"),
    "engine.headroom_speed_a": _("Alternator, spare at speed"),
    "engine.input_a": _("Taken from the alternator"),
    "engine.output_a": _("Charging current from the engine"),
    "engine.hour_gives_ah": _("An hour's drive gives"),
    "engine.asked_a": _("Charging current asked of the engine"),
    "mains.hours_to_full": _("Hours to full from mains"),
    "mains.outlet_a": _("Taken from the outlet"),
    "mains.asked_a": _("Charging current asked of mains"),
    "sun.asked_wh": _("Sun, asked"),
    "sun.got_wh": _("Sun, got"),
    "sun.day_wh": _("A day's sun at the battery"),
    "sun.array_w": _("Array asked"),
    "sun.cold_voc_v": _("Open-circuit voltage in the cold"),
    "inverter.asked_w": _("Inverter, asked"),
    "inverter.surge_w": _("Inverter, largest start"),
    "inverter.got_w": _("Inverter, got"),
    "inverter.input_a": _("Inverter's direct current"),
    "converter.asked_a": _("Converter, asked"),
    "converter.peak_a": _("Converter, largest start"),
    "converter.got_a": _("Converter, got"),
    "converter.input_a": _("Converter's input current"),
    "starter.days_parked": _("Starter battery, days parked from full"),
    "parked.days": _("Always-live set, days parked"),
    "battery.years": _("Battery life, by its cycles"),
    "parked.damage_days": _("Cut off and asleep, days to damage"),
    "starter.recharge_min": _("Driving that puts a crank back"),
    "battery.vent_m3_h": _("Air the battery needs"),
}
METHOD = {
    "sum": _("Sum of the lines."),
    "charge_of_energy": _("Charge = energy ÷ nominal voltage."),
    "cooling_duty": _("Heat gain and Carnot fraction, scaled from the maker's duty."),
    "bank_product": _("IEEE 1013, with depth and end of life multiplied for lithium."),
    "bank_largest": _("IEEE 1013: the largest of three, then temperature and margin."),
    "bank_got": _("Batteries in parallel, one model."),
    "autonomy": _("Usable charge ÷ charge of a day."),
    "coincident": _("Everything that may run at the same time."),
    "headroom": _("Alternator output, hot, less the vehicle's own draw."),
    "charger_input": _("Input power = output power ÷ efficiency, with the voltage left after the feed."),
    "charger_output": _("Rating, derated, held to what the battery takes."),
    "charge_time": _("Bulk at constant current, then the exponential tail."),
    "outlet": _("Output power ÷ efficiency ÷ power factor ÷ mains voltage."),
    "array_day": _("Mean-day irradiation by hours, in the panels' plane, cell temperature, losses that multiply."),
    "array_asked": _("Energy asked ÷ what one watt of array gives."),
    "cold_voltage": _("Open-circuit voltage × series × (1 + coefficient × (cold − 25 °C))."),
    "inverter_losses": _("Loss polynomial: no load, linear and resistive part."),
    "inverter_at_heat": _("Continuous power × what is left at the compartment's temperature."),
    "inverter_input": _("Direct-current power ÷ voltage at the inverter's cut-off."),
    "converter_got": _("Rating × what is left at the place's temperature × converters."),
    "converter_input": _("Output power ÷ efficiency ÷ lowest voltage of the bus."),
    "coupling_drop": _("Current × two contacts, feed and return, ÷ pairs of pins side by side."),
    "parked": _("Charge above the cranking limit ÷ standing draw."),
    "restore_day": _("Charge of a day, with what is not stored, over the hours of driving."),
    "voltage_drop": _("Loop length × current × resistance at the conductor's temperature."),
    "conductor_size": _("Smallest size that holds drop and ampacity."),
    "ampacity": _("Lower of two tables, corrected for air and bundling."),
    "short_circuit": _("Voltage ÷ resistance of battery, conductors and joints."),
    "breaking_capacity": _("Breaking capacity ≥ prospective current."),
    "peukert": _("Peukert's law, capacity at the maker's hours."),
    "refrigeration": _("Heat gain ÷ coefficient of performance."),
    "tax_on_lines": _("Tax on each line, rounded by the workshop's rule."),
    "cycle_life": _(
        "Maker's cycles at the day's depth, every day alike; lead-acid halved by heat. Age by years is not in it."
    ),
    "damage": _("Charge left at the cut-off ÷ sleeping draw and self-discharge."),
    "crank_recharge": _("Charge of one crank ÷ current left for the starter battery at speed."),
    "ventilation": _("Air flow for lead-acid under charge."),
}
SOURCE = {
    "policy": _("the workshop's policy"),
    "maker": _("the maker's data; IEEE 1188 for heat"),
    "ieee1013": _("IEEE 1013-2019"),
    "ieee485": _("IEEE 485-2020, table 1"),
    "iso8854": _("ISO 8854"),
    "iec60228": _("IEC 60228, IEC 60028"),
    "nec690": _("NEC 690.7, 690.8"),
    "collares_pereira_rabl": _(
        "Collares-Pereira and Rabl (1979); Erbs (1982), Hay and Davies (1980) when tilted; PVWatts v5; "
        "SAPM cell temperature"
    ),
    "schmidt_sauer": _("Schmidt and Sauer (1996); Notton et al. (2010)"),
    "carnot": _("Carnot fraction; shape of IEC 62552"),
    "peukert": _("Peukert (1897)"),
    "iec62485": _("IEC 62485-2"),
    "energy": _("conservation of energy"),
    "ohm": _("Ohm's law"),
    "manwell_mcgowan": _("Manwell and McGowan (1993)"),
    "common": _("common practice"),
    "iso10133": _("ISO 10133, 33 CFR 183.425"),
    "iec61660": _("IEC 61660-1, simplified"),
    "tax": _("the country's tax law"),
}
FIGURE |= FIGURE_TRIP | FIGURE_VOLTS
METHOD |= METHOD_TRIP | METHOD_VOLTS
SOURCE |= SOURCE_TRIP
METHOD |= METHOD_SINGLE
SOURCE |= SOURCE_SINGLE
