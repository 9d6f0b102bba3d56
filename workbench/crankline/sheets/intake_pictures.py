"""Drawings of the intake sheet: where on a car the numbers of the form are measured. Outlines are those of an example car's figures,
without any number; flags above and below carry the numbers of the form. Pure."""
from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace

from .. import model
from ..mechanics import scene as scenes
from ..mechanics.chassis import completed
from ..mechanics.scene import Scene
from ..record import filled
from . import flags
from .dimension import arrow
from .drawing import Circle, Line, Polyline, Primitive, Text, bounds
from .sheet_format import Box

Place = tuple[float, float]
LETTER, STRIP = flags.LETTER, flags.STRIP


@dataclass(frozen=True)
class Flag:
    """Keys of the form that are measured at a place of the drawing, or from one place to another; ``low``: its flag hangs below."""
    keys: tuple[str, ...]
    at: Place
    to: Place | None = None
    low: bool = False


@dataclass(frozen=True)
class Drawing:
    """Outlines and flags in millimeters of the car; ``front``: whether the front of the car is to the right."""
    items: tuple[Primitive, ...]
    flags: tuple[Flag, ...]
    caption: str
    front: bool = True


def draw(drawing: Drawing, number: Callable[[str], int], box: Box) -> list[Primitive]:
    """A drawing in a box on the paper, as large as it goes, its flags in strips above and below it."""
    limits = [bounds(item) for item in drawing.items]
    low_x, low_y = min(b[0] for b in limits), min(b[1] for b in limits)
    wide, high = max(b[2] for b in limits) - low_x, max(b[3] for b in limits) - low_y
    strips = [(own, low) for low in (True, False) if (own := [one for one in drawing.flags if one.low == low])]
    below = STRIP if any(low for _own, low in strips) else 0.0
    above = STRIP if any(not low for _own, low in strips) else 0.0
    room = Box(box.x0 + 2.0, box.y0 + below + 1.0, box.x1 - 2.0, box.y1 - above - 7.0)
    scale = min(room.width / max(wide, 1e-9), room.height / max(high, 1e-9))
    left = room.x0 + (room.width - scale * wide) / 2.0 - scale * low_x
    base = room.y0 + (room.height - scale * high) / 2.0 - scale * low_y

    def at(point: Place) -> Place:
        return left + scale * point[0], base + scale * point[1]

    found: list[Primitive] = [Text(box.x0 + 1.0, box.y1 - 4.0, drawing.caption, 2.8, bold=True)]
    found += [_on_paper(item, at, scale) for item in drawing.items]
    found += _front(box) if drawing.front else []
    for own, low in strips:
        texts = [" ".join(str(number(key)) for key in one.keys) for one in own]
        y = at((low_x, low_y))[1] - STRIP + 0.5 if low else at((low_x, low_y + high))[1] + STRIP - flags.HEIGHT
        found += flags.strip(texts, [at(_middle(one)) for one in own], box.x0 + 1.0, box.x1 - 1.0, y, low)
        for one in own:
            found += _span(at(one.at), at(one.to)) if one.to is not None else [Circle(*at(one.at), 0.6, "thin", "black")]
    return found


def _middle(one: Flag) -> Place:
    return one.at if one.to is None else ((one.at[0] + one.to[0]) / 2.0, (one.at[1] + one.to[1]) / 2.0)


def _span(a: Place, b: Place) -> list[Primitive]:
    """A double arrow."""
    return [Line(*a, *b, "dimension"), arrow(*a, (a[0] - b[0], a[1] - b[1])), arrow(*b, (b[0] - a[0], b[1] - a[1]))]


def _front(box: Box) -> list[Primitive]:
    """The arrow to the front of the car, in the upper right corner, above the flags."""
    x, y = box.x1 - 9.0, box.y1 - 2.8
    return [Text(x - 1.5, y - LETTER / 2.0, "FRONT", LETTER, "right"), Line(x, y, x + 7.0, y, "thin"), arrow(x + 7.0, y, (1.0, 0.0))]


