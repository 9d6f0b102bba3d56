"""Every rule that is measured on shapes: a car that passes, the smallest step on either side of its limit, a car to which it does not
apply, one on which it cannot be evaluated. Shapes are built from the model by ``geometry``, only those that the rule looks at. Rules of
numbers: mechanics/test_every_rule.py."""
from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from conftest import ROOT
from every_rule import ALWAYS, EVENT, INCH, NUMBERS, RULES, Blind, Edge, Row, Steps, Trial, changed, put, remedied

from crankline import carfile, model
from crankline.checks import evaluate
from crankline.checks.finding import State
from crankline.features import plan
from crankline.features.base import host_placement
from crankline.features.digest import digest
from crankline.geometry import (
    chassis_tube,
    cross_member,
    driveshaft,
    enclosure,
    engine_envelope,
    firewall,
    fixed_loop,
    header,
    mid_plate,
    shaft_envelope,
    split_loop,
    transmission_envelope,
    tunnel,
)
from crankline.measure import host_measurer
from crankline.measure.kept import Kept
from crankline.mechanics import scene as scenes
from crankline.mechanics.chassis import completed
from crankline.mechanics.frames import Frame
from crankline.record import filled
from crankline.remedies import search
from crankline.snapshot import CHASSIS, POWERTRAIN, PartView, Snapshot, Unsound

AUTOMATIC, CLUTCH = "full_bodied_automatic", "open_clutch"
CARS = {name: carfile.read(ROOT / "demo_assemblies" / f"{name}.yaml") for name in (AUTOMATIC, CLUTCH)}

# --- shapes -----------------------------------------------------------------------------------------------------------

LOOPS, TUBE = ("loop/",), ("enclosure",)
CONTAINED = LOOPS + TUBE
MOUNTS = tuple(f"enclosure_mount/{end}_{side}" for end in ("front", "rear") for side in ("top", "bottom"))
""" as made": of the demo as it is, so that they stay where they are when loops are moved."""
HELD = (*(f"rail_tab/{side}_{face}" for side in ("left", "right") for face in ("front", "rear")), "tie_tab/left", "tie_tab/right")
MEMBERS = ("rear_cross_member", "upper_fore_aft/left", "upper_fore_aft/right")
FLOOR = ("tube/floor_left", "tube/floor_right")
NEEDED = {
    "loop_behind_front_joint": LOOPS, "loop_closed_angle": LOOPS + MEMBERS, "loop_section": LOOPS, "loop_count": LOOPS,
    "loop_secured": LOOPS + MEMBERS + FLOOR, "loop_pins_missing": LOOPS, "enclosure_length": TUBE, "enclosure_wall": TUBE,
    "joint_shield": TUBE,
    "enclosure_over_front_joint": TUBE, "enclosure_supports": (*CONTAINED, *(f"{key} as made" for key in MOUNTS)),
    "enclosure_bore_over_joint": TUBE, "open_shaft_past_driver": TUBE,
    "shaft_radial_clearance": CONTAINED, "released_shaft_over_track": CONTAINED, "released_shaft_over_floor": CONTAINED,
    "released_shaft_to_driver": (*CONTAINED, *MOUNTS), "joint_through_enclosure": TUBE, "pan_gap_in_plan": ("transmission", "cross_member"),
    "clutch_plate": ("mid_plate",), "plate_opening": ("mid_plate",), "plate_bolts_below": ("mid_plate",),
    "plate_bolts_above": ("mid_plate",),
    "plate_corners": ("mid_plate", *HELD)}
"""Quantity to the parts that are made for it; the rows of clearances name their own."""

KEPT = Kept()
"""What has been measured: rules that look at the same shapes in the same places measure them once."""


def built(builder, spec, frame=None):
    """A shape by its spec, standing in the car, and its digest. Nothing is built twice in a session of tests (cars.py)."""
    shape = builder.build(spec)
    if frame is not None:
        shape.Placement = host_placement(frame).multiply(shape.Placement)
    return shape, digest(spec, builder.VERSION)


def shape_of(key, car, scene):
    """The shape of a part of a car with its defaults filled in, and its digest; None where the car has no such part."""
    stem, _slash, name = key.partition("/")
    containment = car.containment
    if stem == "loop":
        loop = next(loop for loop in containment.loops if loop.name == name)
        builder = {"fixed": fixed_loop, "split": split_loop}[loop.kind]
        return built(builder, builder.spec(loop, scene, car.chassis.tubes or ()), Frame(np.eye(3), scene.loop_center(loop)))
    if stem == "enclosure":
        tube = containment.enclosure
        return tube and built(enclosure, enclosure.spec(tube, scene, containment.loops), enclosure.frame(tube, scene, containment.loops))
    if stem == "tunnel":
        return built(tunnel, tunnel.spec(containment.tunnel, containment, scene))
    if stem == "engine":
        return built(engine_envelope, engine_envelope.spec(scene.engine, scene), scene.engine_frame)
    if stem == "header":
        box = next((one for one in car.headers if f"header/{one.name}" == key), None)
        return box and built(header, header.spec(box, scene), scene.engine_frame)
    if stem == "transmission":
        return built(transmission_envelope, transmission_envelope.spec(scene.transmission, scene), scene.engine_frame)
    if key.endswith(" as made"):
        demo = CARS[AUTOMATIC]
        return shape_of(key.removesuffix(" as made"), filled(demo), scenes.of(demo)) if containment.enclosure else None
    if key == "firewall as cut":
        return shape_of("firewall", filled(CARS[AUTOMATIC]), scenes.of(CARS[AUTOMATIC]))
    if stem == "firewall":
        return built(firewall, firewall.spec(car.plates.mid, car.mounts.rail_tabs, scene), scene.engine_frame)
    if stem == "mid_plate":
        mounts = car.mounts
        return built(mid_plate, mid_plate.spec(car.plates.mid, mounts.rail_tabs, mounts.support_tube, scene), scene.engine_frame)
    if stem in ("rail_tab", "tie_tab", "plate_foot", "footwell_tube", "enclosure_mount", "tube", "support_tube"):
        whole = replace(car, chassis=completed(car.chassis, car.car.wheelbase))
        item = plan.described(whole, scenes.of(whole)).get(key)
        return item and built(item.feature.geometry, item.spec(scenes.of(whole)), item.frame(scenes.of(whole)))
    if stem == "driveshaft":
        return built(driveshaft, driveshaft.spec(car.driveshaft, scene), scene.shaft_frame)
    if stem == "shaft_envelope":
        return built(shaft_envelope, shaft_envelope.spec(car.driveshaft, scene), scene.shaft_frame)
    if stem == "cross_member":
        member = car.mounts.cross_member
        return member and built(cross_member, cross_member.spec(member, scene))
    spec = chassis_tube.specs(scene.chassis, car.car.wheelbase).get(key)
    return spec and built(chassis_tube, spec)


