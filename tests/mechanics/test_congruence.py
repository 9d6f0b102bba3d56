"""Equal pieces are known wherever they lie, mirrored ones are told apart, and what differs by more than the tolerance is not equal."""
from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.spatial.transform import Rotation

from crankline.geometry.congruence import Body, Face, congruent


def bracket(hole=12.0):
    """A bar with a lug on one side and a hole off its middle: six planes and a bore, as (center, normal, area)."""
    planes = [((0, 0, 5), (0, 0, 1), 900.0), ((0, 0, -5), (0, 0, -1), 1000.0), ((50, 0, 0), (1, 0, 0), 200.0),
              ((-50, 0, 0), (-1, 0, 0), 200.0), ((3, 10, 1), (0, 1, 0), 700.0), ((0, -10, 0), (0, -1, 0), 1000.0)]
    faces = [Face("Plane", (), area, tuple(map(float, center)), tuple(map(float, normal)), True) for center, normal, area in planes]
    faces.append(Face("Cylinder", (hole / 2.0,), 20.0 * np.pi * hole, (30.0, 4.0, 2.0), (0.0, 0.0, 1.0)))
    return Body(18000.0, tuple(faces))


def moved(body: Body, rotation: Rotation, by) -> Body:
    """The body elsewhere, its faces in another order, its axes told the other way round."""
    def face_at(face):
        turned = rotation.apply(face.direction)
        return replace(face, centroid=tuple(rotation.apply(face.centroid) + by), direction=tuple(turned if face.outward else -turned))

    return replace(body, faces=tuple(map(face_at, reversed(body.faces))))


def tube(clocking: float) -> Body:
    """A coped tube: outside, bore, and at each end the hollow of a header that is square to it; clocking: rad between the headers."""
    ends = [Face("Cylinder", (19.0,), 300.0, (x, 0.0, 0.0), (0.0, float(np.cos(turn)), float(np.sin(turn))))
            for x, turn in ((0.0, 0.0), (400.0, clocking))]
    sides = [Face("Cylinder", (radius,), 2.0 * np.pi * radius * 390.0, (200.0, 0.0, 0.0), (1.0, 0.0, 0.0)) for radius in (16.0, 14.0)]
    return Body(70000.0, (*ends, *sides))


rotations = st.tuples(*[st.floats(-3.0, 3.0)] * 3).map(Rotation.from_rotvec)
offsets = st.tuples(*[st.floats(-500.0, 500.0)] * 3).map(np.array)


@settings(max_examples=25, deadline=None)
@given(rotations, offsets)
def test_a_piece_is_itself_wherever_it_lies(rotation, by):
    assert congruent(bracket(), moved(bracket(), rotation, by))
    assert not congruent(bracket(), moved(bracket().mirrored(), rotation, by))
    assert congruent(bracket().mirrored(), moved(bracket().mirrored(), rotation, by))


@pytest.mark.parametrize("degrees, chiral", [(0.0, False), (90.0, False), (60.0, True), (20.0, True)])
def test_a_tube_with_turned_copes_is_its_mirror_image_only_where_they_are_parallel_or_square(degrees, chiral):
    one = tube(np.radians(degrees))
    assert congruent(one, moved(one, Rotation.from_rotvec([0.3, -1.0, 2.0]), np.array([5.0, 6.0, 7.0])))
    assert congruent(one, one.mirrored()) is not chiral
    assert congruent(one.mirrored(), tube(np.radians(-degrees)))


@pytest.mark.parametrize("by, equal", [(0.02, True), (0.4, False)])
def test_a_hole_that_is_wider_by_more_than_the_tolerance_makes_another_piece(by, equal):
    assert congruent(bracket(), bracket(12.0 + by)) is equal


def test_a_body_of_revolution_has_no_side():
    bar = Body(1000.0, (Face("Cylinder", (10.0,), 600.0, (0.0, 0.0, 0.0), (1.0, 0.0, 0.0)),
                        Face("Plane", (), 314.0, (5.0, 0.0, 0.0), (1.0, 0.0, 0.0), True),
                        Face("Plane", (), 314.0, (-5.0, 0.0, 0.0), (-1.0, 0.0, 0.0), True)))
    assert congruent(bar, bar.mirrored()) and congruent(bar, moved(bar, Rotation.from_rotvec([0.0, 2.0, 0.5]), np.ones(3)))
    assert not congruent(bar, replace(bar, volume=1200.0))
