"""Whether what is fitted to a tube keeps out of it, from the tube's center lines and radii: coped tubes, tabs, saddles. Needs the host.

Where a tube stands, what it is made of lies within its radius of its center lines (straight pieces, arcs of bends). Of the other body
no surface may lie deeper in that than allowed. On a plane or a cylinder what lies deeper is cut off by edges of the face, or holds a whole
piece of the surface together with the point that comes nearest to the center line; so a face keeps out if its edges do and the triangles
of its skin stay well away from that point. Surfaces that keep out of each other leave two bodies apart or one inside the other; a corner
that stands outside decides. What this cannot tell is left to the host's intersection.
"""
from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Any

import FreeCAD
import numpy as np

from ..mechanics.frames import dot
from . import curve_points, triangle_distance
from .box_tree import Tree
from .skin import Skin
from .surface import material_at
from .triangle_distance import NEXT

SAME = 1e-4
"""mm and cosines within which two round faces are about one axis and of one radius."""

GRID = 41
"""Points along each way of a round face."""

FINE = 1.5
"""mm to which triangles are cut up that come near the center line of a bend."""

CLEAR = 0.1
"""mm by which a face must stay away from where it would come nearest to a center line."""

ROUND = ("Part::GeomCylinder", "Part::GeomToroid")


@dataclass(frozen=True, eq=False)
class Piece:
    """A piece of a tube in the tube's own frame, mm: radius about a straight center line through a point along an axis, or about a circle
    with that center, axis and bend radius (0: straight). face: number of the face that it is the outside of."""
    point: np.ndarray
    axis: np.ndarray
    radius: float
    bend: float
    face: int

    def distance(self, points: np.ndarray) -> np.ndarray:
        """Distance of points (..., 3) from the center line."""
        off = points - self.point
        along = off @ self.axis
        out = np.sqrt(np.maximum(dot(off, off) - along * along, 0.0))
        return out if not self.bend else np.hypot(out - self.bend, along)

    def from_triangles(self, triangles: np.ndarray) -> float:
        """Least distance of triangles (n, 3, 3) from the center line: exact from a straight one, a lower bound from that of a bend."""
        if not self.bend:
            return float(triangle_distance.from_line(triangles, self.point, self.axis).min())
        best, known = math.inf, 2.0 * self.radius
        while len(triangles):
            middle = (triangles[:, 0] + triangles[:, 1] + triangles[:, 2]) / 3.0
            off = triangles - middle[:, None]
            size = np.sqrt(dot(off, off).max(axis=1))
            away = self.distance(middle)
            # The middles are points of them: what cannot come nearer than the nearest of these need not be cut up.
            least, known = away - size, min(known, float(away.min()))
            fine = size <= FINE
            best = min(best, float(least[fine | (least > known)].min(initial=math.inf)))
            triangles = quartered(triangles[~fine & (least <= known) & (least < best)])
        return best

    def from_each(self, faces: Sequence[np.ndarray]) -> list[float]:
        """``from_triangles`` of each of several faces."""
        if self.bend:
            return [self.from_triangles(triangles) for triangles in faces]
        away = triangle_distance.from_line(np.concatenate(faces), self.point, self.axis)
        starts = np.cumsum([0, *(len(triangles) for triangles in faces[:-1])])
        return np.minimum.reduceat(away, starts).tolist()

    def from_chain(self, points: np.ndarray) -> float:
        """Least distance of a smooth curve given by an odd number of points from the center line, less what it is off its chords."""
        sag = curve_points.sag(points)
        if self.bend:
            steps = points[1:] - points[:-1]
            return float(self.distance(points).min()) - 1.5 * sag - float(dot(steps, steps).max(initial=0.0)) / (8.0 * self.radius)
        chords = np.empty((len(points) - 1, 3, 3))
        chords[:, 0], chords[:, 1], chords[:, 2] = points[:-1], points[1:], points[1:]
        return float(triangle_distance.from_line(chords, self.point, self.axis).min()) - 1.5 * sag


