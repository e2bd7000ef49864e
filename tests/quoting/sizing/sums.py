"""Reckon a trace as a person with a calculator would: line by line, and compare at every ``=``."""

from __future__ import annotations

import math

from quoting.sizing.trace import Figure


def follow(figure: Figure) -> float:
    """The running value after the last line; raises AssertionError where an ``=`` does not follow."""
    running: float | None = None
    for line in figure.steps:
        value = line.value
        if line.op == "" or running is None:
            running = value
        elif line.op == "+":
            running += value
        elif line.op == "−":
            running -= value
        elif line.op == "×":
            running *= value
        elif line.op == "÷":
            running /= value
        elif line.op == "max":
            running = max(running, value)
        elif line.op == "min":
            running = min(running, value)
        elif line.op == "√":
            running = math.sqrt(running)
        elif line.op == "=":
            close = math.isclose(running, value, rel_tol=1e-6, abs_tol=1e-9)
            assert close, f"{figure.code}: {line.code} is {value}, the lines give {running}"
            running = value
    assert running is not None, f"{figure.code} shows no working"
    return running
