"""What a quote stands on: what is not in it, what is reused, mass, days, terms."""

from __future__ import annotations

from django.utils.translation import gettext as _

from quoting.documents import as_found, side_by_side, speech
from quoting.documents.common import Frozen, lines_of
from quoting.documents.content import Named
from quoting.documents.speech import quantity


def payload_after_kg(frozen: Frozen) -> float | None:
    """Payload left once the system is in. [kg]"""
    left = frozen.brief["vehicle"].get("payload_left_kg")
    return None if left is None else float(left) - float(frozen.body["offer"]["mass_kg"])


def conditions(frozen: Frozen) -> tuple[Named, ...]:
    body, money = frozen.body, frozen.locality
    quote = body["quote"]
    out = [
        Named(_("Not included"), _not_included(frozen)),
        Named(
            _("Reused or yours"),
            (*lines_of(quote.get("reused")), *as_found.kept_words(frozen))
            or (_("Nothing that is in the vehicle now is reused."),),
        ),
    ]
    if not as_found.is_fault(frozen):
        out.append(Named(_("Mass"), _mass_words(frozen)))
    if quote.get("days_off_road"):
        out.append(
            Named(
                _("Off the road"),
                (
                    _("The vehicle stays with us for about %s from the day it is brought in.")
                    % speech.day_count(quote["days_off_road"]),
                ),
            )
        )
    if frozen.has_mains:
        out.append(
            Named(
                _("Mains voltage"),
                (
                    _(
                        "Work at mains voltage, from inlet and inverter to the last socket, is done, tested and "
                        "certified "
                        "by a licensed person under local rules."
                    ),
                ),
            )
        )
    if quote.get("variation_rate"):
        out.append(
            Named(
                _("Variations"),
                (
                    _(
                        "Work beyond this quote is agreed in writing before it is done, at %s an hour before tax "
                        "and parts at list."
                    )
                    % money.money(quote["variation_rate"]),
                ),
            )
        )
    terms = lines_of(quote.get("terms"))
    if terms:
        out.append(Named(_("Terms"), terms))
    if as_found.is_fault(frozen):
        out.append(as_found.rests_on())
        return tuple(out)
    out.append(
        Named(
            _("What it rests on"),
            (
                _(
                    "The figures follow from the use above and from the makers' data. They are a design aid: "
                    "local rules and "
                    "the makers' instructions come first, and the installer answers for the work."
                ),
            ),
        )
    )
    return tuple(out)


def _not_included(frozen: Frozen) -> tuple[str, ...]:
    """The workshop's exclusions are those of a system; a fault's quote covers what it lists."""
    words = () if as_found.is_fault(frozen) else lines_of(frozen.body["quote"].get("exclusions"))
    return words or (_("Anything not listed above."),)


def _mass_words(frozen: Frozen) -> tuple[str, ...]:
    offer = frozen.body["offer"]
    adds = quantity(float(offer["mass_kg"]), "kg", 1)
    words = _("The system adds about %s.") % adds
    if side_by_side.choices(frozen):
        words = _("%(name)s adds about %(adds)s.") % {"name": side_by_side.name_of(offer), "adds": adds}
    after = payload_after_kg(frozen)
    if after is None:
        return (words + " " + _("The payload left was not weighed; please have it checked."),)
    left = quantity(float(frozen.brief["vehicle"]["payload_left_kg"]), "kg")
    if after < 0:
        return (
            words
            + " "
            + _("That is %(over)s more than the %(left)s of payload left: something else must come out.")
            % {"over": quantity(-after, "kg", 1), "left": left},
        )
    return (
        words
        + " "
        + _("Of %(left)s payload left, %(after)s remain.") % {"left": left, "after": quantity(after, "kg", 1)},
    )
