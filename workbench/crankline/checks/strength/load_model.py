"""A car's mounting as its mechanics wants it: from records, scene and catalog; and the launch torque it has to hold.

What a car file does not say is assumed, and says so here: bolts of SAE grade 8 (inch) or ISO 10.9, a filler of 70 ksi, fillets
of the least leg that AWS D1.1 gives, a tail of cast aluminum, uprights of the main rails' material.
"""
from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import lru_cache
from typing import Any, NamedTuple

import numpy as np

from ... import catalog, model
from ...geometry import front_plate, limiter, mid_plate, mount_layout, plate_foot, plate_layout, rail_clamp
from ...geometry.outline import Circle, Flat
from ...mechanics import balance as balancing
from ...mechanics import components, shaft, strength, welds
from ...mechanics import mount_screening as screening
from ...mechanics.fasteners import INTO_METAL, Bolt
from ...mechanics.frames import as_point
from ...mechanics.limiter_strut import Clevis, PlateEnd, Point, RailEnd, Strut
from ...mechanics.mounting import Bar, FootSeat, Hung, Mounting, RailSeat, Strip, Tie
from ...mechanics.scene import Scene
from ...mechanics.tail_mount import Receiver, Tab, TailBolts, TailMount
from ...units import INCH
from . import chassis_tubes

FILLER_STRENGTH = 70.0 * 6.894757293168361
"""Tensile strength of ER70S-2 filler, MPa: usual for 4130 of condition N; the weld metal is screened, not the tube. Assumed."""

GRADES = {"inch": "SAE 8", "metric": "ISO 10.9"}
"""Grade of bolts by thread; assumed."""

TAIL_ULTIMATE = 30.0 * 6.894757293168361
"""Tensile strength of the transmission's tail, MPa: 356-T6 sand castings of ASTM B26, from memory: confirm. Assumed, as no record says what
a tail is cast of."""


# --- stock ------------------------------------------------------------------------------------------------------------


def bolt(diameter: float) -> tuple[Bolt, catalog.Fastener]:
    """The bolt of a diameter in the assumed grade; ValueError where the catalog has no such thread."""
    thread = catalog.bolt_for(diameter)
    grade = catalog.grade(GRADES["metric" if thread.stress_factor < 0.95 else "inch"])
    return Bolt(thread.diameter, thread.stress_area, grade.proof, grade.ultimate_strength), thread


def stock(name: str, field: str) -> catalog.Material:
    """A material that has strengths; ValueError naming the field where it has none."""
    found = catalog.material(name)
    if found.yield_strength is None or found.ultimate_strength is None:
        raise ValueError(f"{field}: no strength of {name} is known, so it cannot be screened; use a material of the catalog with a "
                         "yield strength")
    return found


def weld_leg(*walls: tuple[catalog.Material, float]) -> float:
    """Leg that a fillet between parts is screened with, mm; walls: material and thickness, mm, of each part.

    The least that AWS D1.1 gives for the thicker one, or less where the wall of one of them (0.40 of its own yield in shear, AWS D1.1)
    holds less than such a fillet."""
    wall = 0.40 * min(material.yield_strength * thick for material, thick in walls) / float(welds.allowable_force(FILLER_STRENGTH, 1.0))
    return min(float(welds.least_leg(max(thick for _material, thick in walls))), wall)


def _rail_wall(scene: Scene) -> tuple[catalog.Material, float]:
    """Material and wall of the main rails."""
    rails = scene.chassis.rails
    return stock(rails.material, "chassis.rails.material"), rails.section.wall


def poisson(material: catalog.Material) -> float:
    """From both moduli, E / 2 G - 1; 0.3 where the shear modulus is not known."""
    return 0.3 if material.shear_modulus is None else material.modulus / (2.0 * material.shear_modulus) - 1.0


def _bar(section: model.Section, length: float, material: catalog.Material) -> Bar:
    shear = material.shear_modulus or material.modulus / 2.6
    return Bar(section.outer_diameter, section.wall, length, material.yield_strength, material.modulus, shear)


# --- car --------------------------------------------------------------------------------------------------------------


