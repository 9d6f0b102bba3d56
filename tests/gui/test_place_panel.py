"""The placement panel in a real window: what is typed is stored, nothing happens before OK, OK is one undo step."""
import math
import pathlib

import cars
import pytest

SCRIPTS = pathlib.Path(__file__).parent / "scripts"
UNTOUCHED = {"changed": [], "undo": True, "modified": False, "touched": []}


@pytest.fixture
def steps(gui_run):
    return iter(gui_run(SCRIPTS / "place_panel.py", cars.copy(cars.AUTOMATIC)).reported)


def test_place_panel(steps):
    assert next(steps) == {"no panel": 0, "double click": True}
    opened = next(steps)
    assert opened["preview"] == 1 and not opened["command"]
    assert opened["texts"] == {"axle_to_block": "83.5 in", "crank_height": "10 in", "pitch": "2 deg"}
    # Demo A: 83.5 in less 1/8 in protector at 2 deg; the crank falls 21.9 in sin 2 deg from rear to front.
    assert opened["opened"]["mid_plate_front"] == f"{83.5 - 0.125 * math.cos(math.radians(2.0)):.3f} in"
    assert opened["opened"]["pitch"] == "2.00 deg" and opened["opened"]["crank_height_rear"] == "10.000 in"

    # Focus is in the first number, its text selected; rules tell their state by a mark and a word.
    assert opened["focus"] == ["Crankline_axle_to_block", "83.5 in"]
    assert opened["rules"]["Oil pan above the track"] == "✓ Passed: measured 3.150 in, required >= 3.000 in"

    typed = next(steps)
    assert typed["axle_to_block"] == "82 1/2 in" and typed["problem"] == "" and typed["document"] == UNTOUCHED
    assert typed["typed"]["crank_height_rear"] == "9.500 in" and typed["typed"]["pitch"] == "1.50 deg"
    # A crank half an inch lower takes the pan half an inch down, and what the pitch does to its front corner.
    assert typed["rules"]["Oil pan above the track"].startswith("✗ Open, advice: measured 2.")
    assert typed["typed"]["mid_plate_front"] == f"{82.5 - 0.125 * math.cos(math.radians(1.5)):.3f} in"
    assert next(steps) == {"cancelled": UNTOUCHED, "preview": 0, "panel": False}

    handles = next(steps)
    assert handles["document"] == UNTOUCHED
    for name, direction in (("axle_to_block", 0), ("crank_height", 2)):
        text, moved = handles["dragged"][name]
        grown = float(text.split()[0]) - {"axle_to_block": 83.5, "crank_height": 10.0}[name]
        assert grown != 0.0 and (grown * 16.0).is_integer(), text         # sixteenths of an inch
        assert moved[direction] == pytest.approx(25.4 * grown, abs=0.05)  # the handle went along with the engine
    pitch = float(handles["dragged"]["pitch"][0].split()[0])
    assert pitch != 2.0 and (10.0 * pitch) == pytest.approx(round(10.0 * pitch))
    assert next(steps) == {"handles": 0, "document": UNTOUCHED}

    wrong = next(steps)
    assert wrong["document"] == UNTOUCHED and wrong["figures"]
    assert all(text.startswith("Axle to block: ") and text.endswith(".") and "\n" not in text
               for name, text in wrong["wrong"].items() if name != "9 in"), wrong
    assert "comma" in wrong["wrong"]["82,5 in"] and "allowed is" in wrong["wrong"]["-3 in"]
    assert "front joint" in wrong["wrong"]["9 in"]              # a length like another, but the shaft would run backward

    healed = next(steps)
    assert healed["healed"] == ""
    placed = next(steps)
    assert placed["placed"] == [2070.123456, 10.125 * 25.4, pytest.approx(1.9, abs=1e-13), "fixed"]
    assert placed["undo"] == ["Place Powertrain"] and placed["preview"] == 0 and not placed["panel"]
    assert placed["not valid"] == [] and placed["touched"] == []
    front, rear, distance, height = placed["results"]
    told = healed["foretold"]
    assert [told["front_joint"], told["rear_joint"], told["joint_distance"], told["crank_height_front"]] == [
        f"{front:.2f} deg", f"{rear:.2f} deg", f"{distance:.3f} in", f"{height:.3f} in"]
    assert next(steps) == {"undone": [], "recomputed": []}

    more = next(steps)
    assert more["modes"]["fixed"][0] and not more["modes"]["parallel"][0]
    assert more["modes"]["parallel"][1] == "2.1 deg"            # the pinion's
    assert more["modes"]["in_line"][2] == "0.00 deg"
    assert more["modes"]["balanced"][2] == more["modes"]["balanced"][3]
    assert more["stored"] == ["balanced", "block_middle", pytest.approx(-12.7), pytest.approx(-12.7)] and more["pitch unset"]

    assert next(steps) == {"second refused": False, "previews": 1}
    assert next(steps) == {"idle OK": 0}
    assert next(steps) == {"formula": [True, "10 in", "Set by the formula"]}
    cost = next(steps)
    nodes, whole, rules = cost["ms"]
    assert nodes < 5.0 and whole < 30.0 and rules < 60.0        # of the processor; about 0.5, 8 and 12 ms
    print(f"OK of a placement: {cost['OK']:.2f} s of the processor")
    assert cost["OK"] < 8.0                                     # about 1.2 s
    assert next(steps) == {"closed": 0}
    assert next(steps) == {"reopened": True, "panel after close": False}
    assert next(steps, None) is None
