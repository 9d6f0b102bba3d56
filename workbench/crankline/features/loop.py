"""What both kinds of loop share: a chassis station, a centre, and what moves with the chassis."""
from __future__ import annotations

import numpy as np

from .. import model
from ..compat import add_property
from ..geometry import loop_ring
from ..mechanics.frames import Frame
from .base import ChassisPart, developed_length, output


class Loop(ChassisPart):
    """A loop around the driveshaft. Its station is a chassis X; its distance from the joint is a result."""
    record = model.Loop

    def ensure(self, obj) -> None:
        super().ensure(obj)
        add_property(obj, "App::PropertyInteger", "Number", "Identity", "Place in the list of loops")
        output(obj, "App::PropertyDistance", "BehindFrontJoint", "Results",
               "Centre of the loop behind the centre of the front joint, along the car")
        developed_length(obj, "Length of the ring's centre line: what is cut before rolling, allowance for the machine's grip not counted")
        output(obj, "App::PropertyDistance", "BendRadius", "Results", "Centre-line radius of the ring's bends")
        obj.setPropertyStatus("Number", "Output")

    @classmethod
    def spec(cls, records, scene):
        return cls.geometry.spec(records.own, scene)

    @classmethod
    def frame(cls, records, scene) -> Frame:
        return Frame(np.eye(3), scene.loop_center(records.own))

    def results(self, obj, records, spec, scene) -> None:
        obj.BehindFrontJoint = float(scene.front_joint[0]) - records.own.x
        ring = loop_ring.ring_of(records.own)
        obj.DevelopedLength, obj.BendRadius = ring.length, ring.bend
