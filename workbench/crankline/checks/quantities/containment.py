"""Quantities of what contains the driveshaft, measured on the shapes of loops and enclosure."""
from __future__ import annotations

import math
from collections.abc import Mapping
from typing import Any

import numpy as np

from ...catalog import family
from ...progress import Progress
from ...rules.quantity import NO_DIMENSION, Measurement, NotEvaluated, Setting, Slices, Tries, Unmeasured, parts, quantity
from ...snapshot import Snapshot
from ...units import INCH, sized
from ..context import Context
from ..finding import Finding
from .clearing import loop_paths, loops_by_distance
from .motion import AT, LOOP_KINDS, motion, ring_slices, rings

SHAPE_ACCURACY = 1e-6
"""mm and rad to which the host's exact shapes are measured."""

MEMBERS = ("chassis_tube", "frame_tube", "cross_member")
"""Kinds that a loop is secured to, and that a welded one is closed through."""

FOOT = 3.0 * INCH
"""A place at which a loop touches a tube is that of a foot no farther from its pin than this, mm."""

LOOPS = parts(*LOOP_KINDS)

TO = Setting("choice", "center", "where on the loop it is measured: its center plane, or the edge nearest the joint",
             ("center", "nearest_edge"))
OF = Setting("choices", LOOP_KINDS, "which loops", LOOP_KINDS)
WITHOUT = Setting("choice", "breaks", "what a car without the part means: it breaks the rule, or the rule does not apply",
                  ("breaks", "does_not_apply"))


SECTION = tuple(f"containment.loops.*.{name}" for name in ("section.outer_diameter", "section.wall", "strap_thickness", "strap_width"))


# --- loops ------------------------------------------------------------------------------------------------------------


def _other_station(finding: Finding, _settings: Mapping[str, Any], snapshot: Snapshot) -> Tries:
    """The station of the loop that it is about, or of any; the distance runs along the car, so no shape is made again."""
    loops = sorted(loops_by_distance(snapshot))
    named = [key for key in loops if finding.subjects == (key,)]
    return Tries((*(path for key in named or loops for path in loop_paths(key, ("x",))), "placement.axle_to_block"), None, as_they_are=True)


@quantity("loop_behind_front_joint", "length", clears=_other_station, effort=1, looks_at=LOOPS, measured_to=TO, at=AT,
          side=Setting("choice", "behind", "whether a loop ahead of the joint counts too", ("behind", "either")))
def loop_behind_front_joint(snapshot: Snapshot, context: Context) -> Slices:
    """Front joint center rearward along the shaft to the nearest loop behind it, or to the nearest one on either side; other
    loops do not matter."""
    yield from ring_slices(snapshot, context)
    found, loops = [], []
    for key, part, ring in rings(snapshot, context):
        if part is None:
            # One that cannot be measured might be the nearest.
            raise NotEvaluated(ring)
        loops.append((key, ring))
    for name in context.settings["at"]:
        pose = "" if name == "static" else name
        joint, axis = front_joint(context, name)
        candidates = []
        for key, ring in loops:
            middle = 0.5 * (ring.x_rear + ring.x_front)
            # The ring's plane is square to the car; the distance runs along the shaft, which leans a little to that.
            to_center, to_edge = (joint[0] - middle) / axis[0], (joint[0] - ring.x_front) / axis[0]
            # The joint may stand inside the loop's width: the nearest edge is then no way off.
            if to_center >= 0.0:
                candidates.append((to_center, max(to_edge, 0.0), key, ring.accuracy, 1.0))
            elif context.settings["side"] == "either":
                candidates.append((-to_center, max((ring.x_rear - joint[0]) / axis[0], 0.0), key, ring.accuracy, -1.0))
        if not candidates:
            where = "behind" if context.settings["side"] == "behind" else "on either side of"
            found.append(Measurement(None, ("driveshaft",), pose, how=f"no loop {where} the front joint", points=(tuple(joint),)))
            continue
        to_center, to_edge, key, accuracy, way = min(candidates)
        how = (f"{key}, center {sized(to_center)} and nearest edge {sized(to_edge)} {'behind' if way > 0.0 else 'ahead of'} the joint"
               f"{at_slip(name)}; the {context.settings['measured_to'].replace('_', ' ')} counts")
        value = to_center if context.settings["measured_to"] == "center" else to_edge
        found.append(Measurement(float(value), (key,), pose, how=how, points=(tuple(joint), tuple(joint - way * to_center * axis)),
                                 accuracy=accuracy))
    return tuple(found)


def front_joint(context, name: str):
    """Front joint center and direction of the shaft, at static or at an end of the slip."""
    if name == "static":
        return context.scene.front_joint, context.scene.driveline.shaft_axis
    moved = motion(context)
    i, _extreme = moved.extremes[name]
    return moved.sweep.front[i], moved.sweep.axis[i]


