"""A view of several parts as they stand in the car, with what is behind others left out or told apart, whole or cut by a plane.

One way for every sheet: the parts' meshes (``facets``) give sharp edges and outlines, and ``hidden_lines`` says what other parts and the
part itself hide of them. Third angle: a view from the right stands below the one from above and to the left of the one from the front.
"""
from __future__ import annotations

from collections import OrderedDict
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass, replace
from functools import cached_property
from itertools import pairwise
from typing import Any

import numpy as np

from ..snapshot import PartView
from . import facets, hidden_lines, traced
from .drawing import Arc, Circle, Line, Polyline, Primitive, Text, bounds, chords

FLAT = 1e-6
"""Cosine of a surface with the direction of view under which it is seen edge on, as a whole."""
BEHIND = 5.0
"""A line is hidden by a round surface if it is so many times as far behind a triangle as that is off the surface: an outline on the mesh
is up to four times as far behind the next triangle (half a chord, times the angle between them) ..."""
AT_LEAST = 0.05
"""... and so much farther, mm: meshes are in single precision, and parts that touch do so within the host's tolerance."""


KEPT = 24
"""How many views are kept: a book is laid out on one size of sheet after the other until it fits, and several books show one view."""

_kept: OrderedDict[tuple, tuple[View, list]] = OrderedDict()


@dataclass(frozen=True)
class Frame:
    """How a view looks at the car. right, up: unit vectors of the picture in the car frame, square to each other; the eye is at
    ``toward`` = right x up. origin: the car point in the picture's origin. Picture coordinates are mm in the car."""
    right: tuple[float, float, float]
    up: tuple[float, float, float]
    origin: tuple[float, float, float] = (0.0, 0.0, 0.0)

    @cached_property
    def axes(self) -> np.ndarray:
        """(3, 3): rows right, up, toward the eye."""
        right, up = np.array(self.right, float), np.array(self.up, float)
        return np.array([right, up, np.cross(right, up)])

    def seen(self, points: Any) -> np.ndarray:
        """Car points (..., 3) as right, up and nearness to the eye."""
        return (np.asarray(points, float) - self.origin) @ self.axes.T

    def at(self, point: Any) -> tuple[float, float]:
        """A car point in the picture."""
        x, y, _ = self.seen(point)
        return float(x), float(y)


SIDE = Frame((1.0, 0.0, 0.0), (0.0, 0.0, 1.0))
"""From the car's right side: front to the right."""
LEFT_SIDE = Frame((-1.0, 0.0, 0.0), (0.0, 0.0, 1.0))
PLAN = Frame((1.0, 0.0, 0.0), (0.0, 1.0, 0.0))
"""From above: front to the right, the car's left side up."""
FRONT = Frame((0.0, 1.0, 0.0), (0.0, 0.0, 1.0))
"""From the front: the car's left side to the right."""
REAR = Frame((0.0, -1.0, 0.0), (0.0, 0.0, 1.0))


def looking(toward: tuple[float, float, float], up: tuple[float, float, float] = (0.0, 0.0, 1.0),
            origin: tuple[float, float, float] = (0.0, 0.0, 0.0)) -> Frame:
    """The frame of an eye in a direction from the car, with a direction that is up as far as it is seen. ValueError where both are one."""
    eye, high = np.array(toward, float), np.array(up, float)
    eye /= np.linalg.norm(eye)
    right = np.cross(high, eye)
    if np.linalg.norm(right) < 1e-9:
        raise ValueError("view: up and the direction of view are the same; give another direction that is up")
    right /= np.linalg.norm(right)
    (rx, ry, rz), (ux, uy, uz) = right.tolist(), np.cross(eye, right).tolist()
    return Frame((rx, ry, rz), (ux, uy, uz), origin)


ISOMETRIC = looking((1.0, -1.0, 1.0))
"""From the front, the right side and above, all axes shortened alike (ISO 5456-3)."""


@dataclass(frozen=True)
class Seen:
    """What is seen of a part, in the picture's mm: visible and hidden lines, and the closed outlines of its cut faces."""
    visible: tuple[Primitive, ...]
    hidden: tuple[Primitive, ...] = ()
    cut: tuple[tuple[tuple[float, float], ...], ...] = ()


