"""A car's mounting as its mechanics wants it: from records, scene and catalogue; and the launch torque it has to hold.

What a car file does not say is assumed, and says so here: bolts of SAE grade 8 (inch) or ISO 10.9, a filler of 70 ksi, fillets
of the least leg that AWS D1.1 gives.
"""
from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from .. import catalog, model
from ..geometry import limiter, mount_layout, rail_clamp
from ..mechanics import balance as balancing, mount_screening as screening, strength, welds
from ..mechanics.fasteners import Bolt
from ..mechanics.mounting import Bar, FootSeat, Mounting, RailSeat, Strip, Strut, TailMount, Tie
from ..mechanics.scene import Scene

INCH = 25.4
FILLER_STRENGTH = 70.0 * 6.894757293168361
"""Tensile strength of ER70S-2 filler, MPa: usual for 4130 of condition N; the weld metal is screened, not the tube. Assumed."""

GRADES = {"inch": "SAE 8", "metric": "ISO 10.9"}
"""Grade of bolts by thread; assumed."""

TIE_BELOW_TUBE, PLATE_WEB = 0.75 * INCH, 1.0 * INCH
"""As the shapes are made (geometry/mid_plate, which needs the host); a host test compares them."""


# --- stock ------------------------------------------------------------------------------------------------------------


def bolt(diameter: float) -> tuple[Bolt, catalog.Fastener]:
    """The bolt of a diameter in the assumed grade; ValueError where the catalogue has no such thread."""
    thread = catalog.bolt_for(diameter)
    grade = catalog.grade(GRADES["metric" if thread.stress_factor < 0.95 else "inch"])
    return Bolt(thread.diameter, thread.stress_area, grade.proof, grade.ultimate_strength), thread


def stock(name: str, field: str) -> catalog.Material:
    """A material that has strengths; ValueError naming the field where it has none."""
    found = catalog.material(name)
    if found.yield_strength is None or found.ultimate_strength is None:
        raise ValueError(f"{field}: no strength of {name} is known, so it cannot be screened; name a material of the catalogue with a "
                         "yield strength")
    return found


def weld_leg(material: catalog.Material, *thicknesses: float) -> float:
    """Leg that a fillet between parts is screened with, mm: the least that AWS D1.1 gives for the thicker one, or less where the
    thinner part's own wall (0.40 of its yield in shear, AWS D1.1) holds less than such a fillet."""
    wall = 0.40 * material.yield_strength * min(thicknesses) / float(welds.allowable_force(FILLER_STRENGTH, 1.0))
    return min(float(welds.least_leg(max(thicknesses))), wall)


def poisson(material: catalog.Material) -> float:
    """From both moduli, E / 2 G - 1; 0.3 where the shear modulus is not known."""
    return 0.3 if material.shear_modulus is None else material.modulus / (2.0 * material.shear_modulus) - 1.0


def _bar(section: model.Section, length: float, material: catalog.Material) -> Bar:
    shear = material.shear_modulus or material.modulus / 2.6
    return Bar(section.outer_diameter, section.wall, length, material.yield_strength, material.modulus, shear)


# --- car --------------------------------------------------------------------------------------------------------------


def powertrain(scene: Scene) -> tuple[balancing.Mass, balancing.Mass]:
    """Engine and transmission where they stand, car frame."""
    engine, transmission = scene.engine, scene.transmission
    at = transmission.cg
    return (balancing.Mass(engine.mass, scene.engine_point(engine.cg.x, engine.cg.y, engine.cg.z)),
            balancing.Mass(transmission.mass, scene.engine_point(at.x - scene.stack.total, at.y, at.z)))


def launch(car: model.Car, scene: Scene, shock_factor: float = screening.SHOCK_FACTOR,
           grip: float | None = None) -> screening.LaunchTorque:
    """Launch torque of a car with its defaults filled in. grip: friction of its rear tyres; absent: by kind of tyre, assumed.

    Without a list of masses the load on the tyres is not known, and nothing caps what the engine can send.
    """
    gearing = car.transmission
    multiplier = gearing.converter_ratio or gearing.clutch_capacity_factor or 1.0
    if not car.masses:
        return screening.LaunchTorque(float(car.engine.peak_torque * multiplier * gearing.first_gear), math.inf, shock_factor)
    listed = [balancing.Mass(item.mass, np.array([item.cg.x, item.cg.y, item.cg.z])) for item in car.masses]
    mass, cg = balancing.total([*powertrain(scene), *listed])
    return screening.launch(car.engine.peak_torque, multiplier, gearing.first_gear, float(mass), cg, car.car.wheelbase,
                            grip or screening.GRIP[car.car.tires], scene.chassis.rear_tire.loaded_radius, scene.rear_end.ratio,
                            shock_factor)


