"""What passes where a powertrain really is, and how surely; what to move; the sheet and the report of it."""
from __future__ import annotations

import json
from dataclasses import replace
from functools import cache

import numpy as np
import pytest
from snapshot_fakes import DEMOS, automatic

from crankline import checks, source, units  # noqa: F401 - checks registers the quantities
from crankline.as_built import fitted, moves, readings, report, verdicts
from crankline.checks.evaluate import evaluate
from crankline.mechanics import pose_fit
from crankline.mechanics import scene as scenes
from crankline.rules import rule_sets
from crankline.sheets import as_built as sheet
from crankline.snapshot import Snapshot
from crankline.units import DEG

NAMES = ("good", "quarter_inch_error", "wrong_face", "too_few")


@cache
def placed(sets=("driveline", "practice")):
    car = automatic()
    car = replace(car, rules=replace(car.rules, sets=sets))
    return car, scenes.of(car)


@cache
def outcome(name, change=""):
    car, scene = placed()
    text = (DEMOS / "readings" / f"{name}.yaml").read_text(encoding="utf-8")
    text = text.replace("readings:\n", f"{change}readings:\n", 1) if change else text
    found = fitted.of(car, *readings.of_nodes(source.parse(text, "readings"), car, scene))
    return report.Outcome(found, verdicts.of(found), moves.correct(found), found.wanted, scenes.of(found.as_built))


def by_rule(told, rule, discriminator=""):
    return next(one for one in told.findings if one.finding.rule == rule and one.finding.discriminator == discriminator)


def test_pitch_is_judged_by_its_interval():
    """PRA-PITCH has 1.9 to 2.2 deg: at 2.58 deg within 0.07 deg it fails surely, and its interval is that of the fit (linear in pitch)."""
    told = outcome("good")
    one = by_rule(told, "PRA-PITCH")
    pitch = next(each for each in told.fitted.freedoms if each.name == "pitch")
    assert one.verdict == verdicts.FAILS and one.hangs
    assert one.measured == pytest.approx(((pitch.found - pitch.within) / DEG, (pitch.found + pitch.within) / DEG), rel=1e-6)
    assert one.margin == pytest.approx((2.2 - one.measured[1], 2.2 - one.measured[0]), abs=1e-6)


def test_a_limit_inside_what_is_known_is_undecided_and_says_which_reading_decides_it():
    """The same car with a level that reads within 0.8 deg and a tape within 1.5 in: 2.2 deg is then inside what is known."""
    loose = "instruments: [{name: digital level, within_angle: 0.8 deg}, {name: tape, within: 1.5 in}]\n"
    one = by_rule(outcome("good", loose), "PRA-PITCH")
    assert one.margin[0] < 0.0 < one.margin[1] and one.verdict == verdicts.UNDECIDED
    assert one.decides == "angle along the crank, rear high, once more"
    assert replace(outcome("good", loose), fail_on="advice").exit_code == 4 and "PRA-PITCH" in " ".join(report.text(outcome("good", loose)))


def test_the_interval_holds_what_sampled_placements_measure():
    """1,000 placements of the covariance, sampled: 2.5 and 97.5 % points of the joint angles are those of the interval."""
    told = outcome("good")
    car, state = told.fitted.car, told.fitted.fit.state
    rng = np.random.default_rng(3)
    angles = []
    for one in rng.multivariate_normal(state, told.fitted.covariance, size=1000):
        scene = scenes.of(fitted.shown(car, fitted.record_of(one, np.ones(10, dtype=bool))))
        angles.append(np.degrees(float(scene.driveline.front_angle)))
    low, high = np.percentile(angles, [2.5, 97.5])
    interval = by_rule(told, "DRV-ANGLE-SMOOTH", "front joint, static").measured
    assert interval == pytest.approx((low, high), abs=0.02)


def test_nothing_passes_surely_that_hangs_on_what_no_reading_tells():
    told = outcome("too_few")
    assert told.exit_code == 4 and told.correction is None and not told.fitted.determined
    asked = "; ".join(told.fitted.asked)
    undecided = [one for one in told.findings if one.verdict == verdicts.UNDECIDED]
    assert undecided and all(one.decides == asked for one in undecided)
    assert by_rule(told, "DRV-ANGLE-LEAST", "front joint, static").verdict == verdicts.UNDECIDED, "yaw alone may open or close this angle"


def test_verdicts_are_those_of_the_ends_and_of_every_rule_that_applies():
    told = outcome("good")
    car = told.fitted.as_built
    selection = rule_sets.select(car.rules.sets)
    here = [one for one in evaluate(verdicts.from_numbers(selection.rules), Snapshot(car, scenes.of(car), ()), None, None, selection)
            if one.state.value != "not-applicable"]
    assert [one.finding.id for one in told.findings] == [one.id for one in here]
    for one in told.findings:
        if one.margin is not None:
            assert one.margin[0] <= one.finding.margin + 1e-9 and one.margin[1] >= one.finding.margin - 1e-9
            assert (one.verdict == verdicts.PASSES) == (one.margin[0] >= -max(one.finding.tolerance, 1e-9)), one


