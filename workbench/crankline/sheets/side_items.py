"""What the side view lists: its numbered items with their stations, and the table of placement and driveline. Pure."""
from __future__ import annotations

import math
from dataclasses import dataclass

from .. import units
from ..mechanics import placement as placing
from ..record import filled
from ..snapshot import Snapshot
from ..units import INCH
from .dimension import angle_text


@dataclass(frozen=True)
class Item:
    """One numbered item: where its leader ends (car mm), what the list says of it, and whether its number stands below."""
    name: str
    x: float
    z: float
    x_text: float | None = None
    z_text: float | None = None
    note: str = ""
    low: bool = False
    inside: bool = False


def system_of(snapshot: Snapshot) -> str:
    """The unit in which the car is written, ``in`` or ``mm``."""
    return filled(snapshot.car.car).units


def _size(value: float, system: str) -> str:
    return units.decimal(value / INCH, 4) if system == "in" else units.decimal(value, 2)


def _tube(section, material: str | None, system: str) -> str:
    return f"{_size(section.outer_diameter, system)} × {_size(section.wall, system)} {material or ''}".rstrip()


def items_of(snapshot: Snapshot) -> list[Item]:
    """The items of a car that are there, from the rear forward."""
    return sorted(_items(snapshot), key=lambda item: (item.x, item.name))


def _items(snapshot: Snapshot):
    car, scene = filled(snapshot.car), snapshot.placed
    chassis, system = scene.chassis, car.car.units
    # A tube that another one breaks stands as two parts, name/left and name/right.
    keys = {part.key for part in snapshot.parts} | {part.key.split("/")[0] for part in snapshot.parts}

    def span(key: str) -> tuple[float, float]:
        part = snapshot.part(key)
        if part is None or part.shape is None or part.shape.isNull():
            return 0.0, car.car.wheelbase
        box = part.shape.BoundBox
        return box.XMin, box.XMax

    radius = chassis.rear_tire.loaded_radius
    yield Item("Rear axle", 0.0, radius, 0.0, radius, "loaded tyre radius")
    yield Item("Rear joint", *_side(scene.rear_joint), *_side(scene.rear_joint))
    yield Item("Front joint", *_side(scene.front_joint), *_side(scene.front_joint))
    if "rail/left" in keys:
        low, high = span("rail/left")
        yield Item("Main rail", low + 0.27 * (high - low), chassis.rails.height, None, chassis.rails.height,
                   _tube(chassis.rails.section, chassis.rails.material, system), True)
    if chassis.upper_fore_aft and "upper_fore_aft/left" in keys:
        low, high = span("upper_fore_aft/left")
        upper = chassis.upper_fore_aft
        yield Item("Upper member", low + 0.3 * (high - low), upper.z, None, upper.z, _tube(upper.section, "", system))
    for key, name, member in (("footwell_tube", "Footwell tube", chassis.footwell_tube),
                              ("rear_cross_member", "Rear cross member", chassis.rear_cross_member)):
        if member and key in keys and member.x is not None and member.z is not None:
            yield Item(name, member.x, member.z, member.x, member.z, _tube(member.section, "", system), True)
    if "cross_member" in keys and car.mounts.cross_member:
        bow = car.mounts.cross_member
        from_x = chassis.footwell_tube.x if bow.reference == "footwell_tube" and chassis.footwell_tube else 0.0
        x = (from_x or 0.0) + bow.offset
        yield Item("Transmission cross member", x, bow.z, x, bow.z, _tube(bow.section, "", system), True)
    for loop in car.containment.loops:
        if f"loop/{loop.name}" not in keys:
            continue
        center = scene.loop_center(loop)
        half = (loop.inner_diameter or loop.inner_height or 0.0) / 2.0
        bore = f"inside {_size(loop.inner_diameter, system)}" if loop.inner_diameter else \
            f"inside {_size(loop.inner_width or 0.0, system)} × {_size(loop.inner_height or 0.0, system)}"
        yield Item(f"Loop {loop.name}, {loop.kind}", loop.x, center[2] + half, loop.x, float(center[2]), bore)
    if car.containment.enclosure and "enclosure" in keys:
        tube = car.containment.enclosure
        x = tube.x_rear + 0.3 * (tube.x_front - tube.x_rear)
        yield Item("Enclosure tube, rear end", x, float(scene.shaft_at(x)[2]) + tube.outer_diameter / 2.0, tube.x_rear, None,
                   f"{_size(tube.outer_diameter, system)} × {_size(tube.wall, system)}, to X {_size(tube.x_front, system)}")
    if "driveshaft" in keys:
        x = scene.rear_joint[0] + 0.45 * (scene.front_joint[0] - scene.rear_joint[0])
        yield Item("Driveshaft", float(x), float(scene.shaft_at(x)[2]), None, None,
                   _tube(car.driveshaft, car.driveshaft.material, system), inside=True)
    for key, name, low in (("transmission_mount", "Transmission mount", True), ("tunnel", "Tunnel", False), ("firewall", "Firewall", False),
                           ("shaft_envelope", "Shaft travel and whip", False)):
        part = snapshot.part(key)
        if part is not None and part.shape is not None and not part.shape.isNull():
            box = part.shape.BoundBox
            x = box.XMin + {"shaft_envelope": 0.15, "tunnel": 0.02}.get(key, 0.5) * box.XLength    # a tunnel is highest at its rear
            z = box.ZMin + 0.5 * box.ZLength if low or key == "firewall" else box.ZMax
            if key == "shaft_envelope":
                z = float(scene.shaft_at(x)[2]) + car.driveshaft.joint_swing_diameter / 2.0
            yield Item(name, x, z, box.XMin if key == "firewall" else None, None, part.material, low)
    yield from _powertrain(car, scene, keys, system)


