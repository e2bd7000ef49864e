"""What a picked part falls short by, in words."""

from __future__ import annotations

from django.utils.translation import gettext_lazy as _

PICKED = {
    "picked_too_small": _(
        "{best} was picked as {need}, but is too small for {subject}: {asked} is asked, it has {best_value}, short by "
        "{short_by}."
    ),
    "picked_too_large": _(
        "{best} was picked as {need}, but is too large for {subject}: at most {asked} is allowed, it has {best_value}, "
        "over by {short_by}."
    ),
    "picked_wrong_voltage": _(
        "{best} was picked as {need}, but is not made for this voltage; it is left out ({subject})."
    ),
    "picked_wrong_chemistry": _(
        "{best} was picked as {need}, but has no profile for this battery; it is left out ({subject})."
    ),
    "picked_no_match": _("{best} was picked as {need}, but does not meet every need of {subject}; it is left out."),
    "picked_none_of_kind": _("{best} was picked as {need}, but does not serve as one; it is left out ({subject})."),
    "picked_odd_bank": _(
        "{quantity} of {best} were picked, but the house bus wants them in strings of {series}; they make no bank."
    ),
    "picked_too_many": _(
        "{best_value} of {best} were picked, but its maker allows at most {asked} in one bank; they are left out."
    ),
}
