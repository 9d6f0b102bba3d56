"""The numbers of a report, from a car and its scene: placement, points, driveline, poses, balance. Inside units."""
from __future__ import annotations

from typing import Any

import numpy as np

from .. import catalog, model, sections, units
from ..checks.poses import PoseFigure, phase_of, poses, separation, squat
from ..checks.strength import load_model
from ..features.hardware import hardware
from ..mechanics import balance as balancing
from ..mechanics import car_balance, components, joints, shaft
from ..mechanics import mount_screening as screening
from ..mechanics import placement as placing
from ..mechanics import travel as moving
from ..mechanics.fourbar import SuspensionError
from ..mechanics.scene import Scene
from ..mechanics.suspension import InstantCentre, static_instant_centre, suspension_of
from ..record import filled
from ..rules.quantity import NotEvaluated
from ..snapshot import Snapshot

Point = tuple[float, float, float]

ANTI_SQUAT = ("slope of the line from the rear contact patch to the instant center, over height of the whole car's center of gravity over "
              "the wheelbase; live axle whose torque the links hold, unsprung mass not taken off")
"""Definition of the report's anti-squat; books differ in what they take for the center of gravity and where the line starts."""

CHASSIS = ("space frame of rails, uprights, footwell tube, cross members and support tube; rails held at both ends and uprights at the "
           "top, pinned or clamped, whichever is worse; welded where they reach each other; the rest of the cage is not counted")
"""What the strength screening takes the chassis for."""


def of(snapshot: Snapshot) -> tuple[dict[str, Any], tuple[str, ...]]:
    """The numbers of a snapshot as the report has them, by group, and a note for each group that could not be computed."""
    if snapshot.scene is None:
        return {}, ("the placement has no solution, so there are no numbers",)
    car, scene = filled(snapshot.car), snapshot.scene
    groups = {"placement": lambda: placement_figures(car, scene), "points": lambda: point_figures(scene),
              "surface_plate": lambda: surface_plate_figures(car, scene),
              "driveline": lambda: driveline_figures(car, scene), "balance": lambda: balance_figures(car, scene),
              "driveshaft_order": lambda: driveshaft_order(car, scene),
              "poses": lambda: pose_figures(poses(car, scene)),
              "suspension": lambda: suspension_figures(car, scene),
              "strength": lambda: strength_figures(car, scene), "hardware": lambda: hardware_figures(snapshot.car)}
    found, notes = {}, []
    for name, compute in groups.items():
        try:
            with units.read_in(snapshot.system):
                found[name] = compute()
        except (NotEvaluated, ValueError) as reason:
            # Mechanics refuse impossible numbers by a ValueError of one sentence.
            notes.append(f"{name}: {reason}")
    return found, tuple(notes)


# --- as the report has them: mm, deg, kg, rpm, MPa ---------------------------------------------------------------------


def placement_figures(car: model.Car, scene: Scene) -> dict:
    """Placement of the report."""
    frame, block, stated = scene.engine_frame, scene.block, scene.placement
    plug = scene.engine.number_one_plug
    base = placing.block_base_rear(frame, block)
    foremost = scene.engine.foremost_plug
    setback = None if foremost is None else placing.setback(frame, [foremost.x, foremost.y, foremost.z], car.car.wheelbase)
    heights = {name: float(placing.crank_height_at(frame, placing.station(block, name))) for name in placing.STATIONS}
    return {"shown": "as_built" if scene.as_built else "as_designed",
            "axle_to_block_mm": float(base[0]), "crank_height_mm": heights[stated.height_at],
            "crank_height_at": stated.height_at, "pitch_deg": _deg(scene.pitch), "pitch_mode": stated.pitch_mode,
            "lateral_mm": float(scene.engine_point(0.0)[1]), "roll_deg": _deg(stated.roll), "yaw_deg": _deg(stated.yaw),
            "number_one_plug_mm": float(placing.number_one_plug_distance(frame, [plug.x, plug.y, plug.z])),
            "mid_plate_front_mm": float(placing.mid_plate_front(scene.located, block, scene.stack.protector)),
            "crank_height_rear_mm": heights["block_rear"], "crank_height_front_mm": heights["block_front"],
            "setback_mm": None if setback is None else float(setback)}


def point_figures(scene: Scene) -> dict[str, list[float]]:
    """Points of the report, car frame, mm."""
    return {"block_base_rear": _xyz(placing.block_base_rear(scene.engine_frame, scene.block)),
            "crank_rear": _xyz(scene.engine_point(0.0)),
            "crank_front": _xyz(scene.engine_point(scene.engine.block_length)),
            "front_joint": _xyz(scene.front_joint), "rear_joint": _xyz(scene.rear_joint)}


