"""Placement and frames against closed forms, common practice, SciPy's rotations and SciPy's root finder."""

from dataclasses import replace

import numpy as np
import pytest
from closed_forms import recover, roll_pitch_yaw
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.optimize import brentq
from scipy.spatial.transform import Rotation

from crankline.mechanics import frames, placement
from crankline.mechanics.placement import Block, Placement

INCH = 25.4
TALL_BLOCK = Block(base_drop=0.25 * INCH, length=21.9 * INCH)  # invented, as in the demo car
DEEP_BLOCK = Block(base_drop=2.60 * INCH, length=19.8 * INCH)
# Common practice, no source: crank 10 in above the track, rear up 2 deg, 80 to 85 in axle to block.
USUAL = Placement(axle_to_block=83.5 * INCH, crank_height=10.0 * INCH, pitch=np.radians(2.0))

angles = st.floats(-0.6, 0.6)
blocks = st.builds(Block, base_drop=st.floats(-60.0, 160.0), length=st.floats(250.0, 800.0))
placements = st.builds(
    Placement,
    axle_to_block=st.floats(200.0, 3500.0),
    crank_height=st.floats(50.0, 900.0),
    pitch=angles,
    lateral=st.floats(-200.0, 200.0),
    roll=angles,
    yaw=angles,
    height_at=st.sampled_from(placement.STATIONS),
)


# --- frames -----------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("shapes", [((3,), (3,)), ((5, 3), (3,)), ((3,), (2, 4, 3)), ((4, 1, 3), (7, 3))])
def test_cross_product_is_numpys(shapes):
    a, b = (np.random.default_rng(3).normal(size=shape) * 1e3 for shape in shapes)
    assert np.array_equal(frames.cross(a, b), np.cross(a, b))


@settings(deadline=None)
@given(roll=st.floats(-3.0, 3.0), pitch=st.floats(-1.5, 1.5), yaw=st.floats(-3.0, 3.0))
def test_rotation_is_scipys_and_inverts(roll, pitch, yaw):
    matrix = frames.rotation(roll, pitch, yaw)
    assert matrix == pytest.approx(Rotation.from_euler("ZYX", [yaw, pitch, roll]).as_matrix(), abs=1e-14)
    assert np.array(roll_pitch_yaw(matrix)) == pytest.approx(np.array([roll, pitch, yaw]), abs=1e-12)
    assert frames.direction(pitch, yaw) == pytest.approx(matrix[:, 0], abs=1e-15)


def test_senses_of_the_angles():
    """Positive pitch is nose down with Z up (standards C1.1); yaw turns left, roll lowers the right side."""
    forward, left = [1.0, 0.0, 0.0], [0.0, 1.0, 0.0]
    assert (frames.rotation(pitch=0.1) @ forward)[2] < 0.0
    assert (frames.rotation(yaw=0.1) @ forward)[1] > 0.0
    assert (frames.rotation(roll=0.1) @ left)[2] > 0.0


@settings(deadline=None)
@given(placements, blocks, st.lists(st.floats(-900.0, 900.0), min_size=3, max_size=3))
def test_frame_goes_both_ways_and_agrees_with_its_matrix(place, block, point):
    frame = placement.locate(place, block)
    there = frame.to_car(point)
    assert frame.to_local(there) == pytest.approx(np.array(point), abs=1e-9)
    assert (frame.matrix @ [*point, 1.0])[:3] == pytest.approx(there, abs=1e-9)
    assert frame.axis == pytest.approx(frame.to_car([1.0, 0.0, 0.0]) - frame.to_car([0.0, 0.0, 0.0]), abs=1e-9)


def test_frames_of_many_placements_take_many_points():
    many = replace(USUAL, axle_to_block=np.array([80.0, 82.5, 85.0]) * INCH)
    frame = placement.locate(many, TALL_BLOCK)
    points = np.arange(12.0).reshape(4, 3)
    together = frame[:, None].to_car(points)
    assert together.shape == (3, 4, 3)
    for i in range(3):
        assert together[i] == pytest.approx(frame[i].to_car(points), abs=1e-12)
    assert frame[..., None].to_car(points) == pytest.approx(together)
    assert frame[np.array([True, False, True])].origin.shape == (2, 3)


