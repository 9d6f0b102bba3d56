"""Car files that must be refused: each with one sentence that names file, line and key path, and quickly."""
import os
import random
import re
import time

import pytest

from crankline import carfile

DEMOS = os.path.join(os.path.dirname(__file__), "..", "..", "demo_assemblies")
with open(os.path.join(DEMOS, "full_bodied_automatic.yaml"), encoding="utf-8") as stream:
    GOOD = stream.read()
with open(os.path.join(DEMOS, "open_clutch.yaml"), encoding="utf-8") as stream:
    OPEN = stream.read()


def edited(*edits, text=GOOD):
    """The good file with (old, new) edits, each of which must find its place exactly once or be a whole-line pattern."""
    for old, new in edits:
        assert text.count(old) == 1, f"{old!r} stands {text.count(old)} times in the demo"
        text = text.replace(old, new)
    return text


HEADERS = """headers:
  - {name: left, x_rear: 2 in, x_front: 19 in, y_right: 7 in, y_left: 12 in, z_low: -4 in, z_high: 9 in}
  - {name: right, x_rear: 2 in, x_front: 19 in, y_right: -12 in, y_left: -7 in, z_low: -4 in, z_high: 9 in}
"""


def without(key, text=GOOD):
    """The good file without a top-level section."""
    found = re.sub(rf"^{key}:.*?^(?=\w)", "", text + "z", flags=re.S | re.M)[:-1]
    assert found != text
    return found


