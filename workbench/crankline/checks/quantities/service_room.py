"""Quantities of the room that taking transmission and driveshaft off needs: behind the transmission's pan, and in the enclosure's bore."""
from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from ... import sections
from ...measure.kept import Kept
from ...rules.quantity import Found, Measurement, Setting, formula, parts, quantity
from ...snapshot import Snapshot
from ...units import INCH, sized
from ..context import Context
from . import pans
from .clearance import EXACT, body, kept_of, named_region
from .motion import thickest

if TYPE_CHECKING:
    from ...measure.body import Body


@quantity("pan_gap_in_plan", "length", clears=("mounts.cross_member.offset", "placement.axle_to_block"), effort=1,
          looks_at=parts("transmission", "cross_member"), gives=("disengage_travel",), reads=pans.gap_in_plan)
def pan_gap_in_plan(snapshot: Snapshot, context: Context) -> Found:
    """Along the car, from the rear edge of the transmission's pan to the cross member behind it, seen from above; negative where
    they overlap."""
    from ...measure.body import tight_box
    scene, kept = context.scene, kept_of(context)
    transmission, member = context.part("transmission"), context.part("cross_member")
    if transmission is None or member is None:
        return ()
    pan = named_region(transmission, body(transmission, snapshot, context), "pan", scene, kept)
    if pan is None:
        return ()
    low, high = np.split(tight_box(pan, kept), 2)
    front = _box_behind(body(member, snapshot, context), round(float(low[1]), 6), round(float(high[1]), 6), kept)
    if front is None:
        return ()
    middle, height = 0.5 * float(low[1] + high[1]), 0.5 * float(front[2] + front[5])
    gap, travel = float(low[0] - front[3]), scene.transmission.disengage_travel
    over = float(low[2] - front[5])
    above = f"the bottom of the pan is {sized(over)} above it" if over > 0.0 else "the pan reaches down to it"
    return (Measurement(gap, ("transmission", "cross_member"), how=f"rear edge of the pan at X = {sized(low[0])}, front of the member at "
                        f"{sized(front[3])}; {above}; {sized(travel)} of slide-back clears dowels and pilot",
                        points=((float(low[0]), middle, float(low[2])), (float(front[3]), middle, height)), accuracy=1e-4,
                        given={"disengage_travel": travel}),)


def _box_behind(tube: Body, right: float, left: float, kept: Kept) -> np.ndarray | None:
    """Tight box (6,), mm, car frame, of what of a tube lies between two planes Y = right and left; None of one that does not reach there.
    Only what lies behind the pan's own width counts: a bow leaves the footwell tube's line beside the pan."""
    import FreeCAD
    import Part

    from ...measure.body import box_of, faces_of

    def measure() -> np.ndarray | None:
        box = faces_of(tube, kept).box
        slab = Part.makeBox(float(box[3] - box[0]) + 2.0, left - right, float(box[5] - box[2]) + 2.0,
                            FreeCAD.Vector(float(box[0]) - 1.0, right, float(box[2]) - 1.0))
        behind = tube.shape.common(slab)
        return box_of(behind) if behind.Faces else None
    # Where the member hangs on the chassis it stays where it is, wherever the pan goes along the car.
    return kept.between(("between planes", right, left), (tube.mark, tube.mark), tube.pose, measure)


@formula("disengage_travel", "length", "disengage_travel",
         spare=Setting("length", 0.125 * INCH, "clearance to be left beyond the slide-back"))
def disengage_travel(given, settings):
    """The transmission's slide-back off dowels and pilot, plus clearance."""
    return given["disengage_travel"] + settings["spare"]


@quantity("joint_through_enclosure", "length", clears=("containment.enclosure.outer_diameter",), effort=1, looks_at=parts("enclosure"))
def joint_through_enclosure(snapshot: Snapshot, context: Context) -> Found:
    """Clearance all around between the largest diameter of the driveshaft, joint swing or tube, and the bore of the enclosure tube, through
    which it is removed."""
    part = context.part("enclosure")
    if part is None:
        return ()
    tube, (thick, what) = context.measure.tube(part.shape), thickest(sections.existing(context.car, sections.DRIVESHAFT))
    bore = tube.outer_diameter - 2.0 * tube.wall
    return (Measurement(0.5 * (bore - thick), ("driveshaft", "enclosure"), how=f"bore {sized(bore)}, {what} {sized(thick)}",
                        points=(tube.rear, tube.front), accuracy=EXACT),)
