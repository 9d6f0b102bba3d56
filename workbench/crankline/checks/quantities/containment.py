"""Quantities of what contains the driveshaft, measured on the shapes of loops and enclosure."""
from __future__ import annotations

import numpy as np

from ..measuring import Measurement, NotEvaluated, Setting, Unmeasured, quantity

SHAPE_ACCURACY = 1e-6
"""mm and rad to which the host's exact shapes are measured."""

LOOP_KINDS = ("split_loop", "fixed_loop")
TO = Setting("choice", "center", "where on the loop it is measured: its centre plane, or the edge nearest the joint",
             ("center", "nearest_edge"))


def _loops(snapshot, context):
    """(part, None) of every loop fit to be measured, and (key, reason) of the others."""
    parts = {part.key: part for kind in LOOP_KINDS for part in snapshot.kind(kind)}
    keys = sorted({*parts, *context.unsound_under("loop/")})
    for key in keys:
        try:
            part = context.part(key)
        except NotEvaluated as reason:
            yield key, None, str(reason)
        else:
            yield key, part, ""


@quantity("loop_behind_front_joint", "length", measured_to=TO)
def loop_behind_front_joint(snapshot, context):
    """Front joint centre rearward along the shaft to the nearest loop that stands behind it; other loops do not matter."""
    scene = context.scene
    joint, axis = scene.front_joint, scene.driveline.shaft_axis
    candidates = []
    for key, part, reason in _loops(snapshot, context):
        if part is None:
            # One that cannot be measured might be the nearest.
            raise NotEvaluated(reason)
        rear, front = context.measure.station(part.shape)
        center, edge = 0.5 * (rear + front), front
        # The loop's plane is square to the car; the distance runs along the shaft, which leans a little to that.
        behind = {"center": (joint[0] - center) / axis[0], "nearest_edge": (joint[0] - edge) / axis[0]}
        if behind["center"] >= 0.0:
            candidates.append((behind[context.settings["measured_to"]], behind, key, center))
    if not candidates:
        return (Measurement(None, ("driveshaft",), how="no loop stands behind the front joint", points=(tuple(joint),)),)
    value, behind, key, center = min(candidates)
    # The joint may stand inside the loop's width: the nearest edge is then no way off.
    value = max(value, 0.0)
    how = (f"{key}, centre {behind['center'] / 25.4:.3f} in ({behind['center']:.1f} mm) and nearest edge "
           f"{max(behind['nearest_edge'], 0.0) / 25.4:.3f} in ({max(behind['nearest_edge'], 0.0):.1f} mm) behind the joint")
    return (Measurement(float(value), (key,), how=how, points=(tuple(joint), tuple(scene.shaft_at(center))),
                        accuracy=SHAPE_ACCURACY),)


@quantity("loop_closed_angle", "angle")
def loop_closed_angle(snapshot, context):
    """Angle around the shaft's axis over which a loop is closed, each loop; a fixed loop with the members it is welded to."""
    scene, found = context.scene, []
    for key, part, reason in _loops(snapshot, context):
        if part is None:
            found.append(Unmeasured((key,), reason))
            continue
        rear, front = context.measure.station(part.shape)
        center = scene.shaft_at(0.5 * (rear + front))
        shapes = [part.shape]
        if part.kind == "fixed_loop":
            shapes += [member.shape for member in _members(snapshot, context)]
        angle = context.measure.closed_angle(context.measure.joined(shapes), center, np.array([1.0, 0.0, 0.0]))
        found.append(Measurement(float(angle), (key,), how="seen from the driveshaft's axis", points=(tuple(center),),
                                 accuracy=SHAPE_ACCURACY))
    return tuple(found)


def _members(snapshot, context):
    """The chassis tubes through which a fixed loop is closed."""
    keys = ("rear_cross_member", "upper_fore_aft/left", "upper_fore_aft/right")
    found = (context.part(key) for key in keys)
    return [part for part in found if part is not None]


@quantity("loop_section", "length", components={"form": "word", "outer_diameter": "length", "wall": "length",
                                                "thickness": "length", "width": "length"})
def loop_section(snapshot, context):
    """Section of each loop: tube (outer diameter, wall) or flat strap (thickness, width)."""
    found = []
    for key, part, reason in _loops(snapshot, context):
        if part is None:
            found.append(Unmeasured((key,), reason))
            continue
        section = context.measure.section(part.shape)
        if not section:
            found.append(Unmeasured((key,), f"no section could be read off the shape of {key}"))
            continue
        how = "section " + ", ".join(f"{name.replace('_', ' ')} {value}" if isinstance(value, str) else
                                     f"{name.replace('_', ' ')} {value:.3f} mm" for name, value in section.items())
        found.append(Measurement(None, (key,), how=how, parts=section, accuracy=SHAPE_ACCURACY))
    return tuple(found)


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
    return (Measurement(float(tube["length"]), ("enclosure",), how="along the tube's axis", accuracy=SHAPE_ACCURACY,
                        points=(tuple(tube["rear"]), tuple(tube["front"]))),)


@quantity("enclosure_wall", "length", components={"material": "word", "wall": "length"})
def enclosure_wall(snapshot, context):
    """Wall of the enclosure tube, with its material: carbon_steel, alloy_steel, aluminium, ..."""
    from ..materials import family
    found = _enclosure(snapshot, context)
    if found is None:
        return (Measurement(None, ("driveshaft",), how="the car has no enclosure tube"),)
    part, tube = found
    material = family(part.material)
    if material is None:
        raise NotEvaluated(f"the material {part.material!r} of the enclosure is not in the catalogue")
    return (Measurement(None, ("enclosure",), how=f"{part.material}, wall {tube['wall']:.3f} mm",
                        parts={"material": material, "wall": float(tube["wall"])}, accuracy=SHAPE_ACCURACY),)
