"""Documents that somebody has changed behind the program's back: edited and deleted parts, broken sketches, what a newer program wrote."""
from __future__ import annotations

import io
from contextlib import contextmanager

import cars
import FreeCAD as App
import Part
import pytest

from crankline import headless
from crankline.checks.evaluate import evaluate
from crankline.features import read
from crankline.measure.host_measurer import HostMeasurer
from crankline.rules import rule_sets

MEASURER = HostMeasurer()
WANTED = ("NHRA-LOOP-SECTION", "NHRA-LOOP-CLOSED", "CON-LOOP-PINS", "DOC-MISSING", "DOC-ALTERED", "DOC-EDITED", "DOC-INVALID", "DOC-LINK",
          "CON-ENCLOSURE-COMPOSITE")


@pytest.fixture(scope="module")
def document():
    made = cars.document(cars.AUTOMATIC)
    made.UndoMode = 1
    yield made
    App.closeDocument(made.Name)


@contextmanager
def tampered(document):
    """Changes that are undone afterwards; yields a function to an object by its key."""
    document.openTransaction("tamper")
    try:
        yield lambda key: next(obj for obj in document.Objects if getattr(obj, "Key", "") == key
                                and obj.Kind != "container")
    finally:
        document.commitTransaction()
        document.undo()
        document.recompute()
    assert read.snapshot(read.only_layout(document)).unsound == ()


def told(document, wanted=WANTED):
    """Rule and subject to finding, of the few rules that are asked here."""
    document.recompute()
    snapshot = read.snapshot(read.only_layout(document))
    rules = [rule for rule in rule_sets.select(snapshot.car.rules.sets).rules if rule.id.startswith(wanted)]
    return {(item.rule, *item.subjects): item for item in evaluate(rules, snapshot, MEASURER)}


def keep_place(obj, shape):
    place = App.Placement(obj.Placement)
    obj.Shape, obj.Placement = shape, place


def test_a_notched_loop_is_measured_where_that_is_proven_and_not_vouched_for_elsewhere(document):
    with tampered(document) as by_key:
        loop = by_key("loop/front")
        local = loop.Shape.copy()
        local.Placement = App.Placement()
        keep_place(loop, local.cut(Part.makeBox(200, 60, 30, App.Vector(-100, -30, 90))).Solids[0])
        found = told(document)
    altered = found["DOC-ALTERED", "loop/front"]
    assert (altered.state.value, altered.severity.value, altered.waivable) == ("open", "error", False)
    assert found["NHRA-LOOP-CLOSED", "loop/front"].state.value != "passed"
    for rule in ("NHRA-LOOP-SECTION", "CON-LOOP-PINS"):
        item = found[rule, "loop/front"]
        assert item.state.value == "not-evaluated" and "edited by hand" in item.reason
    assert found["NHRA-LOOP-SECTION", "loop/second"].state.value == "passed", "the others stand"


def test_numbers_say_nothing_of_a_part_that_was_replaced(document):
    """A plain edit is an advice, but what follows from the part's numbers alone is no longer said of its shape."""
    with tampered(document) as by_key:
        keep_place(by_key("mid_plate"), Part.makeBox(10, 300, 300, App.Vector(0, -150, -150)))
        found = told(document, ("PRA-", "STR-", "DOC-EDITED"))
    assert found["DOC-EDITED", "mid_plate"].state.value == "open"
    about = [item for (rule, *subjects), item in found.items() if "mid_plate" in subjects and rule != "DOC-EDITED"]
    assert about and {item.state.value for item in about} <= {"not-evaluated", "not-applicable"}, [(i.rule, i.state) for i in about]


@pytest.mark.parametrize("key", ["protector", "loop/second", "support_tube", "front_plate", "tube/floor_left", "tunnel"])
def test_a_part_that_the_document_was_made_with_is_missed(document, key):
    with tampered(document) as by_key:
        document.removeObject(by_key(key).Name)
        found = told(document)
    item = found["DOC-MISSING", key]
    assert (item.state.value, item.severity.value, item.waivable) == ("open", "error", False) and "was made with it" in item.how


def test_without_its_enclosure_a_document_is_told_of_and_not_stumbled_over(document):
    with tampered(document) as by_key:
        document.removeObject(by_key("enclosure").Name)
        found = told(document)
    assert found["DOC-MISSING", "enclosure"].state.value == "open"
    assert found["CON-ENCLOSURE-COMPOSITE",].state.value == "not-evaluated" if ("CON-ENCLOSURE-COMPOSITE",) in found else True


def test_nothing_is_written_from_a_broken_chassis(document, tmp_path, closes_documents):
    """A deleted role leaves every part as it was: what is not up to date is told, and no sheet is drawn from the last good numbers."""
    with tampered(document) as by_key:
        sketch = by_key("chassis").SideSketch
        index = next(n for n, one in enumerate(sketch.Constraints) if one.Name == "main_rail")
        sketch.renameConstraint(index, "something_else")
        document.recompute()
        shot = read.snapshot(read.only_layout(document))
        assert "'main_rail' is missing" in read.not_fit(shot)
        path = tmp_path / "broken.FCStd"
        document.saveCopy(str(path))
    for command in (["sheets", str(path), "--out", str(tmp_path / "out")], ["check", str(path), "--out", str(tmp_path / "out")],
                    ["picture", str(path), "--out", str(tmp_path / "out.png")]):
        out, err = io.StringIO(), io.StringIO()
        assert headless.main(command, out, err) == 3
        assert "'main_rail' is missing" in err.getvalue()
        assert not (tmp_path / "out").exists() and not (tmp_path / "out.png").exists()


def test_a_shape_of_nonsense_numbers_is_told_and_never_measured(document):
    with tampered(document) as by_key:
        keep_place(by_key("mid_plate"), Part.makeBox(1e9, 300, 300))
        document.recompute()
        shot = read.snapshot(read.only_layout(document))
    note = next(item for item in shot.unsound if item.key == "mid_plate")
    assert note.kind == "invalid" and "a corner that cannot be in a car" in note.message and shot.part("mid_plate") is None


def test_of_a_shape_that_the_host_cannot_integrate_over_nothing_is_said(document, monkeypatch):
    """Bits turned in a file: the volume of a part ended a whole run as an internal error."""
    from crankline.geometry import measure
    shape = read.snapshot(read.only_layout(document)).part("mid_plate").shape
    assert set(HostMeasurer().solid(shape)) == {"volume", "bbox"}

    def fails(_shape):
        raise App.Base.FreeCADError("Unknown exception while reading attribute 'Volume' of object 'TopoShape'")
    monkeypatch.setattr(measure, "volume", fails)
    assert HostMeasurer().solid(shape) == {}
