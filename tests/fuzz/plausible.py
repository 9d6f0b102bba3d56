"""Random plausible cars: a demo car with everything that its builder could have chosen a little otherwise."""
from __future__ import annotations

import random
from dataclasses import replace

from faults import INCH, put

from crankline import model


def car(sound: model.Car, rng: random.Random) -> model.Car:
    """A car near a demo that could be built: times, masses, tire, gearing and placement within a few percent, sections of usual stock that
    are no lighter, thicknesses no less than its own."""
    def near(share: float):
        return lambda value: value * (1.0 + rng.uniform(-share, share))

    def no_less(*steps: float):
        return lambda value: value + rng.choice((0.0, *steps)) * INCH

    def tube(section: model.Section) -> model.Section:
        return replace(section, wall=section.wall + rng.choice((0.0, 0.0, 0.012, 0.037)) * INCH)

    values = {
        "car.elapsed_time": near(0.05), "car.speed": lambda value: value * rng.uniform(0.85, 1.0),
        "car.power_adder": rng.choice(("none", "nitrous", "supercharged", "turbocharged")),
        "engine.peak_torque": near(0.08), "engine.rpm_limit": near(0.03), "engine.mass": near(0.05), "transmission.mass": near(0.05),
        "rear_end.ratio": near(0.02), "rear_end.windup": near(0.1), "masses.[].mass": near(0.08),
        "placement.crank_height": lambda value: value + rng.uniform(-0.25, 0.25) * INCH,
        "placement.axle_to_block": lambda value: value + rng.uniform(-0.1, 0.1) * INCH,
        "chassis.rails.section": tube, "chassis.uprights.section": tube, "chassis.footwell_tube.section": tube,
        "chassis.rear_cross_member.section": tube, "mounts.cross_member.section": tube, "mounts.support_tube.section": tube,
        "mounts.rail_tabs.thickness": no_less(0.0625), "mounts.rail_tabs.width": no_less(0.25),
        "mounts.transmission.tab_thickness": no_less(0.0625), "plates.front.thickness": no_less(0.0625, 0.125),
        "containment.loops.[].section": tube, "driveshaft.joint_swing_diameter": lambda value: value - rng.uniform(0.0, 0.1) * INCH}
    if sound.chassis.uprights.section is None:
        del values["chassis.uprights.section"]
    found = put(values)(sound)
    assert found is not None
    return found