@dataclass(frozen=True)
class View:
    """A view: its frame, what is seen of each part by key, and the keys of parts that have no shape to be drawn."""
    frame: Frame
    seen: Mapping[str, Seen]
    missing: tuple[str, ...] = ()

    def items(self, kinds: Callable[[str], str] = lambda _key: "visible", hidden: bool = True) -> list[Primitive]:
        """Everything but hatching, each part's visible lines in the line class of its key."""
        found: list[Primitive] = []
        for key, seen in sorted(self.seen.items()):
            kind = kinds(key)
            found += [of_kind(item, kind) for item in seen.visible]
            found += [Polyline(loop, "visible", True) for loop in seen.cut]
            found += [of_kind(item, "hidden") for item in seen.hidden] if hidden else []
        return found

    def box(self) -> tuple[float, float, float, float]:
        """(x low, y low, x high, y high) of what is visible. ValueError where nothing is."""
        limits = [bounds(item) for item in self.items(hidden=False)]
        if not limits:
            raise ValueError("view: no line of a part is visible in it")
        return min(b[0] for b in limits), min(b[1] for b in limits), max(b[2] for b in limits), max(b[3] for b in limits)


def of_kind(item: Primitive, kind: str) -> Primitive:
    """An item in another line class."""
    return item if isinstance(item, Text) else replace(item, kind=kind)


def of(parts: Iterable[PartView], frame: Frame, *, cut: float | None = None, reach: float | None = None, hidden: bool = False,
       see_through: Callable[[PartView], bool] = lambda _part: False, deflection: float = facets.DEFLECTION) -> View:
    """The view of parts in the car.

    cut: nearness to the eye (``Frame.seen``) of a plane that takes away what is in front of it; reach: how far behind that plane, or behind
    the frame's origin where nothing is cut, the view looks. hidden: whether hidden lines are made too. see_through: of parts that hide
    nothing. deflection: of the meshes, mm; less for one small part in large scale.
    """
    given = sorted(parts, key=lambda part: part.key)
    clear = frozenset(part.key for part in given if see_through(part))
    mark = tuple((part.key, id(part.shape)) for part in given), frame, cut, reach, hidden, clear, deflection
    if mark not in _kept:
        # The shapes are held, so that their numbers stay their own.
        _kept[mark] = _made(given, frame, cut, reach, hidden, clear, deflection), [part.shape for part in given]
        if len(_kept) > KEPT:
            _kept.popitem(last=False)
    _kept.move_to_end(mark)
    return _kept[mark][0]


def _made(parts: Iterable[PartView], frame: Frame, cut: float | None, reach: float | None, hidden: bool, clear: frozenset[str],
          deflection: float) -> View:
    missing, bodies = [], {}
    for part in parts:
        if part.shape is None or part.shape.isNull():
            missing.append(part.key)
            continue
        try:
            bodies[part.key] = facets.of(part.shape, deflection)
        except (RuntimeError, ValueError):
            missing.append(part.key)
    seen = of_facets(bodies, frame, cut=cut, reach=reach, hidden=hidden, clear=clear, deflection=deflection)
    return View(frame, seen, tuple(missing))


@dataclass(frozen=True, eq=False)
class _Body:
    """A part in the picture: chains (k, 3) that may be seen, triangles (m, 3, 3) that hide what is so far (m,) behind them, loops (k, 2) of
    its cut faces."""
    chains: list[np.ndarray]
    triangles: np.ndarray
    tolerance: np.ndarray
    loops: list[np.ndarray]


def of_facets(bodies: Mapping[str, facets.Facets], frame: Frame, *, cut: float | None = None, reach: float | None = None,
              hidden: bool = False, clear: frozenset[str] = frozenset(), deflection: float = facets.DEFLECTION) -> dict[str, Seen]:
    """What is seen of each body, by key; arguments as of ``of``. Parts of which nothing is within the view are left out."""
    placed = {key: _seen(body, frame, cut, reach, hidden, deflection) for key, body in bodies.items() if _within(body, frame, cut, reach)}
    hiding = [body for key, body in placed.items() if key not in clear]
    chains = [(key, chain) for key, body in placed.items() for chain in body.chains]
    starts = [chain[:-1] for _key, chain in chains]
    if not starts:
        return {key: Seen((), (), _plain_loops(body.loops)) for key, body in placed.items() if body.loops}
    first = np.cumsum([0, *map(len, starts)])
    line, begin, end = hidden_lines.visible(np.concatenate(starts), np.concatenate([chain[1:] for _key, chain in chains]),
                                            np.concatenate([np.zeros((0, 3, 3)), *(body.triangles for body in hiding)]),
                                            np.concatenate([np.zeros(0), *(body.tolerance for body in hiding)]))
    where = np.searchsorted(line, first)
    shown: dict[str, list[Primitive]] = {key: [] for key in placed}
    covered: dict[str, list[Primitive]] = {key: [] for key in placed}
    for number, (key, chain) in enumerate(chains):
        own = slice(where[number], where[number + 1])
        stretches = list(zip((line[own] - first[number]).tolist(), begin[own].tolist(), end[own].tolist()))
        flat = chain[:, :2]
        shown[key] += traced.primitives(flat, traced.runs(flat, stretches), "visible")
        if hidden:
            covered[key] += traced.primitives(flat, traced.runs(flat, _between(stretches, len(flat) - 1)), "hidden")
    return {key: Seen(tuple(shown[key]), tuple(covered[key]), _plain_loops(body.loops)) for key, body in placed.items()
            if shown[key] or covered[key] or body.loops}