# name: (text, key path that the message must give, words that it must contain)
BROKEN = {
    # syntax and nodes
    "empty": ("", "", ["empty"]),
    "only comments": ("# nothing\n\n", "", ["empty"]),
    "a list": ("- a\n- b\n", "", ["a list was found", "mapping"]),
    "a text": ("just words\n", "", ["just words"]),
    "tab": (edited(("  uprights:", "\tuprights:")), "", ["tab", "spaces"]),
    "unclosed bracket": (edited(("half_spacing: 14.00 in}", "half_spacing: 14.00 in")), "", ["brackets"]),
    "unclosed quote": (edited(('"Demo A (invented)"', '"Demo A (invented)')), "", ["quotes"]),
    "second document": (GOOD + "---\ncrankline: 1\n", "", ["second document"]),
    "anchor": (edited(("uprights: {", "uprights: &u {")), "chassis.uprights", ["&u", "alias"]),
    "alias": (edited(("class: \"invented", "class: *u # \"")), "car.class", ["*u", "write the values out"]),
    "tag": (edited(("height: 0.00 in", "height: !!float 0.00")), "chassis.surface_plate.height", ["tag"]),
    "python tag": (edited(("height: 0.00 in", "height: !!python/object/apply:os.system [ls]")), "chassis.surface_plate.height", ["tag"]),
    "merge key": (edited(("uprights: {", "uprights: {<<: {}, ")), "chassis.uprights.<<", ["unknown"]),
    "mapping as a key": (edited(("uprights: {", "uprights: {{a: b}: c, ")), "chassis.uprights", ["key belongs"]),
    "control character": (edited(("\"Demo A", "\"Demo \x07 A")), "", ["U+0007"]),
    "list for a mapping": (edited(("{height: 0.00 in, rake: 0.0 deg}", "[1, 2]")), "chassis.surface_plate",
                           ["a list was found", "mapping"]),
    "value for a mapping": (edited(("{height: 0.00 in, rake: 0.0 deg}", "5 in")), "chassis.surface_plate", ["'5 in'", "mapping"]),
    "too many loops": (edited(("  loops:\n", "  loops:\n" + 100 * "    - {name: l, kind: split, x: 20 in, inner_diameter: 7 in}\n")),
                       "containment.loops", ["103 entries", "at most 12"]),
    "mapping for a value": (edited(("ratio: 4.10", "ratio: {a: 4.10}")), "rear_end.ratio", ["a mapping", "single value"]),
    "mapping for a list": (edited(("rules: {sets: [invented_demo, clearance]", "rules: {sets: {a: b}")), "rules.sets",
                           ["a list is allowed"]),
    "nothing for a section": (edited(("{height: 0.00 in, rake: 0.0 deg}", "")), "chassis.surface_plate", ["nothing"]),
    "nothing for a value": (edited(("ratio: 4.10", "ratio:")), "rear_end.ratio", ["nothing"]),
    "null": (edited(("ratio: 4.10", "ratio: null")), "rear_end.ratio", ["'null'"]),
    # keys
    "unknown key": (edited(("loaded_radius: 16.00", "loded_radius: 16.00")), "chassis.rear_tire.loded_radius",
                    ["did you mean loaded_radius?"]),
    "unknown section": (GOOD + "wings: {}\n", "wings", ["unknown", "placement"]),
    "unknown key in a list": (edited(("name: second, kind", "name: second, knd")), "containment.loops[2].knd", ["kind"]),
    "internal key": (edited(("{use: demo_two_speed}", "{use: demo_two_speed, overrides: [mass]}")), "transmission.overrides", ["unknown"]),
    "pitch_mode": (edited(("pitch: 2.0 deg", "pitch_mode: fixed")), "placement.pitch_mode", ["placement.pitch"]),
    "duplicate key": (edited(("ratio: 4.10", "ratio: 4.10\n  ratio: 4.56")), "rear_end.ratio", ["twice", "line"]),
    "duplicate section": (GOOD + "placement: {}\n", "placement", ["twice"]),
    "missing section": (without("placement"), "placement", ["missing", "axle_to_block"]),
    "missing key": (edited(("axle_to_block: 83.5 in, ", "")), "placement.axle_to_block", ["missing"]),
    "missing pitch": (edited(("pitch: 2.0 deg,", "")), "placement.pitch", ["parallel", "2.0 deg"]),
    "no schema": (edited(("crankline: 1\n", "")), "crankline", ["crankline: 1"]),
    "other schema": (edited(("crankline: 1\n", "crankline: 2\n")), "crankline", ["'2'", "schema 1"]),
    "schema as a float": (edited(("crankline: 1\n", "crankline: 1.0\n")), "crankline", ["'1.0'"]),
    # values
    "bare number": (edited(("axle_to_block: 83.5 in", "axle_to_block: 83.5")), "placement.axle_to_block", ["no unit", "in, ft"]),
    "unit on a ratio": (edited(("ratio: 4.10", "ratio: 4.10 in")), "rear_end.ratio", ["no unit"]),
    "wrong unit": (edited(("axle_to_block: 83.5 in", "axle_to_block: 83.5 deg")), "placement.axle_to_block", ["'deg'", "mm"]),
    "unknown unit": (edited(("axle_to_block: 83.5 in", "axle_to_block: 83.5 furlong")), "placement.axle_to_block", ["furlong"]),
    "decimal comma": (edited(("wheelbase: 112.0 in", 'wheelbase: "112,0 in"')), "car.wheelbase", ["comma"]),
    "two terms": (edited(("wheelbase: 112.0 in", "wheelbase: 9 in 4 ft")), "car.wheelbase", ["feet followed by inches"]),
    "division by zero": (edited(("axle_to_block: 83.5 in", "axle_to_block: 83 1/0 in")), "placement.axle_to_block", ["zero"]),
    "negative length": (edited(("half_spacing: 14.00 in", "half_spacing: -14.00 in")), "chassis.uprights.half_spacing",
                        ["'-14.00 in'", "larger than 0"]),
    "nan": (edited(("axle_to_block: 83.5 in", "axle_to_block: nan in")), "placement.axle_to_block", ["'nan in'"]),
    "yaml nan": (edited(("ratio: 4.10", "ratio: .nan")), "rear_end.ratio", ["'.nan'"]),
    "infinity": (edited(("crank_height: 10.0 in", "crank_height: inf in")), "placement.crank_height", ["'inf in'"]),
    "yaml infinity": (edited(("ratio: 4.10", "ratio: .inf")), "rear_end.ratio", ["'.inf'"]),
    "huge number": (edited(("axle_to_block: 83.5 in", "axle_to_block: 1e300 in")), "placement.axle_to_block", ["out of range", "in"]),
    "number beyond floats": (edited(("axle_to_block: 83.5 in", "axle_to_block: 1e999 in")), "placement.axle_to_block", ["too large"]),
    "ratio beyond floats": (edited(("ratio: 4.10", "ratio: 1e999")), "rear_end.ratio", ["too large"]),
    "endless digits": (edited(("ratio: 4.10", "ratio: " + "9" * 5000)), "rear_end.ratio", ["not a plain number"]),
    "sexagesimal": (edited(("ratio: 4.10", "ratio: 1:30")), "rear_end.ratio", ["'1:30'"]),
    "expression": (edited(("axle_to_block: 83.5 in", "axle_to_block: 80 in + 3.5 in")), "placement.axle_to_block", ["80 in + 3.5 in"]),
    "yes for a flag": (edited(("transbrake: true", "transbrake: yes")), "car.transbrake", ["'yes'", "true or false instead of yes or no"]),
    "number for a flag": (edited(("transbrake: true", "transbrake: 1")), "car.transbrake", ["true or false"]),
    "NO for a choice": (edited(("power_adder: nitrous", "power_adder: NO")), "car.power_adder", ["'NO'", "nitrous"]),
    "misspelt choice": (edited(("body: full", "body: ful")), "car.body", ["did you mean full?"]),
    "fractional count": (edited(("bolts_per_rail: 2", "bolts_per_rail: 2.5")), "mounts.rail_tabs.bolts_per_rail",
                         ["whole number from 1 to 6"]),
    "count out of range": (edited(("bolts_per_rail: 2", "bolts_per_rail: 0")), "mounts.rail_tabs.bolts_per_rail", ["from 1 to 6"]),
    "negative mass": (edited(("mass: 235 lb", "mass: -235 lb")), "masses[5].mass", ["'-235 lb'", "from 0 lb"]),
    "tire radius zero": (edited(("loaded_radius: 16.00 in", "loaded_radius: 0 in")), "chassis.rear_tire.loaded_radius", ["out of range"]),
    "pitch of 90 deg": (edited(("pitch: 2.0 deg", "pitch: 90 deg")), "placement.pitch", ["from -30 deg to 30 deg"]),
    "unknown pitch mode": (edited(("pitch: 2.0 deg", "pitch: paralel")), "placement.pitch", ["did you mean parallel?"]),
    "two lines of text": (edited(('"Demo A (invented)"', '"Demo\\nA"')), "car.name", ["one line"]),
    "very long text": (edited(('"Demo A (invented)"', "x" * 5000)), "car.name", ["5,000", "500"]),
    "blank text": (edited(('"Demo A (invented)"', '" "')), "car.name", ["nothing"]),
    "wrong date": (edited(("rules: {sets: [invented_demo, clearance]", "rules: {event_date: 31/03/2026, sets: []")), "rules.event_date",
                   ["YYYY-MM-DD"]),
    "day that is none": (edited(("rules: {sets: [invented_demo, clearance]", "rules: {event_date: 2026-02-30, sets: []")),
                         "rules.event_date", ["2026-02-30"]),
    "date in a waiver": (edited(("waivers: []", "waivers: [{rule: a, reason: b, author: c, date: soon}]")), "rules.waivers[1].date",
                         ["'soon'"]),
    # names
    "unknown engine": (edited(("use: demo_tall_deck_aluminium", "use: demo_tall_deck")), "engine.use",
                       ["demo_deep_skirt_iron", "did you mean demo_tall_deck_aluminium?"]),
    "no engine name": (edited(("engine: {use: demo_tall_deck_aluminium}", "engine: {mass: 700 lb}")), "engine.use",
                       ["missing", "demo_short_deck_iron"]),
    "unknown transmission": (edited(("use: demo_two_speed", "use: nine_speed")), "transmission.use", ["demo_clutch_three_speed"]),
    "unknown material": (edited(("material: carbon, thickness", "material: unobtainium, thickness")), "containment.tunnel.material",
                         ["4130N", "7075-T6"]),
    "bad override": (edited(("{use: demo_tall_deck_aluminium}", "{use: demo_tall_deck_aluminium, mass: 700}")), "engine.mass", ["no unit"]),
    "required override dropped": (edited(("{use: demo_tall_deck_aluminium}", "{use: demo_tall_deck_aluminium, mass: none}")), "engine.mass",
                                  ["'none'"]),
    "hole without a diameter": (edited(("{use: demo_tall_deck_aluminium}",
                                        "{use: demo_tall_deck_aluminium, rear_holes: [{y: 1 in, z: 2 in}]}")),
                                "engine.rear_holes[1].diameter", ["missing"]),
    # more than one field
    "rails without a height": (edited((" half_spacing: 13.25 in,\n    height: 4.40 in", " half_spacing: 13.25 in")), "chassis.rails.height",
                               ["sketches"]),
    "footwell tube without x": (edited(("footwell_tube: {x: 63.50 in, ", "footwell_tube: {")), "chassis.footwell_tube.x", ["sketches"]),
    "double rail without a second": (edited(("rails: {kind: single", "rails: {kind: double")), "chassis.rails.upper_height", ["double"]),
    "double-rail plate on single rails": (edited(("kind: single_rail", "kind: double_rail")), "plates.mid.kind", ["rails"]),
    "support tube without uprights": (edited(("  uprights: {x: 82.00 in, half_spacing: 14.00 in}\n", "")), "chassis.uprights",
                                      ["support_tube"]),
    "cross member without reference": (edited(("  footwell_tube: {x: 63.50 in, z: 4.40 in, section: {outer_diameter: 1.25 in, wall: 0.065 "
                                               "in}}\n", "")),
                                       "mounts.cross_member.reference", ["chassis_x"]),
    "no pinion joint": (edited(("  pinion_joint: {x: 10.503 in, y: 0.0 in, z: 13.163 in}\n", ""),
                               ("  housing: {joint_ahead: 10.60 in, hypoid_drop: 2.45 in}", "")), "rear_end.pinion_joint", ["housing"]),
    "no pinion pitch": (edited(("  pinion_pitch: 2.1 deg\n", "")), "rear_end.pinion_pitch", ["2.0 deg"]),
    "four-link without links": (edited(("kind: ladder", "kind: four_link"), text=OPEN), "rear_end.suspension.lower", ["four_link"]),
    "ladder without a pivot": (edited(("kind: four_link", "kind: ladder")), "rear_end.suspension.pivot", ["pivot"]),
    "link of no length": (edited(("chassis: {x: 18.00 in, z: 16.50 in}", "chassis: {x: 0.00 in, z: 20.75 in}")),
                          "rear_end.suspension.upper", ["same point"]),
    "manual without a bellhousing": (edited(("use: demo_clutch_three_speed", "use: demo_clutch_three_speed, bellhousing_depth: none"),
                                            text=OPEN),
                                     "transmission.bellhousing_depth", ["manual"]),
    "bellhousing longer than all": (edited(("use: demo_clutch_three_speed", "use: demo_clutch_three_speed, bellhousing_depth: 40 in"),
                                           text=OPEN),
                                    "transmission.bellhousing_depth", ["28.25 in"]),
    "pan the wrong way round": (edited(("{use: demo_tall_deck_aluminium}",
                                        "{use: demo_tall_deck_aluminium, pan: {x_rear: 9 in, x_front: 3 in, depth: 6 in}}")),
                                "engine.pan.x_rear", ["x_front 3 in"]),
    "narrow plate without feet": (edited((", foot_half_spacing: 9.0 in", "")), "plates.front.foot_half_spacing", ["plate feet"]),
    "transmission mount without a cross member": (edited(("  cross_member: {reference: footwell_tube, offset: -3.50 in, section: "
                                                          "{outer_diameter: 1.25 in, wall: 0.065 in}, z: 4.40 in}\n", "")),
                                                  "mounts.transmission", ["mounts.cross_member", "leave out"]),
    "limiter strut without a front plate": (edited(("  front: {kind: narrow, foot_tube: {outer_diameter: 1.500 in, wall: 0.083 in}, "
                                                    "foot_web: 0.375 in, "
                                                    "thickness: 0.250 in, material: 7075-T6, foot_half_spacing: 9.0 in, "
                                                    "foot_drop: 2.0 in}\n", "")), "mounts.limiter_strut",
                                            ["plates.front", "leave out"]),
    "opening larger than the plate": (edited(("center_opening: 12.0 in", "center_opening: 13.5 in")), "plates.mid.center_opening",
                                      ["below_crank"]),
    "same loop name": (edited(("name: second", "name: front")), "containment.loops[2].name", ["line"]),
    "slash in a loop name": (edited(("name: second", "name: a/b")), "containment.loops[2].name", ["'/'"]),
    "loop without a size": (edited((" x: 44.50 in, inner_diameter: 7.50 in,", " x: 44.50 in,")), "containment.loops[2].inner_diameter",
                            ["inner_width"]),
    "loop with half a size": (edited(("inner_height: 9.50 in, ", "")), "containment.loops[3].inner_height", ["straight legs"]),
    "round loop with legs": (edited((" inner_height: 9.50 in,", " inner_height: 9.50 in, inner_diameter: 7 in,")),
                             "containment.loops[3].inner_diameter", ["both"]),
    "strap without a section": (edited((" x: 44.50 in,", " x: 44.50 in, form: strap,")), "containment.loops[2].strap_thickness", ["strap"]),
    "header inside out": (GOOD + HEADERS.replace("y_left: 12 in", "y_left: 6 in"), "headers[1].y_right", ["7 in", "y_left 6 in"]),
    "same header name": (GOOD + HEADERS.replace("name: right", "name: left"), "headers[2].name", ["line"]),
    "slash in a header name": (GOOD + HEADERS.replace("name: right", "name: r/l"), "headers[2].name", ["'/'"]),
    "header without a height": (GOOD + HEADERS.replace(", z_high: 9 in", ""), "headers[1].z_high", ["missing"]),
    "wall of a rod": (edited(("outer_diameter: 6.75 in, wall: 0.065 in", "outer_diameter: 6.75 in, wall: 3.375 in")),
                      "containment.enclosure.wall", ["half"]),
    "enclosure the wrong way round": (edited(("x_front: 55.00 in, x_rear: 42.50 in", "x_front: 42.50 in, x_rear: 55.00 in")),
                                      "containment.enclosure.x_rear", ["x_front"]),
    "driver of no height": (edited(("z_low: 5.25 in", "z_low: 46.0 in")), "car.driver_envelope.z_low", ["z_high"]),
    "rear joint ahead of the front joint": (edited(("pinion_joint: {x: 10.503 in", "pinion_joint: {x: 60 in")), "placement.axle_to_block",
                                            ["rear joint", "forward"]),
    "powertrain behind the axle": (edited(("axle_to_block: 83.5 in", "axle_to_block: 20 in")), "placement.axle_to_block",
                                   ["-9.75 in", "rear joint"]),
    "no balanced pitch": (edited(("axle_to_block: 83.5 in", "axle_to_block: 40.5 in"), ("pitch: 2.0 deg", "pitch: balanced")),
                          "placement.pitch", ["no solution"]),
    "loaded radius over the free one": (edited(("free_radius: 16.75 in", "free_radius: 15 in")), "chassis.rear_tire.loaded_radius",
                                        ["15 in"]),
    "bores longer than the block": (edited(("{use: demo_tall_deck_aluminium}", "{use: demo_tall_deck_aluminium, bore_spacing: 7.3 in}")),
                                    "engine.bore_spacing", ["4 bores", "21.9 in"]),
    "torque above the limiter": (edited(("{use: demo_tall_deck_aluminium}",
                                         "{use: demo_tall_deck_aluminium, peak_torque_speed: 9000 rpm}")),
                                 "engine.peak_torque_speed", ["9000 rpm", "rpm_limit"]),
    "pad beyond the seal": (edited(("{use: demo_two_speed}", "{use: demo_two_speed, bell_to_seal: 20 in}")),
                            "transmission.mount_pad.from_bell", ["20.9 in"]),
    "missing sketch document": (edited(("  surface_plate:", "  sketches: {file: nowhere.FCStd, side: Side, plan: Plan}\n  surface_plate:")),
                                "chassis.sketches.file", ["nowhere.FCStd"]),
    "sketches without a plan": (edited(("  surface_plate:", "  sketches: {file: nowhere.FCStd, side: Side}\n  surface_plate:")),
                                "chassis.sketches.plan", ["missing"]),
}