def mounting(car: model.Car, scene: Scene) -> Mounting:
    """Everything that holds the powertrain of a car with its defaults filled in; ValueError where something cannot be laid out."""
    tabs, mid, mounts = car.mounts.rail_tabs, car.plates.mid, car.mounts
    mass, cg = balancing.total(powertrain(scene))
    x_mid, thick = -scene.stack.total, scene.stack.mid_plate
    rear = scene.engine.rear_holes
    seats = []
    for level in rail_clamp.LEVELS if mid.kind == "double_rail" else rail_clamp.LEVELS[:1]:
        suffix = "_upper" if level == "upper" else ""
        for side in rail_clamp.SIDES:
            keys = tuple(f"rail_tab/{side}_{face}{suffix}" for face in ("front", "rear"))
            seats.append(_rail_seat(f"mid plate {side}{' upper' if suffix else ''}", "mid_plate", keys, scene, tabs, x_mid, thick,
                                    stock(mid.material, "plates.mid.material"), rear, side, level))
    feet = ()
    front = car.plates.front
    if front is not None:
        material, x = stock(front.material, "plates.front.material"), scene.engine.block_length
        if front.kind == "wide":
            seats += [_rail_seat(f"front plate {side}", "front_plate", tuple(f"front_tab/{side}_{face}" for face in ("front", "rear")),
                                 scene, tabs, x, front.thickness, material, scene.engine.front_holes, side) for side in rail_clamp.SIDES]
        else:
            feet = tuple(_foot(front, tabs, scene, material, side) for side in rail_clamp.SIDES)
    support = mounts.support_tube
    ties, tube = (), None
    if support is not None and scene.chassis.uprights is not None and scene.chassis.uprights.half_spacing is not None:
        tube = _bar(support.section, 2.0 * scene.chassis.uprights.half_spacing, stock(support.material, "mounts.support_tube.material"))
        ties = tuple(_tie(car, scene, side) for side in rail_clamp.SIDES)
    tail = _tail(car, scene) if mounts.transmission is not None and mounts.cross_member is not None else None
    strut = _strut(mounts.limiter_strut, scene) if mounts.limiter_strut is not None and front is not None else None
    return Mounting(float(mass), _point(cg), _point(scene.engine_frame.axis), tuple(seats), feet, ties, tube, tail, strut)


def _point(values) -> tuple[float, float, float]:
    return tuple(float(value) for value in values)


def _outermost(holes, side: str) -> float:
    """How far outward the engine's bolts hold a plate on one side."""
    return max((rail_clamp.SIDES[side] * y for y, _z, _d in holes or ()), default=0.0)


def _strip(material: catalog.Material, thickness: float, width: float, held: float, bolted: float) -> Strip:
    """Between the engine's outermost bolt and where the plate is held; never shorter than the plate is thick twice over."""
    return Strip(material.modulus, poisson(material), material.yield_strength, thickness, width, max(held - bolted, 2.0 * thickness))


def _rail_seat(name, plate, keys, scene, tabs, x, thickness, material, holes, side, level="lower") -> RailSeat:
    ear = rail_clamp.clamp(scene, tabs, x, thickness, side, level)
    fastener, _thread = bolt(tabs.bolt)
    steel = stock(tabs.material, "mounts.rail_tabs.material")
    middle = x + 0.5 * thickness
    top = ear.rail.at(middle)[1] + ear.rail.half_height
    height = float(np.mean([z for _y, z, _d in ear.bolts]))
    edge = min(rail_clamp.EDGE_DISTANCE * tabs.bolt, 0.5 * tabs.width)
    mount = strength.RailMount(fastener, tabs.bolts_per_rail, 2, ear.bolts[0][2], edge, thickness, material.ultimate_strength,
                               tabs.thickness, tabs.width, steel.yield_strength, steel.ultimate_strength, height - top,
                               weld_leg(steel, tabs.thickness, scene.chassis.rails.section.wall), FILLER_STRENGTH)
    strip = _strip(material, thickness, ear.top - ear.bottom, rail_clamp.SIDES[side] * ear.y - 0.5 * tabs.width, _outermost(holes, side))
    return RailSeat(name, _point(scene.engine_point(middle, ear.y, height)), plate, keys, strip, mount)


