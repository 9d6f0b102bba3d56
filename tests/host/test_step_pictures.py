"""Pictures of the instruction sheet from real shapes: in their box, with marks on the parts that they name, and the folded mount where it
lies."""
from __future__ import annotations

from dataclasses import replace

import cars
import FreeCAD as App
import numpy as np
import pytest

from crankline.features import read
from crankline.features.transmission_mount import SERVICE_STATES
from crankline.measure import part_marks
from crankline.sheets import instruction_finishing, instruction_fitting, instruction_setting, part_picture, step_pictures
from crankline.sheets.drawing import Text, bounds
from crankline.sheets.instruction_step import Kit
from crankline.sheets.sheet_format import Box

pytestmark = pytest.mark.one_host

BOX = Box(20.0, 30.0, 140.0, 110.0)


@pytest.fixture(scope="module")
def kit():
    document = cars.document(cars.AUTOMATIC)
    try:
        shot = read.snapshot(read.only_layout(document))
        measurer = cars.measurer()
        measurer.sees(shot)
        yield Kit(shot, part_marks.of(shot, measurer))
    finally:
        App.closeDocument(document.Name)


def test_pictures_stay_in_their_box_and_name_the_marks_of_their_parts(kit):
    pictured = step_pictures.StepPictures(kit)
    marks = {key: item.mark for item in kit.marked for key in item.keys}
    steps = [*instruction_setting.ready(kit).steps[:1], *instruction_setting.assembled(kit).steps[:2],
             *instruction_fitting.mounted(kit).steps]
    assert len(steps) > 7
    for step in steps:
        items = pictured(step, BOX)
        limits = np.array([bounds(item) for item in items])
        assert (limits[:, :2] >= (BOX.x0 - 0.1, BOX.y0 - 0.1)).all() and (limits[:, 2:] <= (BOX.x1 + 0.1, BOX.y1 + 0.1)).all(), step.title
        said = [item.text.split(" ")[0] for item in items if isinstance(item, Text)]
        expected = [marks[key] for key in step.parts if key in marks]
        assert sorted(said) == (sorted(set(expected)) if step.apart else sorted(expected)), step.title
        assert step.apart or items == pictured(step, BOX), step.title


def test_the_folded_mount_is_shown_where_the_part_lies_when_it_is_folded(kit):
    """The mount's own feature folds it; the picture has it in the same place."""
    document = cars.document(cars.AUTOMATIC)
    try:
        mount = next(obj for obj in document.Objects if getattr(obj, "Key", "") == "transmission_mount")
        mount.ServiceState = SERVICE_STATES[1]
        document.recompute()
        box = mount.Shape.copy(True, False).optimalBoundingBox(False)
        pictured = step_pictures.StepPictures(kit)
        shown = pictured._view(("transmission_mount",), "right", folded=True)
        seen = np.array([bounds(item) for item in shown.seen[step_pictures.FOLDED].visible])
        assert seen[:, :2].min(axis=0) == pytest.approx((box.XMin, box.ZMin), abs=step_pictures.COARSE)
        assert seen[:, 2:].max(axis=0) == pytest.approx((box.XMax, box.ZMax), abs=step_pictures.COARSE)
    finally:
        App.closeDocument(document.Name)


def test_loops_that_are_opened_are_shown_by_their_halves(kit):
    """Lifted off, the upper halves are dark over the lower ones; from then on the lower ones alone are there."""
    steps = instruction_finishing.serviced(kit).steps
    lifted = next(number for number, step in enumerate(steps) if step.title == "Open the split loops")
    assert [step.upper for step in steps] == [number == lifted for number in range(len(steps))] and steps[lifted].moves[2] > 0.0
    assert [step.opened for step in steps] == [number > lifted for number in range(len(steps))]
    pictured = step_pictures.StepPictures(kit)

    def heights(seen):
        limits = [bounds(item) for item in seen.visible]
        return min(one[1] for one in limits), max(one[3] for one in limits)

    whole, upper = (pictured._view(steps[lifted].parts, "right", upper=upper) for upper in (None, True))
    assert steps[-1].view == "right" and pictured(steps[-1], BOX) and pictured(steps[lifted], BOX)
    later = pictured._views[frozenset(steps[-1].shown), "right", False, True, False]
    for key in steps[lifted].parts:
        level = pictured._split(key)
        low, high = heights(whole.seen[key])
        assert heights(upper.seen[key]) == (pytest.approx(level, abs=20.0), pytest.approx(high, abs=step_pictures.COARSE))
        # Its feet stand behind a rail.
        assert heights(later.seen[key]) == (pytest.approx(low, abs=20.0), pytest.approx(level, abs=20.0))


def test_a_picture_of_nothing_is_empty_and_its_step_stays(kit, monkeypatch):
    monkeypatch.setattr(part_picture, "composed", None)      # not asked for
    step = next(step for step in instruction_fitting.mounted(kit).steps if step.title == "Try the mount")
    assert step_pictures.StepPictures(kit)(replace(step, parts=(), folded=False), BOX) == []