RAW = {
    "binary": (bytes(range(256)) * 40, ["byte", "UTF-8"]),
    "zero bytes": (b"crankline: 1\n\0\0\0", ["zero byte"]),
    "UTF-16": (GOOD.encode("utf-16"), ["UTF-16"]),
    "UTF-16 without a mark": (GOOD.encode("utf-16-le"), ["UTF-16"]),
    "Latin-1": (GOOD.replace("Demo A", "D\u00e9mo").encode("latin-1"), ["0xE9", "UTF-8"]),
    "billion laughs": (b"a: &a [x, x]\n" + b"".join(b"%c: &%c [%s]\n" % (n, n, b", ".join([b"*%c" % (n - 1)] * 9)) for n in range(98, 110)),
                       ["alias"]),
    "deep flow": (b"car: " + b"[" * 400_000, ["deeper than 20"]),
    "deep mappings": (b"car: " + b"{a: " * 200_000, ["deeper than 20"]),
    "deep block": (b"car:\n" + b"- " * 400_000, ["deeper than 20"]),
    "over the size": (b"#" * 1_000_001, ["1,000,001 bytes", "1,000,000"]),
    "long key": (b"crankline: 1\n" + b"k" * 900_000 + b": 1\n", []),
    "many keys": (b"crankline: 1\n" + b"".join(b"k%d: 1\n" % n for n in range(80_000)), ["k0", "unknown"]),
}