def _on_paper(item: Primitive, at: Callable[[Place], Place], scale: float) -> Primitive:
    if isinstance(item, Line):
        return Line(*at((item.x0, item.y0)), *at((item.x1, item.y1)), item.kind)
    if isinstance(item, Circle):
        return Circle(*at((item.x, item.y)), item.radius * scale, item.kind, item.fill)
    if isinstance(item, Polyline):
        return Polyline(tuple(at(point) for point in item.points), item.kind, item.closed, item.fill)
    raise TypeError(type(item).__name__)


# ---------------------------------------------------------------------------------------------------------- the drawings

def of(car: model.Car) -> dict[str, Drawing]:
    """Name to drawing, by the figures of a whole car."""
    scene, car = scenes.of(car), filled(car)
    chassis = completed(scene.chassis, car.car.wheelbase)
    return {"side": _side(car, chassis, scene), "plan": _plan(car, chassis, scene), "driver": _driver(car, chassis, scene),
            "rear_end": _rear_end(car, scene), "engine": _engine(scene), "rear_face": _rear_face(scene),
            "transmission": _transmission(scene), "placement": _placement(car, chassis, scene)}


def _xz(point: Sequence[float]) -> Place:
    return float(point[0]), float(point[2])


def _ring(points: Sequence[Place], kind: str = "visible") -> Polyline:
    return Polyline(tuple((float(x), float(y)) for x, y in points), kind, True)


def _rect(x0: float, y0: float, x1: float, y1: float, kind: str = "visible") -> Polyline:
    return _ring(((x0, y0), (x1, y0), (x1, y1), (x0, y1)), kind)


def _engine_side(scene: Scene) -> list[Primitive]:
    """Block, pan and damper in side view, car frame."""
    engine, at = scene.engine, lambda x, z: _xz(scene.engine_point(x, 0.0, z))
    found: list[Primitive] = [_ring([at(0.0, -engine.base_drop), at(engine.block_length, -engine.base_drop),
                                     at(engine.block_length, engine.deck_height), at(0.0, engine.deck_height)])]
    if engine.pan is not None:
        pan = engine.pan
        found.append(_ring([at(pan.x_rear, -engine.base_drop), at(pan.x_rear, -pan.depth), at(pan.x_front, -pan.depth),
                            at(pan.x_front, -engine.base_drop)]))
    end, half = engine.block_length + max(engine.nose_ahead_of_front_face, 20.0), engine.damper_diameter / 2.0
    found.append(_ring([at(engine.block_length, -half), at(end, -half), at(end, half), at(engine.block_length, half)]))
    return [*found, Line(*at(-60.0, 0.0), *at(end + 60.0, 0.0), "centre")]


def _transmission_side(scene: Scene) -> list[Primitive]:
    """Bell, case, pan and tail in side view, car frame."""
    given, back = scene.transmission, scene.stack.total
    at = lambda x, z: _xz(scene.engine_point(-back - x, 0.0, z))  # noqa: E731
    end, bell, case = given.bell_to_seal, given.bell_radius, 0.62 * given.bell_radius
    found: list[Primitive] = [_ring([at(0.0, -bell), at(0.0, bell), at(0.28 * end, case), at(0.72 * end, case), at(end, 0.3 * case),
                                     at(end, -0.3 * case), at(0.72 * end, -case), at(0.28 * end, -case)])]
    if given.pan is not None:
        pan = given.pan
        found.append(_ring([at(pan.from_bell_front, -case), at(pan.from_bell_front, -pan.below_axis),
                            at(pan.from_bell_rear, -pan.below_axis),
                            at(pan.from_bell_rear, -case)]))
    return [*found, Line(*at(0.0, 0.0), *_xz(scene.front_joint), "centre")]


def _driveline(scene: Scene) -> list[Primitive]:
    front, rear, radius = _xz(scene.front_joint), _xz(scene.rear_joint), scene.chassis.rear_tire.loaded_radius
    return [Line(*rear, *front, "visible"), Circle(*front, 28.0, "visible", "white"), Circle(*rear, 28.0, "visible", "white"),
            Line(*rear, 0.0, radius, "centre")]


