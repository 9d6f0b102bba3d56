"""What a section begins with when it is added to a car: sizes that fit this car, to be looked at and changed.

The sizes of stock and the gaps are common practice, no source, unless said otherwise; the rules judge them like any other.
"""
from __future__ import annotations

from collections.abc import Callable
from typing import Any

from .. import catalog, model, sections
from ..mechanics.scene import Scene
from ..record import filled, sparse
from ..units import INCH

TUBE = model.Section(outer_diameter=1.25 * INCH, wall=0.065 * INCH)
LOOP_TUBE = model.Section(outer_diameter=0.875 * INCH, wall=0.065 * INCH)
"""NHRA General Regulations 2008, section 2.4: 7/8 x 0.065 in tube at least."""
LOOP_BEHIND_JOINT = 5.0 * INCH
"""NHRA General Regulations 2008, section 2.4: within 6 in of the joint."""
AROUND_JOINT = 1.0 * INCH
"""From what the joints sweep to what goes around them."""
INSIDE_LOOP = 0.75 * INCH
"""What a loop is larger than the enclosure that it carries."""
FLOOR_ASIDE = 4.5 * INCH
"""Floor tubes left and right of the center plane: about where the feet of loops around a shaft come down."""
STEP = INCH / 4.0
PLATE_BEYOND = 1.25 * INCH
"""From the middle of a rail to the edge of a plate that is clamped there."""
PLATE_ABOVE = 12.5 * INCH
AROUND_FLANGE = 3.25 * INCH
SHAFT_MATERIAL, SHAFT_TUBE = "4130N", model.Section(outer_diameter=3.5 * INCH, wall=0.083 * INCH)
SWING_BEYOND_TUBE = 1.125 * INCH


def first(path: str, car: model.Car, scene: Scene) -> Any:
    """A record for a section that is being added to a car: of a list, its next item. What nothing in the car hints at is absent."""
    kind = sections.section_of(path).record
    given = _FIRST.get(path, lambda _car, _scene: {})(car, scene)
    return sparse(kind, **given)


