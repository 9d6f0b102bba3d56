"""What the general drawings dimension: points of the model by name, with the coordinates that are written of each. Pure.

Coordinates are from datums: A, the rear axle centerline (X, forward); B, the track (Z, up); C, the center plane (Y, to the left); and in
the plane of a plate from the crank axis. None is from an edge, and none is read off a picture.
"""
from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from types import MappingProxyType
from typing import Any

import numpy as np

from .. import model
from ..features.registry import declaration
from ..geometry import chassis_tube, frame_tube
from ..geometry import enclosure as enclosures
from ..geometry.outline import Circle, Flat
from ..geometry.piece import Piece, Sheet
from ..record import filled
from ..snapshot import Snapshot
from .side_items import items_of

DATUMS = ("A: rear axle centerline, X forward", "B: track, Z up", "C: center plane, Y to the left")
SAME = 0.005
"""Places of one name whose coordinate differs by less are one, mm: half of the last digit that is written."""

ALONG = 0.8
"""Least share along the car of a unit vector along a tube that runs along it (common practice, no source)."""


@dataclass(frozen=True)
class Place:
    """One dimension. value: the coordinate, mm; point: where it is in the car, mm; key: part that it is of, "" of none."""
    name: str
    value: float
    point: tuple[float, float, float]
    key: str = ""


def stations(snapshot: Snapshot) -> list[Place]:
    """X of what the side view lists, from datum A; not of a panel that is trimmed to what it meets, which the model has no number of."""
    return [Place(item.name, item.x_text, (item.x_text, 0.0, item.z)) for item in items_of(snapshot)
            if item.x_text is not None and item.name != "Firewall"]


def heights(snapshot: Snapshot) -> list[Place]:
    """Z of what the side view lists, and of the crank at both faces of the block, from datum B."""
    scene = snapshot.placed
    found = [Place(item.name, item.z_text, (item.x, 0.0, item.z_text)) for item in items_of(snapshot) if item.z_text is not None]
    for name, along in (("Crank, rear face of block", 0.0), ("Crank, front face of block", float(scene.block.length))):
        x, y, z = scene.engine_point(along).tolist()
        found.append(Place(name, z, (x, y, z)))
    return found


def across(snapshot: Snapshot, marks: Mapping[str, str] = MappingProxyType({})) -> list[Place]:
    """Y from datum C of what lies along the car: rails and what is beside them, crank, joints, loops, and what is around the driveshaft.
    marks: by key of part."""
    scene, car = snapshot.placed, filled(snapshot.car)
    found = [*_rails(snapshot)]
    for name, point in (("Crank, rear face of block", scene.engine_point(0.0)), ("Front joint", scene.front_joint),
                        ("Rear joint", scene.rear_joint)):
        found.append(_aside(name, point))
    found += [_aside(f"Loop {loop.name}, center", scene.loop_center(loop), f"loop/{loop.name}") for loop in _loops(snapshot)]
    uprights = car.chassis.uprights
    if uprights is not None and uprights.half_spacing is not None and uprights.x is not None:
        found += [_aside(f"Upright, {side}", (uprights.x, way * uprights.half_spacing, 0.0), f"upright/{side}") for side, way in SIDES]
    return [*found, *_edges(snapshot, marks)]


EDGED = "tunnel", "firewall", "enclosure_mount"
"""Kinds of parts of which both edges across the car are told."""


def _edges(snapshot: Snapshot, marks: Mapping[str, str]) -> Iterator[Place]:
    """Both edges across the car of what is told by them: where the solid ends. Parts of a name are told apart by their marks."""
    for part in snapshot.parts:
        if part.kind in EDGED and part.shape is not None and not part.shape.isNull():
            box = part.shape.copy(True, False).optimalBoundingBox(False)
            label = f"{declaration(part.kind, part.key).label} {marks.get(part.key, '')}".rstrip()
            for side, y in (("left", box.YMax), ("right", box.YMin)):
                yield _aside(f"{label}, {side} edge", (box.Center.x, y, box.Center.z), part.key)


SIDES = (("left", 1.0), ("right", -1.0))


def _rails(snapshot: Snapshot, x: float | None = None) -> Iterator[Place]:
    rails = snapshot.placed.chassis.rails
    if rails.half_spacing is not None:
        station = rails.x_rear if x is None else x
        for side, way in SIDES:
            yield _aside(f"Main rail, {side}", (station or 0.0, way * rails.half_spacing, rails.height or 0.0), f"rail/{side}")


def _aside(name: str, point: Sequence[float] | np.ndarray, key: str = "") -> Place:
    x, y, z = (float(v) for v in point)
    return Place(name, y, (x, y, z), key)


def _loops(snapshot: Snapshot) -> tuple[model.Loop, ...]:
    given = filled(snapshot.car.containment).loops if snapshot.car.containment else ()
    return tuple(loop for loop in given if snapshot.part(f"loop/{loop.name}") is not None)


# ---------------------------------------------------------------------------------------- in the plane of a plate