def pieces(shape: Any, bores: bool = False) -> tuple[Piece, ...]:
    """Outsides of tubes among the faces of a shape in its own frame; bores: and whatever else is round, such as their bores."""
    found = []
    for number, face in enumerate(shape.Faces):
        surface = face.Surface
        if surface.TypeId not in ROUND:
            continue
        first, last, low, high = face.ParameterRange
        u, v = 0.5 * (first + last), 0.5 * (low + high)
        point, axis = np.array(surface.Center), np.array(surface.Axis)
        at, bend = np.array(surface.value(u, v)), surface.MajorRadius if surface.TypeId == "Part::GeomToroid" else 0.0
        out = at - point - ((at - point) @ axis) * axis
        if bend:
            out = at - point - out / np.linalg.norm(out) * bend
        if bores or np.array(face.normalAt(u, v)) @ out > 0.0:
            found.append(Piece(point, axis, surface.MinorRadius if bend else surface.Radius, bend, number))
    return tuple(found)


def keeps_out(tube: Any, tube_skin: Skin, tube_pieces: Sequence[Piece], other: Any, skin: Skin, placed: Tree, pose: np.ndarray,
              depth: float, ended: bool = False) -> bool:
    """Whether a body is proven to lie nowhere deeper in a tube than so many mm.

    tube, other: shapes in their own frames, with their skins; placed: the other's skin in the tube's frame; pose: (4, 4) from the other's
    frame to the tube's. ended: of a tube that is straight, what lies past its flat ends is out of it too. False: not proven.
    """
    box = placed.box + np.repeat([-1.0, 1.0], 3)
    hulls = tube_skin.hulls
    meets = np.all((hulls[:, :3] <= box[3:]) & (hulls[:, 3:] >= box[:3]), axis=1)
    around = [piece for piece in tube_pieces if meets[piece.face]]
    if not around or not _made_of(tube, tube_skin, around, np.flatnonzero(meets), box):
        return False
    order, starts = skin.by_face
    points = placed.corners[order].reshape(-1, 3)
    ends = _ends(tube, tube_pieces) if ended else None
    if ended and (ends is None or not _reaches_past(points, tube_pieces[0], ends)):
        return False
    # How far each face may stand off its triangles along the tube: a plane square to it nowhere.
    along = skin.widened((pose[:3, :3].T @ tube_pieces[0].axis)[None])[:, 0] if ended else skin.slack
    low, high = np.minimum.reduceat(points, 3 * starts), np.maximum.reduceat(points, 3 * starts)
    middle, reach = 0.5 * (low + high), 0.5 * np.sqrt(np.einsum("fi,fi->f", high - low, high - low)) + skin.slack
    # Nearer than the triangles' corners less their size nothing of them comes.
    near = np.array([piece.distance(middle) - reach <= piece.radius for piece in around])
    chains: dict[tuple[int, int], tuple[Any, float]] = {}
    faces, move = other.Faces, FreeCAD.Placement(FreeCAD.Matrix(*pose.ravel().tolist()))
    for piece, close in zip(around, near):
        numbers = np.flatnonzero(close)
        if not len(numbers):
            continue
        chosen = [placed.corners[skin.of_face(number)] for number in numbers]
        for number, triangles, mesh in zip(numbers.tolist(), chosen, piece.from_each(chosen)):
            slack = float(skin.slack[number])
            if ends is not None and _past_ends(faces[number], triangles, float(along[number]), piece, move, ends):
                continue
            if not _face_keeps_out(faces[number], triangles, mesh, slack, piece, move, depth, chains):
                return False
    return _stands_outside(tube, tube_skin, around, placed.corners.reshape(-1, 3), len(around) == len(tube_pieces))


def is_one_bar(tube: Any, skin: Skin, pieces: Sequence[Piece]) -> bool:
    """Whether a tube is one straight piece, all of it within the piece's radius: then what ``keeps_out`` proves holds for the bar without
    ends, and wherever along it the other body stands."""
    everything = np.array([-np.inf] * 3 + [np.inf] * 3)
    return (len(pieces) == 1 and not pieces[0].bend
            and _made_of(tube, skin, pieces, range(len(skin.hulls)), everything))


def stays_in_bore(tube: Any, piece: Piece, other: Any, skin: Skin, placed: Tree, pose: np.ndarray, depth: float) -> bool:
    """Whether a body is proven to reach no deeper than so many mm into the wall of a straight tube from its bore. What goes farthest from a
    line on a plane face or on one of straight lines is on its edges, since the distance from a line is convex. Else as ``keeps_out``."""
    bore = _bore(tube, piece)
    if bore is None:
        return False
    reach, move = bore + depth, FreeCAD.Placement(FreeCAD.Matrix(*pose.ravel().tolist()))
    order, starts = skin.by_face
    far = np.maximum.reduceat(piece.distance(placed.corners[order].reshape(-1, 3)), 3 * starts)
    if far.max() > reach:
        return False
    faces = other.Faces
    return all(_face_stays_within(faces[number], piece, move, reach) for number in np.flatnonzero(far + skin.slack > reach).tolist())


