"""Measures shapes in the host: importing it without FreeCAD raises ImportError.

What is read off here comes from faces and sections of the shape as it stands in the document, edited by hand or not.
"""
from __future__ import annotations

import math
from collections.abc import Callable, Generator
from itertools import count
from typing import Any

import numpy as np

from ..geometry import congruence, enclosure, faces, loop_measure, measure
from ..mechanics.frames import as_point
from ..rules.quantity import NotEvaluated
from ..snapshot import Snapshot
from . import loop_ring, touch
from .body import Body, box_of, inverse, mark_of, matrix, relative, shape_of, skin_of
from .distance import air
from .kept import Kept
from .measurer import PinSeat, Ring, Tube
from .overlap import one_holds_the_other
from .proof import keep_apart, near_faces
from .touch import TOUCHING

AT_SPLIT = 0.25
"""Pins no farther from mid height than this share of the inside height are pins of the split, others of the feet."""

LEAST = 1e-4

UNSURE = 2e-3
"""mm within which boxes of meshes do not tell: tight ones are rounded to 1e-3."""
EVERYWHERE = (-math.inf, -math.inf, -math.inf, math.inf, math.inf, math.inf)

OUTSIDE = 0.002
"""Share of an enclosure's outside that may be missing: less than any opening through which a shaft could come."""


_NUMBERS = count()


