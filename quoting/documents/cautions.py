"""The cautions a paper carries, as far as they apply to the system on it. Common practice of the trade."""

from __future__ import annotations

from django.utils.translation import gettext as _

from quoting.documents.common import Frozen


def wiring(frozen: Frozen) -> tuple[str, ...]:
    """For papers that lead somebody to touch wiring."""
    out = [
        _(
            "Fit and close the fuse at the source last. Work with every source isolated, and prove it dead "
            "before touching."
        ),
        _(
            "The battery gives thousands of amperes into a short. Insulate tools, take off rings, cover posts, fix it, "
            "vent it and isolate it as its maker says."
        ),
    ]
    if frozen.has_mains:
        out.append(
            _(
                "Mains voltage, from inlet and inverter to the last socket, with residual-current protection, earthing "
                "and bonding, is for licensed people under local rules."
            )
        )
    if frozen.has("panel"):
        out.append(
            _(
                "Solar leads are live in daylight: cover the panel or open its breaker, and never part a "
                "plug under load."
            )
        )
    if frozen.has("alternator", "starter_battery"):
        out.append(
            _(
                "Alternator and starter circuits start unasked on many vehicles: key away from the car, battery "
                "disconnected by its maker's order. Keep clear of airbag and fuel lines; high-voltage parts "
                "are not touched."
            )
        )
    else:
        out.append(_("Keep clear of airbag and fuel lines; high-voltage parts are not touched."))
    if frozen.chemistry == "lifepo4":
        out.append(
            _(
                "Lithium: never charge below the temperature its maker allows, never open, crush or bypass "
                "its protection."
            )
        )
    elif frozen.chemistry:
        out.append(_("Lead-acid batteries give off hydrogen while charging: no flame, no spark, air to the outside."))
    out.append(answering())
    return tuple(out)


def answering() -> str:
    """Who answers for the work."""
    return _(
        "These figures are a design aid. Local rules and the makers' instructions come first, and the "
        "installer answers "
        "for the work."
    )


def answering_mended() -> str:
    """Who answers for mended work, where nothing was designed."""
    return _(
        "Local rules and the makers' instructions come first. We answer for what this sheet says was mended, and for "
        "nothing that was left."
    )


def living(frozen: Frozen) -> tuple[str, ...]:
    """For an owner."""
    out = [_("Never bridge a fuse or fit a larger one: the cable behind it would burn first.")]
    if frozen.has_mains:
        out.append(
            _(
                "Anything at mains voltage is repaired by licensed people. Press the test button of each "
                "residual-current device before a trip."
            )
        )
    out.append(_("Do not drill, cut or screw near cables. Keep the battery's space free of loose things, and dry."))
    if frozen.has("panel"):
        out.append(_("The solar leads are live in daylight, even with everything turned off."))
    return tuple(out)
