"""Flat shapes of plates: loops of lines and arcs, round holes, and their exact measures. Numbers only, no host.

Coordinates are (y, z) in mm in the plane of the plate, y to the left and z up as in the engine frame, so that a loop
running counterclockwise turns about +x (seen from the front of the car, y points to the viewer's right). An arc is
written as in DXF: the *bulge* of a vertex is the tangent of a quarter of the angle that the segment to the next vertex
sweeps, positive counterclockwise, 0 for a line.
"""
from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from functools import cached_property
from typing import Any, TypeAlias

import numpy as np

from ..units import sized
from .crossings import chains_meet, self_crossing

TOUCH = 1e-6
"""Points nearer than this, mm, are one point (numerical)."""

ARC_STEP = math.radians(10.0)
"""Arcs are followed by chords of at most this angle where crossings are looked for (numerical)."""

_Table: TypeAlias = tuple[Any, ...]


@dataclass(frozen=True)
class Vertex:
    """A vertex of a loop and the segment that leaves it: mm, mm, bulge."""
    y: float
    z: float
    bulge: float = 0.0


@dataclass(frozen=True)
class Circle:
    """A round hole: center and diameter, mm."""
    y: float
    z: float
    diameter: float

    @property
    def area(self) -> float:
        return math.pi * self.diameter ** 2 / 4.0

    @property
    def perimeter(self) -> float:
        return math.pi * self.diameter

    @property
    def centroid(self) -> tuple[float, float]:
        return self.y, self.z

    @property
    def bounds(self) -> tuple[float, float, float, float]:
        """(y low, z low, y high, z high)."""
        r = self.diameter / 2.0
        return self.y - r, self.z - r, self.y + r, self.z + r

    def mirrored(self) -> Circle:
        """The hole with y changed in sign."""
        return replace(self, y=-self.y)

    def translated(self, dy: float, dz: float) -> Circle:
        """The hole moved in the plane."""
        return replace(self, y=self.y + dy, z=self.z + dz)


@dataclass(frozen=True)
class Segment:
    """A line or an arc of a loop. An arc has a center and a signed sweep in rad; a line has sweep 0."""
    y0: float
    z0: float
    y1: float
    z1: float
    sweep: float
    yc: float = 0.0
    zc: float = 0.0

    @property
    def radius(self) -> float:
        return math.hypot(self.y0 - self.yc, self.z0 - self.zc) if self.sweep else math.inf

    @property
    def chord(self) -> float:
        return math.hypot(self.y1 - self.y0, self.z1 - self.z0)

    @property
    def length(self) -> float:
        return abs(self.sweep) * self.radius if self.sweep else self.chord

    def at(self, share: float) -> tuple[float, float]:
        """The point at a share 0..1 of the length."""
        if not self.sweep:
            return self.y0 + share * (self.y1 - self.y0), self.z0 + share * (self.z1 - self.z0)
        turn = share * self.sweep
        dy, dz = self.y0 - self.yc, self.z0 - self.zc
        return (self.yc + dy * math.cos(turn) - dz * math.sin(turn), self.zc + dy * math.sin(turn) + dz * math.cos(turn))

    def passes(self, y: float, z: float) -> bool:
        """Whether an arc passes the point of its circle that lies in a direction from the center."""
        dy, dz = self.y0 - self.yc, self.z0 - self.zc
        turn = math.copysign(1.0, self.sweep) * math.atan2(dy * z - dz * y, dy * y + dz * z) % math.tau
        slack = TOUCH / self.radius
        return turn <= abs(self.sweep) + slack or turn >= math.tau - slack