def _ground(car: model.Car, radius: float) -> list[Primitive]:
    """Track, rear tire, its center."""
    return [Line(-radius, 0.0, car.car.wheelbase + 0.7 * radius, 0.0, "border"), Circle(0.0, radius, radius, "phantom"),
            Circle(car.car.wheelbase, 0.7 * radius, 0.7 * radius, "phantom"), Circle(0.0, radius, 25.0, "visible", "white")]


def _tubes_side(chassis: model.Chassis) -> list[Primitive]:
    """Rails, uprights, upper members and the cross tubes in side view."""
    rails = chassis.rails
    half = rails.section.outer_diameter / 2.0
    found: list[Primitive] = [_rect(rails.x_rear, rails.height - half, rails.x_front, rails.height + half, "outline")]
    if chassis.uprights is not None and chassis.uprights.x is not None:
        r = chassis.uprights.section.outer_diameter / 2.0
        found.append(_rect(chassis.uprights.x - r, rails.height + half, chassis.uprights.x + r, rails.height + 560.0, "outline"))
    if chassis.upper_fore_aft is not None:
        upper = chassis.upper_fore_aft
        r = upper.section.outer_diameter / 2.0
        found.append(_rect(upper.x_rear, upper.z - r, upper.x_front, upper.z + r, "outline"))
    return found + [Circle(tube.x, tube.z, tube.section.outer_diameter / 2.0, "visible", "white")
                    for tube in (chassis.footwell_tube, chassis.rear_cross_member) if tube is not None]


def _side(car: model.Car, chassis: model.Chassis, scene: Scene) -> Drawing:
    radius, rails = chassis.rear_tire.loaded_radius, chassis.rails
    items = [*_ground(car, radius), *_tubes_side(chassis), *_engine_side(scene), *_transmission_side(scene), *_driveline(scene)]
    pointers = [Flag(("chassis.rear_tire.loaded_radius",), (-0.35 * radius, 0.0), (-0.35 * radius, radius)),
             Flag(("car.wheelbase",), (0.0, 0.0), (car.car.wheelbase, 0.0), True),
             Flag(("chassis.rails.height", "chassis.rails.section.outer_diameter", "chassis.rails.section.wall"),
                  (0.94 * car.car.wheelbase, rails.height), None, True)]
    if chassis.footwell_tube is not None:
        tube = chassis.footwell_tube
        pointers.append(Flag(("chassis.footwell_tube.x", "chassis.footwell_tube.z"), (tube.x, tube.z), None, True))
    if chassis.rear_cross_member is not None:
        tube = chassis.rear_cross_member
        pointers.append(Flag(("chassis.rear_cross_member.x", "chassis.rear_cross_member.z"), (tube.x, tube.z), None, True))
    if chassis.upper_fore_aft is not None:
        upper = chassis.upper_fore_aft
        pointers.append(Flag(("chassis.upper_fore_aft.z",), (0.45 * upper.x_front, upper.z)))
    if chassis.uprights is not None and chassis.uprights.x is not None:
        pointers.append(Flag(("chassis.uprights.x",), (chassis.uprights.x, rails.height + 520.0)))
    if chassis.firewall is not None:
        x = chassis.firewall.x
        items.append(Line(x, rails.height, x, rails.height + 640.0, "phantom"))
        pointers.append(Flag(("chassis.firewall.x",), (x, rails.height + 620.0)))
    return Drawing(tuple(items), tuple(pointers), "From the right: stations and heights")