# --- locate and recover -----------------------------------------------------------------------------------------------


@settings(deadline=None)
@given(placements, blocks)
def test_located_frame_has_the_three_numbers_by_definition(place, block):
    """Second way: SciPy's rotation, then the three definitions of design section 3 measured on points."""
    frame = placement.locate(place, block)
    turn = Rotation.from_euler("ZYX", [place.yaw, place.pitch, place.roll])
    base = frame.origin + turn.apply([0.0, 0.0, -block.base_drop])
    along = {"block_rear": 0.0, "block_middle": block.length / 2, "block_front": block.length}[place.height_at]
    assert base[0] == pytest.approx(place.axle_to_block, abs=1e-9)
    assert (frame.origin + turn.apply([along, 0.0, 0.0]))[2] == pytest.approx(place.crank_height, abs=1e-9)
    assert frame.origin[1] == pytest.approx(place.lateral, abs=1e-12)
    assert placement.block_base_rear(frame, block) == pytest.approx(base, abs=1e-9)


@settings(deadline=None)
@given(placements, blocks)
def test_placement_inverts_exactly(place, block):
    back = recover(placement.locate(place, block), block, place.height_at)
    for name in ("axle_to_block", "crank_height", "pitch", "lateral", "roll", "yaw"):
        assert getattr(back, name) == pytest.approx(getattr(place, name), abs=1e-9), name
    assert back.height_at == place.height_at


@settings(deadline=None)
@given(
    st.lists(st.floats(-3000.0, 3000.0), min_size=3, max_size=3),
    st.tuples(st.floats(-3.0, 3.0), st.floats(-1.5, 1.5), st.floats(-3.0, 3.0)),
    blocks,
    st.sampled_from(placement.STATIONS),
)
def test_any_frame_is_a_placement(origin, turn, block, height_at):
    frame = frames.Frame(frames.rotation(*turn), np.array(origin))
    back = placement.locate(recover(frame, block, height_at), block)
    assert back.origin == pytest.approx(frame.origin, abs=1e-9)
    assert back.rotation == pytest.approx(frame.rotation, abs=1e-12)


def test_crank_stands_ahead_of_the_base_by_drop_times_sine():
    """Design section 3: crank X at the rear face = base X + base_drop sin(pitch)."""
    frame = placement.locate(USUAL, DEEP_BLOCK)
    assert frame.origin[0] - 83.5 * INCH == pytest.approx(2.60 * INCH * np.sin(np.radians(2.0)), abs=1e-12)


@settings(deadline=None)
@given(placements, blocks, st.floats(-100.0, 100.0))
def test_moving_the_axle_to_block_moves_every_point_by_just_that(place, block, move):
    plug = [470.0, 170.0, 240.0]
    before = placement.locate(place, block).to_car(plug)
    after = placement.locate(replace(place, axle_to_block=place.axle_to_block + move), block).to_car(plug)
    assert after - before == pytest.approx(np.array([move, 0.0, 0.0]), abs=1e-9)


def test_unknown_station_is_one_sentence():
    sentence = r"^height_at: found 'rear'; use one of block_rear, block_middle, block_front\.$"
    with pytest.raises(ValueError, match=sentence):
        placement.locate(replace(USUAL, height_at="rear"), TALL_BLOCK)
    for mode in placement.PITCH_MODES:
        with pytest.raises(ValueError, match=sentence):
            placement.solve_pitch(mode, 2100.0, 254.0, "rear", TALL_BLOCK, 750.0, [267.0, 334.0], 0.0)


@pytest.mark.parametrize("height_at", placement.STATIONS)
def test_many_placements_equal_a_loop(height_at):
    rng = np.random.default_rng(3)
    names = ("axle_to_block", "crank_height", "pitch", "lateral", "roll", "yaw")
    values = rng.normal([2100.0, 260.0, 0.035, 0.0, 0.0, 0.0], [60.0, 20.0, 0.05, 10.0, 0.05, 0.05], (25, 6))
    frame = placement.locate(Placement(*values.T, height_at=height_at), TALL_BLOCK)
    back = recover(frame, TALL_BLOCK, height_at)
    for i, row in enumerate(values):
        alone = placement.locate(Placement(*row, height_at=height_at), TALL_BLOCK)
        assert frame.origin[i] == pytest.approx(alone.origin, abs=1e-12)
        assert frame.rotation[i] == pytest.approx(alone.rotation, abs=1e-15)
        assert [getattr(back, name)[i] for name in names] == pytest.approx(list(row), abs=1e-9)


