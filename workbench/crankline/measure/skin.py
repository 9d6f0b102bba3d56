"""A shape's skin as triangles of known deviation: what proves that two bodies keep apart without the host's exact distance. Needs the host.

The host meshes coarsely; corners lie on the surfaces to the last digits. How far a face may stand off its triangles (``slack``) is
not taken from what the mesher was asked for but found here: between the corners of a triangle a surface of second derivatives S_uu,
S_uv, S_vv is off the plane through them by no more than (S_uu u^2 + 2 S_uv u v + S_vv v^2) / 8, u and v being the spans of its
parameters over the triangle (interpolation error; the variance of a parameter is no more than a quarter of the square of its span),
and a face ends no farther off its outer triangles than its edges stand off their chords.
"""
from __future__ import annotations

import math
from collections import OrderedDict
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import Any, Generic, TypeVar

import FreeCAD
import MeshPart
import numpy as np
import Part

from ..mechanics.frames import cross, dot
from . import box_tree, plain_face, ruled_face

DEFLECTION, TURN = 0.5, 0.5
"""mm and rad asked of the mesher; a closed angle is taken from the same triangles."""

ROUNDING = 1e-7
"""mm to which corners lie on their faces."""

SAMPLES = 24
"""Points at which an edge that is neither line nor circle is held against its chords."""

SPARE = 1.25
"""What such an edge is off its chords is told that much larger."""

ON = 1e-5

LEVEL = 1e-9
"""Sine of the angle between an axis and a plane's normal below which the plane is square to the axis."""

BESIDE = 0.05
"""Share of an edge's length by which its ends between two points may stand out of the box of its points."""


TREES, BOXES = 3, 8
"""Rotations of a skin whose tree and whose box are kept: most parts stand along the car's axes or the engine's, wherever they are moved."""

Found = TypeVar("Found")


class _Turned(Generic[Found]):
    """What was made of a skin under the last few rotations. Two that differ by less than corners are off their faces are one."""

    def __init__(self, most: int, make: Callable[[np.ndarray], Found]) -> None:
        self._most, self._make = most, make
        self._known: OrderedDict[bytes, Found] = OrderedDict()

    def of(self, turn: np.ndarray) -> Found:
        """Under a rotation, (3, 3)."""
        key = (turn.round(12) + 0.0).tobytes()
        if key not in self._known:
            self._known[key] = self._make(turn)
            if len(self._known) > self._most:
                self._known.popitem(last=False)
        self._known.move_to_end(key)
        return self._known[key]


