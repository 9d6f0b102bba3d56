"""Faces between lines and arcs of circles that can be cut into triangles without the mesher: convex plane faces, and what straight lines
from one arc to another about the same direction make, as sides of round bars, cones, rings and the bends of sheet. Needs the host.

All triangles of a face between two such arcs lie in pieces of plane: lines between two that are parallel, so a face stands off them by no
more than the arcs stand off their chords (a circle off a chord over an angle t: r (1 - cos t/2)). Of two arcs of one face the larger
one says into how many chords both are cut.
"""
from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Any

import numpy as np

from ..mechanics.frames import cross

SAME = 1e-7
"""mm within which two points are one; share of the radius within which directions of two arcs are one."""

SAG = 0.25
"""mm that an arc may stand off its chords."""

TURN = 0.25
"""rad that a chord spans at most."""

ALONG = 1e-12
"""By which the cosine of two directions may differ from 1 for them to be one: an angle of 1e-6."""

STRAIGHT = ("Part::GeomLine", "Part::GeomLineSegment")
SPLINES = ("Part::GeomBSplineCurve", "Part::GeomBezierCurve")


@dataclass(frozen=True, eq=False)
class Arc:
    """An arc of a circle: its center, from there to its start and to what is a quarter turn on, mm, and what it spans, rad."""
    center: np.ndarray
    start: np.ndarray
    quarter: np.ndarray
    radius: float
    span: float

    @property
    def whole(self) -> bool:
        """Whether it is a whole circle."""
        return self.span > 2.0 * math.pi - 1e-9

    @property
    def steps(self) -> int:
        """Chords that it is cut into."""
        return _steps(self.radius, self.span)

    @property
    def off(self) -> float:
        """How far it stands off them, mm."""
        return self.radius * (1.0 - math.cos(0.5 * self.span / self.steps))

    def points(self, steps: int) -> np.ndarray:
        """Points from start to end, (steps + 1, 3)."""
        at = np.arange(steps + 1)[:, None] * (self.span / steps)
        return self.center + np.cos(at) * self.start + np.sin(at) * self.quarter

    def reversed(self) -> Arc:
        """The same from its end."""
        c, s = math.cos(self.span), math.sin(self.span)
        return Arc(self.center, c * self.start + s * self.quarter, s * self.start - c * self.quarter, self.radius, self.span)


def _steps(radius: float, span: float) -> int:
    chord = min(TURN, 2.0 * math.acos(max(1.0 - SAG / radius, -1.0))) if radius > 0.0 else TURN
    return max(2, math.ceil(span / chord - 1e-9))


def arc_of(edge: Any, curve: Any) -> Arc:
    """The arc that an edge on a circle is."""
    (first, last), center = edge.ParameterRange, curve.Center
    start = curve.value(first) - center
    return Arc(np.array(tuple(center)), np.array(tuple(start)), np.array(tuple(curve.Axis.cross(start))), curve.Radius, last - first)


def triangles(face: Any, surface: Any) -> tuple[np.ndarray, float] | None:
    """(triangles (t, 3, 3), how far the face may stand off them, mm) of such a face; None of any other."""
    kind = surface.TypeId
    if kind not in ("Part::GeomPlane", "Part::GeomCylinder", "Part::GeomCone", "Part::GeomBSplineSurface"):
        return None
    wires, arcs, lines = len(face.Wires), [], []
    for edge in face.Edges:
        if edge.Degenerated:
            return None
        curve = edge.Curve
        if curve.TypeId == "Part::GeomCircle":
            arcs.append(arc_of(edge, curve))
        elif curve.TypeId in STRAIGHT or (curve.TypeId in SPLINES and curve.NbPoles == 2):
            lines.append(edge)
        else:
            return None
    plane = kind == "Part::GeomPlane"
    if len(arcs) == 2 and (wires, len(lines)) in (((2, 0), (1, 2)) if plane else ((1, 1), (1, 2))):
        found = _between(arcs[0], arcs[1], kind, surface, len(lines))
        if found is not None:
            return found
    return _convex(face, arcs, lines) if plane and wires == 1 else None


