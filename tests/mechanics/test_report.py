"""The report: its schema, its numbers against arithmetic of their own, JUnit read back, what moves when the axle-to-block moves."""
from __future__ import annotations

import csv
import datetime
import html.parser
import io
import json
import math
import re
import xml.etree.ElementTree as ElementTree
from dataclasses import replace

import jsonschema
import junitparser
import numpy as np
import pytest
import snapshot_fakes as fakes
from oracles import fits_schema, report_schema
from scipy.spatial.transform import Rotation

from crankline import checks, model, reports
from crankline.checks.finding import Finding, State
from crankline.reports import console, json_report, junit, sarif
from crankline.reports import html as reporting_page
from crankline.reports.numbers import ANTI_SQUAT
from crankline.reports.suite import Suite
from crankline.rules.rule import SEVERITIES, Severity
from crankline.snapshot import Snapshot

INCH = 25.4
LB = 0.45359237
DEG = math.pi / 180.0
DATE = datetime.date(2026, 5, 1)


def reported(car=None, files=None, fail_on="error", **more):
    snapshot = fakes.snapshot(car or fakes.automatic(), **more)
    outcome = fakes.checked(snapshot, fail_on=fail_on, event_date=DATE)
    return reports.report(outcome, snapshot, {"program": "none"}, files), outcome, snapshot


# --- schema -----------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("car", [fakes.automatic(), fakes.clutch()], ids=["automatic", "clutch"])
def test_the_report_is_as_its_published_schema_says_and_is_json(car):
    report, _outcome, _snapshot = reported(car, {"car.step": "0" * 64})
    jsonschema.Draft7Validator.check_schema(report_schema())
    fits_schema(json.loads(json.dumps(report, allow_nan=False)))


def test_the_schema_can_fail():
    report, _outcome, _snapshot = reported()
    for change in ({"exit": 7}, {"findings": [{}]}, {"poses": [{"name": "static"}]}, {"points": {"crank_rear": [1, 2]}}):
        with pytest.raises(jsonschema.ValidationError):
            fits_schema({**report, **change})


def test_the_binding_names_of_the_report_are_there():
    report, _outcome, _snapshot = reported()
    assert set(report) >= {"crankline", "host", "car", "exit", "placement", "points", "driveline", "poses", "balance", "parts",
                           "findings", "files"}
    assert set(report["placement"]) >= {"axle_to_block_mm", "crank_height_mm", "pitch_deg", "lateral_mm", "number_one_plug_mm",
                                        "mid_plate_front_mm", "crank_height_front_mm"}
    assert set(report["driveline"]) >= {"front_joint_deg", "rear_joint_deg", "residual_deg", "joint_distance_mm", "critical_rpm",
                                        "shaft_rpm_max", "torsion_mpa"}
    assert set(report["balance"]) >= {"mass_kg", "cg_mm", "front_share", "rear_share"}
    assert set(report["findings"][0]) >= {"id", "rule", "title", "severity", "state", "measured", "limit", "unit", "margin", "basis",
                                          "subjects", "hint"}


def test_a_car_without_a_solution_or_measurer_still_reports():
    good = fakes.snapshot(fakes.automatic())
    broken = Snapshot(good.car, None, good.parts, (fakes.unsound("layout", "invalid", blocking=True),))
    outcome = checks.run(broken, event_date=DATE, measurer=fakes.FakeMeasurer())
    report = reports.report(outcome, broken, {})
    fits_schema(json.loads(json.dumps(report, allow_nan=False)))
    assert report["exit"] == 3 and report["placement"] is None and report["unsound"][0]["key"] == "layout"


def test_a_pose_that_the_suspension_does_not_reach_is_null_and_not_evaluated():
    car = fakes.automatic()
    far = replace(car, rear_end=replace(car.rear_end, suspension=replace(car.rear_end.suspension, droop=900.0, launch_separation=900.0)))
    report, outcome, _snapshot = reported(far)
    fits_schema(json.loads(json.dumps(report, allow_nan=False)))
    launch = next(pose for pose in report["poses"] if pose["name"] == "launch")
    assert launch["front_joint_deg"] is None
    assert any(item.state == State.NOT_EVALUATED and "does not reach" in item.reason for item in outcome.findings)


# --- numbers ----------------------------------------------------------------------------------------------------------


