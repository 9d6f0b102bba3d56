"""The set-up sheet's numbers against the demo's own text, closed forms, and the placement that they describe."""
from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest
from snapshot_fakes import automatic, clutch, snapshot, view

from crankline import model
from crankline.mechanics import placement as placing
from crankline.mechanics import scene as scenes
from crankline.mechanics import set_up
from crankline.record import filled
from crankline.sheets import set_up as sheet
from crankline.units import DEG, INCH, read_in


def of(car):
    """Readings by name, and the scene."""
    scene = scenes.of(car)
    return {one.name: one for one in set_up.readings(filled(car), scene)}, scene


def test_the_three_numbers_and_heights_from_the_rails():
    found, scene = of(automatic())
    assert found["Axle to rear face of block, at its base"].value == pytest.approx(83.5 * INCH)
    rear, front = found["Crank above track, rear face of block"], found["Crank above track, front face of block"]
    assert rear.value == pytest.approx(10.0 * INCH) and found["Crank pitch, rear high"].value == pytest.approx(2.0 * DEG)
    # Two heights a block length apart say the same pitch (closed form).
    assert math.asin((rear.value - front.value) / scene.engine.block_length) == pytest.approx(2.0 * DEG)
    rails = scene.chassis.rails
    assert rear.value - rear.rail == pytest.approx(rails.height + rails.section.outer_diameter / 2.0)


def test_readings_come_in_the_order_of_the_work():
    found, _scene = of(automatic())
    order = list(found)
    assert order[0] == "Rear axle centerline above track" and order.index("Crank pitch, rear high") < order.index("Pinion pitch, nose low")
    assert all(one.tolerance > 0.0 for one in found.values())


def test_what_carries_and_contains_is_located_too():
    """By the demo's own text, and by turning the support tube's place with the crank."""
    found, scene = of(automatic())
    for name, inches in (("Axle to cross member, its middle", 60.0), ("Center of cross member above track", 4.4),
                         ("Axle to enclosure, rear end", 42.5), ("Axle to enclosure, front end", 55.0)):
        assert found[name].value == pytest.approx(inches * INCH), name
    tube = automatic().mounts.support_tube
    back = 0.25 * INCH + scene.stack.protector + tube.behind_plate
    assert found["Center of support tube above track"].value == pytest.approx(
        10.0 * INCH + back * math.sin(2.0 * DEG) + tube.above_crank * math.cos(2.0 * DEG))
    assert found["Rear face of mid plate to support tube"].value == pytest.approx(
        tube.behind_plate - filled(tube).section.outer_diameter / 2.0)


@pytest.mark.parametrize("height, rake", [(0.0, 0.0), (300.0, 1.0 * DEG)])
def test_from_a_surface_plate_heights_are_square_to_it_and_a_level_reads_its_rake_too(height, rake):
    car = automatic()
    car = replace(car, chassis=replace(car.chassis, surface_plate=model.SurfacePlate(height=height, rake=rake)))
    found, scene = of(car)
    assert found["Crank pitch, rear high"].plate == pytest.approx(scene.pitch + rake)
    across = found["Crank level across the car"]
    assert across.plate == pytest.approx(across.value), "the rake tips the plate along the car alone"
    rear = found["Crank above track, rear face of block"]
    point = placing.to_plate(scene.engine_point(0.0), height, rake)
    assert rear.plate == pytest.approx(float(point[2]), abs=1e-9)
    assert (found["Axle to rear face of block, at its base"].plate, found["Joint to joint, center to center"].plate) == (None, None)


def test_set_up_stands_are_set_before_the_block_and_their_cradles_carry_the_crank():
    car = automatic()
    bar = model.Section(outer_diameter=2.75 * INCH, wall=0.25 * INCH)
    stands = filled(model.SetUpStands(bar=bar))
    car = replace(car, mounts=replace(car.mounts, setup_stands=stands))
    scene = scenes.of(car)
    shot = snapshot(car)
    shot = replace(shot, parts=(*shot.parts, *(view(f"setup_stand/{end}", "setup_stand", "chassis") for end in ("front", "rear"))))
    pages = sheet.sheets(shot, "A4", {"setup_stand/front": "SU-1", "setup_stand/rear": "SU-2"})
    texts = [text for page in pages for text in page.texts()]
    order = [texts.index(name) for name in ("Top of main rails above track", "Axle to rear face of front set-up stand SU-1",
                                            "Cradle of rear set-up stand SU-2 above track", "Axle to rear face of block, at its base")]
    assert order == sorted(order) and any("Take them away" in text for text in texts)
    x = float(scene.engine_point(scene.engine.block_length + stands.ahead_of_block)[0])
    seat = scene.engine_point(0.0)[2] - (x - scene.engine_point(0.0)[0]) * math.tan(scene.pitch) - bar.outer_diameter / 2.0
    assert f"({x / INCH:.3f} in)" in texts[order[1] + 1]
    # The bar touches the lower edge of the plate: half the thickness and the lean of its ellipse below the axis at the rear face.
    told = texts[texts.index("Cradle of front set-up stand SU-1 above track") + 1]
    assert float(told.split("(")[1].split()[0]) * INCH == pytest.approx(seat, abs=0.5)