def _plan(car: model.Car, chassis: model.Chassis, scene: Scene) -> Drawing:
    rails = chassis.rails
    y, half = rails.half_spacing, rails.section.outer_diameter / 2.0
    items: list[Primitive] = [Line(-250.0, 0.0, car.car.wheelbase + 200.0, 0.0, "centre"), Line(0.0, -1.5 * y, 0.0, 1.5 * y, "centre")]
    for side in (-1.0, 1.0):
        items.append(_rect(rails.x_rear, side * y - half, rails.x_front, side * y + half, "outline"))
    pointers = [Flag(("chassis.rails.half_spacing",), (0.8 * rails.x_front, 0.0), (0.8 * rails.x_front, y))]
    if chassis.upper_fore_aft is not None:
        upper = chassis.upper_fore_aft
        r = upper.section.outer_diameter / 2.0
        items += [_rect(upper.x_rear, side * upper.half_spacing - r, upper.x_front, side * upper.half_spacing + r, "outline")
                  for side in (-1.0, 1.0)]
        x = 0.55 * upper.x_front
        pointers.append(Flag(("chassis.upper_fore_aft.half_spacing",), (x, 0.0), (x, upper.half_spacing)))
    if chassis.uprights is not None and chassis.uprights.x is not None:
        upright = chassis.uprights
        items += [Circle(upright.x, side * upright.half_spacing, upright.section.outer_diameter / 2.0, "visible", "white")
                  for side in (-1.0, 1.0)]
        pointers.append(Flag(("chassis.uprights.half_spacing",), (upright.x, 0.0), (upright.x, upright.half_spacing)))
    for tube, key in ((chassis.footwell_tube, "footwell_tube"), (chassis.rear_cross_member, "rear_cross_member")):
        if tube is not None:
            r = tube.section.outer_diameter / 2.0
            items.append(_rect(tube.x - r, half - y, tube.x + r, y - half, "outline"))
            pointers.append(Flag(tuple(f"chassis.{key}.section.{one}" for one in ("outer_diameter", "wall")), (tube.x, -0.5 * y), None,
                                 True))
    front, rear = scene.front_joint, scene.rear_joint
    items.append(Line(float(rear[0]), float(rear[1]), float(front[0]), float(front[1]), "visible"))
    items += [Circle(float(joint[0]), float(joint[1]), 28.0, "visible", "white") for joint in (front, rear)]
    pointers.append(Flag(("rear_end.pinion_joint.y",), (float(rear[0]), float(rear[1])), None, True))
    return Drawing(tuple(items), tuple(pointers), "Plan, left of the car above")


def _driver(car: model.Car, chassis: model.Chassis, scene: Scene) -> Drawing:
    radius, room = chassis.rear_tire.loaded_radius, car.car.driver_envelope
    items = [*_ground(car, radius), *_tubes_side(chassis), *_driveline(scene)]
    pointers = [Flag(("car.wheelbase",), (0.0, 0.0), (car.car.wheelbase, 0.0), True)]
    if room is not None:
        x, z = (room.x_rear + room.x_front) / 2.0, (room.z_low + room.z_high) / 2.0
        items.append(_rect(room.x_rear, room.z_low, room.x_front, room.z_high, "phantom"))
        pointers += [Flag(("car.driver_envelope.x_rear",), (room.x_rear, z)), Flag(("car.driver_envelope.x_front",), (room.x_front, z)),
                  Flag(("car.driver_envelope.z_high",), (x - 150.0, room.z_high)),
                  Flag(("car.driver_envelope.y_right", "car.driver_envelope.y_left"), (x + 100.0, z)),
                  Flag(("car.driver_envelope.z_low",), (x, room.z_low), None, True)]
    return Drawing(tuple(items), tuple(pointers), "From the right: the driver's room")


