"""Quantities of clearance: interference, distances between groups of parts, height over the track.

Which pairs matter is data (``measure.relations``). Shapes are measured by ``measure.distance``, which needs the
host and is imported when a quantity is asked for.
"""
from __future__ import annotations

from collections.abc import Callable, Generator, Mapping
from typing import TYPE_CHECKING, Any

import numpy as np

from ...features.registry import declaration
from ...measure import relations
from ...measure.kept import Kept
from ...mechanics.scene import Scene
from ...progress import Progress
from ...rules.quantity import Found, Measurement, NotEvaluated, Setting, Slices, Tries, Unmeasured, quantity
from ...snapshot import PartView, Snapshot
from ...units import INCH, points_text, sized
from ..context import NO_DRIVER, Context
from ..finding import Finding
from . import pans
from .clearing import SHAFT, apart, away, of_chassis, of_part, unique

if TYPE_CHECKING:
    from ...measure.body import Body

EXACT = 1e-6
"""mm to which the host's distances are exact."""


def kept_of(context: Context) -> Kept:
    """What a context's measurer has measured so far and keeps; NotEvaluated without the host."""
    kept = getattr(context.measure, "kept", None)
    if kept is None:
        raise NotEvaluated("clearances can only be measured in FreeCAD; run the check there")
    return kept


def body(part: PartView, snapshot: Snapshot, context: Context) -> Body:
    """A part as the clearances want it, one for all quantities of a context; NotEvaluated where it may not be measured."""
    from ...measure.body import Body, mark_of
    context.sound(part)
    known = context.bodies
    if part.key not in known:
        if not hasattr(part.shape, "distToShape") or not part.shape.Faces:
            raise NotEvaluated(f"{part.key} has no shape that can be measured; recompute the document")
        known[part.key] = Body(part.key, part.shape, mark_of(part, snapshot))
    return known[part.key]


def bodies_of(snapshot: Snapshot, context: Context,
              wanted: Callable[[PartView], bool] = lambda part: not relations.declaration(part).reference) -> tuple[
                  dict[str, tuple[PartView, Body]], list[Unmeasured]]:
    """(part and body by key, Unmeasured of those that may not be measured)."""
    found: dict[str, tuple[PartView, Body]] = {}
    refused: list[Unmeasured] = []
    for part in sorted(snapshot.parts, key=lambda part: part.key):
        if not wanted(part):
            continue
        try:
            found[part.key] = (part, body(part, snapshot, context))
        except NotEvaluated as reason:
            refused.append(Unmeasured((part.key,), str(reason)))
    return found, refused


def made(part) -> bool:
    """Whether a part is made, and no reference such as a swept volume."""
    return not declaration(part.kind, part.key).reference


def _of_group(part) -> bool:
    """Whether a part is on either side of the group that is measured."""
    between = part.settings["between"]
    return part.kind == relations.GROUPS[between].of[0] or between in (declaration(part.kind, part.key).keeps_clear or ())


def _near_driver(part) -> bool:
    """Whether the driver's box has to be clear of a part."""
    return bool(declaration(part.kind, part.key).near_driver)


@quantity("interference", "length", any_shape=True, clears=apart, effort=50, each=made)
def interference(snapshot: Snapshot, context: Context) -> Slices:
    """Depth to which two parts overlap beyond what their joint allows, one finding a pair; none is one value of 0."""
    from ...measure import distance, overlap
    kept = kept_of(context)
    bodies, refused = bodies_of(snapshot, context)
    found: list[Measurement | Unmeasured] = list(refused)
    near = distance.near_pairs([item for _part, item in bodies.values()], 0.0, kept)
    for number, (first, second) in enumerate(near):
        a, b = bodies[first.key][0], bodies[second.key][0]
        allowed = relations.allowed(a, b)
        if overlap.known_kept_out(first, second, allowed, kept):
            continue
        yield (progress := Progress(f"{first.key} and {second.key}", number / len(near)))
        if overlap.kept_out(first, second, allowed, kept):
            continue
        yield progress
        one = overlap.deeper_than(first, second, allowed, kept)
        if one is None:
            continue
        joint = relations.join(a, b)
        what = "is completely inside" if one.kind == distance.INSIDE else "overlaps"
        why = f"{joint.how} parts may overlap by {sized(joint.depth)}" if joint else "they are not joined"
        found.append(Measurement(one.depth, (one.a, one.b), how=f"{one.a} {what} {one.b}, {sized(one.depth)} deep ({one.basis}), "
                                 f"at {points_text(one.points)}; {why}", points=one.points, accuracy=EXACT))
    if not found:
        found.append(Measurement(0.0, (), how=f"{len(bodies)} parts, {len(near)} pairs close together, each found clear or "
                                 "properly joined"))
    return tuple(found)


