"""One body in a picture: its sharp edges and outlines, the triangles with which it hides, and its cut faces. Numpy only."""
from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from functools import cached_property, lru_cache

import numpy as np

from . import facets, traced
from .drawing import Primitive
from .picture_frame import Frame

KEPT = 512
"""How many bodies are kept as they are seen from somewhere: the same ones stand in many pictures."""

FLAT = 1e-6
"""Cosine of a surface with the direction of view under which it is seen edge on, as a whole."""
BEHIND = 5.0
"""A line is hidden by a round surface if it is so many times as far behind a triangle as that is off the surface: an outline on the mesh
is up to four times as far behind the next triangle (half a chord, times the angle between them) ..."""
AT_LEAST = 0.05
"""... and so much farther, mm: meshes are in single precision, and parts that touch do so within the host's tolerance."""



@dataclass(frozen=True, eq=False)
class Body:
    """A part in the picture: chains (k, 3) that may be seen, triangles (m, 3, 3) that hide what is so far (m,) behind them, loops (k, 2) of
    its cut faces."""
    chains: list[np.ndarray]
    triangles: np.ndarray
    tolerance: np.ndarray
    loops: list[np.ndarray]
    _circles: dict[int, tuple[float, float, float] | None] = field(default_factory=dict)
    _whole: dict[int, list[Primitive]] = field(default_factory=dict)

    @cached_property
    def pieces(self) -> tuple[np.ndarray, np.ndarray, list[int]]:
        """Starts and ends (n, 3) of the pieces of all chains, and how many of them each chain has."""
        if not self.chains:
            return np.zeros((0, 3)), np.zeros((0, 3)), []
        return (np.concatenate([chain[:-1] for chain in self.chains]), np.concatenate([chain[1:] for chain in self.chains]),
                [len(chain) - 1 for chain in self.chains])

    def drawn(self, number: int, stretches: Sequence[tuple[int, float, float]], kind: str) -> list[Primitive]:
        """Stretches of a chain (``traced.runs``) as primitives."""
        if not stretches:
            return []
        flat = self.chains[number][:, :2]
        if len(flat) == 2 and len(stretches) == 1:
            return traced.straight(flat.tolist(), stretches[0], kind)
        # Of most chains all or nothing is seen.
        whole = (kind == "visible" and len(stretches) == len(flat) - 1
                 and all(begin == 0.0 and end == 1.0 for _segment, begin, end in stretches))
        if whole and number in self._whole:
            return self._whole[number]
        if number not in self._circles:
            self._circles[number] = traced.circle_of(flat)
        found = traced.drawn(self._circles[number], traced.runs(flat, stretches), kind)
        if whole:
            self._whole[number] = found
        return found


def is_within(body: facets.Facets, frame: Frame, cut: float | None, reach: float | None) -> bool:
    """Whether anything of a body is between a cutting plane and how far the view looks."""
    depth = frame.seen(body.points)[:, 2]
    return (cut is None or depth.min() < cut) and (reach is None or depth.max() > (cut or 0.0) - reach)


@lru_cache(maxsize=KEPT)
def seen_of(body: facets.Facets, frame: Frame, cut: float | None, reach: float | None, hidden: bool, deflection: float) -> Body:
    points = frame.seen(body.points)
    facing = (body.normals @ frame.axes.T)[:, 2]
    chains = [*_edges(body, frame, hidden), *_outlines(points, facing, body.triangles)]
    # Between two faces that go over into each other smoothly, the outline runs where one faces the eye and the other does not.
    turned = (body.sides @ frame.axes[2]).mean(axis=1) > FLAT
    chains += list(frame.seen(body.smooth[turned[:, 0] != turned[:, 1]]))
    loops: list[np.ndarray] = []
    corners, tolerance = points[body.triangles], AT_LEAST + BEHIND * np.minimum(body.rise, deflection)
    if cut is not None:
        loops = _loops(points, body, cut)
        chains = _clipped_chains(chains, cut, 1.0)
        corners, of = _clipped(corners, cut)
        tolerance = tolerance[of]
    if reach is not None:
        chains = _clipped_chains(chains, (cut or 0.0) - reach, -1.0)
    a, b = corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0]
    facing_eye = a[:, 0] * b[:, 1] - a[:, 1] * b[:, 0] > 0.0
    corners, tolerance = corners[facing_eye], tolerance[facing_eye]
    caps = traced.filled(loops)
    if len(caps):
        corners = np.concatenate([corners, np.concatenate([caps, np.full((*caps.shape[:2], 1), cut)], axis=2)])
        tolerance = np.concatenate([tolerance, np.full(len(caps), AT_LEAST)])
    return Body(chains, corners, tolerance, loops)


def _edges(body: facets.Facets, frame: Frame, hidden: bool) -> list[np.ndarray]:
    """The sharp edges of a body in the picture; those between two faces that are turned away from the eye, which the body itself hides,
    only where hidden lines are asked for."""
    if not body.chains:
        return []
    found, ends = [], np.cumsum([len(chain) for chain in body.chains])
    turned = ((np.concatenate(body.beside) @ frame.axes[2]) > -FLAT).any(axis=1)
    for number, placed in enumerate(np.split(frame.seen(np.concatenate(body.chains)), ends[:-1])):
        shown = turned[ends[number] - len(placed) - number:ends[number] - number - 1]
        if hidden or shown.all():
            found.append(placed)
        elif shown.any():
            for run in np.split(np.arange(len(shown)), np.flatnonzero(np.diff(shown)) + 1):
                if shown[run[0]]:
                    found.append(placed[run[0]:run[-1] + 2])
    return found


