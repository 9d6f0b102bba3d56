"""The demo car laid out by hand in a real window, from nothing, by commands, widgets, keys and mouse: the same car as a headless build."""
import pathlib

import cars
import FreeCAD as App
import pytest

from crankline.features import read
from crankline.geometry import measure

SCRIPT = pathlib.Path(__file__).parent / "scripts" / "by_hand.py"


def test_a_whole_car_by_hand(gui_run, tmp_path):
    built, edited, checked, closed = gui_run(SCRIPT, cars.FOLDER / f"{cars.AUTOMATIC}.yaml", tmp_path).reported
    print(built["counted"], built["seconds"], "s of the processor")
    # The list of waivers that the car file gives is empty; a window shows no empty list.
    assert built["errors"] == [] and built["differs"] == ["rules.waivers: () != None"]
    assert all(state in ("There", "", "None") for state in built["states"].values())
    assert built["counted"]["panels"] < 45 and built["counted"]["clicks"] < 160

    assert "comma" in edited["wrong"][0] and edited["wrong"][1] and edited["escaped"] == [False, []]
    assert edited["undone"] > 1 and edited["redone"] == built["differs"]
    assert checked["passed"] > 30 and checked["summary"].startswith("Demo A (invented): open: 0 error")
    assert checked["size"] == [1366, 768]
    states, commands = closed["foreign"]
    assert set(states.values()) == {"Not there yet", "None"} and closed["again"] > 30
    assert closed["schemas"] == [0, 3]      # the host shows a car in inches in inches, somebody's millimeters in millimeters
    assert "CheckCar" not in commands and "StartCar" in commands
    assert closed["none"][0] == states and "PlacePowertrain" not in closed["none"][1] and "ExampleCar" in closed["none"][1]

    document, headless = App.openDocument(str(tmp_path / "by_hand.FCStd")), cars.document(cars.AUTOMATIC)
    try:
        made, wanted = ({obj.Key: obj for obj in read.members(read.only_layout(one)) if hasattr(obj, "ShapeDigest")}
                        for one in (document, headless))
        assert made.keys() == wanted.keys()
        for key, obj in made.items():
            assert obj.ShapeDigest == wanted[key].ShapeDigest, key
            assert list(obj.Placement.Matrix.A) == pytest.approx(list(wanted[key].Placement.Matrix.A), abs=1e-9), key
            # Of a bent tube that others are cut from there is the host's integral alone, which is no better than this.
            close = 5e-6 if key == "loop/rear" else 1e-6
            assert measure.volume(obj.Shape) == pytest.approx(measure.volume(wanted[key].Shape), rel=close), key
    finally:
        App.closeDocument(document.Name)
        App.closeDocument(headless.Name)
