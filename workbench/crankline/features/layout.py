"""The layout: the placement's numbers and the stack, and what follows from them. Everything but chassis and data hangs
on it; it links to nothing downstream."""
from __future__ import annotations

import math
from typing import Any

import FreeCAD as App

from .. import model
from ..compat import add_property
from ..mechanics.fourbar import SuspensionError
from ..mechanics.scene import Scene, Stack, build
from ..mechanics.suspension import static_instant_centre, suspension_of
from ..units import length_text
from .base import Feature, host_placement
from .digest import digest
from .result_properties import output

_RESULTS = (("App::PropertyPlacement", "PowertrainPlacement", "Frame of the engine in the car"),
            ("App::PropertyVector", "CrankRear", "Crank centerline at the rear face of the block"),
            ("App::PropertyVector", "CrankFront", "Crank centerline at the front face of the block"),
            ("App::PropertyVector", "FrontJoint", "Center of the front driveshaft joint"),
            ("App::PropertyVector", "RearJoint", "Center of the rear driveshaft joint"),
            ("App::PropertyAngle", "SolvedPitch", "Pitch of the crank"),
            ("App::PropertyDistance", "JointDistance", "Distance between the joint centers"),
            ("App::PropertyAngle", "FrontJointAngle", "Angle of the front joint at static ride height"),
            ("App::PropertyAngle", "RearJointAngle", "Angle of the rear joint at static ride height"),
            ("App::PropertyVector", "InstantCentre", "Point about which the rear axle turns in side view at static ride height; "
             "0, 0, 0 where links are parallel or the axle is rigid"),
            ("App::PropertyDistance", "SwingArm", "Instant center ahead of the rear axle, negative behind it; 0 where there is none"))


class Layout(Feature):
    """Where the powertrain stands."""

    kind = "layout"
    schema = 2
    record = model.Placement
    has_layout = False
    links = (("Chassis", "The chassis object"), ("Engine", "The engine's data"), ("Transmission", "The transmission's data"))

    def ensure(self, obj) -> None:
        super().ensure(obj)
        for name, doc in (("ProtectorThickness", "Thickness of the block protector, 0 without one"),
                          ("MidPlateThickness", "Thickness of the mid plate, 0 without one")):
            add_property(obj, "App::PropertyDistance", name, "Stack", doc)
        for host_type, name, doc in _RESULTS:
            output(obj, host_type, name, "Results", doc)
        output(obj, "App::PropertyString", "SceneDigest", "Internal", "Digest of what the scene was computed from", hidden=True)

    def stack(self, obj) -> Stack:
        """The stack between block and transmission; ValueError where a thickness is no length."""
        values = []
        for name in ("ProtectorThickness", "MidPlateThickness"):
            value = float(getattr(obj, name).Value)
            if not 0.0 <= value <= 50.0:
                raise ValueError(f"{obj.Label}: {name} is {length_text(value)}; allowed is {length_text(0.0)} to {length_text(50.0)}")
            values.append(value)
        return Stack(*values)

    def inputs(self, obj) -> tuple[Any, ...]:
        """Every record that the scene is computed from."""
        for name, _doc in self.links:
            linked = getattr(obj, name)
            if linked is None or getattr(linked, "Proxy", None) is None:
                raise ValueError(f"{obj.Label}: {name} links to nothing that is alive; set the link or repair the document")
            if "Invalid" in linked.State:
                raise ValueError(f"{obj.Label}: {linked.Label} is in error, so nothing can be placed; see its message")
        chassis = obj.Chassis.Proxy
        return (chassis.read(obj.Chassis), chassis.read_rear_end(obj.Chassis), obj.Engine.Proxy.read(obj.Engine),
                obj.Transmission.Proxy.read(obj.Transmission), self.read(obj), self.stack(obj))

    def scene(self, obj) -> Scene:
        """The scene as of the last execute; computed again only when its digest is not the one remembered."""
        remembered = getattr(self, "_scene", None)
        if remembered is None or remembered[0] != obj.SceneDigest or not obj.SceneDigest:
            inputs = self.inputs(obj)
            remembered = (digest(inputs, 1), build(*inputs))
            self._scene = remembered
        return remembered[1]

    def run(self, obj) -> None:
        inputs = self.inputs(obj)
        scene = build(*inputs)
        mark = digest(inputs, 1)
        self._scene = (mark, scene)
        obj.SceneDigest = mark
        obj.PowertrainPlacement = host_placement(scene.engine_frame)
        obj.CrankRear = App.Vector(*scene.engine_point(0.0))
        obj.CrankFront = App.Vector(*scene.engine_point(scene.engine.block_length))
        obj.FrontJoint, obj.RearJoint = App.Vector(*scene.front_joint), App.Vector(*scene.rear_joint)
        obj.SolvedPitch = math.degrees(scene.pitch)
        obj.JointDistance = float(scene.driveline.length)
        obj.FrontJointAngle = math.degrees(float(scene.driveline.front_angle))
        obj.RearJointAngle = math.degrees(float(scene.driveline.rear_angle))
        _show_suspension(obj, scene.chassis, scene.rear_end)

    def fill(self, obj) -> None:
        chassis = obj.Chassis.Proxy
        _show_suspension(obj, chassis.read(obj.Chassis), chassis.read_rear_end(obj.Chassis))


def _show_suspension(obj, chassis: model.Chassis, rear_end: model.RearEnd) -> None:
    """Links that do not close are told by the checks; the powertrain is placed all the same."""
    try:
        centre = static_instant_centre(suspension_of(rear_end), (0.0, chassis.rear_tire.loaded_radius))
    except SuspensionError:
        centre = None
    x, z = map(float, centre.point) if centre is not None and centre.near else (0.0, 0.0)
    obj.InstantCentre, obj.SwingArm = App.Vector(x, 0.0, z), x