def launch(car: model.Car, scene: Scene, shock_factor: float = screening.SHOCK_FACTOR,
           grip: float | None = None) -> screening.LaunchTorque:
    """Launch torque of a car with its defaults filled in. grip: friction of its rear tires; absent: by kind of tire, assumed.

    Without a list of masses the load on the tires is not known, and nothing caps what the engine can send.
    """
    gearing = car.transmission
    multiplier = gearing.converter_ratio or gearing.clutch_capacity_factor or 1.0
    if not car.masses:
        return screening.LaunchTorque(float(car.engine.peak_torque * multiplier * gearing.first_gear), math.inf, shock_factor)
    mass, cg = components.whole(car, scene)
    tire = scene.chassis.rear_tire
    return screening.launch(car.engine.peak_torque, multiplier, gearing.first_gear, float(mass), cg, car.car.wheelbase,
                            grip or screening.GRIP[car.car.tires], filter(None, (tire.loaded_radius, tire.free_radius)),
                            scene.rear_end.ratio, shock_factor)


class Hit(NamedTuple):
    """The driveshaft's tube at the hit of a launch: its torque; shear stress, MPa, and twist between the joint centers, rad, of the
    shaft torque times the shock factor; numbers, or arrays over placements."""
    torque: screening.LaunchTorque
    stress: Any
    twist: Any


def hit(car: model.Car, scene: Scene, shock_factor: float = screening.SHOCK_FACTOR) -> Hit:
    """Torsion of the driveshaft at the hit, of a car with its defaults filled in."""
    tube, torque = car.driveshaft, launch(car, scene, shock_factor)
    stress, turned = (shaft.torsion_stress(torque.mounts, tube.outer_diameter, tube.wall),
                      shaft.twist(torque.mounts, scene.driveline.length, tube.outer_diameter, tube.wall, tube.shear_modulus))
    return Hit(torque, *(float(value) if np.ndim(value) == 0 else value for value in (stress, turned)))


def mounting(car: model.Car, scene: Scene) -> Mounting:
    """Everything that holds the powertrain of a car with its defaults filled in; ValueError where something cannot be laid out."""
    tabs, mid, mounts = car.mounts.rail_tabs, car.plates.mid, car.mounts
    mass, cg = balancing.total(components.powertrain(scene))
    x_mid, thick = -scene.stack.total, scene.stack.mid_plate
    rear = scene.engine.rear_holes
    seats = []
    for level in rail_clamp.LEVELS if mid.kind == "double_rail" else rail_clamp.LEVELS[:1]:
        suffix = "_upper" if level == "upper" else ""
        for side in rail_clamp.SIDES:
            keys = tuple(f"rail_tab/{side}_{face}{suffix}" for face in ("front", "rear"))
            seats.append(_rail_seat(f"mid plate {side}{' upper' if suffix else ''}", "mid_plate", keys, scene, tabs, x_mid, thick,
                                    stock(mid.material, "plates.mid.material"), rear, side, level))
    feet: tuple[FootSeat, ...] = ()
    front = car.plates.front
    if front is not None:
        material, x = stock(front.material, "plates.front.material"), scene.engine.block_length
        if front.kind == "wide":
            seats += [_rail_seat(f"front plate {side}", "front_plate", tuple(f"front_tab/{side}_{face}" for face in ("front", "rear")),
                                 scene, tabs, x, front.thickness, material, scene.engine.front_holes, side) for side in rail_clamp.SIDES]
        else:
            feet = tuple(_foot(front, tabs, scene, material, side) for side in rail_clamp.SIDES)
    support = mounts.support_tube
    ties: tuple[Tie, ...] = ()
    tube: Bar | None = None
    if support is not None and scene.chassis.uprights is not None and scene.chassis.uprights.half_spacing is not None:
        tube = _bar(support.section, 2.0 * scene.chassis.uprights.half_spacing, stock(support.material, "mounts.support_tube.material"))
        ties = tuple(_tie(car, scene, side) for side in rail_clamp.SIDES)
    tail = _tail(car, scene) if mounts.transmission is not None and mounts.cross_member is not None else None
    strut = _strut(car, scene) if mounts.limiter_strut is not None and front is not None else None
    alone = components.powertrain(scene)[1]
    hung = Hung(alone.mass, as_point(alone.cg), as_point(scene.engine_point(-scene.stack.total)))
    found = Mounting(float(mass), as_point(cg), as_point(scene.engine_frame.axis), tuple(seats), feet, ties, tube, tail, strut, hung)
    member = None if tail is None else stock(mounts.cross_member.material, "mounts.cross_member.material")
    carried = None if tube is None else stock(support.material, "mounts.support_tube.material")
    further = [(one, stock(one.material, f"chassis.tubes[{one.name}].material")) for one in car.chassis.tubes or ()]
    return replace(found, chassis=chassis_tubes.chassis(car, scene, found, _rail_wall(scene)[0], member, carried, further))