def kind_of(key, car):
    stem, _slash, name = key.partition("/")
    if stem == "loop":
        return next(f"{loop.kind}_loop" for loop in car.containment.loops if loop.name == name)
    made = ("enclosure", "tunnel", "driveshaft", "engine", "transmission", "firewall", "shaft_envelope", "cross_member", "mid_plate",
            "header", "rail_tab", "tie_tab", "plate_foot", "enclosure_mount")
    return stem if stem in made else "frame_tube" if stem == "tube" else "chassis_tube"


def shoot(car, unsound, row):
    """A snapshot of a car with the parts that the row's rule looks at."""
    full, scene = filled(car), scenes.of(car)
    wanted = PARTS.get(row.rule) or NEEDED[RULES[row.rule].quantity]
    keys = [key for key in wanted if not key.endswith("/")]
    keys += [f"loop/{loop.name}" for loop in full.containment.loops if "loop/" in wanted]
    parts = []
    for key in keys:
        if made := shape_of(key, full, scene):
            shape, mark = made
            material = {"enclosure": full.containment.enclosure, "mid_plate": full.plates.mid}.get(key)
            material = material.material if material else "4130N"
            if key.startswith("loop/"):
                material = next(loop.material for loop in full.containment.loops if f"loop/{loop.name}" == key)
            key = key.partition(" ")[0]
            moves = POWERTRAIN if key in ("engine", "transmission", "firewall") or key.startswith("header/") else CHASSIS
            parts.append(PartView(key, kind_of(key, full), key, material, 1.0, shape, moves, mark))
    return Snapshot(car, scene, tuple(parts), tuple(Unsound(key, kind, f"{key} says so", blocking) for key, kind, blocking in unsound))


ONE_LOOP = "one loop"
CARS[ONE_LOOP] = changed(CARS[AUTOMATIC], {"containment.loops": CARS[AUTOMATIC].containment.loops[:1], "containment.enclosure": None})
STRAP_LOOP = "one loop of strap"
"""Its shape is built and read in a fifth of the time: for rules that ask what a loop stands around, whatever it is made of."""
RING = "one ring of tube"
"""A loop without legs, of which nothing but the making of its shape is different: for rules that ask what it is made of, whether it closes
and what it holds. How the sections of all others are read is asked in test_checks_shapes.py."""
FIXED_LOOP = "fixed loop"
CARS[STRAP_LOOP] = changed(CARS[ONE_LOOP], {
    "containment.loops[front].form": "strap", "containment.loops[front].section": None,
    "containment.loops[front].strap_thickness": 0.375 * INCH, "containment.loops[front].strap_width": 2.5 * INCH})
CARS[FIXED_LOOP] = changed(CARS[ONE_LOOP], {"containment.loops": CARS[AUTOMATIC].containment.loops[2:]})
CARS[RING] = changed(CARS[ONE_LOOP], {"containment.loops[front].kind": "fixed", "chassis.upper_fore_aft": None,
                                      "chassis.rear_cross_member": None, "chassis.tubes": ()})
BARE = {"chassis.rails.height": 11 * INCH}
"""No leg goes down to rails that the ring itself reaches."""
TRIAL = Trial(CARS, shoot, lambda: host_measurer.HostMeasurer(KEPT))

# --- rows -------------------------------------------------------------------------------------------------------------

LAYOUT = Blind("layout is invalid", unsound=(("layout", "invalid", True),))
NO_HOST = Blind("only be measured in FreeCAD", host=False)
STALE_LOOP = Blind("loop/front is stale", unsound=(("loop/front", "stale", False),))
STALE_TUBE = Blind("enclosure is stale", unsound=(("enclosure", "stale", False),))
SLOW = 1e-3
"""s: a step beyond a printed elapsed time."""

STREET = {"car.tires": "street", "car.power_adder": "none"}
NHRA_LOOP_OFF = {"not 13.99 s or quicker": {"car.elapsed_time": 13.99 + SLOW},
                 "tires is slick, not street": {"car.elapsed_time": 13.99 + SLOW},
                 "not quicker than 11.49 s": {**STREET, "car.elapsed_time": 11.49},
                 "not 8.59 s or quicker": {"car.track": "eighth", "car.elapsed_time": 8.59 + SLOW},
                 "not quicker than 7.35 s": {**STREET, "car.track": "eighth", "car.elapsed_time": 7.35}}
NHRA_LOOP_ON = ({"car.elapsed_time": 13.99}, {"car.track": "eighth", "car.elapsed_time": 8.59},
                {**STREET, "car.elapsed_time": 11.49 - SLOW},
                {**STREET, "car.track": "eighth", "car.elapsed_time": 7.35 - SLOW})
NO_TIME = Blind("elapsed_time is not known", {"car.elapsed_time": None})
NO_LOOPS = {"containment.loops": ()}
NO_LOOP = {"the car has no loop": NO_LOOPS}
NO_TUBE = {"containment.enclosure": None}
STRAP = {"containment.loops[front].form": "strap", "containment.loops[front].section": None,
         "containment.loops[front].strap_thickness": 0.375 * INCH, "containment.loops[front].strap_width": 2.5 * INCH}
BESIDE = {"shaft_passes_driver is false": {"car.driver_position": "ahead_of_axle_left", "car.driver_envelope.x_rear": 3000.0,
                                           "car.driver_envelope.x_front": 3500.0}}