# --- what the trade measures ------------------------------------------------------------------------------------------


def test_front_and_rear_crank_height_differ_by_three_quarters_of_an_inch():
    """Common practice, no source: 0.76 in at 2 deg over a block of 21.9 in; the front is the lower end."""
    frame = placement.locate(USUAL, TALL_BLOCK)
    rear = placement.crank_height_at(frame, placement.station(TALL_BLOCK, "block_rear"))
    front = placement.crank_height_at(frame, placement.station(TALL_BLOCK, "block_front"))
    assert rear == pytest.approx(10.0 * INCH, abs=1e-12)
    assert (rear - front) / INCH == pytest.approx(0.76, abs=0.005)


def test_mid_plate_leans_its_top_forward_by_half_an_inch():
    """Common practice, no source: a plate 14 in tall at 2 deg leans 0.5 in (0.489)."""
    frame = placement.locate(USUAL, TALL_BLOCK)
    foot, top = frame.to_car([[0.0, 0.0, -100.0], [0.0, 0.0, 14.0 * INCH - 100.0]])
    assert (top - foot)[0] / INCH == pytest.approx(14.0 * np.sin(np.radians(2.0)), abs=1e-12)
    assert (top - foot)[0] / INCH == pytest.approx(0.5, abs=0.015)


def test_mid_plate_front_face_stands_one_protector_behind_the_block():
    """Common practice, no source: protector 1/8 in; the face is measured at the level of the block's base."""
    yawed = replace(USUAL, yaw=0.02, roll=0.03)
    for place in (USUAL, yawed):
        frame = placement.locate(place, DEEP_BLOCK)
        point = frame.to_car([-0.125 * INCH, 0.0, -DEEP_BLOCK.base_drop])
        assert placement.mid_plate_front(place, DEEP_BLOCK, 0.125 * INCH) == pytest.approx(point[0], abs=1e-10)
    assert placement.mid_plate_front(USUAL, DEEP_BLOCK, 0.125 * INCH) / INCH == pytest.approx(83.375, abs=1e-3)
    assert placement.mid_plate_front(USUAL, DEEP_BLOCK, 0.0) == 83.5 * INCH


def test_height_of_the_number_one_plug_counts():
    """Design section 3: 9.6 in of plug height are 0.34 in (0.335) of distance at 2 deg."""
    frame = placement.locate(USUAL, Block(0.0, 21.9 * INCH))
    high = placement.number_one_plug_distance(frame, [18.6 * INCH, 6.9 * INCH, 9.6 * INCH])
    level = placement.number_one_plug_distance(frame, [18.6 * INCH, 6.9 * INCH, 0.0])
    assert (high - level) / INCH == pytest.approx(0.34, abs=0.006)
    assert level == pytest.approx((83.5 + 18.6 * np.cos(np.radians(2.0))) * INCH, abs=1e-9)


def test_setback_is_a_share_of_the_wheelbase():
    """standards A6.3: 10 % of a wheelbase of 105 in is 10.5 in (266.7 mm) behind the front axle."""
    frame = placement.locate(Placement(80.0 * INCH, 10.0 * INCH, 0.0), Block(0.0, 20.0 * INCH))
    behind = placement.setback(frame, [14.5 * INCH, 160.0, 230.0], 105.0 * INCH)
    assert behind == pytest.approx(266.7, abs=1e-9)
    assert behind / (105.0 * INCH) == pytest.approx(0.10, abs=1e-12)


# --- pitch modes ------------------------------------------------------------------------------------------------------