@dataclass(frozen=True)
class Loop:
    """A closed line of lines and arcs; the last vertex leads back to the first."""
    vertices: tuple[Vertex, ...]

    @cached_property
    def segments(self) -> tuple[Segment, ...]:
        return tuple(_segment(a, b) for a, b in zip(self.vertices, self.vertices[1:] + self.vertices[:1]))

    @cached_property
    def _moments(self) -> tuple[float, float, float]:
        """Signed area and its first moments: the polygon's, and a circular segment for every arc."""
        area = moment_y = moment_z = 0.0
        for s in self.segments:
            cross = s.y0 * s.z1 - s.y1 * s.z0
            area += cross / 2.0
            moment_y += cross * (s.y0 + s.y1) / 6.0
            moment_z += cross * (s.z0 + s.z1) / 6.0
            if s.sweep:
                # Segment between chord and arc: area r^2 (a - sin a)/2; its centroid stands 4 r sin^3(a/2) / (3 (a - sin a))
                # from the center, on the bisector. Product of both is 2/3 r^3 sin^3(a/2), free of cancellation.
                r, sweep = s.radius, s.sweep
                part = r * r * (sweep - math.sin(sweep)) / 2.0
                y_mid, z_mid = s.at(0.5)
                reach = 2.0 / 3.0 * r ** 3 * math.sin(abs(sweep) / 2.0) ** 3 * math.copysign(1.0, sweep)
                area += part
                moment_y += part * s.yc + reach * (y_mid - s.yc) / r
                moment_z += part * s.zc + reach * (z_mid - s.zc) / r
        return area, moment_y, moment_z

    @property
    def signed_area(self) -> float:
        """Area, positive counterclockwise."""
        return self._moments[0]

    @property
    def area(self) -> float:
        return abs(self._moments[0])

    @property
    def perimeter(self) -> float:
        return sum(s.length for s in self.segments)

    @property
    def centroid(self) -> tuple[float, float]:
        area, moment_y, moment_z = self._moments
        return moment_y / area, moment_z / area

    @cached_property
    def bounds(self) -> tuple[float, float, float, float]:
        """(y low, z low, y high, z high), arcs included."""
        points = [(v.y, v.z) for v in self.vertices]
        for s in self.segments:
            if s.sweep:
                points += [(s.yc + s.radius * c, s.zc + s.radius * d) for c, d in ((1, 0), (0, 1), (-1, 0), (0, -1)) if s.passes(c, d)]
        ys, zs = zip(*points)
        return min(ys), min(zs), max(ys), max(zs)

    def points(self) -> np.ndarray:
        """Points along the loop, (n, 2), not closed; arcs by chords of at most ``ARC_STEP``."""
        return self._points

    @cached_property
    def _points(self) -> np.ndarray:
        found = []
        for s in self.segments:
            pieces = max(1, math.ceil(abs(s.sweep) / ARC_STEP))
            found += [s.at(i / pieces) for i in range(pieces)]
        return np.array(found)

    def mirrored(self) -> Loop:
        """The line with y changed in sign. That turns every arc over and runs the other way round; running it backwards restores both."""
        return Loop(tuple(Vertex(-v.y, v.z, -v.bulge) for v in self.vertices)).reversed()

    def translated(self, dy: float, dz: float) -> Loop:
        """The line moved in the plane."""
        return Loop(tuple(replace(v, y=v.y + dy, z=v.z + dz) for v in self.vertices))

    def reversed(self) -> Loop:
        """The same line run the other way."""
        v = self.vertices
        return Loop(tuple(Vertex(v[i].y, v[i].z, -v[i - 1].bulge) for i in range(len(v) - 1, -1, -1)))

    def counterclockwise(self) -> Loop:
        """The same line run counterclockwise."""
        return self if self.signed_area > 0.0 else self.reversed()

    def holds(self, y: float, z: float) -> bool:
        """Whether a point lies inside."""
        p, q = self._sides
        cut = (p[:, 1] > z) != (q[:, 1] > z)
        p, q = p[cut], q[cut]
        return bool(np.count_nonzero(p[:, 0] + (z - p[:, 1]) * (q[:, 0] - p[:, 0]) / (q[:, 1] - p[:, 1]) > y) % 2)

    @cached_property
    def _sides(self) -> tuple[np.ndarray, np.ndarray]:
        """Both ends of the chords between the points, each (n, 2)."""
        points = self.points()
        return points, np.roll(points, -1, axis=0)

    def distance(self, y: float, z: float) -> float:
        """Distance of a point from the line, exact."""
        return float(_distances(self._table, y, z).min())

    def distances(self, y: np.ndarray, z: np.ndarray) -> np.ndarray:
        """The same of many points at once, (n,)."""
        return np.asarray(_distances(self._table, y[:, None], z[:, None]).min(axis=1))

    @cached_property
    def _table(self) -> _Table:
        """Its segments."""
        return _table(self.segments)