# --- groups -----------------------------------------------------------------------------------------------------------


def named_region(part: PartView, whole: Body, name: str, scene: Scene, kept: Kept) -> Body | None:
    """A named region of the engine or the transmission, one for all quantities (``_made_region``)."""
    if (name, kept) not in whole.read:
        whole.read[name, kept] = _made_region(part, whole, name, scene, kept)
    return whole.read[name, kept]


def _made_region(part: PartView, whole: Body, name: str, scene: Scene, kept: Kept) -> Body | None:
    """A named region of the engine or the transmission, from the faces that lie where its data say; None without any. Faces of a real solid
    need not end where the envelope's do: each that reaches into a region belongs to it, so that none is left out."""
    from ...geometry import transmission_envelope
    from ...measure import distance
    near = 0.01
    if name == "starter":
        return _starter(whole, scene)

    def local(points):
        return scene.engine_frame.to_local(points)

    if part.kind == "engine":
        length, base, real = scene.engine.block_length, -scene.engine.base_drop, scene.engine.solid is not None
        given = repr((length, base, real))

        def pan(points):
            x, _y, z = local(points).T
            if real:
                return bool(np.any(z < base - near))
            return bool(np.all(z < base + near) and np.any(z < base - near) and np.all(x < length + near))

        def damper(points):
            x = local(points)[:, 0]
            return bool((real or np.all(x > length - near)) and np.any(x > length + near))

        def block(points):
            x, _y, z = local(points).T
            return bool(np.any((z > base - near) & (x < length + near))) if real else not (pan(points) or damper(points))

        belongs = {"oil_pan": pan, "damper": damper, "block": block}[name]
    else:
        spec, real = transmission_envelope.spec(scene.transmission, scene), scene.transmission.solid is not None
        given = repr((spec, real))

        def lower(points):
            x, _y, z = local(points).T
            if real:
                return bool(spec.pan and np.any(z < -spec.case_below - near))
            return bool(spec.pan and np.all(z < -spec.case_below + near) and np.any(z < -spec.case_below - near)
                        and np.all(x > -spec.setback - spec.pan[1] - near) and np.all(x < -spec.setback - spec.pan[0] + near))

        def bell(points):
            reaches = local(points)[:, 0] > -spec.setback - spec.bell_depth - near
            return bool(np.any(reaches) if real else np.all(reaches))

        belongs = {"pan": lower, "bell": bell}[name]
    frame = np.eye(4)
    frame[:3, :3], frame[:3, 3] = scene.engine_frame.rotation, scene.engine_frame.origin
    return distance.region(whole, name, belongs, given, frame, kept)


STARTER_LENGTH = 8.0 * INCH
"""How far a starter reaches rearward from the mid plate (assumed; a catalogue row gives the opening that it asks for only)."""


def _starter(whole, scene):
    """The starter beside the bell as a cylinder as wide as its opening, rearward from the bell's front face; None where the transmission
    gives no opening for one."""
    import FreeCAD
    import Part

    from ...features.base import host_placement
    from ...measure.body import Body
    given = scene.transmission.starter
    if given is None:
        return None
    front = -scene.stack.total
    shape = Part.makeCylinder(given.diameter / 2.0, STARTER_LENGTH, FreeCAD.Vector(front, given.y, given.z), FreeCAD.Vector(-1.0, 0.0, 0.0))
    shape.Placement = host_placement(scene.engine_frame)
    return Body(f"{whole.key}#starter", shape, f"starter {given} {front}:{whole.mark}" if whole.mark else "")


WITHIN = Setting("length", 2.0 * INCH, "pairs closer than this are listed one by one; if none is, the closest pair is")


