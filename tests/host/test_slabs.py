"""What slabs tell of a long body and what stands around it, against the host's distance."""
from __future__ import annotations

import random

import FreeCAD as App
import numpy as np
import Part
import pytest

from crankline.measure import proof, skin, slabs
from crankline.measure.body import Body, matrix
from crankline.measure.kept import Kept

V = App.Vector


def shaft():
    """A cone and a tube behind it, along Z."""
    return Part.makeCone(55.0, 40.0, 700.0).fuse(Part.makeCylinder(40.0, 300.0, V(0, 0, 700)))


def test_no_slab_tells_more_than_the_host_and_what_runs_beside_it_is_told_closely():
    rng, body = random.Random(4), shaft()
    around, shell, close = slabs.of(skin.of(body)), Part.Compound(body.Faces), 0
    assert around is not None
    for _ in range(12):
        panel = Part.makeBox(600, 80, 4)
        panel.Placement = App.Placement(V(rng.uniform(60, 200), rng.uniform(-200, 200), rng.uniform(0, 300)),
                                        App.Rotation(V(0, 1, 0), rng.uniform(-100, -80)))
        gaps = around.gaps(skin.of(Part.makeBox(600, 80, 4)), matrix(panel.Placement))
        away = shell.distToShape(Part.Compound(panel.Faces))[0]
        assert gaps.min() <= away + 1e-6
        close += gaps.min() > 0.9 * away - 5.0
    assert close >= 6


def test_what_is_not_long_has_none():
    assert slabs.of(skin.of(Part.makeBox(100, 80, 60))) is None


@pytest.mark.parametrize("turned", (False, True))
def test_gaps_of_faces_are_bounds_whichever_of_both_is_long(turned):
    panel = Part.makeBox(4, 80, 600, V(70, -20, 40))
    a, b = (Body(key, shape, key) for key, shape in zip("ab", (panel, shaft())[::-1 if turned else 1]))
    kept = Kept()
    exact = np.array([[one.distToShape(other)[0] for other in b.shape.Faces] for one in a.shape.Faces])
    gaps, bound = proof.face_gaps(a, b, 1e3, lambda i, j: exact[i, j], kept)
    assert bound >= exact.min() - 1e-6
    assert np.all((gaps <= exact + 1e-6) | (exact > bound)) and np.isfinite(gaps).sum() < exact.size // 2
    assert proof.keep_apart(a, b, 0.9 * exact.min() - 5.0, kept) and not proof.keep_apart(a, b, exact.min() + 0.1, kept)
