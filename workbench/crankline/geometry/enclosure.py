"""Enclosure tube around the front of the driveshaft. Frame: origin in the center of its rear end, x forward along its axis."""
from __future__ import annotations

from dataclasses import dataclass
from typing import TypeAlias

import numpy as np

from .. import model
from ..host import FreeCAD, Part
from ..mechanics import frames
from ..mechanics.scene import Scene, shaft_frame
from ..units import INCH, sized
from . import piece, tube

VERSION = 1
Vector: TypeAlias = FreeCAD.Vector
REACH = INCH
"""A loop carries the enclosure when it stands between its ends, or no more than 1 in beyond one of them (common practice, no source)."""


@dataclass(frozen=True)
class Spec:
    """Length along the axis, outside diameter and wall, mm."""
    length: float
    outer_diameter: float
    wall: float


@dataclass(frozen=True)
class Measured:
    """What was found on a shape, mm."""
    length: float
    outer_diameter: float
    wall: float


def supporting(enclosure: model.Enclosure, loops: tuple[model.Loop, ...]) -> tuple[model.Loop | None, model.Loop | None]:
    """The loops that carry its front and its rear; None where the tail carries it or no loop is there."""
    near = [loop for loop in loops if enclosure.x_rear - REACH <= loop.x <= enclosure.x_front + REACH]

    def nearest(support: str | None, x: float) -> model.Loop | None:
        return min(near, key=lambda loop: abs(loop.x - x), default=None) if support in (None, "loop") else None
    return nearest(enclosure.front_support, enclosure.x_front), nearest(enclosure.rear_support, enclosure.x_rear)


def axis_points(enclosure: model.Enclosure, scene: Scene, loops: tuple[model.Loop, ...]) -> tuple[np.ndarray, np.ndarray]:
    """Centres of the rear and front end, (3,) each, mm in the car frame.

    The axis passes through the centers of what carries it: a loop's center, or the output axis at ``x_front`` where the
    transmission's tail carries the front. With fewer than two different supports it follows the driveshaft.
    """
    if enclosure.x_front - enclosure.x_rear < 1.0:
        raise ValueError(f"containment.enclosure.x_front: {sized(enclosure.x_front, 2)} is not ahead of x_rear at "
                         f"{sized(enclosure.x_rear, 2)}; give a front end farther forward")
    front, rear = supporting(enclosure, loops)
    ahead = None
    if enclosure.front_support == "transmission_tail":
        axis, origin = scene.engine_frame.axis, scene.engine_frame.origin
        ahead = origin + axis * ((enclosure.x_front - origin[0]) / axis[0])
    elif front is not None:
        ahead = scene.loop_center(front)
    behind = scene.loop_center(rear) if rear is not None else None
    if ahead is None or behind is None or ahead[0] - behind[0] < REACH:
        return scene.shaft_at(enclosure.x_rear), scene.shaft_at(enclosure.x_front)
    span = ahead - behind
    return tuple(behind + span * ((x - behind[0]) / span[0]) for x in (enclosure.x_rear, enclosure.x_front))


def frame(enclosure: model.Enclosure, scene: Scene, loops: tuple[model.Loop, ...]) -> frames.Frame:
    """Where the enclosure stands in the car."""
    return shaft_frame(*axis_points(enclosure, scene, loops))


def spec(enclosure: model.Enclosure, scene: Scene, loops: tuple[model.Loop, ...]) -> Spec:
    """From records."""
    rear, front = axis_points(enclosure, scene, loops)
    tube.check_section(enclosure.outer_diameter, enclosure.wall, "containment.enclosure.wall")
    return Spec(float(np.linalg.norm(front - rear)), enclosure.outer_diameter, enclosure.wall)


def build(spec: Spec) -> Part.Solid:
    """One solid."""
    return tube.straight(Vector(0, 0, 0), Vector(spec.length, 0, 0), spec.outer_diameter, spec.wall)


def closed_volume(spec: Spec) -> float:
    """Volume of what ``build`` makes, mm3."""
    return tube.volume(spec.outer_diameter, spec.wall, spec.length)


def measure(shape: Part.Shape) -> Measured:
    """Length, diameter and wall found on a shape, wherever it stands: from its cylinders of largest area."""
    cylinders = [face for face in shape.Faces if face.Surface.TypeId == "Part::GeomCylinder"]
    if not cylinders:
        raise ValueError("the enclosure has no cylindrical face to measure; rebuild it, or measure it by hand")
    outer = max(cylinders, key=lambda face: face.Surface.Radius)
    axis = outer.Surface.Axis
    same = [face.Surface.Radius for face in cylinders
            if abs(abs(face.Surface.Axis.dot(axis)) - 1.0) < 1e-9
            and (face.Surface.Center - outer.Surface.Center).cross(axis).Length < 1e-6]
    along = [vertex.Point.dot(axis) for vertex in outer.Vertexes]
    return Measured(max(along) - min(along), 2 * outer.Surface.Radius, max(same) - min(same))


def pieces(spec: Spec) -> tuple[piece.Piece, ...]:
    """One tube with square ends."""
    return (piece.straight("tube", spec.outer_diameter, spec.wall, (0.0, 0.0, 0.0), (spec.length, 0.0, 0.0)),)