def _between(one: Arc, other: Arc, kind: str, surface: Any, lines: int) -> tuple[np.ndarray, float] | None:
    """Triangles between two arcs; lines: how many straight edges the face has beside them."""
    if one.radius < other.radius:
        one, other = other, one
    axis = cross(one.start, one.quarter) / one.radius ** 2
    along = float(axis @ cross(other.start, other.quarter)) / other.radius ** 2
    if abs(abs(along) - 1.0) > ALONG or abs(one.span - other.span) > 1e-9 or one.whole != (lines < 2):
        return None
    aside = cross(other.center - one.center, axis)
    if kind == "Part::GeomBSplineSurface":
        if not even(surface, one, other):
            return None
    elif math.sqrt(float(aside @ aside)) > SAME:
        return None
    if one.whole:
        # The same directions from either center, wherever the host lets a circle begin.
        share = other.radius / one.radius
        other = Arc(other.center, share * one.start, share * one.quarter, other.radius, one.span)
    elif along < 0.0:
        other = other.reversed()
    if np.abs(one.start / one.radius - other.start / other.radius).max() > SAME:
        return None
    steps = one.steps
    first, second = one.points(steps), other.points(steps)
    made = np.empty((2, steps, 3, 3))
    made[0, :, 0], made[0, :, 1], made[0, :, 2] = first[:-1], first[1:], second[:-1]
    made[1, :, 0], made[1, :, 1], made[1, :, 2] = second[:-1], first[1:], second[1:]
    return made.reshape(-1, 3, 3), one.off


def even(surface: Any, one: Arc, other: Arc) -> bool:
    """Whether a surface of splines runs straight from one arc to the other, between points in the same directions from their centers: its
    sides have the same weights, and poles that stand alike."""
    if surface.VDegree != 1 or surface.NbVPoles != 2:
        return False
    weights = np.array(surface.getWeights())
    if np.abs(weights[:, 0] - weights[:, 1]).max() > SAME:
        return False
    poles = np.array([[tuple(pole) for pole in row] for row in surface.getPoles()])
    return any(np.abs((poles[:, 0] - a.center) / a.radius - (poles[:, 1] - b.center) / b.radius).max() < SAME
               for a, b in ((one, other), (other, one)))


def _convex(face: Any, arcs: list[Arc], lines: list[Any]) -> tuple[np.ndarray, float] | None:
    """A fan over a plane face without holes; None where it is not convex."""
    points = np.concatenate([*(arc.points(arc.steps) for arc in arcs),
                             np.array([tuple(vertex.Point) for edge in lines for vertex in edge.Vertexes]).reshape(-1, 3)])
    middle = points.mean(axis=0)
    off = points - middle
    normal = np.array(tuple(face.normalAt(*face.ParameterRange[::2])))
    across = off[int(np.einsum("ni,ni->n", off, off).argmax())]
    turn = np.arctan2(off @ cross(normal, across), off @ across)
    ring = points[np.argsort(turn, kind="stable")]
    step = ring[np.arange(1, len(ring) + 1) % len(ring)] - ring
    ring = ring[np.einsum("ni,ni->n", step, step) > SAME ** 2]
    if len(ring) < 3:
        return None
    next_, before = ring[np.arange(1, len(ring) + 1) % len(ring)], np.arange(-1, len(ring) - 1)
    step = next_ - ring
    # Around once, and never to the right. Corners of a convex outline in any order but this one would cross themselves: whatever joins
    # them, this is the face.
    if (cross(ring - middle, next_ - middle) @ normal).min() < SAME or (cross(step[before], step) @ normal).min() < -SAME:
        return None
    # From side to side: a fan's triangles would all be as long as the face.
    order = np.empty(len(ring), dtype=int)
    order[::2], order[1::2] = np.arange((len(ring) + 1) // 2), np.arange(len(ring) - 1, (len(ring) - 1) // 2, -1)
    made = ring[np.stack([order[1:-1], order[:-2], order[2:]], axis=1)]
    made[1::2] = made[1::2, [1, 0, 2]]
    return made, max((arc.off for arc in arcs), default=0.0)
