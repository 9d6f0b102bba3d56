"""Quantities of the plate between block and clutch shield, measured on its shape: never the front plate, never an automatic's plate."""
from __future__ import annotations

from collections.abc import Mapping
from typing import Any

import numpy as np

from ...catalog import family
from ...rules.quantity import NO_DIMENSION, Found, Measurement, NotEvaluated, Setting, Tries, parts, quantity
from ...rules.specification import normal
from ...sections import MID_PLATE, RAIL_TABS
from ...snapshot import Snapshot
from ...units import INCH, sized
from ..context import Context
from ..finding import Finding
from .clearance import body, kept_of
from .clearing import on_subjects
from .protective import named

PLATE = ("mid_plate",)
ON_AXIS = 0.05
"""mm within which the center of an arc lies where an opening is told to be."""

EXACT = 1e-6
SHIELDS = ("SFI 6.1", "SFI 6.2", "SFI 6.3", "SFI 9.1")


def _plate(snapshot: Snapshot, context: Context):
    """(part, its larger face, thickness) of the plate between block and shield; None where the car has an automatic."""
    if context.car.transmission.kind != "manual":
        return None
    part = context.part("mid_plate")
    if part is None:
        return None
    if not hasattr(part.shape, "Faces"):
        raise NotEvaluated("mid_plate has no shape that can be measured; recompute the document")
    flats = sorted((face for face in part.shape.Faces if face.Surface.TypeId == "Part::GeomPlane"), key=lambda face: -face.Area)
    if len(flats) < 2:
        raise NotEvaluated("mid_plate shows no two faces of a plate; rebuild it")
    first, second = flats[:2]
    normals = [np.array(face.normalAt(0.0, 0.0)) for face in (first, second)]
    if abs(abs(float(normals[0] @ normals[1])) - 1.0) > 1e-9:
        raise NotEvaluated("the largest faces of mid_plate are not parallel; rebuild it")
    return part, first, abs(float((np.array(second.CenterOfMass) - np.array(first.CenterOfMass)) @ normals[0]))


def _point(context, y: float = 0.0, z: float = 0.0):
    return tuple(map(float, context.scene.engine_point(-context.scene.stack.total, y, z)))


@quantity("clutch_plate", "length", clears=("+plates.mid.thickness",), looks_at=parts("mid_plate"), effort=1,
          components={"material": "word", "thickness": "length"},
          bellhousing=Setting("choices", SHIELDS, "specifications of the bellhousing that call for it", SHIELDS))
def clutch_plate(snapshot: Snapshot, context: Context) -> Found:
    """Thickness and material of the plate between the block and the shield of a clutch."""
    asked = context.settings["bellhousing"]
    found = _plate(snapshot, context)
    if found is None:
        return ()
    if asked != SHIELDS:
        listed = [normal(item.specification) for item in context.car.protective_items if named(item.item) == "bellhousing"]
        if not listed:
            raise NotEvaluated("the plate depends on the bellhousing's specification, and none is listed; give it under protective_items")
        if not any(one.rstrip("W") in asked for one in listed):
            return ()
    part, _face, thickness = found
    material = family(part.material)
    if material is None:
        raise NotEvaluated(f"the material {part.material!r} of the mid plate is not in the catalog")
    return (Measurement(None, PLATE, how=f"{part.material}, {sized(thickness)} thick", parts={"material": material, "thickness": thickness},
                        points=(_point(context),), accuracy=EXACT),)


def _arcs(face: Any, context: Context) -> list[tuple[float, float, float]]:
    """(y, z, diameter) of every round edge of a face of the plate, engine frame."""
    found: list[tuple[float, float, float]] = []
    for edge in face.Edges:
        if edge.Curve.TypeId == "Part::GeomCircle":
            x, y, z = context.scene.engine_frame.to_local(np.array(tuple(edge.Curve.Center)))
            found.append((float(y), float(z), 2.0 * float(edge.Curve.Radius)))
    return found


OPENINGS = {"crank": ("plates.mid.center_opening",), "starter": ("plates.mid.starter.diameter", "transmission.starter.diameter")}


def _other_opening(finding: Finding, settings: Mapping[str, Any], _snapshot: Snapshot) -> Tries:
    return on_subjects(finding, OPENINGS[settings["of"]])


@quantity("plate_opening", "length", clears=_other_opening, looks_at=parts("mid_plate"), effort=1,
          of=Setting("choice", None, "which opening", ("crank", "starter")),
          over_flange=Setting("choice", "false", "whether the crank flange diameter is subtracted", ("true", "false")))