@pytest.mark.parametrize("y, words", [(12.7, "1/2 (0.500 in) left"), (-12.7, "1/2 (0.500 in) right"), (0.001, "0 (0.000 in)")])
def test_what_is_beside_the_center_plane_is_told_by_its_side(y, words):
    with read_in("in"):
        assert sheet.value_text(set_up.Reading("Center plane to crank", "aside", y, 1.0, points=("crank_rear",))) == words
        # A measure of both sides has none.
        assert sheet.value_text(set_up.Reading("Center plane to rail", "aside", abs(y), 1.0)) == words.split(" l")[0].split(" r")[0]


def test_without_a_plate_nothing_is_told_of_one():
    car = clutch()
    car = replace(car, chassis=replace(car.chassis, surface_plate=None))
    found, _scene = of(car)
    assert all(one.plate is None for one in found.values())


def test_what_being_off_does_is_the_slope_of_the_driveline():
    """A crank that is higher by h turns the shaft by h over its length, and the pans rise with it (closed forms to first order)."""
    _found, scene = of(automatic())
    by = {one.number: one for one in set_up.effects(scene)}
    height = by["crank_height"]
    turned = height.step / scene.driveline.length * math.cos(math.asin((scene.front_joint - scene.rear_joint)[2] / scene.driveline.length))
    assert abs(height.front_joint) == pytest.approx(turned, rel=0.02) and abs(height.rear_joint) == pytest.approx(turned, rel=0.02)
    assert height.pan == pytest.approx(height.step, rel=1e-9)
    assert by["axle_to_block"].pan == pytest.approx(0.0, abs=1e-9) and by["pitch"].step == pytest.approx(0.1 * DEG)


def test_effects_name_readings_and_a_front_face_that_is_high_is_a_pitch_that_is_low():
    found, scene = of(automatic())
    by = {one.number: one for one in set_up.effects(scene)}
    assert set(by) == set(set_up.NUMBERS) and {set_up.NUMBERS[number] for number in by} <= set(found)
    assert all(one.step == found[set_up.NUMBERS[number]].tolerance for number, one in by.items())
    share = set_up.TAPE / (scene.engine.block_length * math.cos(scene.pitch)) / set_up.LEVEL
    assert by["front_height"].front_joint == pytest.approx(-share * by["pitch"].front_joint, rel=0.05), "base of the block held or crank"
    # The pinion turns about its own joint: the front joint and the pans do not know of it.
    assert (by["pinion_pitch"].front_joint, by["pinion_pitch"].pan) == pytest.approx((0.0, 0.0), abs=1e-12)
    assert abs(by["pinion_pitch"].rear_joint) == pytest.approx(set_up.LEVEL, rel=1e-3)
    # Up with the rear joint or down with the crank is one thing to the shaft.
    assert by["rear_joint"].front_joint == pytest.approx(-by["crank_height"].front_joint, rel=1e-6) and by["rear_joint"].pan == 0.0
    # In the center plane nothing aside does anything to first order.
    assert [by[number].front_joint for number in ("lateral", "roll")] == pytest.approx([0.0, 0.0], abs=1e-9)
    together = set_up.together(tuple(by.values()))
    assert all(one.residual >= 0.0 for one in by.values()) and by["pitch"].residual > by["axle_to_block"].residual
    assert together[2] == pytest.approx(sum(abs(one.pan) for number, one in by.items() if number != "front_height"))
    assert together[0] >= abs(by["pitch"].front_joint)


def test_a_pitch_that_is_solved_is_held_where_it_came_out():
    car = automatic()
    solved = scenes.of(replace(car, placement=replace(car.placement, pitch_mode="parallel", pitch=None)))
    fixed = scenes.of(replace(car, placement=replace(car.placement, pitch_mode="fixed", pitch=solved.pitch)))
    for one, other in zip(set_up.effects(solved), set_up.effects(fixed)):
        assert one.number == other.number and one.pan == pytest.approx(other.pan, abs=1e-12)
        assert one.residual == pytest.approx(other.residual, abs=1e-9)


def test_least_height_of_the_pans_is_that_of_their_lowest_corner():
    _found, scene = of(automatic())
    pan = scene.engine.pan
    corners = [scene.engine_point(x, y, -pan.depth)[2] for x in (pan.x_rear, pan.x_front) for y in (-pan.half_width, pan.half_width)]
    assert set_up.pan_height(scene) <= min(corners) + 1e-9 and np.isfinite(set_up.pan_height(scene))