def _powertrain(car, scene, keys, system):
    mid, stack = car.plates.mid, scene.stack
    if "engine" in keys:
        x, z = _side(scene.engine_point(0.45 * scene.engine.block_length, 0.0, 0.5 * scene.engine.deck_height))
        yield Item("Engine", x, z, None, None, scene.engine.use, inside=True)
    boxes: dict[tuple, list[str]] = {}
    for header in car.headers:
        if f"header/{header.name}" in keys:
            boxes.setdefault((header.x_rear, header.x_front, header.z_low, header.z_high), []).append(header.name)
    for (x_rear, x_front, _low, z_high), names in boxes.items():    # seen from the side, left and right are mostly one
        x, z = _side(scene.engine_point(0.3 * x_rear + 0.7 * x_front, 0.0, z_high))
        yield Item(f"Header {', '.join(names)}", x, z, None, None, "box around the pipes")
    if "transmission" in keys:
        x, z = _side(scene.engine_point(-stack.total - 0.45 * scene.transmission.bell_to_seal, 0.0, 40.0))
        yield Item("Transmission", x, z, None, None, scene.transmission.use, inside=True)
    if "mid_plate" in keys:
        x, z = _side(scene.engine_point(-stack.total, 0.0, mid.above_crank - 30.0))
        yield Item("Mid plate, front face", x, z, float(placing.mid_plate_front(scene.located, scene.block, stack.protector)), None,
                   f"{_size(mid.thickness, system)} {mid.material}")
    if "protector" in keys and car.plates.protector:
        x, z = _side(scene.engine_point(-stack.protector / 2.0, 0.0, 0.6 * mid.above_crank))
        yield Item("Block protector", x, z, None, None, f"{_size(car.plates.protector.thickness, system)} {car.plates.protector.material}")
    if "front_plate" in keys and car.plates.front:
        plate = car.plates.front
        x, z = _side(scene.engine_point(scene.engine.block_length + plate.thickness / 2.0))
        yield Item("Front plate, rear face", x, z, float(scene.engine_point(scene.engine.block_length)[0]), None,
                   f"{_size(plate.thickness, system)} {plate.material}", True)
    if "support_tube" in keys and car.mounts.support_tube:
        tube = car.mounts.support_tube
        x, z = _side(scene.engine_point(-stack.total - tube.behind_plate, 0.0, tube.above_crank))
        yield Item("Support tube", x, z, x, z, _tube(tube.section, tube.material, system))
    if any(key.startswith("rail_tab/") for key in keys):
        tabs = car.mounts.rail_tabs
        rail = scene.chassis.rails.height
        x, z = _side(scene.engine_point(-stack.total - tabs.gap - tabs.thickness))
        yield Item("Rail tabs", x, (rail or z) + 25.0, None, None, f"{_size(tabs.thickness, system)} {tabs.material}", True)


def _side(point) -> tuple[float, float]:
    return float(point[0]), float(point[2])


def placement_rows(snapshot: Snapshot) -> list[tuple[str, str, str]]:
    """Rows (what, in the car's unit, in the other unit) of placement and driveline at static ride height."""
    scene, system = snapshot.placed, system_of(snapshot)
    where = {"block_rear": "rear face", "block_middle": "middle", "block_front": "front face"}[scene.placement.height_at]
    plug = scene.engine.number_one_plug

    def length(name: str, value: float) -> tuple[str, str, str]:
        texts = (units.inches(float(value)), f"{float(value):.2f} mm")
        return (name, *(texts if system == "in" else texts[::-1]))

    def angle(name: str, value: float) -> tuple[str, str, str]:
        return name, angle_text(float(value)), ""

    front, rear, line = scene.front_joint, scene.rear_joint, scene.driveline
    rows = [length("Axle to block (rear face, at base)", scene.placement.axle_to_block),
            length(f"Crank height at {where} of block", scene.placement.crank_height),
            angle("Pitch of crank, positive rear up", scene.pitch),
            length("Crank left of centre plane", scene.placement.lateral),
            length("Axle to front face of mid plate, at base", placing.mid_plate_front(scene.located, scene.block, scene.stack.protector)),
            length("Crank height at front face of block", placing.crank_height_at(scene.engine_frame, float(scene.block.length))),
            length("Axle to number one plug", placing.number_one_plug_distance(scene.engine_frame, [plug.x, plug.y, plug.z])),
            length("Front joint height", front[2]),
            length("Rear joint height", rear[2]),
            length("Joint distance", line.length),
            angle("Pinion pitch, positive nose down", -math.asin(float(scene.pinion_axis[2]))),
            angle("Front joint angle", line.front_angle),
            angle("Rear joint angle", line.rear_angle),
            angle("Residual of both joints", line.residual)]
    return rows