def _bore(tube: Any, piece: Piece) -> float | None:
    """Radius of the bore of a tube that is nothing but its outside about a piece, its bore and two flat ends; None for others."""
    faces = tube.Faces
    if piece.bend or len(faces) != 4 or _ends(tube, (piece,)) is None:
        return None
    radii = sorted(radius_about(face.Surface, piece) or 0.0 for face in faces if face.Surface.TypeId == "Part::GeomCylinder")
    return radii[0] if len(radii) == 2 and 0.0 < radii[0] < radii[1] else None


def _face_stays_within(face: Any, piece: Piece, move: Any, reach: float) -> bool:
    """Whether a face goes nowhere farther than so many mm from a straight center line."""
    surface = face.Surface
    if (radius := radius_about(surface, piece, move)) is not None:
        return radius <= reach
    if surface.TypeId == "Part::GeomBSplineSurface":
        sides = curve_points.sides_of(face, move)
        chains = () if sides is None else sides
    elif surface.TypeId == "Part::GeomPlane":
        chains = tuple(curve_points.moved(curve_points.along(edge, straight=True), move) for edge in face.Edges if not edge.Degenerated)
    else:
        return False
    return bool(chains) and all(float(piece.distance(points).max()) + 1.5 * curve_points.sag(points) <= reach for points in chains)


def _reaches_past(points: np.ndarray, piece: Piece, ends: tuple[float, float]) -> bool:
    """Whether any of the points lies past an end."""
    stations = (points - piece.point) @ piece.axis
    return bool(stations.min() < ends[0] or stations.max() > ends[1])


def _ends(tube: Any, pieces: Sequence[Piece]) -> tuple[float, float] | None:
    """From where to where along its axis a tube goes that is one straight piece with flat ends, mm from the piece's point; None for
    others."""
    if len(pieces) != 1 or pieces[0].bend:
        return None
    piece, stations = pieces[0], []
    for face in tube.Faces:
        if face.Surface.TypeId == "Part::GeomPlane":
            normal = np.array(face.Surface.Axis)
            if np.linalg.norm(np.cross(normal, piece.axis)) > SAME / 100.0:
                return None
            stations.append(float((np.array(face.Surface.Position) - piece.point) @ piece.axis))
        elif face.Surface.TypeId != "Part::GeomCylinder":
            return None
    return (min(stations), max(stations)) if len(stations) == 2 else None


def _past_ends(face: Any, triangles: np.ndarray, slack: float, piece: Piece, move: Any, ends: tuple[float, float]) -> bool:
    """Whether a face lies wholly past either end of a tube."""
    stations = (triangles.reshape(-1, 3) - piece.point) @ piece.axis
    if stations.min() - slack >= ends[1] - SAME or stations.max() + slack <= ends[0] + SAME:
        return True
    if not (stations.min() + CLEAR >= ends[1] or stations.max() - CLEAR <= ends[0]):
        return False
    sides = curve_points.sides_of(face, move)
    if sides is None:
        return False
    low, high = np.inf, -np.inf
    for points in sides:
        own = (points - piece.point) @ piece.axis
        off = 1.5 * curve_points.sag(own[:, None])
        low, high = min(low, own.min() - off), max(high, own.max() + off)
    return bool(low >= ends[1] - SAME or high <= ends[0] + SAME)


def slid_back(bar: Piece, pose: np.ndarray) -> np.ndarray:
    """A placement (4, 4) in a straight tube's frame, moved along the tube to where its point is beside the tube's."""
    slid = pose.copy()
    slid[:3, 3] -= ((pose[:3, 3] - bar.point) @ bar.axis) * bar.axis
    return slid


