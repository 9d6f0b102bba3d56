"""The placement window of the demos: its cells against the check of one placement, its border against closed forms, its best placement."""
from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from conftest import ROOT

from crankline import carfile, model, placement_window
from crankline.checks import evaluate
from crankline.checks.finding import State as Found
from crankline.mechanics import scene
from crankline.placement_window import State, exact, plots, region
from crankline.record import filled
from crankline.snapshot import Snapshot

INCH = 25.4


def car_of(name: str = "full_bodied_automatic") -> model.Car:
    return carfile.read(ROOT / "demo_assemblies" / f"{name}.yaml")


@pytest.fixture(scope="module")
def window():
    return placement_window.grid(car_of(), np.linspace(79.0, 86.0, 29) * INCH, np.linspace(8.0, 12.0, 17) * INCH, np.radians([1.9, 2.1]))


@pytest.mark.parametrize("name", ["full_bodied_automatic", "open_clutch"])
def test_cells_say_what_the_check_says(name):
    """Rules by numbers; the host's tests do the same with documents and every rule that is claimed."""
    car = car_of(name)
    made = placement_window.grid(car, np.linspace(74.0, 90.0, 9) * INCH, np.linspace(7.0, 15.0, 7) * INCH)
    rng, seen = np.random.default_rng(5), set()
    for i, j in zip(rng.integers(0, 9, 15), rng.integers(0, 7, 15)):
        point = made.point(int(i), int(j), 0)
        one = point.car
        rules = [claim.rule for claim in made.claims]
        found: dict[str, set] = {}
        for item in evaluate.evaluate(rules, Snapshot(one, scene.of(one), ())):
            found.setdefault(item.rule, set()).add(Found.NOT_EVALUATED if item.to_confirm and item.state == Found.OPEN else item.state)
        for verdict in point.verdicts:
            states = found[verdict.claim.rule.id]
            if verdict.claim.rule.quantity in ("ground_clearance", "pan_gap_in_plan"):
                continue    # they need shapes
            expected = (State.OPEN if Found.OPEN in states else State.HOLDS if states == {Found.PASSED} else
                        State.NOT_APPLICABLE if states == {Found.NOT_APPLICABLE} else None)
            assert verdict.state == expected or (expected is None and verdict.state in (State.NOT_EVALUATED, State.ASKED)), verdict
            seen.add(verdict.state)
    assert {State.OPEN, State.HOLDS} <= seen


def test_a_point_is_its_cell(window):
    cell = window.point(20, 9, 1)
    point = placement_window.at(window.judge, cell.x, cell.z, cell.pitch)
    assert point.solved and point.placement == cell.placement
    assert point.figures == pytest.approx(cell.figures, nan_ok=True)
    assert [one.state for one in point.verdicts] == [one.state for one in cell.verdicts]
    assert len(point.figures) == 21 and point.figures["shaft_length"] == pytest.approx(float(np.linalg.norm(
        scene.of(point.car).front_joint - scene.of(point.car).rear_joint)))


def test_what_is_not_claimed_is_named_and_never_holds(window):
    claimed, not_claimed = {claim.rule.id for claim in window.claims}, dict(window.unclaimed)
    assert not claimed & set(not_claimed) and all(not_claimed.values())
    assert {"DRV-RESIDUAL", "PRA-SUPPORT", "CLR-PAN-GROUND", "SRV-PAN-GAP", "DRV-SLIP-BOTTOM", "NHRA-CRANK-HEIGHT"} <= claimed
    assert {"CLR-INTERFERENCE", "CON-LOOP-ROOM", "STR-BOLTS", "STK-GAP"} <= set(not_claimed)


def test_the_border_is_where_the_support_tube_leaves_the_uprights(window):
    """Closed form: with the uprights at 82 in, the tube touches over both radii (1.25 and 1.25 in) and 0.002 in of tolerance, and its
    center is (stack + behind_plate) behind and above_crank above the crank's rear, turned by the pitch."""
    car, pitch = window.judge.car, window.pitches[0]
    support, stack = car.mounts.support_tube, 0.375 * INCH
    behind = (stack + support.behind_plate) * np.cos(pitch) - support.above_crank * np.sin(pitch)
    # Crank at the rear face: base drop sin(pitch) ahead of the block's base, where axle-to-block is measured.
    offset = car.engine.base_drop * np.sin(pitch) - behind
    reach = 1.25 * INCH + 0.002 * INCH
    crossings = window.borders(0, tolerance=1e-4)
    for side, end in (("rear", -reach), ("front", reach)):
        found = [one for one in crossings if one.side == side and one.rules == ("PRA-SUPPORT",)]
        assert found and all(one.x == pytest.approx(82.0 * INCH + end - offset, abs=2e-4) for one in found)
    edges = {edge.side: edge.rule for edge in reversed(window.edges(0))}
    assert edges["rear"] == edges["front"] == "PRA-SUPPORT" and edges["high"] == region.LIMIT


def test_best_follows_the_weights_that_are_asked_for(window):
    allowed = window.allowed
    assert 0.1 < allowed.mean() < 0.4
    low = window.best({"low": 1.0})
    assert low.z == window.z[np.nonzero(allowed.any(axis=(0, 2)))[0][0]]
    own = window.judge.car.placement
    near = window.best({"move": 1.0})
    assert np.hypot(near.x - own.axle_to_block, near.z - own.crank_height) < 1e-9 + 0.125 * INCH * np.sqrt(2.0)
    split = window.best({"split": 1.0}, front_share=0.60)
    assert split.x == window.x[np.nonzero(allowed.any(axis=(1, 2)))[0][-1]], "farthest forward"
    middle = window.best({"border": 1.0})
    assert not middle.open() or all(one.claim.rule.severity == "advice" for one in middle.open())
    assert region.to_border(window, 0).max() <= 0.5 * (window.z[-1] - window.z[0])