@dataclass(frozen=True)
class Flat:
    """A plate in its plane: outer loop counterclockwise, and what is cut out of it."""
    outer: Loop
    inner: tuple[Loop | Circle, ...] = ()

    @property
    def area(self) -> float:
        """Area of the material, mm2."""
        return self.outer.area - sum(item.area for item in self.inner)

    @property
    def cut_length(self) -> float:
        """Length of all cuts, mm: what a laser runs."""
        return self.outer.perimeter + sum(item.perimeter for item in self.inner)

    @property
    def centroid(self) -> tuple[float, float]:
        """Centroid of the material."""
        pieces = [(self.outer.area, self.outer.centroid)] + [(-item.area, item.centroid) for item in self.inner]
        y, z = (sum(a * c[i] for a, c in pieces) / self.area for i in (0, 1))
        return y, z

    @property
    def bounds(self) -> tuple[float, float, float, float]:
        """(y low, z low, y high, z high)."""
        return self.outer.bounds

    @property
    def holes(self) -> tuple[Circle, ...]:
        """Hole table: the round holes, from the top down and from right to left."""
        return tuple(sorted((item for item in self.inner if isinstance(item, Circle)),
                            key=lambda c: (-round(c.z, 3), round(c.y, 3), c.diameter)))

    def mirrored(self) -> Flat:
        """The other-hand plate: y changes sign."""
        return Flat(self.outer.mirrored(), tuple(item.mirrored() for item in self.inner))

    def translated(self, dy: float, dz: float) -> Flat:
        """The plate moved in its plane."""
        return Flat(self.outer.translated(dy, dz), tuple(item.translated(dy, dz) for item in self.inner))

    def checked(self, name: str) -> Flat:
        """This plate, or ValueError with one sentence that begins with ``name``: loops closed and free of crossings, holes
        inside and apart."""
        for loop in (self.outer, *(item for item in self.inner if isinstance(item, Loop))):
            _check_loop(loop, name)
        if self.outer.signed_area < 0.0:
            raise ValueError(f"{name}: the outline runs clockwise; its width or height is negative, give larger dimensions")
        for i, item in enumerate(self.inner):
            where = f"the hole of {_in(item.diameter)} at {_place(item)}" if isinstance(item, Circle) else "a cut-out"
            if isinstance(item, Circle):
                inside = self.outer.distance(item.y, item.z) > item.diameter / 2.0 and self.outer.holds(item.y, item.z)
            else:
                inside = all(self.outer.holds(y, z) for y, z in item.points()) and not chains_meet(item.points(), self.outer.points())
            if not inside:
                raise ValueError(f"{name}: {where} reaches over the edge of the plate; move or shrink the hole, or enlarge "
                                 "the plate there")
            for other in self.inner[:i]:
                if _meet(item, other):
                    raise ValueError(f"{name}: {where} runs into the hole at {_place(other)}; move one of them or make one "
                                     "smaller")
        return self


# ---------------------------------------------------------------------------------------------------------- makers

def polygon(points: Iterable[Sequence[float]]) -> Loop:
    """A loop of straight lines, counterclockwise whichever way the points run."""
    return Loop(tuple(Vertex(float(y), float(z)) for y, z in points)).counterclockwise()


