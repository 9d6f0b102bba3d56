"""The least change that passes, against every whole number tried one by one."""
from __future__ import annotations

import math
import random

import pytest

from crankline.remedies import least_change

REACH = 400


def brute(margin, ways):
    found = [sign * count for count in range(1, REACH + 1) for sign in ways if margin(sign * count) >= 0.0]
    return min(found, key=abs, default=None)


def cases():
    rng = random.Random(7)
    for _ in range(200):
        edge, slope = rng.uniform(-REACH * 1.2, REACH * 1.2), rng.choice((-1.0, 1.0)) * rng.uniform(0.1, 5.0)
        yield "line", lambda x, edge=edge, slope=slope: slope * (x - edge)
        low, width = rng.uniform(-REACH, REACH), rng.uniform(3.0, 40.0)
        yield "window", lambda x, low=low, width=width: min(x - low, low + width - x)
        bend = rng.uniform(1.5, 3.0)
        yield "bent", lambda x, edge=edge, bend=bend: math.copysign(abs(x - edge) ** bend, x - edge)


@pytest.mark.parametrize("kind", ["line", "window", "bent"])
@pytest.mark.parametrize("ways", [(1.0,), (-1.0,), (1.0, -1.0)])
def test_least_is_what_trying_every_number_finds(kind, ways):
    for margin in (margin for name, margin in cases() if name == kind):
        if margin(0.0) >= 0.0:
            continue
        assert least_change.least(margin, margin(0.0), ways, REACH, 1.0) == brute(margin, ways)


@pytest.mark.parametrize("ways", [(1.0,), (-1.0,), (1.0, -1.0)])
def test_edge_finds_a_line_with_few_tries_and_never_names_what_fails(ways):
    for _name, margin in (case for case in cases() if case[0] == "line"):
        if margin(0.0) >= 0.0:
            continue
        tried = []

        def counted(x, tried=tried, margin=margin):
            tried.append(x)
            return margin(x)
        found, least = least_change.edge(counted, margin(0.0), abs(margin(0.0)), ways, REACH, 1.0, True), brute(margin, ways)
        assert len(tried) <= 2 * len(ways) * least_change.TRIES
        if found is not None:
            assert margin(found) >= 0.0 and abs(found) <= abs(least) + max(2, abs(least) // 10)
        elif least is not None:
            assert abs(least) > 0.9 * REACH or abs(margin(1.0) - margin(0.0)) < 0.2     # nearly out of reach, or hardly moving