def test_placement_and_points_against_rotation_matrices_of_another_library():
    for car in (fakes.automatic(), fakes.clutch()):
        report, _outcome, snapshot = reported(car)
        engine, given = car.engine, report["placement"]
        pitch = given["pitch_deg"] * DEG
        turned = Rotation.from_euler("y", pitch).as_matrix()
        base = np.array(report["points"]["block_base_rear"])
        origin = base + turned @ [0.0, 0.0, engine.base_drop]
        assert base[0] == pytest.approx(car.placement.axle_to_block, rel=1e-12)
        np.testing.assert_allclose(report["points"]["crank_rear"], origin, atol=1e-9)
        np.testing.assert_allclose(report["points"]["crank_front"], origin + turned @ [engine.block_length, 0, 0], atol=1e-9)
        stations = {"block_rear": 0.0, "block_middle": engine.block_length / 2, "block_front": engine.block_length}
        at = stations[given["crank_height_at"]]
        assert (origin + turned @ [at, 0, 0])[2] == pytest.approx(car.placement.crank_height, rel=1e-12)
        assert given["crank_height_mm"] == pytest.approx(car.placement.crank_height, rel=1e-12)
        plug = engine.number_one_plug
        assert given["number_one_plug_mm"] == pytest.approx((origin + turned @ [plug.x, plug.y, plug.z])[0], abs=1e-9)
        thickness = car.plates.protector.thickness if car.plates.protector else 0.0
        assert given["mid_plate_front_mm"] == pytest.approx(car.placement.axle_to_block - thickness * math.cos(pitch), abs=1e-9)
        back = thickness + car.plates.mid.thickness + car.transmission.bell_to_seal + car.transmission.joint_from_seal
        np.testing.assert_allclose(report["points"]["front_joint"], origin + turned @ [-back, 0, 0], atol=1e-9)
        span = np.subtract(report["points"]["front_joint"], report["points"]["rear_joint"])
        assert report["driveline"]["joint_distance_mm"] == pytest.approx(float(np.linalg.norm(span)), rel=1e-12)


def test_points_on_the_surface_plate_against_another_library():
    """Plate top 2 in below the track at X = 0, track nose down 0.4 deg on it: heights above the plate by hand, axes by SciPy."""
    report, _outcome, _snapshot = reported(fakes.clutch())
    plate, points, rake = report["surface_plate"], report["points"], 0.4 * DEG
    assert (plate["height_mm"], plate["rake_deg"]) == pytest.approx((2.0 * INCH, 0.4))
    turned = Rotation.from_euler("y", rake)
    for name, point in points.items():
        x, y, z = point
        assert plate["points"][name][2] == pytest.approx(2.0 * INCH + z * math.cos(rake) - x * math.sin(rake), abs=1e-9)
        np.testing.assert_allclose(plate["points"][name], turned.apply([x, y, z]) + [0.0, 0.0, 2.0 * INCH], atol=1e-9)
    crank = np.subtract(plate["points"]["crank_front"], plate["points"]["crank_rear"])
    assert plate["crank_pitch_deg"] == pytest.approx(math.degrees(math.atan2(-crank[2], crank[0])), abs=1e-9)
    assert plate["crank_pitch_deg"] == pytest.approx(report["placement"]["pitch_deg"] + 0.4, abs=1e-9)
    assert plate["pinion_pitch_deg"] == pytest.approx(math.degrees(fakes.clutch().rear_end.pinion_pitch) + 0.4, abs=1e-9)
    bare = fakes.clutch()
    assert reported(replace(bare, chassis=replace(bare.chassis, surface_plate=None)))[0]["surface_plate"] is None


def test_driveline_against_plane_trigonometry():
    """Demo A stands in the center plane: joint angles are differences of slopes."""
    report, _outcome, _snapshot = reported()
    front, rear = report["points"]["front_joint"], report["points"]["rear_joint"]
    slope = math.degrees(math.atan2(rear[2] - front[2], front[0] - rear[0]))
    line = report["driveline"]
    assert line["front_joint_deg"] == pytest.approx(abs(slope - 2.0), abs=1e-9)
    assert line["rear_joint_deg"] == pytest.approx(abs(slope - 2.1), abs=1e-9)
    assert line["residual_deg"] == pytest.approx(math.sqrt(abs((slope - 2.0) ** 2 - (slope - 2.1) ** 2)), abs=1e-9)
    assert line["shaft_rpm_max"] == pytest.approx(8200.0, rel=1e-12)