def sentence(path):
    """The refusal's text, a line for each thing that is wrong, checked for what every refusal must be."""
    start = time.process_time()
    with pytest.raises(carfile.CarFileError) as caught:
        carfile.read(path)
    assert time.process_time() - start < 5.0      # a hostile file costs minutes or the memory; the slowest here takes half a second
    text = str(caught.value)
    assert "Traceback" not in text and "Error" not in text
    lines = text.split("\n")
    assert len(lines) <= 40
    for line in lines:
        assert line.isprintable() and line.endswith(".") and len(line) < 900
        assert line.startswith(str(path))
    return text


@pytest.mark.parametrize("name", BROKEN)
def test_each_mistake_gets_one_sentence_with_line_and_key(name, tmp_path):
    text, path, words = BROKEN[name]
    file = tmp_path / "car.yaml"
    file.write_text(text, encoding="utf-8")
    said = sentence(file)
    print(said)
    where = re.match(re.escape(str(file)) + r":(\d+): (.*)", said)
    assert where, said
    assert 1 <= int(where[1]) <= text.count("\n") + 1
    if path:
        assert where[2].startswith(path + ": "), said
    for word in words:
        assert word in said


@pytest.mark.parametrize("name", RAW)
def test_what_is_no_text_of_ours_is_refused_quickly(name, tmp_path):
    data, words = RAW[name]
    file = tmp_path / "car.yaml"
    file.write_bytes(data)
    said = sentence(file)
    print(said)
    assert re.match(re.escape(str(file)) + r":\d+: ", said), said
    for word in words:
        assert word in said


