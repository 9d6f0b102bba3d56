"""A car to begin with: what a builder knows before anything is drawn, and the car that it makes.

Sizes of stock, gaps and what hangs on them are common practice, no source; each is edited afterwards, and the rules judge it like any
other.
"""
from __future__ import annotations

from dataclasses import dataclass, replace

from .. import catalog, model, sections
from ..mechanics import scene as scenes
from ..record import angle, choice, filled, length, part, quantity, ratio, size, sparse, text, texts
from ..units import DEG, INCH
from .first_values import SWING_BEYOND_TUBE, first

RAIL = model.Section(outer_diameter=1.5 * INCH, wall=0.095 * INCH)


@dataclass(frozen=True)
class Start:
    """What a car is begun with; everything else is added to it."""
    name: str = text("name of the car", required=True)
    units: str = choice("unit of lengths in written files", "in", "mm", default="in")
    body: str = choice("bodywork", "full", "open", required=True)
    wheelbase: float = size("wheelbase", low=1000.0, high=10000.0, required=True)
    speed: float = quantity("speed", "finish-line speed", low=1.0, high=250_000.0)
    tire_radius: float = size("static loaded radius of the rear tire", low=50.0, high=1500.0, required=True)
    rail: model.Section = part(model.Section, "tube of the main rails", required=True)
    rail_half_spacing: float = size("center plane to rail centerline", required=True)
    rail_height: float = length("rail centerline above the track", low=0.0, high=2000.0, required=True)
    pinion_joint: model.SidePoint = part(model.SidePoint, "center of the rear driveshaft joint at static ride height", required=True)
    pinion_pitch: float = angle("pinion axis to the ground, positive nose down", limit=45 * DEG, required=True)
    axle_ratio: float = ratio("axle ratio", low=1.0, high=10.0, required=True)
    engine: str = text("engine", table="engines", required=True)
    transmission: str = text("transmission", table="transmissions", required=True)
    axle_to_block: float = length("rear axle centerline to the rear face of the block at its base", low=0.0, required=True)
    crank_height: float = length("crank centerline above the track at the rear face of the block", low=0.0, high=2000.0, required=True)
    pitch: float = angle("crank pitch, positive = rear of the engine higher", limit=15 * DEG, required=True)
    shaft_diameter: float = size("outside diameter of the driveshaft", low=10.0, high=500.0, default=3.5 * INCH)
    shaft_wall: float = size("wall of the driveshaft", low=0.2, high=100.0, default=0.083 * INCH)
    rule_sets: tuple[str, ...] = texts("rule sets", default=("clearance",))


FIRST: Start = sparse(Start, rail=RAIL, pitch=2.0 * DEG, pinion_pitch=2.0 * DEG)
"""What the form begins with."""


def car_of(start: Start) -> model.Car:
    """The car that is begun so: rails and the two tubes across them, rear end, placed powertrain, mid plate in its tabs, driveshaft;
    nothing else is there yet. SceneError where the powertrain cannot be placed so."""
    begun = filled(start)
    engine = catalog.engine(begun.engine)
    joint = model.Point(x=begun.pinion_joint.x, y=0.0, z=begun.pinion_joint.z)
    begun_car: model.Car = sparse(
        model.Car,
        car=sparse(model.CarRecord, name=start.name, units=start.units, body=start.body, wheelbase=start.wheelbase, speed=start.speed),
        chassis=sparse(model.Chassis, rear_tire=sparse(model.RearTire, loaded_radius=start.tire_radius),
                        rails=sparse(model.Rails, section=start.rail, half_spacing=start.rail_half_spacing, height=start.rail_height)),
        rear_end=sparse(model.RearEnd, pinion_joint=joint, pinion_pitch=start.pinion_pitch, ratio=start.axle_ratio,
                         suspension=sparse(model.Suspension, kind="rigid")),
        engine=engine, transmission=catalog.transmission(begun.transmission),
        placement=sparse(model.Placement, axle_to_block=start.axle_to_block, crank_height=start.crank_height, pitch_mode="fixed",
                          pitch=start.pitch),
        plates=sparse(model.Plates), mounts=sparse(model.Mounts),
        rules=sparse(model.Rules, sets=begun.rule_sets))
    for path in (sections.MID_PLATE, sections.RAIL_TABS, sections.DRIVESHAFT, "chassis.footwell_tube", "chassis.rear_cross_member"):
        record = first(path, begun_car, scenes.of(begun_car))
        if path == sections.DRIVESHAFT:
            record = replace(record, outer_diameter=begun.shaft_diameter, wall=begun.shaft_wall,
                             joint_swing_diameter=begun.shaft_diameter + SWING_BEYOND_TUBE)
        begun_car = sections.put(begun_car, path, record)
    return begun_car
