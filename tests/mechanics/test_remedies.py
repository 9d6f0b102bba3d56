"""Remedies: each, applied to the car, clears its finding; a hundredth less does not; none is said where none does."""
from __future__ import annotations

import datetime
import math
from dataclasses import replace
from functools import cache

import pytest
import snapshot_fakes as fakes
from every_rule import remedied

from crankline import checks, remedies
from crankline.checks import evaluate
from crankline.checks.finding import Finding, Looked, State
from crankline.mechanics import scene
from crankline.progress import drained
from crankline.remedies import candidates, paths, search
from crankline.remedies.parameters import PHASE
from crankline.rules import quantity as registered
from crankline.rules import rule_sets
from crankline.rules.rule import Severity

INCH = 25.4
DEG = math.pi / 180.0
DATE = datetime.date(2026, 5, 1)


def run(snapshot, *only):
    """A check with remedies of its findings, or of what these rules alone find."""
    outcome = checks.run(snapshot, event_date=DATE, measurer=fakes.FakeMeasurer())
    if only:
        outcome = replace(outcome, findings=tuple(item for item in outcome.findings if item.rule in only))
        assert {item.rule for item in outcome.findings} == set(only)
    return drained(remedies.steps(outcome, snapshot))


def troubled():
    """Cars that break something which one number can mend."""
    car, other = fakes.automatic(), fakes.clutch()
    yield "far forward", replace(car, placement=replace(car.placement, axle_to_block=88 * INCH, crank_height=13 * INCH, pitch=1 * DEG))
    yield "as it is", car
    yield "clutch", other
    yield "high", replace(car, placement=replace(car.placement, crank_height=25 * INCH))
    yield "fast", replace(car, engine=replace(car.engine, rpm_limit=1800.0))


CARS = dict(troubled())


@cache
def checked(name):
    """One of these cars' snapshot, and its check without remedies."""
    shot = fakes.snapshot(CARS[name])
    return shot, checks.run(shot, event_date=DATE, measurer=fakes.FakeMeasurer())


@cache
def gone_through(name):
    """The same with the remedies of all that is open, gone through step by step; and how far each step said that it was."""
    shot, bare = checked(name)
    work, shares = remedies.steps(bare, shot), []
    try:
        while True:
            shares.append(next(work).share)
    except StopIteration as end:
        return end.value, shares


def whole(name):
    """The check with all remedies alone."""
    return gone_through(name)[0]


RULES = {rule.id: rule for rule in rule_sets.select(["invented_demo"]).rules}


def again(car, finding):
    """The finding on another car."""
    found = evaluate.evaluate([RULES[finding.rule]], fakes.snapshot(car), fakes.FakeMeasurer(), DATE)
    return next((item for item in found if item.discriminator == finding.discriminator), None)


@pytest.mark.parametrize("name", CARS)
def test_every_remedy_clears_its_finding_and_a_little_less_does_not(name):
    car, tried = CARS[name], 0
    for finding in whole(name).findings:
        for remedy in finding.remedies:
            if remedy["parameter"].startswith("containment."):
                continue
            # Loops stand where they stood: the fakes make them from the same records.
            assert again(remedied(car, remedy), finding).state == State.PASSED, (finding.rule, remedy)
            step = 0.0101 if remedy["unit"] != "rpm" else 10.1
            if abs(remedy["change"]) < step:
                continue
            left = again(remedied(car, remedy, less=step), finding)
            assert left.state == State.OPEN, (finding.rule, remedy)
            tried += 1
    assert tried > 0


def test_a_loop_too_far_back_says_how_far_it_must_come_forward():
    car = fakes.automatic()
    place = scene.of(car)
    x = float(place.front_joint[0] - 7.3 * INCH * place.driveline.shaft_axis[0])
    snapshot = fakes.snapshot(car, change={"loop/front": {"shape": fakes.FakeLoop(x)}, "loop/second": {"shape": fakes.FakeLoop(700.0)}})
    found = next(item for item in run(snapshot, "NHRA-LOOP-PLACE").findings)
    assert found.margin == pytest.approx(-1.3, abs=1e-6)
    first = found.remedies[0]
    assert first["parameter"] == "containment.loops.front.x" and first["change"] == pytest.approx(1.3, abs=0.011)
    assert first["words"] == "move loop/front 1.3 in forward, to X = 52.55 in"
    assert "any one of these clears it: move loop/front 1.3 in forward" in found.hint