def test_critical_speed_and_torsion_against_textbook_forms():
    """n_c = (pi / 2 L^2) sqrt(E I / m') in Hz; tau = 16 T D / pi (D^4 - d^4) (standards.md B3, B4)."""
    report, _outcome, _snapshot = reported()
    outer, inner, length = 3.75 * INCH / 1e3, 3.51 * INCH / 1e3, report["driveline"]["joint_distance_mm"] / 1e3
    area, second = math.pi / 4 * (outer**2 - inner**2), math.pi / 64 * (outer**4 - inner**4)
    hertz = math.pi / (2 * length**2) * math.sqrt(115e9 * second / (1580.0 * area))
    assert report["driveline"]["critical_rpm"] == pytest.approx(60.0 * hertz, rel=1e-9)
    # The tires hold less than engine, converter and first gear send: grip 3.5 (assumed) with the whole car on the rear axle, free radius.
    torque = 3.5 * 2750 * 0.45359237 * 9.80665 * 16.75 * INCH / 1e3 / 4.10
    assert report["driveline"]["launch_torque_nm"] == pytest.approx(980 * 1.3558179483314004 * 1.90 * 1.80)
    assert report["driveline"]["grip_torque_nm"] == pytest.approx(torque)
    assert report["driveline"]["shaft_torque_nm"] == pytest.approx(torque)
    assert report["driveline"]["torsion_mpa"] == pytest.approx(16 * torque * outer / (math.pi * (outer**4 - inner**4)) / 1e6, rel=1e-9)


def test_torsion_at_the_hit_is_what_the_rules_measure():
    """Stress and twist are in proportion to torque: the steady ones times the factor; and the findings say the same numbers."""
    car = fakes.clutch()
    report, _outcome, _snapshot = reported(replace(car, rules=replace(car.rules, sets=("driveline",))))
    line = report["driveline"]
    assert line["shock_factor"] == 1.5 == report["driveshaft_order"]["torque_nm"]["shock_factor"]
    assert line["torsion_at_hit_mpa"] == pytest.approx(1.5 * line["torsion_mpa"], rel=1e-12)
    assert line["twist_at_hit_deg"] == pytest.approx(1.5 * line["twist_deg"], rel=1e-12)
    measured = {item["rule"]: item["measured"] for item in report["findings"]}
    assert measured["DRV-TORSION"] == pytest.approx(line["torsion_at_hit_mpa"], rel=1e-11)
    # theta = T L / (G J), in another order than the code's: tau = G theta r / L.
    radius, shear = 3.5 / 2 * INCH, 77e3
    twist = line["torsion_at_hit_mpa"] * line["joint_distance_mm"] / (shear * radius)
    assert line["twist_at_hit_deg"] == pytest.approx(math.degrees(twist), rel=1e-9)


@pytest.mark.parametrize("car, pounds", [(fakes.automatic(), 700 + 210 + 230 + 560 + 330 + 290 + 235 + 30 + 75 + 45 + 45),
                                         (fakes.clutch(), 640 + 230 + 150 + 430 + 250 + 80 + 230 + 45 + 45 + 55 + 45)],
                         ids=["automatic", "clutch"])
def test_balance_counts_every_component_once(car, pounds):
    report, _outcome, _snapshot = reported(car)
    balance = report["balance"]
    assert balance["mass_kg"] == pytest.approx(pounds * LB, rel=1e-12)
    assert balance["front_share"] + balance["rear_share"] == pytest.approx(1.0, rel=1e-15)
    assert balance["front_share"] == pytest.approx(balance["cg_mm"][0] / car.car.wheelbase, rel=1e-12)
    names = [item["name"] for item in balance["components"]]
    assert names[:2] == ["engine", "transmission"] and len(names) == len(set(names)) == 2 + len(car.masses)


def test_moving_the_powertrain_moves_the_balance_by_mass_times_move_over_wheelbase():
    car = fakes.automatic()
    moved = replace(car, placement=replace(car.placement, axle_to_block=car.placement.axle_to_block + INCH))
    before, after = (reported(item)[0]["balance"] for item in (car, moved))
    share = (car.engine.mass + car.transmission.mass) * INCH / (before["mass_kg"] * car.car.wheelbase)
    assert after["front_share"] - before["front_share"] == pytest.approx(share, rel=1e-9)


def test_moving_by_an_inch_moves_the_powertrain_by_an_inch_and_nothing_else():
    car = fakes.automatic()
    moved = replace(car, placement=replace(car.placement, axle_to_block=car.placement.axle_to_block + INCH))
    before, after = (reported(item)[0]["points"] for item in (car, moved))
    for name in ("block_base_rear", "crank_rear", "crank_front", "front_joint"):
        np.testing.assert_allclose(np.subtract(after[name], before[name]), [INCH, 0, 0], atol=1e-9)
    assert after["rear_joint"] == before["rear_joint"]


