"""Quantities of where the powertrain stands. They are measured on the placed scene, which the engine's shape follows."""
from __future__ import annotations

import math

import numpy as np

from ... import sections
from ...mechanics import placement as placing
from ...mechanics.chassis import upright_station
from ...rules.quantity import Found, Measurement, NotEvaluated, Reading, Setting, quantity
from ...snapshot import Snapshot
from ...units import sized
from ..context import Context
from ..placements import Asked
from .clearing import SUPPORT

ENGINE = ("engine",)


def _stations(at: Asked) -> tuple[str, ...]:
    station = at.scene.placement.height_at if at.settings["at"] == "stated" else at.settings["at"]
    # A straight axis is highest at one of its ends.
    return ("block_rear", "block_front") if station == "highest" else (station,)


def _crank_height(at: Asked) -> tuple[Reading, ...]:
    scene = at.scene
    heights = [placing.crank_height_at(scene.engine_frame, placing.station(scene.block, name)) for name in _stations(at)]
    return (Reading(np.maximum.reduce(heights), ENGINE),)


@quantity("crank_height", "length", clears=("placement.crank_height", "placement.pitch"), reads=_crank_height,
          at=Setting("choice", "stated", "station of the crank at which it is measured",
                     ("stated", "block_rear", "block_middle", "block_front", "highest")))
def crank_height(snapshot: Snapshot, context: Context) -> Found:
    """Height of the crankshaft centerline above the track at a station; `highest` is the greatest over the block."""
    scene, names = context.scene, _stations(context)
    (read,) = _crank_height(context)
    points = {name: placing.crank_point(scene.engine_frame, placing.station(scene.block, name)) for name in names}
    name = max(names, key=lambda one: (points[one][2], one))
    point = points[name]
    how = f"crank centerline at {name}" + (", the highest along the block" if len(names) > 1 else "")
    return (Measurement(float(read.value), ENGINE, how=how, points=((point[0], point[1], 0.0), tuple(point))),)


def _pitch(at: Asked) -> tuple[Reading, ...]:
    return (Reading(at.scene.pitch, ENGINE),)


@quantity("pitch", "angle", clears=("placement.pitch", "rear_end.pinion_pitch"), reads=_pitch)
def pitch(snapshot: Snapshot, context: Context) -> Found:
    """Inclination of the crankshaft centerline in side view, positive = rear of the engine higher."""
    scene = context.scene
    ends = (scene.engine_point(0.0), scene.engine_point(scene.engine.block_length))
    return (Measurement(float(_pitch(context)[0].value), ENGINE, how=f"placement, pitch {scene.placement.pitch_mode}",
                        points=tuple(tuple(point) for point in ends)),)


def _axle_to_block(at: Asked) -> tuple[Reading, ...]:
    return (Reading(placing.block_base_rear(at.scene.engine_frame, at.scene.block)[..., 0], ENGINE),)


@quantity("axle_to_block", "length", clears=("placement.axle_to_block",), reads=_axle_to_block)
def axle_to_block(snapshot: Snapshot, context: Context) -> Found:
    """Rear axle centerline forward to the rear face of the block at its base."""
    scene = context.scene
    base = placing.block_base_rear(scene.engine_frame, scene.block)
    return (Measurement(float(_axle_to_block(context)[0].value), ENGINE, how="base of the block's rear face",
                        points=((0.0, base[1], base[2]), tuple(base))),)


def _firewall_gap(at: Asked) -> tuple[Reading, ...]:
    scene = at.scene
    if scene.chassis.firewall is None:
        return ()
    sections.existing(at.car, sections.MID_PLATE)
    line = scene.chassis.firewall.x
    front = scene.engine_point(-scene.stack.protector)
    rear = scene.engine_point(-scene.stack.total)
    return (Reading(np.maximum(np.maximum(line - front[..., 0], rear[..., 0] - line), 0.0), ("mid_plate",)),)


@quantity("firewall_gap", "length", clears=("chassis.firewall.x", "placement.axle_to_block"), reads=_firewall_gap)
def firewall_gap(snapshot: Snapshot, context: Context) -> Found:
    """Distance along the car, at crank height, from the firewall line to the nearest face of the mid plate; 0 within it."""
    scene, read = context.scene, _firewall_gap(context)
    if not read:
        return ()
    line = scene.chassis.firewall.x
    front = scene.engine_point(-scene.stack.protector)
    rear = scene.engine_point(-scene.stack.total)
    return (Measurement(float(read[0].value), ("mid_plate",), how="firewall line of the chassis to the faces of the mid plate",
                        points=((line, rear[1], rear[2]), tuple(front if line > front[0] else rear))),)