def _axes(scene: Scene) -> tuple[Point, Point, Point]:
    """Unit vectors of the engine frame in the car frame."""
    forward, left, up = scene.engine_frame.rotation.T
    return as_point(forward), as_point(left), as_point(up)


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
                               weld_leg((steel, tabs.thickness), _rail_wall(scene)), FILLER_STRENGTH)
    strip = _strip(material, thickness, ear.top - ear.bottom, rail_clamp.SIDES[side] * ear.y - 0.5 * tabs.width, _outermost(holes, side))
    return RailSeat(name, as_point(scene.engine_point(middle, ear.y, height)), plate, keys, strip, mount)


def _foot(front: model.FrontPlate, tabs: model.RailTabs, scene: Scene, material, side: str) -> FootSeat:
    lug = plate_layout.lug(front, tabs, scene, side)
    diameter = lug.bolt
    fastener, _thread = bolt(diameter)
    steel = stock(tabs.material, "mounts.rail_tabs.material")
    y, z = lug.y, 0.5 * (lug.bottom + lug.top)
    x = scene.engine.block_length + front.thickness
    rail = rail_clamp.rail_line(scene, side)
    reach = np.subtract(rail.at(x), (y, z))
    length = float(np.linalg.norm(reach))
    half = rail_clamp.EDGE_DISTANCE * diameter
    strip = _strip(material, front.thickness, lug.top - lug.bottom,
                   rail_clamp.SIDES[side] * y - half, _outermost(scene.engine.front_holes, side))
    leg, made = weld_leg((steel, front.foot_tube.wall), _rail_wall(scene)), plate_foot.spec(front, tabs, scene, side)
    return FootSeat(f"plate foot {side}", as_point(scene.engine_point(x - 0.5 * front.thickness, y, z)), "front_plate",
                    f"plate_foot/{side}",
                    strip, fastener, front.foot_bolts, rail_clamp.PITCH * diameter,
                    _bar(front.foot_tube, max(length - rail.radius, 1.0), steel),
                    (float(reach[0] / length), float(reach[1] / length)), leg, FILLER_STRENGTH, lug.bolts[0][2], half,
                    ((front.thickness, material.ultimate_strength), (front.foot_web or tabs.thickness, steel.ultimate_strength)),
                    (min(2.0 * half, front.foot_tube.outer_diameter), float(np.linalg.norm(np.subtract(made.start, (y, z))))))


def _tie(car: model.Car, scene: Scene, side: str) -> Tie:
    mid, tabs, support = car.plates.mid, car.mounts.rail_tabs, car.mounts.support_tube
    sign = rail_clamp.SIDES[side]
    y, z, hole = next(item for item in plate_layout.tie_holes(mid, tabs, support, scene) if sign * item[0] > 0.0)
    fastener, _thread = bolt(tabs.bolt)
    steel, plate = stock(tabs.material, "mounts.rail_tabs.material"), stock(mid.material, "plates.mid.material")
    tube = stock(support.material, "mounts.support_tube.material")
    radius = 0.5 * support.section.outer_diameter
    highest = max((pattern[1] for pattern in scene.engine.rear_holes), default=0.0)
    strip = _strip(plate, scene.stack.mid_plate, 2.0 * max(rail_clamp.EDGE_DISTANCE * tabs.bolt, INCH), z, highest)
    point = scene.engine_point(-scene.stack.total, y, z)
    upright = _rail_wall(scene)[0], scene.chassis.uprights.section.wall
    # The level leg ends half a radius behind the line where it touches the tube (geometry/tie_tab): no weld stands farther from it.
    return Tie(f"tie tab {side}", as_point(point), f"tie_tab/{side}", strip, fastener, tabs.width, tabs.thickness, steel.yield_strength,
               support.above_crank - radius - z, support.behind_plate, float(scene.chassis.uprights.half_spacing + point[1]), radius,
               weld_leg((steel, tabs.thickness), (tube, support.section.wall)), weld_leg((tube, support.section.wall), upright),
               FILLER_STRENGTH, hole,
               min(rail_clamp.EDGE_DISTANCE * tabs.bolt, 0.5 * tabs.width),
               ((scene.stack.mid_plate, plate.ultimate_strength), (tabs.thickness, steel.ultimate_strength)))