def rounded(points: Sequence[Sequence[float]], radius: float | Sequence[float], shrink: bool = False,
            name: str = "corner_radius") -> Loop:
    """A polygon with its corners rounded by tangent arcs.

    radius: one for all corners, or one for each point; 0 leaves a corner sharp. A corner whose arc does not fit between
    its neighbors is a ValueError in one sentence that begins with ``name``; with ``shrink`` its radius is made as large
    as fits instead.
    """
    points = [(float(y), float(z)) for y, z in points]
    radii = [float(radius)] * len(points) if isinstance(radius, (int, float)) else [float(r) for r in radius]
    if len(radii) != len(points):
        raise ValueError(f"{name}: {len(radii)} radii for {len(points)} corners; give one for each corner, or one for all")
    apart = [i for i, p in enumerate(points) if math.dist(p, points[i - 1]) > TOUCH]
    points, radii, n = [points[i] for i in apart], [radii[i] for i in apart], len(apart)
    if n < 3:
        raise ValueError(f"{name}: the outline has {n} corners; give dimensions that leave at least three")
    tangents = []
    for i, (y, z) in enumerate(points):
        (ya, za), (yb, zb) = points[i - 1], points[(i + 1) % n]
        turn = _turn(y - ya, z - za, yb - y, zb - z)
        if abs(abs(turn) - math.pi) < 1e-9:
            raise ValueError(f"{name}: the outline turns back on itself at ({_in(y)}, {_in(z)}); give dimensions that leave material there")
        tangents.append((turn, math.tan(abs(turn) / 2.0)))
    sides = [math.dist(points[i], points[(i + 1) % n]) for i in range(n)]
    needs = [r * t for r, (_, t) in zip(radii, tangents)]
    shares = [sides[i] / max(needs[i] + needs[(i + 1) % n], TOUCH) for i in range(n)]
    if min(shares) < 1.0 - 1e-9 and not shrink:
        i = shares.index(min(shares))
        i = i if needs[i] >= needs[(i + 1) % n] else (i + 1) % n
        raise ValueError(f"{name}: a radius of {_in(radii[i])} does not fit the corner at ({_in(points[i][0])}, {_in(points[i][1])}); at "
                         f"most {_in(radii[i] * min(shares))} fits there")
    # Both corners of a short side give way in proportion; a hair is left between their arcs.
    factors = [min(1.0, *(0.999 * share if share < 1.0 - 1e-9 else 1.0 for share in (shares[i - 1], shares[i]))) for i in range(n)]
    vertices: list[Vertex] = []
    for i, (y, z) in enumerate(points):
        turn, _ = tangents[i]
        need = needs[i] * factors[i]
        if need < TOUCH:
            vertices.append(Vertex(y, z))
            continue
        (ya, za), (yb, zb) = points[i - 1], points[(i + 1) % n]
        before, after = need / sides[i - 1], need / sides[i]
        vertices.append(Vertex(y + (ya - y) * before, z + (za - z) * before, math.tan(turn / 4.0)))
        vertices.append(Vertex(y + (yb - y) * after, z + (zb - z) * after))
    # Arcs that use up a side leave no line between them.
    kept = [v for i, v in enumerate(vertices) if v.bulge or math.dist((v.y, v.z), (vertices[(i + 1) % len(vertices)].y,
                                                                                   vertices[(i + 1) % len(vertices)].z)) > TOUCH]
    return Loop(tuple(kept)).counterclockwise()


def convex_hull(points: Iterable[Sequence[float]]) -> list[tuple[float, float]]:
    """Corners of the convex hull, counterclockwise, without points on its sides (Andrew's monotone chain)."""
    ordered = sorted({(float(y), float(z)) for y, z in points})

    def chain(items: Iterable[tuple[float, float]]) -> list[tuple[float, float]]:
        kept: list[tuple[float, float]] = []
        for p in items:
            while len(kept) > 1 and ((kept[-1][0] - kept[-2][0]) * (p[1] - kept[-2][1])
                                     - (kept[-1][1] - kept[-2][1]) * (p[0] - kept[-2][0])) <= TOUCH:
                kept.pop()
            kept.append(p)
        return kept[:-1]

    return chain(ordered) + chain(reversed(ordered))


def boss(y: float, z: float, radius: float) -> list[tuple[float, float]]:
    """Corners of the octagon around a circle: material around a hole for a convex hull."""
    reach = radius / math.cos(math.pi / 8.0)
    return [(y + reach * math.cos(a), z + reach * math.sin(a)) for a in (math.pi / 8.0 + k * math.pi / 4.0 for k in range(8))]


# --------------------------------------------------------------------------------------------------------- inside

