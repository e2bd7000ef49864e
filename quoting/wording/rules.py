"""Rules that put a line on the bill or decided a conductor."""

from typing import Any

from django.utils.translation import gettext_lazy as _

from quoting.wording.rules_bill import BILL_RULE
from quoting.wording.rules_labour import LABOUR_RULE

RULE: dict[str, Any] = {
    # what decided a conductor
    "ampacity": _("the current it may carry where it lies"),
    "drop": _("voltage drop from the battery post"),
    "cutout": _("the voltage that the load needs, running and starting"),
    "device": _("the device must not be larger than the conductor"),
    "adiabatic": _("the heat of a fault until the device opens"),
    "disconnection": _("a far-end fault must clear in 5 s"),
    "least": _("the thinnest that is used"),
    "signal": _("the thinnest for a signal, by policy"),
    "bond": _("the size of the main positive (IEC 60364-5-54 table 54.2)"),
    "breaking": _("breaking capacity"),
    "inrush": _("starting current"),
    "hand": _("settled by hand"),
    "existing": _("lies in the vehicle already"),
    # what put a part on the bill
    "need_storage": _("stores what the loads use"),
    "need_engine_charging": _("charges from the engine"),
    "need_mains_charging": _("charges from the mains"),
    "need_solar_control": _("charges from the sun"),
    "need_panel": _("charges from the sun"),
    "need_inverting": _("AC loads"),
    "need_monitoring": _("state of charge"),
    "need_switching": _("Away set and shedding"),
    "need_inlet": _("shore power"),
    "need_converting": _("feeds the 12 V loads"),
    "need_coupling": _("joins tow vehicle and trailer"),
    "need_sensing": _("inputs for what is watched"),
    "need_sensor": _("tells a level, a temperature or a current"),
    "need_residual": _("residual-current protection of the AC side"),
    "protects": _("protects its conductor"),
    "isolator": _("parts the battery from everything"),
    "holder": _("holds the fuses"),
    "busbar": _("shares the current out"),
    "cable_positive": _("positive conductors, spare included"),
    "cable_negative": _("negative conductors, spare included"),
    "cable_bond": _("negative to body"),
    "cable_signal": _("sensor and control conductors, spare included"),
    "spare_fuse": _("spares carried in the vehicle"),
    "terminal": _("both ends of every length of conductor"),
    **BILL_RULE,
    **LABOUR_RULE,
}
