"""Measures shapes in the host, like ``clearance``, ``sweep`` and ``service``: importing it without FreeCAD raises ImportError.

What is read off here comes from faces and sections of the shape as it stands in the document, edited by hand or not.
"""
from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

import FreeCAD
import numpy as np
import Part

from .. import model
from ..geometry import enclosure, fixed_loop, loop_measure, measure
from ..mechanics.scene import Scene
from ..rules.quantity import NotEvaluated
from ..units import INCH
from .measurer import PinSeat, Ring, Tube

PARALLEL = 1e-6
REACH = 1.0
"""Material up to so many mm outside the ring still counts as ring when its closed angle is taken; legs do not."""

UPPER = math.radians(50.0)
"""The section is read off within this angle of the top: joints stand at mid height, feet and openings below."""

SAMPLES = 33
LEAST = 1e-4
TOUCHING = 0.05
"""mm within which a leg meets the tube that it is coped to."""

AT_SPLIT = 0.25
"""Pins no farther from mid height than this share of the inside height are pins of the split, others of the feet."""

SAMPLED = 0.005
"""mm to which a size is read off a sampled cut."""


class HostMeasurer:
    """Measures shapes; remembers what it has measured, so that three rule books on one loop cost one measurement."""

    def __init__(self) -> None:
        self._rings: dict[int, tuple[Any, Ring | float]] = {}
        """Shape to its ring, or to the X of its middle where it has no bends and a cut over the shaft shows the ring."""
        self._cuts: dict[tuple, Ring] = {}
        """Shape and point of the shaft's axis in it to the ring of the cut: the shaft moves while the shape stays."""
        self._touches: dict[tuple[int, int], tuple[Any, Any, tuple]] = {}

    def ring(self, shape: Any, axis_at: Callable) -> Ring:
        """The ring of a loop, from its bends where there are any, exact and quick, else from a cut over the shaft; axis_at: point of the
        shaft's axis at an X. NotEvaluated where the shape shows no ring."""
        if id(shape) not in self._rings:
            bends = [bend for face in shape.Faces for bend in _bend(face)]
            # The shape is kept beside its measurement: its id is its own only as long as it lives.
            self._rings[id(shape)] = (shape, _whole(shape, _from_bends(bends)) if bends else _middle(shape))
        found = self._rings[id(shape)][1]
        if isinstance(found, Ring):
            return found
        center = tuple(map(float, axis_at(found)))
        if (id(shape), center) not in self._cuts:
            self._cuts[id(shape), center] = _from_cut(shape, center)
        return self._cuts[id(shape), center]

    def closed_angle(self, shape: Any, center, reach: float, members: tuple = ()) -> float:
        """Angle in rad around an axis along the car over which the shape is closed, material within reach counted; with
        members (shapes that it is welded to) these and its legs to them are counted too."""
        if members:
            return loop_measure.closed_angle(Part.Compound([shape, *members]), center)
        return loop_measure.closed_angle(shape, center, reach=reach)

    def pins(self, shape: Any, ring: Ring) -> tuple[PinSeat, ...]:
        """Seats of the pins of a loop, filled or open."""
        height = ring.inner_height or 2.0 * ring.reach
        return tuple(PinSeat("split" if abs(line.z - ring.center[2]) < AT_SPLIT * height else "foot",
                             (ring.center[0], float(line.y), float(line.z)), not hole)
                     for line, hole in loop_measure.seats(shape))

    def touches(self, shape: Any, other: Any) -> tuple[tuple[float, float, float], ...]:
        """A point of every place at which two shapes touch.

        Edges that lie on the other shape and hang together, at a vertex or as the rim of one face, are one place (a leg's cope);
        a face that touches without such an edge (a bend that leans on a tube) is a place of its own.
        """
        key = id(shape), id(other)
        if key not in self._touches:
            self._touches[key] = (shape, other, _touches(shape, other))
        return self._touches[key][2]

    def floor_tubes(self, loop: model.Loop, scene: Scene) -> tuple:
        """Pieces of the floor tubes, as high as the main rails and not held by the document, where the lower legs of a fixed loop
        stand on them; none where it stands over the rear cross member."""
        try:
            spec = fixed_loop.spec(loop, scene)
        except ValueError as reason:
            raise NotEvaluated(str(reason)) from None
        if not spec.lower_along:
            return ()
        center, half = FreeCAD.Vector(*scene.loop_center(loop)), spec.ring.width + spec.lower_diameter
        headers = [header for leg in fixed_loop.legs(spec) if leg.direction[1] < 0.0 for header in leg.headers]
        return tuple(Part.makeCylinder(header.diameter / 2.0, 2.0 * half, center + FreeCAD.Vector(*header.point) - FreeCAD.Vector(half, 0, 0),
                                       FreeCAD.Vector(1, 0, 0)) for header in headers if abs(header.point[2] - spec.lower_z) < 1e-9)

    def tube(self, shape: Any) -> Tube:
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
        rear, front = (tuple(map(float, origin + axis * end)) for end in (min(along), max(along)))
        return Tube(found.length, found.outer_diameter, found.wall, rear, front)

    def solid(self, shape: Any) -> dict[str, Any]:
        """Volume in mm3 and box (x, y, z of the low corner, then of the high corner) in mm, to 1e-3; nothing of a
        shape without faces."""
        if not shape.Faces:
            return {}
        # A copy without its mesh, because a box depends on the mesh that a view has left in the shape.
        box = shape.copy(True, False).optimalBoundingBox(False)
        return {"volume": measure.volume(shape),
                "bbox": [round(value, 3) + 0.0 for value in (box.XMin, box.YMin, box.ZMin, box.XMax, box.YMax, box.ZMax)]}


