"""Figures of a placement: joint angles, shaft, slip, balance, room. Each is an array over placements; mm, rad, rad/s, g and shares."""
from __future__ import annotations

import itertools
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass

import numpy as np

from .. import model
from ..checks.placements import Placements
from ..checks.quantities import pans
from ..mechanics import car_balance, shaft
from ..mechanics.chassis import cross_member_station, upright_station
from ..mechanics.scene import Scene
from ..mechanics.suspension import InstantCentre
from ..rules.quantity import NotEvaluated


@dataclass(frozen=True)
class Figure:
    """name: in tables; label: for people; kind: of its unit (``units.UNITS``), or ``share``, ``g``, ``percent``."""
    name: str
    label: str
    kind: str


FIGURES = (
    Figure("pitch", "Crank pitch", "angle"),
    *(Figure(f"{which}_{pose}", f"{label}, {pose}", "angle") for pose, (which, label) in itertools.product(
        ("static", "launch"), (("front_joint", "Front joint angle"), ("rear_joint", "Rear joint angle"),
                               ("residual", "Uncancelled joint angle")))),
    Figure("shaft_length", "U-joint center to center", "length"),
    Figure("critical_speed", "Critical speed of the tube", "turning"),
    Figure("plunge_in", "Slip goes in by", "length"),
    Figure("plunge_out", "Slip comes out by", "length"),
    Figure("front_share", "Weight on the front wheels", "share"),
    Figure("cg_height", "Center of gravity above the track", "length"),
    Figure("wheelstand", "Acceleration that lifts the front wheels", "g"),
    Figure("wheelstand_margin", "Wheelstand margin at launch", "g"),
    Figure("anti_squat", "Anti-squat", "percent"),
    Figure("oil_pan_to_track", "Oil pan above the track", "length"),
    Figure("transmission_pan_to_track", "Transmission pan above the track", "length"),
    Figure("firewall_room", "Mid plate ahead of the firewall line", "length"),
    Figure("rail_tab_room", "Rail tabs to nearest tube on rail", "length"),
    Figure("cross_member_room", "Transmission pan to the cross member", "length"),
)
"""Every figure, in the order of tables."""

BY_NAME = {one.name: one for one in FIGURES}


def of(at: Placements, centre: InstantCentre | None) -> dict[str, np.ndarray]:
    """The figures that this car has, by name; centre: instant center of its rear suspension."""
    shape = at.scene.driveline.length.shape
    found: dict[str, np.ndarray] = {}
    for source in (_driveline, _slip, lambda at: _balance(at, centre), _room):
        try:
            found.update(source(at))
        except (NotEvaluated, ValueError):
            continue    # a car that lacks what they follow from has none of these figures
    return {name: np.broadcast_to(np.asarray(found[name], dtype=float), shape) for name in BY_NAME if name in found}


def _driveline(at: Placements) -> Iterator[tuple[str, np.ndarray]]:
    yield "pitch", np.asarray(at.scene.pitch)
    for name in ("static", "launch"):
        pose = at.poses.get(name)
        if pose is not None:
            yield f"front_joint_{name}", np.asarray(pose.front_joint)
            yield f"rear_joint_{name}", np.asarray(pose.rear_joint)
            yield f"residual_{name}", np.asarray(pose.residual)
    yield "shaft_length", at.scene.driveline.length
    tube = at.car.driveshaft
    if tube is not None:
        yield "critical_speed", shaft.critical_speed(tube.outer_diameter, tube.wall, at.scene.driveline.length, tube.axial_modulus,
                                                     tube.density)


def _slip(at: Placements) -> Mapping[str, np.ndarray]:
    exposed, slip = at.scene.transmission.slip_exposed, at.slip
    return {"plunge_in": exposed - slip["furthest_in"].exposure, "plunge_out": slip["furthest_out"].exposure - exposed}


def _balance(at: Placements, centre: InstantCentre | None) -> Mapping[str, np.ndarray]:
    found = car_balance.of(at.car, at.scene, centre)
    told = {"front_share": found.front_share, "cg_height": found.cg[..., 2], "wheelstand": found.wheelstand,
            "wheelstand_margin": found.wheelstand_margin}
    return told if found.anti_squat is None else {**told, "anti_squat": 100.0 * found.anti_squat}


def _room(at: Placements) -> Iterator[tuple[str, np.ndarray]]:
    car, scene = at.car, at.scene
    for name, label in (("oil_pan", "oil_pan_to_track"), ("transmission_pan", "transmission_pan_to_track")):
        yield from _read(at, label, pans.heights, {"of": name, "zone": "all"})
    if scene.chassis.firewall is not None and car.plates.mid is not None:
        yield "firewall_room", scene.engine_point(-scene.stack.total)[..., 0] - scene.chassis.firewall.x
    if car.plates.mid is not None and car.mounts.rail_tabs is not None:
        yield "rail_tab_room", rail_tab_room(car, scene)
    yield from _read(at, "cross_member_room", pans.gap_in_plan, {})


def _read(at: Placements, name: str, reads: Callable, settings: dict) -> Iterator[tuple[str, np.ndarray]]:
    try:
        at.settings = settings
        for reading in reads(at):
            yield name, reading.value
    except NotEvaluated:
        return


def rail_tab_room(car: model.Car, scene: Scene) -> np.ndarray:
    """Along the car, at the height of the main rails, from the tabs on both sides of the mid plate to the nearest tube that stands on a
    rail (upright, footwell tube, cross members, of their outside diameter) or to the rail's end; negative: they meet. mm, (...)."""
    rails, tabs = scene.chassis.rails, car.mounts.rail_tabs
    height = 0.0 if rails.height is None else rails.height
    up = scene.engine_frame.rotation[..., :, 2]

    def station(x: float) -> np.ndarray:
        point = scene.engine_point(x)
        return point[..., 0] + up[..., 0] * (height - point[..., 2]) / up[..., 2]

    # Tabs lie on the plate's faces.
    front, rear = station(-scene.stack.protector + tabs.thickness), station(-scene.stack.total - tabs.thickness)
    room = np.full(np.shape(front), np.inf)
    for middle, half in _on_the_rails(car, scene):
        room = np.minimum(room, np.maximum(middle - half - front, rear - (middle + half)))
    for end, sign in ((rails.x_front, 1.0), (rails.x_rear, -1.0)):
        if end is not None:
            room = np.minimum(room, sign * (end - (front if sign > 0.0 else rear)))
    return np.where(np.isfinite(room), room, np.nan)


def _on_the_rails(car: model.Car, scene: Scene) -> Iterator[tuple[float, float]]:
    """Station and half width of every tube that ends on a main rail."""
    chassis = scene.chassis
    station = upright_station(chassis)
    if chassis.uprights is not None and station is not None:
        yield station, 0.5 * chassis.uprights.section.outer_diameter
    for tube in (chassis.footwell_tube, chassis.rear_cross_member):
        if tube is not None and tube.x is not None:
            yield tube.x, 0.5 * tube.section.outer_diameter
    member = car.mounts.cross_member
    if member is not None and member.reference == "chassis_x":
        yield cross_member_station(member, chassis), 0.5 * member.section.outer_diameter