class HostMeasurer:
    """Measures shapes; keeps what it has measured of those that it has been told of (``sees``), so that three rule books on one loop cost
    one measurement, and the next check none. kept: what several measurers may share."""

    def __init__(self, kept: Kept | None = None) -> None:
        self.kept = kept if kept is not None else Kept()
        self._bodies: dict[int, Body] = {}

    def sees(self, snapshot: Snapshot) -> None:
        """The shapes of a snapshot, and what each of them is told apart by."""
        # Each shape is held with its mark: its id is its own only as long as it lives.
        self._bodies = {id(part.shape): Body(part.key, part.shape, mark_of(part, snapshot))
                        for part in snapshot.parts if part.shape is not None}

    def _body(self, shape: Any) -> Body:
        if id(shape) not in self._bodies:
            # Of a shape that no document vouches for only this very object is known.
            self._bodies[id(shape)] = Body("", shape, f"shape {next(_NUMBERS)}")
        return self._bodies[id(shape)]

    def _of(self, what: object, shape: Any, measure: Callable[[], Any]) -> Any:
        """A reading of a shape where it stands."""
        body = self._body(shape)
        return self.kept.between(what, (body.mark, body.mark), matrix(shape.Placement), measure) if body.mark else measure()

    def ring(self, shape: Any, axis_at: Callable) -> Ring:
        """The ring of a loop, from its bends where there are any, exact and quick, else from a cut over the shaft; axis_at: point of the
        shaft's axis at an X. NotEvaluated where the shape shows no ring."""
        found = self._bent(shape)
        if isinstance(found, float):
            center = as_point(axis_at(found))
            found = self._of(("ring of a cut", center), shape, lambda: _told(lambda: loop_ring.from_cut(shape, center)))
        elif isinstance(found, Ring):
            reason = next((reason for angle in loop_ring.UPPER_CUTS if (reason := self._refused(shape, found, angle))), "")
            found = NotEvaluated(reason) if reason else found
        if isinstance(found, NotEvaluated):
            raise NotEvaluated(str(found))
        return found

    def ring_cuts(self, shape: Any) -> Generator[None, None, None]:
        """What takes long of a ring, a slice each."""
        found = self._bent(shape)
        if isinstance(found, Ring) and self._body(shape).mark:
            for angle in loop_ring.UPPER_CUTS:
                if self._refused(shape, found, angle):
                    return
                yield

    def _bent(self, shape: Any) -> Ring | float | NotEvaluated:
        return self._of("ring", shape, lambda: _told(lambda: loop_ring.ring_of(shape)))

    def _refused(self, shape: Any, ring: Ring, angle: float) -> str:
        return self._of(("ring refused", angle), shape, lambda: loop_ring.refused(shape, ring, angle))

    def closed_angle(self, shape: Any, center, reach: float, members: tuple = ()) -> float:
        """Angle in rad around an axis along the car over which the shape is closed, material within reach counted; with
        members (shapes that it is welded to) these and its legs to them are counted too."""
        center = tuple(map(float, center))
        others = [self._body(member) for member in members]
        stand = tuple((other.mark, matrix(other.shape.Placement).round(9).tobytes()) for other in others)

        def measure() -> float:
            if not members and self._goes_round(shape, center, reach):
                return 2.0 * math.pi
            triangles = np.concatenate([self._triangles(one) for one in (shape, *members)])
            return loop_measure.closed_angle_of(triangles, center, reach=None if members else reach)

        if not all(other.mark for other in others):
            return measure()
        return self._of(("closed angle", center, reach, stand), shape, measure)

    def _goes_round(self, shape: Any, center, reach: float) -> bool:
        """Whether a way along the skin of a loop leads all around an axis. It is the loop's own, wherever the axis is."""
        way = self.kept.of("way round", self._body(shape).mark,
                           lambda: loop_measure.way_round(self._triangles(shape), center, reach=reach))
        return loop_measure.goes_round(self._corners(shape, way), center, reach=reach)

    def _triangles(self, shape: Any) -> np.ndarray:
        """Triangles (n, 3, 3) of a shape's skin as it stands."""
        return self._corners(shape).reshape(-1, 3, 3)

    def _corners(self, shape: Any, some: Any = slice(None)) -> np.ndarray:
        """Corners (n, 3) of the triangles, one after another; some: which of them."""
        body = self._body(shape)
        found = skin_of(body, self.kept)
        if found is None:
            raise NotEvaluated("FreeCAD makes no mesh of the loop or of what it is welded to; rebuild it")
        pose = matrix(shape.Placement)
        return found.corners.reshape(-1, 3)[some] @ pose[:3, :3].T + pose[:3, 3]

    def pins(self, shape: Any, ring: Ring) -> tuple[PinSeat, ...]:
        """Seats of the pins of a loop, filled or open."""
        height = ring.inner_height or 2.0 * ring.reach
        return tuple(PinSeat("split" if abs(line.z - ring.center[2]) < AT_SPLIT * height else "foot",
                             (ring.center[0], float(line.y), float(line.z)), not hole)
                     for line, hole in self._of("pin seats", shape, lambda: loop_measure.seats(shape)))

    def meets(self, shape: Any, other: Any) -> bool:
        """Whether two shapes touch or overlap."""
        a, b = self._body(shape), self._body(other)
        corner = self.kept.between("corner on tube", (a.mark, b.mark), relative(a, b), lambda: any(
            touch.corner_on_tube(body, tube, TOUCHING, self.kept) for body, tube in ((a, b), (b, a))))
        return corner or (not keep_apart(a, b, TOUCHING, self.kept) and air(a, b, self.kept).distance < TOUCHING)

    def touches(self, shape: Any, other: Any) -> tuple[tuple[float, float, float], ...]:
        """A point of every place at which two shapes touch.

        Edges that lie on the other shape and hang together, at a vertex or as the rim of one face, are one place (a leg's cope);
        a face that touches without such an edge (a bend that leans on a tube) is a place of its own.
        """
        body, to = self._body(shape), self._body(other)
        if keep_apart(body, to, TOUCHING, self.kept) and not one_holds_the_other(body, to, self.kept):
            return ()
        pose = matrix(shape.Placement)
        found = self.kept.between("touches", (body.mark, to.mark), relative(body, to),
                                  lambda: (pose, touch.places(shape, other, near_faces(body, to, TOUCHING, self.kept))))
        moved = pose @ inverse(found[0])
        return found[1] if np.abs(moved - np.eye(4)).max() < 1e-12 else tuple(
            as_point(moved[:3, :3] @ np.array(point) + moved[:3, 3]) for point in found[1])

    def tube(self, shape: Any) -> Tube:
        """The enclosure tube; NotEvaluated where the shape shows none."""
        found = self._of("tube", shape, lambda: _told(lambda: _tube(shape)))
        if isinstance(found, NotEvaluated):
            raise NotEvaluated(str(found))
        return found

    def faces(self, shape: Any) -> congruence.Body:
        """The shape's faces and volume in its own frame."""
        body = self._body(shape)
        return self.kept.of("faces", body.mark, lambda: faces.body(shape_of(body, self.kept)))

    def face_count(self, shape: Any) -> int:
        """How many faces the shape has."""
        return int(self.kept.of("face count", self._body(shape).mark, lambda: len(shape.Faces)))

    def solid(self, shape: Any) -> dict[str, Any]:
        """Volume in mm3 and box (x, y, z of the low corner, then of the high corner) in mm, to 1e-3; nothing of a
        shape without faces, or of one that the host cannot integrate over, as after bits were turned on a disk."""
        volume = self.volume(shape)
        if volume is None:
            return {}
        try:
            box = self._of("tight box", shape, lambda: box_of(shape))
        except RuntimeError:        # the host's own errors are of it
            return {}
        return {"volume": volume, "bbox": [round(value, 3) + 0.0 for value in box.tolist()]}

    def volume(self, shape: Any) -> float | None:
        """Volume in mm3; None of a shape without faces, or of one that the host cannot integrate over."""
        if not shape.Faces:
            return None
        try:
            return self.kept.of("volume", self._body(shape).mark, lambda: measure.volume(shape))
        except RuntimeError:
            return None

    def near(self, shape: Any, other: Any, gap: float) -> bool:
        """Whether the boxes of two shapes along the car's axes come within a gap, mm, of each other. The host's tight box takes long: it is
        asked for only where a box that holds the shape and one of points on it do not tell."""
        a, b = self._limits(shape), self._limits(other)
        if a is not None and b is not None:
            if not _within(a[1], b[1], gap + UNSURE):
                return False
            if _within(a[0], b[0], gap - UNSURE):
                return True
        tight = [np.array(self.solid(one).get("bbox", EVERYWHERE)) for one in (shape, other)]
        return _within(tight[0], tight[1], gap)

    def _limits(self, shape: Any) -> tuple[np.ndarray, np.ndarray] | None:
        """Box of points that are on a shape, and one that holds it, (6,) each, mm, car frame; None where it has no mesh."""
        body = self._body(shape)
        found = skin_of(body, self.kept)
        if found is None:
            return None
        pose = matrix(shape.Placement)
        corners = found.corners.reshape(-1, 3) @ pose[:3, :3].T + pose[:3, 3]
        return np.concatenate([corners.min(axis=0), corners.max(axis=0)]), found.box_along(pose)


