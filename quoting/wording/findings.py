"""Findings: a title and a sentence that says what is the matter and what to do."""

from django.utils.translation import gettext_lazy as _

from quoting.wording.findings_battery import FINDING_BATTERY
from quoting.wording.findings_circuits import FINDING_CIRCUITS
from quoting.wording.findings_plan import FINDING_PLAN
from quoting.wording.findings_space import FINDING_SPACE
from quoting.wording.findings_systems import FINDING_SYSTEMS
from quoting.wording.findings_trip import FINDING_TRIP
from quoting.wording.findings_wiring import FINDING_WIRING
from quoting.wording.outputs import FINDING_OUTPUTS
from quoting.wording.places import FINDING_PLACES
from quoting.wording.selecting import FINDING_SELECTING

FINDING = {
    # loads
    "cooling_cannot_hold": (
        _("{name} cannot hold its temperature"),
        _(
            "At {ambient_c} it would have to run {duty_ratio} of the time, in {hours} hours of the day. Choose "
            "a larger "
            "or better insulated one, or shade it."
        ),
    ),
    "converter_needed": (
        _("A 24 to 12 V converter is needed"),
        _(
            "12 V is wanted from the 24 V house bus, {current_a} at once, for {loads}. Fit a converter of that rating: "
            "never a tap on the bank."
        ),
    ),
    "inverter_assumed": (
        _("No inverter is chosen"),
        _("Its losses are counted with an efficiency of {efficiency_ratio} until one is."),
    ),
    "starter_load": (
        _("{name} draws on the starter battery"),
        _("It takes {energy_wh} a day there, engine on or off. Move it to the house bus."),
    ),
    "choice_not_settled": (
        _("The choice did not settle"),
        _("Own draw and parts chased each other for {rounds} rounds; the last choice is shown."),
    ),
    # battery
    "battery_missing": (
        _("No battery is chosen"),
        _("Charge over the day is worked out for a bank of the size asked, {capacity_ah}."),
    ),
    "battery_too_cold": (
        _("The battery may be too cold to charge"),
        _(
            "{name}, {month}: its cells fall to {cell_c} on a mean night; it takes no charge under {limit_c}. Keep it "
            "inside or choose one with a heater."
        ),
    ),
    "charging_lost_cold": (
        _("Cold keeps the battery from charging"),
        _(
            "{name}, {month}: in {hours_h} a day there is something to charge from and the cells are under {limit_c}; "
            "{lost_wh} a day go by. Keep it warmer, choose one with a heater or charge later in the day."
        ),
    ),
    "charging_lost_hot": (
        _("Heat keeps the battery from charging"),
        _(
            "{name}, {month}: in {hours_h} a day there is something to charge from and the cells are over {limit_c}; "
            "{lost_wh} a day go by. Move it to a cooler place or let air through."
        ),
    ),
    "charging_slow_cold": (
        _("A cold battery charges slower"),
        _(
            "{name}, {month}: in {hours_h} a day its cells are under {limit_c} and take less than there is; "
            "{lost_wh} a day go by or come later."
        ),
    ),
    "charging_over_limit": (
        _("All chargers at once are more than the battery takes"),
        _(
            "Sun and engine or mains together may bring {together_a}; the bank takes {limit_a}. Set the chargers so "
            "that together they stay under it, or take ones that share a limit. The trip is worked out with that limit."
        ),
    ),
    "battery_too_hot": (
        _("The battery's place is too hot to charge"),
        _("Up to {ambient_c} where it sits; it takes no charge above {limit_c}. Move it."),
    ),
    "battery_in_engine_space": (
        _("Battery in the engine space"),
        _("Its maker does not allow {name} there. Move it to another place."),
    ),
    "battery_wants_venting": (
        _("The battery needs air"),
        _("It gives off hydrogen while charging: vent its box outside with at least {air_m3_h}."),
    ),
    "discharge_over_limit": (
        _("More current than the battery gives"),
        _("All at once is {current_a}; the bank gives {limit_a}. Choose a larger bank or run less at once."),
    ),
    "peak_over_limit": (
        _("A start is more than the battery gives"),
        _("The largest start is {peak_a} for {seconds_s}; the bank gives {limit_a} for {limit_s}."),
    ),
    "sags_below_cutoff": (
        _("The battery sags below the inverter's cut-off"),
        _("At {current_a} the bank falls to {voltage_v}; the inverter stops at {cutoff_v}."),
    ),
    # engine
    "idle_deficit": (
        _("Hot idle cannot feed the charger"),
        _(
            "It takes {input_a} where {headroom_a} are spare; the starter battery pays the rest, {deficit_a}. "
            "Set to {setting_a}, hot idle holds."
        ),
    ),
    "idle_deficit_any_setting": (
        _("Hot idle cannot feed the charger"),
        _(
            "It takes {input_a} where {headroom_a} are spare; the starter battery pays the rest, {deficit_a}. "
            "No setting of it holds: choose a smaller one, or let the engine idle less."
        ),
    ),
    "alternator_overdrawn": (
        _("The alternator cannot keep up"),
        _(
            "Over a drive with {idle_ratio} at idle, the starter battery loses {loss_a} on average and never "
            "recovers. Limit the charger."
        ),
    ),
    "alternator_assumed": (
        _("Alternator output is assumed"),
        _("Hot idle was not measured: {idle_a} is taken from its rating of {rating_a}. Measure it hot, everything on."),
    ),
    "vehicle_draw_assumed": (
        _("The vehicle's own draw is assumed"),
        _("It was not measured: {draw_a} is taken. Measure it under way."),
    ),
    "alternator_unknown": (
        _("The alternator is not known"),
        _("Without its rating or a measured output nothing can be planned from the engine. Add it to the survey."),
    ),
    "no_alternator": (
        _("The engine cannot charge"),
        _("This vehicle has no alternator to draw on; engine charging is left out."),
    ),
    "smart_alternator": (
        _("ECU-controlled alternator"),
        _(
            "Its voltage falls to about 12.3 V on a steady drive: only a DC-DC charger charges from it. Do not "
            "join the batteries."
        ),
    ),
    "idle_stop": (
        _("Idle-stop"),
        _(
            "The engine stops at lights and gives nothing then; connect the negative on the body side of the "
            "battery sensor."
        ),
    ),
    "hybrid": (
        _("Hybrid or electric drive"),
        _(
            "The 12 V system is fed by a converter with a limit of its own. Ask the vehicle's maker what may be "
            "drawn; keep clear of high voltage."
        ),
    ),
    "not_for_smart_alternator": (
        _("The charger is not made for this alternator"),
        _("{name} does not work with ECU-controlled alternators. Choose another."),
    ),
    "charger_undervoltage": (
        _("The charger stops at hot idle"),
        _(
            "{voltage_v} are left at its input; it stops under {stop_v}. Idling, nothing is counted from it. Use a "
            "heavier feed or a smaller output."
        ),
    ),
    "charger_stops_driving": (
        _("The charger does not charge on a steady drive"),
        _(
            "The alternator's computer lowers its voltage: {voltage_v} are left at the input of {name}, which stops "
            "under {stop_v}. Nothing is counted from the engine. Choose a charger with a lower stop, a heavier feed or "
            "a smaller output."
        ),
    ),
    "feed_cannot_carry": (
        _("The feed cannot carry the charger"),
        _("With {resistance_ohm} in the feed, {power_w} cannot be drawn. Use a heavier feed."),
    ),
    "engine_no_headroom": (
        _("The alternator has nothing to spare"),
        _("At speed, {speed_a} are left beside the vehicle's own draw. Charging from the engine is left out."),
    ),
    "engine_no_driving": (
        _("Nothing is driven at this stop"),
        _("At {name} the engine gives nothing."),
    ),
    "starter_unknown": (
        _("Starter battery not surveyed"),
        _("Its capacity and standing draw are needed to say how long the vehicle may be parked."),
    ),
    "starter_flat_soon": (
        _("The starter battery does not last"),
        _("At its standing draw of {standing_a} it may not crank after {days} days. Find the draw."),
    ),
    "starter_not_recharged": (
        _("Driving does not charge the starter battery"),
        _("At speed {spare_a} are left beside the charger: a crank is never put back. Set the charger lower."),
    ),
    "damage_soon": (
        _("Left flat, the battery is damaged soon"),
        _(
            "From the cut-off, what sleeps empties it in {days} days; with the isolator open, in {alone_days}. "
            "Open the isolator when it is cut off or laid up, and charge it within that time."
        ),
    ),
    # mains
    "mains_slow": (
        _("Mains charging is slow"),
        _("It takes {hours_h} to full; {allowed_h} are wished."),
    ),
    "mains_below_loads": (
        _("Mains does not keep up with the loads"),
        _("The charger gives {output_a}; the loads take {loads_a} meanwhile. It is never full."),
    ),
    "mains_while_driving": (
        _("Mains and driving overlap at {name}"),
        _("{lost_h} a day of mains fall in the hours of driving and are not counted. Check the times."),
    ),
    # sun
    "sun_short": (
        _("The sun gives less than asked"),
        _("{name}, {month}: {got_wh} of {asked_wh} a day."),
    ),
    "solar_array_over_roof": (
        _("The array is larger than the roof"),
        _("{array_m2} of modules on {roof_m2}. Leave room to walk and to tie down."),
    ),
    "solar_needs_roof": (
        _("The roof was not measured"),
        _("Whether the array fits cannot be said. Add length and width to the survey."),
    ),
    "cold_voc_over_limit": (
        _("The array can destroy its controller"),
        _("At {cold_c} it gives {voc_v}; the controller stands {limit_v}. Put fewer modules in series."),
    ),
    "record_low_assumed": (
        _("The record low is assumed"),
        _("{name}: {cold_c}, the policy's margin under the lowest monthly mean. A record from there would be surer."),
    ),
    "sun_none": (
        _("No sun at {name}"),
        _("In {month} nothing reaches the panels there; other sources have to carry the stop."),
    ),
    "controller_does_not_start": (
        _("The controller does not start on a hot panel"),
        _("Hot, the array gives {vmp_v}; the controller wants {wanted_v}. Put more modules in series."),
    ),
    "controller_clips": (
        _("The controller is smaller than the array"),
        _("{clipped_wh} a day are left on the roof at {name}."),
    ),
    "site_sun_high": (
        _("Much sun for this place"),
        _("{name}, {month}: {ghi} kWh/m² a day is more than {limit} (0.8 of what reaches the air). Check the figure."),
    ),
    # inverter
    "inverter_overloaded": (
        _("The inverter is too small when hot"),
        _("{asked_w} at once; {got_w} are left at {compartment_c}."),
    ),
    "inverter_surge_short": (
        _("The inverter cannot start the largest load"),
        _("{surge_w} are needed; it gives {limit_w} for {limit_s}."),
    ),
    # balance
    "goes_flat": (
        _("Flat at {name}"),
        _(
            "Under a mean sun the battery is empty on day {day}, about {hour}; {unserved_wh} are not served over the "
            "stop."
        ),
    ),
    "sheds": (
        _("Loads are let go at {name}"),
        _("Under a mean sun the charge falls to {lowest_ratio}, about {hour}: {shed_wh} a day are let go."),
    ),
    "never_full": (
        _("Never full at {name}"),
        _("Under a mean sun the best of the last day is {highest_ratio}. Lithium forgives it; lead-acid does not."),
    ),
    "lead_acid_not_full": (
        _("Lead-acid not fully charged at {name}"),
        _("It reaches {highest_ratio}; without a full charge each week it sulphates. Plan mains or more sun."),
    ),
    "runs_down": (
        _("More goes out than comes in at {name}"),
        _("Under a mean sun it ends a day {loss_ratio} lower than it began."),
    ),
    **FINDING_WIRING,
    **FINDING_OUTPUTS,
    **FINDING_SYSTEMS,
    **FINDING_PLACES,
    **FINDING_SELECTING,
    **FINDING_BATTERY,
    **FINDING_TRIP,
    **FINDING_PLAN,
    **FINDING_SPACE,
    **FINDING_CIRCUITS,
}
