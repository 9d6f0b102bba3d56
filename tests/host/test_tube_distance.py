"""The distance from a tube in closed form against the host's exact one, of what stands about straight, cut, drilled and bent tubes.

``--solids N`` takes N pairs that stand anywhere.
"""
from __future__ import annotations

import math
import random

import FreeCAD as App
import numpy as np
import Part
import pytest

from crankline.measure import tube_distance
from crankline.measure.body import Body, faces_of
from crankline.measure.kept import Kept


def V(*xyz):
    return App.Vector(*map(float, xyz))


def straight(radius=16.0, long=600.0):
    """Tube along Z, from the origin up."""
    return Part.makeCylinder(radius, long).cut(Part.makeCylinder(radius - 2.5, long))


def coped(radius=16.0, long=600.0):
    """The same, one end coped to a tube that crosses it, the other cut askew."""
    askew = App.Placement(V(-50, -50, long - 20.0), App.Rotation(V(1, 0, 0), 25.0))
    block = Part.makeBox(200, 200, 200)
    block.Placement = askew
    return straight(radius, long).cut(Part.makeCylinder(radius + 4.0, 200, V(-100, 2, 0), V(1, 0, 0))).cut(block)


def drilled(radius=16.0, long=600.0):
    """The same with a hole across."""
    return straight(radius, long).cut(Part.makeCylinder(5, 200, V(-100, 0, 0.5 * long), V(1, 0, 0)))


def bent(radius=16.0, long=300.0):
    """Two straight pieces and a bend of one radian between them, toward X."""
    bend = 80.0
    middle, end = (V(bend * (1.0 - math.cos(t)), 0, long + bend * math.sin(t)) for t in (0.5, 1.0))
    ways = [Part.makeLine(V(0, 0, 0), V(0, 0, long)), Part.Arc(V(0, 0, long), middle, end).toShape(),
            Part.makeLine(end, end + V(math.sin(1.0), 0, math.cos(1.0)) * long)]
    return Part.Wire(ways).makePipeShell([Part.Wire([Part.makeCircle(radius)])], True, False)


def lofted():
    """A swept cone: straight lines between circles one of which stands aside."""
    rims = [Part.Wire([Part.makeCircle(radius, center, V(0, 0, 1), *half) for half in ((0, 180), (180, 360))])
            for radius, center in ((50.0, V(0, 0, 0)), (30.0, V(20, 10, 90)))]
    return Part.makeLoft(rims, True, True)


def tab():
    """A plate with a round end, and a saddle that fits the tube."""
    ways = [Part.makeLine(V(0, 0, 0), V(60, 0, 0)), Part.Arc(V(60, 0, 0), V(80, 20, 0), V(60, 40, 0)).toShape(),
            Part.makeLine(V(60, 40, 0), V(0, 40, 0)), Part.makeLine(V(0, 40, 0), V(0, 0, 0))]
    return Part.Face(Part.Wire(ways)).extrude(V(0, 0, 6)).cut(Part.makeCylinder(16.0, 50, V(-5, 20, -10)))


TUBES = (straight, coped, drilled, bent)
OTHERS = (lambda: Part.makeBox(90, 60, 40), lambda: Part.makeCone(70, 40, 90), lambda: Part.makeCylinder(45, 80), lofted, tab,
          lambda: Part.makeBox(90, 90, 8).cut(Part.makeCylinder(25, 50, V(45, 45, -10))),
          lambda: Part.makeCylinder(60, 120, V(0, 0, 0), V(0, 0, 1), 140.0), coped)


def told(tube, other):
    """What is told of two shapes, None where nothing is; held against the host, on which surfaces the places are asked too."""
    kept = Kept()
    a, b = Body("a", tube, "a"), Body("b", other, "b")
    found = tube_distance.between(a, b, faces_of(a, kept), faces_of(b, kept), kept)
    shells = Part.Compound(tube.Faces), Part.Compound(other.Faces)
    away = round(shells[0].distToShape(shells[1])[0], 9)
    for limit in (0.0, 0.5 * away, 0.99 * away, 1.01 * away + 0.1):
        assert tube_distance.keep_apart(a, b, limit, kept) in (None, away > limit)
    if found is not None:
        assert found[0] == pytest.approx(away, abs=1e-6)
        assert np.linalg.norm(np.subtract(*found[1])) == pytest.approx(found[0], abs=1e-6)
        assert max(Part.Vertex(*place).distToShape(shell)[0] for place, shell in zip(found[1], shells)) < 1e-6
    return found