WHERE_DRIVER = Blind("shaft_passes_driver is not known", {"car.driver_envelope": None, "car.driver_position": "behind_axle"})
METAL = {"shaft_material is metal": {"driveshaft.material": "4130N"}}
NEITHER = {"shaft_material is metal": {**METAL["shaft_material is metal"], **BESIDE["shaft_passes_driver is false"]}}
UNKNOWN_SHAFT = Blind("shaft_material is not known", {"driveshaft.material": "unobtainium"})
DOM = {"containment.enclosure.material": "1020_DOM"}
ALUMINIUM = {"containment.enclosure.material": "6061-T6"}
UNKNOWN_LOOP = Blind("is not in the catalog", {"containment.loops[front].material": "unobtainium"})
DEG = np.pi / 180.0
PINS = ((0, 0.0, False), (1, 1.0, False), (2, 2.0, True))


def loop(field):
    return f"containment.loops[front].{field}"


def section(od, wall, thickness, width):
    """A tube by its diameter and by its wall, a strap by its thickness and by its width."""
    thick = {loop("section"): model.Section(outer_diameter=26.0, wall=3.0)}
    return (Edge(loop("section.outer_diameter"), 22.9, 21.0, od, thick), Edge(loop("section.wall"), 2.5, 1.2, wall, thick),
            Edge(loop("strap_thickness"), 9.0, 2.0, thickness, STRAP), Edge(loop("strap_width"), 52.0, 48.0, width, STRAP))


def loop_rules(body, place, sizes, off, ons, blind):
    """The rules of one book on its retainer loop."""
    return [
        Row(f"{body}-LOOP-PLACE", ONE_LOOP, (Edge(loop("x"), 51.25 * INCH, 46.0 * INCH, place),), off,
            (*blind, STALE_LOOP, NO_HOST, LAYOUT),
            ons=ons, lacks={"no loop ": NO_LOOPS}),
        Row(f"{body}-LOOP-CLOSED", RING, (Edge(loop("open_angle"), 0.0, 30 * DEG, "360 deg", whose="loop/front", flat=True),), off,
            (*blind, STALE_LOOP, NO_HOST), BARE, ons=ons, lacks=NO_LOOP),
        Row(f"{body}-LOOP-SECTION", RING, section(*sizes), off, (*blind, STALE_LOOP, NO_HOST, UNKNOWN_LOOP), BARE, ons=ons,
            lacks={**NO_LOOP, "aluminum was found": {loop("material"): "6061-T6"}}),
        Row(f"{body}-LOOP-MOUNTED", ONE_LOOP, (Steps(loop("pins_feet"), PINS, "2", whose="loop/front"),), off,
            (*blind, STALE_LOOP, NO_HOST),
            ons=ons, lacks=NO_LOOP)]




def loops_of(car, value):
    """Turns how many of its loops a car has."""
    return replace(car, containment=replace(car.containment, loops=car.containment.loops[:value]))


def enclosed(rule, edges, off, blind=(), **more):
    """A rule on the enclosure of the clutch car, whose driver sits astride the shaft."""
    return Row(rule, CLUTCH, edges, off, (STALE_TUBE, NO_HOST, *blind), **more)


ASTRIDE = {"car.driver_position": "behind_axle", "containment.enclosure.x_rear": 9 * INCH, "containment.enclosure.x_front": 56 * INCH}
CARRIED = (Steps(loop("x"), ((51.25 * INCH, 2.0, True), (48 * INCH, 1.0, False)), "2"),)
STALE_MOUNT = Blind("enclosure_mount/front_top is stale", unsound=(("enclosure_mount/front_top", "stale", False),))
RAILS = ("rail/left", "rail/right")
STALE_PLATE = Blind("mid_plate is stale", unsound=(("mid_plate", "stale", False),))
TIMED = {"not 11.99 s or quicker": {"car.elapsed_time": 11.99 + SLOW}, "transmission is automatic": {"transmission.kind": "automatic"}}
TOP = {"transmission is automatic": {"transmission.kind": "automatic"}}
PLATE = "plates.mid.thickness"
HEADERS = (model.Header(name="left", x_rear=6 * INCH, x_front=18 * INCH, y_right=7 * INCH, y_left=11 * INCH, z_low=-6 * INCH,
                        z_high=8 * INCH),)
HIGH = {"headers[left].y_left": 14 * INCH, "headers[left].z_low": -2 * INCH}
STARTER = model.Opening(y=-3.0 * INCH, z=-4.8 * INCH, diameter=1.9 * INCH)


def shielded(specification):
    return {"protective_items": (model.ProtectiveItem(item="bellhousing", specification=specification),)}


def plate_rule(rule, edges, off=TIMED, blind=(), **more):
    """A rule on the plate between block and clutch shield."""
    ons = ({"car.elapsed_time": 11.99},) if off is TIMED else ()
    return Row(rule, CLUTCH, edges, off, (STALE_PLATE, NO_HOST, *((NO_TIME,) if off is TIMED else ()), *blind), ons=ons, **more)


def holes_below(car, number):
    """Turns how many bolt holes of the rear pattern lie below the crank, on a circle around the plate's opening."""
    return _holes(car, number, -1.0)


def holes_above(car, number):
    """As ``holes_below``, above the crank."""
    return _holes(car, number, 1.0)


def _holes(car, number, side):
    angles = side * np.pi * (np.arange(number) + 0.5) / max(number, 1)
    drilled = tuple((float(6.0 * INCH * np.cos(a)), float(6.0 * INCH * np.sin(a)), 11.5) for a in angles)
    return replace(car, engine=replace(car.engine, rear_holes=tuple(h for h in car.engine.rear_holes if h[1] * side < 0.0) + drilled))


PARTS = {"CLR-OIL-PAN": ("engine", *RAILS), "CLR-TRANSMISSION-PAN": ("transmission", *RAILS), "CLR-BELL": ("transmission", *RAILS),
         "CLR-DAMPER": ("engine", *RAILS), "CLR-FIREWALL": ("engine", "firewall as cut"),
         "CLR-SHAFT": ("shaft_envelope", "rear_cross_member"), "CLR-STARTER": ("transmission", *RAILS),
         "CLR-FRAME": (*RAILS, "upright/left"),
         "CLR-WELD": ("cross_member", *RAILS), "CLR-RAIL-END": ("plate_foot/left", *RAILS),
         "CLR-SHAFT-TOUCH": ("shaft_envelope", "rear_cross_member"),
         "CLR-HEADER": ("header/left", *RAILS, "upright/left"),
         "SRV-DRIVESHAFT": ("driveshaft", "enclosure"),
         "CLR-PAN-GROUND": ("engine",), "CLR-TRANSMISSION-GROUND": ("transmission",), "CLR-DRIVER": ("transmission",),
         "GND-FRONT": ("rail/left",), "GND-REST": ("rail/left",), "SRV-TRANSMISSION": ("transmission", "rail/left"),
         "SRV-TRANSMISSION-ROOM": ("transmission", "rail/left"), "SRV-ENGINE": ("engine", "upper_fore_aft/left"),
         "CLR-INTERFERENCE": ("transmission", "cross_member")}
