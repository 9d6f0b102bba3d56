"""What both kinds of loop share: a chassis station, a center, and what moves with the chassis."""
from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from .. import model
from ..compat import add_property
from ..geometry import loop_ring
from ..mechanics.frames import Frame
from ..record import filled
from ..snapshot import PartView, Snapshot
from .base import ChassisPart
from .result_properties import developed_length, output
from .side_item import Item, size

CARRIERS = ("rail", "upper_rail", "rear_cross_member", "cross_member", "footwell_tube", "upper_fore_aft", "frame_tube")
"""Roles of the tubes that a loop may stand on."""
PARAMETERS = tuple(f"containment.loops.*.{name}" for name in ("inner_diameter", "inner_width", "inner_height", "center_z", "x"))


def numbered(snapshot: Snapshot, parts: tuple[PartView, ...]) -> Iterator[Item]:
    """Every loop of the kind: the top of its bore, with station and height of its center."""
    system, keys = snapshot.system, {part.key for part in parts}
    for loop in filled(snapshot.car.containment).loops if snapshot.car.containment else ():
        if f"loop/{loop.name}" in keys:
            height = float(snapshot.placed.loop_center(loop)[2])
            bore = f"inside {size(loop.inner_diameter, system)}" if loop.inner_diameter else \
                f"inside {size(loop.inner_width or 0.0, system)} × {size(loop.inner_height or 0.0, system)}"
            yield Item(f"Loop {loop.name}, {loop.kind}", loop.x, height + (loop.inner_diameter or loop.inner_height or 0.0) / 2.0, loop.x,
                       height, bore, keys=(f"loop/{loop.name}",))


class Loop(ChassisPart):
    """A loop around the driveshaft. Its station is a chassis X; its distance from the joint is a result."""
    schema = 2
    record = model.Loop
    link_lists = (("Tubes", "The further tubes of the chassis, on which it may be mounted"),)

    def ensure(self, obj) -> None:
        super().ensure(obj)
        add_property(obj, "App::PropertyInteger", "Number", "Identity", "Place in the list of loops")
        output(obj, "App::PropertyDistance", "BehindFrontJoint", "Results",
               "Center of the loop behind the center of the front joint, along the car")
        developed_length(obj, "Length of the ring's centerline: what is cut before rolling, grip allowance not included")
        output(obj, "App::PropertyDistance", "BendRadius", "Results", "Centerline radius of the ring's bends")
        obj.setPropertyStatus("Number", "Output")

    @classmethod
    def spec(cls, records, scene):
        return cls.geometry.spec(records.own, scene, records["Tubes"])

    @classmethod
    def frame(cls, records, scene) -> Frame:
        return Frame(np.eye(3), scene.loop_center(records.own))

    def results(self, obj, records, spec, scene) -> None:
        obj.BehindFrontJoint = float(scene.front_joint[0]) - records.own.x
        ring = loop_ring.ring_of(records.own)
        obj.DevelopedLength, obj.BendRadius = ring.length, ring.bend
