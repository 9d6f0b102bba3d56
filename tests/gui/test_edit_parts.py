"""Parts are edited, added, duplicated and removed in a real window: nothing happens before OK, and every OK is one undo step."""
import pathlib

import cars
import pytest

SCRIPT = pathlib.Path(__file__).parent / "scripts" / "edit_parts.py"


@pytest.fixture
def steps(gui_run):
    return iter(gui_run(SCRIPT, cars.copy(cars.AUTOMATIC)).reported)


def test_parts_are_edited_by_hand(steps):
    first = next(steps)
    expected = {"Mid plate": "There", "Loop, front": "There", "Loop, another": "", "Header": "None", "Protective item": "None"}
    assert {label: first["sections"].get(label) for label in expected} == expected
    assert first["summary"].startswith("Demo A (invented): ")
    assert next(steps) == {"double click": True, "title": "Edit Mid plate", "focus": "Crankline_thickness"}
    assert next(steps) == {"above": "14.2 in", "preview": 1}

    wrong = next(steps)
    assert wrong["open"] and wrong["changed"] == []
    assert "comma" in wrong["wrong"][0] and wrong["wrong"][1] == "Below crank: nothing was given; type a value."
    assert next(steps) == {"cancelled": [], "undo": 0, "preview": 0}

    edited = next(steps)
    assert edited["edited"][0] == pytest.approx(14.5 * 25.4) and edited["undo"] == ["Edit Mid plate"]
    assert next(steps) == {"undone": []}

    title, name, bore, station = next(steps)["loop"]
    # Joints sweep 4.60 in: an inch all around, and 3/4 in for an enclosure; 6 in behind the rearmost of the three, at 23 in.
    assert (title, name, bore, station) == ("Add Loop", "next", "7.5 in", "17 in")
    added = next(steps)
    assert added["added"][0] == "split_loop" and added["undo"] == ["Add Loop"]
    assert next(steps) == {"commands": [True, True, True]}
    assert next(steps) == {"cars": 1, "loops": ["loop/front", "loop/middle", "loop/middle2", "loop/rear", "loop/second"]}
    twice, refused, pasted = next(steps)["host"]
    assert twice == [[], ["loop/rear2"], "Duplicate Loop, rear2", 0, 1] and pasted == [[], ["loop/rear3"], "Paste Loop, rear3", 0, 1]
    assert refused[0][0].startswith("Mid plate001 was not kept: a car has one") and refused[1:] == [[], twice[2], 0, 1]
    asked = next(steps)
    assert asked["asked"][0] == "Remove Enclosure from Demo A (invented)?" and "Enclosure mount" in asked["asked"][1]
    assert asked["still"] == "enclosure"
    assert next(steps) == {"removed": [], "sections": "None"}
    assert "Invalid" not in next(steps)["again"]
    deleted = next(steps)
    assert deleted["delete"][0] == "Remove Loop, middle from Demo A (invented)?" and deleted["gone"]
    assert deleted["undo"] == [1, "Remove Loop, middle"]
    assert next(steps) == {"needed": [False, True, False, False]}
    assert next(steps) == {"back": [], "containers": 6}

    keys = next(steps)
    order, walked = keys["tab"]
    assert len(order) > 5 and walked == order
    assert keys["keys"] == ["1v02", True, True] and keys["enter"] == [False, 1]
    every = next(steps)
    assert every["said"] == [] and every["changed"] == [] and every["movable"] == []
    assert len(every["kinds"]) > 25 and {tuple(one) for one in every["kinds"].values()} == {(True, "Crankline_", False)}, every["kinds"]
    empty = next(steps)
    assert empty["changed"] == [] and empty["said"] == []
    assert all(title.startswith("Add ") for title in empty["empty"].values()) and {"Header", "Protective item"} <= set(empty["empty"])