def test_poses_start_at_static_with_the_driveline_figures():
    report, _outcome, _snapshot = reported(fakes.clutch())
    static = report["poses"][0]
    assert [pose["name"] for pose in report["poses"]] == ["static", "launch", "full_droop", "full_bump", "braking", "top_end"]
    for name in ("front_joint_deg", "rear_joint_deg", "joint_distance_mm"):
        assert static[name] == pytest.approx(report["driveline"][name], abs=1e-9)
    assert static["axle_travel_mm"] == 0.0 and static["plunge_mm"] == pytest.approx(0.0, abs=1e-9)
    assert {pose["name"]: pose["axle_travel_mm"] for pose in report["poses"]}["full_bump"] == pytest.approx(1.5 * INCH)


# --- rear suspension --------------------------------------------------------------------------------------------------


def suspended(car=None, **change):
    car = car or fakes.automatic()
    return replace(car, rear_end=replace(car.rear_end, suspension=replace(car.rear_end.suspension, **change)))


def test_instant_centre_and_anti_squat_of_a_four_link_from_the_lines_of_its_links():
    """Both link lines as z = m x + c, met; slope from the patch to that point over cg height / wheelbase."""
    car = fakes.automatic()
    report, _outcome, _snapshot = reported(car)
    found, given = report["suspension"], car.rear_end.suspension
    (m1, c1), (m2, c2) = (np.polyfit([link.axle.x, link.chassis.x], [link.axle.z, link.chassis.z], 1)
                          for link in (given.lower, given.upper))
    x = (c2 - c1) / (m1 - m2)
    assert found["kind"] == "four_link" and found["instant_centre_mm"] == pytest.approx([x, m1 * x + c1], rel=1e-9)
    assert found["swing_arm_mm"] == pytest.approx(x, rel=1e-9)
    assert found["pinion_turn_deg_per_mm"] == pytest.approx(math.degrees(1 / x), rel=1e-9)
    slope, height = (m1 * x + c1) / x, report["balance"]["cg_mm"][2]
    assert found["anti_squat_percent"] == pytest.approx(100.0 * slope * car.car.wheelbase / height, rel=1e-9)


@pytest.mark.parametrize("x, z, percent", [(50.0, 20.0 / 108.0 * 50.0, 100.0), (40.0, 8.0, 108.0), (60.0, 9.0, 81.0)])
def test_anti_squat_of_published_points(x, z, percent):
    """Centre of gravity 20 in high, wheelbase 108 in: an instant center on the line that carries everything gives 100 %."""
    car = suspended(fakes.clutch(), pivot=model.SidePoint(x=x * INCH, z=z * INCH))
    car = replace(car, car=replace(car.car, wheelbase=108.0 * INCH), masses=car.masses[:1])
    balance = reported(car)[0]["balance"]
    lift = (20.0 * INCH - balance["cg_mm"][2]) * balance["mass_kg"] / car.masses[0].mass
    at = car.masses[0].cg
    car = replace(car, masses=(replace(car.masses[0], cg=replace(at, z=at.z + lift)),))
    found = reported(car)[0]["suspension"]
    assert found["anti_squat_percent"] == pytest.approx(percent, rel=1e-9)
    assert found["instant_centre_mm"] == pytest.approx([x * INCH, z * INCH]) and found["kind"] == "ladder"


def test_a_pose_has_the_instant_centre_of_its_own_travel():
    report, _outcome, _snapshot = reported()
    poses = {pose["name"]: pose for pose in report["poses"]}
    assert poses["static"]["instant_centre_mm"] == pytest.approx(report["suspension"]["instant_centre_mm"], rel=1e-12)
    assert abs(poses["full_bump"]["instant_centre_mm"][0] - poses["static"]["instant_centre_mm"][0]) > 10.0
    ladder = reported(fakes.clutch())[0]
    assert all(pose["instant_centre_mm"] == ladder["suspension"]["instant_centre_mm"] for pose in ladder["poses"])


def test_what_a_suspension_has_not_is_null():
    car = fakes.automatic()
    lower = car.rear_end.suspension.lower
    lift = 8.0 * INCH
    above = replace(lower, axle=replace(lower.axle, z=lower.axle.z + lift), chassis=replace(lower.chassis, z=lower.chassis.z + lift))
    cases = {"parallel": suspended(upper=above), "rigid": suspended(kind="rigid", bump=0.0, droop=0.0),
             "without masses": replace(car, masses=())}
    found = {}
    for name, changed in cases.items():
        report = reported(changed)[0]
        fits_schema(json.loads(json.dumps(report, allow_nan=False)))
        found[name] = report["suspension"]
    assert found["parallel"]["instant_centre_mm"] is found["parallel"]["swing_arm_mm"] is None
    slope = (lower.chassis.z - lower.axle.z) / (lower.chassis.x - lower.axle.x)
    height = reported(cases["parallel"])[0]["balance"]["cg_mm"][2]
    assert found["parallel"]["anti_squat_percent"] == pytest.approx(100.0 * slope * car.car.wheelbase / height, rel=1e-9)
    assert found["parallel"]["pinion_turn_deg_per_mm"] == 0.0
    assert found["rigid"] == {"kind": "rigid", "instant_centre_mm": None, "swing_arm_mm": None, "pinion_turn_deg_per_mm": 0.0,
                              "anti_squat_percent": None, "anti_squat_definition": ANTI_SQUAT, "launch_separation_mm": [],
                              "launch_separation_from": "rigid axle"}
    assert len(found["without masses"]["launch_separation_mm"]) == 2 and len(found["parallel"]["launch_separation_mm"]) == 1
    assert found["without masses"]["anti_squat_percent"] is None and found["without masses"]["instant_centre_mm"]