def _told(measure: Callable[[], Any]) -> Any:
    """A reading, or the reason why there is none: that is kept too."""
    try:
        return measure()
    except NotEvaluated as reason:
        return reason


def _tube(shape: Any) -> Tube:
    """The enclosure tube; NotEvaluated where the shape shows none."""
    try:
        found = enclosure.measure(shape)
    except ValueError as reason:
        raise NotEvaluated(str(reason)) from None
    outer = max((face for face in shape.Faces if face.Surface.TypeId == "Part::GeomCylinder"),
                key=lambda face: face.Surface.Radius)
    skin = sum(face.Area for face in shape.Faces if face.Surface.TypeId == "Part::GeomCylinder"
               and abs(face.Surface.Radius - outer.Surface.Radius) < LEAST)
    missing = 1.0 - skin / (math.pi * found.outer_diameter * found.length)
    if missing > OUTSIDE:
        raise NotEvaluated(f"the enclosure is cut open: {missing:.1%} of its outside is missing; rebuild it")
    axis, origin = np.array(outer.Surface.Axis), np.array(outer.Surface.Center)
    axis = axis if axis[0] >= 0.0 else -axis
    along = [(np.array(vertex.Point) - origin) @ axis for vertex in outer.Vertexes]
    rear, front = (as_point(origin + axis * end) for end in (min(along), max(along)))
    return Tube(found.length, found.outer_diameter, found.wall, rear, front)


def _within(a: np.ndarray, b: np.ndarray, gap: float) -> bool:
    """Whether two boxes (low and high corner) come within a gap of each other."""
    return bool((a[:3] <= b[3:] + gap).all() and (b[:3] <= a[3:] + gap).all())
