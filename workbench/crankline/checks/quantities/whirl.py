"""Quantities of the driveshaft's tube: half-critical speed, torsional stress and twist at launch. The critical speed itself stands
in ``driveline``; both take metal and composite tubes by their modulus along the axis."""
from __future__ import annotations

import math

from ... import catalog
from ...catalog import family
from ...mechanics import mount_screening as screening
from ...mechanics import shaft
from ...rules.quantity import Found, Measurement, NotEvaluated, Reading, Setting, Unmeasured, formula, quantity
from ...sections import DRIVESHAFT
from ...snapshot import Snapshot
from ...units import torque_text
from ..context import Context
from ..placements import Asked
from ..strength import load_model
from .driveline import ENDS, shaft_speed_max, told_ends, tube_critical_speed
from .stock import as_stated

SHAFT = ("driveshaft",)
SPEEDS = Setting("choices", ("limiter",), "at which speeds: rev limiter in top gear, or the given finish-line speed", ("limiter", "finish"))
SHOCK = Setting("ratio", screening.SHOCK_FACTOR, "shaft torque at the hit over its steady value (assumed)")


def centers(scene):
    """Of the rear and the front joint, car frame: what a picture of a finding on the shaft shows."""
    return tuple(map(float, scene.rear_joint)), tuple(map(float, scene.front_joint))


def _speed(at: Asked, name: str) -> float | None:
    """Speed of the shaft at the limiter, or at the finish line; None where the car's is not known."""
    if name == "limiter":
        return shaft_speed_max(at.car)
    if at.car.car.speed is None:
        return None
    tire = at.scene.chassis.rear_tire
    return at.car.car.speed / (tire.loaded_radius + tire.growth_radius) * at.scene.rear_end.ratio


def _half_critical_distance(at: Asked) -> tuple[Reading, ...]:
    half = 0.5 * tube_critical_speed(at)
    speeds = [(name, _speed(at, name)) for name in at.settings["at"]]
    return tuple(Reading(math.nan if speed is None else abs(speed - half) / half, SHAFT, name) for name, speed in speeds)


@quantity("half_critical_distance", "ratio", needs=(DRIVESHAFT,), reads=_half_critical_distance,
          clears=("driveshaft.outer_diameter", "engine.rpm_limit", "placement.axle_to_block"),
          at=SPEEDS, ends=ENDS)
def half_critical_distance(snapshot: Snapshot, context: Context) -> Found:
    """Distance of the shaft speed from half the first critical speed, as a share of that half: a U-joint shakes the shaft twice a turn."""
    scene, tube = context.scene, context.car.driveshaft
    share, half = context.settings["ends"], 0.5 * float(tube_critical_speed(context))
    found: list[Measurement | Unmeasured] = []
    for read in _half_critical_distance(context):
        name, speed = read.discriminator, _speed(context, read.discriminator)
        if speed is None:
            found.append(Unmeasured(SHAFT, "the finish-line speed is not known; give car.speed", name))
            continue
        how = (f"shaft at {speed / shaft.RPM:.0f} rpm, half of the critical speed is {half / shaft.RPM:.0f} rpm{as_stated(tube)}, "
               f"{told_ends(share)}")
        if name == "finish":
            how += "; tire at its loaded radius and growth, no slip"
        found.append(Measurement(float(read.value), SHAFT, name, how=how, points=centers(scene)))
    return tuple(found)


def _hit(at: Asked) -> load_model.Hit:
    return load_model.hit(at.car, at.scene, at.settings["shock_factor"])


def _metal(at: Asked) -> dict[str, float]:
    """Yield strength of the tube, where its material tells."""
    material = at.car.driveshaft.material
    strength = None if family(material) in (None, "composite") else catalog.material(material).yield_strength
    return {} if strength is None else {"yield_strength": strength}


@quantity("shaft_torsion", "stress", needs=(DRIVESHAFT,), reads=lambda at: (Reading(_hit(at).stress, SHAFT, given=_metal(at)),),
          clears=("driveshaft.wall", "driveshaft.outer_diameter"), gives=("yield_strength",), shock_factor=SHOCK)
def shaft_torsion(snapshot: Snapshot, context: Context) -> Found:
    """Torsional stress in the driveshaft's tube at launch, shock factor included."""
    scene, tube, (torque, stress, turned) = context.scene, context.car.driveshaft, _hit(context)
    source = "limited by tire grip" if torque.grip < torque.engine else "limited by the engine"
    how = (f"shaft torque {torque_text(torque.shaft)} ({source}) times shock factor {torque.shock_factor:g}; the shaft twists "
           f"{math.degrees(turned):.2f} deg between its joints{as_stated(tube)}")
    return (Measurement(stress, SHAFT, how=how, given=_metal(context), points=centers(scene)),)


@quantity("shaft_twist", "angle", needs=(DRIVESHAFT,), reads=lambda at: (Reading(_hit(at).twist, SHAFT),),
          clears=("driveshaft.wall", "driveshaft.outer_diameter"), shock_factor=SHOCK)
def shaft_twist(snapshot: Snapshot, context: Context) -> Found:
    """Twist of the driveshaft's tube between the joint centers at launch, shock factor included."""
    scene, (torque, _stress, turned) = context.scene, _hit(context)
    return (Measurement(turned, SHAFT, how=f"shaft torque {torque_text(torque.shaft)} times shock factor {torque.shock_factor:g}"
                        f"{as_stated(context.car.driveshaft)}", points=centers(scene)),)


@formula("shear_yield", "stress", "yield_strength", safety=Setting("ratio", 1.0, "safety on yield, on top of the shock factor"))
def shear_yield(given, settings):
    """Yield strength in shear, yield over the root of 3 (von Mises), over a safety; not known for a composite tube."""
    if "yield_strength" not in given:
        raise NotEvaluated("the strength of a tube of this material depends on its lay-up and is not known; write a rule with the "
                           "allowable stress that its maker states")
    return given["yield_strength"] / math.sqrt(3.0) / settings["safety"]