STALE_RAIL = Blind("rail/left is stale", unsound=(("rail/left", "stale", False),))
STALE_ENGINE, STALE_TRANSMISSION = (Blind(f"{key} is stale", unsound=((key, "stale", False),)) for key in ("engine", "transmission"))
SHAPED = (LAYOUT, NO_HOST)

ROWS = [
    *loop_rules("NHRA", "6 in | 152 mm", ("7/8 in | 22.2 mm", "0.065 in | 1.65 mm", "1/4 in | 6.35 mm", "2 in | 50.8 mm"), NHRA_LOOP_OFF,
                NHRA_LOOP_ON, (NO_TIME,)),
    *loop_rules("ANDRA", "152 mm | 6 in", ("22 mm | 7/8 in", "1.6 mm | 1/16 in", "3.0 mm | 1/8 in", "50 mm | 2 in"), ALWAYS, (), ()),
    Row("NHRA-CHART-LOOP", AUTOMATIC, (Steps(loops_of, ((0, 0.0, False), (1, 1.0, True), (2, 2.0, True)), "1"),),
        {"not quicker than 11.5 s": {"car.elapsed_time": 11.50}},
        (NO_TIME, STALE_LOOP, NO_HOST, Blind("prints no elapsed time for the eighth mile", {"car.track": "eighth"})),
        ons=({"car.elapsed_time": 11.50 - SLOW},)),
    Row("PRO-LOOP-SECTION", RING, section("22 mm | 7/8 in", "1.6 mm | 1/16 in", "3.0 mm | 1/8 in", "50 mm | 2 in"), ALWAYS,
        (STALE_LOOP, NO_HOST, UNKNOWN_LOOP), BARE, nothing=NO_LOOPS, lacks={"aluminum was found": {loop("material"): "6061-T6"}}),
    # Enclosure.
    enclosed("NHRA-ENCLOSURE-WALL", (Edge("containment.enclosure.wall", 4.0, 2.0, "1/8 in | 3.2 mm"),
                                     Edge("containment.enclosure.wall", 4.0, 2.0, "1/8 in | 3.2 mm", DOM)), BESIDE,
             (WHERE_DRIVER, Blind("is not in the catalog", {"containment.enclosure.material": "unobtainium"})),
             lacks={"the car has no enclosure tube": NO_TUBE, "aluminum was found": ALUMINIUM}),
    enclosed("PRO-ENCLOSURE-WALL", (Edge("containment.enclosure.wall", 4.0, 1.0, "1.27 mm | 0.050 in"),
                                    Edge("containment.enclosure.wall", 4.0, 2.0, "3.0 mm | 1/8 in", DOM)), ALWAYS, nothing=NO_TUBE,
             lacks={"aluminum was found": ALUMINIUM}),
    enclosed("ANDRA-ENCLOSURE-WALL", (Edge("containment.enclosure.wall", 4.0, 1.0, "1.27 mm | 0.050 in"),
                                      Edge("containment.enclosure.wall", 4.0, 2.0, "3.0 mm | 1/8 in", DOM)), BESIDE, (WHERE_DRIVER,),
             lacks={"the car has no enclosure tube": NO_TUBE, "aluminum was found": ALUMINIUM}),
    *(enclosed(rule, (Edge("containment.enclosure.x_front", 51.5 * INCH, 45 * INCH, none, flat=True),
                      Edge("containment.enclosure.x_rear", 20 * INCH, 22 * INCH, none, flat=True)), BESIDE,
               (Blind("driver_envelope", {"car.driver_envelope": None}),),
               on={"car.driver_envelope.x_rear": 20.5 * INCH, "car.driver_envelope.x_front": 51.0 * INCH})
      for rule, none in (("NHRA-ENCLOSURE-FULL", "0 in | 0 mm"), ("ANDRA-ENCLOSURE-FULL", "0 mm | 0 in"))),
    Row("NHRA-ENCLOSURE-FIXED", AUTOMATIC, CARRIED, BESIDE, (STALE_TUBE, NO_HOST, WHERE_DRIVER, STALE_LOOP, STALE_MOUNT),
        {"car.driver_position": "astride_shaft"}),
    enclosed("NHRA-JOINT-SHIELD", (Edge("containment.enclosure.wall", 4.0, 2.0, "0.120 in | 3.0 mm"),),
             {"driver_position is astride_shaft": {"car.driver_position": "astride_shaft"}}, on=ASTRIDE,
             lacks={"no enclosure over": NO_TUBE, "aluminum was found": ALUMINIUM}),
    enclosed("ANDRA-ENCLOSURE-LENGTH", (Edge("containment.enclosure.x_rear", 20 * INCH, 45 * INCH, "305 mm | 12 in"),), BESIDE,
             (WHERE_DRIVER,),
             lacks={"the car has no enclosure tube": NO_TUBE}),
    Row("DEMO-ENCLOSURE", AUTOMATIC, (Edge("containment.enclosure.x_rear", 42.5 * INCH, 45 * INCH, "12 in | 305 mm"),), NEITHER,
        (STALE_TUBE, NO_HOST, UNKNOWN_SHAFT), lacks={"the car has no enclosure tube": NO_TUBE}),
    Row("CON-ENCLOSURE-COMPOSITE", AUTOMATIC, (Edge("containment.enclosure.x_rear", 42.5 * INCH, 45 * INCH, "12 in | 305 mm"),), METAL,
        (STALE_TUBE, NO_HOST, UNKNOWN_SHAFT), lacks={"the car has no enclosure tube": NO_TUBE}),
    Row("CON-ENCLOSURE-JOINT", AUTOMATIC, (Edge("containment.enclosure.x_front", 55 * INCH, 53 * INCH, "0 in | 0 mm", whose="furthest_in"),
                                           ), ALWAYS,
        (STALE_TUBE, NO_HOST, LAYOUT), nothing=NO_TUBE),
    Row("CON-ENCLOSURE-SUPPORT", AUTOMATIC, CARRIED, ALWAYS, (STALE_TUBE, NO_HOST, STALE_LOOP, STALE_MOUNT), nothing=NO_TUBE),
    Row("CON-ENCLOSURE-REMOVAL", AUTOMATIC, (Edge("driveshaft.joint_swing_diameter", 4.6 * INCH, 8.0 * INCH, "0 in | 0 mm"),), ALWAYS,
        (STALE_TUBE, NO_HOST), nothing=NO_TUBE),
    Row("CON-ENCLOSURE-TOUCH", AUTOMATIC, (Edge("containment.enclosure.outer_diameter", 6 * INCH, 5 * INCH, "0 in | 0 mm"),), ALWAYS,
        (STALE_TUBE, NO_HOST, LAYOUT), nothing=NO_TUBE),
    Row("CON-ENCLOSURE-ROOM", AUTOMATIC, (Edge("containment.enclosure.outer_diameter", 6.5 * INCH, 5 * INCH, "1/2 in | 13 mm"),), ALWAYS,
        (STALE_TUBE, NO_HOST, LAYOUT), {"containment.enclosure.outer_diameter": 6.5 * INCH}, nothing=NO_TUBE),
    # The plate between block and clutch shield.
    plate_rule("IHRA-PLATE-61", (Edge(PLATE, 6.35, 2.0, "1/8 in | 3.2 mm"),), on=shielded("SFI 6.1"), nothing=shielded("SFI 6.3"),
               blind=(Blind("none is listed", {"protective_items": ()}),),
               lacks={"composite was found": {"plates.mid.material": "carbon"}}),
    plate_rule("IHRA-PLATE-63", (Edge(PLATE, 6.35, 2.0, "3/16 in | 4.8 mm"),), on=shielded("SFI 6.3"), nothing=shielded("SFI 6.1"),
               blind=(Blind("none is listed", {"protective_items": ()}),),
               lacks={"composite was found": {"plates.mid.material": "carbon"}}),
    plate_rule("IHRA-PLATE-OPENING", (Edge("plates.mid.center_opening", 6.9 * INCH, 7.4 * INCH, "7 in | 178 mm"),)),
    plate_rule("IHRA-PLATE-STARTER", (Edge("plates.mid.starter.diameter", 1.9 * INCH, 2.4 * INCH, "2 in | 51 mm"),),
               on={"plates.mid.starter": STARTER}, nothing={"plates.mid.starter": None, "transmission.starter": None}),
    plate_rule("IHRA-PLATE-BOLTS", (Steps(holes_below, ((7, 7.0, False), (8, 8.0, True), (9, 9.0, True)), "8"),),
               on={"engine.rear_holes": holes_below(CARS[CLUTCH], 8).engine.rear_holes}),
    plate_rule("IHRA-TOP-PLATE", (Edge(PLATE, 8.0, 5.0, "1/4 in | 6.35 mm"),), TOP, on={"plates.mid.material": "4130N", PLATE: 8.0},
               lacks={"aluminum was found": {"plates.mid.material": "6061-T6"}}),
    plate_rule("IHRA-TOP-OPENING", (Edge("engine.crank_flange_diameter", 6.0 * INCH, 5.5 * INCH, "1 in"),), TOP,
               on={"engine.crank_flange_diameter": 6.0 * INCH}),
    plate_rule("IHRA-TOP-BOLTS-BELOW", (Steps(holes_below, ((7, 7.0, False), (8, 8.0, True), (9, 9.0, True)), "8"),), TOP,
               on={"engine.rear_holes": holes_below(CARS[CLUTCH], 8).engine.rear_holes}),
    plate_rule("IHRA-TOP-BOLTS-ABOVE", (Steps(holes_above, ((6, 6.0, False), (7, 7.0, True), (8, 8.0, True)), "7"),), TOP,
               on={"engine.rear_holes": holes_above(CARS[CLUTCH], 7).engine.rear_holes}),
    plate_rule("IHRA-TOP-MOUNTS", (Steps("mounts.support_tube", ((None, 2.0, False), (CARS[CLUTCH].mounts.support_tube, 4.0, True)), "4"),),
               TOP),
    # Loops, beyond the books.
    Row("CON-LOOP-COUNT", AUTOMATIC, (Steps(loops_of, ((0, 0.0, False), (1, 1.0, False), (2, 2.0, True), (3, 3.0, True)), "2"),), ALWAYS,
        (STALE_LOOP, NO_HOST, LAYOUT)),
    Row("CON-LOOP-PLACE", ONE_LOOP, (Edge(loop("x"), 51.25 * INCH, 42.0 * INCH, "6 in | 152 mm", whose="furthest_out"),
                                     Edge(loop("x"), 51.25 * INCH, 42.0 * INCH, "6 in | 152 mm", whose="furthest_in")), ALWAYS,
        (STALE_LOOP, NO_HOST, LAYOUT), lacks={"no loop behind": NO_LOOPS}),
    Row("CON-LOOP-PINS", ONE_LOOP, (Steps(loop("pins_split"), ((0, 2.0, False), (1, 1.0, False), (2, 0.0, True)), "0"),
                                    Steps(loop("pins_feet"), ((0, 2.0, False), (1, 1.0, False), (2, 0.0, True)), "0")), ALWAYS,
        (STALE_LOOP, NO_HOST, LAYOUT), nothing=NO_LOOPS),
    Row("CON-LOOP-MOUNTED", ONE_LOOP, (Steps(loop("pins_feet"), PINS, "2", whose="loop/front"),
                                       Steps("chassis.tubes", ((CARS[AUTOMATIC].chassis.tubes[1:], 1.0, False),
                                                               (CARS[AUTOMATIC].chassis.tubes, 2.0, True)), "2")), ALWAYS,
        (STALE_LOOP, NO_HOST, LAYOUT), lacks={"the car has no loop": NO_LOOPS}),
    Row("CON-LOOP-WELDED", FIXED_LOOP, (Steps("chassis.upper_fore_aft", ((None, 2.0, False),
                                                                      (CARS[AUTOMATIC].chassis.upper_fore_aft, 4.0, True)), "4"),), ALWAYS,
        (Blind("rear_cross_member is stale", unsound=(("rear_cross_member", "stale", False),)), NO_HOST, LAYOUT),
        lacks={"the car has no loop": NO_LOOPS}),
    Row("CON-LOOP-TOUCH", STRAP_LOOP, (Edge(loop("inner_diameter"), 7 * INCH, 5 * INCH, "0 in | 0 mm"),), ALWAYS,
        (STALE_LOOP, NO_HOST, LAYOUT),
        nothing=NO_LOOPS),
    Row("CON-LOOP-ROOM", STRAP_LOOP, (Edge(loop("inner_diameter"), 7 * INCH, 5 * INCH, "1/2 in | 13 mm"),), ALWAYS,
        (STALE_LOOP, NO_HOST, LAYOUT),
        nothing=NO_LOOPS),
    # A shaft whose front joint has let go.
    Row("CON-RELEASE-TRACK", RING, (Edge(loop("center_z"), 6.56 * INCH, 6.52 * INCH, "0.04 in | 1 mm"),), ALWAYS,
        (STALE_LOOP, NO_HOST, LAYOUT)),
    Row("CON-RELEASE-FLOOR", RING, (Edge(loop("center_z"), 7.7 * INCH, 7.55 * INCH, "0 in | 0 mm"),), ALWAYS,
        (STALE_LOOP, NO_HOST, Blind("chassis.rails.height", {"chassis.rails.height": None}))),
    Row("CON-RELEASE-DRIVER", AUTOMATIC, (Edge("car.driver_envelope.y_right", 4.5 * INCH, 3 * INCH, "0 in | 0 mm"),),
        {"driver_position is behind_axle": {"car.driver_position": "behind_axle"}},
        (STALE_LOOP, NO_HOST, Blind("driver_envelope", {"car.driver_envelope": None})), lacks={"it can go anywhere": {
            "containment.loops": (), "containment.enclosure": None}}),
    # Clearances.
    Row("CLR-OIL-PAN", AUTOMATIC, (Edge("chassis.rails.half_spacing", 13 * INCH, 5 * INCH, "3/4 in | 19 mm"),), ALWAYS,
        (STALE_ENGINE, *SHAPED),
        nothing={"engine.pan": None}),
    Row("CLR-TRANSMISSION-PAN", AUTOMATIC, (Edge("transmission.pan.half_width", 5 * INCH, 12.3 * INCH, "3/4 in | 19 mm"),), ALWAYS,
        (STALE_TRANSMISSION, STALE_RAIL, *SHAPED), nothing={"transmission.pan": None}),
    Row("CLR-BELL", AUTOMATIC, (Edge("transmission.bell_radius", 8 * INCH, 13 * INCH, "1 in | 25 mm"),), ALWAYS,
        (STALE_TRANSMISSION, *SHAPED)),
    Row("CLR-DAMPER", AUTOMATIC, (Edge("placement.lateral", 0.0, 12.5 * INCH, "1/2 in | 13 mm"),), ALWAYS, (STALE_ENGINE, *SHAPED)),
    Row("CLR-FIREWALL", AUTOMATIC, (Edge("placement.lateral", 0.0, 4.0, "1/4 in | 6 mm"),), ALWAYS,
        (STALE_ENGINE, Blind("firewall is stale", unsound=(("firewall", "stale", False),)), *SHAPED)),
    Row("CLR-SHAFT", AUTOMATIC, (Edge("chassis.rear_cross_member.z", 5.5 * INCH, 7.7 * INCH, "1/2 in | 13 mm"),), ALWAYS,
        (Blind("rear_cross_member is stale", unsound=(("rear_cross_member", "stale", False),)), *SHAPED),
        nothing={"chassis.rear_cross_member": None}),
    Row("CLR-SHAFT-TOUCH", AUTOMATIC, (Edge("chassis.rear_cross_member.z", 5.5 * INCH, 8.0 * INCH, "0 in | 0 mm", step=1e-3),), ALWAYS,
        (Blind("rear_cross_member is stale", unsound=(("rear_cross_member", "stale", False),)), *SHAPED),
        nothing={"chassis.rear_cross_member": None}),
    Row("CLR-WELD", AUTOMATIC, (Edge("mounts.cross_member.z", 4.4 * INCH, 6.5 * INCH, "0.002 in | 0.05 mm"),), ALWAYS,
        (Blind("cross_member is stale", unsound=(("cross_member", "stale", False),)), STALE_RAIL, *SHAPED),
        on={"mounts.cross_member.reference": "chassis_x", "mounts.cross_member.offset": 55 * INCH}),
    Row("CLR-FRAME", AUTOMATIC, (Edge("chassis.uprights.half_spacing", 14.0 * INCH, 24.0 * INCH, "0.002 in | 0.05 mm",
                                      whose="upright/left"),), ALWAYS,
        (Blind("upright/left is stale", unsound=(("upright/left", "stale", False),)), STALE_RAIL, *SHAPED)),
    Row("CLR-RAIL-END", AUTOMATIC, (Edge("chassis.rails.x_front", 112 * INCH, 100 * INCH, "0.002 in | 0.05 mm"),), ALWAYS,
        (Blind("plate_foot/left is stale", unsound=(("plate_foot/left", "stale", False),)), STALE_RAIL, *SHAPED)),
    Row("CLR-STARTER", AUTOMATIC, (Edge("chassis.rails.half_spacing", 13.25 * INCH, 9.5 * INCH, "1/2 in | 13 mm", whose="rail/left"),),
        ALWAYS,
        (STALE_TRANSMISSION, *SHAPED), on={"transmission.starter": model.Opening(y=7.0 * INCH, z=-5.0 * INCH, diameter=3.0 * INCH)},
        nothing={"transmission.starter": None}),
    Row("CLR-HEADER", AUTOMATIC, (Edge("headers[left].y_left", 11 * INCH, 12.9 * INCH, "1/2 in | 13 mm", whose="rail/left"),
                                  Edge("headers[left].x_rear", 2.0 * INCH, -2.0 * INCH, "1/2 in | 13 mm", whose="upright/left", on=HIGH)),
        ALWAYS,
        (Blind("header/left is stale", unsound=(("header/left", "stale", False),)), STALE_RAIL, *SHAPED), on={"headers": HEADERS},
        nothing={"headers": ()}),
    Row("CLR-PAN-GROUND", AUTOMATIC, (Edge("engine.pan.depth", 6 * INCH, 8 * INCH, "3 in | 76 mm"),), ALWAYS, (STALE_ENGINE, *SHAPED),
        nothing={"engine.pan": None}),
    Row("CLR-TRANSMISSION-GROUND", AUTOMATIC, (Edge("transmission.pan.below_axis", 5 * INCH, 8 * INCH, "3 in | 76 mm"),), ALWAYS,
        (STALE_TRANSMISSION, *SHAPED), nothing={"transmission.pan": None}),
    Row("CLR-DRIVER", AUTOMATIC, (Edge("car.driver_envelope.x_front", 55 * INCH, 66 * INCH, "0 in | 0 mm", step=1e-3),), ALWAYS,
        (STALE_TRANSMISSION, NO_HOST, Blind("driver_envelope", {"car.driver_envelope": None})),
        {"car.driver_envelope.y_right": 0.0, "car.driver_envelope.x_front": 55 * INCH}),
    Row("GND-FRONT", AUTOMATIC, (Edge("chassis.rails.height", 4.4 * INCH, 3 * INCH, "3 in | 76 mm"),), ALWAYS, (STALE_RAIL, *SHAPED),
        nothing={"chassis.rails.x_front": 90 * INCH}),
    Row("GND-REST", AUTOMATIC, (Edge("chassis.rails.height", 4.4 * INCH, 2 * INCH, "2 in | 51 mm"),), ALWAYS, (STALE_RAIL, *SHAPED)),
    # Service.
    Row("SRV-PAN-GAP", AUTOMATIC,
        (Edge("mounts.cross_member.offset", -3.5 * INCH, 0.0, lambda car: car.transmission.disengage_travel / INCH + 0.125),),
        ALWAYS, (STALE_TRANSMISSION, *SHAPED), nothing={"transmission.pan": None}),
    Row("SRV-SHAFT", AUTOMATIC, (Edge("containment.enclosure.outer_diameter", 6 * INCH, 4.8 * INCH, "0.125 in | 3 mm"),), ALWAYS,
        (STALE_TUBE, NO_HOST), nothing=NO_TUBE),
]