def test_level_and_ignored_rules_decide_what_closes(window):
    car = car_of()
    axes = window.x, window.z, window.pitches
    strict = placement_window.grid(car, *axes, level="advice")
    assert not (strict.allowed & ~window.allowed).any() and strict.allowed.sum() < window.allowed.sum()
    loose = placement_window.grid(car, *axes, ignored=["PRA-SUPPORT"])
    assert not (window.allowed & ~loose.allowed).any() and loose.allowed.sum() > window.allowed.sum()
    assert all(edge.rule != "PRA-SUPPORT" for edge in loose.edges(0))
    with pytest.raises(placement_window.WindowError, match="CLR-INTERFERENCE"):
        placement_window.grid(car, *axes, ignored=["CLR-INTERFERENCE"])


def test_a_rule_that_nothing_meets_is_told_by_itself():
    car = car_of()
    car = replace(car, chassis=replace(car.chassis, uprights=replace(car.chassis.uprights, x=40.0 * INCH)))
    made = placement_window.grid(car, np.linspace(82.0, 84.0, 5) * INCH, np.linspace(9.5, 11.0, 5) * INCH)
    assert [made.claims[row].rule.id for row in made.nowhere] == ["PRA-SUPPORT"] and made.inside.any() and not made.allowed.any()


def test_slopes_are_those_of_closed_forms(window):
    """An inch forward lengthens the shaft by the cosine of its slope, and changes the split by mass x move / wheelbase."""
    point = window.point(18, 8, 0)
    slopes, car = point.slopes(), window.judge.car
    place = scene.of(filled(point.car))
    axis = (place.front_joint - place.rear_joint) / np.linalg.norm(place.front_joint - place.rear_joint)
    assert slopes["shaft_length"] == pytest.approx((axis[0], axis[2]), abs=1e-7)
    mass = sum(item.mass for item in car.masses) + car.engine.mass + car.transmission.mass
    assert slopes["front_share"][0] == pytest.approx((car.engine.mass + car.transmission.mass) / mass / car.car.wheelbase, rel=1e-6)
    assert slopes["firewall_room"] == pytest.approx((1.0, 0.0), abs=1e-9)
    assert [one.state for one in point.nearest()] == [State.HOLDS] * 3


def test_modes_of_pitch_are_solved_at_each_placement():
    made = placement_window.grid(car_of("open_clutch"), np.linspace(79.0, 82.0, 4) * INCH, np.linspace(9.0, 11.0, 3) * INCH, "in_line")
    assert made.shape == (4, 3, 1) and np.ptp(made.figure("pitch")) > 0.01
    # In line but for the offset to the side, from the engine's to the pinion's.
    aside = np.arcsin(0.5 * INCH / made.figure("shaft_length"))
    assert made.figure("front_joint_static") == pytest.approx(aside, rel=1e-6)
    assert made.point(1, 1, 0).placement.pitch_mode == "in_line"


def test_a_begun_car_has_a_window_of_what_is_known():
    made = placement_window.grid(car_of("minimal"), np.linspace(80.0, 85.0, 4) * INCH, np.linspace(9.0, 11.0, 3) * INCH)
    assert "residual_static" in made.cells.figures and "front_share" not in made.cells.figures
    assert made.inside.any() and made.nowhere and dict(made.unclaimed)["DRV-CRITICAL"] == "no driveshaft yet"


def test_a_wrong_window_is_refused():
    for wrong, words in ((dict(axle_to_block=[]), "axle-to-block"), (dict(crank_heights=[-1.0]), "crank height"),
                         (dict(pitches=[]), "pitch"), (dict(level="grave"), "level")):
        with pytest.raises(placement_window.WindowError, match=words):
            placement_window.grid(car_of(), **wrong)


@pytest.mark.parametrize("form, head", [("png", b"\x89PNG"), ("svg", b"<?xml"), ("pdf", b"%PDF")])
def test_pictures_are_the_same_each_time(window, form, head):
    def drawn():
        made = placement_window.figure(window, chosen=window.point(18, 8, 0), records=[(2100.0, 250.0, "a record")], layer=0)
        return plots.image(made, form)
    first = drawn()
    assert first.startswith(head) and first == drawn() and b"2026" not in first[:2000]


def test_the_exact_border_is_found_along_four_ways(window):
    """By a check that is a circle of 20 mm around the start, and that says which half of it was left."""
    start, asked = window.point(18, 8, 0), []

    def opened(car):
        x, z = car.placement.axle_to_block - start.x, car.placement.crank_height - start.z
        asked.append((x, z))
        return () if np.hypot(x, z) <= 20.0 else ("AHEAD",) if x > 0.0 else ("ELSE",)
    found = {way.side: way for way in exact.ways(window, start, opened, tolerance=0.5)}
    assert {side: way.rules for side, way in found.items()} == {"rear": ("ELSE",), "front": ("AHEAD",), "low": ("ELSE",), "high": ("ELSE",)}
    for side, (dx, dz) in region.SIDES.items():
        x, z = found[side].last
        assert (x - start.x, z - start.z) == pytest.approx((20.0 * dx, 20.0 * dz), abs=0.5)
    assert len(asked) < 40 and all(way.rules == () for way in exact.ways(window, start, lambda car: ()))