def plate_opening(snapshot: Snapshot, context: Context) -> Found:
    """Diameter of an opening of the plate between the block and the shield of a clutch."""
    found = _plate(snapshot, context)
    if found is None:
        return ()
    of, (_part, face, _thickness) = context.settings["of"], found
    starter = context.car.plates.mid.starter or context.scene.transmission.starter
    if of == "starter" and starter is None:
        return ()
    y, z = (0.0, 0.0) if of == "crank" else (starter.y, starter.z)
    sizes = [diameter for a, b, diameter in _arcs(face, context) if abs(a - y) < ON_AXIS and abs(b - z) < ON_AXIS]
    if not sizes:
        raise NotEvaluated(f"no round opening for the {of} was found in the mid plate; rebuild it")
    value, how = max(sizes), f"opening for the {of}, {sized(max(sizes))} across"
    if context.settings["over_flange"] == "true":
        value -= context.scene.engine.crank_flange_diameter
        how += f", crank flange {sized(context.scene.engine.crank_flange_diameter)}"
    return (Measurement(value, PLATE, how=how, points=(_point(context, y, z),), accuracy=EXACT),)


LEAST = Setting("length", 0.375 * INCH, "smallest bolt that counts")


@quantity("plate_bolts_below", "count", looks_at=parts("mid_plate"), effort=1, no_remedy=NO_DIMENSION, least=LEAST)
def plate_bolts_below(snapshot: Snapshot, context: Context) -> Found:
    """Bolts of the engine's rear pattern, dowels not counted, that a clutch car's plate has holes for below the crank centerline."""
    return _bolts(snapshot, context, "below")


@quantity("plate_bolts_above", "count", looks_at=parts("mid_plate"), effort=1, no_remedy=NO_DIMENSION, least=LEAST)
def plate_bolts_above(snapshot: Snapshot, context: Context) -> Found:
    """As ``plate_bolts_below``, above the crank centerline."""
    return _bolts(snapshot, context, "above")


def _bolts(snapshot, context, side: str):
    found = _plate(snapshot, context)
    if found is None:
        return ()
    drilled = _arcs(found[1], context)
    engine = context.scene.engine
    held = [(y, z) for y, z, diameter in engine.rear_holes if (z < 0.0) is (side == "below") and diameter >= context.settings["least"]
            and abs(diameter - engine.dowel_diameter) > ON_AXIS
            and any(abs(a - y) < ON_AXIS and abs(b - z) < ON_AXIS and abs(d - diameter) < ON_AXIS for a, b, d in drilled)]
    return (Measurement(float(len(held)), PLATE, how=f"{len(held)} holes of the rear bolt pattern {side} the crank centerline",
                        points=tuple(_point(context, y, z) for y, z in held) or (_point(context),)),)


@quantity("plate_corners", "count", looks_at=parts("mid_plate", "rail_tab", "tie_tab"), effort=1, no_remedy=NO_DIMENSION,
          within=Setting("length", 1.0, "how close a part that holds the plate is: a clamp has its given gap"))
def plate_corners(snapshot: Snapshot, context: Context) -> Found:
    """Corners at which the plate between the block and the shield of a clutch is held: pairs of rail tabs that clamp it, tie tabs."""
    from ...measure import distance
    found = _plate(snapshot, context)
    if found is None:
        return ()
    kept = kept_of(context)
    plate = body(found[0], snapshot, context)
    near = {part.key for part in (*snapshot.kind("rail_tab"), *snapshot.kind("tie_tab"))
            if part.key.startswith(("rail_tab/", "tie_tab/"))
            and distance.air(plate, body(part, snapshot, context), kept).distance <= context.settings["within"]}
    pairs = sorted(key for key in near if "_front" in key and key.replace("_front", "_rear") in near)
    corners = [*pairs, *sorted(key for key in near if key.startswith("tie_tab/"))]
    how = ", ".join(key.replace("_front", " pair") for key in corners) or "no tab at the plate"
    places = tuple(tuple(context.existing(key).shape.BoundBox.Center) for key in corners)
    return (Measurement(float(len(corners)), PLATE, how=how, points=places or (_point(context),)),)


@quantity("plate_mount_bolt", "length", needs=(MID_PLATE, RAIL_TABS,), clears=("mounts.rail_tabs.bolt",))
def plate_mount_bolt(snapshot: Snapshot, context: Context) -> Found:
    """Diameter of the bolts that hold the plate between the block and the shield of a clutch to the chassis; their grade is not known."""
    if context.car.transmission.kind != "manual":
        return ()
    bolt = context.car.mounts.rail_tabs.bolt
    return (Measurement(bolt, PLATE, how=f"rail tab bolts, {sized(bolt)}; grade not known", points=(_point(context),)),)
