"""Questions a licensed person has to answer before mains work."""

from django.utils.translation import gettext_lazy as _

QUESTION = {
    "neutral_earth_link": _(
        "Where is neutral linked to earth when the inverter feeds, and is the link lifted on shore power?"
    ),
    "changeover_shore_inverter": _("What keeps inverter and shore power from ever feeding the same circuit?"),
    "earth_and_bonding": _("Which earth conductor and bonds to the body does the AC side get?"),
    "residual_device_per_source": _("Does each source have its own residual-current device, of the right type?"),
    "residual_type_and_sensitivity": _(
        "Of which type, sensitivity and rating is each residual-current device, for what is connected behind it?"
    ),
    "double_pole_switching": _(
        "What switches and protects both live conductors of each source and each AC circuit together?"
    ),
    "ac_conductors_and_breakers": _("Which conductors and breakers does the AC side get?"),
    "certificate_who": _("Who certifies the AC side, and under which rules?"),
}
OF_INVERTER = frozenset({"neutral_earth_link", "changeover_shore_inverter"})
"""Asked only where an inverter is chosen: without one there is nothing to change over."""
