"""Quantities of the tube around the front of the driveshaft, measured on the shapes of enclosure, mounts and loops."""
from __future__ import annotations

import math
from collections.abc import Generator, Mapping
from dataclasses import replace
from typing import Any

from ... import sections
from ...catalog import family
from ...progress import Progress
from ...rules.quantity import Found, Measurement, NotEvaluated, Slices, Tries, Unmeasured, parts, quantity
from ...snapshot import Snapshot
from ...units import INCH, sized
from ..context import NO_DRIVER, Context
from ..finding import Finding
from .clearing import ENCLOSURE_FRONT, ENCLOSURE_REAR, contained, loop_paths, loops_by_distance
from .containment import SHAPE_ACCURACY, WITHOUT, at_slip, front_joint
from .motion import AT, EXTREMES, LOOP_KINDS, enclosure, ring_slices, rings, thickest

TUBE = parts("enclosure")
HOLDS = parts(*LOOP_KINDS, "enclosure", "enclosure_mount", "transmission")
"""What a broken shaft is held by, and what carries the enclosure."""

TAIL_REACH = INCH
"""An enclosure that ends no farther than this from the output seal can be clamped to the transmission's tail, mm."""

NO_TUBE = "the car has no enclosure tube"


def _longer(_finding: Finding, _settings: Mapping[str, Any], _snapshot: Snapshot) -> Tries:
    return Tries(("containment.enclosure.length",), None, as_they_are=True)


@quantity("enclosure_length", "length", clears=_longer, effort=1, looks_at=TUBE)
def enclosure_length(snapshot: Snapshot, context: Context) -> Found:
    """Length of the enclosure tube along its own axis."""
    found = enclosure(context)
    if found is None:
        return (Measurement(None, ("driveshaft",), how=NO_TUBE),)
    _part, tube = found
    return (Measurement(float(tube.length), ("enclosure",), how="along the tube's axis", accuracy=SHAPE_ACCURACY,
                        points=(tube.rear, tube.front)),)


def _thicker_wall(finding: Finding, _settings: Mapping[str, Any], _snapshot: Snapshot) -> Tries:
    # Where the enclosure does not cover a joint, the joint is the shaft's.
    ends = () if "enclosure" in finding.subjects else (ENCLOSURE_FRONT, ENCLOSURE_REAR)
    return Tries(("containment.enclosure.wall", *ends), frozenset(("enclosure", "driveshaft")))


@quantity("enclosure_wall", "length", clears=_thicker_wall, effort=1, looks_at=TUBE, components={"material": "word", "wall": "length"},
          without=WITHOUT)
def enclosure_wall(snapshot: Snapshot, context: Context) -> Found:
    """Wall of the enclosure tube, with its material: carbon_steel, alloy_steel, aluminum, ..."""
    found = enclosure(context)
    if found is None:
        return (Measurement(None, ("driveshaft",), how=NO_TUBE),) if context.settings["without"] == "breaks" else ()
    return (_wall(*found, ("enclosure",)),)


def _wall(part, tube, subjects, discriminator: str = "", point=None) -> Measurement:
    material = family(part.material)
    if material is None:
        raise NotEvaluated(f"the material {part.material!r} of the enclosure is not in the catalog")
    return Measurement(None, subjects, discriminator, how=f"{part.material}, wall {sized(tube.wall)}", points=(point,) if point else (),
                       parts={"material": material, "wall": float(tube.wall)}, accuracy=SHAPE_ACCURACY)


@quantity("joint_shield", "length", clears=_thicker_wall, effort=1, looks_at=TUBE, components={"material": "word", "wall": "length"})
def joint_shield(snapshot: Snapshot, context: Context) -> Found:
    """Wall and material of the enclosure where it covers each joint of the driveshaft; nothing where it does not."""
    scene, found, results = context.scene, enclosure(context), []
    for name, joint in (("front joint", scene.front_joint), ("rear joint", scene.rear_joint)):
        point = tuple(map(float, joint))
        if found is not None and found[1].rear[0] <= joint[0] <= found[1].front[0]:
            results.append(_wall(*found, ("enclosure",), name, point))
        else:
            results.append(Measurement(None, ("driveshaft",), name, how=f"no enclosure over the {name}", points=(point,)))
    return tuple(results)


@quantity("enclosure_over_front_joint", "length", clears=("containment.enclosure.x_front",), effort=1, looks_at=TUBE,
          at=replace(AT, default=EXTREMES))
def enclosure_over_front_joint(snapshot: Snapshot, context: Context) -> Found:
    """Front joint center forward along the shaft to the front end of the enclosure; negative = the joint is outside it."""
    found = enclosure(context)
    if found is None:
        return ()
    _part, tube = found
    results: list[Measurement | Unmeasured] = []
    for name in context.settings["at"]:
        joint, axis = front_joint(context, name)
        value = float((tube.front[0] - joint[0]) / axis[0])
        results.append(Measurement(value, ("enclosure",), name,
                                   how=f"front end {sized(abs(value))} {'ahead of' if value >= 0.0 else 'behind'} "
                                   f"the joint center{at_slip(name)}", points=(tuple(map(float, joint)), tube.front),
                                   accuracy=SHAPE_ACCURACY))
    return tuple(results)


def _nearer_carriers(_finding: Finding, _settings: Mapping[str, Any], snapshot: Snapshot) -> Tries:
    """The ends of the enclosure and the loops that may carry it."""
    carriers = (path for key in loops_by_distance(snapshot) for path in loop_paths(key, ("x",)))
    mounts = frozenset(part.key for part in snapshot.kind("enclosure_mount"))
    return Tries((ENCLOSURE_FRONT, ENCLOSURE_REAR, *carriers), contained(snapshot) | mounts | {"transmission"})


