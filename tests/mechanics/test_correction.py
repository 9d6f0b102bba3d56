"""Moves of a builder against closed forms, and that they bring a powertrain to where it should be."""
from __future__ import annotations

import numpy as np
import pytest
from snapshot_fakes import automatic

from crankline import catalog
from crankline.mechanics import correction, pose_fit
from crankline.mechanics import scene as scenes
from crankline.mechanics.correction import Supports
from crankline.units import DEG, INCH

AT = Supports(front=22.0 * INCH, mid=-0.125 * INCH, tail=-30.0 * INCH, half=13.25 * INCH, front_half=9.0 * INCH)
SHIMS = [catalog.row("shims", name).thickness for name in catalog.names("shims")]


def plan(off, at=AT, unsure=None):
    return correction.plan(np.array(off), at, SHIMS, unsure)


def moved(kind, at):
    """How far a move of 1 mm lifts and slides the crank at each support, by rigid-body placement (the exact way)."""
    scene = scenes.of(automatic())
    start, drop = pose_fit.wanted(scene), 0.0
    state = start.copy()
    state[[1, 4, 5, 3]] = 0.0
    other = state.copy()
    other[:6] += np.array(kind.by)
    frames = [pose_fit.frames_of(one, drop)["powertrain"] for one in (state, other)]
    return {x: frames[1].to_car([x, 0.0, 0.0]) - frames[0].to_car([x, 0.0, 0.0]) for x in at}


def test_a_move_lifts_what_it_names_and_leaves_the_other_where_it_is():
    named = {kind.name: kind for kind in correction.kinds(AT)}
    up = moved(named["front plate up"], (AT.front, AT.mid))
    assert up[AT.front] == pytest.approx([0.0, 0.0, 1.0], abs=1e-3) and up[AT.mid] == pytest.approx([0.0, 0.0, 0.0], abs=1e-3)
    left = moved(named["mid plate left"], (AT.front, AT.mid))
    assert left[AT.mid] == pytest.approx([0.0, 1.0, 0.0], abs=1e-3) and left[AT.front] == pytest.approx([0.0, 0.0, 0.0], abs=1e-3)
    roll = np.array(named["roll"].by)
    assert (AT.half * roll[3], AT.front_half * roll[3]) == pytest.approx((1.0, named["roll"].front)), "at the rails, and at the feet"


@pytest.mark.parametrize("off, words", [
    ([0.5 * INCH, 0, 0, 0, 0, 0], ["slide the powertrain back 0.5"]),
    ([0, 0, -0.25 * INCH, 0, 0, 0], ["raise the powertrain 0.25"]),
    ([0, 0, 0, 0, 0.65 * DEG, 0], ["shim the front plate up 0.25 in, both sides; the mid plate stays"]),
    ([0, -0.125 * INCH, 0, 0, 0, 0], ["to the left"]),
    ([0, 0, 0, 0.54 * DEG, 0, 0], ["raise the right side 0.125 in and lower the other as much"]),
    ([0.5 * INCH, 0, 0, 0, -0.65 * DEG, 0], ["back 0.5", "shim the front plate down 0.25"]),
])
def test_the_fewest_moves(off, words):
    found = plan(off)
    told = [move.words(f"{abs(move.size) / INCH:.3g} in", "") for move in found.moves]
    assert found.enough and len(told) == len(words)
    assert all(word in line for word, line in zip(words, told)), told
    assert np.all(np.abs(found.after) <= correction.LIMIT * 1.000001)


def test_shims_are_stacks_of_what_there_is_and_slides_are_what_a_tape_reads():
    rng = np.random.default_rng(0)
    heights = correction.stacks(SHIMS)
    assert heights[:3] == pytest.approx([0.0, 0.015 * INCH, 0.030 * INCH])
    for _ in range(20):
        off = rng.normal(size=6) * 3.0 * correction.LIMIT
        found = plan(off)
        for move in found.moves:
            step = heights if move.kind.shimmed else correction.SLIDE * np.arange(200)
            assert np.min(np.abs(step - abs(move.size))) < 1e-6
        assert found.enough and np.all(np.abs(found.after) <= correction.LIMIT * 1.000001) and len(found.moves) <= 6
        total = off + sum(np.array(move.kind.by) * move.size for move in found.moves)
        assert found.after == pytest.approx(total)


def test_nothing_is_moved_that_is_within_tolerance_or_that_nobody_can_tell():
    assert plan(0.9 * correction.LIMIT).moves == () and plan(0.9 * correction.LIMIT).enough
    off = np.array([0.2 * INCH, 0, 0, 0, 0, 0])
    assert len(plan(off).moves) == 1 and plan(off, unsure=np.array([0.3 * INCH, 0, 0, 0, 0, 0])).moves == ()


def test_without_a_front_plate_the_tail_is_raised():
    at = Supports(front=None, mid=AT.mid, tail=AT.tail, half=AT.half, front_half=AT.half)
    found = plan([0, 0, 0, 0, -0.5 * DEG, 0], at)
    assert [move.kind.name for move in found.moves] == ["tail up"]
    assert found.tail[0] == pytest.approx(found.moves[0].size) and found.front is None
    assert found.moves[0].size == pytest.approx(0.5 * DEG * (AT.mid - AT.tail), abs=correction.SLIDE)


def test_how_far_the_tail_comes_up_for_its_mount_to_follow():
    """The tail goes down as the front plate goes up: 30 in behind the mid plate over 22 in ahead of it (closed form)."""
    found = plan([0, 0, 0, 0, 0.65 * DEG, 0])
    assert found.tail[0] == pytest.approx(-found.moves[0].size * (AT.mid - AT.tail) / (AT.front - AT.mid))
