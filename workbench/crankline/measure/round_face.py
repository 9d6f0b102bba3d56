"""Faces of straight lines from one circle to another of the same direction, as cylinders, cones, rings and discs are, and their distance
from a line in closed form. Needs the host.

Seen along the line it is a point and both circles are ellipses: what is nearest to it is on one of these, where a polynomial of fourth
degree says, or on a straight line of the face that touches both. That nothing is nearer is shown by a plane through what was found, square
to the way there, that has both circles beyond it, and so all that is between them.
"""
from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np

from ..mechanics.frames import cross
from . import core, plain_face
from .body import Body, shape_of
from .kept import Kept

SAME = 1e-7
"""mm and rad within which two circles are about one axis, and arcs go all around."""

EQUAL = 1e-9
"""mm within which two places are equally near."""

DRAWN, LOOKED_AT = 3e-7, (0.07, 0.21, 0.36, 0.52, 0.69, 0.88)
"""mm that an arc which is drawn as a polynomial may stand off, and where along it that is looked at."""

CURVED = ("Part::GeomCylinder", "Part::GeomCone")


@dataclass(frozen=True, eq=False)
class Line:
    """A line through a point along a unit axis, mm, and two unit vectors square to it and to each other, (2, 3)."""
    point: np.ndarray
    axis: np.ndarray
    across: np.ndarray

    @classmethod
    def through(cls, point: np.ndarray, axis: np.ndarray) -> Line:
        first = cross(axis, (0.0, 0.0, 1.0) if abs(axis[2]) < 0.7 else (1.0, 0.0, 0.0))
        first /= math.sqrt(float(first @ first))
        return cls(point, axis, np.stack((first, cross(axis, first))))

    def seen(self, points: np.ndarray) -> np.ndarray:
        """Points (n, 3) as they are seen along the line, which is the origin, (n, 2)."""
        return (points - self.point) @ self.across.T


@dataclass(frozen=True, eq=False)
class RoundFace:
    """A face between two circles, mm: their centers, (2, 3), radii, (2,), and the directions that angles are taken from, unit vectors;
    span: how far it goes around, rad. uncut: from where to where on the way from the first circle to the second nothing is cut out of it,
    shares of it; all of the face is between the circles."""
    centers: np.ndarray
    radii: np.ndarray
    start: np.ndarray
    quarter: np.ndarray
    span: float = 2.0 * math.pi
    uncut: tuple[float, float] = (0.0, 1.0)

    @property
    def whole(self) -> bool:
        """Whether it goes all around."""
        return self.span > 2.0 * math.pi - SAME

    def from_line(self, line: Line) -> tuple[float, np.ndarray] | None:
        """Distance of the face from a line, mm, and the places on it that are so near, (n, 3), of which there is one at least; None where
        that is not proven."""
        centers, (u, v) = line.seen(self.centers), np.stack((self.start, self.quarter)) @ line.across.T
        rims = self.radii > 0.0
        radii = self.radii[rims, None]
        angles = np.concatenate([_nearest_angles(centers[rims], radii * u, radii * v).ravel(), _touching(centers, self.radii, u, v)])
        turned = np.cos(angles)[:, None] * u + np.sin(angles)[:, None] * v
        low, high = (center + radius * turned for center, radius in zip(centers, self.radii))
        way = high - low
        length = (way * way).sum(axis=1)
        shares = np.minimum(np.maximum(-(low * way).sum(axis=1) / np.where(length > 0.0, length, 1.0), 0.0), 1.0)
        places = low + shares[:, None] * way
        away = np.sqrt((places * places).sum(axis=1))
        best = int(away.argmin())
        least = float(away[best])
        if least < EQUAL:
            return None
        toward = places[best] / least
        if float((centers @ toward - self.radii * math.hypot(float(u @ toward), float(v @ toward))).min()) < least - EQUAL:
            return None
        # Where a line of the face runs beside the other, all of it is as near.
        shares = np.concatenate([np.minimum(np.maximum(shares, self.uncut[0]), self.uncut[1]),
                                 np.repeat(self.uncut, len(angles))])
        angles = np.tile(angles, 3)
        places = np.tile(low, (3, 1)) + shares[:, None] * np.tile(way, (3, 1))
        there = (places * places).sum(axis=1) < (least + EQUAL) ** 2
        if not self.whole:
            there &= (angles + SAME) % (2.0 * math.pi) <= self.span + 2.0 * SAME
        if not there.any():
            return None
        angles, shares = angles[there, None], shares[there, None]
        centers, radii = (one[0] + shares * (one[1] - one[0]) for one in (self.centers, self.radii))
        return least, centers + radii * (np.cos(angles) * self.start + np.sin(angles) * self.quarter)

    def lowest(self, way: np.ndarray) -> tuple[float, np.ndarray] | None:
        """How far along a unit vector the face begins, mm, and places on it that are there, (n, 3); None where something is cut out."""
        if self.uncut != (0.0, 1.0):
            return None
        return lowest(np.concatenate([_on_arc(center, radius * self.start, radius * self.quarter, self.span, way)
                                       for center, radius in zip(self.centers, self.radii)]), way)


