"""Checks of a car file that need more than one field: only what cannot be built. What is merely wrong is a finding."""
from __future__ import annotations

import re
from collections.abc import Callable, Iterable
from dataclasses import fields, is_dataclass
from functools import partial
from typing import Any

import numpy as np

from .. import model, units
from ..mechanics import car_balance, engine_block, scene
from ..record import filled, look
from ..source import Node, Problems

GIVEN_BY_SKETCHES = {"rails": ("half_spacing", "height"), "uprights": ("half_spacing",), "footwell_tube": ("x", "z"),
                     "rear_cross_member": ("x", "z"), "upper_fore_aft": ("half_spacing", "z")}
"""Sections of the chassis and the fields of theirs that may be absent only where sketches give them."""

_SIZES = "give inner_diameter for a round loop, or inner_width and inner_height for straight legs"


def check(car: model.Car, root: Node) -> None:
    """SourceError for what contradicts something else or leaves a part without its dimensions; lengths in the car's units."""
    with units.read_in(car.car.units):
        _check(car, root)


def _check(car: model.Car, root: Node) -> None:
    problems, node = Problems(), root.at
    by_numbers = car.chassis.sketches is None
    held = zip(car.protective_items or (), root.at("protective_items").items if car.protective_items else ())
    looks: tuple[Callable[[], None], ...] = (
        lambda: _tubes(car, root), *(partial(_ordered, car, root, *names) for names in ORDERED), lambda: _tire(car, root),
        lambda: _scales(car, root),
        lambda: _chassis(car, root) if by_numbers else None, lambda: _suspension(car.rear_end.suspension, node("rear_end", "suspension")),
        lambda: _engine(filled(car.engine), node("engine")), lambda: _transmission(car.transmission, node("transmission")),
        lambda: _plates(car, root), lambda: _mounts(car, root), lambda: _headers(car, root),
        lambda: _frame(car.chassis, node("chassis", "tubes")), lambda: _loops(car.containment, node("containment", "loops")),
        lambda: _dates(held))
    for look_at in looks:
        with problems.gathered():
            look_at()
    if by_numbers and not problems:
        _placed(car, root)
    problems.tell()


ORDERED = (("car.driver_envelope", "x_rear", "x_front"), ("car.driver_envelope", "y_right", "y_left"),
           ("car.driver_envelope", "z_low", "z_high"), ("chassis.rails", "x_rear", "x_front"), ("chassis.rails", "height", "upper_height"),
           ("chassis.upper_fore_aft", "x_rear", "x_front"), ("engine.pan", "x_rear", "x_front"),
           ("transmission.pan", "from_bell_front", "from_bell_rear"), ("transmission", "bellhousing_depth", "bell_to_seal"),
           ("containment.enclosure", "x_rear", "x_front"))
"""Path of a record, and two of its lengths of which the first is the smaller one."""


def _tire(car: model.Car, root: Node) -> None:
    tire = car.chassis.rear_tire
    if tire.free_radius is not None and tire.loaded_radius > tire.free_radius:
        raise root.blame(f"{_length(tire.loaded_radius)} is more than free_radius {_length(tire.free_radius)}; the load flattens a tire, "
                         "so write the smaller of the two here", "chassis", "rear_tire", "loaded_radius")


def _scales(car: model.Car, root: Node) -> None:
    try:
        car_balance.weighed(filled(car))
    except ValueError as error:
        key, _colon, said = str(error).partition(": ")
        raise root.blame(said, *key.split(".")) from None


def _dates(items: Iterable[tuple[model.ProtectiveItem, Node]]) -> None:
    for item, below in items:
        if item.issued is not None and item.expires is not None and item.expires < item.issued:
            raise below.blame(f"{item.expires} lies before issued {item.issued}; one of the two dates is wrong", "expires")


def _need(node: Node, record: Any, names: tuple[str, ...], why: str) -> None:
    problems = Problems()
    for name in names:
        if getattr(record, name) is None:
            problems.add(node.blame(f"the key is missing; {why}", name))
    problems.tell()


def _length(value: float) -> str:
    return units.write(value, "length", units.reading())


def _ordered(car: model.Car, root: Node, path: str, low: str, high: str) -> None:
    _in_order(root, look(car, tuple(path.split("."))), low, high, *path.split("."))


def _in_order(node: Node, record: Any, low: str, high: str, *path: str) -> None:
    a, b = (getattr(record, name, None) for name in (low, high))
    if a is not None and b is not None and a >= b:
        raise node.blame(f"{_length(a)} is not less than {high} {_length(b)}; {low} must be the smaller of the two", *path, low)


