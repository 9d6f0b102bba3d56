"""What is measured on shapes, and by whom: results as plain numbers, and the protocol of what measures. Imports without the host."""
from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass
from typing import Any, Protocol

from ..geometry.congruence import Body
from ..snapshot import Snapshot


@dataclass(frozen=True)
class Ring:
    """A loop's ring as measured, mm, car frame. center: of its bends. x_rear, x_front: its ends along the car at the top,
    without pins and feet. reach: radius from the center within which material is ring and not leg. form: tube, strap
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
    """A straight tube as measured, mm: length along its axis, diameter, wall, centers of its ends in the car frame."""
    length: float
    outer_diameter: float
    wall: float
    rear: tuple[float, float, float]
    front: tuple[float, float, float]


class Measurer(Protocol):
    """Measures shapes. The host's is ``measure.host_measurer.HostMeasurer``; tests hand in their own. Each may raise
    NotEvaluated."""

    def sees(self, snapshot: Snapshot) -> None:
        """Told before anything of a snapshot is measured, so that what is known of its shapes need not be measured again."""

    def ring(self, shape: Any, axis_at: Callable) -> Ring:
        """The ring of a loop; axis_at: point of the shaft's axis at an X, the center of a ring whose shape shows none."""

    def ring_cuts(self, shape: Any) -> Iterable[None]:
        """What takes long of ``ring``, a slice each, measured ahead of it."""

    def closed_angle(self, shape: Any, center, reach: float, members: tuple = ()) -> float:
        """Angle in rad around an axis along the car through center over which material within reach closes it. members:
        shapes of what it is welded to; with any, these and the legs to them count too."""

    def pins(self, shape: Any, ring: Ring) -> tuple[PinSeat, ...]:
        """Seats of the pins of a loop, filled or open."""

    def meets(self, shape: Any, other: Any) -> bool:
        """Whether two shapes touch or overlap."""

    def touches(self, shape: Any, other: Any) -> tuple[tuple[float, float, float], ...]:
        """A point of every place at which two shapes touch (one a leg), mm, car frame."""

    def tube(self, shape: Any) -> Tube:
        """The enclosure tube."""

    def faces(self, shape: Any) -> Body:
        """The shape's faces and volume in its own frame, by which equal parts are known."""

    def face_count(self, shape: Any) -> int:
        """How many faces the shape has."""

    def volume(self, shape: Any) -> float | None:
        """Volume in mm3; None of what has none."""

    def near(self, shape: Any, other: Any, gap: float) -> bool:
        """Whether the boxes of two shapes along the car's axes come within a gap, mm, of each other."""

    def solid(self, shape: Any) -> dict[str, Any]:
        """{"volume": mm3, "bbox": [x, y, z low, x, y, z high] mm}."""
