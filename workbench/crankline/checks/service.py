"""Service paths of a car: what is taken out, what is out of the way, and along which steps. Needs the host.

Transmission: jack under it, driveshaft out, tail bolts and cross bolt out, mount folded flat on the cross member, split loops
open. Then straight back along the crank by the travel that frees dowels and pilot, then down. Driveshaft: the slip yoke's
engaged spline is drawn out rearward, through enclosure and fixed loops. Engine with its plates: up in the plane of the plates, which
is square to the crank and the way that a plate slides out of its tabs; or straight up, which a leaning plate cannot go far.
"""
from __future__ import annotations

from dataclasses import dataclass
from typing import Mapping

import numpy as np

from .. import model
from ..features.base import host_placement
from ..geometry import transmission_mount
from ..mechanics.scene import Scene
from ..record import filled
from . import clearance, sweep
from .clearance import Body, Cache
from .sweep import Path, Step

INCH = 25.4

PATHS = ("transmission", "driveshaft", "engine", "engine_with_transmission", "engine_straight_up")

LIFT = 15.0 * INCH
"""Straight lift over which the engine's way is followed (common practice: 12 to 15 in clear over the block, no source)."""

UNDER = 1.0 * INCH
"""The transmission is out when its top is this far below the underside of the lowest rail."""

_OPENED = ("split_loop", "shaft_envelope", "driveshaft")
"""Kinds that are opened or removed, or are no body."""

_ENGINE = ("engine", "protector", "mid_plate", "front_plate")
_MOVING = {"transmission": ("transmission",), "driveshaft": ("driveshaft",), "engine": _ENGINE, "engine_straight_up": _ENGINE,
           "engine_with_transmission": (*_ENGINE, "transmission")}
_GONE = {"transmission": _OPENED, "driveshaft": ("split_loop", "shaft_envelope"), "engine": (*_OPENED, "transmission"),
         "engine_straight_up": (*_OPENED, "transmission"), "engine_with_transmission": _OPENED}


@dataclass(frozen=True)
class Setup:
    """What moves, what stays and along which steps."""
    name: str
    moving: tuple[Body, ...]
    staying: tuple[Body, ...]
    steps: tuple[Step, ...]


class NoPath(ValueError):
    """The car has nothing to take out this way. One sentence."""


def run(name: str, bodies: Mapping[str, tuple[str, Body]], scene: Scene, car: model.Car, cache: Cache | None = None,
        resolution: float = sweep.RESOLUTION) -> Path:
    """One of ``PATHS`` for a car; bodies: key to (kind, body in the car frame). NoPath where nothing is there to move."""
    found = setup(name, bodies, scene, car)
    return sweep.sweep(found.moving, found.staying, found.steps, cache, resolution)


def setup(name: str, bodies: Mapping[str, tuple[str, Body]], scene: Scene, car: model.Car) -> Setup:
    """What moves, what stays, and the steps."""
    if name not in PATHS:
        raise ValueError(f"service path: {name!r} was found; one of {', '.join(PATHS)} is allowed")
    moving, gone = _MOVING[name], _GONE[name]
    if moving[0] not in bodies:
        raise NoPath(f"the car has no {moving[0]} to take out")
    bodies = dict(bodies) if name == "driveshaft" else _folded(bodies, scene, car)
    moved = tuple(bodies[key][1] for key in moving if key in bodies)
    stays = tuple(body for key, (kind, body) in sorted(bodies.items()) if key not in moving and kind not in gone)
    if name == "driveshaft":
        steps = _withdraw(scene)
    elif name == "transmission":
        steps = _back_and_down(moved[0], scene)
    else:
        up = (0.0, 0.0, 1.0) if name == "engine_straight_up" else tuple(map(float, scene.engine_frame.rotation[:, 2]))
        steps = (Step("straight up" if name == "engine_straight_up" else "up along the plates", up, LIFT),)
    return Setup(name, moved, stays, steps)


def _withdraw(scene: Scene) -> tuple[Step, ...]:
    rearward = -(scene.front_joint - scene.rear_joint) / scene.driveline.length
    return (Step("withdraw the slip yoke", tuple(map(float, rearward)), scene.transmission.spline_engaged),)


def _back_and_down(transmission: Body, scene: Scene) -> tuple[Step, ...]:
    back = scene.transmission.disengage_travel
    axis = scene.engine_frame.axis
    top = float(clearance.box_of(transmission.shape)[5]) - back * float(axis[2])
    rails = scene.chassis.rails
    under = (rails.height or 0.0) - rails.section.outer_diameter / 2
    return (Step("straight back", tuple(float(-value) for value in axis), back),
            Step("down", (0.0, 0.0, -1.0), max(top - under + UNDER, 0.0)))


def _folded(bodies: Mapping[str, tuple[str, Body]], scene: Scene, car: model.Car) -> dict:
    """The bodies with the transmission mount lying on the cross member."""
    mounts = filled(car).mounts
    if "transmission_mount" not in bodies or mounts.transmission is None or mounts.cross_member is None:
        return dict(bodies)
    kind, body = bodies["transmission_mount"]
    spec = transmission_mount.spec(mounts.transmission, mounts.cross_member, scene)
    shape = body.shape.copy(True, False)
    shape.Placement = host_placement(scene.engine_frame).multiply(transmission_mount.folded(spec))
    return {**bodies, "transmission_mount": (kind, Body(body.key, shape, f"folded:{body.mark}" if body.mark else ""))}


# --- figures that need no sweep ---------------------------------------------------------------------------------------


def pan_rear_edge(scene: Scene) -> np.ndarray:
    """Middle of the lower rear edge of the transmission pan, (3,) car frame, mm: it is the rearmost, because the pan leans with
    the crank. ValueError without a pan."""
    pan = scene.transmission.pan
    if pan is None:
        raise ValueError("transmission.pan is not given")
    return scene.engine_point(-(scene.stack.total + pan.from_bell_rear), 0.0, -pan.below_axis)


def plan_gap(scene: Scene, member: model.CrossMember) -> float:
    """Along the car, from the pan's rear edge to the front of the transmission cross member, mm: closed form, for a member that
    is straight behind the pan; negative where they overlap in plan."""
    from ..geometry import cross_member
    return float(pan_rear_edge(scene)[0]) - (cross_member.station(member, scene.chassis) + member.section.outer_diameter / 2)