def test_a_short_enclosure_says_how_much_longer_it_must_be():
    snapshot = fakes.snapshot(fakes.automatic(), change={"enclosure": {"shape": fakes.FakeTube(10.75 * INCH, 1.651)}})
    found = next(item for item in run(snapshot, "DEMO-ENCLOSURE").findings)
    remedy, = found.remedies
    assert remedy["change"] == pytest.approx(1.25, abs=0.011) and remedy["unit"] == "in"


def test_what_no_number_mends_has_no_remedy():
    snapshot = fakes.snapshot(fakes.automatic(), change={"loop/front": {"shape": fakes.FakeLoop(1300.0, closed=6.0)}},
                              without=("enclosure",))
    standing = [item for item in run(snapshot, "NHRA-LOOP-CLOSED", "DEMO-ENCLOSURE").findings if item.unresolved]
    told = {item.rule: item.remedies for item in standing}
    assert told["NHRA-LOOP-CLOSED"] == () and told["DEMO-ENCLOSURE"] == ()
    assert not any("clears it" in item.hint for item in standing)


def test_a_solved_pitch_is_no_parameter():
    car = fakes.clutch()
    lowered = replace(car, rear_end=replace(car.rear_end, pinion_pitch=1.5 * DEG))
    found = next(item for item in run(fakes.snapshot(lowered), "PRA-PITCH").findings)
    assert [remedy["parameter"] for remedy in found.remedies] == ["rear_end.pinion_pitch"]


def test_passed_findings_and_runs_without_remedies_carry_none():
    assert all(not item.remedies for item in whole("as it is").findings if item.state == State.PASSED)
    _shot, bare = checked("as it is")
    assert all(not item.remedies for item in bare.findings)


def test_what_the_effort_was_not_enough_for_is_said(monkeypatch):
    """Shapes stand in for those of the host; making them again takes the effort that is left, which is none."""
    monkeypatch.setattr(search.Solver, "_can_try", lambda self: True)

    class Shape:
        distToShape = None

    rule = next(rule for rule in rule_sets.select(["clearance"]).rules if rule.id == "CLR-OIL-PAN")
    bare = fakes.snapshot(fakes.automatic(), change={"engine": {"shape": Shape()}, "rear_cross_member": {"shape": Shape()}})
    finding = Finding(id="1", rule=rule.id, rule_set="clearance", title=rule.title, severity=Severity.ADVICE, state=State.OPEN,
                               basis={}, subjects=("engine", "rear_cross_member"), measured=0.5, unit="in", margin=-0.25, hint="move it")
    monkeypatch.setattr(search.Solver, "spent", 0)
    told, = drained(search.for_all_steps([finding], [rule], bare, fakes.FakeMeasurer(), effort=0))
    assert told.hint == "move it; which dimension alone clears it was not looked for yet"
    assert told.remedies == () and told.looked_for == Looked.NO


def test_none_names_what_was_tried():
    assert search._ending(search.Search(tried=("pitch", "crank height"))) == "none of these alone clears it: pitch, crank height"
    assert search._ending(search.Search()) == ""


@pytest.mark.parametrize("more", [{}, {"clears": ("placement.pitch",), "no_remedy": "none"}], ids=["neither", "both"])
def test_a_quantity_names_what_clears_it_or_why_nothing_does(more):
    with pytest.raises(ValueError, match="no_remedy"):
        registered.quantity("invented", "length", **more)


def test_every_dimension_that_a_quantity_names_has_its_words():
    """Of every rule of the catalog, whatever parts it is about."""
    shot, tried = fakes.snapshot(fakes.automatic()), set()
    keys = [(), *((part.key,) for part in shot.parts), ("driveshaft", "loop/front"), ("engine", "rail/left")]
    for name in rule_sets.available():
        for rule in rule_sets.read(f"{rule_sets.FOLDER}/{name}.yaml").rules:
            for subjects in keys:
                # What is screened for yield is told by its group.
                about = Finding(id="1", rule=rule.id, rule_set=name, title="", severity=rule.severity, state=State.OPEN, basis={},
                                subjects=subjects, discriminator="cross bolt" if rule.quantity == "mount_yield" else "")
                found = candidates.of(about, rule, shot)
                assert all("{by}" in one.up + one.down or one.only is not None for one in found.parameters)
                tried |= {rule.quantity} if found.parameters else set()
            assert (rule.quantity in tried) == (rule.quantity not in candidates.NONE), rule.id