BY_RULE = {row.rule: row for row in ROWS}
EDGES = [(row, edge) for row in ROWS for edge in row.edges]
SWEPT = ("CLR-INTERFERENCE", "SRV-DRIVESHAFT", "SRV-TRANSMISSION", "SRV-TRANSMISSION-ROOM", "SRV-ENGINE")
"""Rules whose figure jumps where the verdict changes: they are tried below."""


def test_every_rule_of_shapes_has_its_row():
    wanted = {rule.id for rule in RULES.values() if rule.quantity not in NUMBERS}
    assert len(BY_RULE) == len(ROWS)
    assert set(BY_RULE) | set(SWEPT) == wanted


@pytest.mark.parametrize("row", ROWS, ids=[row.rule for row in ROWS])
def test_a_car_that_passes(row):
    TRIAL.passes(row)


@pytest.mark.one_host
@pytest.mark.parametrize("row, edge", EDGES, ids=[f"{row.rule}-{row.edges.index(edge)}" for row, edge in EDGES])
def test_the_smallest_step_on_either_side_of_the_limit(row, edge):
    (TRIAL.edge if isinstance(edge, Edge) else TRIAL.steps)(row, edge)


@pytest.mark.one_host
@pytest.mark.parametrize("row", [row for row in ROWS if row.lacks], ids=[row.rule for row in ROWS if row.lacks])
def test_a_car_that_lacks_what_is_asked(row):
    TRIAL.lacking(row)