def _up(value: float) -> float:
    """The next quarter inch."""
    return -(-value // STEP) * STEP


def _near(value: float) -> float:
    return round(value / STEP) * STEP


def _uprights(car: model.Car, scene: Scene) -> dict[str, Any]:
    return {"half_spacing": scene.chassis.rails.half_spacing}


def _footwell(car: model.Car, scene: Scene) -> dict[str, Any]:
    return {"x": _near(float(scene.front_joint[0]) + 6.0 * INCH), "z": scene.chassis.rails.height, "section": TUBE}


def _rear_member(car: model.Car, scene: Scene) -> dict[str, Any]:
    return {"x": _near(float(scene.rear_joint[0]) + 12.0 * INCH), "z": scene.chassis.rails.height, "section": scene.chassis.rails.section}


def _upper(car: model.Car, scene: Scene) -> dict[str, Any]:
    return {"half_spacing": 5.0 * INCH, "z": _up(float(max(scene.front_joint[2], scene.rear_joint[2])) + 6.0 * INCH)}


def _tube(car: model.Car, scene: Scene) -> dict[str, Any]:
    """A floor tube beside the shaft, from the rear cross member to the footwell tube, for the feet of loops; where one of those is missing,
    as far as the driveshaft goes."""
    chassis, ends = scene.chassis, []
    for tube, joint in ((chassis.rear_cross_member, scene.rear_joint), (chassis.footwell_tube, scene.front_joint)):
        known = tube is not None and tube.x is not None and tube.z is not None
        ends.append((tube.x, tube.z) if known else (float(joint[0]), chassis.rails.height))
    name = sections.free_name(car, "chassis.tubes", "floor_left")
    aside = FLOOR_ASIDE if name == "floor_left" else -FLOOR_ASIDE
    return {"name": name if name == "floor_left" else sections.free_name(car, "chassis.tubes", "floor_right"), "section": TUBE,
            "points": tuple((x, aside, z) for x, z in ends)}


def _firewall(car: model.Car, scene: Scene) -> dict[str, Any]:
    return {"x": float(scene.engine_point(-scene.stack.total)[0])}


def _front_plate(car: model.Car, scene: Scene) -> dict[str, Any]:
    return {"kind": "narrow", "thickness": 0.25 * INCH, "foot_half_spacing": 9.0 * INCH, "foot_drop": 2.0 * INCH}


def _protector(car: model.Car, scene: Scene) -> dict[str, Any]:
    return {"thickness": 0.125 * INCH, "crank_opening": 4.0 * INCH}


def _mid_plate(car: model.Car, scene: Scene) -> dict[str, Any]:
    """To the rails and over the bell, around the crank flange."""
    rails = scene.chassis.rails
    below = float(scene.engine_point(0.0)[2]) - (rails.height or 0.0)
    return {"thickness": 0.25 * INCH, "center_opening": scene.engine.crank_flange_diameter + AROUND_FLANGE,
            "half_width": (rails.half_spacing or 0.0) + PLATE_BEYOND, "above_crank": PLATE_ABOVE,
            "below_crank": max(below, 0.0) + PLATE_BEYOND}


def _rail_tabs(car: model.Car, scene: Scene) -> dict[str, Any]:
    return {"thickness": 0.1875 * INCH, "bolt": 0.375 * INCH}


def _driveshaft(car: model.Car, scene: Scene) -> dict[str, Any]:
    """Of steel tube, with the numbers of its material in the catalog."""
    steel = catalog.material(SHAFT_MATERIAL)
    return {"material": SHAFT_MATERIAL, "axial_modulus": steel.modulus, "shear_modulus": steel.shear_modulus, "density": steel.density,
            "outer_diameter": SHAFT_TUBE.outer_diameter, "wall": SHAFT_TUBE.wall,
            "joint_swing_diameter": SHAFT_TUBE.outer_diameter + SWING_BEYOND_TUBE}


def _support_tube(car: model.Car, scene: Scene) -> dict[str, Any]:
    top = car.plates.mid.above_crank if car.plates.mid is not None else PLATE_ABOVE
    return {"section": TUBE, "above_crank": top - 0.8 * INCH, "behind_plate": 0.9 * INCH}


def _transmission_mount(car: model.Car, scene: Scene) -> dict[str, Any]:
    return {"tab_thickness": 0.1875 * INCH, "tube": model.Section(outer_diameter=INCH, wall=0.083 * INCH), "cross_bolt": 0.375 * INCH}


def _cross_member(car: model.Car, scene: Scene) -> dict[str, Any]:
    footwell, behind = scene.chassis.footwell_tube, float(scene.front_joint[0]) + 2.0 * INCH
    at = {"reference": "chassis_x", "offset": _near(behind)} if footwell is None or footwell.x is None else \
        {"reference": "footwell_tube", "offset": _near(behind - footwell.x)}
    return {**at, "z": scene.chassis.rails.height, "section": TUBE}


def _limiter(car: model.Car, scene: Scene) -> dict[str, Any]:
    return {"plate_y": 6.0 * INCH, "plate_z": -2.0 * INCH}


def _stands(car: model.Car, scene: Scene) -> dict[str, Any]:
    """The main bearing bore is measured on the block; what stands here is only to begin with."""
    return {"bar": model.Section(outer_diameter=2.75 * INCH, wall=0.25 * INCH)}


def _header(car: model.Car, scene: Scene) -> dict[str, Any]:
    engine = scene.engine
    return {"name": sections.free_name(car, "headers", "left"), "x_rear": 0.0, "x_front": engine.block_length,
            "y_right": engine.block_half_width, "y_left": engine.block_half_width + 4.0 * INCH, "z_low": -2.0 * INCH, "z_high": 8.0 * INCH}


def _around(car: model.Car, scene: Scene) -> float:
    """What goes around the driveshaft: the one that the car has, or the one that it would begin with."""
    shaft = filled(car.driveshaft if car.driveshaft is not None else first(sections.DRIVESHAFT, car, scene))
    return float(max(shaft.joint_swing_diameter, shaft.outer_diameter) + 2.0 * AROUND_JOINT)


def _loop(car: model.Car, scene: Scene) -> dict[str, Any]:
    """Behind the front joint as far as the rule lets it be, or an inch off the rearmost loop that is there."""
    held = sections.get(car, "containment.loops") or ()
    x = float(scene.front_joint[0]) - LOOP_BEHIND_JOINT if not held else min(loop.x for loop in held) - 6.0 * INCH
    return {"name": sections.free_name(car, "containment.loops", "front" if not held else "next"), "kind": "split", "x": _near(x),
            "inner_diameter": _up(_around(car, scene) + INSIDE_LOOP), "section": LOOP_TUBE}


def _enclosure(car: model.Car, scene: Scene) -> dict[str, Any]:
    """Through the two foremost loops, which carry it; where there are none yet, its mounts say that they are wanted."""
    front = float(scene.front_joint[0])
    loops = sorted(sections.get(car, "containment.loops") or (), key=lambda loop: -loop.x)[:2]
    bores = [loop.inner_diameter - INSIDE_LOOP for loop in loops if loop.inner_diameter]
    x_rear = loops[1].x - 2.0 * INCH if len(loops) > 1 else _near(front - 12.0 * INCH)
    return {"x_front": _near(front + 1.0 * INCH), "x_rear": x_rear, "wall": 0.065 * INCH,
            "outer_diameter": min([_up(_around(car, scene)), *bores])}


def _tunnel(car: model.Car, scene: Scene) -> dict[str, Any]:
    return {"material": "4130N", "thickness": 0.065 * INCH, "clearance": 0.75 * INCH}


_FIRST: dict[str, Callable[[model.Car, Scene], dict[str, Any]]] = {
    "chassis.uprights": _uprights, "chassis.footwell_tube": _footwell, "chassis.rear_cross_member": _rear_member,
    "chassis.upper_fore_aft": _upper, "chassis.tubes": _tube, "chassis.firewall": _firewall,
    "plates.front": _front_plate, "plates.protector": _protector,
    "plates.mid": _mid_plate, "mounts.rail_tabs": _rail_tabs, "driveshaft": _driveshaft,
    "mounts.support_tube": _support_tube, "mounts.transmission": _transmission_mount, "mounts.cross_member": _cross_member,
    "mounts.limiter_strut": _limiter, "mounts.setup_stands": _stands, "headers": _header,
    "containment.loops": _loop, "containment.enclosure": _enclosure, "containment.tunnel": _tunnel,
}
