"""What measuring functions get and give: the registry of quantities and of limit formulas.

A quantity is a named measuring function. It sees the snapshot through a `Context`, which refuses to hand out what the
document keeps unsound, and answers with one `Measurement` a subject. Values are in inside units (mm, kg, N, s, rad).
"""
from __future__ import annotations

import datetime
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from functools import cached_property
from typing import Any, Protocol

from .. import model, record, units
from ..mechanics.scene import Scene
from ..snapshot import UPSTREAM, PartView, Snapshot

PLAIN = ("ratio", "count")
"""Kinds of value without a unit."""

HARMLESS = ("edited", "axle", "catalogue", "undrawn", "extra")
"""Kinds of unsoundness that do not spoil a reading and are only reported: a shape edited by hand is measured as it is."""


class NotEvaluated(Exception):
    """Raised by a measuring function that cannot measure. The message is the reason, one sentence."""


@dataclass(frozen=True)
class Measurement:
    """One measured value.

    value: in the quantity's inside unit; None = there is nothing to measure and that itself breaks the rule (no loop at
    all). subjects: part keys. discriminator: tells several values of the same subjects apart (a pose). how: one clause
    on how it was measured. points: points (x, y, z) in mm, car frame, that a picture of the finding shows. accuracy: of
    the measurement, in the value's unit. parts: named components, for rules with alternatives (words or inside
    values). given: what limit formulas read.
    """
    value: float | None
    subjects: tuple[str, ...]
    discriminator: str = ""
    how: str = ""
    points: tuple[tuple[float, float, float], ...] = ()
    accuracy: float = 0.0
    parts: Mapping[str, Any] = field(default_factory=dict)
    given: Mapping[str, float] = field(default_factory=dict)


@dataclass(frozen=True)
class Unmeasured:
    """One subject that could not be measured, beside others that could."""
    subjects: tuple[str, ...]
    reason: str
    discriminator: str = ""


@dataclass(frozen=True)
class Setting:
    """One setting of a quantity or formula: kind (`choice`, `choices`, `ratio`, `count` or a kind of unit), default,
    choices and meaning. A default of None makes it required."""
    kind: str
    default: Any
    doc: str
    choices: tuple[str, ...] = ()


@dataclass(frozen=True)
class Quantity:
    """A registered measuring function. kind: of its unit. components: names of what `Measurement.parts` holds, each with
    its kind (`word` or a kind of unit); a quantity with components is compared by alternatives. gives: names that its
    `Measurement.given` holds where they are known; a limit formula that needs others is refused."""
    name: str
    kind: str
    doc: str
    function: Callable[[Snapshot, Context], tuple]
    settings: Mapping[str, Setting]
    components: Mapping[str, str]
    gives: tuple[str, ...] = ()


@dataclass(frozen=True)
class Formula:
    """A registered limit that depends on what was measured with the value. needs: names read from `Measurement.given`."""
    name: str
    kind: str
    doc: str
    function: Callable[[Mapping[str, float], Mapping[str, Any]], float]
    settings: Mapping[str, Setting]
    needs: tuple[str, ...]


QUANTITIES: dict[str, Quantity] = {}
FORMULAS: dict[str, Formula] = {}


def quantity(name: str, kind: str, *, components: Mapping[str, str] | None = None, gives: tuple[str, ...] = (), **settings: Setting):
    """Register a measuring function of (snapshot, context); its docstring's first line says what it measures."""
    if kind not in units.UNITS and kind not in PLAIN:
        raise ValueError(f"quantity {name}: {kind!r} is no kind of unit")

    def register(function):
        if name in QUANTITIES:
            raise ValueError(f"quantity {name} is registered twice")
        doc = " ".join(function.__doc__.split())
        QUANTITIES[name] = Quantity(name, kind, doc, function, settings, dict(components or {}), gives)
        return function
    return register


def formula(name: str, kind: str, *needs: str, **settings: Setting):
    """Register a limit formula of (given, settings)."""
    def register(function):
        if name in FORMULAS:
            raise ValueError(f"formula {name} is registered twice")
        FORMULAS[name] = Formula(name, kind, " ".join(function.__doc__.split()), function, settings, needs)
        return function
    return register


@dataclass(frozen=True)
class Ring:
    """A loop's ring as measured, mm, car frame. center: of its bends. x_rear, x_front: its ends along the car at the top,
    without pins and feet. reach: radius from the centre within which material is ring and not leg. form: tube, strap
    or box; a tube has outer_diameter and wall, the others thickness (across the ring) and width (along the car). inner_width,
    inner_height: clear inside, None where the shape does not show it. accuracy: of these sizes, mm."""
    center: tuple[float, float, float]
    x_rear: float
    x_front: float
    reach: float
    form: str
    outer_diameter: float | None = None
    wall: float | None = None
    thickness: float | None = None
    width: float | None = None
    accuracy: float = 1e-6
    inner_width: float | None = None
    inner_height: float | None = None