@quantity("enclosure_supports", "count", clears=_nearer_carriers, effort=16, looks_at=HOLDS)
def enclosure_supports(snapshot: Snapshot, context: Context) -> Slices:
    """Ends of the enclosure that are supported: by a mount that touches the tube and a loop around it or the transmission's tail."""
    if enclosure(context) is None:
        return ()
    carriers, note, (rear, front) = yield from _carriers(snapshot, context)
    how = "; ".join(f"{end}: {', '.join(names) or 'nothing'}" for end, names in carriers.items()) + note
    return (Measurement(float(sum(bool(names) for names in carriers.values())), ("enclosure",), how=how, points=(rear, front)),)


def carried(snapshot: Snapshot, context: Context) -> Generator[Progress, None, int]:
    """Slice by slice, how many ends of the enclosure are carried; the car has one."""
    carriers, _notes, _ends = yield from _carriers(snapshot, context)
    return sum(bool(names) for names in carriers.values())


def _carriers(snapshot: Snapshot, context: Context):
    """Slice by slice, (what carries the rear and the front end, what else is to be told, both ends of the tube)."""
    yield from ring_slices(snapshot, context)
    measured = enclosure(context)
    assert measured is not None, "a car without an enclosure"
    part, tube = measured
    carriers: dict[str, list[str]] = {"rear": [], "front": []}
    around = []
    for key, loop, ring in rings(snapshot, context):
        if loop is None:
            raise NotEvaluated(ring)
        if tube.rear[0] - TAIL_REACH <= ring.center[0] <= tube.front[0] + TAIL_REACH and _around(ring, tube):
            around.append((key, loop, ring))
    others = [(key, loop.shape) for key, loop, _ring in around]
    others += [("the transmission's tail", context.sound(item).shape) for item in snapshot.kind("transmission")]
    notes = []
    for end, names in carriers.items():
        mounts = [mount for mount in snapshot.kind("enclosure_mount") if mount.key.startswith(f"enclosure_mount/{end}_")]
        if not mounts:
            raise NotEvaluated(f"no mount at the {end} end of the enclosure was measured, so what carries that end is not known; run "
                               "Repair Document")
        for mount in mounts:
            shape, holds = context.sound(mount).shape, []
            for name, other in others:
                yield Progress(f"{mount.key} and {name}", 0.5)
                if context.measure.meets(shape, other):
                    holds.append(name)
            if holds and context.measure.meets(shape, part.shape):
                names.append(f"{mount.key} on {holds[0]}")
            else:
                notes.append(f"{mount.key} does not touch both the tube and its support")
    return carriers, "".join(f"; {note}" for note in notes), (tube.rear, tube.front)


def _around(ring, tube) -> bool:
    """Whether a ring stands around a tube or the tube around the ring's place, so that it can carry it."""
    step = (ring.center[0] - tube.rear[0]) / (tube.front[0] - tube.rear[0])
    y, z = (a + step * (b - a) for a, b in zip(tube.rear[1:], tube.front[1:]))
    return math.hypot(ring.center[1] - y, ring.center[2] - z) < ring.reach


@quantity("enclosure_bore_over_joint", "length", clears=("containment.enclosure.outer_diameter",), effort=1, looks_at=TUBE)
def enclosure_bore_over_joint(snapshot: Snapshot, context: Context) -> Found:
    """Bore of the enclosure less the largest diameter of the driveshaft, joint swing or tube, which must pass through it at removal."""
    found = enclosure(context)
    if found is None:
        return ()
    _part, tube = found
    inside, (thick, what) = tube.outer_diameter - 2.0 * tube.wall, thickest(sections.existing(context.car, sections.DRIVESHAFT))
    return (Measurement(float(inside - thick), ("enclosure",), how=f"bore {sized(inside)}, {what} {sized(thick)}",
                        points=(tube.rear, tube.front), accuracy=SHAPE_ACCURACY),)


def _farther_covered(_finding: Finding, _settings: Mapping[str, Any], snapshot: Snapshot) -> Tries:
    return Tries((ENCLOSURE_REAR, ENCLOSURE_FRONT), contained(snapshot))


@quantity("open_shaft_past_driver", "length", clears=_farther_covered, effort=1, looks_at=TUBE)
def open_shaft_past_driver(snapshot: Snapshot, context: Context) -> Found:
    """Length of the driveshaft, joints included, that passes the driver's envelope outside the enclosure."""
    scene, box = context.scene, context.car.car.driver_envelope
    if box is None:
        raise NotEvaluated(NO_DRIVER)
    rear, front = max(float(scene.rear_joint[0]), box.x_rear), min(float(scene.front_joint[0]), box.x_front)
    found = enclosure(context)
    covered, how = 0.0, NO_TUBE
    if found is not None:
        tube = found[1]
        covered = max(0.0, min(front, tube.front[0]) - max(rear, tube.rear[0]))
        how = f"the enclosure covers {sized(covered)} of it"
    bare = max(0.0, front - rear - covered)
    how = (f"the shaft passes the driver from X = {sized(rear)} to {sized(front)}; {how}" if front > rear else
           "the shaft does not pass the driver's envelope")
    return (Measurement(bare / float(scene.driveline.shaft_axis[0]), ("enclosure",) if found else ("driveshaft",), how=how,
                        points=(tuple(scene.shaft_at(rear)), tuple(scene.shaft_at(front))), accuracy=SHAPE_ACCURACY),)
