"""What the placement panel says about a placement before it is made: numbers of the mechanics as lines of text.

Pure: neither the host nor Qt is needed.
"""
from __future__ import annotations

import math
from dataclasses import dataclass

from ..mechanics import placement as placing
from ..mechanics.scene import Scene
from ..units import INCH


@dataclass(frozen=True)
class Reading:
    """One line: a name for tests, a short label, what it means, and the value (mm or rad)."""
    name: str
    label: str
    meaning: str
    value: float
    kind: str

    def text(self, system: str) -> str:
        """The value for people, in the car's unit."""
        return value_text(self.value, self.kind, system)


def value_text(value: float, kind: str, system: str) -> str:
    """A length to a thousandth of an inch or a twentieth of a millimeter, an angle to a hundredth of a degree."""
    if kind == "angle":
        degrees = math.degrees(value)
        return f"{degrees if abs(degrees) >= 0.005 else 0.0:.2f} deg"
    return f"{value:.2f} mm" if system == "mm" else f"{value / INCH:.3f} in"


def readings(scene: Scene) -> tuple[Reading, ...]:
    """The read-out of a scene, in the order in which it is shown."""
    frame, line, plug = scene.engine_frame, scene.driveline, scene.engine.number_one_plug
    return (
        Reading("pitch", "Pitch", "Crankshaft centerline to the ground", scene.pitch, "angle"),
        Reading("front_joint", "Front joint", "True angle of the front joint", float(line.front_angle), "angle"),
        Reading("rear_joint", "Rear joint", "True angle of the rear joint", float(line.rear_angle), "angle"),
        Reading("joint_distance", "Joint to joint", "Distance between the joint centers", float(line.length), "length"),
        Reading("mid_plate_front", "Mid plate front", "Rear axle centerline to the front face of the mid plate",
               float(placing.mid_plate_front(scene.located, scene.block, scene.stack.protector)), "length"),
        Reading("number_one_plug", "Number one plug", "Rear axle centerline to the center of the number one plug",
               float(placing.number_one_plug_distance(frame, [plug.x, plug.y, plug.z])), "length"),
        Reading("crank_height_rear", "Crank at rear", "Crankshaft centerline above the track at the rear face of the block",
               float(placing.crank_height_at(frame, 0.0)), "length"),
        Reading("crank_height_front", "Crank at front", "Crankshaft centerline above the track at the front face of the block",
               float(placing.crank_height_at(frame, scene.engine.block_length)), "length"),
    )
