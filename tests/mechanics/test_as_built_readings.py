"""The readings file: what is written on a tape, blanks, repeats, instruments, errors with their line; and the form for it. The demo
readings: good ones, one that is wrong by 1/4 in, one taken at the wrong face, too few."""
from __future__ import annotations

from dataclasses import replace
from functools import cache

import numpy as np
import pytest
from snapshot_fakes import DEMOS, automatic, clutch

from crankline import catalog, source
from crankline.as_built import fitted, readings
from crankline.mechanics import scene as scenes
from crankline.mechanics import set_up
from crankline.record import filled
from crankline.sheets.set_up import value_text
from crankline.units import DEG, INCH

HEAD = 'crankline_readings: 1\nreadings:\n'


@cache
def placed():
    car = automatic()
    return car, scenes.of(car)


def of_text(text):
    return readings.of_nodes(source.parse(text, "car_readings.yaml"), *placed())


def read(text):
    return of_text(HEAD + text)[1]


def demo(name):
    return fitted.of(placed()[0], *readings.read(DEMOS / "readings" / f"{name}.yaml", *placed()))


@pytest.mark.parametrize("car", [automatic(), clutch()], ids=["automatic", "clutch"])
def test_the_form_has_every_box_of_the_set_up_sheet_by_its_name_and_may_stay_blank(car):
    scene = scenes.of(car)
    record, measured = readings.of_nodes(source.parse(readings.template(car, scene, value_text), "readings"), car, scene)
    boxes = set_up.readings(filled(car), scene)
    assert [one.reading.name for one in measured][:len(boxes)] == [one.name for one in boxes]
    assert [one.wanted for one in measured][:len(boxes)] == pytest.approx([one.value for one in boxes], abs=1e-9)
    assert all(one.reading.read == () for one in measured) and record.measured is None
    # Whoever fills all of it in has what it takes.
    assert fitted.of(car, record, measured).lost == ("fore and aft", "side to side", "height", "roll", "pitch", "yaw")
    assert fitted.of(car, record, [full(one) for one in measured]).determined


def full(one):
    return replace(one, reading=replace(one.reading, read=(one.wanted,)))


def test_values_are_read_as_they_are_written_on_a_tape():
    found = read('''
  - {name: "Axle to rear face of block, at its base", read: [83 7/16 in, 6' 11 1/2"]}
  - {name: "Crank pitch, rear high", from: track, read: 2.1 deg, with: angle finder}
  - {name: Joint to joint\\, center to center, read: }
  - {name: tail, kind: up, of: [tail_mount], from: rail, read: 62 mm, within: 1/64 in}
'''.replace("Joint to joint\\, center to center", '"Joint to joint, center to center"'))
    assert found[0].reading.read == pytest.approx((83.4375 * INCH, 83.5 * INCH)) and found[0].within == pytest.approx(INCH / 16.0)
    assert found[1].reading.read == pytest.approx((2.1 * DEG,)) and found[1].within == pytest.approx(0.5 * DEG)
    assert found[2].reading.read == () and found[3].within == pytest.approx(INCH / 64.0) and found[3].sight.datum == "rail"


def test_an_instrument_of_the_shop_is_what_the_file_says():
    record, found = of_text("crankline_readings: 1\ninstruments: [{name: tape, within: 1/32 in}]\nreadings:\n"
                            "  - {name: Rear joint above track, read: 13 in}\n")
    assert found[0].within == pytest.approx(INCH / 32.0) and record.instruments[0].name == "tape"


@pytest.mark.parametrize("text, told", [
    ("  - {name: Crank pitch rear high, read: 2 deg}", r"readings.yaml:3.*did you mean Crank pitch, rear high"),
    ("  - {name: \"Crank pitch, rear high\", read: 2 in}", r"readings.yaml:3: readings\[0\]\.read|'2 in'"),
    ("  - {name: Rear joint above track, read: 13}", r"13' has no unit"),
    ("  - {name: Rear joint above track, read: 13 in, with: digital level}", r"'digital level' reads no length that is known"),
    ("  - {name: Rear joint above track, read: 13 in, with: yardstick}", r"'yardstick' reads no length.*tape"),
    ("  - {name: x, kind: distance, of: [crank_rear], read: 1 in}", r"1 points were found; distance takes 2"),
    ("  - {name: x, kind: up, of: [crank_back], read: 1 in}", r"'crank_back' is not a point of this car; one of block_rear"),
    ("  - {name: x, kind: up, of: [crank_rear], read: 1 in}\n  - {name: x, kind: along, of: [crank_rear]}", r":4.*appears twice"),
    ("  - {name: Rear joint above track, red: 13 in}", r"the key is unknown.*did you mean read"),
    ("  - {name: Rear joint above track, read: 13 in, within: 0 in}", r"0.0004 in or more is allowed"),
])
def test_what_is_wrong_is_told_with_file_line_and_key(text, told):
    with pytest.raises(source.SourceError, match=told):
        read(text)