def surface_plate_figures(car: model.Car, scene: Scene) -> dict | None:
    """The report's points as they are measured from the surface plate that the car is built on: X forward, Y left, Z square to the
    plate's top, mm; and what a level that is zeroed on the plate reads. None where the car names no plate."""
    plate = car.chassis.surface_plate
    if plate is None:
        return None
    x_z = scene.pinion_axis[[0, 2]]
    return {"height_mm": plate.height, "rake_deg": _deg(plate.rake),
            "crank_pitch_deg": _deg(scene.pitch + plate.rake), "pinion_pitch_deg": _deg(np.arctan2(-x_z[1], x_z[0]) + plate.rake),
            "points": {name: _xyz(placing.to_plate(point, plate.height, plate.rake)) for name, point in point_figures(scene).items()}}


def driveline_figures(car: model.Car, scene: Scene) -> dict:
    """Driveline of the report, at static ride height."""
    line = joints.driveline(scene.front_joint, scene.engine_frame.axis, scene.rear_joint, scene.pinion_axis,
                            phase_of(car))
    highest = shaft.maximum_speed(car.engine.rpm_limit, car.transmission.top_gear)
    torque = load_model.launch(car, scene)
    return {"front_joint_deg": _deg(line.front_angle), "rear_joint_deg": _deg(line.rear_angle),
            "residual_deg": _deg(line.residual) if car.driveshaft is not None else None, "joint_distance_mm": float(line.length),
            "shaft_rpm_max": float(highest / shaft.RPM), **_tube_figures(car, scene), "shock_factor": torque.shock_factor,
            "launch_torque_nm": torque.engine / 1000.0, "grip_torque_nm": _number(torque.grip / 1000.0),
            "shaft_torque_nm": torque.shaft / 1000.0}


def _tube_figures(car: model.Car, scene: Scene) -> dict[str, float | None]:
    """What the driveshaft's tube carries; null of a car that has none yet."""
    tube = car.driveshaft
    if tube is None:
        return dict.fromkeys(("critical_rpm", "torsion_mpa", "twist_deg", "torsion_at_hit_mpa", "twist_at_hit_deg"))
    length, hit = float(scene.driveline.length), load_model.hit(car, scene)
    torque = hit.torque.shaft
    critical = shaft.critical_speed(tube.outer_diameter, tube.wall, length, tube.axial_modulus, tube.density)
    return {"critical_rpm": float(critical / shaft.RPM), "torsion_mpa": float(shaft.torsion_stress(torque, tube.outer_diameter, tube.wall)),
            "twist_deg": _deg(shaft.twist(torque, length, tube.outer_diameter, tube.wall, tube.shear_modulus)),
            "torsion_at_hit_mpa": hit.stress, "twist_at_hit_deg": _deg(hit.twist)}


def driveshaft_order(car: model.Car, scene: Scene) -> dict:
    """What whoever makes the driveshaft has to know; car with its defaults filled in. NotEvaluated where travel is not known."""
    tube, given = sections.existing(car, sections.DRIVESHAFT), scene.transmission
    try:
        swept = moving.checked(scene, moving.sweep(scene, *moving.positions(scene)))
    except (moving.TravelError, SuspensionError) as reason:
        raise NotEvaluated(str(reason)) from None
    torque = load_model.launch(car, scene)
    series = catalog.joint_series(tube.joint_swing_diameter, torque.mounts, tube.joint_series)
    length = float(scene.driveline.length)
    critical = shaft.critical_speed(tube.outer_diameter, tube.wall, length, tube.axial_modulus, tube.density)
    return {"joint_distance_mm": length,
            "slip": {"exposed_mm": given.slip_exposed, "engaged_mm": given.spline_engaged, "spline_diameter_mm": given.spline_diameter,
                     "seal_to_joint_mm": given.joint_from_seal,
                     "extremes": [{"name": item.name, "axle_travel_mm": item.travel, "windup_deg": _deg(item.windup),
                                   "plunge_mm": item.plunge,
                                   "exposed_mm": item.exposure, "engaged_mm": item.engagement} for item in moving.slip_extremes(swept)]},
            "tube": {"material": tube.material, "outer_diameter_mm": tube.outer_diameter, "wall_mm": tube.wall,
                     "axial_modulus_gpa": tube.axial_modulus / 1000.0, "shear_modulus_gpa": tube.shear_modulus / 1000.0},
            "joints": {"swing_diameter_mm": tube.joint_swing_diameter, "phase_deg": _deg(tube.phase),
                       "series": None if series is None else series.name, "series_basis": None if series is None else series.row.basis,
                       "series_governed_by": None if series is None else series.governs,
                       "series_torque_nm": None if series is None else series.row.torque / 1000.0,
                       "series_torque_basis": None if series is None else series.row.torque_basis},
            "maker_rating": {"torque_nm": None if tube.rated_torque is None else tube.rated_torque / 1000.0,
                             "speed_rpm": None if tube.rated_speed is None else float(tube.rated_speed / shaft.RPM),
                             "date": tube.rating_date},
            "speed_max_rpm": float(shaft.maximum_speed(car.engine.rpm_limit, car.transmission.top_gear) / shaft.RPM),
            "launch_speed_rpm": _launch_speed(car),
            "critical_rpm": float(critical / shaft.RPM),
            "torque_nm": {"launch": torque.shaft / 1000.0, "shock_factor": torque.shock_factor, "with_shock": torque.mounts / 1000.0,
                          "capped_by": "tires" if torque.grip < torque.engine else "engine"}}


