"""Exact distance of a body from a straight round tube in closed form: how near it comes to the tube's center line, less the radius. Needs
the host.

What of the tube is within its radius of the center line, its ends and its bore included, is no nearer to the body than the body is to the
line less that radius; and so near it is if the body's nearest place stands beside where the tube is uncut all around. Plane faces between
straight edges are the triangles of their skin, round ones are known in closed form (``round_face``); where any other may be nearest this
does not tell.
"""
from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np

from ..mechanics.frames import cross, dot
from . import box_tree, core, round_face
from .body import Body, Faces, Point, faces_of, relative, shape_of, skin_of, tubes_of
from .box_tree import box_gaps
from .clearance import first_of
from .kept import Kept
from .plain_face import Arc
from .round_face import EQUAL, SAME, Line, RoundFace, along_sides
from .skin import ROUNDING, Skin
from .triangle_distance import NEXT, from_line
from .tube_joint import Piece

TOUCHED = 1e-7
"""mm by which a body may reach into a tube that it only touches."""

SQUARE = 1e-10
"""Sine of an angle below which two directions are one."""

CUTS = 16
"""Pieces in which a bend is held against boxes."""

MANY = 200
"""Triangles beyond which boxes are asked first which of them are near."""

MOST = 8
"""Tubes of one body, beyond which it is none."""


@dataclass(frozen=True, eq=False)
class Barrel:
    """A straight round piece of a tube in the tube's own frame, mm: a point and the unit direction of its center line, its radius, and
    from where to where along it from that point it is uncut all around; face: its number; held: which of the tube's faces are within its
    radius, (f,)."""
    point: np.ndarray
    axis: np.ndarray
    radius: float
    low: float
    high: float
    face: int
    held: np.ndarray

    def is_beside(self, point: np.ndarray) -> bool:
        """Whether a point (3,) stands beside where the piece is uncut."""
        return bool(self.low < (point - self.point) @ self.axis < self.high)


def barrels_of(body: Body, kept: Kept) -> tuple[Barrel, ...]:
    """The straight round pieces of a body that is a tube or a bar."""
    return kept.of("barrels", body.mark, lambda: _barrels(shape_of(body, kept), tubes_of(body, kept)))


def between(a: Body, b: Body, first: Faces, second: Faces, kept: Kept) -> tuple[float, tuple[Point, Point]] | None:
    """Distance of the surfaces of two bodies, mm, and a point on each, car frame; None where neither is a tube, or it is not told. first,
    second: their faces as they stand."""
    if kept.exact or not (a.mark and b.mark):
        return None
    ways = [(tube, other, faces, others) for tube, other, faces, others in ((a, b, first, second), (b, a, second, first))
            if barrels_of(tube, kept)]
    # Of two tubes the one from which there is less to measure.
    for tube, other, faces, others in sorted(ways, key=lambda way: len(way[3].boxes)):
        found = _from_barrels(barrels_of(tube, kept), tube, faces, other, others, kept)
        if found is None:
            continue
        distance, on_tube, on_other = found
        return distance, first_of((on_tube, on_other) if tube is a else (on_other, on_tube), other.pose)
    return None


def keep_apart(a: Body, b: Body, limit: float, kept: Kept) -> bool | None:
    """Whether the surfaces of two bodies keep farther apart than a limit, mm, by how near one comes to the center lines of the other; None
    where neither is a tube, or these do not tell."""
    if kept.exact or not (a.mark and b.mark):
        return None
    for tube, other in ((a, b), (b, a)):
        barrels = barrels_of(tube, kept)
        skin = skin_of(other, kept) if barrels else None
        if skin is None:
            continue
        left = box_gaps(faces_of(tube, kept).boxes, faces_of(other, kept).boxes).min(axis=1) <= limit
        pose = relative(other, tube)
        for barrel in barrels:
            if not left[barrel.face]:
                continue
            line = _line(barrel, pose)
            away, slack = _away(skin, line, barrel.radius + limit), skin.slack[skin.face]
            if float((away - slack).min()) - barrel.radius - ROUNDING > limit:
                left &= ~barrel.held
                continue
            # What comes near the line where the tube is uncut comes near the tube.
            nearest = int(away.argmin())
            along = (_on_sides(skin.corners[nearest:nearest + 1], line, barrel, float(away[nearest])) - line.point) @ line.axis
            if (away[nearest] + 2.0 * slack[nearest] <= barrel.radius + limit
                    and ((along >= barrel.low) & (along <= barrel.high)).any()):
                return False
            break
        if not left.any():
            return True
    return None


def _line(barrel: Barrel, pose: np.ndarray) -> Line:
    """The center line of a piece of a tube; pose: (4, 4), from the tube's frame."""
    return Line.through(pose[:3, :3] @ barrel.point + pose[:3, 3], pose[:3, :3] @ barrel.axis)