def test_there_are_more_than_forty_of_them():
    assert len(BROKEN) + len(RAW) > 40


@pytest.mark.parametrize("name, old, new", [
    ("bare number", "axle_to_block: 83.5 in", "axle_to_block: 83.5"), ("unknown", "ratio: 4.10", "ration: 4.10"),
    ("second loop", "name: second, kind: split", "name: second, kind: slit"), ("last line", "sets: [invented_demo, clearance]", "sts: []")])
def test_the_line_is_the_line_of_the_mistake(name, old, new, tmp_path):
    text = edited((old, new))
    file = tmp_path / "car.yaml"
    file.write_text(text, encoding="utf-8")
    line = int(re.match(re.escape(str(file)) + r":(\d+):", sentence(file))[1])
    assert new.split(":")[0] in text.splitlines()[line - 1]
    assert text.splitlines()[line - 1] != GOOD.splitlines()[line - 1]


@pytest.mark.parametrize("gone, path, said", [
    (r"  cross_member: .*\n", "mounts.transmission", "  transmission:"),
    (r"  front: \{kind: .*\n", "mounts.limiter_strut", "  limiter_strut:")])
@pytest.mark.parametrize("text", [GOOD, OPEN], ids=["full", "open"])
def test_what_stands_on_nothing_has_its_own_line(text, gone, path, said):
    text, count = re.subn(gone, "", text)
    assert count == 1
    with pytest.raises(carfile.CarFileError) as caught:
        carfile.read_text(text)
    assert caught.value.path == path and text.splitlines()[caught.value.line - 1].startswith(said)