@dataclass(frozen=True, eq=False)
class EdgedFace:
    """A plane face between straight edges and arcs: where the straight ones begin and where they lead to from there, (n, 3) each, mm."""
    starts: np.ndarray
    ways: np.ndarray
    arcs: tuple[plain_face.Arc, ...]

    def from_line(self, line: Line) -> tuple[float, np.ndarray] | None:
        """Distance of the face's edges, and so of the face, from a line that does not pass through it; as ``RoundFace.from_line``."""
        places = [along_sides(self.starts, self.ways, line)] if len(self.starts) else []
        if self.arcs:
            centers, starts, quarters = (np.array(rows) for rows in zip(*((arc.center, arc.start, arc.quarter) for arc in self.arcs)))
            nearest = _nearest_angles(line.seen(centers), starts @ line.across.T, quarters @ line.across.T) % (2.0 * math.pi)
            for arc, angles in zip(self.arcs, nearest):
                at = np.append(angles[angles < arc.span], (0.0, arc.span))[:, None]
                places.append(arc.center + np.cos(at) * arc.start + np.sin(at) * arc.quarter)
        every = np.concatenate(places)
        off = line.seen(every)
        away = np.sqrt((off * off).sum(axis=1))
        least = float(away.min())
        return least, every[away < least + EQUAL]

    def lowest(self, way: np.ndarray) -> tuple[float, np.ndarray]:
        """As ``RoundFace.lowest``."""
        return lowest(np.concatenate([self.starts, self.starts + self.ways,
                                       *(_on_arc(arc.center, arc.start, arc.quarter, arc.span, way) for arc in self.arcs)]), way)


def _on_arc(center: np.ndarray, start: np.ndarray, quarter: np.ndarray, span: float, way: np.ndarray) -> np.ndarray:
    """The ends of an arc, and where it is lowest along a vector if it goes there, (n, 3)."""
    turn = (math.atan2(float(quarter @ way), float(start @ way)) + math.pi) % (2.0 * math.pi)
    angles = np.array([0.0, span, turn] if turn < span else [0.0, span])[:, None]
    return np.asarray(center + np.cos(angles) * start + np.sin(angles) * quarter)


def lowest(places: np.ndarray, way: np.ndarray) -> tuple[float, np.ndarray]:
    """How far along a unit vector the first of places (n, 3) is, and those that are no farther."""
    heights = places @ way
    least = float(heights.min())
    return least, places[heights < least + EQUAL]


def along_sides(starts: np.ndarray, ways: np.ndarray, line: Line) -> np.ndarray:
    """The ends of straight sides, and where each comes nearest to a line, (3 n, 3)."""
    first, way = line.seen(starts), ways @ line.across.T
    length = (way * way).sum(axis=1)
    shares = np.minimum(np.maximum(-(first * way).sum(axis=1) / np.where(length > 0.0, length, 1.0), 0.0), 1.0)
    return np.concatenate([starts, starts + ways, starts + shares[:, None] * ways])