def _away(skin: Skin, line: Line, reach: float = math.inf) -> np.ndarray:
    """Distances of triangles from a line, (t,), mm; inf of those that others are nearer than for sure, or that are farther than a reach."""
    found = np.full(len(skin.face), math.inf)
    near: np.ndarray | slice = slice(None)
    if len(found) > MANY:
        # Boxes of some triangles each tell that of most.
        boxes = skin.tree.boxes[-2]
        with np.errstate(invalid="ignore"):
            size = 0.5 * np.sqrt(dot(boxes[:, 3:] - boxes[:, :3], boxes[:, 3:] - boxes[:, :3]))
            off = line.seen(0.5 * (boxes[:, 3:] + boxes[:, :3]))
            away = np.sqrt(off[:, 0] ** 2 + off[:, 1] ** 2)
            least = min(reach, float(np.fmin.reduce(away + size, initial=math.inf)))
            near = box_tree.within(np.flatnonzero(~(away - size > least + ROUNDING)), 1, len(found))
    found[near] = from_line(skin.corners[near] - line.point, np.zeros(3), line.axis)
    return found


def _from_barrels(barrels: Sequence[Barrel], tube: Body, faces: Faces, other: Body, others: Faces, kept: Kept,
                  ) -> tuple[float, np.ndarray, np.ndarray] | None:
    """Distance of a body from a tube, and places (n, 3) on the tube and on the body that are so far apart, in the body's frame."""
    skin = skin_of(other, kept)
    if skin is None:
        return None
    pose = relative(other, tube)
    reach = box_gaps(faces.boxes, others.boxes).min(axis=1)
    found: list[tuple[float, np.ndarray, np.ndarray]] = []
    bounds: list[tuple[Barrel, float]] = []
    for barrel in sorted(barrels, key=lambda barrel: float(reach[barrel.face])):
        if found and reach[barrel.face] > min(found, key=_distance)[0]:
            break
        line = _line(barrel, pose)
        away = _away(skin, line)
        told = _from_barrel(barrel, line, away, other, skin, kept)
        if told is not None:
            found.append(told)
        bounds.append((barrel, told[0] if told is not None else float((away - skin.slack[skin.face]).min()) - barrel.radius - ROUNDING))
    if not found:
        return None
    best = min(found, key=_distance)
    # The rest of the tube is shown to be no nearer by its boxes, by the line of its own piece, or by a plane.
    left = reach < best[0]
    for barrel, bound in bounds:
        if bound > best[0] - EQUAL:
            left &= ~barrel.held
    if left.any():
        bends = kept.of("bends", tube.mark, lambda: _bends(shape_of(tube, kept)))
        for number in np.flatnonzero(left).tolist():
            left[number] = number not in bends or bends[number].from_boxes(others.boxes, tube.pose) < best[0]
        for one in found if left.any() else ():
            left &= ~_behind(np.flatnonzero(left), len(left), bends, pose, one[1][0], one[2][0], skin)
    return None if left.any() else best


def _distance(found: tuple[float, np.ndarray, np.ndarray]) -> float:
    return found[0]


def _from_barrel(barrel: Barrel, line: Line, away: np.ndarray, other: Body, skin: Skin, kept: Kept,
                 ) -> tuple[float, np.ndarray, np.ndarray] | None:
    """Distance of a body from what is within the radius of one piece of a tube; away: of its triangles from the center line, (t,)."""
    straight = (skin.slack == 0.0)[skin.face]
    least, found = float(away[straight].min(initial=math.inf)), list[np.ndarray]()
    bounds = np.full(len(skin.slack), math.inf)
    np.minimum.at(bounds, skin.face[~straight], (away - skin.slack[skin.face])[~straight] - ROUNDING)
    # Where the line may pass through a face, edges do not tell.
    told = None if bounds.min() <= 0.0 else round_face.nearest(other, bounds, lambda face: face.from_line(line), least, found, kept)
    if told is None:
        return None
    least, found = told
    if least < barrel.radius - TOUCHED:
        return None
    nearest = straight & (away < least + EQUAL)
    if nearest.any():
        found.append(_on_sides(skin.corners[nearest], line, barrel, least))
    places = np.concatenate(found)
    along = (places - line.point) @ line.axis
    beside = (along >= barrel.low) & (along <= barrel.high)
    if not beside.any():
        return None
    places = places[beside]
    feet = line.point + along[beside, None] * line.axis
    return max(least - barrel.radius, 0.0), feet + (places - feet) * (barrel.radius / least), places


def _on_sides(triangles: np.ndarray, line: Line, barrel: Barrel, least: float) -> np.ndarray:
    """Places (n, 3) on the sides of triangles that are nearest to a tube's center line. Of a side that runs beside it all are: its ends and
    those beside the ends of where the tube is uncut are told."""
    starts, ways = triangles.reshape(-1, 3), (triangles[:, NEXT] - triangles).reshape(-1, 3)
    run, first = ways @ line.axis, (starts - line.point) @ line.axis
    beside = np.abs(run) > EQUAL
    shares = [np.minimum(np.maximum((end - first[beside]) / run[beside], 0.0), 1.0) for end in (barrel.low, barrel.high)]
    places = np.concatenate([along_sides(starts, ways, line), *(starts[beside] + share[:, None] * ways[beside] for share in shares)])
    off = line.seen(places)
    return places[np.sqrt((off * off).sum(axis=1)) < least + EQUAL]


