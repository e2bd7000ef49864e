"""What shade leaves of an array: it takes whole bypass groups, and with them voltage, not light in proportion."""

from __future__ import annotations

import math
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
    in_string = series * groups_of(panel)
    mean = touched_groups(shade_ratio, in_string * strings)
    fewer = math.floor(mean)
    part = mean - fewer
    left = _left(fewer, in_string, strings, control, hot_v, asked_v)
    if part == 0:
        return left
    return (1 - part) * left + part * _left(fewer + 1, in_string, strings, control, hot_v, asked_v)


def _left(
    touched: int, in_string: int, strings: int, control: SolarControl, hot_v: Floats | float, asked_v: float
) -> Floats:
    """What so many bypassed groups leave of an array of ``in_string × strings`` groups, shape of ``hot_v``."""
    import numpy as np

    dark, gone = divmod(touched, in_string)
    whole = strings - dark - (gone > 0)
    without = whole / strings
    if gone == 0:
        return np.full_like(np.asarray(hot_v, dtype=np.float64), without)
    volts = 1 - gone / in_string
    if control.method == "pwm":
        # its panels work under their best voltage: it would lose less, which is not counted
        together = min((whole + 1) / strings, 1 - touched / (in_string * strings))
    else:
        together = (whole + 1) * volts / strings
    holds = np.asarray(hot_v, dtype=np.float64) * volts >= asked_v
    return np.where(holds, max(without, together), without)


__all__ = ["MOST_GROUPS", "VOC_V_PER_GROUP", "groups_of", "left_ratio", "touched_groups"]
