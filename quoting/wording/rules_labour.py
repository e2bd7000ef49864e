"""Rules that put labour on the bill: what each operation is counted by."""

from typing import Any

from django.utils.translation import gettext_lazy as _

LABOUR_RULE: dict[str, Any] = {
    "labour_survey": _("survey of the vehicle"),
    "labour_check_kept_part": _("per part that is kept"),
    "labour_fit_battery": _("per battery"),
    "labour_fit_charger": _("per charger"),
    "labour_fit_multi_charger": _("per charger of several inputs"),
    "labour_fit_solar_controller": _("per solar controller"),
    "labour_fit_converter": _("per voltage converter"),
    "labour_fit_panel": _("per panel"),
    "labour_fit_panel_flexible": _("per flexible panel"),
    "labour_fit_inverter": _("per inverter"),
    "labour_fit_monitor": _("per battery monitor, its shunt with it"),
    "labour_fit_switched_module": _("per module of switched outputs"),
    "labour_fit_device": _("per fuse, breaker, isolator and whatever has no operation of its own"),
    "labour_fit_busbar": _("per busbar, its cover with it"),
    "labour_fit_board": _("per board"),
    "labour_fit_tank_sender": _("per tank sender"),
    "labour_fit_temperature_sender": _("per temperature sender"),
    "labour_fit_trailer_plug": _("per plug and socket of the trailer"),
    "labour_fit_high_current_coupling": _("per high-current coupling, both halves"),
    "labour_fit_vent": _("per vent of the battery compartment"),
    "labour_run_cable_m": _("per metre of conductor"),
    "labour_pass_bulkhead": _("per pass through sheet metal; the array’s go with its panels"),
    "labour_terminate": _("per terminal, its heat-shrink with it"),
    "labour_crimp_lug": _("per lug of 25 mm² or more"),
    "labour_label_circuit": _("per circuit: both ends, its device, the list"),
    "labour_program_settings": _("per component with settings"),
    "labour_licensed_ac": _("AC side, by a licensed person"),
    "labour_test_circuit": _("per circuit: polarity, drop and load"),
    "labour_test_and_handover": _("sources, papers and handover"),
}