def _support_ends(at: Asked) -> tuple[np.ndarray, np.ndarray, float] | None:
    """Left and right end (..., 3) of the support tube at the uprights, and the station of these; None where one of them is not there."""
    scene, support = at.scene, at.car.mounts.support_tube
    if support is None:
        return None
    sections.existing(at.car, sections.MID_PLATE)
    uprights, station = scene.chassis.uprights, upright_station(scene.chassis)
    if uprights is None or uprights.half_spacing is None or station is None:
        return None   # uprights without a station are a finding of their own
    middle = scene.engine_point(-(scene.stack.total + support.behind_plate), 0.0, support.above_crank)
    across = scene.engine_frame.rotation[..., :, 1]
    left, right = (middle + across * ((side * uprights.half_spacing - middle[..., 1]) / across[..., 1])[..., None] for side in (1.0, -1.0))
    return left, right, station


def _support_gaps(at: Asked) -> tuple[np.ndarray, np.ndarray] | None:
    """The gap at the left and at the right end, (...)."""
    found = _support_ends(at)
    if found is None:
        return None
    left, right, station = found
    touching = 0.5 * (at.car.mounts.support_tube.section.outer_diameter + at.scene.chassis.uprights.section.outer_diameter)
    return np.maximum(abs(left[..., 0] - station) - touching, 0.0), np.maximum(abs(right[..., 0] - station) - touching, 0.0)


def _support_tube_gap(at: Asked) -> tuple[Reading, ...]:
    gaps = _support_gaps(at)
    return () if gaps is None else (Reading(np.maximum(*gaps), ("support_tube",)),)


@quantity("support_tube_gap", "length", clears=("chassis.uprights.x", *SUPPORT), reads=_support_tube_gap)
def support_tube_gap(snapshot: Snapshot, context: Context) -> Found:
    """Gap between the support tube and the upright, on the side with the larger gap; 0 where both meet."""
    found, gaps = _support_ends(context), _support_gaps(context)
    if found is None or gaps is None:
        return ()
    *ends, station = found
    worst = max(range(2), key=lambda index: float(gaps[index]))
    return (Measurement(float(_support_tube_gap(context)[0].value), ("support_tube",),
                        how=f"{('left', 'right')[worst]} end to the upright, along the car",
                        points=(tuple(ends[worst]), (station, ends[worst][1], ends[worst][2]))),)


def _foremost_plug(at: Asked) -> np.ndarray:
    plug = at.scene.engine.foremost_plug
    if plug is None:
        raise NotEvaluated("the foremost plug is not known; give engine.foremost_plug")
    return at.scene.engine_point(plug.x, plug.y, plug.z)


def _setback_share(at: Asked) -> tuple[Reading, ...]:
    wheelbase = at.car.car.wheelbase
    return (Reading((wheelbase - _foremost_plug(at)[..., 0]) / wheelbase, ENGINE),)


@quantity("setback_share", "ratio", clears=("placement.axle_to_block",), reads=_setback_share)
def setback_share(snapshot: Snapshot, context: Context) -> Found:
    """Front axle centerline back to the center of the foremost plug, over the wheelbase."""
    point, wheelbase = _foremost_plug(context), context.car.car.wheelbase
    return (Measurement(float(_setback_share(context)[0].value), ENGINE, how="foremost plug along the car",
                        points=(tuple(point), (wheelbase, point[1], point[2]))),)


@quantity("wheelbase", "length", clears=("car.wheelbase",))
def wheelbase(snapshot: Snapshot, context: Context) -> Found:
    """Wheelbase as the car file states it."""
    length = context.car.car.wheelbase
    return (Measurement(length, ("car",), how="as given in the car file", points=((0.0, 0.0, 0.0), (length, 0.0, 0.0))),)


@quantity("ladder_bar_share", "ratio", needs=(sections.SUSPENSION,), clears=("rear_end.suspension.pivot.x", "car.wheelbase"))
def ladder_bar_share(snapshot: Snapshot, context: Context) -> Found:
    """Rear axle center to the front pivot of a ladder bar, in side view, over the wheelbase."""
    suspension, axle = context.scene.rear_end.suspension, context.scene.chassis.rear_tire.loaded_radius
    if suspension.kind != "ladder":
        return ()
    pivot, wheelbase = suspension.pivot, context.car.car.wheelbase
    length = math.hypot(pivot.x, pivot.z - axle)
    return (Measurement(length / wheelbase, ("car",), how=f"{sized(length)} from axle to pivot, wheelbase {sized(wheelbase)}",
                        points=((0.0, 0.0, axle), (pivot.x, 0.0, pivot.z))),)
