"""A car is begun in an empty window and its parts are added by hand: the same as a build of the car file that it writes."""
import pathlib

import FreeCAD as App
import pytest

from crankline import carfile
from crankline.features import make, read

SCRIPT = pathlib.Path(__file__).parent / "scripts" / "start_car.py"


def test_a_car_by_hand(gui_run, tmp_path):
    steps = iter(gui_run(SCRIPT, tmp_path).reported)
    assert {"Crankline_StartCar", "Crankline_ExampleCar", "Crankline_OpenCarFile", "Crankline_Car"} <= set(next(steps)["enabled"])
    assert next(steps) == {"canceled": 0, "open": False}
    listed = next(steps)
    assert listed["title"] == "Start Car" and listed["empty"]["Engine"] == "Not there yet" and listed["empty"]["Header"] == "None"
    assert next(steps) == {"open": True, "missing": "Name: nothing was given; type a text.", "documents": 1}
    assert next(steps) == {"open": False, "documents": 1}
    assert next(steps) == {"undo": ["Start Car"], "errors": [], "constrained": [0, 0]}
    led = next(steps)
    assert led["led"] == ["Rear end", "Mid plate", "Rail tabs", "Driveshaft"] and led["begun"]["Rear end"] == "No suspension yet"
    assert all(led["begun"][label] == "Not there yet" for label in led["led"][1:]) and led["begun"]["Front plate"] == "None"
    assert led["summary"] == "By hand: every section that a finished car needs is there"
    added = next(steps)
    assert len(added["added"]) == 4 and added["undo"] == added["added"][::-1] and added["errors"] == []
    parts = next(steps)["parts"]
    document = make.document(carfile.read(tmp_path / "by_hand.yaml"))
    try:
        built = {obj.Key: obj for obj in read.members(read.only_layout(document)) if hasattr(obj, "ShapeDigest")}
        assert built.keys() == parts.keys()
        for key, (digest, place) in parts.items():
            assert built[key].ShapeDigest == digest, key
            assert list(built[key].Placement.Matrix.A) == pytest.approx(place, abs=1e-9), key
    finally:
        App.closeDocument(document.Name)