def _nearest_angles(centers: np.ndarray, u: np.ndarray, v: np.ndarray) -> np.ndarray:
    """Angles, (n, 4), at which ellipses center + u cos + v sin, given by (n, 2) each and seen from the origin, may be nearest to it."""
    # The square of the distance is a constant + Re(first z + second z z) with z = exp(i angle); where its derivative is 0 z is a root of
    # 2 second z^4 + first z^3 - first* z - 2 second*, and so an eigenvalue of the polynomial's companion matrix.
    first = 2.0 * ((centers * u).sum(axis=1) - 1j * (centers * v).sum(axis=1))
    second = 0.5 * ((u * u).sum(axis=1) - (v * v).sum(axis=1)) - 1j * (u * v).sum(axis=1)
    round_ = np.abs(second) <= 1e-7 * np.abs(first)
    twice, matrix = np.where(round_, 1.0, 2.0 * second), np.zeros((len(first), 4, 4), dtype=complex)
    matrix[:, 0, 0], matrix[:, 0, 2], matrix[:, 0, 3] = -first / twice, first.conj() / twice, twice.conj() / twice
    matrix[:, (1, 2, 3), (0, 1, 2)] = 1.0
    straight = np.array([0.0, 0.0, math.pi, math.pi]) - np.angle(first)[:, None]
    angles = np.where(round_[:, None], straight, np.angle(np.linalg.eigvals(matrix)))
    # To the last digits (Newton): a root that is nearly a double one is known to half of them.
    for _step in range(2):
        z = np.exp(1j * angles)
        one, other = first[:, None] * z, second[:, None] * z * z
        slope, bend = -(one + 2.0 * other).imag, -(one + 4.0 * other).real
        steep = np.abs(slope) < 0.1 * np.abs(bend)
        angles = angles - np.where(steep, slope / np.where(steep, bend, 1.0), 0.0)
    return np.asarray(angles)


def _touching(centers: np.ndarray, radii: np.ndarray, u: np.ndarray, v: np.ndarray) -> np.ndarray:
    """Angles at which one straight line touches both ellipses."""
    way = centers[1] - centers[0]
    p, q = float(u[0] * way[1] - u[1] * way[0]), float(v[0] * way[1] - v[1] * way[0])
    size, side = math.hypot(p, q), float(radii[1] - radii[0]) * float(u[0] * v[1] - u[1] * v[0])
    if size == 0.0 or abs(side) > size:
        return np.zeros(0)
    return np.array((1.0, -1.0)) * math.acos(side / size) - math.atan2(p, q)


# --- of the host's faces ----------------------------------------------------------------------------------------------


def face_of(body: Body, number: int, kept: Kept) -> RoundFace | EdgedFace | None:
    """What a face of a body is, in the body's own frame."""
    return kept.of(("round face", number), body.mark, lambda: of(shape_of(body, kept).Faces[number]))


def nearest(body: Body, bounds: np.ndarray, measure: Callable[[RoundFace | EdgedFace], tuple[float, np.ndarray] | None], least: float,
            places: list[np.ndarray], kept: Kept) -> tuple[float, list[np.ndarray]] | None:
    """The least of a distance that is known already, mm, and of those of a body's faces, with all places that are so near. bounds: of the
    distances of its faces, (f,); measure: distance and places of one face. None where one that may be nearest is not known, or not told
    of."""
    for number in np.argsort(bounds, kind="stable").tolist():
        if bounds[number] > least + EQUAL:
            break
        face = face_of(body, number, kept)
        told = None if face is None else measure(face)
        if told is None:
            return None
        if told[0] < least - EQUAL:
            least, places = told[0], [told[1]]
        elif told[0] < least + EQUAL:
            places = [*places, told[1]]
    return least, places


def of(face: Any) -> RoundFace | EdgedFace | None:
    """What a face is, in the frame that it stands in; None of others."""
    surface = face.Surface
    if surface.TypeId in CURVED:
        return _about_axis(face, surface)
    if surface.TypeId not in ("Part::GeomPlane", "Part::GeomBSplineSurface"):
        return None
    arcs, lines = [], []
    for edge in face.Edges:
        curve = edge.Curve
        if curve.TypeId == "Part::GeomCircle":
            arcs.append(plain_face.arc_of(edge, curve))
        elif curve.TypeId in plain_face.STRAIGHT or (curve.TypeId in plain_face.SPLINES and curve.NbPoles == 2):
            lines.append([tuple(vertex.Point) for vertex in edge.Vertexes])
        else:
            return None
    if surface.TypeId == "Part::GeomBSplineSurface":
        return _lofted(arcs, len(lines), surface)
    sides = np.array(lines).reshape(-1, 2, 3)
    return EdgedFace(sides[:, 0], sides[:, 1] - sides[:, 0], tuple(arcs))