def _behind(numbers: np.ndarray, many: int, bends: Mapping[int, Bend], pose: np.ndarray, on_tube: np.ndarray, on_other: np.ndarray,
            skin: Skin) -> np.ndarray:
    """Which of those faces of a tube, (many,), are bends behind the plane through a place on the tube that is square to the way from there
    to one on a body, where all of the body is beyond that."""
    found, way = np.zeros(many, dtype=bool), on_other - on_tube
    size = math.sqrt(float(way @ way))
    if size < TOUCHED:
        return found
    way = way / size
    slack = skin.slack[skin.face]
    if float(((skin.corners - on_other) @ way - slack[:, None]).min()) < -EQUAL:
        return found
    toward = pose[:3, :3].T @ way
    height = float(toward @ (pose[:3, :3].T @ (on_tube - pose[:3, 3])))
    found[[number for number in numbers.tolist() if number in bends and bends[number].highest(toward) < height + EQUAL]] = True
    return found


@dataclass(frozen=True, eq=False)
class Bend:
    """A face about an arc, mm: it goes no farther from it than its radius."""
    arc: Arc
    radius: float

    def highest(self, way: np.ndarray) -> float:
        """How far it goes along a unit vector at most."""
        x, y = float(self.arc.start @ way), float(self.arc.quarter @ way)
        top = math.atan2(y, x) % (2.0 * math.pi)
        most = math.hypot(x, y) if top <= self.arc.span else max(x, x * math.cos(self.arc.span) + y * math.sin(self.arc.span))
        return float(self.arc.center @ way) + most + self.radius

    def from_boxes(self, boxes: np.ndarray, pose: np.ndarray) -> float:
        """How far it keeps at least from boxes (n, 6), mm; pose: (4, 4), from its own frame to theirs."""
        points = self.arc.points(2 * CUTS)[1::2] @ pose[:3, :3].T + pose[:3, 3]
        return float(box_gaps(np.tile(points, 2), boxes).min()) - 0.5 * self.arc.radius * self.arc.span / CUTS - self.radius


def _bends(shape: Any) -> dict[int, Bend]:
    """The bends of round tube among the faces of a shape, their bores included, by number."""
    found = {}
    for number, face in enumerate(shape.Faces):
        surface = face.Surface
        if surface.TypeId == "Part::GeomToroid":
            first, last = face.ParameterRange[:2]
            # Farthest from the bend's axis, at v = 0, the tube is the bend's radius and its own away.
            center, share = np.array(surface.Center), surface.MajorRadius / (surface.MajorRadius + surface.MinorRadius)
            start, quarter = (share * (np.array(surface.value(first + turn, 0.0)) - center) for turn in (0.0, 0.5 * math.pi))
            found[number] = Bend(Arc(center, start, quarter, surface.MajorRadius, last - first), surface.MinorRadius)
    return found


def _barrels(shape: Any, pieces: Sequence[Piece]) -> tuple[Barrel, ...]:
    """Those of the straight outsides of tubes that go all around."""
    faces, found = shape.Faces, list[Barrel]()
    ranges = {piece.face: faces[piece.face].ParameterRange for piece in pieces if not piece.bend}
    around = [number for number, (first, last, _low, _high) in ranges.items() if last - first > 2.0 * math.pi - SAME]
    for number in around if len(around) <= MOST else ():
        made = round_face.of(faces[number])
        if isinstance(made, RoundFace) and made.whole:
            point, axis, radius = made.centers[0], np.array(faces[number].Surface.Axis), float(made.radii[0])
            low, high = (float((made.centers[1] - point) @ axis) * share for share in made.uncut)
            found.append(Barrel(point, axis, radius, low, high, number, _held(faces, point, axis, radius)))
    return tuple(found)


def _held(faces: Sequence[Any], point: np.ndarray, axis: np.ndarray, radius: float) -> np.ndarray:
    """Which of some faces lie within a radius of a line, (f,): cylinders about it, and others of straight lines whose edges are edges of
    those or lie within the radius."""
    about = [face.Surface.TypeId == "Part::GeomCylinder" and face.Surface.Radius <= radius + EQUAL and _is_about(face.Surface, point, axis)
             for face in faces]
    rims: dict[int, list[Any]] = {}
    for face, round_ in zip(faces, about):
        for edge in face.Edges if round_ else ():
            rims.setdefault(edge.hashCode(), []).append(edge)

    def inside(edge: Any) -> bool:
        if edge.Degenerated or any(edge.isSame(rim) for rim in rims.get(edge.hashCode(), ())):
            return True
        reach = core.reach((edge,), edge.Vertexes, point, axis)
        return reach is not None and reach[0] <= radius + EQUAL

    return np.array([round_ or (face.Surface.TypeId in core.RULED and all(map(inside, face.Edges))) for face, round_ in zip(faces, about)])


def _is_about(surface: Any, point: np.ndarray, axis: np.ndarray) -> bool:
    """Whether a cylinder's axis is a line."""
    return bool(np.abs(cross(np.array(surface.Axis), axis)).max() < SQUARE
                and np.abs(cross(np.array(surface.Center) - point, axis)).max() < SAME)