@pytest.mark.one_host
@pytest.mark.parametrize("row", ROWS, ids=[row.rule for row in ROWS])
def test_a_car_to_which_it_does_not_apply(row):
    TRIAL.not_applicable(row)


@pytest.mark.one_host
@pytest.mark.parametrize("row", ROWS, ids=[row.rule for row in ROWS])
def test_a_car_on_which_it_cannot_be_evaluated(row):
    assert row.blind
    TRIAL.not_evaluated(row)


FAILING = [(row, edge) for row, edge in EDGES if isinstance(edge, Edge) and isinstance(edge.parameter, str)
           and not RULES[row.rule].to_confirm
           and row.rule != "CLR-FIREWALL"]     # a panel that stays where it was cut is no car


@pytest.mark.one_host
@pytest.mark.parametrize("row, edge", FAILING, ids=[f"{row.rule}-{row.edges.index(edge)}" for row, edge in FAILING])
def test_a_car_that_fails_is_told_what_would_clear_it(row, edge):
    """Each dimension that is named, changed as it says in a car that is made again, clears the finding; where none does, those that were
    tried are named."""
    car = put(TRIAL.car(row, edge.on), edge.parameter, edge.bad)
    car = replace(car, chassis=completed(filled(car.chassis), car.car.wheelbase))
    finding = TRIAL.worst(row, car, edge.whose)
    shot = shoot(car, (), row)
    if "driveshaft" in finding.subjects and shot.part("driveshaft") is None:
        shot = replace(shot, parts=(*shot.parts, *shoot(car, (), replace(row, rule="SRV-DRIVESHAFT")).parts))
    found = search.Solver(shot, TRIAL.measurer()).search(finding, RULES[row.rule])
    print(row.rule, [one.words for one in found.remedies], found.tried, found.cut_short)
    assert found.tried or found.cut_short
    for remedy in found.remedies:
        items = TRIAL.findings(row, remedied(car, remedy.to_json()))
        same = [item for item in items if (item.discriminator, item.subjects) == (finding.discriminator, finding.subjects)] or items
        assert {item.state for item in same} == {State.PASSED}, remedy