def test_the_moves_bring_it_within_the_tolerances_of_the_set_up_sheet():
    told = outcome("good")
    plan, after = told.correction.plan, told.correction.after
    assert plan.enough and len(told.correction.words) == len(plan.moves)
    assert told.correction.words[0].startswith("Slide the powertrain back")
    off = (pose_fit.wanted(after) - pose_fit.wanted(told.designed))[:6]
    assert off == pytest.approx(plan.after, abs=1e-9)
    assert any(one.before.rule == "PRA-PITCH" and one.after.state.value == "passed" for one in told.correction.changes)
    assert any("Rear joint is to come 1/8 in up" in words for words in told.correction.follows)


def test_a_car_where_it_should_be_is_not_moved():
    car, scene = placed()
    _text, measured = readings.of_nodes(source.parse(readings.template(car, scene, lambda one: ""), "readings"), car, scene)
    found = fitted.of(car, readings.Readings(readings=(), car=None, measured=None, measured_by=None, instruments=None, points=None),
                      [replace(one, reading=replace(one.reading, read=(one.wanted,))) for one in measured])
    plan = moves.correct(found)
    assert plan.words == () and plan.changes == () and np.abs(plan.plan.before).max() < 1e-9


@pytest.mark.parametrize("name", NAMES)
@pytest.mark.parametrize("size, system", [("A", "in"), ("A4", "mm"), ("B", "in")])
def test_the_sheet_is_laid_out(name, size, system):
    told = outcome(name)
    snapshot = Snapshot(told.fitted.as_built, told.as_built, ())
    with units.read_in(system):
        pages = sheet.sheets(told, snapshot, size)
    texts = [item.text for page in pages for item in page.items if hasattr(item, "text")]
    told_of = " ".join(texts)
    assert "AS BUILT" in told_of and "Sign-off" in texts and "Signature" in texts and "-0.000 in" not in told_of
    for line in told.fitted.lines:
        name_ = line.measured.reading.name
        assert any(name_.startswith(one.rstrip("….")) for one in texts if len(one) > 12), name_
    assert any(one.startswith("No moves are listed: the readings do not say where") for one in texts) == (name == "too_few")
    assert (" in  " in "  ".join(texts)) == (system == "in")


@pytest.mark.parametrize("name", NAMES)
def test_the_report_is_plain_data_and_says_what_the_text_says(name):
    told = outcome(name)
    plain = json.loads(json.dumps(report.to_json(told), allow_nan=False))
    assert plain["exit"] == told.exit_code and plain["determined"] == (name != "too_few") and plain["lost"] == list(told.fitted.lost)
    assert plain["placement"]["pitch_deg"]["as_built"] == pytest.approx(told.fitted.fit.state[4] / DEG)
    assert plain["placement"]["rear_joint_y_mm"]["state"] == "as designed"
    assert [one["state"] for one in plain["readings"]].count("set aside") == (name in ("quarter_inch_error", "wrong_face"))
    lines = report.text(told)
    assert any("Not determined by these readings: roll, yaw" in line for line in lines) == (name == "too_few")
    assert any("rear face of the mid plate, not the front face" in line for line in lines) == (name == "wrong_face")
    assert any("is off by" in line and "no usual slip" in line for line in lines) == (name == "quarter_inch_error")


def test_what_was_not_looked_at_and_not_read_is_told_as_such():
    """Without shapes, and with roll and yaw that no reading tells: console, sheet and JSON say so alike."""
    told = outcome("too_few")
    lines, plain = report.text(told), report.to_json(told)
    printed = [text for piece in sheet.pieces(told, 180.0) for row in piece.rows for text in row]
    assert report.UNSEEN in lines and report.SHAPES not in lines and plain["shapes_looked_at"] is False
    assert report.UNSEEN.split(",")[0] in " ".join(printed) and "was looked at only" not in " ".join(printed)
    seen = replace(told, findings=(*told.findings, verdicts.FittedFinding(told.findings[0].finding, verdicts.HERE)))
    assert report.SHAPES in report.text(seen) and report.UNSEEN not in report.text(seen)
    roll = next(line for line in lines if line.startswith("  Roll"))
    assert roll.split()[-7:] == ["as", "built", "–", "off", "–", "not", "determined"]
    assert plain["placement"]["roll_deg"]["as_built"] is None and plain["placement"]["pitch_deg"]["as_built"] is not None


def test_readings_of_a_car_with_another_name_are_pointed_out():
    told = outcome("good").fitted
    assert not any("belong together" in one for one in report.notes(told))
    other = replace(told, readings=replace(told.readings, car="Another"))
    assert report.notes(other)[0] == ("The readings are of 'Another', and this car is 'Demo A (invented)': make sure that they belong "
                                      "together.")


def test_shims_have_the_unit_of_the_car():
    assert moves._pile((1.0 / 16.0 + 0.015) * units.INCH) == "shim 1/16 in + shim 0.015 in"
    with units.read_in("mm"):
        assert moves._pile((1.0 / 16.0 + 0.015) * units.INCH) == "shim 1.59 mm + shim 0.38 mm"
