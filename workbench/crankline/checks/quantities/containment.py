"""Quantities of what contains the driveshaft, measured on the shapes of loops and enclosure."""
from __future__ import annotations

import numpy as np

from ..materials import family
from ..measuring import Measurement, NotEvaluated, Setting, Unmeasured, quantity

SHAPE_ACCURACY = 1e-6
"""mm and rad to which the host's exact shapes are measured."""

LOOP_KINDS = ("split_loop", "fixed_loop")
TO = Setting("choice", "center", "where on the loop it is measured: its centre plane, or the edge nearest the joint",
             ("center", "nearest_edge"))


def _rings(snapshot, context):
    """(key, part and ring, or the reason why not) of every loop, by key."""
    scene, measure = context.scene, context.measure
    parts = {part.key: part for kind in LOOP_KINDS for part in snapshot.kind(kind)}
    for key in sorted({*parts, *context.unsound_under("loop/")}):
        try:
            part = context.part(key)
            yield key, part, measure.ring(part.shape, scene.shaft_at)
        except NotEvaluated as reason:
            yield key, None, str(reason)


@quantity("loop_behind_front_joint", "length", measured_to=TO)
def loop_behind_front_joint(snapshot, context):
    """Front joint centre rearward along the shaft to the nearest loop that stands behind it; other loops do not matter."""
    scene = context.scene
    joint, axis = scene.front_joint, scene.driveline.shaft_axis
    candidates = []
    for key, part, ring in _rings(snapshot, context):
        if part is None:
            # One that cannot be measured might be the nearest.
            raise NotEvaluated(ring)
        middle = 0.5 * (ring.x_rear + ring.x_front)
        # The ring's plane is square to the car; the distance runs along the shaft, which leans a little to that.
        to_center, to_edge = (joint[0] - middle) / axis[0], (joint[0] - ring.x_front) / axis[0]
        if to_center >= 0.0:
            # The joint may stand inside the loop's width: the nearest edge is then no way off.
            candidates.append((to_center, max(to_edge, 0.0), key, middle, ring.accuracy))
    if not candidates:
        return (Measurement(None, ("driveshaft",), how="no loop stands behind the front joint", points=(tuple(joint),)),)
    to_center, to_edge, key, middle, accuracy = min(candidates)
    how = (f"{key}, centre {to_center / 25.4:.3f} in ({to_center:.1f} mm) and nearest edge {to_edge / 25.4:.3f} in "
           f"({to_edge:.1f} mm) behind the joint; {context.settings['measured_to'].replace('_', ' ')} counts")
    value = to_center if context.settings["measured_to"] == "center" else to_edge
    return (Measurement(float(value), (key,), how=how, points=(tuple(joint), tuple(scene.shaft_at(middle))),
                        accuracy=accuracy),)


@quantity("loop_closed_angle", "angle")
def loop_closed_angle(snapshot, context):
    """Angle around the driveshaft's axis over which a loop is closed, each loop; legs at the floor close nothing."""
    scene, found = context.scene, []
    for key, part, ring in _rings(snapshot, context):
        if part is None:
            found.append(Unmeasured((key,), ring))
            continue
        # Seen from the shaft, which the ring is there for; it need not run through the ring's centre.
        center = scene.shaft_at(0.5 * (ring.x_rear + ring.x_front))
        aside = float(np.hypot(center[1] - ring.center[1], center[2] - ring.center[2]))
        angle = context.measure.closed_angle(part.shape, center, ring.reach + aside)
        found.append(Measurement(float(angle), (key,), how="seen from the driveshaft's axis", points=(tuple(center),),
                                 accuracy=SHAPE_ACCURACY))
    return tuple(found) or _no_loop(scene)


@quantity("loop_section", "length", components={"form": "word", "outer_diameter": "length", "wall": "length",
                                                "thickness": "length", "width": "length"})
def loop_section(snapshot, context):
    """Section of each loop at its top: tube (outer_diameter, wall) or flat strap (thickness, width)."""
    found = []
    for key, part, ring in _rings(snapshot, context):
        if part is None:
            found.append(Unmeasured((key,), ring))
            continue
        parts = {name: getattr(ring, name) for name in ("form", "outer_diameter", "wall", "thickness", "width")
                 if getattr(ring, name) is not None}
        sizes = " x ".join(f"{value / 25.4:.3f}" for value in parts.values() if not isinstance(value, str))
        top = (ring.center[0], ring.center[1], ring.center[2] + ring.reach)
        found.append(Measurement(None, (key,), how=f"{ring.form} {sizes} in at the top", parts=parts, points=(top,),
                                 accuracy=ring.accuracy))
    return tuple(found) or _no_loop(context.scene)


def _no_loop(scene):
    """A car without any loop breaks a rule that asks for one; it is no rule that does not apply."""
    return (Measurement(None, ("driveshaft",), how="the car has no loop", points=(tuple(scene.front_joint),)),)


def _enclosure(snapshot, context):
    part = context.part("enclosure")
    return None if part is None else (part, context.measure.tube(part.shape))


@quantity("enclosure_length", "length")
def enclosure_length(snapshot, context):
    """Length of the enclosure tube along its own axis."""
    found = _enclosure(snapshot, context)
    if found is None:
        return (Measurement(None, ("driveshaft",), how="the car has no enclosure tube"),)
    _part, tube = found
    return (Measurement(float(tube.length), ("enclosure",), how="along the tube's axis", accuracy=SHAPE_ACCURACY,
                        points=(tube.rear, tube.front)),)


@quantity("enclosure_wall", "length", components={"material": "word", "wall": "length"})
def enclosure_wall(snapshot, context):
    """Wall of the enclosure tube, with its material: carbon_steel, alloy_steel, aluminium, ..."""
    found = _enclosure(snapshot, context)
    if found is None:
        return (Measurement(None, ("driveshaft",), how="the car has no enclosure tube"),)
    part, tube = found
    material = family(part.material)
    if material is None:
        raise NotEvaluated(f"the material {part.material!r} of the enclosure is not in the catalogue")
    return (Measurement(None, ("enclosure",), how=f"{part.material}, wall {tube.wall:.3f} mm",
                        parts={"material": material, "wall": float(tube.wall)}, accuracy=SHAPE_ACCURACY),)
