"""A chassis that somebody drew is bound to a car in a real window: roles are given by clicks in the view, OK is one undo step."""
import pathlib

SCRIPT = pathlib.Path(__file__).parent / "scripts" / "chassis_sketches.py"


def test_roles_by_clicks(gui_run):
    steps = iter(gui_run(SCRIPT).reported)
    opened = next(steps)
    assert opened["missing"].startswith("Missing: Rear axle (side), Track (side), Main rail (side), Pinion (side), Rail left (plan)")
    assert opened["chosen"] == "Rear axle (side)"
    wrong = next(steps)
    assert wrong["problem"] == "sketch MySide: Main rail must be a line; this element is a circle"
    assert next(steps)["refused"].startswith("sketch MySide: the role ")
    assert next(steps) == {"canceled": [], "labels": 0, "visible": ["MySide", "MyPlan"]}
    given = next(steps)
    assert given["missing"] == "Everything that a chassis needs is there" and given["labels"] == 5 and given["document"] == []
    assert given["visible"] == ["MySide"]
    bound = next(steps)
    assert bound["open"] is False and bound["undo"][0] == "Chassis Sketches" and bound["sketches"] == ["MySide", "MyPlan"]
    assert abs(bound["rail height"] - 112.0) < 1e-9 and bound["states"]["Chassis sketches"] == "There" and bound["labels"] == 0
    assert next(steps) == {"sketches": ["SideSketch", "PlanSketch"]}
