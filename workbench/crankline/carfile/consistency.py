"""Checks of a car file that need more than one field: only what cannot be built. What is merely wrong is a finding."""
from __future__ import annotations

import re
from dataclasses import fields, is_dataclass

import numpy as np

from .. import model, units
from ..mechanics import scene
from ..record import filled
from ..source import Node


def check(car: model.Car, root: Node) -> None:
    """SourceError for the first thing that contradicts another or leaves a part without its dimensions."""
    _tubes(car, root)
    _driver(car, root)
    _chassis(car, root)
    _suspension(car, root)
    _transmission(car, root)
    _plates(car, root)
    _loops(car, root)
    _lengths(car, root)
    if car.chassis.sketches is None:
        _placed(car, root)


def _need(node: Node, record: object, names: tuple[str, ...], why: str) -> None:
    for name in names:
        if getattr(record, name) is None:
            raise node.error(f"the key is missing; {why}", name)


def _inches(value: float) -> str:
    return units.write(value, "length", "in")


def _ordered(node: Node, record: object, pairs: tuple[tuple[str, str], ...]) -> None:
    for low, high in pairs:
        a, b = getattr(record, low), getattr(record, high)
        if a is not None and b is not None and a >= b:
            raise node.at(low).error(f"{_inches(a)} is not less than {high} {_inches(b)}; {low} must be the smaller of the two",
                                     "" if low in node.value else low)


def _tubes(record: object, node: Node) -> None:
    """Every tube has a hole: its wall is less than half its diameter."""
    for field in fields(record):
        value = getattr(record, field.name)
        below = node.at(field.metadata["entry"].key or field.name)
        if isinstance(value, tuple):
            for number, item in enumerate(value):
                if is_dataclass(item) and below.kind == "list":
                    _tubes(item, below.value[number])
        elif is_dataclass(value) and below is not node:
            _tubes(value, below)
    if isinstance(record, (model.Section, model.Enclosure, model.Driveshaft)) and 2 * record.wall >= record.outer_diameter:
        raise node.at("wall").error(f"{_inches(record.wall)} is half of outer_diameter {_inches(record.outer_diameter)} or more; "
                                    "the wall of a tube must be less")


def _driver(car: model.Car, root: Node) -> None:
    envelope = car.car.driver_envelope
    if envelope is not None:
        _ordered(root.at("car", "driver_envelope"), envelope, (("x_rear", "x_front"), ("y_right", "y_left"), ("z_low", "z_high")))


def _chassis(car: model.Car, root: Node) -> None:
    chassis, node = car.chassis, root.at("chassis")
    if chassis.sketches is None:
        why = "give it, or name the sketches that give it in chassis.sketches"
        needed = {"rails": ("half_spacing", "height"), "uprights": ("half_spacing",), "footwell_tube": ("x", "z"),
                  "rear_cross_member": ("x", "z"), "upper_fore_aft": ("half_spacing", "z")}
        for name, names in needed.items():
            if getattr(chassis, name) is not None:
                _need(node.at(name), getattr(chassis, name), names, why)
        if chassis.rails.kind == "double":
            _need(node.at("rails"), chassis.rails, ("upper_height",), "a double-rail chassis needs it")
        if car.mounts.support_tube is not None and chassis.uprights is None:
            raise node.error("the section is missing; mounts.support_tube is welded to the uprights, so add "
                             "uprights: {half_spacing}", "uprights")
        member = car.mounts.cross_member
        if member is not None and filled(member).reference == "footwell_tube" and chassis.footwell_tube is None:
            raise root.at("mounts", "cross_member", "reference").error(
                "there is no chassis.footwell_tube to count from; add it, or write reference: chassis_x")
    _ordered(node.at("rails"), chassis.rails, (("x_rear", "x_front"), ("height", "upper_height")))
    if chassis.upper_fore_aft is not None:
        _ordered(node.at("upper_fore_aft"), chassis.upper_fore_aft, (("x_rear", "x_front"),))
    if filled(car.plates.mid).kind == "double_rail" and filled(chassis.rails).kind != "double":
        raise root.at("plates", "mid", "kind").error("a double_rail mid plate needs chassis.rails of kind double; change one of the two")


def _suspension(car: model.Car, root: Node) -> None:
    rear, node = car.rear_end, root.at("rear_end")
    if car.chassis.sketches is None:
        if rear.pinion_joint is None and rear.housing is None:
            raise node.error("the section is missing; give pinion_joint: {x, y, z}, or housing: {joint_ahead, hypoid_drop}", "pinion_joint")
        _need(node, rear, ("pinion_pitch",), "give an angle such as 2.0 deg, or a pinion line in the side sketch")
    suspension, below = rear.suspension, node.at("suspension")
    if suspension.kind == "four_link":
        _need(below, suspension, ("lower", "upper"), "a four_link needs lower and upper: {axle: {x, z}, chassis: {x, z}}")
    elif suspension.kind == "ladder":
        _need(below, suspension, ("pivot",), "a ladder bar needs its front pivot: {x, z}")
    for name in ("lower", "upper"):
        link = getattr(suspension, name)
        if link is not None and link.axle == link.chassis:
            raise below.at(name).error("axle and chassis are the same point; a link has a length")


