"""Cars that between them have every part that there is, at seeded placements: what a sweep over all parts is taken over.

A part that no car here has is found by ``mechanics/test_part_kinds.py``.
"""
from __future__ import annotations

import math
import pathlib
from dataclasses import replace
from functools import cache
from random import Random

from crankline import carfile, model
from crankline.features import plan
from crankline.mechanics import scene as scenes
from crankline.mechanics.chassis import completed
from crankline.record import filled

INCH = 25.4
DEMOS = pathlib.Path(__file__).parent.parent / "demo_assemblies"


def _automatic() -> model.Car:
    """A narrow front plate on feet, a limiter strut, set-up stands, headers, split and fixed loops."""
    car = carfile.read(DEMOS / "full_bodied_automatic.yaml")
    strut = model.LimiterStrut(plate_y=7.4 * INCH, plate_z=-2.0 * INCH, run=12.0 * INCH)
    box = model.Header(name="left", x_rear=2 * INCH, x_front=19 * INCH, y_right=7 * INCH, y_left=12 * INCH, z_low=-4 * INCH,
                       z_high=9 * INCH)
    stands = model.SetUpStands(bar=model.Section(outer_diameter=2.75 * INCH, wall=0.25 * INCH))
    return replace(car, mounts=replace(car.mounts, limiter_strut=strut, setup_stands=stands), headers=(box,))


def _clutch() -> model.Car:
    """A wide front plate in rail tabs, double rails, an enclosure on the transmission's tail."""
    car = carfile.read(DEMOS / "open_clutch.yaml")
    rails = replace(car.chassis.rails, kind="double", upper_height=(car.chassis.rails.height or 0.0) + 6.0 * INCH)
    mid = replace(car.plates.mid, kind="double_rail")
    return replace(car, chassis=replace(car.chassis, rails=rails), plates=replace(car.plates, mid=mid))


NAMES = ("automatic", "clutch")


def cars(seed: int = 1) -> dict[str, model.Car]:
    """Name to car; each a little elsewhere for every seed, as far as all of its parts can be made."""
    made = {}
    for name, make in zip(NAMES, (_automatic, _clutch), strict=True):
        car, rng = make(), Random(f"{seed} {name}")
        place = replace(car.placement, axle_to_block=car.placement.axle_to_block + rng.uniform(-0.4, 0.4) * INCH,
                        crank_height=car.placement.crank_height + rng.uniform(-0.3, 0.3) * INCH,
                        pitch_mode="fixed", pitch=math.radians(rng.uniform(1.0, 2.5)))
        made[name] = replace(car, placement=place, chassis=completed(filled(car.chassis), car.car.wheelbase))
    return made


def placed(car: model.Car) -> scenes.Scene:
    """The scene of one of these cars."""
    return scenes.of(car)


@cache
def in_the_demos() -> frozenset[str]:
    """Roles of the parts that the demo cars have."""
    found = set()
    for name in ("full_bodied_automatic", "open_clutch"):
        car = carfile.read(DEMOS / f"{name}.yaml")
        car = replace(car, chassis=completed(filled(car.chassis), car.car.wheelbase))
        found |= {item.feature.declaration(key).role for key, item in plan.described(car, placed(car)).items()}
    return frozenset(found)