def _launch_speed(car: model.Car) -> float | None:
    """Shaft speed at which the engine gives its peak torque in first gear, rpm; None where that speed is not known."""
    speed = car.engine.peak_torque_speed
    return None if speed is None else float(speed / car.transmission.first_gear / shaft.RPM)


def pose_figures(found: tuple[PoseFigure, ...]) -> list[dict]:
    """Poses of the report; null where the suspension does not reach one."""
    return [{"name": pose.name, "axle_travel_mm": pose.axle_travel, "windup_deg": _deg(pose.windup),
             "judged_at_rpm": pose.shaft_speed / shaft.RPM, "front_joint_deg": _deg(pose.front_joint),
             "rear_joint_deg": _deg(pose.rear_joint), "residual_deg": _deg(pose.residual),
             "joint_distance_mm": _number(pose.joint_distance), "plunge_mm": _number(pose.plunge),
             "instant_centre_mm": None if pose.instant_centre is None else list(pose.instant_centre)} for pose in found]


def suspension_figures(car: model.Car, scene: Scene) -> dict:
    """Rear suspension of the report, side view at static ride height. Anti-squat takes the whole car's centre of gravity and is
    null without a list of masses; NotEvaluated where the links are not known or do not close."""
    linkage, axle = suspension_of(scene.rear_end), (0.0, scene.chassis.rear_tire.loaded_radius)
    centre, kind = static_instant_centre(linkage, axle), scene.rear_end.suspension.kind
    if centre is None:
        return {"kind": kind, "instant_centre_mm": None, "swing_arm_mm": None, "pinion_turn_deg_per_mm": 0.0, "anti_squat_percent": None,
                "anti_squat_definition": ANTI_SQUAT, "launch_separation_mm": [], "launch_separation_from": "rigid axle"}
    share, launched = squat(car, scene), separation(car, scene)
    return {"kind": kind, "instant_centre_mm": [float(value) for value in centre.point] if centre.near else None,
            "swing_arm_mm": float(centre.point[0]) - axle[0] if centre.near else None,
            "pinion_turn_deg_per_mm": _deg(centre.turn_per_travel(axle[0])),
            "anti_squat_percent": None if share is None else _number(100.0 * share),
            "anti_squat_definition": ANTI_SQUAT, "launch_separation_mm": list(launched.ways), "launch_separation_from": launched.source}


def balance_figures(car: model.Car, scene: Scene) -> dict:
    """Balance of the report. Without a list of masses only that of the powertrain: a launch has no sense then, and is null."""
    listed = components.of(car, scene)
    mass, cg = components.whole(car, scene)
    front, rear = balancing.split(cg[0], car.car.wheelbase)
    return {"mass_kg": float(mass), "cg_mm": _xyz(cg), "front_share": float(front), "rear_share": float(rear),
            "components": [{"name": item.name, "role": item.role or None, "note": item.note or None, "mass_kg": float(item.mass.mass),
                            "cg_mm": _xyz(item.mass.cg), "unsprung": item.unsprung} for item in listed],
            "launch": _launch_figures(car, scene) if car.masses else None, "scales": _scales(car, mass, cg)}