def foot_lug(front: model.FrontPlate, scene: Scene, side: str) -> tuple[float, float]:
    """(y, z) of the middle of the lug on a plate foot, engine frame; feet stand about the middle between the rails."""
    x = scene.engine.block_length + front.thickness
    middle = 0.5 * sum(rail_clamp.rail_line(scene, name).at(x)[0] for name in rail_clamp.SIDES)
    return middle + rail_clamp.SIDES[side] * front.foot_half_spacing, -front.foot_drop


def _foot(front: model.FrontPlate, tabs: model.RailTabs, scene: Scene, material, side: str) -> FootSeat:
    for name in ("foot_half_spacing", "foot_drop"):
        if getattr(front, name) is None:
            raise ValueError(f"plates.front.{name} is missing; a narrow front plate needs plate feet, or use kind wide")
    diameter = front.foot_bolt or tabs.bolt
    fastener, _thread = bolt(diameter)
    steel = stock(tabs.material, "mounts.rail_tabs.material")
    y, z = foot_lug(front, scene, side)
    x = scene.engine.block_length + front.thickness
    rail = rail_clamp.rail_line(scene, side)
    reach = np.subtract(rail.at(x), (y, z))
    length = float(np.linalg.norm(reach))
    half = rail_clamp.EDGE_DISTANCE * diameter
    strip = _strip(material, front.thickness, rail_clamp.PITCH * diameter * (front.foot_bolts - 1) + 2.0 * half,
                   rail_clamp.SIDES[side] * y - half, _outermost(scene.engine.front_holes, side))
    leg = weld_leg(steel, front.foot_tube.wall, scene.chassis.rails.section.wall)
    return FootSeat(f"plate foot {side}", _point(scene.engine_point(x - 0.5 * front.thickness, y, z)), "front_plate", f"plate_foot/{side}",
                    strip, fastener, front.foot_bolts, rail_clamp.PITCH * diameter, _bar(front.foot_tube, max(length - rail.radius, 1.0), steel),
                    (float(reach[0] / length), float(reach[1] / length)), leg, FILLER_STRENGTH)


def tie_hole(car: model.Car, scene: Scene, side: str) -> tuple[float, float]:
    """(y, z) of the tie bolt on one side, engine frame."""
    mid, tabs, support = car.plates.mid, car.mounts.rail_tabs, car.mounts.support_tube
    body = max([0.5 * mid.center_opening + PLATE_WEB] + [abs(y) + rail_clamp.EDGE_DISTANCE * d for y, _z, d in scene.engine.rear_holes])
    z = min(mid.above_crank - rail_clamp.EDGE_DISTANCE * tabs.bolt, support.above_crank - 0.5 * support.section.outer_diameter - TIE_BELOW_TUBE)
    return rail_clamp.SIDES[side] * 0.6 * body, z


def _tie(car: model.Car, scene: Scene, side: str) -> Tie:
    mid, tabs, support = car.plates.mid, car.mounts.rail_tabs, car.mounts.support_tube
    y, z = tie_hole(car, scene, side)
    fastener, _thread = bolt(tabs.bolt)
    steel, plate = stock(tabs.material, "mounts.rail_tabs.material"), stock(mid.material, "plates.mid.material")
    radius = 0.5 * support.section.outer_diameter
    highest = max((hole[1] for hole in scene.engine.rear_holes), default=0.0)
    strip = _strip(plate, scene.stack.mid_plate, 2.0 * max(rail_clamp.EDGE_DISTANCE * tabs.bolt, INCH), z, highest)
    point = scene.engine_point(-scene.stack.total, y, z)
    return Tie(f"tie tab {side}", _point(point), f"tie_tab/{side}", strip, fastener, tabs.width, tabs.thickness, steel.yield_strength,
               support.above_crank - radius - z, support.behind_plate, float(scene.chassis.uprights.half_spacing + point[1]))


