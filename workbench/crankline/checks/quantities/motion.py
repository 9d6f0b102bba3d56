"""What several quantities share about the moving driveshaft: its sweep over travel, and what stands around it as measured."""
from __future__ import annotations

import math
from functools import cached_property
from weakref import WeakKeyDictionary

import numpy as np

from ...measure.measurer import Ring, Tube
from ...mechanics import travel as moving
from ...progress import Progress
from ...rules.quantity import NotEvaluated, Setting
from ...snapshot import PartView, Snapshot
from ...units import sized
from ..context import Context

LOOP_KINDS = ("split_loop", "fixed_loop")
EXTREMES = ("static", "furthest_in", "furthest_out")
AT = Setting("choices", ("static",), "slip position: static, or either end over travel and wind-up", EXTREMES)


class Motion:
    """The driveshaft of a context over travel and wind-up, computed once. openings: key to the inside of the loops measured so far."""

    def __init__(self, context: Context) -> None:
        self.scene = context.scene
        self.openings: dict[str, moving.Opening] = {}

    @cached_property
    def _everywhere(self) -> moving.Sweep:
        return moving.sweep(self.scene, *moving.positions(self.scene))

    @cached_property
    def sweep(self) -> moving.Sweep:
        """Full droop to full bump, each at least, no and greatest wind-up of the poses. TravelError where that is not reached."""
        return moving.checked(self.scene, self._everywhere)

    @cached_property
    def still(self) -> moving.Sweep:
        """The same without wind-up: nothing drives a shaft whose joint has let go."""
        return moving.checked(self.scene, self._everywhere[self._everywhere.windup == 0.0])

    @cached_property
    def extremes(self) -> dict[str, tuple[int, moving.SlipExtreme]]:
        """Static and both ends of the slip, each with its position in the sweep."""
        found = self.sweep
        standing = int(np.flatnonzero((found.travel == 0.0) & (found.windup == 0.0))[0])
        places = {"static": standing, "furthest_in": int(np.argmax(found.plunge)), "furthest_out": int(np.argmin(found.plunge))}
        return {name: (i, moving.extreme(name, found, i)) for name, i in places.items()}


_MOTIONS: WeakKeyDictionary = WeakKeyDictionary()


def motion(context: Context) -> Motion:
    """The motion of a context's driveshaft. NotEvaluated where the document is unsound."""
    context.require_scene()
    return _MOTIONS.setdefault(context, Motion(context))


def thickest(driveshaft) -> tuple[float, str]:
    """Largest diameter of a driveshaft that must pass a bore, mm, and what has it: swing of its joints, or its tube where that is
    thicker."""
    swing, tube = driveshaft.joint_swing_diameter, driveshaft.outer_diameter
    return (tube, "shaft tube") if tube > swing else (swing, "joint swing")


def position(travel: float, windup: float) -> str:
    """An axle position in words."""
    where = "static ride height" if abs(travel) < 1e-9 else f"{sized(abs(travel))} of {'bump' if travel > 0.0 else 'droop'}"
    return where if abs(windup) < 1e-12 else f"{where} with {math.degrees(windup):+.2f} deg of wind-up"


# --- what stands around it, as measured -------------------------------------------------------------------------------


def _loop_keys(snapshot: Snapshot, context: Context) -> list[str]:
    """Keys of every loop, those too that are unsound and made no part."""
    return sorted({*(part.key for kind in LOOP_KINDS for part in snapshot.kind(kind)), *context.unsound_under("loop/")})


_RINGS: WeakKeyDictionary = WeakKeyDictionary()
"""Context to the rings that were measured in it, by key."""


def ring_slices(snapshot: Snapshot, context: Context):
    """Measure the ring of every loop, one a slice of work, for ``rings``."""
    keys, asked, known = _loop_keys(snapshot, context), set(context.handed_out), _RINGS.setdefault(context, {})
    for number, key in enumerate(keys):
        if key not in known:
            progress = Progress(f"ring of {key}", number / len(keys))
            yield progress
            try:
                part = context.existing(key)
                for _cut in context.measure.ring_cuts(part.shape):
                    yield progress
                known[key] = context.measure.ring(part.shape, context.scene.shaft_at)
            except (NotEvaluated, RuntimeError):
                pass    # raised again by who asks for it
    context.handed_out.clear()
    context.handed_out.update(asked)


def rings(snapshot: Snapshot, context: Context):
    """(key, part and ring, or the reason why not) of every loop, by key."""
    scene, measure = context.scene, context.measure
    known = _RINGS.setdefault(context, {})
    for key in _loop_keys(snapshot, context):
        try:
            part = context.existing(key)
            if key not in known:
                known[key] = measure.ring(part.shape, scene.shaft_at)
            yield key, part, known[key]
        except NotEvaluated as reason:
            yield key, None, str(reason)


def opening(part, ring: Ring, context: Context) -> moving.Opening:
    """The inside of a loop as its shape shows it; NotEvaluated where it shows none."""
    if ring.inner_width is None or ring.inner_height is None:
        raise NotEvaluated(f"the inside of {part.key} cannot be measured from its shape; rebuild the loop")
    known = motion(context).openings
    if part.key not in known:
        missing = 2.0 * math.pi - context.measure.closed_angle(part.shape, ring.center, ring.reach)
        known[part.key] = moving.Opening(part.key, ring.center, ring.inner_width, ring.inner_height, 0.5 * (ring.x_front - ring.x_rear),
                                         ring.form == "tube", missing if missing > 1e-6 else 0.0)
    return known[part.key]


def enclosure(context: Context) -> tuple[PartView, Tube] | None:
    """(part, tube) of the enclosure as measured; None where the car has none."""
    part = context.part("enclosure")
    return None if part is None else (part, context.measure.tube(part.shape))


def bore(tube) -> moving.Bore:
    """The inside of a measured enclosure."""
    return moving.Bore(tube.rear, tube.front, tube.outer_diameter / 2.0 - tube.wall)