def test_a_phase_error_of_the_yokes_is_counted():
    """Equal angles in one plane cancel; a quarter turn of phase makes them add: residual = sqrt(2) times one angle."""
    car = fakes.clutch()
    turned = replace(car, driveshaft=replace(car.driveshaft, phase=90 * DEG))
    line = reported(turned)[0]["driveline"]
    assert line["residual_deg"] == pytest.approx(math.sqrt(2.0) * line["front_joint_deg"], rel=1e-9)


# --- parts ------------------------------------------------------------------------------------------------------------


def test_parts_are_listed_by_key_with_what_was_measured():
    report, _outcome, snapshot = reported()
    assert [part["key"] for part in report["parts"]] == sorted(part.key for part in snapshot.parts)
    part = next(part for part in report["parts"] if part["key"] == "mid_plate")
    assert part["volume_mm3"] == 1000.0 and part["bbox_mm"] == [0, 0, 0, 10, 10, 10] and part["material"] == "6061-T6"


def test_welded_parts_that_move_are_those_that_follow_the_powertrain():
    report, _outcome, _snapshot = reported()
    assert [part["key"] for part in report["welded_parts_that_move"]] == ["rail_tab/left_front"]


def test_counts_and_header():
    report, outcome, _snapshot = reported()
    assert sum(report["counts"].values()) == len(outcome.findings) and set(report["counts"]) == set(State)
    assert [item["name"] for item in report["rule_sets"]][:2] == ["invented_demo", "practice"]
    assert all(item["edition"] for item in report["rule_sets"])


# --- JUnit ------------------------------------------------------------------------------------------------------------


def mixed():
    """A run with every state: passed, open, waived, void, not applicable, not evaluated."""
    from test_findings import waiver
    car = fakes.automatic()
    car = replace(car, placement=replace(car.placement, axle_to_block=86.0 * INCH, pitch=1.0 * DEG, crank_height=24.5 * INCH))
    car = fakes.with_rules(car, waivers=(waiver("PRA-AXLE", 86.0), waiver("PRA-PITCH", 1.5, reason="a <level> & \"low\" car \x07")))
    return reported(car, unsound=[fakes.unsound("loop/second", "invalid")])


def test_junit_read_back_says_the_same():
    report, outcome, snapshot = mixed()
    root = ElementTree.fromstring(reports.junit_text(report))
    assert [suite.get("name") for suite in root] == [snapshot.car.car.name]
    cases = root.findall(".//testcase")
    assert len(cases) == len(outcome.findings)
    states = {state: sum(item.state == state for item in outcome.findings) for state in State}
    assert min(states.values()) > 0, states
    failing = sum(item.counts("error") for item in outcome.findings)
    assert failing > 0 and len(root.findall(".//failure")) == failing == int(root.get("failures"))
    assert len(root.findall(".//error")) == states["not-evaluated"] == int(root.get("errors"))
    assert len(root.findall(".//skipped")) == int(root.get("skipped")) == (
        states["waived"] + states["not-applicable"] + sum(item.to_confirm and item.state == State.OPEN for item in outcome.findings))
    assert int(root.get("tests")) == sum(int(suite.get("tests")) for suite in root) == len(cases)
    told = {item.get("name"): item.get("value") for item in root.findall(".//property")}
    assert told["crankline"] == report["version"] and told["event_date"] == report["event_date"]
    assert all(told[f"rule set {item['name']}"] == str(item["edition"]) for item in report["rule_sets"])
    below = sum(item.unresolved and not item.to_confirm and not item.counts("error") for item in outcome.findings)
    assert int(told["open_below_fail_on"]) == below > 0
    waived = next(item for item in root.findall(".//skipped") if item.get("type") == "waived")
    assert "A. Builder" in waived.get("message")
    assert len({(case.get("classname"), case.get("name")) for case in cases}) == len(cases)