def _tubes(record: Any, node: Node) -> None:
    """Every tube has a hole: its wall is less than half its diameter."""
    problems = Problems()
    for field in fields(record):
        value = getattr(record, field.name)
        below = node.at(field.metadata["entry"].key or field.name)
        if below is node:
            continue
        several = isinstance(value, tuple) and below.kind == "list"
        held = zip(value, below.items) if several else ((value, below),)
        for item, child in held:
            with problems.gathered():
                if is_dataclass(item):
                    _tubes(item, child)
    if isinstance(record, (model.Section, model.Enclosure, model.Driveshaft)) and 2 * record.wall >= record.outer_diameter:
        problems.add(node.blame(f"{_length(record.wall)} is half of outer_diameter {_length(record.outer_diameter)} or more; the wall of a "
                                "tube must be less", "wall"))
    problems.tell()


def _chassis(car: model.Car, root: Node) -> None:
    """What the sketches would give."""
    chassis, node, rear, problems = car.chassis, root.at("chassis"), car.rear_end, Problems()

    def need(below: Node, record: Any, names: tuple[str, ...], why: str) -> None:
        with problems.gathered():
            _need(below, record, names, why)

    for name, names in GIVEN_BY_SKETCHES.items():
        if getattr(chassis, name) is not None:
            need(node.at(name), getattr(chassis, name), names, "give it, or name the sketches that give it in chassis.sketches")
    if chassis.rails.kind == "double":
        need(node.at("rails"), chassis.rails, ("upper_height",), "a double-rail chassis needs it")
    if car.mounts.support_tube is not None and chassis.uprights is None:
        problems.add(node.blame("the section is missing; mounts.support_tube is welded to the uprights, so add uprights: {half_spacing}",
                                "uprights"))
    member = car.mounts.cross_member
    if member is not None and filled(member).reference == "footwell_tube" and chassis.footwell_tube is None:
        problems.add(root.blame("there is no chassis.footwell_tube to count from; add it, or write reference: chassis_x",
                                "mounts", "cross_member", "reference"))
    if rear.pinion_joint is None and rear.housing is None:
        problems.add(root.blame("the section is missing; give pinion_joint: {x, y, z}, or housing: {joint_ahead, hypoid_drop}",
                                "rear_end", "pinion_joint"))
    for tube, below in zip(chassis.tubes or (), node.at("tubes").items if chassis.tubes else ()):
        need(below, tube, ("points",), "give the points of its centerline, or name the sketches that draw it in chassis.sketches")
    need(root.at("rear_end"), rear, ("pinion_pitch",), "give an angle such as 2.0 deg, or a pinion line in the side sketch")
    problems.tell()


def _suspension(suspension: model.Suspension | None, node: Node) -> None:
    if suspension is None:
        return
    if suspension.kind == "four_link":
        _need(node, suspension, ("lower", "upper"), "a four_link needs lower and upper: {axle: {x, z}, chassis: {x, z}}")
    elif suspension.kind == "ladder":
        _need(node, suspension, ("pivot",), "a ladder bar needs its front pivot: {x, z}")
    for name in ("lower", "upper"):
        link = getattr(suspension, name)
        if link is not None and link.axle == link.chassis:
            raise node.blame("axle and chassis are the same point; a link has a length", name)


def _engine(engine: model.Engine, node: Node) -> None:
    outside = engine_block.bores_outside(engine)
    if outside is not None:
        raise node.blame(outside, "bore_spacing")
    if engine.peak_torque_speed is not None and engine.peak_torque_speed > engine.rpm_limit:
        raise node.blame(f"{units.write(engine.peak_torque_speed, 'turning')} is above rpm_limit "
                         f"{units.write(engine.rpm_limit, 'turning')}, which the engine never passes; correct one of the two",
                         "peak_torque_speed")


def _transmission(box: model.Transmission, node: Node) -> None:
    if box.kind == "manual":
        _need(node, box, ("bellhousing_depth",), "give the depth of the bellhousing, which every manual transmission has")
    if box.mount_pad.from_bell >= box.bell_to_seal:
        raise node.blame(f"{_length(box.mount_pad.from_bell)} is not less than bell_to_seal {_length(box.bell_to_seal)}; the pad is "
                         "ahead of the output seal", "mount_pad", "from_bell")


