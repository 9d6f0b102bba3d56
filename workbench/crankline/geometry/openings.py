"""Round openings of plates that may run into each other (damper and cam cover, crank and starter): one exact cut of arcs.

The union of overlapping circles is a loop of arcs with cusps where they meet; the cusps are rounded, because a sharp point of
plate cracks. Numbers only, no host.
"""
from __future__ import annotations

import itertools
import math
from collections.abc import Sequence

from .outline import TOUCH, Circle, Loop, Vertex

ROUNDING = 3.0
"""Radius of the rounded cusps, mm (common practice, no source); less where there is no room."""


def merged(openings: Sequence[Sequence[float]], rounding: float = ROUNDING) -> tuple[Loop | Circle, ...]:
    """Loops and circles of round openings (y, z, diameter): what overlaps becomes one loop, what lies inside another goes.

    Material that overlapping openings surround falls out with them.
    """
    circles = [Circle(*map(float, item)) for item in openings]
    kept = [c for i, c in enumerate(circles) if not any(_inside(c, other) and not (_inside(other, c) and i < j)
                                                        for j, other in enumerate(circles) if j != i)]
    found: list[Loop | Circle] = []
    for cluster in _clusters(kept):
        found.append(cluster[0] if len(cluster) == 1 else _loop(cluster, rounding))
    return tuple(found)


def covers(openings: Sequence[Sequence[float]], hole: Sequence[float]) -> bool:
    """Whether one of the openings takes a whole hole (y, z, diameter) away."""
    y, z, diameter = hole
    return any(math.hypot(y - a, z - b) + diameter / 2.0 <= d / 2.0 for a, b, d in openings)


def _distance(a: Circle, b: Circle) -> float:
    return math.hypot(a.y - b.y, a.z - b.z)


def _inside(a: Circle, b: Circle) -> bool:
    return _distance(a, b) + a.diameter / 2.0 <= b.diameter / 2.0 + TOUCH


def _clusters(circles: list[Circle]) -> list[list[Circle]]:
    clusters: list[list[Circle]] = []
    for circle in circles:
        near = [c for c in clusters if any(_distance(circle, o) < (circle.diameter + o.diameter) / 2.0 - TOUCH for o in c)]
        clusters = [c for c in clusters if not any(c is n for n in near)] + [[*itertools.chain.from_iterable(near), circle]]
    return clusters


def _free_arcs(circles: list[Circle]) -> list[tuple[int, float, float]]:
    """(circle, start angle, end angle), counterclockwise, of every arc that no other circle covers."""
    arcs = []
    for i, a in enumerate(circles):
        r, covered = a.diameter / 2.0, []
        for j, b in enumerate(circles):
            d, s = _distance(a, b), b.diameter / 2.0
            if j == i or d >= r + s - TOUCH or d <= abs(r - s):
                continue
            middle, half = math.atan2(b.z - a.z, b.y - a.y), math.acos(max(-1.0, min(1.0, (d * d + r * r - s * s) / (2.0 * d * r))))
            covered.append((middle - half, 2.0 * half))
        covered = sorted((start % math.tau, width) for start, width in covered)
        first, end = covered[0][0], covered[0][0] + covered[0][1]
        for start, width in covered[1:] + [(first + math.tau, 0.0)]:
            if start > end + 1e-12:
                arcs.append((i, end, start))
            end = max(end, start + width)
    return arcs


def _loop(circles: list[Circle], rounding: float) -> Loop:
    arcs = _free_arcs(circles)

    def at(i: int, angle: float) -> tuple[float, float]:
        c = circles[i]
        return c.y + c.diameter / 2.0 * math.cos(angle), c.z + c.diameter / 2.0 * math.sin(angle)

    # The highest arc belongs to the outer line; inner lines surround what falls out.
    def highest(arc):
        i, start, end = arc
        up = math.ceil((start - math.pi / 2.0) / math.tau) * math.tau + math.pi / 2.0
        return circles[i].z + circles[i].diameter / 2.0 if up <= end else max(at(i, start)[1], at(i, end)[1])

    chain = [max(arcs, key=highest)]
    while True:
        end = at(chain[-1][0], chain[-1][2])
        following = min((arc for arc in arcs), key=lambda arc: math.dist(at(arc[0], arc[1]), end))
        if following is chain[0] or len(chain) > len(arcs):
            break
        chain.append(following)
    trimmed = rounding
    while trimmed > 0.05:
        vertices = _rounded(circles, chain, at, trimmed)
        if vertices is not None:
            return Loop(vertices)
        trimmed /= 2.0
    return Loop(tuple(Vertex(*at(i, start), math.tan((end - start) / 4.0)) for i, start, end in chain))


def _rounded(circles, chain, at, radius: float) -> tuple[Vertex, ...] | None:
    """Vertices with every cusp rounded by an arc that touches both its circles from outside; None where one has no room."""
    starts, ends, centers = [0.0] * len(chain), [0.0] * len(chain), []
    for k, (i, _, end) in enumerate(chain):
        n = (k + 1) % len(chain)
        j, start, _ = chain[n]
        a, b = circles[i], circles[j]
        d, ra, rb = _distance(a, b), a.diameter / 2.0 + radius, b.diameter / 2.0 + radius
        along = (d * d + ra * ra - rb * rb) / (2.0 * d)
        aside = math.sqrt(max(0.0, ra * ra - along * along))
        uy, uz = (b.y - a.y) / d, (b.z - a.z) / d
        corner = at(i, end)
        y, z = min(((a.y + along * uy - s * aside * uz, a.z + along * uz + s * aside * uy) for s in (1.0, -1.0)),
                   key=lambda p: math.dist(p, corner))
        centers.append((y, z))
        ends[k] = end - (end - math.atan2(z - a.z, y - a.y)) % math.tau
        starts[n] = start + (math.atan2(z - b.z, y - b.y) - start) % math.tau
    vertices = []
    for k, (i, start, end) in enumerate(chain):
        if not (start <= starts[k] and ends[k] <= end and ends[k] - starts[k] > 1e-3):
            return None
        y, z = centers[k]
        p, q = at(i, ends[k]), at(chain[(k + 1) % len(chain)][0], starts[(k + 1) % len(chain)])
        turn = -((math.atan2(p[1] - z, p[0] - y) - math.atan2(q[1] - z, q[0] - y)) % math.tau)
        first = at(i, starts[k])
        vertices += [Vertex(first[0], first[1], math.tan((ends[k] - starts[k]) / 4.0)), Vertex(p[0], p[1], math.tan(turn / 4.0))]
    return tuple(vertices)