def test_junit_read_back_by_another_reader_agrees_with_the_report(tmp_path):
    """junitparser reads the file as a build server would: an open error is a failure, what was not evaluated an error, what was waived is
    skipped with its reason, what passed is listed."""
    report, outcome, snapshot = mixed()
    path = tmp_path / "checks.xml"
    path.write_text(reports.junit_text(report), encoding="utf-8")
    suites = list(junitparser.JUnitXml.fromfile(str(path)))
    assert [suite.name for suite in suites] == [snapshot.car.car.name]
    results = {"passed": [], "failure": [], "error": [], "skipped": []}
    for suite in suites:
        told = [suite.tests, suite.failures, suite.errors, suite.skipped]
        suite.update_statistics()
        assert told == [suite.tests, suite.failures, suite.errors, suite.skipped], suite.name
        for case in suite:
            result, = case.result or [None]
            kind = {junitparser.Failure: "failure", junitparser.Error: "error", junitparser.Skipped: "skipped",
                    type(None): "passed"}[type(result)]
            results[kind].append((case, result))
    listed, package = report["findings"], snapshot.car.car.name.replace(".", "_")
    cases = [case for suite in suites for case in suite]
    assert [case.classname for case in cases] == [f"{package}.{item['set']}.{item['rule']}" for item in listed]
    wanted = {"error": [item for item in listed if item["state"] == State.NOT_EVALUATED],
              "skipped": [item for item in listed if item["state"] in (State.WAIVED, State.NOT_APPLICABLE)
                          or (item["state"] == State.OPEN and item["to_confirm"])],
              "failure": [item for item in listed if item["state"] in (State.OPEN, State.WAIVER_VOID) and item["severity"] == "error"]}
    counts = report["counts"]
    assert len(wanted["error"]) == counts["not-evaluated"] > 0
    asked = sum(item["state"] == State.OPEN and item["to_confirm"] for item in listed)
    assert len(wanted["skipped"]) == counts["waived"] + counts["not-applicable"] + asked and counts["waived"] > 0 < asked
    # What is open below the level does not fail the run: it is listed with its finding beside it, as what passed is.
    wanted["passed"] = [item for item in listed if not any(item in items for items in wanted.values())]
    assert len(wanted["passed"]) >= counts["passed"] > 0
    for kind, items in wanted.items():
        assert [case.classname for case, _result in results[kind]] == [f"{package}.{item['set']}.{item['rule']}" for item in items], kind
    for (_case, result), item in zip(results["error"], wanted["error"]):
        assert result.message == item["reason"] and result.type == State.NOT_EVALUATED
    for (_case, result), item in zip(results["skipped"], wanted["skipped"]):
        told = item["reason"] if item["state"] == State.OPEN else f"{item['state']}: {item['reason']}"
        assert result.message == told.replace("\x07", "\ufffd")
    for (_case, result), item in zip(results["failure"], wanted["failure"]):
        assert result.type == "error" and item["title"] in result.message and item["hint"] in result.text
    for (case, _result), item in zip(results["passed"], wanted["passed"]):
        assert item["state"] in case.system_out and item["title"] in case.name
    assert sum(len(items) for items in results.values()) == sum(counts.values())


def test_junit_fails_at_the_chosen_level():
    for level in SEVERITIES:
        report, outcome, _snapshot = reported(fail_on=level)
        root = ElementTree.fromstring(reports.junit_text(report))
        assert (int(root.get("failures")) > 0) == (outcome.exit_code == 1) == (level != "error")     # run without the set of clearances


def test_junit_holds_any_text():
    report = mixed()[0]
    report["findings"] = [{**report["findings"][0], "title": "a\x00b<>&\"\ud800"}]
    text = junit.text([Suite("car \x1f", report)])
    assert "a\ufffdb<>&" in ElementTree.fromstring(text).find(".//testcase").get("name")


def test_two_cars_in_one_junit_file_share_no_case():
    """A build server merges by class and name."""
    report = reported()[0]
    root = ElementTree.fromstring(junit.text([Suite("a", report, seconds=2.0), Suite("b.1", report, seconds=3.0),
                                              Suite("c", None, "the car file is refused", 1.0)]))
    names = [(case.get("classname"), case.get("name")) for case in root.findall(".//testcase")]
    assert len(set(names)) == len(names) == 2 * len(report["findings"]) + 1
    assert float(root.get("time")) == 6.0 and [suite.get("errors") for suite in root][2] == "1"
    assert root.find(".//error[@message='the car file is refused']") is not None


