"""Whether what is fitted to a tube keeps out of it, from the tube's center lines and radii: coped tubes, tabs, saddles. Needs the host.

Where a tube stands, what it is made of lies within its radius of its center lines (straight pieces, arcs of bends). Of the other body
no surface may lie deeper in that than allowed. On a plane or a cylinder what lies deeper is cut off by edges of the face, or holds a whole
piece of the surface together with the point that comes nearest to the center line; so a face keeps out if its edges do and the triangles
of its skin stay well away from that point. Surfaces that keep out of each other leave two bodies apart or one inside the other; a corner
that stands outside decides. What this cannot tell is left to the host's intersection.
"""
from __future__ import annotations

import itertools
import math
from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import Any

import numpy as np

from ..mechanics.frames import cross, dot
from . import curve_points, ruled_face, triangle_distance, tube_edges
from .skin import Skin
from .surface import material_at
from .tube_piece import SAME, Piece, radius_about

CLEAR = 0.1
"""mm by which a face must stay away from where it would come nearest to a center line."""

WITHIN = 1e-3
"""mm by which corners of a tube's own surface may stand out of it."""

COARSE, GRID = 5, 41
"""Points along each way of a round face: a few, which mostly show that it does not keep out, and all."""

LINES = 33, 65, 129, 257
"""Straight lines that a face is taken for that is bent or twisted between two sides: so many that it stands off the strips between them by
no more than half of what it may go deep, or as many as there are."""

EVERYWHERE = np.array([-np.inf, -np.inf, -np.inf, np.inf, np.inf, np.inf])

OUT = np.array([-1.0, -1.0, -1.0, 1.0, 1.0, 1.0])
"""mm by which a body's box is taken larger."""

SOME = 64
"""Corners of which one is likely to stand outside of a tube."""


@dataclass(frozen=True, eq=False)
class Tube:
    """A body as the tube that it may be, in its own frame: its shape, its skin, and what is round about it."""
    shape: Any
    skin: Skin
    rounds: tuple[Piece, ...]

    @cached_property
    def pieces(self) -> tuple[Piece, ...]:
        """Outsides of tubes."""
        return tuple(piece for piece in self.rounds if piece.outside)

    @cached_property
    def within(self) -> np.ndarray:
        """Which round faces lie wholly within which pieces, about the same line, (faces, pieces)."""
        found = np.zeros((len(self.skin.hulls), len(self.pieces)), dtype=bool)
        if not self.pieces:
            return found
        (points, axes, radii, bends), (own_points, own_axes, own_radii, own_bends) = (
            map(np.array, zip(*((piece.point, piece.axis, piece.radius, piece.bend) for piece in some)))
            for some in (self.pieces, self.rounds))
        lean, off = cross(own_axes[:, None], axes[None]), own_points[:, None] - points[None]
        aside = off - np.where(bends > 0.0, 0.0, dot(off, axes[None]))[..., None] * axes[None]
        found[[piece.face for piece in self.rounds]] = (
            (dot(lean, lean) <= (SAME / 100.0) ** 2) & (dot(aside, aside) < SAME ** 2) & (np.abs(own_bends[:, None] - bends) < SAME)
            & (own_radii[:, None] <= radii + SAME))
        return found

    def made_of(self, around: Sequence[Piece], box: np.ndarray) -> bool:
        """Whether all of its surface that is in a box lies within some of its pieces."""
        low, high = self.skin.boxes
        held = self.within[:, [piece in around for piece in self.pieces]].any(axis=1)
        near = np.all((low <= box[3:]) & (high >= box[:3]), axis=1) & ~held[self.skin.face]
        if not near.any():
            return True
        corners = self.skin.corners[near]
        out = [piece.distance(corners) - piece.radius for piece in around]
        return bool(np.min(out, axis=0).max() <= WITHIN)

    @cached_property
    def one_bar(self) -> bool:
        """Whether it is one straight piece, all of it within the piece's radius: then what ``keeps_out`` proves holds for the bar without
        ends, and wherever along it the other body stands."""
        return len(self.pieces) == 1 and not self.pieces[0].bend and self.made_of(self.pieces, EVERYWHERE)

    @cached_property
    def ends(self) -> tuple[float, float] | None:
        """From where to where along its axis a tube goes that is one straight piece with flat ends, mm from the piece's point; None for
        others."""
        if len(self.pieces) != 1 or self.pieces[0].bend:
            return None
        piece, stations = self.pieces[0], []
        for face in self.shape.Faces:
            surface = face.Surface
            if surface.TypeId == "Part::GeomPlane":
                lean = cross(np.array(surface.Axis), piece.axis)
                if lean @ lean > (SAME / 100.0) ** 2:
                    return None
                stations.append(float((np.array(surface.Position) - piece.point) @ piece.axis))
            elif surface.TypeId != "Part::GeomCylinder":
                return None
        return (min(stations), max(stations)) if len(stations) == 2 else None

    @cached_property
    def bore(self) -> float | None:
        """Radius of the bore of a tube that is nothing but its outside, its bore and two flat ends; None for others."""
        if len(self.skin.hulls) != 4 or self.ends is None or len(self.rounds) != 2 or not self.one_bar:
            return None
        radii = sorted(piece.radius for piece in self.rounds)
        return radii[0] if 0.0 < radii[0] < radii[1] else None


