"""Simulated builds of the demo car, measured with the tools of its set-up sheet: what share of them is where the fit says."""
from __future__ import annotations

from functools import cache
from pathlib import Path

import numpy as np

from crankline import carfile
from crankline.mechanics import measured_points, pose_fit, set_up, sighting
from crankline.mechanics import scene as scenes
from crankline.mechanics.sighting import Sight
from crankline.record import filled

DEMO = Path(__file__).resolve().parents[1] / "demo_assemblies" / "full_bodied_automatic.yaml"


@cache
def demo():
    """(readings of the set-up sheet as the fit sees them, wanted state, base drop)."""
    car = carfile.read(DEMO)
    scene = scenes.of(car)
    points = measured_points.of(filled(car), scene)
    some = [sighting.observation(Sight(*set_up.sight(one)), points, scene, one.tolerance / pose_fit.NORMAL_95)
            for one in set_up.readings(filled(car), scene) if one.points]
    return some, pose_fit.wanted(scene), float(scene.engine.base_drop)


REGION_95 = 12.591587243743977
"""95 % point of chi-squared with 6 degrees of freedom: size of the region in which the true placement is."""


def coverage(count, seed=0):
    """Share of so many simulated builds whose true placement is in the 95 % region of the fit."""
    some, start, drop = demo()
    rng = np.random.default_rng(seed)
    true = start + 0.5 * pose_fit.SCALE * rng.normal(size=10)
    true[7] = start[7]          # no reading of the sheet tells where the rear joint is across the car
    sigma = np.array([one.sigma for one in some])
    values = pose_fit.predict(some, true, drop)[0] + sigma * rng.normal(size=(count, len(some)))
    found = pose_fit.fit(some, values, start, drop)
    six = pose_fit.OF_POWERTRAIN
    miss = (found.state - true)[:, six]
    return float(np.mean(np.einsum("bi,bij,bj->b", miss, np.linalg.inv(found.covariance[:, six, six]), miss) <= REGION_95))