def test_noise_of_arithmetic_is_not_in_the_report():
    assert json_report.rounded({"a": (0.1 + 0.2, -1e-17, -0.0), "b": [{"c": 123456789.123, "d": "x", "e": None, "f": True, "g": 7}]}) == {
        "a": [0.3, 0.0, 0.0], "b": [{"c": 123456789.0, "d": "x", "e": None, "f": True, "g": 7}]}
    assert str(json_report.rounded(-0.0)) == "0.0"
    report = reported()[0]
    written = json.loads(reports.report_text(report))
    assert written == json_report.rounded(written) and written["placement"]["axle_to_block_mm"] == pytest.approx(
        report["placement"]["axle_to_block_mm"], rel=1e-8)


# --- tables and pages -------------------------------------------------------------------------------------------------


def test_csv_reads_back_line_by_line_and_runs_nothing():
    report, _outcome, _snapshot = mixed()
    report["findings"][0]["title"] = '=HYPERLINK("x")'
    report["findings"][1]["hint"] = "@sum, with \"quotes\"\nand a line"
    lines = list(csv.DictReader(io.StringIO(reports.csv_text(report), newline="")))
    assert [line["id"] for line in lines] == [item["id"] for item in report["findings"]]
    assert lines[0]["title"] == "'=HYPERLINK(\"x\")" and lines[1]["hint"].startswith("'@sum")
    for line, item in zip(lines, report["findings"]):
        unit, size = {"mm": ("in", 25.4), "MPa": ("ksi", 6.8947572932)}.get(item["unit"], (item["unit"], 1.0))
        assert line["unit"] == unit and (unit != item["unit"] or not line["rule_limit"])
        for name in ("measured", "margin"):
            assert line[name] == "" if item[name] is None else float(line[name]) * size == pytest.approx(item[name], rel=1e-8, abs=1e-8)
        assert not any(cell[:1] in ("=", "+", "@", "\t", "\r") for cell in line.values())
        assert all(cell[:1] != "-" or float(cell) < 0.0 for cell in line.values())


class Page(html.parser.HTMLParser):
    """Collects what a browser would see, and what it would fetch."""

    def __init__(self, text):
        super().__init__()
        self.open, self.ids, self.fetched, self.words, self.drawings, self.printed = [], [], [], [], 0, []
        self.feed(text)

    def handle_starttag(self, tag, attributes):
        given = dict(attributes)
        self.ids += [given["id"]] if "id" in given else []
        self.fetched += [value for name, value in attributes if name in ("src", "href") or tag in ("script", "link")]
        self.drawings += tag == "svg"
        if tag not in ("meta",):
            self.open.append(tag)

    def handle_startendtag(self, tag, attributes):
        pass

    def handle_endtag(self, tag):
        assert self.open.pop() == tag

    def handle_data(self, data):
        self.words.append(data)
        # What is in a closed part of the page is not printed, but for the line that opens it.
        self.printed += [data] if "details" not in self.open or "summary" in self.open else []


def test_html_is_one_file_that_shows_every_finding_that_stands():
    report, outcome, _snapshot = mixed()
    report["findings"][0]["title"] = "<script>alert(1)</script>"
    text = reports.html_text(report)
    page = Page(text)
    assert page.open == [] and page.fetched == [] and "<script" not in text
    standing = [item.id for item in outcome.findings if item.state not in ("passed", "not-applicable")]
    assert sorted(page.ids) == sorted(standing)
    assert page.drawings >= 3
    words = " ".join(page.words)
    assert "not an approval" in words and "chassis inspector" in words
    for item in report["rule_sets"]:
        assert item["title"] in words


def test_printed_page_has_what_stands_whole_and_counts_what_passed():
    report, outcome, _snapshot = mixed()
    text = reports.html_text(report)
    page = Page(text)
    printed = " ".join(page.printed)
    quiet = [item for item in outcome.findings if item.state == "passed"]
    other = [item for item in outcome.findings if item.state == "not-applicable"]
    assert f"{len(quiet)} passed (of {len({item.rule for item in quiet})} rules)" in printed and f"{len(other)} not applicable" in printed
    standing = [item for item in outcome.findings if item.state not in ("passed", "not-applicable")]
    assert standing and all(item.title in printed for item in standing)
    alone = {item.rule for item in quiet} - {item.rule for item in standing}
    assert alone and not any(f"{rule}:" in printed for rule in alone), "only its count is printed"
    assert all(f"{rule}:" in " ".join(page.words) for rule in alone)
    assert "@media print" in text and ".finding{break-inside:avoid" in text