def _touches(shape: Any, other: Any) -> tuple[tuple[float, float, float], ...]:
    box = other.copy(True, False).BoundBox
    box.enlarge(TOUCHING)
    places: list[tuple[list, tuple[float, float, float]]] = []
    for face in shape.copy(True, False).Faces:
        if not box.intersect(face.BoundBox):
            continue
        distance, points, _where = face.distToShape(other)
        if distance >= TOUCHING:
            continue
        edges = [edge for edge in face.Edges if not edge.Degenerated]
        lying = [edge for edge in edges if _lies_on(edge, other)]
        whole = len(lying) == len(edges)
        for group in ([lying] if whole else [[edge] for edge in lying]) if lying else [[face]]:
            corners = [vertex for item in group for vertex in item.Vertexes]
            joined = [place for place in places if any(one.isSame(known) for one in corners for known in place[0])]
            places = [place for place in places if all(place is not one for one in joined)]
            point = joined[0][1] if joined else tuple(map(float, corners[0].Point if lying else points[0][0]))
            places.append((corners + [corner for place in joined for corner in place[0]], point))
    return tuple(sorted(point for _corners, point in places))


def _lies_on(edge: Any, other: Any) -> bool:
    """Whether an edge lies on another shape over its whole length."""
    first, early, middle, late, last = edge.discretize(Number=5)
    return all(Part.Vertex(point).distToShape(other)[0] < TOUCHING for point in (middle, last, first, early, late))


def _whole(shape: Any, ring: Ring) -> Ring:
    """The ring; NotEvaluated where a cut through the upper part shows another section than the ring's bends tell: surfaces keep their radius when
    part of them was cut away."""
    told = (ring.outer_diameter, ring.outer_diameter) if ring.form == "tube" else (ring.thickness, ring.width)
    for angle in UPPER_CUTS:
        cut = loop_measure.section(shape, ring.center, angle=angle)
        if cut is not None and any(seen < (1.0 - WHOLE) * size for seen, size in zip((cut.thickness, cut.width), told)):
            raise NotEvaluated(f"its section is not whole: {cut.thickness / INCH:.3f} x {cut.width / INCH:.3f} in are left of "
                               f"{told[0] / INCH:.3f} x {told[1] / INCH:.3f} in; rebuild the loop")
    return ring


UPPER_CUTS = tuple(math.radians(angle) for angle in (90.0, 60.0, 120.0))
WHOLE = 0.02
"""Share of a size by which a sampled cut may fall short of it."""

OUTSIDE = 0.002
"""Share of an enclosure's outside that may be missing: less than any opening through which a shaft could come."""


