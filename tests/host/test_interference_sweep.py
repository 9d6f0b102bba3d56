"""Interference of whole cars over random placements, pitch included: what the check finds against every pair intersected.

The check sorts out by bounds and exact distances and intersects only what touches; here every two parts of the car whose boxes meet, as
the host tells them, are intersected: two that lie in boxes apart have nothing in common. The parts follow the placement and keep out of
each other's way, so in every car some of them, one tab and one upright among them, are put out of place by up to an inch and a half.
``--solids N`` looks at N placements of each car instead of one.
"""
from __future__ import annotations

import itertools
import math
import random
from dataclasses import replace

import cars
import FreeCAD as App
import pytest

from crankline.checks import evaluate
from crankline.features import read
from crankline.measure import distance, host_measurer, overlap, relations
from crankline.rules import rule_sets

pytestmark = pytest.mark.one_host

INCH = 25.4
DEMOS = ("full_bodied_automatic", "open_clutch")
ASTRAY, BY = 5, 38.0
"""How many parts of a car are put out of place, and by up to how many mm along each axis."""

SHALLOW = 1e-3
"""mm below which an overlap is a contact to one and an overlap to the other: far below any limit."""


def astray(parts, rng):
    shaped = [part for part in parts if part.shape is not None]
    chosen = {rng.choice([part.key for part in shaped if part.key.startswith(stem)]) for stem in ("rail_tab", "upright")}
    chosen |= set(rng.sample([part.key for part in shaped if part.key not in chosen], ASTRAY - len(chosen)))

    def moved(part):
        shape = part.shape.copy()
        shape.translate(App.Vector(*(rng.uniform(-BY, BY) for _ in range(3))))
        return replace(part, shape=shape)
    return tuple(moved(part) if part.key in chosen else part for part in parts)


@pytest.mark.parametrize("name", DEMOS)
def test_no_interference_is_missed(name, solids):
    rule, = (item for item in rule_sets.select(["clearance"]).rules if item.id == "CLR-INTERFERENCE")
    rng = random.Random(f"whole {name}")
    document = cars.document(name, f"interference_{name}")
    met = 0
    try:
        layout = read.only_layout(document)
        for number in range(solids(1)):
            layout.AxleToBlock, layout.CrankHeight = rng.uniform(78, 88) * INCH, rng.uniform(9, 11.5) * INCH
            layout.Pitch = rng.uniform(0.0, 3.5)
            document.recompute()
            now = read.snapshot(layout)
            now = replace(now, parts=astray(now.parts, rng))
            bad = {item.key for item in now.unsound}
            parts = {part.key: part for part in now.parts if not relations.declaration(part).reference and part.key not in bad}
            bodies = [distance.Body(key, parts[key].shape, f"{parts[key].kind} {parts[key].digest}") for key in sorted(parts)]
            boxes = {body.key: body.shape.BoundBox for body in bodies}
            for box in boxes.values():
                box.enlarge(1.0)
            kept = distance.Kept()
            met_by_us = [distance.between(a, b, kept) for a, b in distance.near_pairs(bodies, 0.0, kept)]
            ours = {(one.a, one.b): one for one in met_by_us if one.distance < 0.0}
            brute = set()
            for a, b in itertools.combinations(bodies, 2):
                if not boxes[a.key].intersect(boxes[b.key]):
                    continue
                if any(solid.Volume > overlap.VOLUME for solid in a.shape.common(b.shape).Solids):
                    brute.add((a.key, b.key))
            where = f"{name} {number}: {layout.AxleToBlock}, {layout.CrankHeight}, {layout.Pitch}"
            assert set(ours) == brute, where
            # Each of them is a finding with its parts and depth, unless its kind of joint allows as much.
            told = {tuple(sorted(item.subjects)): item for item in evaluate.evaluate([rule], now, host_measurer.HostMeasurer(kept))
                    if item.state == "open"}
            deep = {pair for pair in brute if ours[pair].depth > relations.allowed(parts[pair[0]], parts[pair[1]]) + SHALLOW}
            assert set(told) >= deep, where
            assert all(pair in brute for pair in told), where
            assert all(item.measured > 0.0 and math.isfinite(item.measured) for item in told.values())
            met += len(brute)
    finally:
        App.closeDocument(document.Name)
    assert met > 0, "no two parts met, so this proves nothing"
