"""Quantities of the driveshaft whose front joint has let go: how low loops and enclosure let it sink, and what it reaches.

Rigid shaft, loops and enclosure; the rear joint holds (mechanics.release). Loops and enclosure are taken as their shapes show them; an
enclosure that is not carried at both ends holds nothing.
"""
from __future__ import annotations

import math
from collections.abc import Mapping
from typing import Any
from weakref import WeakKeyDictionary

import numpy as np

from ...mechanics import release as letting_go
from ...progress import Progress
from ...rules.quantity import Measurement, NotEvaluated, Slices, Tries, quantity
from ...sections import DRIVESHAFT, SUSPENSION
from ...snapshot import Snapshot
from ...units import sized
from ..context import NO_DRIVER, Context
from ..finding import Finding
from .clearing import ENCLOSURE_REAR, ENCLOSURE_SIZE, LOOP_SIZES, contained, loop_paths, loops_by_distance
from .enclosure import HOLDS, carried
from .motion import bore, enclosure, motion, opening, position, ring_slices, rings

SHAFT = ("driveshaft",)
_MADE: WeakKeyDictionary = WeakKeyDictionary()


def _released(snapshot: Snapshot, context: Context):
    """Slice by slice, the release of a context's driveshaft, computed once."""
    if context not in _MADE:
        yield from ring_slices(snapshot, context)
        openings = []
        for key, part, ring in rings(snapshot, context):
            if part is None:
                # One that cannot be measured might be what holds the shaft.
                raise NotEvaluated(ring)
            yield Progress(f"inside of {key}", 0.5)
            openings.append(opening(part, ring, context))
        tube = enclosure(context)
        held = tube is not None and (yield from carried(snapshot, context)) == 2
        through = bore(tube[1]) if tube is not None and held else None
        _MADE[context] = letting_go.release(motion(context).still, context.car.driveshaft, openings, through,
                                            context.car.car.driver_envelope, _floor(context))
    return _MADE[context]


def _floor(context) -> float | None:
    """Height of the floor, taken at the underside of the main rails; None where that is not known."""
    rails = context.scene.chassis.rails
    return None if rails.height is None else rails.height - rails.section.outer_diameter / 2.0


def _held(found: letting_go.Release, i: int) -> str:
    first = found.first[i]
    return _rests(found, i) + (f"; it reaches the {first} first" if first else "; it does not reach track, floor or driver there")


def _rests(found: letting_go.Release, i: int) -> str:
    what = found.held_by[i]
    if what == letting_go.NOTHING:
        return f"at {position(found.travel[i], 0.0)} nothing holds the free front end and it drops to the track"
    return (f"at {position(found.travel[i], 0.0)} the {what} holds the free front end, "
            f"{sized(found.overlap[i])} of the shaft extending past it; the end drops {sized(found.drop[i])}, "
            f"the shaft {math.degrees(found.droop[i]):.1f} deg below level")


def _held_closer(_finding: Finding, _settings: Mapping[str, Any], snapshot: Snapshot) -> Tries:
    """The two loops nearest to the front joint, and the enclosure."""
    loops = (path for key in loops_by_distance(snapshot)[:2] for path in (*loop_paths(key, ("x",)), *loop_paths(key, LOOP_SIZES, "-")))
    return Tries((*loops, ENCLOSURE_REAR, ENCLOSURE_SIZE), contained(snapshot), by_rings=True)


@quantity("released_shaft_drop", "length", needs=(DRIVESHAFT, SUSPENSION,), clears=_held_closer, effort=2, looks_at=HOLDS)
def released_shaft_drop(snapshot: Snapshot, context: Context) -> Slices:
    """Largest drop of the driveshaft's front end below the joint if the front U-joint fails, over travel."""
    found = yield from _released(snapshot, context)
    i = int(np.argmax(found.drop))
    return (Measurement(float(found.drop[i]), SHAFT, how=_held(found, i), points=(tuple(map(float, found.tip[i])),)),)


@quantity("released_shaft_over_track", "length", needs=(DRIVESHAFT, SUSPENSION,), clears=_held_closer, effort=2, looks_at=HOLDS)
def released_shaft_over_track(snapshot: Snapshot, context: Context) -> Slices:
    """Least height of the driveshaft above the track if the front U-joint fails, over travel; 0 = it is on the track."""
    found = yield from _released(snapshot, context)
    i = found.worst
    return (Measurement(float(found.above_track[i]), SHAFT, points=(tuple(map(float, found.tip[i])),),
                        how=f"lowest point {sized(found.above_track[i])} above the track: {_held(found, i)}"),)


@quantity("released_shaft_over_floor", "length", needs=(DRIVESHAFT, SUSPENSION,), clears=_held_closer, effort=2, looks_at=HOLDS)
def released_shaft_over_floor(snapshot: Snapshot, context: Context) -> Slices:
    """Least height of the driveshaft above the bottom of the main rails, where the floor is, if the front U-joint fails."""
    found = yield from _released(snapshot, context)
    if found.over_floor is None:
        raise NotEvaluated("the height of the main rails is not known; give chassis.rails.height")
    i = int(np.argmin(found.over_floor))
    value = float(found.over_floor[i])
    return (Measurement(value, SHAFT, how=f"lowest point {sized(abs(value))} {'above' if value >= 0.0 else 'below'} the bottom of the main "
                        f"rails: {_held(found, i)}", points=(tuple(map(float, found.tip[i])),)),)


@quantity("released_shaft_to_driver", "length", needs=(DRIVESHAFT, SUSPENSION,), clears=_held_closer, effort=2, looks_at=HOLDS)
def released_shaft_to_driver(snapshot: Snapshot, context: Context) -> Slices:
    """Least distance of the driveshaft to the driver's envelope if the front U-joint fails, in any direction; negative = it can enter."""
    if context.car.car.driver_envelope is None:
        raise NotEvaluated(NO_DRIVER)
    found = yield from _released(snapshot, context)
    i = int(np.argmin(found.driver_clearance))
    value = float(found.driver_clearance[i])
    if not math.isfinite(value):
        return (Measurement(None, SHAFT, how="nothing holds the free front end, and it can go anywhere",
                            points=(tuple(map(float, found.tip[i])),)),)
    return (Measurement(value, SHAFT, how=f"{sized(abs(value))} {'short of' if value >= 0.0 else 'into'} the driver's envelope at "
                        f"{position(found.travel[i], 0.0)}, at its joint swing diameter; conservative: a spot just out of reach may count "
                        "as reached", points=(tuple(map(float, found.tip[i])),)),)
