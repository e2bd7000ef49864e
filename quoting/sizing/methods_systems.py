"""Single methods of systems of more than one bus or vehicle: converters, and the coupling of a trailer."""

from __future__ import annotations

from quoting.sizing import converters, hitch
from quoting.sizing.methods_registry import Input, Values, declare, figure_of, number
from quoting.sizing.trace import Figure, Scalar, step


@declare(
    "converter-input-current",
    "What a voltage converter takes at its input, at the lowest voltage of the bus.",
    number("output_w", "W", 0, 20000, "Taken by its loads."),
    number("efficiency_ratio", "", 0.3, 1, "Output over input power.", 0.9),
    number("bus_v", "V", 6, 60, "Lowest voltage of the bus.", 24.0),
)
def _converter_input(v: Values) -> tuple[Figure, dict[str, Scalar]]:
    amps = converters.input_a(v["output_w"], v["efficiency_ratio"], v["bus_v"])
    steps = converters.input_steps(v["output_w"], v["efficiency_ratio"], v["bus_v"])
    lost_w = v["output_w"] / v["efficiency_ratio"] - v["output_w"]
    return figure_of("converter.input_a", amps, "A", steps, "converter_input", "energy", lost_w=lost_w)


@declare(
    "coupling-drop",
    "Voltage lost in the contacts of a trailer's coupling, feed and return.",
    number("current_a", "A", 0, 1000, "Of the circuit."),
    number("pin_ohm", "Ω", 0, 0.1, "One mated contact.", 0.002),
    Input("pairs", "", 1, 30, "Pairs of pins side by side.", 1, "integer"),
    Input("crossings", "", 1, 4, "Couplings on the way.", 1, "integer"),
)
def _coupling_drop(v: Values) -> tuple[Figure, dict[str, Scalar]]:
    drop = hitch.coupling_drop_v(v["current_a"], v["pin_ohm"], v["pairs"], v["crossings"])
    steps = (
        step("current", v["current_a"], "A", "", "input"),
        step("pin_contacts", 2, "", "×", "constant"),
        step("pin_resistance", v["pin_ohm"], "ohm", "×", "catalogue"),
        step("crossings", v["crossings"], "", "×", "input"),
        step("pin_pairs", v["pairs"], "", "÷", "input"),
        step("drop", drop, "V", "="),
    )
    heat_w = drop * v["current_a"]
    return figure_of("coupling.drop_v", drop, "V", steps, "coupling_drop", "ohm", heat_w=heat_w)