def _tail(car: model.Car, scene: Scene) -> TailMount:
    mount, member, rails = car.mounts.transmission, car.mounts.cross_member, scene.chassis.rails
    made = mount_layout.spec(mount, member, scene)
    if rails.half_spacing is None:
        raise ValueError("chassis.rails.half_spacing is missing, so the transmission cross member cannot be screened; give it")
    steel = stock(mount.material, "mounts.transmission.material")
    fastener, _thread = bolt(mount.cross_bolt)
    point, seat, foot = (scene.engine_point(*place) for place in (made.pad, made.bolt_seat, made.member_point))
    return TailMount(_point(point), _point(seat), _point(foot), _bar(mount.tube, made.under - made.bolt_seat[2], steel), fastener,
                     made.receiver_diameter, mount_layout.SLEEVE_WALL, mount_layout.SLEEVE_FIT,
                     weld_leg(steel, mount_layout.SLEEVE_WALL, member.section.wall), FILLER_STRENGTH,
                     _bar(member.section, 2.0 * rails.half_spacing, stock(member.material, "mounts.cross_member.material")),
                     abs(member.offset) if member.reference == "footwell_tube" else 0.0)


def _strut(strut: model.LimiterStrut, scene: Scene) -> Strut:
    place = limiter.limiter(strut, scene)
    front, rear = (scene.engine_point(*end) for end in (place.front, place.rear))
    length = float(np.linalg.norm(front - rear))
    return Strut(_point(front), _point((front - rear) / length),
                 _bar(strut.section, length, stock(strut.material, "mounts.limiter_strut.material")), "front_plate")


@dataclass(frozen=True)
class Settings:
    """What is assumed about loads and safety; every one can be set where a rule is written."""
    shock_factor: float = screening.SHOCK_FACTOR
    grip: float | None = None
    launch_g: float = 3.0
    landing_g: float = 4.0
    braking_g: float = 2.5
    side_g: float = 2.0
    reversal: float = 0.5
    yield_safety: float = 1.5
    plate_travel: float = 1.5


def screened(car: model.Car, scene: Scene, settings: Settings = Settings()) -> tuple[screening.Screening, screening.LaunchTorque]:
    """The screening of a car with its defaults filled in, and the launch torque that it was made with."""
    torque = launch(car, scene, settings.shock_factor, settings.grip)
    cases = screening.cases(settings.launch_g, settings.landing_g, settings.braking_g, settings.side_g, settings.reversal)
    allowables = strength.Allowables(yield_safety=settings.yield_safety, plate_travel=settings.plate_travel)
    return screening.screen(mounting(car, scene), torque.mounts, cases, allowables), torque


# --- holes ------------------------------------------------------------------------------------------------------------


@dataclass(frozen=True)
class Hole:
    """The bolt holes of one joint: nominal bolt, hole diameter, least distance of a hole's centre from an edge, mm."""
    name: str
    subjects: tuple[str, ...]
    bolt: float
    diameter: float
    edge: float
    point: tuple[float, float, float]


def holes(car: model.Car, scene: Scene) -> tuple[Hole, ...]:
    """The holes that a car's mounts get, joint by joint, by what their shapes are laid out with."""
    held, tabs = mounting(car, scene), car.mounts.rail_tabs
    found = [Hole(seat.name, (seat.plate, *seat.tabs), tabs.bolt, seat.mount.hole, seat.mount.edge_distance, seat.point) for seat in held.rails]
    for seat in held.feet:
        diameter = car.plates.front.foot_bolt or tabs.bolt
        found.append(Hole(seat.name, (seat.foot, seat.plate), diameter, diameter + rail_clamp.HOLE_CLEARANCE,
                          rail_clamp.EDGE_DISTANCE * diameter, seat.point))
    edge = min(rail_clamp.EDGE_DISTANCE * tabs.bolt, 0.5 * tabs.width)
    found += [Hole(tie.name, (tie.key, "mid_plate"), tabs.bolt, tabs.bolt + rail_clamp.HOLE_CLEARANCE, edge, tie.point) for tie in held.ties]
    return tuple(found)
