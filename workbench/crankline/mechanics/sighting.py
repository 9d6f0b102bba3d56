"""From what a builder writes down (a kind of reading and the names of points) to a function of the powertrain's freedoms, and to what the
same reading would be where it was taken from another face."""
from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np

from . import placement as placing
from .measured_points import POWERTRAIN, REAR_END, MeasuredPoint, Vector, stood
from .pose_fit import Observation, nominal
from .pose_fit import wanted as state_of
from .scene import Scene

KINDS = {"along": "distance along the car from the rear axle centerline", "up": "height", "aside": "distance left of the center plane",
         "distance": "distance between two points", "diagonal": "diagonal between two points",
         "rail_to_plate": "sideways distance from a main rail to a plate", "crank_angle": "angle along the crank, rear high",
         "cross_angle": "angle across the block, left high", "pinion_angle": "pinion angle to the ground, nose low"}
"""Kind of a reading to what it is."""
ANGLES = ("crank_angle", "cross_angle", "pinion_angle")
BETWEEN = ("distance", "diagonal", "rail_to_plate")
"""Kinds that take two points; the others but angles take one."""
DATUMS = ("track", "plate", "rail")
"""What a height is measured from; angles are read by a level that was zeroed on track or plate."""

_LEVELS: dict[str, tuple[tuple[str, Vector], Vector]] = {
    "crank_angle": ((POWERTRAIN, (1.0, 0.0, 0.0)), (0.0, 0.0, -1.0)), "cross_angle": ((POWERTRAIN, (0.0, 1.0, 0.0)), (0.0, 0.0, 1.0)),
    "pinion_angle": ((REAR_END, (1.0, 0.0, 0.0)), (0.0, 0.0, -1.0))}


class SightingError(ValueError):
    """Something that cannot be measured on this car. One sentence."""


@dataclass(frozen=True)
class Sight:
    """What is measured: kind (of ``KINDS``), names of points, and what a height or a level is counted from."""
    kind: str
    points: tuple[str, ...]
    datum: str = "track"


def observation(sight: Sight, points: Mapping[str, MeasuredPoint], scene: Scene, sigma: float) -> Observation:
    """A sight as a function of the freedoms. SightingError where the car has no such point or datum."""
    needed = 0 if sight.kind in ANGLES else 2 if sight.kind in BETWEEN else 1
    if len(sight.points) != needed:
        raise SightingError(f"{len(sight.points)} points were found; {sight.kind} takes {needed}")
    named = [_known(name, points) for name in sight.points]
    if sight.kind in ANGLES:
        return _level(sight, scene, sigma)
    if sight.kind in ("distance", "diagonal"):
        return Observation("distance", sigma, _placed(named[0]), other=_placed(named[1]))
    if sight.kind == "rail_to_plate":
        return _gap(named, scene, sigma)
    if sight.kind == "up":
        return _height(sight, named[0], scene, sigma)
    return Observation("plane", sigma, _placed(named[0]), (1.0, 0.0, 0.0) if sight.kind == "along" else (0.0, 1.0, 0.0))


def mistaken(sight: Sight, points: Mapping[str, MeasuredPoint], scene: Scene, sigma: float) -> list[tuple[str, Observation]]:
    """What the reading is where it was taken from another face, station or datum: (what was done, the reading as it then is)."""
    found = []
    for place, name in enumerate(sight.points):
        for other in points[name].mistaken:
            if other in points:
                changed = replace(sight, points=(*sight.points[:place], other, *sight.points[place + 1:]))
                found.append((f"taken at the {points[other].words}, not the {points[name].words}",
                              observation(changed, points, scene, sigma)))
    if sight.kind == "up":
        for datum in DATUMS:
            if datum != sight.datum:
                try:
                    found.append((f"taken from the {_datum(datum)}, not the {_datum(sight.datum)}",
                                  observation(replace(sight, datum=datum), points, scene, sigma)))
                except SightingError:
                    continue
        if sight.datum == "rail":
            diameter = scene.chassis.rails.section.outer_diameter
            usual = observation(sight, points, scene, sigma)
            found += [(f"taken from the {words} of the main rail, not its top", replace(usual, offset=usual.offset + by))
                      for words, by in (("center", diameter / 2.0), ("bottom", diameter))]
    return found



def _known(name: str, points: Mapping[str, MeasuredPoint]) -> MeasuredPoint:
    if name not in points:
        raise SightingError(f"{name!r} is not a point of this car; one of {', '.join(points)} is allowed")
    return points[name]


def _placed(point: MeasuredPoint) -> tuple[str, Vector]:
    return point.body, point.at