@quantity("clearance", "length", any_shape=True, clears=apart, effort=3, each=_of_group, within=WITHIN,
          between=Setting("choice", None, "which parts are measured to which", tuple(relations.GROUPS)))
def clearance_between(snapshot: Snapshot, context: Context) -> Slices:
    """Distance from one part, or a region of it, to others; negative = depth of an overlap."""
    scene, kept, between = context.scene, kept_of(context), context.settings["between"]
    kind, name = relations.GROUPS[between].of
    targets, refused = bodies_of(snapshot, context, lambda part: relations.keeps_clear(part, between))
    found: list[Measurement | Unmeasured] = list(refused)
    for part in snapshot.kind(kind):
        try:
            whole = body(part, snapshot, context)
        except NotEvaluated as reason:
            found.append(Unmeasured((part.key,), str(reason)))
            continue
        mine = named_region(part, whole, name, scene, kept) if name else whole
        if mine is not None:
            for key in (yield from _close(mine, targets, context.settings["within"], kept)):
                found.append(_measured(part, whole, mine, name, *targets[key], kept))
    return tuple(found)


def _close(mine: Body, targets: Mapping[str, tuple[PartView, Body]], within: float, kept: Kept) -> Generator[Progress, None, list[str]]:
    """Slice by slice, keys of what is within reach; if nothing is, the nearest one's."""
    from ...measure import distance
    close = []
    gaps = distance.gaps(mine, [other for _part, other in targets.values()], kept)
    for number, (key, (_part, other)) in enumerate(targets.items()):
        if gaps[number] >= within:
            continue
        yield (progress := Progress(f"{_spelled(mine)} and {key}", number / len(targets)))
        if not distance.beyond(mine, other, within, kept):
            yield progress
            if distance.within(mine, other, within, kept):
                close.append(key)
    if close or not targets:
        return close
    yield Progress(f"what is nearest to {_spelled(mine)}", 0.9)
    nearest = distance.nearest(mine, [other for _part, other in targets.values()], kept)
    if nearest is None:
        return []
    return [nearest.a if nearest.b == mine.key else nearest.b]


def _spelled(item: Body) -> str:
    """A body, or a region of one, as it is called."""
    return item.key.replace("#", " ").replace("_", " ").strip()


def _measured(part: PartView, whole: Body, mine: Body, name: str, other_part: PartView, other: Body, kept: Kept) -> Measurement:
    from ...measure import distance
    found = distance.between(mine, other, kept)
    if found.distance <= 0.0 and not mine.solid:
        # Faces have no inside; how deep it is, the whole part tells.
        found = min(found, distance.between(whole, other, kept), key=lambda one: one.distance)
    points = found.points if found.a in (mine.key, whole.key) else found.points[::-1]
    what = f"{part.key}, {name.replace('_', ' ')}," if name else part.key
    return Measurement(found.distance, (part.key, other_part.key), how=f"{what} to {other_part.key}, {found.kind}, {points_text(points)}",
                       points=points, accuracy=EXACT)


def _from_driver(finding: Finding, _settings: Mapping[str, Any], snapshot: Snapshot) -> Tries:
    """What brings a part out of the driver's box; a loop is made smaller."""
    return away(finding, snapshot, "-")


@quantity("driver_clearance", "length", any_shape=True, clears=_from_driver, effort=1, each=_near_driver, within=WITHIN)
def driver_clearance(snapshot: Snapshot, context: Context) -> Slices:
    """Distance of powertrain, driveline and mounts to the box that the car file gives the driver; negative = depth. The chassis
    is built around the driver and is left out."""
    import FreeCAD
    import Part

    from ...measure import distance
    from ...measure.body import Body
    kept, box = kept_of(context), context.car.car.driver_envelope
    if box is None:
        raise NotEvaluated(NO_DRIVER)
    low, high = (np.array(side) for side in zip(*(sorted(pair) for pair in (
        (box.x_rear, box.x_front), (box.y_right, box.y_left), (box.z_low, box.z_high)))))
    driver = Body("#driver", Part.makeBox(*map(float, high - low), FreeCAD.Vector(*map(float, low))), f"{low.tolist()} {high.tolist()}")
    bodies, refused = bodies_of(snapshot, context, lambda part: bool(relations.declaration(part).near_driver))
    found: list[Measurement | Unmeasured] = list(refused)
    for key in (yield from _close(driver, bodies, context.settings["within"], kept)):
        part, other = bodies[key]
        one = _measured(part, other, other, "", part, driver, kept)
        kind = distance.between(other, driver, kept).kind
        found.append(Measurement(one.value, (key,), "driver envelope", points=one.points, accuracy=EXACT,
                                 how=f"{key} to the driver's envelope, {kind}, {points_text(one.points)}"))
    return tuple(found)