def _made_of(tube: Any, skin: Skin, around: Sequence[Piece], faces: Iterable[int], box: np.ndarray) -> bool:
    """Whether all of the tube's surface in a box lies within the pieces."""
    outside = {piece.face for piece in around}
    shapes = tube.Faces
    for number in faces:
        if number in outside:
            continue
        surface = shapes[number].Surface
        about = [(radius_about(surface, piece), piece.radius) for piece in around]
        if any(own is not None and own <= radius + SAME for own, radius in about):
            continue
        corners = skin.corners[skin.of_face(number)]
        near = np.all((corners.min(axis=1) <= box[3:]) & (corners.max(axis=1) >= box[:3]), axis=1)
        points = corners[near].reshape(-1, 3)
        if len(points) and np.min([piece.distance(points) - piece.radius for piece in around], axis=0).max() > 1e-3:
            return False
    return True


def radius_about(surface: Any, piece: Piece, move: Any = None) -> float | None:
    """Radius of a round surface about a piece's center line; None where it is another surface."""
    kind = "Part::GeomToroid" if piece.bend else "Part::GeomCylinder"
    if surface.TypeId != kind:
        return None
    center, axis = surface.Center, surface.Axis
    if move is not None:
        center, axis = move.multVec(center), move.Rotation.multVec(axis)
    off = np.array(center) - piece.point
    if np.linalg.norm(np.cross(np.array(axis), piece.axis)) > SAME / 100.0:
        return None
    if piece.bend:
        return surface.MinorRadius if np.linalg.norm(off) < SAME and abs(surface.MajorRadius - piece.bend) < SAME else None
    return surface.Radius if np.linalg.norm(off - (off @ piece.axis) * piece.axis) < SAME else None


def _face_keeps_out(face: Any, triangles: np.ndarray, mesh: float, slack: float, piece: Piece, move: Any, depth: float,
                    chains: dict[tuple[int, int], tuple[Any, float]]) -> bool:
    """mesh: how near its triangles come to the center line. chains: edges that were looked at, by the host's number and the piece, and how
    near each comes: two faces meet at it."""
    radius = piece.radius - depth
    if mesh - slack >= radius:
        return True
    surface = face.Surface
    about = radius_about(surface, piece, move)
    if about is not None:
        return about >= radius
    if surface.TypeId == "Part::GeomBSplineSurface":
        sides = None if piece.bend else curve_points.sides_of(face, move)
        return sides is not None and _ruled_keeps_out(sides, piece, radius)
    if surface.TypeId == "Part::GeomCylinder":
        if _grid_keeps_out(face, surface, piece, move, radius):
            return True
        nearest = _axes_apart(surface, piece, move)
        if nearest is None:
            return False
        nearest = max(nearest - surface.Radius, 0.0)
    elif surface.TypeId == "Part::GeomPlane":
        if piece.bend and _holds_bend(face, triangles, slack, piece, move, radius):
            return False
        nearest = 0.0
    else:
        return False
    if mesh - slack <= nearest + CLEAR:
        return False
    return all(_edge_from(edge, piece, move, radius, chains) >= radius for edge in face.Edges if not edge.Degenerated)


def _edge_from(edge: Any, piece: Piece, move: Any, wanted: float, chains: dict[tuple[int, int], tuple[Any, float]]) -> float:
    """How near an edge comes to a piece's center line, at the nearest; it is looked at more closely where it may come no nearer than is
    wanted."""
    key = edge.hashCode(), piece.face
    if key not in chains or not chains[key][0].isSame(edge):
        for points in (curve_points.POINTS, curve_points.MORE):
            # Against a bend a straight edge is looked at piece by piece too.
            chain = curve_points.moved(curve_points.along(edge, not piece.bend, points), move)
            chains[key] = edge, piece.from_chain(chain)
            if chains[key][1] >= wanted or piece.distance(chain).min() < wanted:
                break
    return chains[key][1]


def _holds_bend(face: Any, triangles: np.ndarray, slack: float, piece: Piece, move: Any, radius: float) -> bool:
    """Whether a plane face may hold a whole piece of its plane that lies within a radius of the center line of a bend without crossing it:
    then it holds a point over which the center line runs level with the plane."""
    normal = np.array(move.Rotation.multVec(face.normalAt(*face.ParameterRange[::2])))
    level = normal - (normal @ piece.axis) * piece.axis
    size = float(np.linalg.norm(level))
    if size > 1e-6:
        places = piece.point + piece.bend * np.array([level, -level]) / size
    else:
        # The plane is level with the whole bend: such a piece goes all around it.
        first = np.cross(piece.axis, [0.0, 0.0, 1.0] if abs(piece.axis[2]) < 0.5 else [1.0, 0.0, 0.0])
        first /= np.linalg.norm(first)
        second = np.cross(piece.axis, first)
        places = piece.point + piece.bend * np.array([first, second, -first, -second])
    heights = (places - triangles[0, 0]) @ normal
    feet = places - heights[:, None] * normal
    points = triangles.reshape(-1, 3)
    inside = (feet > points.min(axis=0) - slack - CLEAR) & (feet < points.max(axis=0) + slack + CLEAR)
    held = (np.abs(heights) < radius) & inside.all(axis=1)
    return bool(held.any() if size > 1e-6 else held.all())