@dataclass(frozen=True, eq=False)
class Other:
    """A body that may be fitted to a tube: its shape and its skin in its own frame; pose: (4, 4) from that to the tube's frame."""
    shape: Any
    skin: Skin
    pose: np.ndarray

    def moved(self, points: np.ndarray) -> np.ndarray:
        """Points (..., 3) of the own frame in the tube's."""
        return points @ self.pose[:3, :3].T + self.pose[:3, 3]

    def corners_of(self, faces: np.ndarray) -> list[np.ndarray]:
        """Corners of the triangles of each of some faces in the tube's frame, (t, 3, 3)."""
        chosen = [self.skin.of_face(number) for number in faces]
        corners, ends = self.moved(self.skin.corners[np.concatenate(chosen)]), list(itertools.accumulate(map(len, chosen), initial=0))
        return [corners[first:last] for first, last in itertools.pairwise(ends)]

    def along(self, piece: Piece) -> np.ndarray:
        """Where its triangles begin and end along a piece's axis, mm from the piece's point, (t, 2)."""
        stations = self.skin.corners @ (self.pose[:3, :3].T @ piece.axis) + (self.pose[:3, 3] - piece.point) @ piece.axis
        return np.stack([stations.min(axis=1), stations.max(axis=1)], axis=1)


def keeps_out(tube: Tube, other: Other, depth: float, ended: bool = False) -> bool:
    """Whether a body is proven to lie nowhere deeper in a tube than so many mm. ended: of a tube that is straight, what lies past its flat
    ends is out of it too. False: not proven."""
    skin, hulls, box = other.skin, tube.skin.hulls, other.skin.box_along(other.pose) + OUT
    meets = np.all((hulls[:, :3] <= box[3:]) & (hulls[:, 3:] >= box[:3]), axis=1)
    around = [piece for piece in tube.pieces if meets[piece.face]]
    if not around or not tube.made_of(around, box):
        return False
    past = np.zeros(len(skin.slack), dtype=bool)
    doubtful = past
    if ended:
        if tube.ends is None:
            return False
        past, doubtful = _past_ends(other, tube.pieces[0], tube.ends)
        if not doubtful.any():
            return False
    (middles, sizes), faces = skin.balls, other.shape.Faces
    middles = other.moved(middles)
    for piece in around:
        # Nearer than the balls that hold the faces nothing of these comes.
        numbers = np.flatnonzero((piece.distance(middles) - sizes <= piece.radius) & ~past)
        if not len(numbers):
            continue
        radius, edges = piece.radius - depth, list[Any]()
        corners = other.corners_of(numbers)
        left = np.flatnonzero(~piece.kept_off(corners, radius + skin.slack[numbers]))
        clear = piece.kept_off([corners[i] for i in left], skin.slack[numbers[left]] + CLEAR) if len(left) else left
        for i, off_line in zip(left, clear):
            face = faces[numbers[i]]
            if doubtful[numbers[i]] and tube.ends is not None and _ruled_past_ends(face, other, piece, tube.ends):
                continue
            verdict = _face_keeps_out(face, corners[i], float(skin.slack[numbers[i]]), other.pose, piece, radius, bool(off_line))
            if verdict is False:
                return False
            edges += face.Edges if verdict is None else ()
        if edges and not tube_edges.keep_off(tube_edges.once(edges), other.pose, piece, radius):
            return False
    return _stands_outside(tube, around, other)


