"""Switched outputs: findings of how they are laid out, and why a place is refused."""

from typing import Any

from django.utils.text import format_lazy
from django.utils.translation import gettext_lazy as _

BY_ITSELF = _("It was given another output by itself.")

FINDING_OUTPUTS: dict[str, Any] = {
    "circuit_mixes_groups": (
        _("“{name}” cannot be one circuit"),
        _(
            "It was to carry {live}, which stays on, and {away}, of the Away set. No circuit is both, so two are "
            "designed. Give them circuits of their own in the audit."
        ),
    ),
    "outputs_no_spare": (
        _("Too few switched outputs stay free"),
        _("{free} of {spare} wanted are spare. Add a module, or take a circuit off its output."),
    ),
    "outputs_spare_smaller": (
        _("The spare outputs are small"),
        _(
            "As laid out by hand the largest spare output carries {left_a}; laid out by itself one for {by_itself_a} "
            "would stay free."
        ),
    ),
    "sheds_nothing_output": (
        _("{name} is let go by nothing"),
        _(
            "It is to go off below {below_ratio}, but hangs on no output that sheds, so it stays on. Give it one, or "
            "take the threshold away."
        ),
    ),
    "sheds_nothing_inverter": (
        _("{name} is let go by nothing"),
        _(
            "It is to go off below {below_ratio}, but hangs on the inverter, which no output switches. Switch it off "
            "by hand, or take the threshold away."
        ),
    ),
    "sheds_nothing_starter": (
        _("{name} is let go by nothing"),
        _("It is to go off below {below_ratio}, but draws on the starter battery, which no output of ours switches."),
    ),
    "goes_off_with_circuit": (
        _("{name} goes off with its circuit"),
        _(
            "It shares {circuit}, which is let go below {below_ratio}. Give it a circuit of its own if it is to stay "
            "on longer."
        ),
    ),
}

WHY: dict[str, Any] = {
    "no_such_circuit": _("The design has no such circuit any more."),
    "hard_wired": _(
        "{name} hangs on no output: it is Always live and not to be let go, or may not hang on a switched output."
    ),
    "no_such_output": _(
        "{name}: there is no output {channel} on module {module}. Modules in the design: {modules}, with {outputs} "
        "outputs each."
    ),
    "over_output": _(
        "{name} takes {current_a}; output {channel} of module {module} carries {limit_a}: {over_a} too much."
    ),
    "device_over_output": _(
        "The {device_a} device of {name} is over what output {channel} of module {module} carries, {limit_a}, and that "
        "output does not protect itself: {over_a} too much."
    ),
    "over_module": _(
        "With {name} module {module} would carry {asked_a}; all its outputs together carry {limit_a}: {over_a} too "
        "much."
    ),
    "output_taken": _("Output {channel} of module {module} is taken by {other}."),
    "other_supply": _(
        "Module {module} is fed from another bus than {name}: {other} hangs on it. A module has one supply."
    ),
    "leaves_no_place": _(
        "With {name} on output {channel} of module {module} no output is left for {other}, which needs one of "
        "{other_a}."
    ),
}
"""Why a circuit cannot hang on the output that a person gave it: codes of ``quoting.sizing.outputs_fit.Refusal``."""

NO_OUTPUT = ("no_such_circuit", "hard_wired")
"""Refused places of circuits that have no output at all."""

FINDING_OUTPUTS |= {
    f"laid_{code}": (
        _("A circuit is not on the output it was given"),
        words if code in NO_OUTPUT else format_lazy("{} {}", words, BY_ITSELF),
    )
    for code, words in WHY.items()
}

INPUT_KIND: dict[str, Any] = {
    "resistance": _("resistance"),
    "temperature": _("temperature"),
    "voltage": _("voltage"),
    "current": _("current"),
    "digital": _("on or off"),
}
"""What a sensing input reads: ``catalog.kinds.channels.SENSES``."""
