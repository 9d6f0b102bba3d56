"""The ring of a loop, read off its shape: from its bends where there are any, else from cuts. Needs the host."""
from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Any

import numpy as np
from FreeCAD import Vector

from ..geometry import loop_measure
from ..rules.quantity import NotEvaluated
from ..units import sized
from . import tube_piece
from .measurer import Ring

PARALLEL = 1e-6
REACH = 1.0
"""Material up to so many mm outside the ring still counts as ring when its closed angle is taken; legs do not."""

UPPER = math.radians(50.0)
"""The section is read off within this angle of the top: joints stand at mid height, feet and openings below."""

NO_RING = "no ring was found above the driveshaft; rebuild the loop"
SAMPLES = 33
LEAST = 1e-4
SAMPLED = 0.005
"""mm to which a size is read off a sampled cut."""


def ring_of(shape: Any) -> Ring | float:
    """A loop's ring as its bends tell it, or the X of its middle where it has none and a cut over the shaft shows the ring. Whether its
    section is whole, ``refused`` tells."""
    bends = [bend for face in shape.Faces for bend in _bend(face)]
    return _from_bends(bends) if bends else _middle(shape)


def refused(shape: Any, ring: Ring, angle: float) -> str:
    """Why a ring is not what its bends tell, empty where it is: a cut through its upper part, at one of ``UPPER_CUTS``, shows another
    section, since surfaces keep their radius when part of them was cut away."""
    nominal = (ring.outer_diameter or ring.thickness or 0.0, ring.outer_diameter or ring.width or 0.0)
    tubes = _tubes(shape, 0.5 * nominal[0]) if ring.form == "tube" else []
    if any(_goes_around(face, piece, ring, angle) for face, piece in tubes):
        return ""
    cut = loop_measure.section(shape, ring.center, angle=angle)
    if cut is None or all(seen >= (1.0 - WHOLE) * size for seen, size in zip((cut.thickness, cut.width), nominal)):
        return ""
    return (f"its section is not whole: {sized(cut.thickness)} x {sized(cut.width)} are left of {sized(nominal[0])} x {sized(nominal[1])}; "
            "rebuild the loop")


def _tubes(shape: Any, radius: float) -> list[tuple[Any, tube_piece.Piece]]:
    """Faces that are outsides of a tube of a radius, with their pieces."""
    faces = shape.Faces
    return [(faces[piece.face], piece) for piece in tube_piece.pieces(shape) if piece.outside and abs(piece.radius - radius) < LEAST]


def _goes_around(face: Any, piece: tube_piece.Piece, ring: Ring, angle: float) -> bool:
    """Whether the half plane at an angle cuts a piece of the ring's tube all around: then a cut there is whole, and need not be made."""
    outward = np.array([0.0, math.cos(angle), math.sin(angle)])
    off = np.array(ring.center) - piece.point
    if piece.bend:
        # Where the half plane meets the circle of the bend.
        b, c = off[1:] @ outward[1:], off[1:] @ off[1:] - piece.bend ** 2
        if abs(abs(piece.axis[0]) - 1.0) > PARALLEL or b * b < c:
            return False
        ways = [-b + sign * math.sqrt(b * b - c) for sign in (-1.0, 1.0)]
    else:
        across = piece.axis[1] * outward[2] - piece.axis[2] * outward[1]
        if abs(piece.axis[0]) > PARALLEL or abs(across) < 0.5:
            return False
        ways = [(piece.axis[2] * off[1] - piece.axis[1] * off[2]) / across]
    return any(_all_on(face, piece, np.array(ring.center) + way * outward, outward) for way in ways if 0.0 < way < ring.reach)


def _all_on(face: Any, piece: tube_piece.Piece, middle: np.ndarray, outward: np.ndarray) -> bool:
    """Whether all around a point of its center line a piece's surface, as the half plane cuts it, belongs to its face."""
    surface = face.Surface
    if piece.bend:
        along = np.cross(piece.axis, middle - piece.point)
        along /= np.linalg.norm(along)
    else:
        along = piece.axis
    first = np.array([1.0, 0.0, 0.0])
    second = np.cross(along, first)
    for turn in np.linspace(0.0, 2.0 * math.pi, AROUND, endpoint=False):
        point = middle + piece.radius * (math.cos(turn) * first + math.sin(turn) * second)
        u, v = surface.parameter(Vector(*point.tolist()))
        low, high = face.ParameterRange[:2]
        while u > high + 1e-9:
            u -= 2.0 * math.pi
        while u < low - 1e-9:
            u += 2.0 * math.pi
        if np.linalg.norm(np.array(surface.value(u, v)) - point) > LEAST or not face.isPartOfDomain(u, v):
            return False
    return True


AROUND = 16
"""Points around a tube at which its surface must be there for a cut to be whole."""

UPPER_CUTS = tuple(math.radians(angle) for angle in (90.0, 60.0, 120.0))
WHOLE = 0.02
"""Share of a size by which a sampled cut may fall short of it."""


@dataclass(frozen=True)
class _Bend:
    """A face that turns about an axis along the car. minor: radius of a bent tube, None for a strap. x: its ends along the
    car. angles: directions from its center that it covers, 0 = left, a quarter turn = up."""
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
        raise NotEvaluated(NO_RING)
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


def from_cut(shape: Any, center: tuple[float, float, float]) -> Ring:
    """The ring of a shape without bends (edited, imported), from three cuts through a point of the shaft's axis. A cut that is not
    square to the ring shows it too large, and its curves are sampled: hence the coarser accuracy."""
    cuts = [loop_measure.section(shape, center, angle=angle) for angle in (np.pi / 2, 0.0, np.pi)]
    top = cuts[0]
    if top is None:
        raise NotEvaluated(NO_RING)
    reach = REACH + max(cut.inner_radius + cut.thickness for cut in cuts if cut is not None)
    ends = center[0] + float(top.rear), center[0] + float(top.front)
    if top.round:
        return Ring(center, *ends, reach, "tube", outer_diameter=min(top.thickness, top.width),
                    wall=top.wall or top.thickness / 2, accuracy=SAMPLED)
    return Ring(center, *ends, reach, "strap" if top.wall == 0.0 else "box",
                thickness=top.thickness, width=top.width, accuracy=SAMPLED)