def test_in_line_pitch_of_three_axle_to_blocks():
    """Design section 3: joint at (10, 12.6) in, crank 10 in: 80 / 82.5 / 85 in give 2.127 / 2.054 / 1.985 deg."""
    block = Block(0.0, 21.9 * INCH)
    distances = np.array([80.0, 82.5, 85.0]) * INCH
    pitch = placement.pitch_in_line(distances, 10.0 * INCH, "block_rear", block, 10.0 * INCH, 12.6 * INCH)
    assert np.degrees(pitch) == pytest.approx([2.127, 2.054, 1.985], abs=5e-4)
    assert np.tan(pitch) == pytest.approx(2.6 * INCH / (distances - 10.0 * INCH), rel=1e-14)
    # Common practice, no source: 1.9 to 2.2 deg rear up.
    assert np.all((np.degrees(pitch) > 1.9) & (np.degrees(pitch) < 2.2))


def _side_angles(mode_pitch, args, roll=0.0, yaw=0.0):
    """Signed side-view angles of output axis and pinion axis off the shaft, measured on the placed powertrain."""
    axle_to_block, crank_height, height_at, block, output_setback, joint, pinion_pitch = args
    frame = placement.locate(Placement(axle_to_block, crank_height, mode_pitch, 0.0, roll, yaw, height_at), block)
    joint_front = placement.front_joint(frame, output_setback)
    shaft = np.arctan2(joint[-1] - joint_front[2], joint_front[0] - joint[0])
    output = np.arctan2(-frame.axis[2], frame.axis[0])
    return shaft - output, shaft - pinion_pitch


situations = st.tuples(
    st.floats(1500.0, 2600.0),
    st.floats(200.0, 360.0),
    st.sampled_from(placement.STATIONS),
    blocks,
    st.floats(500.0, 950.0),
    st.tuples(st.floats(200.0, 300.0), st.floats(250.0, 420.0)),
    st.floats(-0.08, 0.12),
)
small = st.floats(-0.1, 0.1)


@settings(deadline=None)
@given(situations, small, small)
def test_in_line_agrees_with_root_finding(args, roll, yaw):
    """brentq on the distance, in side view, of the rear joint from the placed output axis."""

    def miss(pitch):
        frame = placement.locate(Placement(args[0], args[1], pitch, 0.0, roll, yaw, args[2]), args[3])
        away = np.array(args[5]) - frame.origin[[0, 2]]
        return away[0] * frame.axis[2] - away[1] * frame.axis[0]

    reference = brentq(miss, -0.9, 0.9, xtol=1e-14)
    assert placement.solve_pitch("in_line", *args, roll=roll, yaw=yaw) == pytest.approx(reference, abs=1e-11)


@settings(deadline=None)
@given(situations, small, small)
def test_balanced_agrees_with_root_finding(args, roll, yaw):
    def uneven(pitch):
        front, rear = _side_angles(pitch, args, roll, yaw)
        return front + rear

    reference = brentq(uneven, -0.9, 0.9, xtol=1e-14)
    pitch = placement.solve_pitch("balanced", *args, roll=roll, yaw=yaw)
    assert pitch == pytest.approx(reference, abs=1e-11)
    front, rear = _side_angles(pitch, args, roll, yaw)
    assert front == pytest.approx(-rear, abs=1e-12)


@settings(deadline=None)
@given(situations, small)
def test_parallel_is_the_other_root_of_equal_angles(args, yaw):
    pitch = placement.solve_pitch("parallel", *args)
    assert pitch == pytest.approx(args[-1], abs=1e-15)
    front, rear = _side_angles(pitch, args)
    assert front == pytest.approx(rear, abs=1e-12)
    yawed = placement.solve_pitch("parallel", *args, yaw=yaw)
    front, rear = _side_angles(yawed, args, yaw=yaw)
    assert front == pytest.approx(rear, abs=1e-12)


def test_balanced_and_parallel_meet_where_the_pinion_points_at_the_front_joint():
    block, setback, joint = TALL_BLOCK, 750.0, np.array([267.0, 330.0])
    in_line = placement.pitch_in_line(2100.0, 254.0, "block_rear", block, *joint)
    balanced = placement.solve_pitch("balanced", 2100.0, 254.0, "block_rear", block, setback, joint, in_line)
    assert balanced == pytest.approx(in_line, abs=1e-12)