def _tail(car: model.Car, scene: Scene) -> TailMount:
    mount, member, rails = car.mounts.transmission, car.mounts.cross_member, scene.chassis.rails
    made = mount_layout.spec(mount, member, scene)
    if rails.half_spacing is None:
        raise ValueError("chassis.rails.half_spacing is missing, so the transmission cross member cannot be screened; give it")
    steel, tube = stock(mount.material, "mounts.transmission.material"), stock(member.material, "mounts.cross_member.material")
    shear = steel.shear_modulus or steel.modulus / 2.6
    (cross, _thread), (into, _other) = bolt(mount.cross_bolt), bolt(made.tail_bolt)

    def caras_point(place) -> tuple[float, float, float]:
        return as_point(scene.engine_point(*place))

    flat = mount_layout.tab(made)
    places = tuple((hole.z, hole.y) for hole in flat.holes)
    toward = [x for x, _y in places if x * made.reach > 0.0]
    tab = Tab(2.0 * made.half_width, made.tab_thickness, made.flange_depth, flat.holes[0].diameter, min(2, len(places)),
              max(map(abs, toward), default=0.0), float(edge_distances(flat, flat.holes).min()), steel.yield_strength,
              steel.ultimate_strength, steel.modulus, shear)
    low, high = made.receiver_span
    seat_z, radius = made.bolt_seat[2], 0.5 * made.member_diameter
    if made.side == 0:
        weld, plates = (*made.head, made.foot[2] + radius), None
    else:
        # Bracket plates end at 0.6 radii above and below the member's axis, where its surface stands 0.8 radii from it.
        weld = (made.foot[0] + 0.8 * made.side * radius, made.pad[1], made.foot[2])
        plates = (mount_layout.SLEEVE_WALL, 1.2 * radius, abs(made.aside) - 0.8 * radius,
                  mount_layout.BRACKET_SPREAD * made.receiver_diameter)
    receiver = Receiver(made.receiver_diameter, mount_layout.SLEEVE_WALL, mount_layout.SLEEVE_FIT,
                        mount.cross_bolt + mount_layout.BOLT_CLEARANCE, seat_z - made.tube_low, min(seat_z - low, high - seat_z),
                        caras_point(weld), steel.yield_strength, steel.ultimate_strength,
                        weld_leg((steel, mount_layout.SLEEVE_WALL), (tube, member.section.wall)), FILLER_STRENGTH, plates)
    axes = _axes(scene)
    return TailMount(caras_point(made.pad), caras_point((*made.head, made.under)), caras_point(made.bolt_seat),
                     caras_point(made.member_point),
                     axes, tab,
                     TailBolts(into, places, INTO_METAL * into.diameter, TAIL_ULTIMATE, mount_layout.EDGE_RATIO * into.diameter),
                     _bar(mount.tube, made.under - seat_z, steel), cross, receiver,
                     weld_leg((steel, mount.tab_thickness), (steel, mount.tube.wall)),
                     _bar(member.section, 2.0 * rails.half_spacing, tube), weld_leg((tube, member.section.wall), _rail_wall(scene)),
                     abs(member.offset) if member.reference == "footwell_tube" else 0.0)


def _strut(car: model.Car, scene: Scene) -> Strut:
    strut, front = car.mounts.limiter_strut, car.plates.front
    place = limiter.limiter(strut, scene)
    steel, plate = stock(strut.material, "mounts.limiter_strut.material"), stock(front.material, "plates.front.material")
    ends = [scene.engine_point(*end) for end in (place.front, place.rear)]
    length = float(np.linalg.norm(ends[0] - ends[1]))
    fastener, thread = bolt(strut.bolt)
    d, thick, holes = strut.bolt, strut.bracket_thickness, limiter.bracket_holes(strut)
    width, hole = 2.0 * limiter.EAR * d, holes[0][2]
    clevis = Clevis(width, thick, limiter.BALL_WIDTH * d, limiter.REACH * d, hole, 0.5 * width, steel.yield_strength,
                    steel.ultimate_strength, weld_leg((steel, thick)), FILLER_STRENGTH)
    in_plate = float(edge_distances(_front_cut(_front_spec(car, scene)), [Circle(*item) for item in holes]).min())
    plate_end = PlateEnd(0.5 * (holes[1][1] - holes[0][1]), hole, 0.5 * width, in_plate, front.thickness, plate.ultimate_strength)
    radius = place.rail.radius
    # The lower ear runs from behind the web to its round end, which counts to 0.7 of its radius. It is sunk into the rail by a little; the
    # groove beside it, filled, has its middle between the line where they meet and the ear's edge.
    run = 0.7 * limiter.EAR * d + limiter.REACH * d + thick
    met = 2.0 * math.sqrt(max(0.0, radius**2 - (radius - limiter.SINK) ** 2))
    throat = min(float(welds.flare_throat(radius)), thick)
    rail, wall = _rail_wall(scene)
    allowed = min(welds.ALLOWABLE_SHARE * FILLER_STRENGTH * throat, 0.40 * steel.yield_strength * thick,
                  0.40 * rail.yield_strength * wall)
    rail_end = RailEnd(run, 0.5 * (met + width), place.rear[2] - place.seat, 0.5 * run - 0.7 * limiter.EAR * d, allowed)
    axes = _axes(scene)
    return Strut(as_point(ends[0]), as_point((ends[0] - ends[1]) / length), _bar(strut.section, length, steel), "front_plate", axes,
                 fastener,
                 thread.stress_area, clevis, plate_end, rail_end)


