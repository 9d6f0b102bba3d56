"""A car to begin with: what a builder knows before anything is drawn, and the car that it makes.

What is not asked for is not there yet: the rules that need it say so, and it is added next.
"""
from __future__ import annotations

from dataclasses import dataclass

from .. import catalog, model
from ..mechanics import scene as scenes
from ..record import angle, choice, filled, length, part, quantity, ratio, size, sparse, text, texts
from ..units import DEG, INCH

RAIL = model.Section(outer_diameter=1.5 * INCH, wall=0.095 * INCH)
"""Of the main rails until another size is picked (common practice, no source)."""


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
    rule_sets: tuple[str, ...] = texts("rule sets", default=("clearance",))


FIRST: Start = sparse(Start, rail=RAIL, pitch=2.0 * DEG, pinion_pitch=2.0 * DEG)
"""What the form begins with."""


def car_of(start: Start) -> model.Car:
    """The car that is begun so: rails, rear end and placed powertrain, of which each number was asked for; nothing else is there yet.
    SceneError where the powertrain cannot be placed so."""
    begun = filled(start)
    engine = catalog.engine(begun.engine)
    joint = model.Point(x=begun.pinion_joint.x, y=0.0, z=begun.pinion_joint.z)
    car: model.Car = sparse(
        model.Car,
        car=sparse(model.CarRecord, name=start.name, units=start.units, body=start.body, wheelbase=start.wheelbase, speed=start.speed),
        chassis=sparse(model.Chassis, rear_tire=sparse(model.RearTire, loaded_radius=start.tire_radius),
                        rails=sparse(model.Rails, section=start.rail, half_spacing=start.rail_half_spacing, height=start.rail_height)),
        rear_end=sparse(model.RearEnd, pinion_joint=joint, pinion_pitch=start.pinion_pitch, ratio=start.axle_ratio),
        engine=engine, transmission=catalog.transmission(begun.transmission),
        placement=sparse(model.Placement, axle_to_block=start.axle_to_block, crank_height=start.crank_height, pitch_mode="fixed",
                          pitch=start.pitch),
        plates=sparse(model.Plates), mounts=sparse(model.Mounts),
        rules=sparse(model.Rules, sets=begun.rule_sets))
    scenes.of(car)
    return car
