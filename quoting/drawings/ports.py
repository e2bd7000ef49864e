"""Interrupted lines: each end says the sheet and the field of the frame in which the other end is."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Literal, NamedTuple

End = Literal["node", "row"]
"""At the node that the line leaves or reaches, or at the row, board or zone that stands for itself elsewhere."""
LETTERS = "ABCDEFGHJKLMNPQRSTUVWXYZ"
"""Rows of a frame; I and O are left out, as on any drawing sheet (ISO 5457)."""


class Port(NamedTuple):
    """One end of an interrupted line."""

    name: str
    end: End


Place = tuple[int, str]
"""Sheet and field."""
ELSEWHERE: Place = (8, "B8")
"""What is said while it is not known yet: as wide as what will stand there."""


@dataclass(frozen=True, slots=True)
class Reference:
    """An end of an interrupted line, and where it says that the line goes on."""

    port: Port
    field: str
    to_sheet: int
    to_field: str


@dataclass(slots=True)
class Known:
    """Where the ends are: on this sheet as it is drawn, on all sheets by an earlier pass."""

    sheet: int = 1
    size_mm: tuple[float, float] = (261.0, 168.0)
    grid: tuple[int, int] = (8, 5)
    earlier: Mapping[Port, Place] = field(default_factory=dict)
    stretches: frozenset[str] = frozenset()
    """Names of the rows' ends that stand in columns, as far as they are laid out already."""
    here: dict[str, str] = field(default_factory=dict)
    marked: dict[Port, str] = field(default_factory=dict)

    def zone(self, x: float, y: float) -> str:
        """Field of the frame a point lies in, as ``B3``."""
        across, down = self.grid
        row = min(down - 1, max(0, int(y / self.size_mm[1] * down)))
        return f"{LETTERS[row]}{min(across, max(1, int(x / self.size_mm[0] * across) + 1))}"

    def stand(self, tag: str, x: float, y: float) -> None:
        self.here.setdefault(tag, self.zone(x, y))

    def mark(self, port: Port, x: float, y: float) -> None:
        self.marked.setdefault(port, self.zone(x, y))

    def other(self, port: Port) -> Place:
        """Sheet and field of the other end."""
        end: End = "row" if port.end == "node" else "node"
        base = port.name.split("/")[0]
        return self.earlier.get(Port(port.name, end), self.earlier.get(Port(base, end), ELSEWHERE))

    def parts(self, name: str) -> list[str]:
        """A line's own name, and those of the further stretches that its rows take elsewhere."""
        known = self.stretches or {port.name for port in self.earlier if port.end == "row"}
        more = [each for each in known if each.startswith(f"{name}/")]
        return [name, *sorted(more, key=lambda each: int(each.split("/")[1]))]

    def references(self) -> tuple[Reference, ...]:
        return tuple(Reference(port, zone, *self.other(port)) for port, zone in self.marked.items())