@dataclass(frozen=True)
class _Bend:
    """A face that turns about an axis along the car. minor: radius of a bent tube, None for a strap. x: its ends along the
    car. angles: directions from its centre that it covers, 0 = left, a quarter turn = up."""
    center: np.ndarray
    radius: float
    minor: float | None
    x: tuple[float, float]
    angles: np.ndarray


def _bend(face: Any):
    surface = face.Surface
    kind = surface.TypeId
    if kind not in ("Part::GeomToroid", "Part::GeomCylinder") or abs(abs(surface.Axis.x) - 1.0) > PARALLEL:
        return
    center = np.array(surface.Center)
    first, last, low, _high = face.ParameterRange
    points = np.array([tuple(surface.value(u, low)) for u in np.linspace(first, last, SAMPLES)])
    angles = np.arctan2(points[:, 2] - center[2], points[:, 1] - center[1])
    if kind == "Part::GeomToroid":
        minor = surface.MinorRadius
        yield _Bend(center, surface.MajorRadius, minor, (center[0] - minor, center[0] + minor), angles)
        return
    along = [vertex.Point.x for vertex in face.Vertexes]
    yield _Bend(center, surface.Radius, None, (min(along), max(along)), angles)


def _from_bends(bends: list[_Bend]) -> Ring:
    """The ring of its bends in the upper part, where no joint, foot or opening is."""
    largest = max(bend.radius for bend in bends)
    ring = [bend for bend in bends if bend.radius > 0.5 * largest]
    upper = [bend for bend in ring if np.any(np.abs(bend.angles - np.pi / 2) < UPPER)]
    if not upper:
        raise NotEvaluated("no ring was found above the driveshaft; rebuild the loop")
    yz = np.array([bend.center[1:] for bend in ring])
    middle = 0.5 * (yz.min(axis=0) + yz.max(axis=0))
    rear, front = min(bend.x[0] for bend in upper), max(bend.x[1] for bend in upper)
    reach = REACH + max(float(np.hypot(*(bend.center[1:] - middle))) + bend.radius + (bend.minor or 0.0) for bend in ring)
    center = (0.5 * (rear + front), float(middle[0]), float(middle[1]))
    bore = min(bend.radius - (bend.minor or 0.0) for bend in ring)
    inside = tuple(float(size) + 2.0 * bore for size in yz.max(axis=0) - yz.min(axis=0))
    minors = [bend.minor for bend in upper if bend.minor is not None]
    if minors:
        outer, bore = max(minors), min(minors)
        # A bar is a tube without a bore.
        wall = outer - bore if outer - bore > LEAST else outer
        return Ring(center, rear, front, reach, "tube", outer_diameter=2.0 * outer, wall=wall, inner_width=inside[0],
                    inner_height=inside[1])
    radii = [bend.radius for bend in upper]
    return Ring(center, rear, front, reach, "strap", thickness=max(radii) - min(radii),
                width=min(bend.x[1] - bend.x[0] for bend in upper), inner_width=inside[0], inner_height=inside[1])


def _middle(shape: Any) -> float:
    """X of the middle of a shape."""
    if not shape.Faces:
        raise NotEvaluated("the loop has no shape that can be measured; rebuild it")
    box = shape.copy(True, False).optimalBoundingBox(False)
    return 0.5 * (box.XMin + box.XMax)


def _from_cut(shape: Any, center: tuple[float, float, float]) -> Ring:
    """The ring of a shape without bends (edited, imported), from three cuts through a point of the shaft's axis. A cut that is not
    square to the ring shows it too large, and its curves are sampled: hence the coarser accuracy."""
    cuts = [loop_measure.section(shape, center, angle=angle) for angle in (np.pi / 2, 0.0, np.pi)]
    top = cuts[0]
    if top is None:
        raise NotEvaluated("no ring was found above the driveshaft; rebuild the loop")
    reach = REACH + max(cut.inner_radius + cut.thickness for cut in cuts if cut is not None)
    ends = center[0] + float(top.rear), center[0] + float(top.front)
    if top.round:
        return Ring(center, *ends, reach, "tube", outer_diameter=min(top.thickness, top.width),
                    wall=top.wall or top.thickness / 2, accuracy=SAMPLED)
    return Ring(center, *ends, reach, "strap" if top.wall == 0.0 else "box",
                thickness=top.thickness, width=top.width, accuracy=SAMPLED)
