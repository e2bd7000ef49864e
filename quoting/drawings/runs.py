"""A circuit as a level line from left to right: its devices, their ratings, its size and length."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

from quoting.drawings.canvas import Canvas, Piece, Place, weight_for
from quoting.drawings.pen import MM, Run
from quoting.drawings.plan import ends
from quoting.drawings.symbols import DEVICES
from quoting.sizing.appraisal import Circuit, Device

LEAD_MM = 3.0
"""Least wire before the first device. [mm]"""
STAYS_PT = 0.4
"""Weight of a conductor that is in the vehicle already. [pt]"""
BEFORE_DEVICE_MM, BEFORE_END_MM = 5.6, 2.4
"""Wire behind a coupling, so that the trailer's outline passes before what follows and its texts. [mm]"""
SECOND_MM = 24.2
"""Least of :func:`_second_mm`, so that second devices of most rows stand below each other. [mm]"""


def run(
    canvas: Canvas,
    circuit: Circuit | None,
    x0: float,
    x1: float,
    y: float,
    *,
    branch: bool = False,
    weight: float | None = None,
    named: bool = False,
) -> None:
    """Draw a circuit from ``x0`` to ``x1`` at height ``y``.

    Devices at its source follow ``x0``, those at its load precede ``x1``. A ``branch`` has tag and rating in one line
    above the contact, a feed the tag above and the rating below. ``named`` prints the circuit's own tag too.
    """
    if weight is None:
        weight = weight_for(circuit.role) if circuit else 0.75
    if circuit and circuit.tag in canvas.stays:
        weight = STAYS_PT
    near, far = ends(circuit.devices) if circuit else ([], [])
    placed: list[tuple[Device, float]] = []
    second = x0 + (_second_mm(canvas, near[0]) if near else SECOND_MM)
    at = x0
    for index, device in enumerate(near):
        centre = at + _half_room(canvas, device, branch)
        if branch and index == 1:
            centre = max(centre, min(second, x1 - 6.0))
        placed.append((device, centre))
        at = centre + (DEVICES[device.what][1] / 2 + 0.6 if branch else _half_room(canvas, device, branch) - 1.0)
    at = x1
    late: list[tuple[Device, float]] = []
    for device in reversed(far):
        centre = at - _half_room(canvas, device, branch)
        late.insert(0, (device, centre))
        at = centre - _half_room(canvas, device, branch) + 1.0
    placed += late
    stands: list[tuple[Device | None, float]] = [*placed]
    if circuit and circuit.crosses_hitch:
        stands = _with_coupling(stands, x0, x1)
    free: list[tuple[float, float]] = []
    at = x0
    for stood, centre in stands:
        what = stood.what if stood else "coupling"
        half = DEVICES[what][1] / 2
        canvas.wire([(at, y), (centre - half, y)], weight)
        free.append((at, centre - half))
        canvas.device(what, centre, y)
        if circuit and not stood:
            canvas.couplings[circuit.tag] = centre
        if stood:
            _say_device(canvas, stood, centre, y, branch, second - 0.8)
        at = centre + half
    canvas.wire([(at, y), (x1, y)], weight)
    free.append((at, x1))
    if circuit:
        canvas.text(30, list(_label_places(canvas, circuit, free, y, weight, named)))


def changed(canvas: Canvas, circuit: Circuit) -> tuple[Run, ...]:
    """Sign of a circuit that a person settled."""
    if not circuit.changed:
        return ()
    canvas.used.add("changed")
    return (Run("*", bold=True),)


