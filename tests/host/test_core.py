"""What lies along a line and the cylinder that holds it: sizes in closed form, and what is proven against the host's distances."""
from __future__ import annotations

import math

import FreeCAD as App
import numpy as np
import Part
import pytest

from crankline.measure import core
from crankline.measure.body import Body
from crankline.measure.kept import Kept

ALONG = App.Vector(1, 0, 0)
SLANT = App.Placement(App.Vector(300, -40, 25), App.Rotation(App.Vector(1, 2, 3), 33.0))


def rod():
    """A shaft of 20 mm radius and 500 mm length with a block of 60 by 30 by 30 mm, cut slanting, and a cone at its end."""
    block = Part.makeBox(60.0, 30.0, 30.0, App.Vector(100, -15, 10))
    slanting = Part.makeBox(100.0, 100.0, 100.0, App.Vector(150, -50, 30))
    slanting.rotate(App.Vector(150, 0, 30), App.Vector(0, 1, 0), 30.0)
    notch = Part.makeCylinder(30.0, 100.0, App.Vector(300, 0, 45), App.Vector(0, 1, 1))
    shaft = Part.makeCylinder(20.0, 500.0, App.Vector(), ALONG).cut(notch)
    return shaft.fuse([block.cut(slanting), Part.makeCone(20.0, 35.0, 40.0, App.Vector(500, 0, 0), ALONG)]).Solids[0]


def placed(shape, place):
    moved = shape.copy()
    moved.Placement = place.multiply(moved.Placement)
    return moved


def test_the_cylinder_holds_the_body_and_little_else():
    found = core.core_of(Body("rod", placed(rod(), SLANT), "rod"), Kept())
    # In its own frame: the corner of the block stands farthest out, at 15 and 40 mm; the cone ends at 540 mm.
    assert found.radius == pytest.approx(math.hypot(15.0, 40.0), abs=1.0) and found.radius >= math.hypot(15.0, 40.0) - 1e-6
    assert abs(found.axis[0]) == pytest.approx(1.0) and found.high - found.low == pytest.approx(540.0, abs=1e-3)
    ball = Part.makeSphere(10.0).fuse(Part.makeCylinder(3.0, 50.0))
    assert core.core_of(Body("ball", ball, "ball"), Kept()) is None, "a sphere is not made of straight lines"


@pytest.mark.parametrize("out, proven", [(0.0, True), (26.0, True), (29.0, False), (45.0, False)])
def test_what_is_proven_of_a_tube_around_it_holds_as_the_host_measures(out, proven):
    """A tube of 70 mm bore and 300 mm length about the middle of the rod, moved sideways until they meet."""
    tube = Part.makeCylinder(80.0, 300.0, App.Vector(50, out, 0), ALONG).cut(Part.makeCylinder(70.0, 300.0, App.Vector(50, out, 0), ALONG))
    bodies = [Body(key, placed(shape, SLANT), key) for key, shape in (("rod", rod()), ("tube", tube))]
    kept, distance = Kept(), bodies[0].shape.distToShape(bodies[1].shape)[0]
    assert core.keeps_clear(*bodies, 1e-6, kept) is proven
    for limit in (1.0, 5.0, 15.0, 25.0, 40.0):
        assert not core.keeps_clear(*bodies, limit, kept) or distance > limit
    assert not core.keeps_clear(*bodies, 1e-6, Kept(exact=True))


@pytest.mark.filterwarnings("error")
def test_what_stands_off_its_triangles_without_a_bound_is_not_proven_clear():
    bodies = [Body("rod", rod(), "rod"), Body("ball", Part.makeSphere(10.0, App.Vector(200, 300, 0)), "ball")]
    assert not core.keeps_clear(*bodies, 1.0, Kept())


@pytest.mark.parametrize("out", [0.0, 12.0, 40.0])
def test_sliding_along_its_axis_it_comes_no_nearer_than_told(out):
    """The rod is drawn through the tube, which stands out of line; and past a post beside it."""
    kept, start = Kept(), SLANT.multiply(App.Placement(App.Vector(-700, 0, 0), App.Rotation()))
    tube = Part.makeCylinder(80.0, 300.0, App.Vector(50, out, 0), ALONG).cut(Part.makeCylinder(70.0, 300.0, App.Vector(50, out, 0), ALONG))
    body, way = Body("rod", placed(rod(), start), "rod"), SLANT.Rotation.multVec(App.Vector(700, 0, 0))
    for key, shape in (("tube", tube), ("post", Part.makeBox(40.0, 40.0, 200.0, App.Vector(100, 50 + out, -100)))):
        part = Body(key, placed(shape, SLANT), key)
        told = core.slide_gap(body, body.pose, np.array(tuple(way)), part, 30.0, kept)
        found = []
        for share in np.linspace(0.0, 1.0, 15).tolist():
            moved = placed(body.shape, App.Placement(way * share, App.Rotation()))
            found.append(moved.distToShape(part.shape)[0])
        assert told <= min(*found, 30.0) + 1e-6
        assert told > 0.0 or out == 40.0
    sideways = np.array(tuple(SLANT.Rotation.multVec(App.Vector(700, 1, 0))))
    assert core.slide_gap(body, body.pose, sideways, part, 30.0, kept) == -math.inf
