"""The engineering policy in words: its parts, and which figures each value moves."""

from __future__ import annotations

from django.utils.translation import gettext_lazy as _

SECTIONS = (
    (
        "battery",
        _("Battery"),
        {
            "design_margin_ratio": _("size and price of every battery"),
            "reserve_ratio": _("hours to full from each source"),
            "cold_charge_below_c": _("charge taken by lithium on cold days"),
            "cold_charge_ratio": _("charge taken by lithium on cold days"),
            "battery_lag_h": _("cell temperature through the day"),
            "life_halved_per_k": _("years a lead-acid battery lasts"),
        },
    ),
    (
        "charging",
        _("Engine, mains and starter battery"),
        {
            "alternator_hot_idle_ratio": _("size and setting of the engine charger where hot idle was not measured"),
            "alternator_hot_speed_ratio": _("size of the engine charger"),
            "alternator_plan_ratio": _("size of the engine charger"),
            "vehicle_draw_a": _("size of the engine charger where own draw was not measured"),
            "idle_share_ratio": _("charge from an hour of driving"),
            "mains_full_h": _("size of the mains charger"),
            "crank_charge_ratio": _("days parked until it may not crank"),
            "crank_a": _("recharge after cranking where cranking was not measured"),
            "crank_s": _("recharge after cranking"),
            "starter_take_per_h": _("time until the starter battery is full again"),
        },
    ),
    (
        "sun",
        _("Sun"),
        {
            "pv_loss_soiling_ratio": _("what panels give"),
            "pv_loss_mismatch_ratio": _("what panels give"),
            "pv_loss_wiring_ratio": _("what panels give"),
            "pv_loss_connections_ratio": _("what panels give"),
            "pv_loss_light_induced_ratio": _("what panels give"),
            "pv_loss_nameplate_ratio": _("what panels give"),
            "wind_m_s": _("temperature of panels, and so what they give"),
            "record_low_offset_k": _("highest panel voltage, and so which controller may take it"),
            "day_correlation_ratio": _("how many grey days come together"),
        },
    ),
    (
        "weather",
        _("Weather, shedding and the monitor"),
        {
            "spread_low_ratio": _("what counts as bad weather on every chart, and what a grey day costs"),
            "weather_draws": _("how finely chances are told; time that working out takes"),
            "dark_chance_ratio": _("which months hold at the home site"),
            "shed_restore_ratio": _("when a shed group comes back"),
            "backstop_v_per_12": _("when shed groups go off although the monitor reads enough"),
            "backstop_restore_v_per_12": _("when they come back after that"),
            "backstop_delay_min": _("when shed groups go off although the monitor reads enough"),
            "monitor_drift_day_ratio": _("what a trial with a drifting monitor shows"),
        },
    ),
    (
        "heat",
        _("Heat"),
        {
            "compartment_rise_k": _("derating of chargers and inverter, cell temperature, what refrigerators take"),
            "own_heat_k_per_w": _("derating of chargers and controllers"),
            "cooling_evaporator_k": _("what refrigerators draw on hot days"),
            "cooling_condenser_k": _("what refrigerators draw on hot days"),
        },
    ),
    (
        "conversion",
        _("Converters and inverter"),
        {
            "converter_efficiency_ratio": _("what loads behind a converter draw, until one is chosen"),
            "inverter_assumed_ratio": _("what AC loads draw, until an inverter is chosen"),
        },
    ),
    (
        "conductors",
        _("Conductors"),
        {
            "drop_critical_ratio": _("area of conductors of critical circuits"),
            "drop_other_ratio": _("area of all other conductors"),
            "joint_ohm": _("voltage drop of each circuit"),
            "low_voltage_v_per_12": _("area of conductors, current of loads of constant power"),
            "cutout_margin_v": _("area of conductors to loads with a cut-out"),
            "charging_v_per_12": _("highest voltage that parts must stand"),
            "laid_apart_mm2": _("ampacity of feeders, and so their area"),
            "positive_colour": _("conductors on every list and bill"),
            "negative_colour": _("conductors on every list and bill"),
            "chassis_return_allowed": _("whether a circuit may be changed to return through the body"),
            "chassis_ohm": _("voltage drop and faults of circuits that return through the body"),
            "signal_area_mm2": _("area of the conductors of sensors"),
        },
    ),
    (
        "protection",
        _("Protection"),
        {
            "fuse_continuous_ratio": _("rating of devices, and so area of conductors"),
            "fuse_temperature_ratio": _("rating of devices, and so area of conductors"),
            "place_m": _("where a device must sit"),
            "unknown_battery_breaking_a": _("breaking capacity asked of devices"),
            "worn_resistance_ratio": _("how soon a far-end fault is cleared, and so area of long conductors"),
        },
    ),
    (
        "spares",
        _("Spares"),
        {
            "spare_outputs": _("size of the switching module"),
            "spare_inputs": _("parts with sensing inputs"),
            "spare_fuses_each": _("spare fuses on the bill"),
            "cable_spare_ratio": _("metres of cable, conduit and heat-shrink to buy"),
            "shrink_length_mm": _("metres of heat-shrink to buy"),
            "support_every_m": _("ties and clips on the bill"),
            "support_battery_every_m": _("ties and clips along conductors of a battery"),
        },
    ),
    (
        "choosing",
        _("Choosing components"),
        {
            "stock_premium_ratio": _("which parts are chosen where stock is preferred"),
            "part_life_years": _("cost per year of an offer"),
            "battery_most_years": _("cost per year of an offer"),
            "panel_gap_mm": _("how many panels a roof takes"),
            "roof_edge_mm": _("how many panels a roof takes"),
            "battery_gap_mm": _("how many batteries a space takes"),
        },
    ),
)
"""Parts of the page in its order: code, title, and for each value what it changes."""

CHEMISTRY = {
    "usable_depth_ratio": (_("deepest discharge"), _("size of the battery for days of autonomy")),
    "daily_depth_ratio": (_("deepest of an ordinary day"), _("size of the battery for one day")),
    "end_of_life_ratio": (_("left when worn"), _("size of the battery")),
    "charge_efficiency_ratio": (_("charge out over charge in"), _("what charging must bring back")),
    "tail_h": (_("time constant of absorption"), _("hours to full")),
    "self_discharge_month_ratio": (_("lost in a month by itself"), _("days it may stand unused")),
}
"""Values of one chemistry: their label, and what each changes."""

OFFER = {
    "objective": (_("has least of"), _("which of the systems that meet it is offered")),
    "battery_ratio": (_("battery, of what autonomy asks"), _("size and price of the offer's battery")),
    "array_ratio": (_("array, of what the day asks"), _("size of the offer's array")),
    "charging_ratio": (_("engine and mains, of what is asked"), _("size of the offer's chargers")),
    "spare_outputs": (_("outputs kept free"), _("size of the offer's switching module")),
    "dark_chance_ratio": (_("highest chance of going dark"), _("when an offer counts as proved")),
}
"""Values of one of the three offers: their label, and what each changes."""

CHOICES = {
    "objective": {"price": _("price"), "cost_per_year": _("cost per year"), "mass": _("mass")},
    "positive_colour": {"red": _("red"), "brown": _("brown")},
    "negative_colour": {
        "black_or_yellow": _("black or yellow"),
        "black": _("black"),
        "yellow": _("yellow"),
        "blue": _("blue"),
        "grey": _("grey"),
        "white": _("white"),
    },
}
"""Values that are one of a few: what each is called."""