def _rear_end(car: model.Car, scene: Scene) -> Drawing:
    radius = scene.chassis.rear_tire.loaded_radius
    rear, front = _xz(scene.rear_joint), _xz(scene.front_joint)
    along = (rear[0] + 0.35 * (front[0] - rear[0]), rear[1] + 0.35 * (front[1] - rear[1]))
    items: list[Primitive] = [Line(-radius, 0.0, 900.0, 0.0, "border"), Circle(0.0, radius, radius, "phantom"),
                              Circle(0.0, radius, 110.0, "outline", "white"), Circle(0.0, radius, 25.0, "visible", "white"),
                              Line(*rear, *along, "visible"),
                              Line(rear[0] - 240.0, rear[1] + 240.0 * math.tan(float(-math.asin(scene.pinion_axis[2]))), *rear, "centre"),
                              Circle(*rear, 28.0, "visible", "white")]
    pointers = [Flag(("rear_end.pinion_joint.x", "rear_end.pinion_joint.z", "rear_end.pinion_pitch"), rear)]
    given = car.rear_end.suspension
    keys: list[tuple[str, model.SidePoint, bool]] = []
    for name, low in (("lower", True), ("upper", False)):
        link = getattr(given, name) if given is not None else None
        if link is not None:
            items += [Line(link.axle.x, link.axle.z, link.chassis.x, link.chassis.z, "visible")]
            keys += [(f"{name}.axle", link.axle, low), (f"{name}.chassis", link.chassis, low)]
    for key, point, low in keys:
        items.append(Circle(point.x, point.z, 16.0, "visible", "white"))
        pointers.append(Flag((f"rear_end.suspension.{key}.x", f"rear_end.suspension.{key}.z"), (point.x, point.z), None, low))
    pivot = (820.0, 0.55 * radius)
    items += [*(Line(40.0, radius + side * 90.0, *pivot, "phantom") for side in (-1.0, 1.0)), Circle(*pivot, 16.0, "visible", "white")]
    pointers += [Flag(("rear_end.suspension.pivot.x", "rear_end.suspension.pivot.z"), pivot, None, True),
              Flag(("rear_end.suspension.bump",), (-0.55 * radius, radius), (-0.55 * radius, radius + 120.0)),
              Flag(("rear_end.suspension.droop",), (-0.55 * radius, radius), (-0.55 * radius, radius - 120.0), True)]
    return Drawing(tuple(items), tuple(pointers), "Rear end from the right; dashed: a ladder bar")


def _level(scene: Scene) -> Scene:
    """The same powertrain with its crank level, for drawings of it alone."""
    level = replace(scene.placement, pitch_mode="fixed", pitch=0.0, lateral=0.0, roll=0.0, yaw=0.0)
    return scenes.build(scene.chassis, scene.rear_end, scene.engine, scene.transmission, level, scene.stack)


def _engine(scene: Scene) -> Drawing:
    scene = _level(scene)
    engine = scene.engine
    at = lambda x, z: _xz(scene.engine_point(x, 0.0, z))  # noqa: E731
    plug = engine.number_one_plug
    end = engine.block_length + max(engine.nose_ahead_of_front_face, 20.0)
    items = [*_engine_side(scene), Circle(*at(plug.x, plug.z), 14.0, "visible")]
    pointers = [Flag(("engine.block_length",), at(0.0, 0.75 * engine.deck_height), at(engine.block_length, 0.75 * engine.deck_height)),
             Flag(("engine.deck_height",), at(0.88 * engine.block_length, 0.0), at(0.88 * engine.block_length, engine.deck_height)),
             Flag(tuple(f"engine.number_one_plug.{one}" for one in "xyz"), at(plug.x, plug.z)),
             Flag(("engine.base_drop",), at(0.1 * engine.block_length, 0.0), at(0.1 * engine.block_length, -engine.base_drop), True),
             Flag(("engine.nose_ahead_of_front_face", "engine.damper_diameter"), at(end, engine.damper_diameter / 2.5)),
             Flag(("engine.cg.x", "engine.cg.y", "engine.cg.z"), at(engine.cg.x, engine.cg.z))]
    if engine.pan is not None:
        pan = engine.pan
        pointers += [Flag(("engine.pan.x_rear",), at(pan.x_rear, -pan.depth), None, True),
                  Flag(("engine.pan.x_front",), at(pan.x_front, -pan.depth), None, True),
                  Flag(("engine.pan.depth", "engine.pan.half_width"), at((pan.x_rear + pan.x_front) / 2.0, 0.0),
                       at((pan.x_rear + pan.x_front) / 2.0, -pan.depth), True)]
    return Drawing(tuple(items), tuple(pointers), "Engine from the right")