def _transmission(car: model.Car, root: Node) -> None:
    box, node = car.transmission, root.at("transmission")
    if box.kind == "manual":
        _need(node, box, ("bellhousing_depth",), "a manual transmission has a bellhousing; give its depth")
    if box.bellhousing_depth is not None and box.bellhousing_depth >= box.bell_to_seal:
        raise node.at("bellhousing_depth").error(f"{_inches(box.bellhousing_depth)} is not less than bell_to_seal "
                                                 f"{_inches(box.bell_to_seal)}, of which it is a part")
    if box.mount_pad.from_bell >= box.bell_to_seal:
        raise node.at("mount_pad", "from_bell").error(f"{_inches(box.mount_pad.from_bell)} is not less than bell_to_seal "
                                                      f"{_inches(box.bell_to_seal)}; the pad is on the transmission")
    if box.pan is not None:
        _ordered(node.at("pan"), box.pan, (("from_bell_front", "from_bell_rear"),))
    if car.engine.pan is not None:
        _ordered(root.at("engine", "pan"), car.engine.pan, (("x_rear", "x_front"),))


def _plates(car: model.Car, root: Node) -> None:
    front, node = car.plates.front, root.at("plates")
    if front is not None and front.kind == "narrow":
        _need(node.at("front"), front, ("foot_half_spacing", "foot_drop"), "a narrow front plate stands on plate feet")
    elif front is not None:
        _need(node.at("front"), front, ("half_width",), "a wide front plate reaches the rails")
    mid = car.plates.mid
    for name in ("half_width", "above_crank", "below_crank"):
        if mid.center_opening / 2 >= getattr(mid, name):
            raise node.at("mid", "center_opening").error(f"an opening of {_inches(mid.center_opening)} cuts through the plate's edge at {name} "
                                                         f"{_inches(getattr(mid, name))}; make it less than twice that")


def _loops(car: model.Car, root: Node) -> None:
    held = car.containment
    if held is None:
        return
    node, seen = root.at("containment", "loops"), {}
    for number, loop in enumerate(held.loops or ()):
        below = node.value[number]
        if "/" in loop.name:
            raise below.at("name").error("a loop's name may not contain '/'; it becomes a part of the key loop/NAME")
        if loop.name in seen:
            raise below.at("name").error(f"{loop.name!r} is also the loop of line {seen[loop.name]}; every loop needs its own name")
        seen[loop.name] = below.at("name").line
        legs = [name for name in ("inner_width", "inner_height") if getattr(loop, name) is not None]
        if loop.inner_diameter is not None and legs:
            raise below.at("inner_diameter").error(f"both inner_diameter and {legs[0]} were found; give inner_diameter for a round loop, "
                                                   "or inner_width and inner_height for straight legs")
        if loop.inner_diameter is None and len(legs) < 2:
            lacking = "inner_diameter" if not legs else "inner_height" if legs == ["inner_width"] else "inner_width"
            raise below.error("the key is missing; give inner_diameter for a round loop, or inner_width and inner_height for straight legs", lacking)
        if (loop.form or "tube") == "tube":
            _need(below, loop, ("section",), "a loop of tube needs section: {outer_diameter, wall}")
        else:
            _need(below, loop, ("strap_thickness", "strap_width"), "a strap needs strap_thickness and strap_width")
    if held.enclosure is not None:
        _ordered(root.at("containment", "enclosure"), held.enclosure, (("x_rear", "x_front"),))


def _lengths(car: model.Car, root: Node) -> None:
    tire = car.chassis.rear_tire
    if tire.free_radius is not None and tire.free_radius < tire.loaded_radius:
        raise root.at("chassis", "rear_tire", "free_radius").error(
            f"{_inches(tire.free_radius)} is less than loaded_radius {_inches(tire.loaded_radius)}; a loaded tyre is not larger than a free one")


def _placed(car: model.Car, root: Node) -> None:
    try:
        with np.errstate(all="ignore"):
            scene.of(car)
    except scene.SceneError as error:
        # The sentence begins with the key path of the field to blame.
        found = re.match(r"([a-z_]+(?:\.[a-z_]+)+)(?:: | )(?=\S)", str(error))
        if not found:
            raise root.at("placement").error(str(error)) from None
        node = root.at(*found[1].split("."))
        text = str(error)[found.end():]
        key = found[1].removeprefix(node.path).lstrip(".")
        raise node.error(text if str(error)[len(found[1])] == ":" else f"it {text}", key) from None
