"""How deep a body enters a tube, told without an intersection, against closed forms and the intersection itself."""
from __future__ import annotations

import FreeCAD as App
import numpy as np
import Part
import pytest

from crankline.measure import overlap, proof, tube_entry
from crankline.measure.body import Body
from crankline.measure.kept import Kept
from crankline.measure.tube_piece import Piece

V, HERE = App.Vector, App.Placement()
RADIUS, BORE, LENGTH = 20.0, 18.0, 400.0
TUBE = Part.makeCylinder(RADIUS, LENGTH, V(0, 0, -LENGTH / 2)).cut(Part.makeCylinder(BORE, LENGTH, V(0, 0, -LENGTH / 2))).Solids[0]


def plate(x, thick=6.0, lean=0.0):
    """A plate across the tube, its edge at x from the tube's center line."""
    shape = Part.makeBox(100.0, 200.0, thick, V(x, -100.0, -thick / 2))
    shape.Placement = App.Placement(V(), App.Rotation(V(1, 0, 0), lean))
    return shape


def sheet(x, thick=0.9):
    """A sheet along the tube."""
    return Part.makeBox(thick, 200.0, 100.0, V(x, -100.0, -50.0))


def bodies(one, other, place=HERE):
    moved = []
    for key, shape in (("one", one), ("other", other)):
        shape = shape.copy()
        shape.Placement = place.multiply(shape.Placement)
        moved.append(Body(key, shape, f"{key} {shape.Volume}"))
    return moved


def entered(one, other, place=HERE):
    return tube_entry.entered(*bodies(one, other, place), Kept())


@pytest.mark.parametrize("place", [App.Placement(), App.Placement(V(2000, 300, -20), App.Rotation(V(1, 2, 3), 40.0))])
def test_what_enters_from_the_side_is_as_deep_as_it_comes_near_the_center_line(place):
    for what, expected in ((plate(15.0), 5.0), (plate(15.0, lean=10.0), 5.0), (plate(3.0), 17.0), (sheet(15.0), 5.0), (sheet(19.0), 1.0)):
        found = entered(TUBE, what, place)
        assert found is not None and found.depth == pytest.approx(expected, abs=1e-3), expected
        for shape in (TUBE, what):
            here = shape.copy()
            here.Placement = place.multiply(here.Placement)
            assert here.isInside(found.point, 1e-6, False)


def test_a_thin_plate_that_is_pierced_is_at_least_as_deep_as_the_tube_is_thick():
    found = entered(TUBE, plate(-30.0))
    assert found is not None and RADIUS - 0.5 < found.depth <= RADIUS + 1e-6


@pytest.mark.parametrize("other", [
    plate(RADIUS), plate(RADIUS - 0.4), plate(RADIUS + 1.0), sheet(BORE - 1.0).cut(Part.makeBox(400, 400, 400, V(-200, 8, -200))).cut(
        Part.makeBox(400, 400, 400, V(-200, -408, -200))), Part.makeBox(200.0, 200.0, 200.0, V(-60.0, -100.0, -100.0)),
    Part.makeCylinder(15.0, 800.0, V(0, 0, -400))],
    ids=["touching", "a weld's fit", "apart", "in the bore", "a block around the center line", "a bar in the bore"])
def test_what_it_cannot_tell_is_left_to_the_intersection(other):
    assert entered(TUBE, other) is None


def test_a_plug_in_a_wall_is_as_deep_as_that_is_thick():
    """It could stand in the bore, but the wall enters the plug."""
    found = entered(TUBE, Part.makeCylinder(15.0, 60.0, V(5.0, 0, -30)))
    assert found is not None and 1.9 < found.depth <= 2.0 + 1e-6


def test_a_bolt_through_drilled_holes_has_nothing_in_common_with_the_tube():
    drilled = TUBE.cut(Part.makeCylinder(4.0, 100.0, V(-50, 0, 0), V(1, 0, 0))).Solids[0]
    bolt = Part.makeCylinder(3.9, 100.0, V(-50, 0, 0), V(1, 0, 0))
    assert entered(drilled, bolt) is None and overlap.common(*bodies(drilled, bolt), Kept()) is None