def test_html_of_a_car_without_a_solution():
    good = fakes.snapshot(fakes.automatic())
    broken = Snapshot(good.car, None, good.parts)
    outcome = checks.run(broken, event_date=DATE, measurer=fakes.FakeMeasurer())
    assert Page(reports.html_text(reports.report(outcome, broken, {}))).open == []


def test_a_mark_tells_severity_by_its_shape():
    report, _outcome, _snapshot = mixed()
    drawn = {}
    for item in report["findings"]:
        if item["points"]:
            drawn.setdefault(item["severity"], set()).update(re.findall(r'path d="(M[^"V]*Z)"', reporting_page.side_view(report, item)))
    shapes = [next(iter(found)) for found in drawn.values()]
    assert len(drawn) == 3 and len(set(shapes)) == 3


# --- what a run prints ------------------------------------------------------------------------------------------------


def printed(*judged):
    """The lines of (rule, state, reason, subject)."""
    items = [Finding(id=str(i), rule=rule, rule_set="practice", title=f"Title of {rule}", severity=Severity.WARNING, state=state, basis={},
                              subjects=(subject,), reason=reason, hint="mend it") for i,
             (rule, state, reason, subject) in enumerate(judged)]
    return console.lines(items, "in", ("a note",))


def test_rules_that_wait_for_one_thing_share_a_line():
    waiting = [(f"R-{n}", State.NOT_EVALUATED, "engine.front_holes is missing; give it.", "engine") for n in range(8)]
    lines = printed(("A-1", State.OPEN, "", "engine"), *waiting, ("S-1", State.NOT_EVALUATED, "another reason", "mid_plate"),
                    *[("T-1", State.NOT_EVALUATED, "a third", subject) for subject in "ab"], ("Z-1", State.PASSED, "", "engine"))
    assert sorted(lines) == sorted([
        "warning: Title of A-1 (engine): mend it",
        "not evaluated: engine.front_holes is missing; give it; 8 rules wait for it: R-0, R-1, R-2, R-3, R-4 and 3 more",
        "not evaluated: Title of S-1 (mid_plate): another reason", "not evaluated: a third; 1 rule waits for it: T-1", "note: a note",
        "11 not-evaluated, 1 open, 1 passed"])
    assert printed(*waiting[:5])[0].endswith("; 5 rules wait for it: R-0, R-1, R-2, R-3, R-4")


def test_what_stands_against_the_car_is_never_put_together():
    same = [(f"R-{n}", State.OPEN, "the same reason", "engine") for n in range(3)]
    assert len(printed(*same)) == 3 + 2


# --- SARIF ------------------------------------------------------------------------------------------------------------


def test_sarif_tells_what_has_not_passed_and_nothing_else():
    """The constraints are of SARIF 2.1.0: 3.27.7 rule index, 3.27.9 kinds, 3.27.10 level ``none`` of every kind but ``fail``,
    3.35 suppressions."""
    report = mixed()[0]
    log = json.loads(sarif.text([Suite("a", {**report, "input": {"file": "a car.yaml", "sha256": ""}}), Suite("c", None, "it is refused")]))
    run, refused = log["runs"]
    rules, results = run["tool"]["driver"]["rules"], run["results"]
    assert log["version"] == "2.1.0" and len({rule["id"] for rule in rules}) == len(rules)
    assert all(rules[one["ruleIndex"]]["id"] == one["ruleId"] for one in results)
    assert all((one["kind"] == "fail") == (one["level"] in ("error", "warning", "note")) for one in results)
    listed = [row for row in report["findings"] if row["state"] not in (State.PASSED, State.NOT_APPLICABLE)]
    assert [one["partialFingerprints"]["finding/v1"] for one in results] == [row["id"] for row in listed]
    by_state = {state: {one["kind"] for one, row in zip(results, listed) if row["state"] == state and not row["to_confirm"]}
                for state in (State.OPEN, State.WAIVED, State.WAIVER_VOID, State.NOT_EVALUATED)}
    assert by_state == {State.OPEN: {"fail"}, State.WAIVED: {"fail"}, State.WAIVER_VOID: {"fail"}, State.NOT_EVALUATED: {"open"}}
    assert {one["kind"] for one, row in zip(results, listed) if row["to_confirm"]} >= {"review"}
    assert [bool(one.get("suppressions")) for one in results] == [row["state"] == State.WAIVED for row in listed]
    assert {one["locations"][0]["physicalLocation"]["artifactLocation"]["uri"] for one in results} == {"a%20car.yaml"}
    assert not refused["results"] and not refused["invocations"][0]["executionSuccessful"]
    assert refused["invocations"][0]["toolExecutionNotifications"][0]["message"]["text"] == "it is refused"