def test_pitch_of_many_placements_equals_a_loop():
    distances, heights = np.linspace(1900.0, 2300.0, 7), np.linspace(220.0, 300.0, 5)[:, None]
    joint = np.array([267.0, 0.0, 334.0])
    for mode in placement.PITCH_MODES:
        grid = placement.solve_pitch(mode, distances, heights, "block_middle", DEEP_BLOCK, 850.0, joint, 0.04)
        assert grid.shape == (5, 7)
        for i, j in np.ndindex(5, 7):
            one = placement.solve_pitch(
                mode, distances[j], heights[i, 0], "block_middle", DEEP_BLOCK, 850.0, joint, 0.04
            )
            assert grid[i, j] == pytest.approx(one, abs=1e-14)


def test_a_pitch_that_does_not_exist_is_nan_and_spoils_no_neighbour():
    """The rear joint ahead of the block: no output axis runs back to it."""
    joints = np.array([[267.0, 334.0], [5000.0, 334.0]])
    for mode in ("in_line", "balanced"):
        pitch = placement.solve_pitch(mode, 2100.0, 254.0, "block_rear", TALL_BLOCK, 750.0, joints, 0.03)
        assert np.isfinite(pitch[0]) and np.isnan(pitch[1])


def test_wrong_mode_and_wrong_joint_are_one_sentence():
    args = (2100.0, 254.0, "block_rear", TALL_BLOCK, 750.0)
    with pytest.raises(ValueError, match="pitch: found the mode 'equal'; use one of parallel, in_line, balanced"):
        placement.solve_pitch("equal", *args, [267.0, 334.0], 0.0)
    with pytest.raises(ValueError, match=r"joint: found an array of shape \(4,\)"):
        placement.solve_pitch("in_line", *args, [1.0, 2.0, 3.0, 4.0], 0.0)


def test_a_hundred_thousand_placements_are_one_call():
    distances = np.linspace(80.0, 85.0, 100_000) * INCH
    pitch = placement.solve_pitch(
        "balanced", distances, 254.0, "block_rear", TALL_BLOCK, 750.0, [267.0, 334.0], np.radians(2.1)
    )
    frame = placement.locate(Placement(distances, 254.0, pitch), TALL_BLOCK)
    assert frame.origin.shape == (100_000, 3) and np.all(np.isfinite(frame.origin))
    assert np.ptp(np.degrees(pitch)) > 0.05


# --- surface plate ----------------------------------------------------------------------------------------------------


def test_rake_over_the_block_distance():
    """Design section 2: 0.4 deg of rake over 80 in is 0.56 in. The plate of the open demo car: 2 in down, 0.4 deg."""
    height, rake = 2.0 * INCH, np.radians(0.4)
    at_axle, at_block = placement.to_plate([[0.0, 0.0, 0.0], [80.0 * INCH, 0.0, 0.0]], height, rake)
    assert at_axle == pytest.approx(np.array([0.0, 0.0, height]), abs=1e-12)
    assert (at_axle - at_block)[2] / INCH == pytest.approx(0.56, abs=0.002)  # nose down on the plate


def test_a_pitch_to_the_plate_is_pitch_plus_rake():
    rake, pitch = np.radians(0.4), np.radians(2.0)
    axis = placement.plate_frame(50.8, rake).directions_to_local(frames.direction(pitch))
    assert np.degrees(np.arctan2(-axis[2], axis[0])) == pytest.approx(2.4, abs=1e-12)


@settings(deadline=None)
@given(
    st.lists(st.floats(-3000.0, 3000.0), min_size=3, max_size=3), st.floats(-300.0, 300.0), st.floats(-0.05, 0.05)
)
def test_plate_axes_go_both_ways(point, height, rake):
    there = placement.to_plate(point, height, rake)
    assert placement.plate_frame(height, rake).to_car(there) == pytest.approx(np.array(point), abs=1e-9)
    # Square to the plate, so a height gauge on the plate reads it: SciPy's rotation as the second way.
    assert there == pytest.approx(Rotation.from_euler("y", rake).apply(point) + [0.0, 0.0, height], abs=1e-9)