def test_without_mount_and_strut_neither_is_missed():
    text = re.sub(r"  (transmission: \{action|limiter_strut:|front: \{kind:|cross_member:).*\n(    cross_bolt.*\n)?", "", GOOD)
    car = carfile.read_text(text)
    assert car.mounts.transmission is None and car.mounts.cross_member is None and car.plates.front is None


def test_a_missing_key_has_the_line_of_its_section():
    with pytest.raises(carfile.CarFileError) as caught:
        carfile.read_text(edited(("  ratio: 4.10\n", "")))
    assert GOOD.splitlines()[caught.value.line - 1] == "rear_end:"
    assert caught.value.path == "rear_end.ratio"


def test_a_file_of_fifty_megabytes_is_refused_without_being_read(tmp_path, monkeypatch):
    file = tmp_path / "car.yaml"
    with open(file, "wb") as stream:
        stream.truncate(50 * 1024 * 1024)
    monkeypatch.setattr("builtins.open", lambda *_, **__: pytest.fail("the file was opened"))
    said = sentence(file)
    assert "52,428,800 bytes" in said


def test_a_file_that_grows_while_it_is_read_is_refused(tmp_path, monkeypatch):
    file = tmp_path / "car.yaml"
    file.write_bytes(b"#" * 1_500_000)
    real = os.stat

    def small(path, *rest, **options):
        found = real(path, *rest, **options)
        return os.stat_result(found[:6] + (10,) + found[7:]) if str(path) == str(file) else found
    monkeypatch.setattr(os, "stat", small)
    assert "more than 1,000,000 bytes" in sentence(file)


