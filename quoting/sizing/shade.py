"""What shade leaves of an array: it takes whole bypass groups, and with them voltage, not light in proportion."""

from __future__ import annotations

import math
from functools import lru_cache
from typing import TYPE_CHECKING

from catalog.kinds.capabilities import Panel, SolarControl

if TYPE_CHECKING:
    from numpy import float64
    from numpy.typing import NDArray

    Floats = NDArray[float64]

VOC_V_PER_GROUP = 12.0
"""Open circuit, of the cells under one bypass diode. [V] Common practice: 36 cells in two groups, 60 in three."""
MOST_GROUPS = 12
"""Groups that are assumed of one panel at most."""


def groups_of(panel: Panel) -> int:
    """Bypass groups of one panel: the maker's number, else one for about each 12 V of open-circuit voltage."""
    if panel.bypass_groups is not None:
        return panel.bypass_groups
    return min(MOST_GROUPS, max(1, round(panel.voc_v / VOC_V_PER_GROUP)))


def touched_groups(shade_ratio: float, groups: int) -> float:
    """Bypass groups that a shadow touches, mean over where its edge falls.

    Parameters
    ----------
    shade_ratio : float
        Share of the panels' area in shadow. [0..1]
    groups : int
        Of the whole array.

    Notes
    -----
    The shadow begins at the array's edge and lies over ``x = shade_ratio × groups`` groups, one after the other. Groups
    it covers are touched, and so is the one its own edge lies in: the next whole number above x. Nobody knows where in
    a group that edge falls, so x is as likely anywhere within half a group of what is stated, and the mean of the next
    whole number above over one whole group is x + 1/2. A shadow of everything touches all, none touches none.

    Examples
    --------
    >>> touched_groups(0.5, 4), touched_groups(0.0, 4), touched_groups(0.95, 4)
    (2.5, 0.0, 4.0)
    """
    return min(float(groups), shade_ratio * groups + 0.5) if shade_ratio > 0 else 0.0


def left_ratio(
    panel: Panel,
    control: SolarControl,
    series: int,
    strings: int,
    shade_ratio: float,
    hot_v: Floats | float,
    asked_v: float,
) -> Floats:
    """Share of its power that an array still gives in shade: 1 without, 0 in full shade, never more than lies in sun.

    Parameters
    ----------
    panel : Panel
        Its bypass groups.
    control : SolarControl
        A tracker finds the best single voltage of all strings; PWM holds them at the battery's.
    series, strings : int
        Panels in a string, strings side by side.
    shade_ratio : float
        Share of the panels' area in shadow. [0..1]
    hot_v : ndarray or float
        Working voltage of a whole string at its temperature. [V]
    asked_v : float
        Under this a string gives nothing: see :func:`quoting.sizing.sun.asked_v`. [V]

    Returns
    -------
    ndarray
        Of the shape of ``hot_v``.

    Notes
    -----
    The shadow runs over the panels string by string, so that at most one string is shaded in part. Touched groups are
    bypassed and give nothing, not even of the diffuse light they still see: the safe side. Between the two whole
    numbers of touched groups either side of their mean (:func:`touched_groups`) the share is what each leaves, by how
    likely it is. Common practice; the diode's own 0.5 V is left out.
    """
    import numpy as np

    volts = np.asarray(hot_v, dtype=np.float64)
    left = np.zeros_like(volts)
    for likely, without, together, of_volts in _likely(groups_of(panel) * series, strings, shade_ratio, control.method):
        left = left + likely * np.where(volts * of_volts >= asked_v, max(without, together), without)
    return left


def left_of_one(
    panel: Panel, control: SolarControl, series: int, strings: int, shade_ratio: float, hot_v: float, asked_v: float
) -> float:
    """As :func:`left_ratio` of a single voltage: many arrays are asked one by one where a catalogue is gone through.

    Examples
    --------
    >>> mppt = SolarControl("mppt", (12.0,), 20.0, 0.97, 75.0, 15.0, 1.0)
    >>> panel = Panel(100.0, 18.0, 5.6, 22.0, 6.0, -0.004, -0.003, 15.0, 600.0, 1.2, 0.5, 2)
    >>> left_of_one(panel, mppt, 2, 1, 0.5, 36.0, 15.0)
    0.25
    """
    left = 0.0
    for likely, without, together, of_volts in _likely(groups_of(panel) * series, strings, shade_ratio, control.method):
        left += likely * (max(without, together) if hot_v * of_volts >= asked_v else without)
    return left


Left = tuple[float, float, float, float]


@lru_cache(maxsize=4096)
def _likely(in_string: int, strings: int, shade_ratio: float, method: str) -> tuple[Left, ...]:
    """How likely each whole number of touched groups is, either side of their mean, and what it leaves."""
    mean = touched_groups(shade_ratio, in_string * strings)
    fewer = math.floor(mean)
    part = mean - fewer
    sure = (1 - part, *_left(fewer, in_string, strings, method))
    return (sure,) if part == 0 else (sure, (part, *_left(fewer + 1, in_string, strings, method)))


def _left(touched: int, in_string: int, strings: int, method: str) -> tuple[float, float, float]:
    """What so many bypassed groups leave of an array: without the string that is shaded in part, with it; its volts.

    Without it where those volts, as a share of a whole string's, do not start the controller.
    """
    dark, gone = divmod(touched, in_string)
    whole = strings - dark - (gone > 0)
    without = whole / strings
    if gone == 0:
        return without, without, 1.0
    volts = 1 - gone / in_string
    if method == "pwm":
        # its panels work under their best voltage: it would lose less, which is not counted
        return without, min((whole + 1) / strings, 1 - touched / (in_string * strings)), volts
    return without, (whole + 1) * volts / strings, volts


__all__ = ["MOST_GROUPS", "VOC_V_PER_GROUP", "groups_of", "left_of_one", "left_ratio", "touched_groups"]