def _rear_face(scene: Scene) -> Drawing:
    """Looking forward at the rear face of the block: left of the car is on the left, so that y runs to the left."""
    engine = scene.engine
    half, deck = engine.block_half_width, engine.deck_height
    foot = max(0.45 * half, *(abs(y) + diameter for y, _z, diameter in engine.rear_holes))
    items: list[Primitive] = [
        _ring([(-foot, -engine.base_drop), (foot, -engine.base_drop), (half, deck * 0.62), (half * 0.62, deck),
               (0.0, deck * 0.55),
               (-half * 0.62, deck), (-half, deck * 0.62)], "outline"),
        Circle(0.0, 0.0, engine.crank_flange_diameter / 2.0, "visible"), Line(-half, 0.0, half, 0.0, "centre"),
        Line(0.0, -engine.base_drop - 20.0, 0.0, deck, "centre")]
    dowels = [hole for hole in engine.rear_holes if abs(hole[2] - engine.dowel_diameter) < 0.01]
    items += [Circle(-y, z, diameter / 2.0, "visible") for y, z, diameter in engine.rear_holes]
    bolt = max((hole for hole in engine.rear_holes if hole not in dowels), key=lambda hole: hole[1], default=None)
    pointers = [Flag(("engine.crank_flange_diameter",), (0.0, -engine.crank_flange_diameter / 2.0), None, True),
             Flag(("engine.block_half_width",), (0.0, deck * 0.62), (half, deck * 0.62))]
    if bolt is not None:
        pointers.append(Flag(("engine.rear_holes",), (-bolt[0], bolt[1])))
    if dowels:
        pointers.append(Flag(("engine.dowel_diameter", "engine.dowel_length"), (-dowels[0][0], dowels[0][1]), None, True))
    return Drawing(tuple(items), tuple(pointers), "Rear face of the block, looking forward", False)


def _transmission(scene: Scene) -> Drawing:
    scene = _level(scene)
    given, back = scene.transmission, scene.stack.total
    at = lambda x, z: _xz(scene.engine_point(-back - x, 0.0, z))  # noqa: E731
    pad, end, joint = given.mount_pad, given.bell_to_seal, given.bell_to_seal + given.joint_from_seal
    x_pad, z_pad = at(pad.from_bell, -pad.below_axis)
    items = [*_transmission_side(scene), _rect(x_pad - 45.0, z_pad, x_pad + 45.0, z_pad + 14.0),
             Line(*at(0.0, 0.0), *at(joint, 0.0), "centre"), Circle(*at(joint, 0.0), 26.0, "visible", "white")]
    pointers = [Flag(("transmission.bell_to_seal",), at(0.0, 0.45 * given.bell_radius), at(end, 0.45 * given.bell_radius)),
             Flag(("transmission.bell_radius",), at(18.0, 0.0), at(18.0, given.bell_radius)),
             Flag(("transmission.joint_from_seal",), at(end, 60.0), at(joint, 60.0)),
             Flag(("transmission.slip_exposed", "transmission.spline_engaged", "transmission.spline_diameter"),
                  at(end + 0.5 * given.slip_exposed, 0.0), None, True),
             Flag(tuple(f"transmission.mount_pad.{one}" for one in ("from_bell", "below_axis", "bolt", "bolt_spacing")), (x_pad, z_pad),
                  None, True),
             Flag(tuple(f"transmission.cg.{one}" for one in "xyz"), _xz(scene.engine_point(-back + given.cg.x, 0.0, given.cg.z)))]
    if given.pan is not None:
        pan = given.pan
        pointers += [Flag(("transmission.pan.from_bell_front",), at(pan.from_bell_front, -pan.below_axis), None, True),
                  Flag(("transmission.pan.from_bell_rear",), at(pan.from_bell_rear, -pan.below_axis), None, True)]
    return Drawing(tuple(items), tuple(pointers), "Transmission from the right")


def _placement(car: model.Car, chassis: model.Chassis, scene: Scene) -> Drawing:
    radius = chassis.rear_tire.loaded_radius
    items = [*_ground(car, radius), *_tubes_side(chassis), *_engine_side(scene), *_transmission_side(scene), *_driveline(scene)]
    base, crank = _xz(scene.engine_point(0.0, 0.0, -scene.engine.base_drop)), _xz(scene.engine_point(0.0))
    nose = _xz(scene.engine_point(scene.engine.block_length + 160.0))
    pointers = [Flag(("placement.axle_to_block",), (0.0, base[1]), base, True),
             Flag(("placement.crank_height",), (crank[0], 0.0), crank, True),
             Flag(("placement.pitch",), nose)]
    return Drawing(tuple(items), tuple(pointers), "From the right: where the engine goes")
