"""Support tube across the top of the mid plate, coped to the uprights it meets. Engine frame, mm.

It is square to the crank like the plate; the uprights are not, so its ends are cut where its centerline reaches the plane
of each upright. Where the uprights stand too far ahead of or behind it, it ends square in that plane and ``meets`` says so.
"""
from __future__ import annotations

import numpy as np

from .. import model
from ..mechanics.chassis import upright_station
from ..mechanics.frames import as_point
from ..mechanics.scene import Scene
from ..record import filled
from . import piece, tube

VERSION = tube.VERSION
Spec = tube.Spec
build = tube.build
SIDES = (-1.0, 1.0)


def spec(support: model.SupportTube, scene: Scene) -> Spec:
    """From records; ValueError where no uprights are described."""
    support = filled(support)
    chassis = scene.chassis
    if chassis.uprights is None or chassis.uprights.half_spacing is None:
        raise ValueError("chassis.uprights.half_spacing is missing, so the support tube has no ends; give it, or leave out "
                         "mounts.support_tube")
    x = -(scene.stack.total + support.behind_plate)
    middle = scene.engine_point(x, 0.0, support.above_crank)
    across = scene.engine_frame.rotation[:, 1]
    reach = [(side * chassis.uprights.half_spacing - middle[1]) / across[1] for side in SIDES]
    section = support.section
    headers = tuple(upright_header(scene, side) for side in SIDES if meets(support, scene, side))
    start, end = ((x, float(value), support.above_crank) for value in reach)
    return Spec(start, end, section.outer_diameter, section.wall, headers)


def meets(support: model.SupportTube, scene: Scene, side: float) -> bool:
    """Whether the tube reaches the upright of one side (+1 left, -1 right): their circles overlap in side view."""
    chassis = scene.chassis
    station = upright_station(chassis)
    if station is None:
        return False
    touching = (support.section.outer_diameter + chassis.uprights.section.outer_diameter) / 2
    return abs(_end(support, scene, side)[0] - station) < touching - 1.0


def _end(support: model.SupportTube, scene: Scene, side: float) -> np.ndarray:
    """Where the centerline reaches the plane of an upright, car frame."""
    middle = scene.engine_point(-(scene.stack.total + support.behind_plate), 0.0, support.above_crank)
    across = scene.engine_frame.rotation[:, 1]
    return middle + across * ((side * scene.chassis.uprights.half_spacing - middle[1]) / across[1])


def upright_header(scene: Scene, side: float) -> tube.Header:
    """The upright of one side as something to cope to, near the crank's height, engine frame."""
    uprights = scene.chassis.uprights
    foot = np.array([upright_station(scene.chassis), side * uprights.half_spacing, scene.engine_frame.origin[2] + 300.0])
    point = scene.engine_frame.to_local(foot)
    direction = scene.engine_frame.directions_to_local(np.array([0.0, 0.0, 1.0]))
    return tube.Header(as_point(point), as_point(direction), uprights.section.outer_diameter)


def pieces(spec: Spec) -> tuple[piece.Piece, ...]:
    """One tube, each end coped to the upright that it meets."""
    return (piece.coped("tube", spec),)