def _outlines(points: np.ndarray, facing: np.ndarray, triangles: np.ndarray) -> list[np.ndarray]:
    """Chains along which round faces turn away from the eye. facing (n,): how far the surface at each point faces it."""
    toward = facing > -FLAT
    turned = toward[triangles]
    crossed = triangles[turned.any(axis=1) & ~turned.all(axis=1)]
    if not len(crossed):
        return []
    return [chain[:, :3] for chain in _across(points, facing, crossed, np.arange(len(points)))]


def _across(points: np.ndarray, value: np.ndarray, crossed: np.ndarray, number: np.ndarray) -> list[np.ndarray]:
    """Chains of points where a value at the corners of triangles changes its sign (-FLAT counts as none); number: of points, by which the
    ends at neighboring triangles are known to be one."""
    positive = value[crossed] > -FLAT
    ends, keys = [], []
    for i in range(3):
        a, b = crossed[:, i], crossed[:, (i + 1) % 3]
        here = positive[:, i] != positive[:, (i + 1) % 3]
        swap = number[a] > number[b]
        a, b = np.where(swap, b, a), np.where(swap, a, b)
        difference = value[a] - value[b]
        share = np.clip(np.divide(value[a], difference, out=np.zeros(len(a)), where=difference != 0.0), 0.0, 1.0)
        ends.append(np.where(here[:, None], points[a] + share[:, None] * (points[b] - points[a]), np.nan))
        keys.append(np.where(here[:, None], np.column_stack([number[a], number[b]]), -1))
    cross, key = np.stack(ends, axis=1), np.stack(keys, axis=1)
    found = key[..., 0] >= 0
    # Two of the three sides are crossed.
    place, names = cross[found].reshape(-1, 3), key[found].reshape(-1, 2)
    # One number for both ends of a side, in their order.
    _names, first, same = np.unique(names[:, 0] * (int(names.max()) + 1) + names[:, 1], return_index=True, return_inverse=True)
    chains = facets.chained(same.reshape(-1, 2), np.zeros((len(same.reshape(-1, 2)), 1), int))
    return [place[first[chain]] for chain, _edges in chains]


def _loops(points: np.ndarray, body: facets.Facets, cut: float) -> list[np.ndarray]:
    """Closed outlines (k, 2) of the face in which a plane cuts a body."""
    value = points[:, 2] - cut
    positive = value[body.triangles] > -FLAT
    crossed = body.triangles[positive.any(axis=1) & ~positive.all(axis=1)]
    if not len(crossed):
        return []
    found = []
    for chain in _across(points, value, crossed, body.shared):
        flat = chain[:-1, :2]
        kept = traced.thinned(np.concatenate([flat, flat[:1]]))[:-1]
        if len(kept) > 2:
            found.append(flat[kept])
    return found


def _clipped_chains(chains: list[np.ndarray], level: float, side: float) -> list[np.ndarray]:
    """The parts of chains that are behind a level (side 1) or in front of it (side -1)."""
    found: list[np.ndarray] = []
    for chain in chains:
        over = side * (chain[:, 2] - level)
        if (over <= 0.0).all():
            found.append(chain)
            continue
        run: list[np.ndarray] = []
        for i in range(len(chain)):
            if i and (over[i] > 0.0) != (over[i - 1] > 0.0):
                run.append(chain[i - 1] + over[i - 1] / (over[i - 1] - over[i]) * (chain[i] - chain[i - 1]))
            if over[i] <= 0.0:
                run.append(chain[i])
            elif len(run) > 1:
                found.append(np.array(run))
                run = []
            else:
                run = []
        if len(run) > 1:
            found.append(np.array(run))
    return found


def _clipped(corners: np.ndarray, level: float) -> tuple[np.ndarray, np.ndarray]:
    """Triangles (m, 3, 3) without what is in front of a level, and the numbers of those that they are of."""
    above = corners[..., 2] > level
    count = above.sum(axis=1)
    found, of = [corners[count == 0]], [np.flatnonzero(count == 0)]
    for several, lone_above in ((1, True), (2, False)):
        some = corners[count == several]
        if not len(some):
            continue
        # The corner that is alone on its side first, the order kept.
        lone = np.argmax(above[count == several] == lone_above, axis=1)
        a, b, c = (some[np.arange(len(some)), (lone + i) % 3] for i in range(3))
        ab, ac = (a + ((level - a[:, 2]) / (o[:, 2] - a[:, 2]))[:, None] * (o - a) for o in (b, c))
        if lone_above:
            found += [np.stack([ab, b, c], axis=1), np.stack([ab, c, ac], axis=1)]
            of += [np.flatnonzero(count == several)] * 2
        else:
            found.append(np.stack([a, ab, ac], axis=1))
            of.append(np.flatnonzero(count == several))
    return np.concatenate(found), np.concatenate(of)
