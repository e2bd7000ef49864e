"""Settings that a technician enters into a component."""

from typing import Any

from django.utils.translation import gettext_lazy as _

SETTING: dict[str, Any] = {
    "profile": _("Charge profile"),
    "absorption_v": _("Absorption voltage"),
    "float_v": _("Float voltage"),
    "compensation_mv_per_cell_k": _("Temperature compensation"),
    "output_limit_a": _("Output limit"),
    "input_limit_a": _("Input limit"),
    "charge_limit_a": _("Charging limit"),
    "low_cutoff_v": _("Low-voltage cut-off"),
    "cutoff_v": _("Low-voltage cut-off"),
    "capacity_ah": _("Battery capacity"),
    "peukert": _("Peukert exponent"),
    "full_v": _("Counts as full above"),
    "cells": _("Cells in series"),
    "chemistry": _("Chemistry"),
    "shed": _("Sheds %(name)s below"),
    "back_over_ratio": _("What was shed comes back, above that, by"),
    "backstop_v": _("Sheds everything below, whatever the charge"),
    "backstop_restore_v": _("and lets it come back above"),
    "backstop_delay_min": _("after it was below for"),
}
UNIT: dict[str, str] = {"compensation_mv_per_cell_k": "mV/cell/K", "backstop_delay_min": "min"}
"""Units that the ending of the name does not give."""
