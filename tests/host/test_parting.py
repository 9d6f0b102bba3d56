"""Two solids that are moved apart: whether they overlap by no more than they may is the verdict that the depth of their overlap gives."""
from __future__ import annotations

import FreeCAD as App
import Part
import pytest

from crankline.measure import overlap, parting
from crankline.measure.body import Body
from crankline.measure.kept import Kept

PLATE = Part.makeBox(6.35, 300.0, 400.0, App.Vector(0.0, -150.0, -200.0))
TUBE = Part.makeCylinder(20.0, 600.0, App.Vector(0.0, 0.0, -300.0)).cut(Part.makeCylinder(18.0, 600.0, App.Vector(0.0, 0.0, -300.0)))
BAR = Part.makeCylinder(15.0, 200.0, App.Vector(0.0, 0.0, -100.0))


def body(key, shape, x=0.0):
    moved = shape.copy()
    moved.Placement = App.Placement(App.Vector(x, 0.0, 0.0), App.Rotation())
    return Body(key, moved, key)


@pytest.mark.parametrize("allowed", [0.05, 0.5, 1.0])
@pytest.mark.parametrize("other", [TUBE, BAR], ids=["tube", "bar"])
def test_parted_is_what_the_depth_says(other, allowed):
    """From deep inside to well apart; the surfaces meet where the round body's radius stands off the plate's face."""
    meets = other.BoundBox.XMax
    verdicts = []
    for x in (-10.0, -3.0, *(-meets + step for step in (1.4, 0.9, 0.6, 0.45, 0.2, 0.04, 0.0, -0.01, -5.0))):
        plate, round_one = body("plate", PLATE), body("other", other, x)
        found = parting.parted(plate, round_one, allowed, Kept())
        assert found == (overlap.deeper_than(plate, round_one, allowed, Kept()) is None), x
        verdicts.append(found)
    assert verdicts[0] is False and verdicts[-1] is True and verdicts == sorted(verdicts)


def test_what_lies_wholly_inside_is_not_parted():
    whole = body("whole", Part.makeBox(100.0, 100.0, 100.0))
    inside = Body("inside", Part.makeSphere(5.0, App.Vector(50.0, 50.0, 50.0)), "inside")
    assert not parting.parted(whole, inside, 0.5, Kept())