def _level(sight: Sight, scene: Scene, sigma: float) -> Observation:
    body, across = _LEVELS[sight.kind]
    if sight.datum == "rail":
        raise SightingError("an angle from the rail was found; zero the level on track or plate")
    # Rake is about the car's Y, so it does not show across the car.
    offset = _plate(scene)[1] if sight.datum == "plate" and sight.kind != "cross_angle" else 0.0
    return Observation("angle", sigma, body, across, offset=offset)


def _plate(scene: Scene) -> tuple[float, float]:
    plate = scene.chassis.surface_plate
    if plate is None:
        raise SightingError("the car has no surface plate; measure from the track, or give chassis.surface_plate")
    return float(plate.height or 0.0), float(plate.rake or 0.0)


def _height(sight: Sight, point: MeasuredPoint, scene: Scene, sigma: float) -> Observation:
    if sight.datum == "plate":
        frame = placing.plate_frame(*_plate(scene))
        up = frame.rotation[:, 2]
        return Observation("plane", sigma, _placed(point), (float(up[0]), float(up[1]), float(up[2])), offset=-float(up @ frame.origin))
    if sight.datum == "rail":
        rails = scene.chassis.rails
        if rails.height is None:
            raise SightingError("the car gives no height of its rails; measure from the track, or give chassis.rails.height")
        return Observation("plane", sigma, _placed(point), offset=-(rails.height + rails.section.outer_diameter / 2.0))
    return Observation("plane", sigma, _placed(point))


def _gap(named: Sequence[MeasuredPoint], scene: Scene, sigma: float) -> Observation:
    """A gap is read without a sign: it is positive the way that it is wanted."""
    rail, plate = sorted(named, key=lambda point: point.body == POWERTRAIN)
    if rail.body == POWERTRAIN or plate.body != POWERTRAIN:
        raise SightingError("rail_to_plate takes a point of a main rail and one of a plate")
    wanted = stood(plate, scene.engine_frame, scene.engine_frame)[1] - rail.at[1]
    way = -1.0 if wanted < 0.0 else 1.0
    return Observation("plane", sigma, _placed(plate), (0.0, way, 0.0), offset=-way * rail.at[1])


def _datum(datum: str) -> str:
    return {"track": "track", "plate": "surface plate", "rail": "top of the main rail"}[datum]


SETTLING = (("along", ("block_rear",)), ("along", ("mid_plate_front",)), ("along", ("number_one_plug",)), ("up", ("crank_rear",)),
            ("up", ("crank_front",)), ("crank_angle", ()), ("aside", ("crank_rear",)), ("aside", ("crank_front",)), ("cross_angle", ()),
            ("up", ("front_joint",)), ("pinion_angle", ()), ("up", ("rear_joint",)), ("along", ("rear_joint",)), ("aside", ("rear_joint",)),
            ("rail_to_plate", ("rail_left_outside", "mid_plate_left")), ("rail_to_plate", ("rail_right_outside", "mid_plate_right")),
            ("diagonal", ("rail_left_at_axle", "mid_plate_right")), ("diagonal", ("rail_right_at_axle", "mid_plate_left")),
            ("distance", ("front_joint", "rear_joint")))
"""Readings that a builder can always take, the usual ones first: what may be asked for where something is not determined."""


def words(sight: Sight, points: Mapping[str, MeasuredPoint]) -> str:
    """A sight as a builder would ask for it."""
    names = [points[name].words if name in points else name for name in sight.points]
    if sight.kind in ANGLES:
        return KINDS[sight.kind]
    if sight.kind in BETWEEN:
        return f"{'diagonal, ' if sight.kind == 'diagonal' else ''}{names[0]} to {names[1]}"
    if sight.kind == "up":
        return f"{names[0]} above the {_datum(sight.datum)}"
    return f"rear axle centerline to {names[0]}" if sight.kind == "along" else f"center plane to {names[0]}"


def settling(points: Mapping[str, MeasuredPoint], scene: Scene) -> list[tuple[Sight, Observation]]:
    """What of ``SETTLING`` this car has, each with the uncertainty of a usual tool (1/16 in and 0.1 deg within: common practice, no
    source)."""
    found = []
    for kind, names in SETTLING:
        sight = Sight(kind, names)
        if all(name in points for name in names):
            found.append((sight, observation(sight, points, scene, (np.radians(0.1) if kind in ANGLES else 1.6) / 2.0)))
    return found


def wanted(sight: Sight, points: Mapping[str, MeasuredPoint], scene: Scene) -> float:
    """What a reading should be, mm or rad. SightingError as ``observation``."""
    return nominal(observation(sight, points, scene, 1.0), state_of(scene), float(scene.engine.base_drop))
