"""Templates of coped ends against closed forms, and the shared line against the tube's own turns."""
from __future__ import annotations

import math

import numpy as np
import pytest

from crankline.geometry import cope
from crankline.geometry.piece import Bend, straight
from crankline.geometry.tube import Header


def piece(angle=math.pi / 2.0, clocking=0.0, header=44.45, diameter=31.75, offset=0.0):
    """A tube along x whose last end meets a header: angle between them, turned about the tube by clocking, offset beside the axis."""
    across = np.array([0.0, -math.sin(clocking), math.cos(clocking)])
    direction = math.cos(angle) * np.array([1.0, 0.0, 0.0]) + math.sin(angle) * across
    beside = np.cross([1.0, 0.0, 0.0], across) * offset
    return straight("tube", diameter, 2.4, (0.0, 0.0, 0.0), (500.0, 0.0, 0.0), (),
                    (Header((500.0, *beside[1:]), tuple(direction), header),))


@pytest.mark.parametrize("angle, header, offset", [(90.0, 44.45, 0.0), (90.0, 31.75, 0.0), (60.0, 44.45, 0.0), (45.0, 38.1, 0.0),
                                                  (90.0, 50.8, 6.0), (70.0, 63.5, 10.0)])
def test_a_cope_is_the_intersection_of_two_cylinders(angle, header, offset):
    """Closed form: a line at r cos, r sin from the axis meets the header at -(sqrt(R2 - (r sin - e)2) + r cos cos A) / sin A."""
    radians = math.radians(angle)
    first, last = cope.ends(piece(radians, header=header, offset=offset))
    turn, r = cope.turns(), 31.75 / 2.0
    # The header lies in the plane of the shared line, so what is beside it is the sine, less what the header is beside the tube.
    aside = r * np.sin(turn) - offset
    expected = (-np.sqrt(np.maximum((header / 2.0) ** 2 - aside ** 2, 0.0)) + r * np.cos(turn) * math.cos(radians)) / math.sin(radians)
    meets = np.abs(aside) < header / 2.0 - 1e-3
    assert last.outward[meets] == pytest.approx(expected[meets], abs=1e-6)
    assert first.square and last.angles == pytest.approx((radians,)) and last.diameters == (header,)


def test_published_depth_of_a_square_cope_of_equal_tubes():
    """Two tubes of one diameter at 90 deg: the cope is half a diameter deep (geometry of the equal tee)."""
    _first, last = cope.ends(piece(header=31.75))
    assert last.deepest == pytest.approx(31.75 / 2.0, abs=1e-6)
    assert cope.cut_length(piece(header=31.75), cope.ends(piece(header=31.75))) == pytest.approx(500.0, abs=1e-6)


@pytest.mark.parametrize("degrees", [0.0, 25.0, 90.0, 140.0])
def test_clocking_turns_the_curve(degrees):
    """A header turned about the tube turns its template by as much."""
    _first, straight_up = cope.ends(piece())
    _first, turned = cope.ends(piece(clocking=math.radians(degrees)))
    assert turned.clocking == pytest.approx((math.radians(degrees) % math.pi,), abs=1e-9)
    assert turned.outward == pytest.approx(np.roll(straight_up.outward, round(degrees)), abs=1e-6)


def test_both_ends_count_turns_from_one_line():
    """Parallel headers at both ends have one clocking, though their ends look in opposite directions."""
    headers = [Header((x, 0.0, 0.0), (0.0, 0.6, 0.8), 40.0) for x in (0.0, 500.0)]
    first, last = cope.ends(straight("tube", 25.4, 2.0, (0.0, 0.0, 0.0), (500.0, 0.0, 0.0), (headers[0],), (headers[1],)))
    assert first.clocking == pytest.approx(last.clocking) and first.outward == pytest.approx(last.outward, abs=1e-9)


def test_a_leg_on_a_bend_reaches_farther_beside_the_ring_than_on_its_back():
    """Square to a bend of radius R: in the bend's plane a line meets it at sqrt((R + d)2 - r2) - R, beside it at sqrt(d2 - r2), which is
    less (closed forms); both counted outward of the first end, which looks to the bend's center."""
    leg = straight("leg", 28.6, 2.0, (0.0, 0.0, 90.0), (0.0, 0.0, 300.0), (Bend((0.0, 0.0, 0.0), (1.0, 0.0, 0.0), 90.0, 31.75),), ())
    first, _last = cope.ends(leg)
    r, d = 28.6 / 2.0, 31.75 / 2.0
    # An upright tube's turns are counted from forward, which is the bend's axis.
    assert first.outward[[90, 270]] == pytest.approx(-(math.sqrt((90.0 + d) ** 2 - r ** 2) - 90.0), abs=1e-6)
    assert first.outward[[0, 180]] == pytest.approx(-math.sqrt(d ** 2 - r ** 2), abs=1e-6)
    assert first.angles == pytest.approx((math.pi / 2.0,))
