"""Quantities of where the powertrain stands. They are measured on the placed scene, which the engine's shape follows."""
from __future__ import annotations

import math

from ... import sections
from ...mechanics import placement as placing
from ...mechanics.chassis import upright_station
from ...rules.quantity import Found, Measurement, NotEvaluated, Setting, quantity
from ...snapshot import Snapshot
from ...units import sized
from ..context import Context
from .clearing import SUPPORT

ENGINE = ("engine",)


@quantity("crank_height", "length", clears=("placement.crank_height", "placement.pitch"),
          at=Setting("choice", "stated", "station of the crank at which it is measured",
                     ("stated", "block_rear", "block_middle", "block_front", "highest")))
def crank_height(snapshot: Snapshot, context: Context) -> Found:
    """Height of the crankshaft centerline above the track at a station; `highest` is the greatest over the block."""
    scene = context.scene
    station = scene.placement.height_at if context.settings["at"] == "stated" else context.settings["at"]
    # A straight axis is highest at one of its ends.
    names = ("block_rear", "block_front") if station == "highest" else (station,)
    heights = [(float(placing.crank_height_at(scene.engine_frame, placing.station(scene.block, name))), name)
               for name in names]
    height, name = max(heights)
    point = placing.crank_point(scene.engine_frame, placing.station(scene.block, name))
    how = f"crank centerline at {name}" + (", the highest along the block" if station == "highest" else "")
    return (Measurement(height, ENGINE, how=how, points=((point[0], point[1], 0.0), tuple(point))),)


@quantity("pitch", "angle", clears=("placement.pitch", "rear_end.pinion_pitch"))
def pitch(snapshot: Snapshot, context: Context) -> Found:
    """Inclination of the crankshaft centerline in side view, positive = rear of the engine higher."""
    scene = context.scene
    ends = (scene.engine_point(0.0), scene.engine_point(scene.engine.block_length))
    return (Measurement(float(scene.pitch), ENGINE, how=f"placement, pitch {scene.placement.pitch_mode}",
                        points=tuple(tuple(point) for point in ends)),)


@quantity("axle_to_block", "length", clears=("placement.axle_to_block",))
def axle_to_block(snapshot: Snapshot, context: Context) -> Found:
    """Rear axle centerline forward to the rear face of the block at its base."""
    scene = context.scene
    base = placing.block_base_rear(scene.engine_frame, scene.block)
    return (Measurement(float(base[0]), ENGINE, how="base of the block's rear face",
                        points=((0.0, base[1], base[2]), tuple(base))),)


@quantity("firewall_gap", "length", clears=("chassis.firewall.x", "placement.axle_to_block"))
def firewall_gap(snapshot: Snapshot, context: Context) -> Found:
    """Distance along the car, at crank height, from the firewall line to the nearest face of the mid plate; 0 within it."""
    scene = context.scene
    if scene.chassis.firewall is None:
        return ()
    sections.existing(context.car, sections.MID_PLATE)
    line = scene.chassis.firewall.x
    front = scene.engine_point(-scene.stack.protector)
    rear = scene.engine_point(-scene.stack.total)
    gap = max(line - front[0], rear[0] - line, 0.0)
    return (Measurement(float(gap), ("mid_plate",), how="firewall line of the chassis to the faces of the mid plate",
                        points=((line, rear[1], rear[2]), tuple(front if line > front[0] else rear))),)


@quantity("support_tube_gap", "length", clears=("chassis.uprights.x", *SUPPORT))
def support_tube_gap(snapshot: Snapshot, context: Context) -> Found:
    """Gap between the support tube and the upright, on the side with the larger gap; 0 where both meet."""
    scene, support = context.scene, context.car.mounts.support_tube
    if support is None:
        return ()
    sections.existing(context.car, sections.MID_PLATE)
    uprights, station = scene.chassis.uprights, upright_station(scene.chassis)
    if uprights is None or uprights.half_spacing is None or station is None:
        return ()   # uprights without a station are a finding of their own
    middle = scene.engine_point(-(scene.stack.total + support.behind_plate), 0.0, support.above_crank)
    across = scene.engine_frame.rotation[:, 1]
    touching = 0.5 * (support.section.outer_diameter + uprights.section.outer_diameter)
    ends = [middle + across * ((side * uprights.half_spacing - middle[1]) / across[1]) for side in (1.0, -1.0)]
    gaps = [max(abs(end[0] - station) - touching, 0.0) for end in ends]
    worst = max(range(2), key=lambda index: gaps[index])
    return (Measurement(float(gaps[worst]), ("support_tube",), how=f"{('left', 'right')[worst]} end to the upright, along the car",
                        points=(tuple(ends[worst]), (station, ends[worst][1], ends[worst][2]))),)


@quantity("setback_share", "ratio", clears=("placement.axle_to_block",))
def setback_share(snapshot: Snapshot, context: Context) -> Found:
    """Front axle centerline back to the center of the foremost plug, over the wheelbase."""
    scene = context.scene
    plug = scene.engine.foremost_plug
    if plug is None:
        raise NotEvaluated("the foremost plug is not known; give engine.foremost_plug")
    point = scene.engine_point(plug.x, plug.y, plug.z)
    wheelbase = context.car.car.wheelbase
    return (Measurement(float((wheelbase - point[0]) / wheelbase), ENGINE, how="foremost plug along the car",
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