def stays_in_bore(tube: Tube, other: Other, depth: float) -> bool:
    """Whether a body is proven to reach no deeper than so many mm into the wall of a straight tube from its bore. What goes farthest from a
    line on a plane face or on one of straight lines is on its edges, since the distance from a line is convex. Else as ``keeps_out``."""
    if tube.bore is None:
        return False
    piece, reach, skin = tube.pieces[0], tube.bore + depth, other.skin
    order, starts = skin.by_face
    far = np.maximum.reduceat(piece.distance(other.moved(skin.corners[order].reshape(-1, 3))), 3 * starts)
    if far.max() > reach:
        return False
    faces = other.shape.Faces
    return all(_face_stays_within(faces[number], piece, other.pose, reach) for number in np.flatnonzero(far + skin.slack > reach).tolist())


def _face_stays_within(face: Any, piece: Piece, pose: np.ndarray, reach: float) -> bool:
    """Whether a face goes nowhere farther than so many mm from a straight center line."""
    surface = face.Surface
    if (radius := radius_about(surface, piece, pose)) is not None:
        return radius <= reach
    chains: list[np.ndarray] = []
    if surface.TypeId == "Part::GeomBSplineSurface":
        poles = ruled_face.poles_of(surface)
        chains = [] if poles is None else list(ruled_face.points_at(poles, LINES[-1]).swapaxes(0, 1))
    elif surface.TypeId == "Part::GeomPlane":
        chains = [curve_points.along(edge, edge.Curve, curve_points.FEW) for edge in face.Edges if not edge.Degenerated]
    return bool(chains) and all(
        float(piece.distance(points @ pose[:3, :3].T + pose[:3, 3]).max()) + 1.5 * float(curve_points.sag(points)) <= reach
        for points in chains)


def _past_ends(other: Other, piece: Piece, ends: tuple[float, float]) -> tuple[np.ndarray, np.ndarray]:
    """Which faces lie wholly past either end of a tube, and which reach past one and may do so, (f,) each."""
    skin, along = other.skin, other.along(piece)
    order, starts = skin.by_face
    low, high = np.minimum.reduceat(along[order, 0], starts), np.maximum.reduceat(along[order, 1], starts)
    # How far each may stand off its triangles along the tube: a plane square to it nowhere.
    slack = skin.widened((other.pose[:3, :3].T @ piece.axis)[None])[:, 0]
    past = (low - slack >= ends[1] - SAME) | (high + slack <= ends[0] + SAME)
    return past, past | (low + CLEAR >= ends[1]) | (high - CLEAR <= ends[0])


def _ruled_past_ends(face: Any, other: Other, piece: Piece, ends: tuple[float, float]) -> bool:
    """Whether a face of straight lines lies wholly past either end of a tube."""
    poles = ruled_face.poles_of(face.Surface)
    if poles is None:
        return False
    own = (other.moved(ruled_face.points_at(poles, LINES[-1])) - piece.point) @ piece.axis
    off = ruled_face.bend_and_twist(poles)[0] / (8.0 * (LINES[-1] - 1) ** 2)
    return bool(own.min() - off >= ends[1] - SAME or own.max() + off <= ends[0] + SAME)


def slid_back(bar: Piece, pose: np.ndarray) -> np.ndarray:
    """A placement (4, 4) in a straight tube's frame, moved along the tube to where its point is beside the tube's."""
    slid = pose.copy()
    slid[:3, 3] -= ((pose[:3, 3] - bar.point) @ bar.axis) * bar.axis
    return slid


def _face_keeps_out(face: Any, triangles: np.ndarray, slack: float, pose: np.ndarray, piece: Piece, radius: float,
                    clear: bool) -> bool | None:
    """Whether a face, the triangles of which do not show it, keeps so far from a center line, mm; None: if its edges do. clear: whether it
    stays away from the center line itself."""
    surface = face.Surface
    about = radius_about(surface, piece, pose)
    if about is not None:
        return bool(about >= radius)
    if surface.TypeId == "Part::GeomBSplineSurface":
        return _ruled_keeps_out(surface, pose, piece, radius)
    if surface.TypeId == "Part::GeomCylinder":
        if _grid_keeps_out(face, surface, pose, piece, radius):
            return True
        if piece.bend:
            return False
        nearest = _axes_apart(surface, pose, piece) - surface.Radius
        clear = clear and (nearest <= 0.0 or bool(piece.kept_off([triangles], np.array([slack + nearest + CLEAR]))[0]))
    elif surface.TypeId != "Part::GeomPlane" or (piece.bend and _holds_bend(face, triangles, slack, pose, piece, radius)):
        return False
    return None if clear else False