def of_plate(snapshot: Snapshot, pieces: Mapping[str, Sequence[Piece]], keys: Sequence[str]) -> tuple[list[Place], list[Place]]:
    """Y from datum C, and heights from the crank axis square to it: edges of the first of these plates, bolts of the others.

    keys: of plates and of what clamps or carries them; their first flat lies in their own frame as the part does, y left, z up."""
    axis = snapshot.placed.engine_frame
    part, flat = snapshot.part(keys[0]), _flat(pieces.get(keys[0], ()))
    if part is None or flat is None:
        return [], []
    low_y, low_z, high_y, high_z = flat.bounds
    on_axis = axis.to_car([float(axis.to_local(_in_car(part, 0.0, 0.0))[0]), 0.0, 0.0])
    points = [(name, key, _in_car(snapshot.part(key), hole.y, hole.z)) for name, key, hole in _bolts(snapshot, pieces, keys[1:])]
    beside = [*_rails(snapshot, float(on_axis[0])), _aside("Crank axis", on_axis),
              _aside("Plate, left edge", _in_car(part, high_y, 0.0), part.key),
              _aside("Plate, right edge", _in_car(part, low_y, 0.0), part.key),
              *(_aside(name, point, key) for name, key, point in points)]
    edges = [("Plate, top edge", part.key, _in_car(part, 0.0, high_z)), ("Plate, bottom edge", part.key, _in_car(part, 0.0, low_z))]
    tube = snapshot.part("support_tube")
    given = filled(snapshot.car.mounts).support_tube if snapshot.car.mounts else None
    if part.kind == "mid_plate" and tube is not None and given is not None:
        middle = axis.to_car([-snapshot.placed.stack.total - given.behind_plate, 0.0, given.above_crank])
        edges.append(("Support tube", tube.key, tuple(middle.tolist())))
    above = [Place(name, float(axis.to_local(point)[2]), point, key) for name, key, point in (*edges, *points)]
    return single(beside), single(above)


def _bolts(snapshot: Snapshot, pieces: Mapping[str, Sequence[Piece]], keys: Sequence[str]) -> Iterator[tuple[str, str, Circle]]:
    """Round holes of the plates of these keys, and what they are called."""
    for key in keys:
        part, flat = snapshot.part(key), _flat(pieces.get(key, ()))
        if part is not None and flat is not None:
            yield from ((f"Bolt, {declaration(part.kind, key).label.lower()}", key, hole) for hole in flat.holes)


def _flat(given: Sequence[Piece]) -> Flat | None:
    return next((piece.flat for piece in given if isinstance(piece, Sheet)), None)


def _in_car(part: Any, y: float, z: float) -> tuple[float, float, float]:
    """A point of a plate's flat in the car."""
    matrix = np.array(part.shape.Placement.toMatrix().A, float).reshape(4, 4)
    x, y, z, _one = (matrix @ (0.0, y, z, 1.0)).tolist()
    return x, y, z


# --------------------------------------------------------------------------------------- square to the car, at a station

def around_shaft(snapshot: Snapshot, x: float, name: str, center: np.ndarray, key: str) -> tuple[list[Place], list[Place]]:
    """Y from datum C and Z from datum B of a loop or the enclosure at a station, of the driveshaft's axis there, and of the rails and other
    tubes along the car that pass it."""
    shaft = snapshot.placed.shaft_at(x)
    points = [(f"{name}, center", center, key), ("Driveshaft axis", shaft, "driveshaft")]
    rails = list(_rails(snapshot, x))
    beside = [*(_aside(told, point, of) for told, point, of in points), *rails]
    above = [Place(told, float(point[2]), (float(point[0]), float(point[1]), float(point[2])), of) for told, point, of in points]
    if rails:
        above.append(Place("Main rail", rails[0].point[2], rails[0].point, rails[0].key))
    for told, side, point, of in _passing(snapshot, x):
        beside.append(_aside(f"{told}, {side}" if side else told, point, of))
        above.append(Place(told, point[2], point, of))
    return single(beside), single(above)


UPPER = "upper_fore_aft/"


def _passing(snapshot: Snapshot, x: float) -> Iterator[tuple[str, str, tuple[float, float, float], str]]:
    """Name, side, center at a station and key of the upper members and of the tubes that the car lists, where they run along the car."""
    for key, one in chassis_tube.specs(snapshot.placed.chassis).items():
        if key.startswith(UPPER) and min(one.start[0], one.end[0]) <= x <= max(one.start[0], one.end[0]):
            yield "Upper member", key.removeprefix(UPPER), (x, one.start[1], one.start[2]), key
    for y, z, leg in frame_tube.at_station(filled(snapshot.car).chassis.tubes, x):
        if abs(leg.along()[0]) > ALONG:
            yield leg.key.replace("/", " ").replace("_", " ").capitalize(), "", (x, float(y), float(z)), leg.key


def enclosure_center(snapshot: Snapshot, x: float) -> np.ndarray:
    """A point of the enclosure's axis at a station (3,), mm."""
    containment = filled(snapshot.car.containment)
    rear, front = enclosures.axis_points(containment.enclosure, snapshot.placed, tuple(containment.loops))
    return rear + (front - rear) * ((x - rear[0]) / (front[0] - rear[0]))


def single(places: Sequence[Place]) -> list[Place]:
    """Places without those that say the same again: bolts of two tabs that share them, and both rows of a pair."""
    found: list[Place] = []
    for place in places:
        if not any(one.name == place.name and abs(one.value - place.value) < SAME for one in found):
            found.append(place)
    return found