@dataclass(frozen=True, eq=False)
class Skin:
    """Triangles of a shape in its own frame, mm. corners: (t, 3, 3); face: number of the face of each, (t,). slack: how far a face
    may stand off its triangles, (f,); inf where that is not known. normals: outward unit normal of each plane face, (f, 3), off whose
    plane it stands nowhere; 0 for other faces. hulls: boxes (f, 6) that hold the faces."""
    corners: np.ndarray
    face: np.ndarray
    slack: np.ndarray
    normals: np.ndarray
    hulls: np.ndarray

    @cached_property
    def tree(self) -> box_tree.Tree:
        """Tree of the triangles in the shape's own frame."""
        return self.placed(np.eye(4))

    def placed(self, pose: np.ndarray) -> box_tree.Tree:
        """Tree of the triangles as they stand in another frame; pose: (4, 4) from the own frame to it."""
        return self.turned(pose[:3, :3]).moved(pose[:3, 3])

    def turned(self, turn: np.ndarray) -> box_tree.Tree:
        """Tree of the triangles along the axes of another frame, (3, 3), about the own origin."""
        return self._turned.of(turn)

    @cached_property
    def _turned(self) -> _Turned[box_tree.Tree]:
        return _Turned(TREES, lambda turn: box_tree.Tree(
            (self.corners.reshape(-1, 3) @ turn.T).reshape(-1, 3, 3), self.face, self.slack[self.face],
            (self.normals @ turn.T)[self.face], self.widened(turn)[self.face]))

    @cached_property
    def box(self) -> np.ndarray:
        """Low and high corner of what holds it all, along the shape's own axes, (6,)."""
        return self.box_along(np.eye(4))

    def box_along(self, pose: np.ndarray) -> np.ndarray:
        """The same in another frame, (6,); pose: (4, 4) from the own frame to it."""
        return self._boxes_turned.of(pose[:3, :3]) + np.concatenate([pose[:3, 3], pose[:3, 3]])

    @cached_property
    def _boxes_turned(self) -> _Turned[np.ndarray]:
        return _Turned(BOXES, self._box_turned)

    def _box_turned(self, turn: np.ndarray) -> np.ndarray:
        (order, starts), reach = self.by_face, self.widened(turn)
        points = self.corners[order].reshape(-1, 3) @ turn.T
        return np.concatenate([(np.minimum.reduceat(points, 3 * starts) - reach).min(axis=0),
                               (np.maximum.reduceat(points, 3 * starts) + reach).max(axis=0)])

    @cached_property
    def boxes(self) -> tuple[np.ndarray, np.ndarray]:
        """Low and high corners of the triangles, each (t, 3)."""
        return self.corners.min(axis=1), self.corners.max(axis=1)

    @cached_property
    def grain(self) -> float:
        """How large its triangles are, mm: the mean of their sides."""
        sides = self.corners - self.corners[:, [1, 2, 0]]
        return float(np.sqrt(np.einsum("tij,tij->ti", sides, sides)).mean())

    @cached_property
    def by_face(self) -> tuple[np.ndarray, np.ndarray]:
        """(numbers of the triangles face by face, (t,); where in them each face begins, (f,))."""
        return np.argsort(self.face, kind="stable"), np.concatenate([[0], np.cumsum(np.bincount(self.face))[:-1]])

    @cached_property
    def balls(self) -> tuple[np.ndarray, np.ndarray]:
        """Middles (f, 3) and radii (f,) of balls that hold the faces."""
        order, starts = self.by_face
        points = self.corners[order].reshape(-1, 3)
        low, high = np.minimum.reduceat(points, 3 * starts), np.maximum.reduceat(points, 3 * starts)
        half = 0.5 * (high - low)
        return 0.5 * (low + high), np.sqrt(dot(half, half)) + self.slack

    def of_face(self, number: int) -> np.ndarray:
        """Numbers of the triangles of a face."""
        order, starts = self.by_face
        return order[starts[number]:starts[number + 1] if number + 1 < len(starts) else len(order)]

    def lowest(self, axis: np.ndarray) -> np.ndarray:
        """From where on each face reaches along a unit axis of the own frame, at most so far, mm, (f,): by its triangles and by its box."""
        order, starts = self.by_face
        by_corners = np.minimum.reduceat((self.corners[order] @ axis).min(axis=1), starts) - self.widened(axis[None])[:, 0]
        return np.maximum(by_corners, np.where(axis > 0.0, self.hulls[:, :3], self.hulls[:, 3:]) @ axis)

    def widened(self, axes: np.ndarray) -> np.ndarray:
        """Slack of each face along unit axes (k, 3), (f, k)."""
        across = np.sqrt(np.maximum(1.0 - (self.normals @ axes.T) ** 2, 0.0))
        return np.where(across < LEVEL, 0.0, self.slack[:, None] * np.maximum(across, LEVEL)) + ROUNDING


def of(shape: Any) -> Skin | None:
    """The skin of a shape that has no mesh and stands at the origin; None where the host makes none of it."""
    try:
        faces = shape.Faces
        plain = [_plain_face(face, face.Surface) for face in faces]
        others = [face for face, made in zip(faces, plain) if made is None]
        if others:
            # Boxes depend on the mesh that a shape has, so that a copy is meshed. ``tessellate`` sets no angular limit of its own and takes
            # twenty times as long on tori; it takes over the mesh that is there.
            meshed = (shape if len(others) == len(faces) else Part.Compound(others)).copy(True, False)
            MeshPart.meshFromShape(Shape=meshed, LinearDeflection=DEFLECTION, AngularDeflection=TURN)
            others = meshed.Faces
        sampled: dict[int, np.ndarray] = {}
        left = iter(others)
        rows = [_face(next(left), sampled) if made is None else made for made in plain]
    except (RuntimeError, ValueError):
        return None
    if not rows or any(len(row[0]) == 0 for row in rows):
        return None
    corners, face = np.concatenate([row[0] for row in rows]), np.repeat(np.arange(len(rows)), [len(row[0]) for row in rows])
    inward = _inward(corners, face, faces, [number for number, made in enumerate(plain) if made is not None],
                     np.array([row[2] for row in rows]))[face]
    corners[inward] = corners[inward, ::-1]
    along = box_tree.order(corners)
    return Skin(corners[along], face[along],
                np.array([row[1] for row in rows]), np.array([row[2] for row in rows]), np.array([row[3] for row in rows]))


