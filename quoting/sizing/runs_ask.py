"""What a run is designed from, and the device that is picked for it."""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal

from catalog.kinds.capabilities import Holding, Protecting
from quoting.sizing.brief_wiring import Existing, HandChange
from quoting.sizing.parts import Able
from quoting.sizing.protection import Supply
from quoting.sizing.topology import Way


@dataclass(frozen=True, slots=True)
class Ask:
    """Everything one run is designed from."""

    key: str
    """Subject of findings and shortfalls until the tag is given."""
    name: str
    role: str
    source: str
    target: str
    way: Way
    current_a: float
    nominal_v: float
    """Voltage that the drop's limit is a share of. [V]"""
    low_v: float
    high_v: float
    """Highest voltage: devices must be good for it. [V]"""
    limit_ratio: float
    strong: Supply
    """What the larger fault comes from, cold, charging. Behind the first device only this counts."""
    weak: Supply
    """The same, hot and low, for the far end."""
    ends: tuple[str, ...] = ("source",)
    """Ends that get a device: ``source``, ``load``."""
    peak_a: float = 0.0
    start_s: float = 0.0
    upstream_v: float = 0.0
    """Lost in shared feeders at their design current. [V]"""
    upstream_peak_v: float = 0.0
    reserved_v: float = 0.0
    """Kept for shared feeders beyond what they lose; counted against the limit only. [V]"""
    target_v: float | None = None
    """Wished limit of the conductors' own loss; the thickest there is when none meets it. [V]"""
    target_joints_v: float | None = None
    """Wished limit of what device and joints lose; a device of less resistance is taken when one does. [V]"""
    cutout_v: float | None = None
    """Lowest voltage the loads work at, margin included. [V]"""
    lugged: bool = True
    """Bolted feeder: stated device resistances and lugs; else the policy's resistance of joints."""
    extra_ohm: float = 0.0
    """Shunt in the way. [Ω]"""
    isolator: bool = False
    limited: bool = False
    """The source cannot give more than the conductor carries: no disconnection to check."""
    least_rating_a: float | None = None
    """Set by a rule of its own (solar); else by the continuous current. [A]"""
    most_rating_a: float | None = None
    maker_least_a: float = 0.0
    """Least device that the maker of what is fed, or feeds, states. [A]"""
    least_code: str = "solar_design_current"
    """Code of the step that says where ``least_rating_a`` comes from."""
    contact_ohm: float = 0.0
    """Contacts of a coupling, feed and return, on top of every other joint. [Ω]"""
    pin_pairs: int = 0
    pins_a: float | None = None
    """What its pins in a coupling carry. [A]"""
    source_limit_a: float | None = None
    """Most that the source gives into a fault. A device that does not open on it may stand before a conductor that
    carries it for good. [A]"""
    peak_loads: tuple[str, ...] = ()
    group: str = "none"
    stable: str = ""
    """``Circuit.key``, where ``key`` does not stay the same while loads come and go."""
    drop_a: float | None = None
    """Current that flows, where conductor and device are for another one. [A]"""
    counted: int = 2
    """Loaded conductors that this design lays along the way, its own included."""
    hand: HandChange | None = None
    """Only a run with these values will do; else it is refused."""
    lies: Existing | None = None
    """Only what lies there already will do; else it is refused."""
    bonded_at: str = ""
    """Position where the negative that it belongs to is joined to the body; empty: it is not, or nobody may ask."""
    chassis_ohm: float | None = None
    """The body is the return, and has this resistance. [Ω]"""

    @property
    def stable_key(self) -> str:
        """``Circuit.key``."""
        return self.stable or self.key

    @property
    def flows_a(self) -> float:
        """Current that the drop is reckoned at. [A]"""
        return self.current_a if self.drop_a is None else self.drop_a

    @property
    def returns(self) -> int:
        """Conductors of the run: feed and return, or the feed alone."""
        return 2 if self.chassis_ohm is None else 1

    @property
    def bound(self) -> bool:
        """A person or the vehicle says what the run is made of."""
        return self.hand is not None or self.lies is not None

    @property
    def subject(self) -> str:
        """What a shortfall says it was wanted for."""
        return f"{self.key} {self.name}" if self.role == "load" else self.name


@dataclass(frozen=True, slots=True)
class Picked:
    """A device for one end with its holder."""

    able: Able[Protecting]
    holder: Able[Holding] | None

    @property
    def cost(self) -> Decimal:
        return self.able.cost + (self.holder.cost if self.holder else Decimal(0))