# --- figures that jump where the verdict changes ---------------------------------------------------------------------------

RAIL = CARS[AUTOMATIC].chassis.rails.section.outer_diameter
BELL = CARS[AUTOMATIC].transmission.bell_radius or 8.0 * INCH
OVER_ENGINE = {"chassis.upper_fore_aft.z": 30 * INCH, "chassis.upper_fore_aft.x_front": 110 * INCH}
UPPER = 1.25 * INCH
STEP = 0.1
"""mm on either side of where the verdict changes: sweeps find a clearance to about this."""


def beside(key, car=CARS[AUTOMATIC]):
    """How far a part reaches to the left, mm."""
    full, scene = filled(car), scenes.of(car)
    return shape_of(key, full, scene)[0].optimalBoundingBox(False).YMax


@pytest.mark.parametrize("half_width", [8.0, 9.0, 9.5])
def test_a_firewall_made_for_its_engine_always_clears_it(half_width):
    """Its opening follows the block with 1/4 in to spare: only a panel that stays where it was cut while the engine moves (the row above)
    fails."""
    PARTS["CLR-FIREWALL"], kept = ("engine", "firewall"), PARTS["CLR-FIREWALL"]
    try:
        item, = swept("CLR-FIREWALL", {"engine.block_half_width": half_width * INCH})
    finally:
        PARTS["CLR-FIREWALL"] = kept
    assert item.state == State.PASSED and item.measured >= 0.25 - 1e-6


