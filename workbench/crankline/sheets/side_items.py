"""What the side view lists: its items by mark or number with their stations, and the table of placement and driveline. Pure."""
from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace

from .. import units
from ..features.registry import declaration, declared
from ..features.side_item import Item, at
from ..mechanics import placement as placing
from ..snapshot import PartView, Snapshot
from .dimension import angle_text


def items_of(snapshot: Snapshot) -> list[Item]:
    """The items of a car that are there, from the rear forward."""
    return sorted(_items(snapshot), key=lambda item: (item.x, item.name))


def _items(snapshot: Snapshot) -> Iterator[Item]:
    scene = snapshot.placed
    radius = scene.chassis.rear_tire.loaded_radius
    yield Item("Rear axle", 0.0, radius, 0.0, radius, "loaded tire radius")
    yield Item("Rear joint", *at(scene.rear_joint), *at(scene.rear_joint))
    yield Item("Front joint", *at(scene.front_joint), *at(scene.front_joint))
    held: dict[str, list[PartView]] = {}
    for part in snapshot.parts:
        held.setdefault(declaration(part.kind, part.key).role, []).append(part)
    for role, parts in held.items():
        if numbered := declared()[role].numbered:
            for item in numbered(snapshot, tuple(parts)):
                yield item if item.keys else replace(item, keys=tuple(part.key for part in parts))


def named(items: Sequence[Item], marks: Mapping[str, str]) -> list[str]:
    """What each of the items is called: by the marks of its parts, else by a number. marks: by key of part."""
    found, number = [], 0
    for item in items:
        own = sorted({marks[key] for key in item.keys if key in marks})
        number += not own
        found.append(", ".join(own) or str(number))
    return found


def placement_rows(snapshot: Snapshot) -> list[tuple[str, str, str]]:
    """Rows (what, in the car's unit, in the other unit) of placement and driveline at static ride height."""
    scene, system = snapshot.placed, snapshot.system
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
            length("Crank offset (+ left)", scene.placement.lateral),
            length("Axle to mid plate front face, at base", placing.mid_plate_front(scene.located, scene.block, scene.stack.protector)),
            length("Crank height at front face of block", placing.crank_height_at(scene.engine_frame, float(scene.block.length))),
            length("Axle to number one plug", placing.number_one_plug_distance(scene.engine_frame, [plug.x, plug.y, plug.z])),
            length("Front joint height", front[2]),
            length("Rear joint height", rear[2]),
            length("U-joint center to center", line.length),
            angle("Pinion pitch, positive nose down", -math.asin(float(scene.pinion_axis[2]))),
            angle("Front joint angle", line.front_angle),
            angle("Rear joint angle", line.rear_angle),
            angle("Uncancelled joint angle", line.residual)]
    return rows
