"""Rules of the bill beside the wiring's own: why a line is there, what the rule counted, what is lacking."""

from typing import Any

from django.utils.translation import gettext_lazy as _

BILL_RULE: dict[str, Any] = {
    "sleeve": _("conduit along the cable runs in use, spare included"),
    "grommet": _("where conduit leaves the engine space"),
    "gland_hitch": _("where conduit passes the wall behind the coupling"),
    "gland_roof": _("where the array’s conductors pass the roof"),
    "support": _("ties the cable runs down along their way"),
    "heat_shrink": _("over every crimp"),
    "cover_bar": _("over live busbars"),
    "cover_post": _("over live posts and studs"),
    "mount_battery": _("holds each battery, in a crash too"),
    "mount_panel": _("holds each panel"),
    "mount_inverter": _("holds the inverter"),
    "mount_board": _("holds the board"),
    "sealant": _("round what passes sheet metal outside, and under panels"),
    "adhesive": _("under flexible panels"),
    "vent": _("airs the battery: one low, one high"),
    "label_conductor": _("at both ends of every circuit"),
    "label_device": _("at every device"),
    "label_list": _("list of the circuits at each board"),
    "label_shut_off": _("where to shut off"),
    "label_battery": _("warns of the battery"),
    "label_daylight": _("warns of conductors that are live in daylight"),
    "label_hydrogen": _("warns of hydrogen"),
    "label_mains": _("warns of mains voltage"),
    "label_two_sources": _("warns of several sources of power"),
    "ac_cable": _("by the licensed person, who says its size and brings it"),
}

COUNTED: dict[str, Any] = {
    "cable_positive": _("{pieces} pieces, {laid_m} laid, {bought_over_ratio} spare"),
    "cable_negative": _("{pieces} pieces, {laid_m} laid, {bought_over_ratio} spare"),
    "cable_bond": _("{pieces} pieces, {laid_m} laid, {bought_over_ratio} spare"),
    "cable_signal": _("{pieces} pieces, {laid_m} laid, {bought_over_ratio} spare"),
    "gland_roof": _("{conductors} conductors of {across_mm}"),
    "support": _("at least every {every_m}, along a battery’s conductors every {battery_every_m}"),
    "heat_shrink": _("{crimps} crimps, {each_mm} each, {bought_over_ratio} spare"),
    "mount_battery": _("{held_kg} each; it carries {carries_kg}"),
    "mount_panel": _("{held_kg} each; it carries {carries_kg}"),
    "mount_inverter": _("{held_kg} each; it carries {carries_kg}"),
    "mount_board": _("{held_kg} with bars, holders and fuses; it carries {carries_kg}"),
    "vent": _("{air_m3_h} of air asks {asked_cm2} in, and as much out"),
    "label_conductor": _("{labels} labels"),
    "label_device": _("{labels} labels"),
}
"""What a rule counted, filled by ``BillLine.params``."""

LACKING: dict[str, Any] = {
    "support": _("ties or clips"),
    "heat_shrink": _("heat-shrink for some of the crimps"),
    "sealant": _("sealant"),
    "adhesive": _("adhesive for flexible panels"),
    "gland_roof": _("a gland for the roof that keeps water out"),
    "cover_bar": _("a cover for a live busbar"),
    "cover_post": _("covers for live posts and studs"),
    "mount_battery": _("a mounting that holds the battery"),
    "mount_panel": _("a mounting for the panels"),
    "mount_inverter": _("a mounting for the inverter"),
    "mount_board": _("a mounting for the board"),
    "vent": _("vents for the battery’s compartment"),
    "label_conductor": _("labels for conductors"),
    "label_device": _("labels for devices"),
    "label_list": _("a label for the list of circuits"),
    "label_shut_off": _("a label for where to shut off"),
    "label_battery": _("a warning of the battery"),
    "label_daylight": _("a warning of conductors live in daylight"),
    "label_hydrogen": _("a warning of hydrogen"),
    "label_mains": _("a warning of mains voltage"),
    "label_two_sources": _("a warning of several sources of power"),
}
"""What the catalogue has no part for, by rule."""

NAMES: dict[str, Any] = {"ac_cable": _("AC flexible cable, no size given")}
"""Lines that are neither a part nor labour, by name."""
