"""A car holds two placements, as wanted and as built, and one of them is shown."""
from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from snapshot_fakes import automatic

from crankline import carfile, model
from crankline.checks.evaluate import evaluate
from crankline.mechanics import scene as scenes
from crankline.record import difference, sparse
from crankline.remedies import candidates
from crankline.rules import rule_sets
from crankline.sheets import set_up
from crankline.snapshot import Snapshot
from crankline.units import DEG, INCH

FOUND = sparse(model.AsBuilt, axle_to_block=83.75 * INCH, crank_height=10.1 * INCH, pitch=2.4 * DEG, lateral=0.1 * INCH, yaw=0.2 * DEG,
               rear_joint_z=13.0 * INCH)


def measured(shown):
    car = automatic()
    return replace(car, placement=replace(car.placement, as_built=FOUND, shown=shown))


def test_what_is_shown_is_where_everything_is_placed():
    wanted, found = scenes.of(measured("as_designed")), scenes.of(measured("as_built"))
    assert np.array_equal(wanted.engine_frame.origin, scenes.of(automatic()).engine_frame.origin) and not wanted.as_built
    same = scenes.of(replace(automatic(), placement=sparse(model.Placement, axle_to_block=83.75 * INCH, crank_height=10.1 * INCH,
                                                           pitch_mode="fixed", pitch=2.4 * DEG, lateral=0.1 * INCH, yaw=0.2 * DEG)))
    assert found.as_built and np.array_equal(found.front_joint, same.front_joint) and found.placement == same.placement
    # What was not measured of the rear end is as wanted.
    assert found.rear_joint == pytest.approx([*wanted.rear_joint[:2], 13.0 * INCH])
    assert found.rear_end.pinion_pitch == wanted.rear_end.pinion_pitch


def test_a_car_file_keeps_both():
    text = carfile.write_text(measured("as_built"))
    again = carfile.read_text(text).placement
    assert difference(again.as_built, FOUND) == [] and again.shown == "as_built" and again.axle_to_block == pytest.approx(83.5 * INCH)
    assert "as_built: axle_to_block: 83.75 in" in " ".join(text.split())


def test_as_built_cannot_be_shown_of_a_car_that_was_not_measured():
    car = automatic()
    text = carfile.write_text(replace(car, placement=replace(car.placement, shown="as_built")))
    with pytest.raises(carfile.CarFileError, match=r"placement\.shown.*no placement as built"):
        carfile.read_text(text)


def test_the_set_up_sheet_sets_a_car_that_was_measured_to_where_it_was_designed_to_be():
    told = {}
    for shown in ("as_designed", "as_built"):
        car = measured(shown)
        scene = scenes.of(car)
        told[shown] = [item.text for page in set_up.sheets(Snapshot(car, scene, ()), "A") for item in page.items if hasattr(item, "text")]
        assert (scene.designed is not None) == scene.as_built == (shown == "as_built")
    assert "83 1/2 (83.500 in)" in told["as_built"] and "Demo A (invented), as designed" in told["as_built"]
    # The car's data differ by which placement is shown, and so does the number that says so; nothing else does.
    assert len([one for one in told["as_built"] if one not in told["as_designed"]]) == 2


def test_no_remedy_is_looked_for_in_a_placement_that_is_not_in_force():
    """Of a car that is shown as built, turning the designed pitch clears nothing, and nothing is said of it."""
    names = {}
    for shown in ("as_designed", "as_built"):
        car = measured(shown)
        snapshot = Snapshot(car, scenes.of(car), ())
        rule = next(one for one in rule_sets.select(("practice",)).rules if one.id == "PRA-PITCH")
        finding, = evaluate([rule], snapshot)
        names[shown] = {one.name for one in candidates.of(finding, rule, snapshot).parameters}
    assert "placement.pitch" in names["as_designed"]
    assert names["as_built"] == {one for one in names["as_designed"] if not one.startswith("placement.")}