def _plain_face(face: Any, surface: Any) -> tuple[np.ndarray, float, np.ndarray, tuple] | None:
    """What ``_face`` tells of a face for which no mesher is needed; None of any other."""
    made, ruled = plain_face.triangles(face, surface), False
    if made is None:
        made, ruled = ruled_face.triangles(face, surface, DEFLECTION), True
    if made is None:
        return None
    triangles, slack = made
    box, normal = face.BoundBox, np.zeros(3)
    if surface.TypeId == "Part::GeomPlane" or _level(surface):
        normal = np.array(tuple(face.normalAt(*face.ParameterRange[::2])))
        slack = 0.0 if ruled else slack
    return triangles, slack, normal, (box.XMin, box.YMin, box.ZMin, box.XMax, box.YMax, box.ZMax)


def _inward(corners: np.ndarray, face: np.ndarray, faces: Sequence[Any], asked: Sequence[int], normals: np.ndarray) -> np.ndarray:
    """Of which faces the triangles, all of which turn one way, turn as they do seen from inside, (f,). asked: numbers of the faces that may
    be such; normals: of the plane ones, (f, 3), else 0."""
    turned, starts = cross(corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0]), np.searchsorted(face, np.arange(len(faces)))
    plane = normals.any(axis=1)
    found = (np.add.reduceat(dot(turned, normals[face]), starts) < 0.0) & plane
    round_ = [number for number in asked if not plane[number]]
    if round_:
        places, outward = np.zeros((len(faces), 3)), np.zeros((len(faces), 3))
        for number in round_:
            low_u, high_u, low_v, high_v = faces[number].ParameterRange
            middle = 0.5 * (low_u + high_u), 0.5 * (low_v + high_v)
            places[number], outward[number] = tuple(faces[number].valueAt(*middle)), tuple(faces[number].normalAt(*middle))
        # The triangle at the middle of a face tells; of those without an area none does.
        off = corners.sum(axis=1) - 3.0 * places[face]
        off = np.where(dot(turned, turned) < TINY, np.inf, dot(off, off))
        nearest = np.flatnonzero(off == np.minimum.reduceat(off, starts)[face])
        nearest = nearest[np.searchsorted(face[nearest], round_)]
        found[round_] = dot(turned[nearest], outward[round_]) < 0.0
    mine = np.zeros(len(faces), dtype=bool)
    mine[list(asked)] = True
    return found & mine


def _face(face: Any, sampled: dict[int, np.ndarray]) -> tuple[np.ndarray, float, np.ndarray, tuple]:
    points, triangles = face.tessellate(DEFLECTION)
    nodes = np.array([tuple(p) for p in points]).reshape(-1, 3)
    numbers = np.array(triangles, dtype=int).reshape(-1, 3)
    box, surface = face.BoundBox, face.Surface
    hull = (box.XMin, box.YMin, box.ZMin, box.XMax, box.YMax, box.ZMax)
    normal, slack = np.zeros(3), 0.0
    if surface.TypeId == "Part::GeomPlane" or _level(surface):
        normal = np.array(tuple(face.normalAt(*face.ParameterRange[::2])))
    else:
        slack = _interior(surface, nodes, numbers)
    return nodes[numbers], slack + _rim(face, surface, nodes, numbers, sampled), normal, hull


# --- between the corners of a triangle ----------------------------------------------------------------------------------


