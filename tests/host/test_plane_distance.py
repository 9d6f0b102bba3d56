"""The distance from an outer plane face in closed form against the host's exact one.

``--solids N`` takes N pairs that stand anywhere.
"""
from __future__ import annotations

import random

import FreeCAD as App
import numpy as np
import Part
import pytest

from crankline.measure import plane_distance
from crankline.measure.body import Body
from crankline.measure.kept import Kept

V = App.Vector


def arch(width=120.0, high=90.0, long=200.0):
    """A sheet bent over an arch, as a tunnel is, along X."""
    def half(radius):
        upper = Part.makeBox(long, 4 * radius, radius, V(0, -2 * radius, high))
        return Part.makeCylinder(radius, long, V(0, 0, high), V(1, 0, 0)).common(upper)

    def sides(radius):
        return Part.makeBox(long, 2 * radius, high, V(0, -radius, 0))

    outer, inner = (half(radius).fuse(sides(radius)).removeSplitter() for radius in (0.5 * width, 0.5 * width - 2.0))
    return outer.cut(inner)


def lofted():
    rims = [Part.Wire([Part.makeCircle(radius, center, V(0, 0, 1), *half) for half in ((0, 180), (180, 360))])
            for radius, center in ((50.0, V(0, 0, 0)), (30.0, V(20, 10, 90)))]
    return Part.makeLoft(rims, True, True)


OTHERS = (arch, lofted, lambda: Part.makeBox(60, 40, 30), lambda: Part.makeCone(40, 20, 80), lambda: Part.makeCylinder(30, 90),
          lambda: Part.makeBox(90, 90, 8).cut(Part.makeCylinder(25, 50, V(45, 45, -10))),
          lambda: Part.makeCylinder(50, 90, V(0, 0, 0), V(0, 0, 1), 140.0))


def told(flat, other):
    """What is told of two shapes, None where nothing is; held against the host, on which surfaces the places are asked too."""
    found = plane_distance.between(Body("a", flat, "a"), Body("b", other, "b"), Kept())
    if found is not None:
        shells = Part.Compound(flat.Faces), Part.Compound(other.Faces)
        assert found[0] == pytest.approx(shells[0].distToShape(shells[1])[0], abs=1e-6)
        assert np.linalg.norm(np.subtract(*found[1])) == pytest.approx(found[0], abs=1e-6)
        assert max(Part.Vertex(*place).distToShape(shell)[0] for place, shell in zip(found[1], shells)) < 1e-6
    return found


@pytest.mark.parametrize("number", range(len(OTHERS)))
def test_what_stands_over_a_plane_face_is_told(number):
    room = Part.makeBox(400, 400, 200, V(-200, -200, -200))
    room.Placement = App.Placement(V(30, 20, 10), App.Rotation(V(1, 0.5, 0.2), 20.0))
    for turn in (App.Rotation(), App.Rotation(V(1, 2, 3), 70.0)):
        other = OTHERS[number]()
        other.Placement = room.Placement.multiply(App.Placement(V(-20, -30, 120), turn))
        assert told(room, other) is not None
        assert told(other, room) is not None


def test_what_stands_beside_the_face_or_meets_the_body_is_left_to_the_host():
    room = Part.makeBox(100, 100, 100)
    for low in (V(150, 150, 150), V(20, 20, 100), V(20, 20, 80), V(110, 20, 150)):
        assert told(room, Part.makeBox(20, 20, 60, low)) is None
    notched = room.cut(Part.makeBox(40, 200, 40, V(30, -50, 60)))
    assert told(notched, Part.makeBox(20, 20, 10, V(40, 40, 75))) is None


def test_no_pair_is_told_another_distance_than_the_hosts(solids, seed):
    rng = random.Random(seed(1))
    for _ in range(solids(15)):
        other = rng.choice(OTHERS)()
        turn = App.Rotation(V(*(rng.uniform(-1, 1) for _ in range(3))), rng.choice((0.0, 90.0, rng.uniform(0.0, 360.0))))
        other.Placement = App.Placement(V(*(rng.uniform(-150, 250) for _ in range(3))), turn)
        told(rng.choice((lambda: Part.makeBox(150, 120, 60), arch, OTHERS[5]))(), other)
