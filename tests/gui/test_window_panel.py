"""The placement window in FreeCAD: a click in the chart previews, OK places as one undo step, Cancel leaves nothing."""
import pathlib

import cars
import pytest

SCRIPT = pathlib.Path(__file__).parent / "scripts" / "window_panel.py"


def test_placed_by_a_click(gui_run):
    steps = iter(gui_run(SCRIPT, cars.copy(cars.AUTOMATIC)).reported)
    opened = next(steps)
    assert opened["focus"] == "Crankline_axle_to_block" and opened["at"] == ["83.5 in", "10 in"] and opened["width"] <= 1366
    assert opened["dock"] == "Placement Window" and "Allowed here" in opened["page"] and "Nearest limits" in opened["page"]
    # Without a folder of the shop's own the invented records are shown, and every number of theirs has the word beside it.
    assert "INVENTED" in opened["page"]
    clicked = next(steps)
    # A click is rounded to sixteenths of an inch; what is in a pixel's width of it is not told apart.
    numbers = [float(text.split()[0]) for text in clicked["clicked"]]
    assert numbers == pytest.approx([82.0, 9.75], abs=0.13) and all((16.0 * number).is_integer() for number in numbers)
    assert clicked["moved"] and clicked["preview"] == 1 and clicked["rules"] > 3 and clicked["page"] != opened["page"]
    assert clicked["changed"] == [] and clicked["undo"] == 0
    stepped = [float(text.split()[0]) for text in next(steps)["stepped"]]
    assert stepped == [numbers[0] + 0.0625, numbers[1] + 0.125]
    sized = next(steps)
    assert "has no size" in sized["no size"] and sized["again"]
    assert next(steps) == {"changed": [], "undo": 0, "preview": 0, "docks": 0}
    placed = next(steps)
    assert "✓ Allowed by every rule that counts" in placed["page"] and placed["undo"] == ["Placement Window"]
    assert placed["stored"][:2] == pytest.approx([float(text.split()[0]) for text in placed["best"]]) and placed["stored"][2] == "parallel"
    assert not placed["open"] and placed["preview"] == 0
    assert next(steps) == {"undone": []}
    assert next(steps) == {"open": False, "docks": 0}
    assert next(steps, None) is None
