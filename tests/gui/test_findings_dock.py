"""The check command and its dock in a real window."""
import pathlib

import cars
import pytest

SCRIPTS = pathlib.Path(__file__).parent / "scripts"


def test_findings_dock(gui_run):
    finished = gui_run(SCRIPTS / "findings.py", cars.copy(cars.AUTOMATIC))
    (first, whole, order, age, again, listed, steep, left, marks, part, menu, copied, beside, kept, sketch, dead,
     closed) = finished.reported
    assert first["columns"] == ["State", "Severity", "Rule", "Part", "Measured", "Limit", "Margin", "Basis"]
    assert first["undo"] and "open: 0 error" in first["summary"] and first["mark"] == ["MP-1", "MP-1"]
    assert whole["all"] == whole["findings"] > whole["passed"] > 10 and whole["empty cells"] == 0
    assert order == {"sorted": True, "back": True}

    assert age["old"]["summary"].startswith("Stale, the car has changed") and age["old"]["states"] == ["stale"]
    assert age["old"]["slanted"] and age["old"]["bold"]
    assert age["undone"] == first["summary"] and not age["slanted"] and "stale" not in age["fresh"]
    assert again["redo"] == 1
    assert again["again"].startswith("Stale") and not again["checked"].startswith("Stale") and again["undo"] == 0

    state, severity, rule, _part, measured, limit, margin, basis = steep["row"]
    assert (state, severity, measured, limit, margin) == ("open", "advice", "3.00 deg", "1.90 to 2.20 deg", "-0.80 deg")
    assert "pitch" in rule.lower() and "common practice" in basis
    assert steep["selected"] == ["Engine"] and steep["marks"] == 1 and steep["shown"] == [True, True]
    assert not steep["modified"] and steep["undo"] == 0
    assert all(word in steep["details"] for word in (rule, "Measured 3.00 deg", "Basis", "rule book")), steep["details"]
    assert set(steep["states"]) <= {"open", "not evaluated", "waiver void"}
    assert left == {"hidden again": [False, False], "marks": 1, "refused": 1}
    assert marks == {"saved": [False, 0], "one": 1, "closed": 0, "open": 1, "other document": 0, "back": 1}
    assert part["plain"] == 0 and len(part["marked"]) == part["with"] > 0 and part["others"] > 0
    assert all("nclosure" in words for words in part["marked"])
    assert listed["fits"] and listed["narrow"] <= 1366, listed
    assert listed["sections"]["Rear tire"] == "There" and all("finding" in listed["sections"][name] for name in ("Engine", "Enclosure"))
    assert menu["done"] == [pytest.approx(-0.8), 1, "Lower the pitch by 0.8 deg, to 2.2 deg"] and menu["left"] == []
    assert menu["menu"][0] == "Do it: lower the pitch by 0.8 deg, to 2.2 deg" and "Edit Engine…" in menu["menu"]
    assert copied["copied"].startswith("Crank pitch about 2 degrees")
    # What to do comes first; labels and no keys; the copy key copies the row in words.
    assert steep["details"].splitlines()[1].startswith("What to do: ") and copied["keys"] == []
    assert copied["row"] and len(copied["row"]) == 3
    width, window, outside = beside["tall"]
    assert width <= 480 and window <= 1366 and outside == []
    summary, count, empty = kept["kept"]
    assert empty == "No car checked yet" and count > 10
    assert kept["opened"][0].startswith("As of 20") and kept["opened"][0].endswith(summary) and kept["opened"][1:] == [count, False, False]
    assert kept["unsettled"] and not kept["settled"] and sketch["sketch"]
    assert dead["not evaluated"] and dead["dead"] == [["open", "error"]] and dead["stale marks"] == 0
    assert closed["closed"] == ["No car checked yet", 0]


def test_waivers_from_the_dock(gui_run):
    waived, undo, file, void, unused = gui_run(SCRIPTS / "waivers.py", cars.copy(cars.AUTOMATIC)).reported
    assert "protective part" in waived["refused"] and "\n" not in waived["refused"]
    beginnings = ("Reason: 5 characters", "Approved by: it is empty", "Expires: 'next year' is not a date",
                  "Expires: 2001-01-01 lies before", "")
    assert len(waived["said"]) == 5 and all(map(str.startswith, waived["said"], beginnings)), waived["said"]
    assert waived["row"] == "waived" and waived["undo"] == 1 and waived["name"] == "Waive finding" and not waived["touched"]
    assert "waived: 1" in waived["summary"] and "agreed with the builder" in waived["details"]
    assert waived["remove"] and not waived["waive"]
    assert undo == {"undone": "open", "redone": "waived", "stale": False}
    (rule, subjects, reason, author, expires, edition, measured), = file["file"]
    assert (rule, subjects, reason, author, expires, measured) == ("PRA-PITCH", ["engine"], "agreed with the builder", "C. Maker", None,
                                                                   pytest.approx(3.0))
    assert edition
    assert void["void"] == "waiver void" and "3.5 deg is worse than the 3 deg" in void["why"] and void["button"] == "Renew Waiver…"
    assert void["renewed"] == "waived" and void["held"] == 1 and void["measured"] == pytest.approx(3.5) and void["name"] == "Renew waiver"
    assert unused["unused"][:3] == ["unused waiver", "", "PRA-PITCH"] and "its finding is passed" in unused["unused"][7]
    assert "1 unused waiver" in unused["summary"] and "agreed with the builder" in unused["told"]
    assert (unused["left"], unused["held"], unused["name"]) == (0, 0, "Remove waiver")


def test_a_check_goes_on_in_the_background(gui_run):
    early, canceled, edited, whole, asked, closed = gui_run(SCRIPTS / "check_steps.py", cars.copy(cars.AUTOMATIC),
                                                              as_used=True).reported
    assert early["busy"] and early["progress"] == [True, True] and early["format"].endswith(", %p%")
    assert early["pitch"] == "open" and early["shapes"] == 0
    assert not canceled["busy"] and not canceled["progress"] and canceled["kept"]
    assert canceled["states"] == ["not-evaluated"] and canceled["listed"] >= canceled["unreached"] > 5
    assert edited["stale"] and edited["unreached"] and edited["edited"].startswith("Stale")
    assert whole["ticks"] > 20 and whole["grew"] and whole["unreached"] == 0 and not whole["progress"]
    assert whole["looked"] == ["yes"] and whole["remedies"] > 1
    assert "was not looked for yet" in asked["details"] and asked["enabled"] and asked["left"] > 1
    assert asked["after"] == "yes" and set(asked["others"]) == {"not yet"} and not asked["still"]
    assert closed["closed"] == [False, "No car checked yet", 0, False]