@pytest.mark.parametrize("x", [17.0, 10.0, 4.0])
def test_it_is_no_less_than_what_the_intersection_tells(x, monkeypatch):
    for what in (plate(x), plate(x, lean=7.0), sheet(x)):
        told = overlap.common(*bodies(TUBE, what), Kept())
        with monkeypatch.context() as without:
            without.setattr(tube_entry, "entered", lambda *_asked: None)
            estimated = overlap.common(*bodies(TUBE, what), Kept())
        assert told.basis == overlap.FROM_TUBE and estimated.basis == overlap.ESTIMATED
        assert told.depth >= estimated.depth - 0.02 and told.kind == estimated.kind


def test_a_plate_that_lies_along_a_whole_ring_is_not_taken_as_fitted_to_it():
    """The plane of its face never crosses the ring's center line, and its edges stand clear of the ring on either side."""
    ring = Part.makeTorus(100.0, 11.0)
    for height, fits in ((10.0, False), (5.0, False), (11.5, True)):
        disc = Part.makeCylinder(130.0, 6.0, V(0, 0, height)).cut(Part.makeCylinder(60.0, 6.0, V(0, 0, height))).Solids[0]
        a, b = bodies(ring, disc)
        assert proof.keep_out(a, b, 0.25, lambda _outer: False, Kept()) is fits, height
        assert (overlap.deeper_than(a, b, 0.5, Kept()) is None) is fits


def test_the_points_told_with_an_entry_are_the_nearest_ones_of_either_surface():
    place, asked = App.Placement(V(2000, 300, -20), App.Rotation(V(1, 2, 3), 40.0)), 0
    drilled = plate(3.0).cut([Part.makeCylinder(3.0, 20.0, V(x, y, -10)) for x in (9, 17, 25) for y in (-9, 0, 9)]).Solids[0]
    for what in (plate(15.0), plate(3.0, lean=10.0), plate(-30.0), sheet(15.0), drilled):
        pair = bodies(TUBE, what, place)
        pair = pair if asked % 4 else pair[::-1]
        found = tube_entry.entered(*pair, Kept())
        for body, told in zip(pair, found.nearest):
            if told is not None:
                distance, ends, _where = body.shape.Shells[0].distToShape(Part.Vertex(found.point))
                nearest = V(*told)
                assert (nearest - found.point).Length == pytest.approx(distance, abs=1e-9)
                assert min((nearest - end[0]).Length for end in ends) < 1e-6
                asked += 1
    assert asked > 7


def test_the_deepest_point_of_a_triangle_is_no_less_deep_than_any_of_it():
    random, steps = np.random.default_rng(3), np.linspace(0.0, 1.0, 61)
    shares = np.array([(one, other, 1.0 - one - other) for one in steps for other in steps if one + other <= 1.0])
    bar = tube_entry.Bar(Piece(np.zeros(3), np.array([0.0, 0.0, 1.0]), 20.0, 0.0, 0), -30.0, 45.0, {}, 0.0, np.eye(3))
    ended = 0
    for triangle in [*random.uniform(-60.0, 60.0, (150, 3, 3)), *random.uniform(-60.0, 60.0, (50, 3, 3)) * [1.0, 1.0, 0.0],
                     *random.uniform(-60.0, 60.0, (50, 3, 3)) * [1.0, 0.0, 1.0]]:
        depths = bar.depth(shares @ triangle)
        found, _number = tube_entry._deepest(triangle[None], bar)
        most, best = float(bar.depth(found)), int(depths.argmax())
        # It is of the triangle, and with neighbors of the best of the others it is as deep as any.
        assert np.linalg.lstsq(np.vstack([triangle.T, np.ones(3)]), np.append(found, 1.0), rcond=None)[0].min() > -1e-6
        assert depths[best] - 1e-9 <= most
        around = np.maximum(shares[best] + random.normal(0.0, 0.01, (300, 3)), 0.0)
        assert bar.depth((around / around.sum(axis=1, keepdims=True)) @ triangle).max() <= most + 1e-9
        ended += most > 0.0 and abs(min(found[2] + 30.0, 45.0 - found[2]) - most) < 1e-9
    assert ended > 20
    level = np.array([[-9.0, -9.0, 0.0], [9.0, -9.0, 0.0], [0.0, 9.0, 0.0]])
    for moved in ([0.0, 0.0, 0.0], [12.0, 0.0, 20.0]):
        found, number = tube_entry._deepest(np.stack([level + [40.0, 0.0, 0.0], level + moved, level + [0.0, 40.0, 0.0]]), bar)
        assert number == 1 and abs(found[2] - moved[2]) < 1e-9