def _launch_figures(car: model.Car, scene: Scene) -> dict:
    """How the car is loaded when it leaves, and what moves of the powertrain do to its split."""
    found = car_balance.of(car, scene, _instant_center(scene))
    per_inch = units.INCH
    corners = None
    if car.car.front_track is not None and car.car.rear_track is not None:
        loads = found.corners(car.car.front_track, car.car.rear_track)
        corners = dict(zip(("front_left", "front_right", "rear_left", "rear_right"), map(float, loads)))
    squat = found.anti_squat
    return {"from": found.source, "cg_height_mm": float(found.cg[2]), "front_share": float(found.front_share),
            "tire_friction_assumed": found.friction, "launch_g": float(found.launch), "tire_limited_g": float(found.tire_limited),
            "wheelstand_g": float(found.wheelstand), "wheelstand_margin_g": float(found.wheelstand_margin),
            "load_transfer_n": float(found.transfer), "corner_loads_n": corners,
            "anti_squat_percent": None if squat is None else _number(100.0 * squat),
            "one_inch_forward": {"front_share": float(balancing.shift(car_balance.powertrain_mass(components.of(car, scene)), per_inch,
                                                                      found.mass, found.wheelbase)),
                                 "same_split": [{"name": item.name, "move_mm": None if item.move is None else float(item.move),
                                                 "added_kg": None if item.added is None else _number(item.added),
                                                 "at_x_mm": float(item.at)} for item in car_balance.equal_moves(car, scene, per_inch)]}}


def _instant_center(scene: Scene) -> InstantCentre | None:
    """Of the rear suspension at static ride height; None where it has none, or is not known."""
    try:
        return static_instant_centre(suspension_of(scene.rear_end), (0.0, scene.chassis.rear_tire.loaded_radius))
    except SuspensionError:
        return None


def _scales(car: model.Car, mass: float, cg: np.ndarray) -> dict | None:
    """What the scales say, and how far the list of components is from it; null of a car that was not weighed."""
    found = car_balance.weighed(car)
    if found is None:
        return None
    return {"mass_kg": found.mass, "front_share": found.front_share, "left_share": found.left_share, "cross_share": found.cross_share,
            "cg_mm": [_number(value) for value in found.cg], "list_less_scales_kg": float(mass) - found.mass,
            "list_less_scales_mm": [_number(value) for value in cg - found.cg]}


def strength_figures(car: model.Car, scene: Scene) -> dict:
    """Strength screening of the report: assumptions, load cases, what each mount carries, margins; forces N, torque N.m."""
    settings = load_model.Settings()
    sections.existing(car, sections.MID_PLATE), sections.existing(car, sections.RAIL_TABS)
    found, torque = load_model.screened(car, scene, settings)
    grip = settings.grip or screening.GRIP[car.car.tires]
    return {"certificate": False,
            "assumed": {**vars(settings), "grip": grip, "bolt_grades": dict(load_model.GRADES),
                        "filler_strength_mpa": load_model.FILLER_STRENGTH,
                        "bolt_gamma": found.allowables.gamma_bolt, "launch_g_of_the_torque": torque.forward,
                        "chassis": CHASSIS if found.mounting.chassis is not None else "rigid: no uprights are described"},
            "torque_nm": {"engine": torque.engine / 1000.0, "grip": _number(torque.grip / 1000.0), "shaft": torque.shaft / 1000.0,
                          "mounts": torque.mounts / 1000.0},
            "powertrain_mass_kg": found.mounting.mass,
            "cases": [{"name": case.name, "forward_g": case.forward, "left_g": case.left, "up_g": case.up, "torque_share": case.torque}
                      for case in found.cases],
            "mounts": [{"name": spring.name, "point_mm": _xyz(spring.point),
                        "force_n": {case.name: _xyz(found.on_mounts[c, i]) for c, case in enumerate(found.cases)}}
                       for i, spring in enumerate(found.mounts)],
            "items": [{"item": item.margin.item, "group": item.group, "case": item.margin.case, "actual": _number(item.margin.actual),
                       "allowable": _number(item.margin.allowable), "unit": item.margin.unit, "margin": _number(item.margin.margin),
                       "basis": item.margin.basis, "concept": item.margin.concept.words, "margin_to_yield": _number(item.margin.left),
                       "subjects": list(item.subjects)} for item in found.items]}


def hardware_figures(car: model.Car) -> list[dict]:
    """Hardware of the report, joint by joint; NotEvaluated without the host, whose shapes lay the joints out."""
    try:
        lines = hardware(car)
    except ImportError:
        raise NotEvaluated("hardware can be counted only inside FreeCAD; run the check there") from None
    return [{"row": line.row, "count": line.count, "where": list(line.where), "length_mm": line.length, "in_catalogue": line.known,
             "note": line.note}
            for line in lines]


def _deg(angle: float) -> float | None:
    return _number(np.degrees(angle))


def _number(value: float) -> float | None:
    return float(value) if np.isfinite(value) else None


def _xyz(point) -> list[float]:
    return [float(value) for value in point]