def _interior(surface: Any, nodes: np.ndarray, numbers: np.ndarray) -> float:
    kind = surface.TypeId
    if kind == "Part::GeomBSplineSurface":
        return _ruled(surface, nodes, numbers)
    if kind not in ("Part::GeomCylinder", "Part::GeomCone", "Part::GeomToroid"):
        return math.inf
    # Any two directions square to the axis and to each other will do.
    frame = np.array(FreeCAD.Rotation(FreeCAD.Vector(0.0, 0.0, 1.0), surface.Axis).toMatrix().A).reshape(4, 4)[:3, :3]
    off = nodes - np.array(surface.Apex if kind == "Part::GeomCone" else surface.Center)
    x, y, along = (off @ frame).T
    radius = np.hypot(x, y)
    u = _span(np.arctan2(y, x)[numbers])
    if kind == "Part::GeomCylinder":
        return float((surface.Radius * u * u).max() / 8.0)
    if kind == "Part::GeomCone":
        # Along a side of the cone its radius changes by the sine of its half angle.
        side = _ptp(np.hypot(radius, along)[numbers])
        return float((radius[numbers].max(axis=1) * u * u + 2.0 * abs(math.sin(surface.SemiAngle)) * u * side).max() / 8.0)
    major, minor = surface.MajorRadius, surface.MinorRadius
    v = _span(np.arctan2(along, radius - major)[numbers])
    return float(((major + minor) * u * u + 2.0 * minor * u * v + minor * v * v).max() / 8.0)


def _span(angles: np.ndarray) -> np.ndarray:
    """Span of three angles, the short way around, (t,)."""
    return _ptp((angles - angles[:, :1] + math.pi) % (2.0 * math.pi) - math.pi)


def _ptp(values: np.ndarray) -> np.ndarray:
    """Largest less smallest of three values, (t,) of (t, 3)."""
    first, second, third = values.T
    return np.maximum(np.maximum(first, second), third) - np.minimum(np.minimum(first, second), third)


def _level(surface: Any) -> bool:
    """Whether a surface of splines is a plane, as the flat sides of bent sheet are."""
    if surface.TypeId != "Part::GeomBSplineSurface" or surface.UDegree != 1 or surface.VDegree != 1:
        return False
    poles = np.array([tuple(pole) for row in surface.getPoles() for pole in row])
    if len(poles) == 4:
        first, second, third = poles[1:] - poles[0]
        normal = cross(first, second)
        size = math.sqrt(float(normal @ normal))
        if size > ROUNDING:
            # Of four corners one stands off the plane of the others by twice what all do off the plane between them, or more.
            return bool(abs(float(third @ normal)) < ROUNDING * size)
    return bool(np.linalg.svd(poles - poles.mean(axis=0))[1][-1] < ROUNDING)


def _ruled(surface: Any, nodes: np.ndarray, numbers: np.ndarray) -> float:
    """A surface of splines that is straight one way, as bent sheet is; others are not known."""
    poles = ruled_face.poles_of(surface)
    if poles is None:
        return math.inf
    bend, twist = ruled_face.bend_and_twist(poles)
    if not bend:
        return 2.0 * twist / 8.0
    # Which of the straight lines a corner lies on, to within one of them.
    away = _from_sides(nodes, ruled_face.points_at(poles, RULES), each=True)
    u = np.ptp(away.argmin(axis=1)[numbers], axis=1) / (RULES - 1) + 2.0 / (RULES - 1)
    return float((bend * u * u + 2.0 * twist * u).max() / 8.0)


TINY = 1e-12
"""mm4, the square of twice an area, below which a triangle has none."""

RULES = 257
"""Straight lines of a ruled surface that its corners are held against."""


# --- at the edges of a face ----------------------------------------------------------------------------------------------


def _rim(face: Any, surface: Any, nodes: np.ndarray, numbers: np.ndarray, sampled: dict[int, np.ndarray]) -> float:
    """How far the face's edges stand off the outer sides of its triangles; sampled: points of edges by their host numbers."""
    worst, sides = 0.0, None
    for edge in face.Edges:
        if edge.Degenerated:
            continue
        curve = edge.Curve
        kind = curve.TypeId
        if kind == "Part::GeomLine" or (kind == "Part::GeomCircle" and _plain(curve, surface)):
            continue
        if kind == "Part::GeomBSplineCurve" and curve.NbPoles == 2:
            continue        # a straight line
        found = _arc(edge, curve, nodes) if kind == "Part::GeomCircle" else None
        if found is None:
            if sides is None:
                sides = _outer_sides(nodes, numbers)
            if not len(sides):
                continue        # a surface that closes on itself ends nowhere
            number = edge.hashCode()
            if number not in sampled:       # two faces meet at it
                first, last = edge.ParameterRange
                sampled[number] = np.array([tuple(curve.value(at)) for at in np.linspace(first, last, SAMPLES).tolist()])
            points = sampled[number]
            found = SPARE * float(_from_sides(points, _about(points, sides)).max())
        worst = max(worst, found)
    return worst