def at_slip(name: str) -> str:
    """A slip position as words that follow a measurement; nothing for static ride height."""
    return "" if name == "static" else f" with the slip {name.replace('_', ' ')}"


def _members(snapshot, context, part, doubtful: list[str] | None = None):
    """Slice by slice, [(tube, points at which the loop touches it)] of every chassis tube that a loop meets. Why a tube may not be measured
    goes to ``doubtful``; without that list NotEvaluated is raised."""
    tubes, met = [tube for tube in snapshot.parts if tube.kind in MEMBERS], []
    for tube in tubes:
        yield Progress(f"{part.key} and {tube.key}", 0.5)
        try:
            sound = context.sound(tube)
        except NotEvaluated as reason:
            if doubtful is None:
                raise
            doubtful.append(str(reason))
            continue
        points = context.measure.touches(part.shape, sound.shape)
        if points:
            met.append((tube, points))
    return met


@quantity("loop_closed_angle", "angle", any_shape=True, clears=("containment.loops.*.open_angle",), effort=2, each=LOOPS,
          beside=parts(*MEMBERS))
def loop_closed_angle(snapshot: Snapshot, context: Context) -> Slices:
    """Angle around the driveshaft's axis over which a loop is closed, each loop; a welded one also through the members that it is
    welded to. Legs at the floor close nothing."""
    yield from ring_slices(snapshot, context)
    scene = context.scene
    found: list[Measurement | Unmeasured] = []
    for key, part, ring in rings(snapshot, context):
        if part is None:
            found.append(Unmeasured((key,), ring))
            continue
        # Seen from the shaft, which the ring is there for; it need not run through the ring's center.
        center = scene.shaft_at(0.5 * (ring.x_rear + ring.x_front))
        yield Progress(key, 0.5)
        aside = float(np.hypot(center[1] - ring.center[1], center[2] - ring.center[2]))
        angle = float(context.measure.closed_angle(part.shape, center, ring.reach + aside))
        how = "seen from the driveshaft's axis"
        if part.kind == "fixed_loop" and angle < 2.0 * math.pi - SHAPE_ACCURACY:
            try:
                members = tuple(tube for tube, _points in (yield from _members(snapshot, context, part)))
            except NotEvaluated as reason:
                found.append(Unmeasured((key,), str(reason)))
                continue
            if members:
                ring_alone = angle
                angle = float(context.measure.closed_angle(part.shape, center, ring.reach + aside, tuple(tube.shape for tube in members)))
                how += (f"; the ring alone {math.degrees(ring_alone):.1f} deg, with its legs and "
                        f"{', '.join(tube.key for tube in members)}, which it is welded to, {math.degrees(angle):.1f} deg")
        found.append(Measurement(angle, (key,), how=how, points=(tuple(center),), accuracy=SHAPE_ACCURACY))
    return tuple(found) or _no_loop(scene)


@quantity("loop_section", "length", clears=SECTION, effort=1, each=LOOPS,
          components={"form": "word", "material": "word", "outer_diameter": "length", "wall": "length", "thickness": "length",
                      "width": "length"}, without=WITHOUT)
def loop_section(snapshot: Snapshot, context: Context) -> Slices:
    """Section of each loop at its top: tube (outer_diameter, wall) or flat strap (thickness, width), with its material."""
    yield from ring_slices(snapshot, context)
    found: list[Measurement | Unmeasured] = []
    for key, part, ring in rings(snapshot, context):
        if part is None:
            found.append(Unmeasured((key,), ring))
            continue
        parts = {name: getattr(ring, name) for name in ("form", "outer_diameter", "wall", "thickness", "width")
                 if getattr(ring, name) is not None}
        material = family(part.material)
        if material is None:
            found.append(Unmeasured((key,), f"the material {part.material!r} of {key} is not in the catalog"))
            continue
        parts["material"] = material
        sizes = " x ".join(sized(value) for value in parts.values() if not isinstance(value, str))
        top = (ring.center[0], ring.center[1], ring.center[2] + ring.reach)
        found.append(Measurement(None, (key,), how=f"{ring.form} {sizes} at the top, {part.material}", parts=parts, points=(top,),
                                 accuracy=ring.accuracy))
    return tuple(found) or (_no_loop(context.scene) if context.settings["without"] == "breaks" else ())


def _no_loop(scene):
    """A car without any loop breaks a rule that asks for one; it is no rule that does not apply."""
    return (Measurement(None, ("driveshaft",), how="the car has no loop", points=(tuple(scene.front_joint),)),)