def test_a_file_of_another_kind_is_refused():
    with pytest.raises(source.SourceError, match="a readings file begins with"):
        of_text("crankline: 1\n")


def test_every_instrument_of_the_catalog_reads_something_and_says_how_it_is_known():
    for name in catalog.names("instruments"):
        row = catalog.row("instruments", name)
        assert (row.within or row.within_angle) and row.source == "common practice, no source"
    assert set(readings.USUAL.values()) <= set(catalog.names("instruments"))


# --------------------------------------------------------------------------------------------------------- the demo readings

TRUE = {"axle_to_block": 83.8125 * INCH, "lateral": 0.11 * INCH, "crank_height": 10.15 * INCH, "roll": 0.35 * DEG, "pitch": 2.55 * DEG,
        "yaw": 0.12 * DEG, "rear_joint_z": 13.043 * INCH, "pinion_pitch": 2.3 * DEG}


@pytest.mark.parametrize("name", ["good", "quarter_inch_error", "wrong_face"])
def test_the_demo_readings_say_where_the_invented_powertrain_is(name):
    found = demo(name)
    assert found.determined and found.lost == () and found.asked == () and found.chassis_off == ()
    for one in found.freedoms:
        if one.name in TRUE:
            assert abs(one.found - TRUE[one.name]) <= 1.5 * one.within, one
    rear = {one.name: one.fitted for one in found.freedoms[6:]}
    assert rear == {"rear_joint_x": True, "rear_joint_y": False, "rear_joint_z": True, "pinion_pitch": True}
    record = found.record
    assert record.rear_joint_y is None and record.measured == "2026-11-28" and found.as_built.placement.shown == "as_built"
    assert scenes.of(found.as_built).engine_frame.origin[2] == pytest.approx(record.crank_height)


def test_good_readings_are_all_used_and_what_was_read_twice_is_its_mean():
    found = demo("good")
    assert found.suspects == ()
    first = next(line for line in found.lines if line.measured.reading.name.startswith("Axle to rear face"))
    assert len(first.measured.reading.read) == 2 and first.value == pytest.approx(np.mean(first.measured.reading.read))
    assert first.within >= first.measured.within and abs(first.residual) < 2.0 * first.within
    assert {line.state for line in found.lines} == {fitted.USED, fitted.CHASSIS}


def test_the_planted_quarter_inch_is_found():
    line, = demo("quarter_inch_error").suspects
    assert line.measured.reading.name == "Crank above track, front face of block" and line.state == fitted.ASIDE
    assert line.residual == pytest.approx(0.25 * INCH, abs=0.125 * INCH) and line.suspect.slips == ()


def test_the_wrong_face_is_recognized():
    line, = demo("wrong_face").suspects
    assert line.measured.reading.name == "Axle to front face of mid plate, at crank"
    assert line.suspect.slips[0].words == "taken at the rear face of the mid plate, not the front face of the mid plate"


def test_too_few_readings_say_what_is_missing_and_what_to_read():
    found = demo("too_few")
    assert not found.determined and found.lost == ("roll", "yaw")
    assert found.asked == ("center plane to crank centerline, front face of the block", "angle across the block, left high")
    assert all(not np.isfinite(one.within) for one in found.freedoms if one.name in ("roll", "yaw"))
    assert found.covariance[3, 3] == pytest.approx(DEG ** 2, rel=1e-6), "as loose as nobody builds it"


@pytest.mark.parametrize("text, said", [
    ('  - {name: Rear axle centerline above track, read: [16, 16 in]}\n', ["readings[1].read"]),
    ('  - {name: Rear axle centerline above track, read: 16 in, within: 1e-7 in}\n', ["'1e-7 in' was found; 0.0004 in or more"]),
    ('  - {name: "Crank pitch, rear high", read: 2 deg, within: 0 deg}\n', ["'0 deg' was found; 0.001 deg or more"]),
    ('  []\npoints: [{name: mid_plate_left, moves_with: chassis, at: {x: 0 in, y: 0 in, z: 0 in}}]\n', ["is the name of a point of this"]),
    ('  []\npoints: [{name: a, moves_with: chassis, at: {x: 0 in, y: 0 in, z: 0 in}}, {name: a, moves_with: chassis, '
     'at: {x: 1 in, y: 0 in, z: 0 in}}]\n', ["'a' is the name of an earlier point"])])
def test_what_is_wrong_is_told_once(text, said):
    with pytest.raises(source.SourceError) as error:
        read(text)
    told = str(error.value).splitlines()
    assert len(told) == len(said) and all(words in line for words, line in zip(said, told))