@dataclass(frozen=True)
class PinSeat:
    """A place of a pin on a loop: at the split or at a foot, in the loop's plane, and whether a pin is there."""
    at: str
    point: tuple[float, float, float]
    held: bool


@dataclass(frozen=True)
class Tube:
    """A straight tube as measured, mm: length along its axis, diameter, wall, centres of its ends in the car frame."""
    length: float
    outer_diameter: float
    wall: float
    rear: tuple[float, float, float]
    front: tuple[float, float, float]


class Measurer(Protocol):
    """Measures shapes. The host's is ``checks.shapes.HostMeasurer``; tests hand in their own. Each may raise
    NotEvaluated."""

    def ring(self, shape: Any, axis_at: Callable) -> Ring:
        """The ring of a loop; axis_at: point of the shaft's axis at an X, the centre of a ring whose shape shows none."""

    def closed_angle(self, shape: Any, center, reach: float, members: tuple = ()) -> float:
        """Angle in rad around an axis along the car through center over which material within reach closes it. members:
        shapes of what it is welded to; with any, these and the legs to them count too."""

    def pins(self, shape: Any, ring: Ring) -> tuple[PinSeat, ...]:
        """Seats of the pins of a loop, filled or open."""

    def touches(self, shape: Any, other: Any) -> tuple[tuple[float, float, float], ...]:
        """A point of every place at which two shapes touch (one a leg), mm, car frame."""

    def floor_tubes(self, loop: model.Loop, scene: Scene) -> tuple:
        """Shapes of the floor tubes, which the document does not hold, where the lower legs of a fixed loop must stand on them."""

    def tube(self, shape: Any) -> Tube:
        """The enclosure tube."""

    def solid(self, shape: Any) -> dict[str, Any]:
        """{"volume": mm3, "bbox": [x, y, z low, x, y, z high] mm}."""


class Context:
    """A snapshot as measuring functions may use it, with what several of them share computed once.

    Every accessor raises NotEvaluated where the document is unsound, so that no rule passes on a doubtful reading.
    """

    def __init__(self, snapshot: Snapshot, measurer: Measurer | None, event_date: datetime.date | None = None):
        self._snapshot = snapshot
        self.event_date = event_date or datetime.date.today()
        self._measurer = measurer
        self.car: model.Car = record.filled(snapshot.car)
        self.settings: Mapping[str, Any] = {}
        self.handed_out: set[str] = set()
        """Keys of the parts that were handed out to be measured; the engine empties it before each quantity."""
        self._unsound = {}
        for item in snapshot.unsound:
            if item.kind not in HARMLESS:
                self._unsound.setdefault(item.key, item)
        self._blocked = next((item for item in snapshot.unsound if item.blocking or
                              (item.key in UPSTREAM and item.kind not in HARMLESS)), None)

    @property
    def scene(self) -> Scene:
        """The placed powertrain."""
        if self._blocked is not None:
            raise NotEvaluated(f"{self._blocked.key} is {_state(self._blocked.kind)}: {self._blocked.message}")
        if self._snapshot.scene is None:
            raise NotEvaluated("the placement has no solution, so nothing stands anywhere")
        return self._snapshot.scene

    @property
    def measure(self) -> Measurer:
        """What measures shapes."""
        if self._measurer is None:
            raise NotEvaluated("shapes can be measured only inside FreeCAD; run the check there")
        return self._measurer

    def why_unsound(self, key: str) -> str | None:
        """Why a part must not be measured, None where it may."""
        item = self._unsound.get(key) or self._blocked
        return None if item is None else f"{item.key} is {_state(item.kind)}: {item.message}"

    def sound(self, part: PartView) -> PartView:
        """The part itself, if it may be measured and has a shape."""
        reason = self.why_unsound(part.key)
        if reason is None and part.shape is None:
            reason = f"{part.key} has no shape; recompute the document"
        if reason is not None:
            raise NotEvaluated(reason)
        self.handed_out.add(part.key)
        return part

    def part(self, key: str) -> PartView | None:
        """A part by key, fit to be measured; None where the car has none. An unsound key that made no part counts."""
        found = self._snapshot.part(key)
        if found is None:
            if key in self._unsound:
                raise NotEvaluated(self.why_unsound(key))
            return None
        return self.sound(found)

    def unsound_under(self, prefix: str) -> tuple[str, ...]:
        """Unsound keys that begin so, even where they made no part."""
        return tuple(sorted(key for key in self._unsound if key.startswith(prefix)))

    @cached_property
    def poses(self):
        """The driveline in every pose, by name (see `figures.poses`)."""
        from . import figures
        return {pose.name: pose for pose in figures.poses(self.car, self.scene)}


def _state(kind: str) -> str:
    return {"invalid": "invalid", "touched": "not recomputed", "proxy": "without its program part", "stale": "stale",
            "link": "missing a link", "moved": "moved by hand", "edited": "edited by hand"}.get(kind, kind)
