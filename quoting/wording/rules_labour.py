"""Rules that put labour on the bill: what each operation is counted by."""

from typing import Any

from django.utils.translation import gettext_lazy as _

LABOUR_RULE: dict[str, Any] = {
    "labour_survey": _("survey of the vehicle"),
    "labour_check_kept_part": _("by part that is kept"),
    "labour_fit_battery": _("by battery"),
    "labour_fit_charger": _("by charger"),
    "labour_fit_multi_charger": _("by charger of several inputs"),
    "labour_fit_solar_controller": _("by solar controller"),
    "labour_fit_converter": _("by voltage converter"),
    "labour_fit_panel": _("by panel"),
    "labour_fit_panel_flexible": _("by flexible panel"),
    "labour_fit_inverter": _("by inverter"),
    "labour_fit_monitor": _("by battery monitor, its shunt with it"),
    "labour_fit_switched_module": _("by module of switched outputs"),
    "labour_fit_device": _("by fuse, breaker, isolator and whatever has no operation of its own"),
    "labour_fit_busbar": _("by busbar, its cover with it"),
    "labour_fit_board": _("by board"),
    "labour_fit_tank_sender": _("by tank sender"),
    "labour_fit_temperature_sender": _("by temperature sender"),
    "labour_fit_trailer_plug": _("by plug and socket of the trailer"),
    "labour_fit_high_current_coupling": _("by high-current coupling, both halves"),
    "labour_fit_vent": _("by vent of the battery compartment"),
    "labour_run_cable_m": _("by metre of conductor"),
    "labour_pass_bulkhead": _("by pass through sheet metal; the array’s go with its panels"),
    "labour_terminate": _("by terminal, its heat-shrink with it"),
    "labour_crimp_lug": _("by lug of 25 mm² or more"),
    "labour_label_circuit": _("by circuit: both ends, its device, the list"),
    "labour_program_settings": _("by component with settings"),
    "labour_licensed_ac": _("AC side, by a licensed person"),
    "labour_test_circuit": _("by circuit: polarity, drop and load"),
    "labour_test_and_handover": _("sources, papers and handover"),
}