def test_what_is_no_file_is_refused(tmp_path):
    assert "folder" in sentence(tmp_path)
    assert "no such file" in sentence(tmp_path / "absent.yaml")
    fifo = tmp_path / "fifo"
    os.mkfifo(fifo)
    assert "not an ordinary file" in sentence(fifo)
    assert "not an ordinary file" in sentence("/dev/zero")
    loop = tmp_path / "loop.yaml"
    loop.symlink_to(loop)
    assert "cannot be read" in sentence(loop)


def test_an_unreadable_file_is_refused(tmp_path, monkeypatch):
    file = tmp_path / "car.yaml"
    file.write_text(GOOD)

    def refused(*_, **__):
        raise PermissionError(13, "Permission denied")
    monkeypatch.setattr("builtins.open", refused)
    assert "Permission denied" in sentence(file)


def test_a_file_name_cannot_break_the_sentence(tmp_path):
    file = tmp_path / "two\nlines.yaml"
    file.write_text("")
    with pytest.raises(carfile.CarFileError) as caught:
        carfile.read(file)
    assert "\n" not in str(caught.value)
    with pytest.raises(carfile.CarFileError):
        carfile.read("nul\0name.yaml")


TOKENS = ["{", "}", "[", "]", ":", "- ", "\t", "&a ", "*a", "!x ", "'", '"', "#", "|\n  ", "?", "%", "@", "~", "null", "none", "nan", "-",
          "1e999 in", "0 in", "-1 in",
          "\u2028", "\ufeff", "\0", "\ud800", ": ", "\n\n", "---", "...", "<<", "in", "5", "[]", "{}", "yes", "double", "strap", "manual",
          "rigid", "wide", "balanced"]


@pytest.mark.parametrize("seed", range(8))
def test_mutilated_files_are_read_or_refused_and_nothing_else(seed):
    rng = random.Random(seed)
    refused = 0
    for _ in range(40):
        text = rng.choice((GOOD, OPEN))
        for _ in range(rng.choice((1, 1, 2))):
            words = list(re.finditer(r"[\w.\-]+", text))
            start, stop = rng.choice(words).span() if rng.random() < 0.6 else (rng.randrange(len(text)),) * 2
            text = text[:start] + rng.choice(TOKENS + [rng.choice(words).group()]) + text[stop:]
        try:
            carfile.read_text(text, "f.yaml")
        except carfile.CarFileError as error:
            refused += 1
            assert all(re.match(r"f\.yaml:\d+: .*\.$", line) and line.isprintable() for line in str(error).split("\n"))
    assert refused > 10


def test_what_is_wrong_but_can_be_built_is_not_refused():
    car = carfile.read_text(edited(("firewall: {x: 83.125 in}", "firewall: {x: 90 in}")))
    assert car.chassis.firewall.x == 90 * 25.4
    carfile.read_text(edited(("crank_height: 10.0 in", "crank_height: 25 in")))
    carfile.read_text(edited(("x: 51.25 in, inner_diameter: 7.50 in", "x: 30 in, inner_diameter: 1.00 in")))


def test_without_the_c_parser_the_same_files_are_refused(monkeypatch, tmp_path):
    import yaml

    from crankline import source
    monkeypatch.setattr(source, "_LOADER", yaml.SafeLoader)
    file = tmp_path / "car.yaml"
    file.write_text(GOOD)
    carfile.read(file)
    for text, _, words in BROKEN.values():
        file.write_text(text)
        said = sentence(file)
        assert all(word in said for word in words), said
    for name in ("deep flow", "deep mappings", "billion laughs"):
        file.write_bytes(RAW[name][0])
        assert RAW[name][1][0] in sentence(file)
