"""Faces that are cut into triangles without the mesher, against closed forms and against the host's own surfaces."""
import math

import FreeCAD as App
import numpy as np
import Part
import pytest

from crankline.measure import plain_face, skin

RADIUS, HEIGHT = 40.0, 90.0
CHORDS = math.ceil(2.0 * math.pi / min(plain_face.TURN, 2.0 * math.acos(1.0 - plain_face.SAG / RADIUS)))
BAR = Part.makeCylinder(RADIUS, HEIGHT)
PIPE = BAR.cut(Part.makeCylinder(30.0, HEIGHT)).Solids[0]
CONE = Part.makeCone(RADIUS, 25.0, HEIGHT)
WEDGE = Part.makeCylinder(RADIUS, HEIGHT, App.Vector(3.0, 4.0, 5.0), App.Vector(1.0, 2.0, -3.0), 75.0)
BOX = Part.makeBox(10.0, 20.0, 30.0)


def slot(length, radius):
    """The face of a slot hole."""
    half = 0.5 * length
    ends = [App.Vector(x, y, 0.0) for x, y in ((-half, -radius), (half, -radius), (half, radius), (-half, radius))]
    tips = (1, half + radius, 2), (3, -half - radius, 0)
    arcs = [Part.Arc(ends[start], App.Vector(far, 0.0, 0.0), ends[end]) for start, far, end in tips]
    edges = [Part.makeLine(ends[0], ends[1]), arcs[0].toShape(), Part.makeLine(ends[2], ends[3]), arcs[1].toShape()]
    return Part.Face(Part.Wire(edges))


def bend():
    """A face between two arcs that the host keeps as a surface of splines, as the bends of lofted sheet are."""
    arcs = [Part.Arc(*(App.Vector(radius * math.cos(turn), radius * math.sin(turn), z) for turn in (0.2, 0.9, 1.6))).toShape()
            for radius, z in ((50.0, 0.0), (35.0, 120.0))]
    return Part.makeLoft([Part.Wire(arc) for arc in arcs], False, True).Faces[0]


def areas(triangles):
    """(t,) of (t, 3, 3)."""
    return 0.5 * np.linalg.norm(np.cross(triangles[:, 1] - triangles[:, 0], triangles[:, 2] - triangles[:, 0]), axis=1)


def made_of(face):
    return plain_face.triangles(face, face.Surface)


def test_a_bar_is_a_prism_over_its_chords():
    """Area and sagitta of a regular polygon in a circle: 1/2 n r^2 sin(2 pi/n), r (1 - cos(pi/n))."""
    polygon = 0.5 * CHORDS * RADIUS ** 2 * math.sin(2.0 * math.pi / CHORDS)
    side = 2.0 * CHORDS * RADIUS * math.sin(math.pi / CHORDS) * HEIGHT
    for face in BAR.Faces:
        triangles, off = made_of(face)
        assert areas(triangles).sum() == pytest.approx(side if face.Surface.TypeId == "Part::GeomCylinder" else polygon, rel=1e-12)
        assert off == pytest.approx(RADIUS * (1.0 - math.cos(math.pi / CHORDS)), rel=1e-12)


@pytest.mark.parametrize("shape", [BAR, PIPE, CONE, WEDGE, BOX], ids=["bar", "pipe", "cone", "wedge", "box"])
def test_skins_of_plain_faces_turn_outward(shape):
    """What they hold by the divergence theorem is the solid but for what chords cut off; areas as vectors add up to none, as those of
    whatever is closed do, but for the smaller end of a cone, whose cap has fewer chords than its side."""
    assert all(made_of(face) is not None for face in shape.Faces)
    corners = skin.of(shape).corners
    assert np.einsum("ti,ti->t", corners[:, 0], np.cross(corners[:, 1], corners[:, 2])).sum() / 6.0 == pytest.approx(shape.Volume, rel=0.02)
    open_ = np.linalg.norm(0.5 * np.cross(corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0]).sum(axis=0))
    assert open_ < (0.01 * math.pi * 25.0 ** 2 if shape is CONE else 1e-9)


@pytest.mark.parametrize("face", [*BAR.Faces, *PIPE.Faces, *CONE.Faces, *WEDGE.Faces, slot(30.0, 8.0), bend()])
def test_a_face_stands_no_farther_off_than_told(face):
    triangles, off = made_of(face)
    flat = Part.Compound([Part.Face(Part.makePolygon([App.Vector(*corner) for corner in (*one.tolist(), one[0].tolist())]))
                          for one in triangles[areas(triangles) > 1e-6]])
    low_u, high_u, low_v, high_v = face.ParameterRange
    random, seen = np.random.default_rng(7), 0
    for u, v in random.uniform((low_u, low_v), (high_u, high_v), (60, 2)).tolist():
        point = Part.Vertex(face.valueAt(u, v))
        if face.distToShape(point)[0] < 1e-7:
            seen += 1
            assert flat.distToShape(point)[0] <= off + 1e-9
    assert seen > 20
    for corner in triangles.reshape(-1, 3)[::7]:
        assert face.distToShape(Part.Vertex(App.Vector(*corner)))[0] < 1e-7


def ell():
    corners = [App.Vector(*corner) for corner in ((0, 0, 0), (9, 0, 0), (9, 3, 0), (3, 3, 0), (3, 9, 0), (0, 9, 0), (0, 0, 0))]
    return Part.Face(Part.makePolygon(corners))


NOTCHED = max(BAR.cut(Part.makeCylinder(5.0, HEIGHT, App.Vector(38.0, 0.0, 0.0))).Faces,
              key=lambda face: (face.Surface.TypeId == "Part::GeomPlane", len(face.Edges)))
COPED = PIPE.cut(Part.makeCylinder(RADIUS, 200.0, App.Vector(0.0, -100.0, HEIGHT), App.Vector(0.0, 1.0, 0.0)))


@pytest.mark.parametrize("face", [
    ell(), BOX.cut(Part.makeBox(4.0, 8.0, 30.0, App.Vector(3.0, 6.0, 0.0))).Faces[4], Part.makeTorus(30.0, 5.0).Faces[0],
    max(COPED.Faces, key=lambda face: face.Area), NOTCHED],
    ids=["L", "square hole", "torus", "coped", "notched"])
def test_others_are_left_to_the_mesher(face):
    assert made_of(face) is None