def _lofted(arcs: Sequence[plain_face.Arc], lines: int, surface: Any) -> RoundFace | None:
    """What straight lines make between two arcs that are drawn alike."""
    if len(arcs) != 2 or lines not in (1, 2):
        return None
    one, other = arcs
    # As the host draws an edge it may run either way around.
    if float(cross(one.start, one.quarter) @ cross(other.start, other.quarter)) < 0.0:
        other = other.reversed()
    if (abs(one.span - other.span) > SAME or one.whole != (lines == 1) or not plain_face.even(surface, one, other)
            or np.abs(one.start / one.radius - other.start / other.radius).max() > SAME
            or np.abs(one.quarter / one.radius - other.quarter / other.radius).max() > SAME):
        return None
    # The host draws such arcs as polynomials, nearly as exactly as it tells distances.
    first, last, low, high = surface.bounds()
    off = [[abs(math.dist(tuple(surface.value(first + share * (last - first), v)), arc.center) - arc.radius) for share in LOOKED_AT]
           for arcs in ((one, other), (other, one)) for v, arc in zip((low, high), arcs)]
    if min(max(off[0] + off[1]), max(off[2] + off[3])) > DRAWN:
        return None
    return RoundFace(np.stack((one.center, other.center)), np.array((one.radius, other.radius)), one.start / one.radius,
                     one.quarter / one.radius, one.span)


def _about_axis(face: Any, surface: Any) -> RoundFace | None:
    """A cylinder or a cone that goes all around somewhere, whatever cuts its ends, or a piece of one between two lines of it."""
    cylinder = surface.TypeId == "Part::GeomCylinder"
    point, axis = np.array(surface.Center if cylinder else surface.Apex), np.array(surface.Axis)
    lines, cuts, arcs = [], [], []
    for edge in face.Edges:
        if edge.Degenerated:
            return None
        curve = edge.Curve
        reach = core.reach((edge,), edge.Vertexes, point, axis)
        if reach is None:
            return None
        along = reach[1:]
        if curve.TypeId == "Part::GeomLine":
            lines.append(along)
            continue
        cuts.append(along)
        if curve.TypeId == "Part::GeomCircle":
            arcs.append(plain_face.arc_of(edge, curve))
    if not lines or not cuts or len(lines) > 2:
        return None
    low, high = min(cut[0] for cut in cuts), max(cut[1] for cut in cuts)
    # The longest piece along the axis that no cut reaches, and that the seam runs through: there it goes all around.
    free, reached = (0.0, 0.0), low
    for cut in sorted(cuts):
        free, reached = max(free, (cut[0] - reached, reached)), max(reached, cut[1])
    first, last = free[1], free[1] + free[0]
    if free[0] < SAME or any(line[0] > first + SAME or line[1] < last - SAME for line in lines):
        return None
    at = surface.value(*(0.5 * (face.ParameterRange[i] + face.ParameterRange[i + 1]) for i in (0, 2)))
    out = np.array(at) - point
    height = float(out @ axis)
    out = out - height * axis
    size = math.sqrt(float(out @ out))
    radii = np.array([surface.Radius] * 2 if cylinder else [size * low / height, size * high / height])
    if radii.min() < 0.0:
        return None
    start, span = out / size, 2.0 * math.pi
    if len(lines) == 2:
        # A piece of it, between two arcs across.
        if len(arcs) != 2 or len(cuts) != 2 or high - low > free[0] + SAME or abs(arcs[0].span - arcs[1].span) > SAME:
            return None
        arc = arcs[0] if float(cross(arcs[0].start, arcs[0].quarter) @ axis) > 0.0 else arcs[0].reversed()
        start, span = arc.start / arc.radius, arc.span
    length = high - low
    return RoundFace(point + np.outer((low, high), axis), radii, start, cross(axis, start), span,
                     ((first - low) / length if first > low + SAME else 0.0, (last - low) / length if last < high - SAME else 1.0))
