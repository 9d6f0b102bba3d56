"""The chassis tubes that a car's mounts meet, from its records, as ``mechanics.chassis_frame`` wants them.

What is assumed: main and second rails are held at both ends, uprights at the height to which they are drawn; that is where the rest of the
chassis takes over. Rails, uprights, footwell tube and rear cross member are of the main rails' material. Further tubes (``chassis.tubes``)
are welded at their ends to the nearest tube that they reach, and bend at their corners as if they were straight between them; upper members
and loops carry no mount and hold nothing up here. What a broken driveshaft would do to a loop and to the tubes below it is in no load case.
"""
from __future__ import annotations

from collections.abc import Iterable

import numpy as np

from ... import catalog, model
from ...geometry import chassis_tube, cross_member
from ...mechanics.beams import Bar
from ...mechanics.chassis_frame import Chassis, Tube
from ...mechanics.frames import as_point
from ...mechanics.mounting import Mounting
from ...mechanics.scene import Scene

HELD = {"rail": (True, True), "upper_rail": (True, True), "upright": (False, True)}
"""Role of a tube to which of its ends the rest of the chassis holds."""

MET = (*HELD, "footwell_tube", "rear_cross_member")
"""Roles of the chassis tubes that take part."""


def _tube(key: str, points, outer_diameter: float, wall: float, steel: catalog.Material) -> Tube:
    bar = Bar(outer_diameter, wall, 1.0, steel.yield_strength or 0.0, steel.modulus, steel.shear_modulus or steel.modulus / 2.6)
    return Tube(key, bar, tuple(as_point(point) for point in points), HELD.get(key.partition("/")[0], (False, False)))


def chassis(car: model.Car, scene: Scene, mounting: Mounting, steel: catalog.Material, member: catalog.Material | None,
            support: catalog.Material | None, further: Iterable[tuple[model.Tube, catalog.Material]] = ()) -> Chassis | None:
    """The tubes of a car with its defaults filled in, and where each mount of a mounting stands on them; None where no uprights hold the
    rails beside the plates, because the span of a rail between nothing is not known. steel: of the rails, member: of the transmission
    cross member, support: of the support tube; further: the other tubes, each with its material."""
    specs = chassis_tube.specs(scene.chassis, car.car.wheelbase, car.mounts.cross_member)
    tubes = [_tube(key, (spec.start, spec.end), spec.outer_diameter, spec.wall, steel) for key, spec in specs.items()
             if key.partition("/")[0] in MET]
    if not any(tube.key.startswith("upright/") for tube in tubes):
        return None
    if mounting.tail is not None and member is not None:
        made = cross_member.spec(car.mounts.cross_member, scene)
        tubes.append(_tube("cross_member", made.points, made.outer_diameter, made.wall, member))
    if mounting.ties and support is not None:
        record = car.mounts.support_tube
        half = scene.chassis.uprights.half_spacing
        middle = scene.engine_point(-(scene.stack.total + record.behind_plate), 0.0, record.above_crank)
        across = scene.engine_frame.rotation[:, 1]
        ends = [middle + across * ((side * half - middle[1]) / across[1]) for side in (-1.0, 1.0)]
        tubes.append(_tube("support_tube", ends, record.section.outer_diameter, record.section.wall, support))
    tubes += [_tube(f"tube/{one.name}", one.points, one.section.outer_diameter, one.section.wall, material) for one, material in further
              if len(one.points or ()) > 1]
    seats = [(f"{'upper_rail' if seat.name.endswith(' upper') else 'rail'}/{_side(seat.point)}", seat.point) for seat in mounting.rails]
    seats += [(f"rail/{_side(foot.point)}", foot.point) for foot in mounting.feet]
    seats += [("support_tube", tie.point) for tie in mounting.ties]
    if mounting.tail is not None:
        seats.append(("cross_member", mounting.tail.point))
    if mounting.strut is not None:
        # The strut pushes along its axis only: what it does to the rail it does at its rear end.
        rear = np.subtract(mounting.strut.point, np.multiply(mounting.strut.tube.length, mounting.strut.direction))
        seats.append((f"rail/{_side(rear)}", as_point(rear)))
    return Chassis(tuple(tubes), tuple(seats))


def _side(point) -> str:
    return "left" if point[1] > 0.0 else "right"