# --- over the track ---------------------------------------------------------------------------------------------------


BEHIND_FRONT_AXLE = 12.0 * INCH


def _higher(finding: Finding, settings: Mapping[str, Any], _snapshot: Snapshot) -> Tries:
    """What is lowest is raised, or is made less deep."""
    subjects = finding.subjects
    own = (path for key in subjects if key not in SHAFT for path in of_part(key, "+" if set(SHAFT) & set(subjects) else ""))
    moved = ("placement.crank_height", "placement.pitch") if {"engine", "transmission"} & set(subjects) else ()
    raised = (path for key in subjects for path in of_chassis(key) if path.rpartition(".")[2] in ("z", "height", "upper_height"))
    # Another part may be the lowest when this one is not.
    return Tries(unique((*own, *moved, *raised)), None if settings["of"] == "all_but_oil_pan" else frozenset(subjects))


@quantity("ground_clearance", "length", any_shape=True, clears=_higher, effort=1, looks_at=made, reads=pans.heights,
          of=Setting("choice", None, "what is measured: one of the pans, or every part but the oil pan",
                     ("oil_pan", "transmission_pan", "all_but_oil_pan")),
          zone=Setting("choice", "all", "front: from the front of the car to 12 in behind the front axle; rest: behind that",
                       ("all", "front", "rest")))
def ground_clearance(snapshot: Snapshot, context: Context) -> Found:
    """Height of the lowest point above the track, at static ride height."""
    scene, kept, of = context.scene, kept_of(context), context.settings["of"]
    bodies, refused = bodies_of(snapshot, context)
    if refused:
        # One that cannot be measured might be the lowest.
        return tuple(refused)
    if of == "all_but_oil_pan":
        engine = bodies.pop("engine", None)
        if engine is not None:
            named = {region: named_region(*engine, region, scene, kept) for region in ("block", "damper")}
            bodies |= {f"engine {region}": (engine[0], item) for region, item in named.items() if item is not None}
    else:
        kind, region = ("engine", "oil_pan") if of == "oil_pan" else ("transmission", "pan")
        regions = ((part, named_region(part, item, region, scene, kept)) for part, item in bodies.values() if part.kind == kind)
        bodies = {part.key: (part, item) for part, item in regions if item is not None}
    edge = context.car.car.wheelbase - BEHIND_FRONT_AXLE
    best = None
    for part, item in bodies.values():
        found = _lowest(item, context.settings["zone"], edge, kept, None if best is None else best[0])
        if found is not None and (best is None or found[0] < best[0]):
            best = (*found, part.key)
    if best is None:
        return ()
    height, point, key = best
    return (Measurement(height, (key,), how=f"lowest point, {points_text([point])}", points=((point[0], point[1], 0.0), point),
                        accuracy=EXACT),)


def _lowest(item, zone: str, edge: float, kept, bound: float | None):
    """Height and point of a body's lowest point in a zone; None where nothing of it is there, or all is above the bound."""
    import FreeCAD
    import Part

    from ...measure.body import faces_of
    from ...measure.distance import lowest, lowest_of
    box = faces_of(item, kept).box
    if bound is not None and box[2] >= bound:
        return None
    if zone != "all":
        first, last = (edge, box[3] + 1.0) if zone == "front" else (box[0] - 1.0, edge)
        if box[3] <= first or box[0] >= last:
            return None
        if box[0] < first or box[3] > last:
            size = box[3:] - box[:3] + 2.0
            shape = item.shape.common(Part.makeBox(float(last - first), float(size[1]), float(size[2]),
                                              FreeCAD.Vector(float(first), float(box[1] - 1.0), float(box[2] - 1.0))))
            return lowest(shape) if shape.Faces else None
    return lowest_of(item, kept)