@pytest.mark.parametrize("number", range(len(OTHERS)))
def test_what_stands_beside_the_middle_of_a_tube_is_told(number):
    """Those that are no whole bodies of revolution with their round side to it, a tube across it."""
    turn = {6: App.Rotation(V(0, 0, 1), 130.0), 7: App.Rotation(V(1, 0.1, 0), 80.0)}.get(number, App.Rotation(V(1, 2, 3), 50.0))
    other = OTHERS[number]()
    for tube, place in ((straight(), V(100, 20, 280)), (coped(), V(100, -50, 240))):
        other.Placement = App.Placement(place - turn.multVec(V(0, 0, 300)) * (number == 7), turn)
        assert told(tube, other) is not None


def test_what_stands_outside_a_bend_is_told_by_its_straight_pieces():
    other = Part.makeBox(60, 60, 60, V(-120, -30, 120))
    assert told(bent(), other) == (pytest.approx(44.0, abs=1e-6), ((-16.0, pytest.approx(0.0), pytest.approx(120.0)), (-60.0, 0.0, 120.0)))


def test_what_stands_inside_a_bend_is_told_where_that_is_far():
    for low in (20, 130):
        assert told(bent(), Part.makeBox(60, 60, 60, V(60, -30, low)))[0] == pytest.approx(44.0, abs=1e-6)
    assert told(bent(), Part.makeBox(30, 60, 60, V(40, -30, 280))) is None


def test_a_plate_that_touches_a_tube_is_at_no_distance():
    """Its edge lies along the tube, or stands across it."""
    for place in (V(16, -20, 100), V(16, -20, 300)):
        found = told(coped(), Part.makeBox(8, 40, 60, place))
        assert found is not None and found[0] == 0.0


@pytest.mark.parametrize("other", [
    Part.makeBox(60, 60, 60, V(-30, -30, 650)),         # past its end
    Part.makeBox(200, 200, 10, V(-100, -100, 300)),     # through it
    Part.makeCylinder(40, 200, V(0, 0, 200)).cut(Part.makeCylinder(30, 200, V(0, 0, 200))),     # around it
    Part.makeBox(40, 6, 40, V(10, -3, 280))], ids=["past", "through", "around", "in"])      # in its wall
def test_what_the_center_line_does_not_tell_is_left_to_the_host(other):
    assert told(straight(), other) is None


def test_no_pair_is_told_another_distance_than_the_hosts(solids, seed):
    rng, count, many = random.Random(seed(1)), 0, solids(15)
    for _ in range(many):
        other = rng.choice(OTHERS)()
        axis = V(*(rng.uniform(-1, 1) for _ in range(3))) if rng.random() < 0.7 else V(*rng.choice(((1, 0, 0), (0, 1, 0), (0, 0, 1))))
        turn = App.Rotation(axis, rng.choice((0.0, 90.0, rng.uniform(0.0, 360.0))))
        other.Placement = App.Placement(V(rng.uniform(-150, 150), rng.uniform(-150, 150), rng.uniform(0, 500)), turn)
        count += told(rng.choice(TUBES)(), other) is not None
    assert count > many // 5


def test_a_round_end_that_stands_out_little_is_nearer_than_its_corners():
    """By 1 mm between corners 40 mm apart, 90 mm from the center line, which are 92.2 mm from it."""
    ways = [Part.makeLine(V(0, 0, 0), V(60, 0, 0)), Part.Arc(V(60, 0, 0), V(61, 20, 0), V(60, 40, 0)).toShape(),
            Part.makeLine(V(60, 40, 0), V(0, 40, 0)), Part.makeLine(V(0, 40, 0), V(0, 0, 0))]
    plate = Part.Face(Part.Wire(ways)).extrude(V(0, 0, 6))
    plate.Placement = App.Placement(V(-150, -20, 300), App.Rotation())
    assert told(straight(), plate)[0] == pytest.approx(89.0 - 16.0, abs=1e-9)