def _arc(edge: Any, curve: Any, nodes: np.ndarray) -> float | None:
    """How far an arc stands off the chords between the corners on it; None where its ends are no corners."""
    off = nodes - np.array(curve.Center)
    axis = np.array(curve.Axis)
    along = off @ axis
    on = off[(np.abs(along) < ON) & (np.abs(np.linalg.norm(off, axis=1) - curve.Radius) < ON)]
    first, last = edge.ParameterRange
    start = np.array(curve.value(first) - curve.Center)
    turn = np.arctan2(on @ np.array(curve.Axis.cross(curve.value(first) - curve.Center)), on @ start) % (2.0 * math.pi)
    turn = np.where(turn > 2.0 * math.pi - 1e-6, 0.0, turn)
    sweep = last - first
    whole = sweep > 2.0 * math.pi - 1e-6
    turn = np.sort(turn[turn < sweep + 1e-6])
    if len(turn) == 0 or turn[0] > 1e-6 or (not whole and turn[-1] < sweep - 1e-6):
        return None
    steps = np.diff(np.append(turn, 2.0 * math.pi) if whole else turn)
    return float(curve.Radius * (1.0 - math.cos(0.5 * min(float(steps.max(initial=0.0)), 2.0 * math.pi))))


def _plain(curve: Any, surface: Any) -> bool:
    """Whether a circle is followed by the sides of triangles as the round surface is: it runs around the axis, or across a bent tube."""
    if surface.TypeId == "Part::GeomToroid":
        if abs(curve.Radius - surface.MinorRadius) < ON and abs((curve.Center - surface.Center).Length - surface.MajorRadius) < ON:
            return True
    elif surface.TypeId not in ("Part::GeomCylinder", "Part::GeomCone"):
        return False
    center = surface.Apex if surface.TypeId == "Part::GeomCone" else surface.Center
    return curve.Axis.cross(surface.Axis).Length < 1e-9 and (curve.Center - center).cross(surface.Axis).Length < ON


def _outer_sides(nodes: np.ndarray, numbers: np.ndarray) -> np.ndarray:
    """Sides that belong to one triangle only, (n, 2, 3)."""
    pairs = np.concatenate([numbers[:, [i, (i + 1) % 3]] for i in range(3)])
    _keys, first, count = np.unique(pairs.min(axis=1) * len(nodes) + pairs.max(axis=1), return_index=True, return_counts=True)
    return nodes[pairs[first[count == 1]]]


def _about(points: np.ndarray, sides: np.ndarray) -> np.ndarray:
    """Those of the sides that stand in the box of an edge's points: its own chords, and few others. All of them where there are none."""
    low, high = points.min(axis=0), points.max(axis=0)
    room = BESIDE * (high - low).max()
    inside = ((sides >= low - room) & (sides <= high + room)).all(axis=(1, 2))
    return sides[inside] if inside.any() else sides


def _from_sides(points: np.ndarray, sides: np.ndarray, each: bool = False) -> np.ndarray:
    """Distance of points (n, 3) from the nearest of sides (m, 2, 3), or from each of them."""
    start, step = sides[:, 0], sides[:, 1] - sides[:, 0]
    length = np.einsum("mi,mi->m", step, step)
    off = points[:, None] - start[None]
    share = np.einsum("nmi,mi->nm", off, step) / np.where(length > 0.0, length, 1.0)
    np.minimum(np.maximum(share, 0.0, out=share), 1.0, out=share)
    off -= share[..., None] * step
    away = np.einsum("nmi,nmi->nm", off, off)
    return np.sqrt(away if each else away.min(axis=1))