def test_a_path_says_how_far_and_which_way_it_is_tried():
    plain, = paths.of_path("placement.pitch")
    near, = paths.of_path("~placement.pitch")
    more, = paths.of_path("+plates.mid.thickness")
    assert near.reach == 0.5 * plain.reach and plain.ways == (1.0, -1.0) and more.ways == (1.0,)
    loops = paths.of_path("-containment.loops.*.inner_diameter", ("loop/front", "engine", "loop/rear"))
    assert [one.name for one in loops] == ["containment.loops.front.inner_diameter", "containment.loops.rear.inner_diameter"]
    assert all(one.ways == (-1.0,) for one in loops)
    for wrong in ("plates.mid.invented", "plates.mid", "invented.thickness", "plates.mid.material"):
        with pytest.raises(KeyError):
            paths.of_path(wrong)


def test_a_field_without_words_of_its_own_is_told_as_its_record_describes_it():
    turned, = paths.of_path("mounts.transmission.blank_allowance")
    assert turned.label == "length supplied beyond the trim line of transmission" and turned.kind == "length"
    assert turned.up.format(by="1.00 in", to="2.00 in") == f"make the {turned.label} 1.00 in more, 2.00 in"
    shot = fakes.snapshot(fakes.automatic())
    assert turned.changed(shot, 3.0).mounts.transmission.blank_allowance == pytest.approx(turned.get(shot) + 3.0)


def test_the_gravest_findings_are_looked_into_first_and_the_rest_is_told_as_not_looked_for():
    shot, bare = checked("far forward")
    order = remedies.in_order(bare.findings, bare.rules)
    ranks = [bare.findings[i].severity.rank for i in order]
    assert ranks == sorted(ranks) and len(set(ranks)) > 1
    some = drained(remedies.steps(bare, shot, most=2))
    looked = [i for i in order if some.findings[i].looked_for != Looked.NO]
    every = whole("far forward")
    assert set(order[:2]) <= set(looked)
    for i in order:
        if i in looked:
            assert some.findings[i] == every.findings[i]
        else:
            assert some.findings[i].hint.endswith("was not looked for yet") and not some.findings[i].remedies


def test_a_search_goes_step_by_step():
    """That it comes to the same as one that is let run to its end is asked above, of the gravest findings."""
    _outcome, shares = gone_through("far forward")
    assert len(shares) > 20 and shares == sorted(shares) and 0.0 <= shares[0] <= shares[-1] <= 1.0


def test_one_finding_is_looked_into_on_request():
    shot, bare = checked("far forward")
    rules = {rule.id: rule for rule in bare.rules}
    finding = next(item for item in bare.findings if remedies.may_be_cleared(item) and item.rule == "PRA-PITCH")
    found = remedies.with_remedies(finding, rules[finding.rule], remedies.Solver(shot, bare.measurer).search(finding, rules[finding.rule]))
    assert found == next(item for item in whole("far forward").findings if item.id == finding.id) and found.looked_for == Looked.YES


def test_yokes_are_turned_into_phase_and_never_out_of_it():
    """A shaker may be made up for by turning a yoke; nobody does, and the rule for the phase would not have it."""
    car = fakes.clutch()
    for degrees, turned in ((90.0, 90.0), (100.0, 80.0), (-60.0, 60.0), (170.0, 10.0)):
        out = fakes.snapshot(replace(car, driveshaft=replace(car.driveshaft, phase=math.radians(degrees))))
        assert math.degrees(PHASE.get(out)) == pytest.approx(degrees)
        assert abs(math.degrees(PHASE.only(out))) == pytest.approx(turned)
        assert math.sin(math.radians(degrees) + PHASE.only(out)) == pytest.approx(0.0, abs=1e-12)
    for degrees in (0.0, 180.0, -180.0):
        assert PHASE.get(fakes.snapshot(replace(car, driveshaft=replace(car.driveshaft, phase=math.radians(degrees))))) is None
