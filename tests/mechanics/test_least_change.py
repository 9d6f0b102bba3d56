"""The least change that passes, against every whole number tried one by one."""
from __future__ import annotations

import math
import random
from collections.abc import Callable

import pytest

from crankline.remedies import least_change

REACH = 400


def solved(search: least_change.Search, margin: Callable[[float], float]) -> float | None:
    """What a search finds on a margin, tried at one go."""
    try:
        change = next(search)
        while True:
            change = search.send(margin(change))
    except StopIteration as end:
        return end.value


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
        assert solved(least_change.least(margin(0.0), ways, REACH, 1.0), margin) == brute(margin, ways)


@pytest.mark.parametrize("ways", [(1.0,), (-1.0,), (1.0, -1.0)])
def test_edge_finds_a_line_with_few_tries_and_never_names_what_fails(ways):
    for _name, margin in (case for case in cases() if case[0] == "line"):
        if margin(0.0) >= 0.0:
            continue
        tried = []

        def counted(x, tried=tried, margin=margin):
            tried.append(x)
            return margin(x)
        found = solved(least_change.edge(margin(0.0), abs(margin(0.0)), ways, REACH, 1.0, True), counted)
        least = brute(margin, ways)
        assert len(tried) <= 2 * len(ways) * least_change.TRIES
        if found is not None:
            assert margin(found) >= 0.0 and abs(found) <= abs(least) + max(2, abs(least) // 10)
        elif least is not None:
            assert abs(least) > 0.9 * REACH or abs(margin(1.0) - margin(0.0)) < 0.2     # nearly out of reach, or hardly moving


@pytest.mark.parametrize("ways", [(1.0,), (-1.0,), (1.0, -1.0)])
def test_parting_knows_only_what_passes_and_never_names_what_fails(ways):
    """A line beyond which it passes is found to a fiftieth; what passes nowhere is left after two tries a way."""
    rng = random.Random(3)
    for _ in range(200):
        limit, sign = rng.randint(5, REACH - 1), rng.choice((1.0, -1.0))
        tried = []

        def margin(x, limit=limit, sign=sign, tried=tried):
            tried.append(x)
            return 0.0 if sign * x >= limit else -math.inf
        found = solved(least_change.parting(4.0, ways, REACH, 1.0), margin)
        assert len(set(tried)) <= len(ways) * (least_change.LADDER + least_change.TRIES)
        if sign in ways:
            assert margin(found) >= 0.0 and limit <= abs(found) <= limit + max(1, limit // 20)
        else:
            assert found is None and len(tried) == 2


def test_parting_takes_the_nearer_way():
    def margin(x):
        return 0.0 if x <= -50.0 or x >= 300.0 else -math.inf
    assert -52.0 <= solved(least_change.parting(10.0, (1.0, -1.0), REACH, 1.0), margin) <= -50.0


def test_parting_takes_what_was_the_least_elsewhere_if_it_is_here():
    def margin(x):
        tried.append(x)
        return 0.0 if x >= 100.0 else -math.inf
    for known, few in ((100.0, True), (140.0, False), (60.0, False)):
        tried = []
        found = solved(least_change.parting(10.0, (1.0, -1.0), REACH, 1.0, (known,)), margin)
        assert 100.0 <= found <= 102.0 and (len(tried) == 2) is few
