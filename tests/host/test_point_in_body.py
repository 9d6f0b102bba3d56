"""Where a point stands to a body, told from its skin, against the host's own distances and insides."""
from __future__ import annotations

import FreeCAD as App
import numpy as np
import Part
import pytest

from crankline.measure import point_in_body, skin

V = App.Vector
PLATE = Part.makeBox(60.0, 40.0, 6.0).cut([Part.makeCylinder(9.0, 6.0, V(20, 20, 0)), Part.makeCylinder(4.0, 6.0, V(45, 25, 0))]).Solids[0]
TUBE = Part.makeCylinder(20.0, 80.0).cut(Part.makeCylinder(17.0, 80.0)).Solids[0]
RING = Part.makeTorus(30.0, 8.0)


@pytest.mark.parametrize("solid", [PLATE, TUBE, RING], ids=["plate", "tube", "ring"])
def test_what_the_skin_shows_of_a_point_is_so(solid):
    own, box, shown, random = skin.of(solid), solid.BoundBox, 0, np.random.default_rng(5)
    low, high = np.array([box.XMin, box.YMin, box.ZMin]), np.array([box.XMax, box.YMax, box.ZMax])
    for point in random.uniform(low - 1.0, high + 1.0, (150, 3)):
        vertex = Part.Vertex(V(*point.tolist()))
        near = point_in_body.near_faces(own, point, 0.25)
        for number, face in enumerate(solid.Faces):
            distance = face.distToShape(vertex)[0]
            assert distance > 0.25 if number not in near else distance <= near[number] + 1e-9
        held = point_in_body.holds(own, point, 1e-4)
        shown += held is not None
        assert held is None or held is solid.isInside(vertex.Point, 1e-4, True)
    assert shown > 75


def test_a_point_lies_on_or_under_a_plane_face_but_not_in_a_round_hole_that_its_triangles_reach_into():
    own = skin.of(PLATE)
    top = next(number for number, normal in enumerate(own.normals) if normal[2] > 0.5)
    triangles = own.corners[own.of_face(top)]
    middles = np.concatenate([triangles.mean(axis=1), 0.5 * (triangles[:, 0] + triangles[:, 1]), 0.5 * (triangles[:, 1] + triangles[:, 2])])
    off = np.array([PLATE.Faces[top].distToShape(Part.Vertex(V(*point.tolist())))[0] for point in middles])
    lie = np.array([point_in_body.lies_on(own, point) for point in middles])
    assert lie.any() and off[lie].max() < 1e-6 and not point_in_body.lies_on(own, np.array([30.0, 20.0, 3.0]))
    for depth in (0.0, 0.3, 2.0):
        alone = np.array([point_in_body.is_alone(own, top, point - [0.0, 0.0, depth], depth) for point in middles])
        assert alone.any() and (off > 1e-3).any() and off[alone].max() < 1e-6
        for point in middles[alone] - [0.0, 0.0, depth]:
            assert abs(PLATE.Shells[0].distToShape(Part.Vertex(V(*point.tolist())))[0] - depth) < 1e-9
    assert not any(point_in_body.is_alone(own, top, point - [0.0, 0.0, 3.1], 3.1) for point in middles)