def _within(body: facets.Facets, frame: Frame, cut: float | None, reach: float | None) -> bool:
    """Whether anything of a body is between a cutting plane and how far the view looks."""
    depth = frame.seen(body.points)[:, 2]
    return (cut is None or depth.min() < cut) and (reach is None or depth.max() > (cut or 0.0) - reach)


def _plain_loops(loops: list[np.ndarray]) -> tuple[tuple[tuple[float, float], ...], ...]:
    return tuple(tuple((float(x), float(y)) for x, y in loop) for loop in loops)


def _between(stretches: list[tuple[int, float, float]], segments: int) -> list[tuple[int, float, float]]:
    """What the stretches of a chain leave of it."""
    found, at = [], [0.0] * segments
    for segment, begin, end in stretches:
        if begin > at[segment]:
            found.append((segment, at[segment], begin))
        at[segment] = end
    found += [(segment, reached, 1.0) for segment, reached in enumerate(at) if reached < 1.0]
    return sorted(found)


def _seen(body: facets.Facets, frame: Frame, cut: float | None, reach: float | None, hidden: bool, deflection: float) -> _Body:
    points = frame.seen(body.points)
    facing = (body.normals @ frame.axes.T)[:, 2]
    chains = [*_edges(body, frame, hidden), *_outlines(points, facing, body.triangles)]
    # Between two faces that go over into each other smoothly, the outline runs where one faces the eye and the other does not.
    turned = (body.sides @ frame.axes[2]).mean(axis=1) > FLAT
    chains += list(frame.seen(body.smooth[turned[:, 0] != turned[:, 1]]))
    loops: list[np.ndarray] = []
    corners, tolerance = points[body.triangles], AT_LEAST + BEHIND * np.minimum(_rise(body), deflection)
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
    return _Body(chains, corners, tolerance, loops)


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


def _rise(body: facets.Facets) -> np.ndarray:
    """About how far each triangle is off its surface, mm: of a chord c whose ends are turned by t it is c t / 8; 0 of flat ones."""
    corners, normals = body.points[body.triangles], body.normals[body.triangles]
    chord = np.linalg.norm(corners - np.roll(corners, 1, axis=1), axis=2)
    turn = np.linalg.norm(normals - np.roll(normals, 1, axis=1), axis=2)
    return (chord * np.where(turn > 1e-3, turn, 0.0)).max(axis=1) / 8.0


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
    _names, first, same = np.unique(names, axis=0, return_index=True, return_inverse=True)
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


def within(item: Primitive, window: Any) -> list[Primitive]:
    """What of an item is within a window (x0, y0, x1, y1 as attributes): the item itself where all of it is, else its pieces as lines."""
    x0, y0, x1, y1 = bounds(item)
    if x0 >= window.x0 and y0 >= window.y0 and x1 <= window.x1 and y1 <= window.y1:
        return [item]
    if x0 > window.x1 or y0 > window.y1 or x1 < window.x0 or y1 < window.y0 or isinstance(item, Text):
        return []
    chain = np.array(chords(item))
    low, high = np.array([window.x0, window.y0]), np.array([window.x1, window.y1])
    found: list[Primitive] = []
    for a, b in pairwise(chain):
        way = b - a
        with np.errstate(divide="ignore", invalid="ignore"):
            near, far = np.sort(np.stack([(low - a) / way, (high - a) / way]), axis=0)
        flat = way == 0.0
        if (flat & ((a < low) | (a > high))).any():
            continue
        first, last = max([0.0, *near[~flat]]), min([1.0, *far[~flat]])
        if first < last:
            (ax, ay), (bx, by) = a + first * way, a + last * way
            found.append(Line(float(ax), float(ay), float(bx), float(by), item.kind))
    return found


def moved(item: Primitive, scale: float, x: float, y: float) -> Primitive:
    """An item of a view on paper: so many times as large, its origin at a point."""
    if isinstance(item, Line):
        return Line(x + scale * item.x0, y + scale * item.y0, x + scale * item.x1, y + scale * item.y1, item.kind)
    if isinstance(item, Polyline):
        return Polyline(tuple((x + scale * u, y + scale * v) for u, v in item.points), item.kind, item.closed, item.fill)
    if isinstance(item, Circle | Arc):
        return replace(item, x=x + scale * item.x, y=y + scale * item.y, radius=scale * item.radius)
    return replace(item, x=x + scale * item.x, y=y + scale * item.y)
