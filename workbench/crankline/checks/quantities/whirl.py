"""Quantities of the driveshaft's tube: half-critical speed, torsional stress and twist at launch. The critical speed itself stands
in ``driveline``; both take metal and composite tubes by their modulus along the axis."""
from __future__ import annotations

import math

from ... import catalog
from ...catalog import family
from ...mechanics import mount_screening as screening
from ...mechanics import shaft
from ...rules.quantity import Found, Measurement, NotEvaluated, Setting, Unmeasured, formula, quantity
from ...sections import DRIVESHAFT
from ...snapshot import Snapshot
from ...units import torque_text
from ..context import Context
from ..strength import load_model
from .driveline import ENDS, shaft_speed_max, told_ends
from .stock import as_stated

SHAFT = ("driveshaft",)
SPEEDS = Setting("choices", ("limiter",), "at which speeds: rev limiter in top gear, or the given finish-line speed", ("limiter", "finish"))
SHOCK = Setting("ratio", screening.SHOCK_FACTOR, "shaft torque at the hit over its steady value (assumed)")


def _ends(scene):
    return tuple(map(float, scene.rear_joint)), tuple(map(float, scene.front_joint))


@quantity("half_critical_distance", "ratio", needs=(DRIVESHAFT,),
          clears=("driveshaft.outer_diameter", "engine.rpm_limit", "placement.axle_to_block"),
          at=SPEEDS, ends=ENDS)
def half_critical_distance(snapshot: Snapshot, context: Context) -> Found:
    """Distance of the shaft speed from half the first critical speed, as a share of that half: a U-joint shakes the shaft twice a turn."""
    scene, tube, car = context.scene, context.car.driveshaft, context.car
    share = context.settings["ends"]
    half = 0.5 * share * float(
        shaft.critical_speed(tube.outer_diameter, tube.wall, scene.driveline.length, tube.axial_modulus, tube.density))
    found: list[Measurement | Unmeasured] = []
    for name in context.settings["at"]:
        if name == "limiter":
            speed = shaft_speed_max(car)
        else:
            if car.car.speed is None:
                found.append(Unmeasured(SHAFT, "the finish-line speed is not known; give car.speed", name))
                continue
            tire = scene.chassis.rear_tire
            speed = car.car.speed / (tire.loaded_radius + tire.growth_radius) * scene.rear_end.ratio
        how = (f"shaft at {speed / shaft.RPM:.0f} rpm, half of the critical speed is {half / shaft.RPM:.0f} rpm{as_stated(tube)}, "
               f"{told_ends(share)}")
        if name == "finish":
            how += "; tire at its loaded radius and growth, no slip"
        found.append(Measurement(abs(speed - half) / half, SHAFT, name, how=how, points=_ends(scene)))
    return tuple(found)


@quantity("shaft_torsion", "stress", needs=(DRIVESHAFT,),
          clears=("driveshaft.wall", "driveshaft.outer_diameter"), gives=("yield_strength",), shock_factor=SHOCK)
def shaft_torsion(snapshot: Snapshot, context: Context) -> Found:
    """Torsional stress in the driveshaft's tube at launch, shock factor included."""
    scene, car = context.scene, context.car
    tube, (torque, stress, turned) = car.driveshaft, load_model.hit(car, scene, context.settings["shock_factor"])
    source = "limited by tire grip" if torque.grip < torque.engine else "limited by the engine"
    how = (f"shaft torque {torque_text(torque.shaft)} ({source}) times shock factor {torque.shock_factor:g}; the shaft twists "
           f"{math.degrees(turned):.2f} deg between its joints{as_stated(tube)}")
    given = {}
    if family(tube.material) not in (None, "composite"):
        strength = catalog.material(tube.material).yield_strength
        if strength is not None:
            given["yield_strength"] = strength
    return (Measurement(stress, SHAFT, how=how, given=given, points=_ends(scene)),)


@quantity("shaft_twist", "angle", needs=(DRIVESHAFT,), clears=("driveshaft.wall", "driveshaft.outer_diameter"), shock_factor=SHOCK)
def shaft_twist(snapshot: Snapshot, context: Context) -> Found:
    """Twist of the driveshaft's tube between the joint centers at launch, shock factor included."""
    scene, car = context.scene, context.car
    torque, _stress, turned = load_model.hit(car, scene, context.settings["shock_factor"])
    return (Measurement(turned, SHAFT, how=f"shaft torque {torque_text(torque.shaft)} times shock factor {torque.shock_factor:g}"
                        f"{as_stated(car.driveshaft)}", points=_ends(scene)),)


@formula("shear_yield", "stress", "yield_strength", safety=Setting("ratio", 1.0, "safety on yield, on top of the shock factor"))
def shear_yield(given, settings):
    """Yield strength in shear, yield over the root of 3 (von Mises), over a safety; not known for a composite tube."""
    if "yield_strength" not in given:
        raise NotEvaluated("the strength of a tube of this material depends on its lay-up and is not known; write a rule with the "
                           "allowable stress that its maker states")
    return given["yield_strength"] / math.sqrt(3.0) / settings["safety"]