def _with_coupling(
    placed: list[tuple[Device | None, float]], x0: float, x1: float
) -> list[tuple[Device | None, float]]:
    """Put the hitch's coupling at the end of the longest free stretch, so that the label keeps the rest of it."""
    edges = [x0]
    for device, centre in placed:
        half = DEVICES[device.what][1] / 2 if device else 0.0
        edges += [centre - half, centre + half]
    edges.append(x1)
    gaps = [(edges[i + 1] - edges[i], i // 2) for i in range(0, len(edges), 2)]
    _, index = max(gaps, key=lambda gap: gap[0])
    clear = BEFORE_DEVICE_MM if index < len(placed) else BEFORE_END_MM
    centre = max(edges[2 * index] + 3.2, edges[2 * index + 1] - DEVICES["coupling"][1] / 2 - clear)
    return [*placed[:index], (None, centre), *placed[index:]]


def device_ratings(canvas: Canvas, device: Device) -> tuple[Run, ...]:
    """Rated current, and breaking capacity where the device has one."""
    runs = canvas.quantity(device.rating_a, "A")
    if device.breaking_a:
        first, unit = canvas.quantity(device.breaking_a / 1000, "kA")
        runs = (*runs, Run(first.text, gap_mm=1.5), unit)
    return runs


def _half_room(canvas: Canvas, device: Device, branch: bool) -> float:
    half = DEVICES[device.what][1] / 2
    if branch:
        return LEAD_MM + half
    wide = max(canvas.pen.width_of(device_ratings(canvas, device)), canvas.pen.width_of(canvas.tagged(device.tag))) / 2
    return max(LEAD_MM + half, wide + 1.5)


def _second_mm(canvas: Canvas, first: Device) -> float:
    """Where a branch's second device has its centre, from the bar: clear of the first one's tag and rating. [mm]"""
    said = (*canvas.tagged(first.tag), *device_ratings(canvas, first))
    return max(SECOND_MM, LEAD_MM + canvas.pen.width_of(said) + 1.0 + 3.0)


def _say_device(canvas: Canvas, device: Device, x: float, y: float, branch: bool, second_x: float) -> None:
    tag, rating = canvas.tagged(device.tag), device_ratings(canvas, device)
    high = y - {"residual": 4.3, "fuse": 2.6}.get(device.what, 3.6)
    low = y + (4.6 if device.what in ("fuse", "residual") else 4.1)
    apart: list[Place] = [
        (Piece(tag, x + dx, high, "middle"), Piece(rating, x + dx, low, "middle")) for dx in (0.0, 1.5, -1.5)
    ]
    first, *rest = rating
    spaced = (*tag, replace(first, gap_mm=1.0), *rest)
    left = x - DEVICES[device.what][1] / 2
    level = y - (4.4 if device.what == "residual" else 3.85)
    one: list[Place] = [(Piece(spaced, left, level),), (Piece(spaced, left, low),)]
    if branch and x > second_x - 1:
        one = [(Piece(spaced, second_x, height),) for height in (level, y + 3.7)] + one
    split: list[Place] = [(Piece(tag, left, level), Piece(rating, left, y + 3.6))]
    canvas.text(20, [*one, *split, *apart] if branch else [*apart, *one])


def _label_places(
    canvas: Canvas, circuit: Circuit, free: list[tuple[float, float]], y: float, weight: float, named: bool
) -> Iterator[Place]:
    size = (*canvas.quantity(circuit.area_mm2, "mm²", most=2), *canvas.colour_of(circuit))
    long = canvas.quantity(circuit.run_m, "m", fixed=True)
    tag = (*canvas.tagged(circuit.tag, 7.0), *changed(canvas, circuit)) if named else ()
    head = (*tag, replace(size[0], gap_mm=1.0), *size[1:]) if tag else size
    whole = (*head, Run(long[0].text, gap_mm=1.9), long[1])
    above, below = y - weight / MM / 2 - 0.95, y + weight / MM / 2 + 2.25
    stretches = sorted(free, key=lambda stretch: stretch[0] - stretch[1])
    shifts = (0.0, 1.5, -1.5, 3.0, -3.0, 5.0, -5.0)
    for start, end in stretches:
        middle = (start + end) / 2
        if canvas.pen.width_of(whole) <= end - start - 0.8:
            yield from ((Piece(whole, middle + shift, above, "middle"),) for shift in shifts)
    for start, end in stretches:
        middle = (start + end) / 2
        if canvas.pen.width_of(head) <= end - start - 0.8:
            for shift in shifts[:5]:
                yield (
                    Piece(head, middle + shift, above, "middle"),
                    Piece(long, middle + shift, below, "middle"),
                )
    for start, end in stretches if tag else ():
        middle = (start + end) / 2
        if canvas.pen.width_of(size) <= end - start - 0.8:
            yield (
                Piece(tag, middle, above - 3.1, "middle"),
                Piece(size, middle, above, "middle"),
                Piece(long, middle, below, "middle"),
            )
            yield (
                Piece(size, middle, above, "middle"),
                Piece(long, middle, below, "middle"),
                Piece(tag, middle, below + 3.1, "middle"),
            )
    for start, end in stretches:
        middle = (start + end) / 2
        yield from ((Piece(whole, middle + shift, below, "middle"),) for shift in shifts)
        yield from ((Piece(whole, middle + shift, above - 3.1, "middle"),) for shift in shifts)
        yield from ((Piece(whole, middle + shift, below + 3.1, "middle"),) for shift in shifts)
        wider = (*shifts, 8.0, -8.0, 11.0, -11.0)
        yield from ((Piece(whole, middle + shift, y - 6.9, "middle"),) for shift in wider)
        yield from ((Piece(whole, middle + shift, y + 7.7, "middle"),) for shift in wider)
        yield from ((Piece(whole, middle + shift, y - 10.4, "middle"),) for shift in wider)