def _segment(a: Vertex, b: Vertex) -> Segment:
    if not a.bulge:
        return Segment(a.y, a.z, b.y, b.z, 0.0)
    # Center on the chord's bisector, half a chord times cot(sweep/2) = (1/bulge - bulge)/2 to its left.
    dy, dz = b.y - a.y, b.z - a.z
    lift = (1.0 / a.bulge - a.bulge) / 4.0
    return Segment(a.y, a.z, b.y, b.z, 4.0 * math.atan(a.bulge), (a.y + b.y) / 2.0 - lift * dz, (a.z + b.z) / 2.0 + lift * dy)


def _turn(ay: float, az: float, by: float, bz: float) -> float:
    return math.atan2(ay * bz - az * by, ay * by + az * bz)


def _check_loop(loop: Loop, name: str) -> None:
    for s in loop.segments:
        if not all(map(math.isfinite, (s.y0, s.z0, s.sweep))):
            raise ValueError(f"{name}: the outline holds a coordinate that is not a number; correct the dimensions it is made from")
        if s.chord < TOUCH:
            raise ValueError(f"{name}: two corners of the outline fall together at ({_in(s.y0)}, {_in(s.z0)}); change one of the "
                             "dimensions that meet there")
    points = loop.points()
    if (at := self_crossing(points)) is not None:
        raise ValueError(f"{name}: the outline crosses itself near ({_in(at[0])}, {_in(at[1])}); the dimensions that meet there "
                         "leave no material, change one of them")


def _table(segments: Sequence[Segment]) -> _Table:
    """What distances from segments are taken from: both ends; way, its square and its length; center, radius, sweep, its size and sign, and
    angle of the start of arcs; whether there are any."""
    y0, z0, y1, z1, sweep, yc, zc, radius = np.array([(s.y0, s.z0, s.y1, s.z1, s.sweep, s.yc, s.zc, s.radius if s.sweep else 0.0)
                                                      for s in segments]).T
    dy, dz = y1 - y0, z1 - z0
    return (y0, z0, y1, z1, dy, dz, dy * dy + dz * dz, np.hypot(dy, dz), yc, zc, radius, sweep == 0.0, np.abs(sweep), np.sign(sweep),
            np.arctan2(z0 - zc, y0 - yc), np.any(sweep))


def _distances(table: _Table, y: float | np.ndarray, z: float | np.ndarray) -> np.ndarray:
    """Distances of a point, or of points (m, 1), from n segments as ``_table`` gives them, (n,) or (m, n)."""
    y0, z0, y1, z1, dy, dz, square, length, yc, zc, radius, straight, sweep, sign, start, arcs = table
    off_y, off_z = y - y0, z - z0
    ends = np.minimum(np.hypot(off_y, off_z), np.hypot(y - y1, z - z1))
    share = (off_y * dy + off_z * dz) / square
    to_line = np.where((share >= 0.0) & (share <= 1.0), np.abs(off_y * dz - off_z * dy) / length, ends)
    if not arcs:
        return to_line
    turn = np.mod((np.arctan2(z - zc, y - yc) - start) * sign, math.tau)
    to_arc = np.where(turn <= sweep, np.abs(np.hypot(y - yc, z - zc) - radius), ends)
    return np.where(straight, to_line, to_arc)


def _meet(a: Loop | Circle, b: Loop | Circle) -> bool:
    if isinstance(a, Circle) and isinstance(b, Circle):
        return math.hypot(a.y - b.y, a.z - b.z) <= (a.diameter + b.diameter) / 2.0
    if isinstance(a, Circle):
        assert isinstance(b, Loop)
        return b.distance(a.y, a.z) <= a.diameter / 2.0 or b.holds(a.y, a.z)
    if isinstance(b, Circle):
        return _meet(b, a) or a.holds(b.y, b.z)
    return chains_meet(a.points(), b.points()) or a.holds(*b.points()[0]) or b.holds(*a.points()[0])


def _place(item: Loop | Circle) -> str:
    y, z = item.centroid
    return f"({_in(y)}, {_in(z)})"


def _in(length: float) -> str:
    return sized(length)
