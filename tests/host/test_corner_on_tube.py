"""Corners that lie on a tube, told without the host where it is uncut, against the host's distances."""
from __future__ import annotations

import FreeCAD as App
import Part
import pytest

from crankline.measure import touch
from crankline.measure.body import Body
from crankline.measure.distance import air
from crankline.measure.kept import Kept

V = App.Vector
RADIUS = 20.0
HOLE = Part.makeCylinder(6.0, 30.0, V(0, 0, 150), V(1, 0, 0))
TUBE = Part.makeCylinder(RADIUS, 200.0).cut([Part.makeCylinder(17.0, 200.0), HOLE]).Solids[0]
PLACE = App.Placement(V(2000, 300, -20), App.Rotation(V(1, 2, 3), 40.0))


def told(height, off, limit):
    """(the corner that is found, least distance of a corner of a wedge from the tube, mm, of which one stands off it at a height)."""
    wedge = Part.makeWedge(RADIUS + off, height, 0, height + 5, 5, RADIUS + off + 30, height + 10, 10, height + 5, 5).Solids[0]
    bodies = []
    for key, shape in (("wedge", wedge), ("tube", TUBE)):
        shape = shape.copy()
        shape.Placement = PLACE
        bodies.append(Body(key, shape, f"{key} {height} {off}"))
    corners = [vertex.Point for vertex in bodies[0].shape.Vertexes]
    return (touch.corner_on_tube(*bodies, limit, Kept()),
            min(bodies[1].shape.Shells[0].distToShape(Part.Vertex(corner))[0] for corner in corners), bodies)


@pytest.mark.parametrize("height", [-20.0, -0.04, 30.0, 100.0, 149.0, 152.0, 170.0, 199.99, 230.0])
def test_a_corner_on_a_tube_is_one_that_the_host_finds_there(height):
    for off in (0.0, 0.01, 0.02, 0.03, 1.0):
        for limit in (1e-6, touch.TOUCHING):
            found, least, bodies = told(height, off, limit)
            assert (found is not None) == (least < limit and off < 0.5 * touch.TOUCHING), (off, limit, least)
            if found is not None:
                assert bodies[1].shape.Shells[0].distToShape(Part.Vertex(V(*found)))[0] < limit
                assert limit > 1e-5 or air(*bodies, Kept()).points[0] == found