def _holds_bend(face: Any, triangles: np.ndarray, slack: float, pose: np.ndarray, piece: Piece, radius: float) -> bool:
    """Whether a plane face may hold a whole piece of its plane that lies within a radius of the center line of a bend without crossing it:
    then it holds a point over which the center line runs level with the plane."""
    normal = pose[:3, :3] @ np.array(face.normalAt(*face.ParameterRange[::2]))
    level = normal - (normal @ piece.axis) * piece.axis
    size = math.sqrt(float(level @ level))
    # A plane that is level with the whole bend holds such a piece that goes all around it.
    ways = np.array([level, -level]) / size if size > 1e-6 else np.concatenate([piece.across, -piece.across])
    places = piece.point + piece.bend * ways
    heights = (places - triangles[0, 0]) @ normal
    feet = places - heights[:, None] * normal
    points = triangles.reshape(-1, 3)
    inside = (feet > points.min(axis=0) - slack - CLEAR) & (feet < points.max(axis=0) + slack + CLEAR)
    held = (np.abs(heights) < radius) & inside.all(axis=1)
    return bool(held.any() if size > 1e-6 else held.all())


def _grid_keeps_out(face: Any, surface: Any, pose: np.ndarray, piece: Piece, radius: float) -> bool:
    """Whether a whole cylindrical patch, uncut, keeps out: a saddle's own bore does."""
    first, last, low, high = face.ParameterRange
    center, axis = np.array(surface.Center), np.array(surface.Axis)
    start, side = (np.array(surface.value(at, 0.0)) - center for at in (0.0, 0.5 * math.pi))
    nearest = -math.inf
    for count in (COARSE, GRID):
        turn, along = np.linspace(first, last, count)[:, None, None], np.linspace(low, high, count)[:, None]
        points = center + np.cos(turn) * start + np.sin(turn) * side + along * axis
        nearest = float(piece.distance(points @ pose[:3, :3].T + pose[:3, 3]).min())
        if nearest < radius:
            return False
    step = math.hypot(surface.Radius * (last - first), high - low) / (GRID - 1)
    return nearest - step * step / 8.0 * (1.0 / surface.Radius + 1.0 / piece.radius) >= radius


def _ruled_keeps_out(surface: Any, pose: np.ndarray, piece: Piece, radius: float) -> bool:
    """Whether a face of straight lines keeps out of a straight tube: the strips of two triangles between some of them do. Over a strip of
    the width h of the parameter the face stands off by no more than the second derivatives along the sides and the mixed one allow: h^2/8
    of that and h/4 of this."""
    poles = None if piece.bend else ruled_face.poles_of(surface)
    if poles is None:
        return False
    bend, twist = ruled_face.bend_and_twist(poles)
    offs = [(bend / (2.0 * (count - 1)) + twist) / (4.0 * (count - 1)) for count in LINES]
    count, off = next(((count, off) for count, off in zip(LINES, offs) if off <= 0.5 * (piece.radius - radius)), (LINES[-1], offs[-1]))
    one, other = ruled_face.points_at(poles @ pose[:3, :3].T + pose[:3, 3], count).swapaxes(0, 1)
    strips = np.concatenate([np.stack([one[:-1], other[:-1], one[1:]], axis=1), np.stack([other[:-1], other[1:], one[1:]], axis=1)])
    return float(triangle_distance.from_line(strips, piece.point, piece.axis).min()) - off >= radius


def _axes_apart(surface: Any, pose: np.ndarray, piece: Piece) -> float:
    """Least distance of a cylinder's axis from a straight center line."""
    off = pose[:3, :3] @ np.array(surface.Center) + pose[:3, 3] - piece.point
    across = cross(pose[:3, :3] @ np.array(surface.Axis), piece.axis)
    size = math.sqrt(float(across @ across))
    if size < 1e-6:
        off = off - (off @ piece.axis) * piece.axis
        return math.sqrt(float(off @ off))
    return abs(float(off @ across)) / size


def _stands_outside(tube: Tube, around: Sequence[Piece], other: Other) -> bool:
    """Whether a corner that stands far from the center lines is outside the tube."""
    corners = other.skin.corners.reshape(-1, 3)
    for some in (corners[::max(len(corners) // SOME, 1)], corners):
        points = other.moved(some)
        away = np.min([piece.distance(points) - piece.radius for piece in around], axis=0)
        farthest = int(away.argmax())
        if away[farthest] > CLEAR:
            return len(around) == len(tube.pieces) or not material_at(tube.shape, tube.skin, points[farthest], SAME, border=True)
    return False