def swept(rule, changes, unsound=(), host=True):
    row = Row(rule, AUTOMATIC, (), ALWAYS, ())
    return TRIAL.findings(row, TRIAL.car(row, changes), unsound, host)


@pytest.fixture
def straight_down(monkeypatch):
    """The rules of the transmission look at one way out: straight down. Test_service.py asks for the others."""
    for name in ("SRV-TRANSMISSION", "SRV-TRANSMISSION-ROOM"):
        settings = {**dict(RULES[name].settings), "ways": ("straight_down",)}
        monkeypatch.setitem(RULES, name, replace(RULES[name], settings=tuple(sorted(settings.items()))))


@pytest.mark.parametrize("rule, clear", [("SRV-TRANSMISSION", 0.0), ("SRV-TRANSMISSION-ROOM", INCH / 4)])
def test_the_transmission_passes_the_rail_or_does_not(straight_down, rule, clear):
    """On its way down the bell passes the rail beside it: where rails stand as far apart as the bell is wide, it is blocked; a quarter inch
    more is the room that is asked for."""
    stands = beside("transmission") + RAIL / 2 + clear
    for step, state in ((-STEP, State.OPEN), (STEP, State.PASSED)):
        item, = swept(rule, {"chassis.rails.half_spacing": stands + step})
        assert item.state == state, (item.measured, item.limit)
        if clear:
            assert item.measured * INCH == pytest.approx(clear + step, abs=STEP) and item.limit == pytest.approx(0.25)
        elif state == State.PASSED:
            assert item.measured == item.limit and item.margin == 0.0
        else:
            assert item.margin < 0.0 and "rail/left is in the way" in item.how


@pytest.mark.one_host
def test_the_driveshaft_draws_through_the_enclosure_or_does_not():
    """As thick as its joint swing, along its own axis: how far that is off the enclosure's axis leaves so much less than half of bore over
    swing. The enclosure is a short one: the longer it is, the more steps are looked at."""
    short = {"containment.enclosure.x_rear": 51.0 * INCH}
    full, place = filled(changed(CARS[AUTOMATIC], short)), scenes.of(CARS[AUTOMATIC])
    tube, reach = full.containment.enclosure, full.driveshaft.joint_swing_diameter
    off = max(np.linalg.norm((place.shaft_at(point[0]) - point)[1:])
              for point in enclosure.axis_points(tube, place, full.containment.loops))
    for room, state in ((off - 0.5, State.OPEN), (off + 0.5, State.PASSED)):
        item, = swept("SRV-DRIVESHAFT", {**short, "containment.enclosure.outer_diameter": reach + 2.0 * (tube.wall + room)})
        assert item.state == state, (room, item.how)
        if state == State.OPEN:
            assert set(item.subjects) == {"driveshaft", "enclosure"} and item.margin < 0.0 and "enclosure is in the way" in item.how


def test_the_engine_passes_the_upper_member_or_does_not():
    stands = beside("engine") + UPPER / 2
    for step, state in ((-STEP, State.OPEN), (STEP, State.PASSED)):
        item, = swept("SRV-ENGINE", {**OVER_ENGINE, "chassis.upper_fore_aft.half_spacing": stands + step})
        assert item.state == state and item.limit == pytest.approx(15.0)
        assert (item.measured == pytest.approx(15.0)) is (state == State.PASSED)


@pytest.mark.one_host
def test_parts_in_one_place_and_next_to_each_other():
    """The cross member is brought up to the transmission from below: as much as parts may touch is no interference, more is."""
    under, over = 4.4 * INCH, 6.0 * INCH

    def judge(z):
        item, = swept("CLR-INTERFERENCE", {"mounts.cross_member.offset": 0.0, "mounts.cross_member.z": z})
        return item

    clear = judge(under)
    assert clear.state == State.PASSED and clear.measured == 0.0
    for _ in range(12):
        middle = 0.5 * (under + over)
        under, over = (middle, over) if judge(middle).state == State.PASSED else (under, middle)
    item = judge(over)
    assert over - under < 0.01
    assert item.state == State.OPEN and item.margin < 0.0 and set(item.subjects) == {"transmission", "cross_member"}
    # Parts that are not joined may overlap by 0.05 mm, what shapes are exact to with room to spare.
    assert item.measured * INCH == pytest.approx(0.05, abs=0.01)


@pytest.mark.parametrize("rule", SWEPT)
def test_swept_rules_that_do_not_apply_or_cannot_be_evaluated(rule):
    assert RULES[rule].when.parts == (), "always: it has no trigger"
    key = PARTS[rule][0]
    for says, unsound, host in ((f"{key} is stale", ((key, "stale", False),), True), ("only be measured in FreeCAD", (), False)):
        found = swept(rule, {}, unsound, host)
        assert any(item.state == State.NOT_EVALUATED and says in item.reason for item in found)
        assert State.PASSED not in {item.state for item in found} or rule == "CLR-INTERFERENCE"
    if rule != "CLR-INTERFERENCE":
        now = shoot(CARS[AUTOMATIC], (), Row(rule, AUTOMATIC, (), ALWAYS, ()))
        item, = evaluate.evaluate([RULES[rule]], replace(now, parts=now.parts[1:]), host_measurer.HostMeasurer(), EVENT)
        assert item.state == State.NOT_APPLICABLE and "no part on this car for this rule" in item.reason
