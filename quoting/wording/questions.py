"""Questions a licensed person has to answer before mains work."""

from django.utils.translation import gettext_lazy as _

QUESTION = {
    "neutral_earth_link": _(
        "Where is neutral linked to earth when the inverter feeds, and is the link lifted on shore power?"
    ),
}