def _grid_keeps_out(face: Any, surface: Any, piece: Piece, move: Any, radius: float) -> bool:
    """Whether a whole cylindrical patch, uncut, keeps out: a saddle's own bore does."""
    first, last, low, high = face.ParameterRange
    u, v = np.meshgrid(np.linspace(first, last, GRID), np.linspace(low, high, GRID))
    center, axis = np.array(surface.Center), np.array(surface.Axis)
    start = (np.array(surface.value(0.0, 0.0)) - center) / surface.Radius
    side = (np.array(surface.value(0.5 * math.pi, 0.0)) - center) / surface.Radius
    points = center + surface.Radius * (np.cos(u)[..., None] * start + np.sin(u)[..., None] * side) + v[..., None] * axis
    step = math.hypot(surface.Radius * (last - first), high - low) / (GRID - 1)
    off = step * step / 8.0 * (1.0 / surface.Radius + 1.0 / piece.radius)
    return float(piece.distance(curve_points.moved(points.reshape(-1, 3), move)).min()) - off >= radius


def _ruled_keeps_out(sides: tuple[np.ndarray, np.ndarray], piece: Piece, radius: float) -> bool:
    """Whether a face of straight lines keeps out of a straight tube: each of those looked at does, and between two of them the face stands
    no farther off than its sides off their chords, or what is twisted off the plane of both."""
    one, other = sides
    lines = np.stack([one, other, other], axis=1)
    nearest = triangle_distance.from_line(lines, piece.point, piece.axis)
    # Between neighbors: the strip's two triangles, off which a strip that is twisted stands by no more than a quarter of its twist.
    strips = np.concatenate([np.stack([one[:-1], other[:-1], one[1:]], axis=1), np.stack([other[:-1], other[1:], one[1:]], axis=1)])
    twist = np.linalg.norm(one[1:] - one[:-1] - other[1:] + other[:-1], axis=1).max(initial=0.0) / 4.0
    off = 1.5 * max(curve_points.sag(one), curve_points.sag(other)) + twist
    return bool(min(nearest.min(), triangle_distance.from_line(strips, piece.point, piece.axis).min()) - off >= radius)


def _axes_apart(surface: Any, piece: Piece, move: Any) -> float | None:
    """Least distance of a cylinder's axis from a straight center line; of that of a bend None."""
    if piece.bend:
        return None
    off = np.array(move.multVec(surface.Center)) - piece.point
    axis = np.array(move.Rotation.multVec(surface.Axis))
    across = np.cross(axis, piece.axis)
    size = np.linalg.norm(across)
    if size < 1e-6:
        return float(np.linalg.norm(off - (off @ piece.axis) * piece.axis))
    return float(abs(off @ across) / size)


def _stands_outside(tube: Any, skin: Skin, around: Sequence[Piece], points: np.ndarray, whole: bool) -> bool:
    """Whether the corner that stands farthest from the center lines is outside the tube."""
    away = np.min([piece.distance(points) - piece.radius for piece in around], axis=0)
    farthest = int(away.argmax())
    if away[farthest] <= CLEAR:
        return False
    return whole or not material_at(tube, skin, points[farthest], SAME, border=True)


def quartered(triangles: np.ndarray) -> np.ndarray:
    """Triangles (n, 3, 3) cut at the middles of their sides, (4 n, 3, 3)."""
    middles = 0.5 * (triangles + triangles[:, NEXT])
    found = np.empty((4, *triangles.shape))
    for corner in range(3):
        found[corner] = 0.5 * (triangles + triangles[:, corner, None])      # a corner's quarter is the whole, half as large
    found[3] = middles
    return found.reshape(-1, 3, 3)