def _plates(car: model.Car, root: Node) -> None:
    front, mid, node = car.plates.front, car.plates.mid, root.at("plates")
    if not car.engine.rear_holes:
        raise root.blame("the pattern is empty, so no plate can be bolted to the block; give the holes, or leave the key out to use "
                         "the catalog's", "engine", "rear_holes")
    if front is not None and front.kind == "narrow":
        _need(node.at("front"), front, ("foot_half_spacing", "foot_drop"), "a narrow front plate is mounted on plate feet")
    elif front is not None:
        _need(node.at("front"), front, ("half_width",), "a wide front plate reaches the rails")
    if mid is None:
        return
    if filled(mid).kind == "double_rail" and filled(car.chassis.rails).kind != "double":
        raise node.blame("a double_rail mid plate needs chassis.rails of kind double; change one of the two", "mid", "kind")
    for name in ("half_width", "above_crank", "below_crank"):
        if mid.center_opening / 2 >= getattr(mid, name):
            raise node.blame(f"an opening of {_length(mid.center_opening)} cuts through the plate's edge at {name} "
                             f"{_length(getattr(mid, name))}; make it less than twice that", "mid", "center_opening")


def _mounts(car: model.Car, root: Node) -> None:
    """A mount has what it stands on or is bolted to."""
    if car.mounts.transmission is not None and car.mounts.cross_member is None:
        raise root.blame("there is no mounts.cross_member for it to mount on; add cross_member: {section, z}, or leave out the "
                         "transmission mount", "mounts", "transmission")
    if car.mounts.limiter_strut is not None and car.plates.front is None:
        raise root.blame("there is no plates.front, to which it is bolted; add a front plate, or leave out the limiter strut",
                         "mounts", "limiter_strut")


def _named(records: tuple[Any, ...], node: Node, noun: str) -> None:
    """Every record of a list has a name of its own that can be a part's key."""
    seen: dict[str, int] = {}
    for record, below in zip(records, node.items):
        if "/" in record.name:
            raise below.blame(f"{record.name!r} was found; a {noun}'s name may not contain '/', because the part's key is {noun}/NAME",
                              "name")
        if record.name in seen:
            raise below.blame(f"{record.name!r} is also the {noun} of line {seen[record.name]}; every {noun} needs its own name", "name")
        seen[record.name] = below.at("name").line


def _headers(car: model.Car, root: Node) -> None:
    if not car.headers:
        return
    node = root.at("headers")
    _named(car.headers, node, "header")
    for header, below in zip(car.headers, node.items):
        for low, high in (("x_rear", "x_front"), ("y_right", "y_left"), ("z_low", "z_high")):
            _in_order(below, header, low, high)


def _frame(chassis: model.Chassis, node: Node) -> None:
    """Further tubes: names, and at least two points where there are any."""
    if not chassis.tubes:
        return
    _named(chassis.tubes, node, "tube")
    for tube, below in zip(chassis.tubes, node.items):
        if tube.points is not None and len(tube.points) < 2:
            raise below.blame(model.too_few_points(tube.points), "points")


def _loops(containment: model.Containment | None, node: Node) -> None:
    if containment is None or not containment.loops:
        return
    _named(containment.loops, node, "loop")
    for loop, below in zip(containment.loops, node.items):
        legs = [name for name in ("inner_width", "inner_height") if getattr(loop, name) is not None]
        if loop.inner_diameter is not None and legs:
            raise below.blame(f"both inner_diameter and {legs[0]} were found; {_SIZES}", "inner_diameter")
        if loop.inner_diameter is None and len(legs) < 2:
            lacking = {(): "inner_diameter", ("inner_width",): "inner_height", ("inner_height",): "inner_width"}[tuple(legs)]
            raise below.blame(f"the key is missing; {_SIZES}", lacking)
        if filled(loop).form == "tube":
            _need(below, loop, ("section",), "a loop of tube needs section: {outer_diameter, wall}")
        else:
            _need(below, loop, ("strap_thickness", "strap_width"), "a strap needs strap_thickness and strap_width")


def _placed(car: model.Car, root: Node) -> None:
    """The placement has a solution."""
    try:
        with np.errstate(all="ignore"):
            scene.of(car)
    except scene.SceneError as error:
        # Its sentence begins with the key path of the field to blame, followed by a colon or a verb.
        said = re.fullmatch(r"(?:([a-z_]+(?:\.[a-z_]+)+)(?:: | (?=is )))?(.*)", str(error), re.S)
        assert said is not None     # every text matches
        path, problem = said.groups()
        raise root.blame(problem if ": " in str(error)[:len(path or "") + 2] else f"it {problem}" if path else problem,
                         *(path or "placement").split(".")) from None