ASSUMED_LAUNCH = 3.0
"""Forward acceleration at launch of a car whose mass is not known, g; assumed, no source."""


@dataclass(frozen=True)
class Settings:
    """What is assumed about loads and safety; every one can be set where a rule is written."""
    shock_factor: float = screening.SHOCK_FACTOR
    grip: float | None = None
    launch_g: float = 0.0
    """0: what the launch torque gives the car, before any shock."""
    landing_g: float = 4.0
    braking_g: float = 2.5
    side_g: float = 2.0
    reversal: float = 0.5
    yield_safety: float = 1.5
    plate_travel: float = 1.5


def screened(car: model.Car, scene: Scene, settings: Settings = Settings(),
             held: Mounting | None = None) -> tuple[screening.Screening, screening.LaunchTorque]:
    """The screening of a car with its defaults filled in, and the launch torque that it was made with. held: its ``mounting``, where that
    is there already."""
    torque = launch(car, scene, settings.shock_factor, settings.grip)
    # A car whose mass is not known launches as assumed.
    launched = settings.launch_g or torque.forward or ASSUMED_LAUNCH
    cases = screening.cases(launched, settings.landing_g, settings.braking_g, settings.side_g, settings.reversal)
    allowables = strength.Allowables(yield_safety=settings.yield_safety, plate_travel=settings.plate_travel)
    return screening.screen(held or mounting(car, scene), torque.mounts, cases, allowables), torque


# --- plates as they are cut ---------------------------------------------------------------------------------------------


# Most of a plate's cost is the proof that it can be cut, and most of what is tried on a car leaves its plates as they are.
_front_cut, _mid_cut = lru_cache(maxsize=16)(front_plate.flat), lru_cache(maxsize=16)(mid_plate.flat)


def plates_cut(car: model.Car, scene: Scene) -> dict[str, tuple[front_plate.Spec | mid_plate.Spec, Flat]]:
    """What the front and mid plate are made from, and how they are cut, by key."""
    mid = mid_plate.spec(car.plates.mid, car.mounts.rail_tabs, car.mounts.support_tube, scene)
    found: dict[str, tuple[front_plate.Spec | mid_plate.Spec, Flat]] = {"mid_plate": (mid, _mid_cut(mid))}
    if car.plates.front is not None:
        front = _front_spec(car, scene)
        found["front_plate"] = front, _front_cut(front)
    return found


def _front_spec(car: model.Car, scene: Scene) -> front_plate.Spec:
    return front_plate.spec(car.plates.front, car.mounts.rail_tabs, scene, car.mounts.limiter_strut)


def edge_distances(flat: Flat, holes: Sequence[Circle]) -> np.ndarray:
    """From each hole's center to the nearest edge of the part, outside or of an opening, (n,); a hole of its own kind is no edge."""
    y, z = np.array([(hole.y, hole.z) for hole in holes]).T
    found = np.min([loop.distances(y, z) for loop in (flat.outer, *flat.inner) if not isinstance(loop, Circle)], axis=0)
    for place, hole in enumerate(holes):
        for item in flat.inner:
            if isinstance(item, Circle) and item.diameter > 2.0 * hole.diameter:
                found[place] = min(found[place], math.hypot(item.y - hole.y, item.z - hole.z) - 0.5 * item.diameter)
    return found