@quantity("loop_count", "count", effort=1, looks_at=LOOPS, no_remedy=NO_DIMENSION)
def loop_count(snapshot: Snapshot, context: Context) -> Slices:
    """Number of loops that the driveshaft passes through between its joints."""
    yield from ring_slices(snapshot, context)
    scene, keys = context.scene, []
    for key, part, ring in rings(snapshot, context):
        if part is None:
            raise NotEvaluated(ring)
        if scene.rear_joint[0] <= ring.center[0] <= scene.front_joint[0]:
            keys.append(key)
    how = f"{', '.join(keys) or 'none'} between the joints"
    return (Measurement(float(len(keys)), ("driveshaft",), how=how, points=(tuple(scene.front_joint), tuple(scene.rear_joint))),)


@quantity("loop_secured", "count", clears=("containment.loops.*.pins_feet",), effort=3, each=LOOPS, beside=parts(*MEMBERS), of=OF)
def loop_secured(snapshot: Snapshot, context: Context) -> Slices:
    """Places at which each loop is secured: feet that are on a chassis tube and have their pin (split loop), legs that meet a chassis
    tube (fixed loop)."""
    yield from ring_slices(snapshot, context)
    found: list[Measurement | Unmeasured] = []
    none = True
    for key, part, ring in rings(snapshot, context):
        if part is None:
            found.append(Unmeasured((key,), ring))
            continue
        none = False
        if part.kind not in context.settings["of"]:
            continue
        try:
            doubtful: list[str] = []
            met = yield from _members(snapshot, context, part, doubtful if part.kind == "split_loop" else None)
            if part.kind == "split_loop":
                _stated(context, key, "pins_feet")
                feet = [(seat, _under(seat, met)) for seat in context.measure.pins(part.shape, ring) if seat.at == "foot"]
                if doubtful and not all(tube for _seat, tube in feet):
                    raise NotEvaluated(doubtful[0])
                points = tuple(seat.point for seat, tube in feet if seat.held and tube)
                clauses = [f"{sum(seat.held for seat, _tube in feet)} of {len(feet)} feet pinned",
                        *(f"{_place('foot', seat.point, ring)} on {tube or 'no chassis tube'}" for seat, tube in feet)]
            else:
                points = tuple(point for _tube, places in met for point in places)
                clauses = [f"{len(places)} at {tube.key}" for tube, places in met]
            how = "; ".join(clauses) or "it touches no chassis tube"
        except NotEvaluated as reason:
            found.append(Unmeasured((key,), str(reason)))
            continue
        found.append(Measurement(float(len(points)), (key,), how=how, points=points or (ring.center,)))
    return tuple(found) or (_no_loop(context.scene) if none else ())


def _record(context, key: str):
    """The loop of a key as the car file gives it; None for a part that the car does not have."""
    return next((loop for loop in context.car.containment.loops if f"loop/{loop.name}" == key), None)


def _stated(context, key: str, *fields: str) -> None:
    """NotEvaluated where nobody said how many pins a loop has: it is drawn with all of them, and that is no measurement."""
    missing = [name for name in fields if getattr(_record(context, key), name, 0) is None]
    if missing:
        raise NotEvaluated(f"how many pins {key} has is not stated; count them and give containment.loops {' and '.join(missing)}")


def _under(seat, met) -> str:
    """Key of the tube that a foot is on, empty where it is on none."""
    return next((tube.key for tube, places in met if any(math.dist(seat.point, place) < FOOT for place in places)), "")


@quantity("loop_pins_missing", "count", clears=("containment.loops.*.pins_split", "containment.loops.*.pins_feet"), effort=1, each=LOOPS)
def loop_pins_missing(snapshot: Snapshot, context: Context) -> Slices:
    """Open pin holes of each split loop, at the split and at the feet; a side of the split without any pin counts as one."""
    yield from ring_slices(snapshot, context)
    found: list[Measurement | Unmeasured] = []
    for key, part, ring in rings(snapshot, context):
        if part is None:
            found.append(Unmeasured((key,), ring))
        elif part.kind == "split_loop":
            try:
                _stated(context, key, "pins_split", "pins_feet")
            except NotEvaluated as reason:
                found.append(Unmeasured((key,), str(reason)))
                continue
            seats = context.measure.pins(part.shape, ring)
            empty = [(_place(seat.at, seat.point, ring), seat.point) for seat in seats if not seat.held]
            for side in (1.0, -1.0):
                if not any(seat.at == "split" and (seat.point[1] - ring.center[1]) * side > 0.0 for seat in seats):
                    empty.append((_place("split", (0.0, ring.center[1] + side, 0.0), ring), ring.center))
            held = sum(seat.held for seat in seats)
            how = f"{held} of {len(seats)} pins present" + "".join(f"; none at the {place}" for place, _point in empty)
            found.append(Measurement(float(len(empty)), (key,), how=how,
                                     points=tuple(point for _name, point in empty) or tuple(seat.point for seat in seats)))
    return tuple(found)


def _place(at: str, point, ring) -> str:
    side = "left" if point[1] > ring.center[1] else "right"
    return f"{side} foot" if at == "foot" else f"{side} side of the split"
