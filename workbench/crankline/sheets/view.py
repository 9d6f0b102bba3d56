"""A view of several parts as they stand in the car, with what is behind others left out or told apart, whole or cut by a plane.

One way for every sheet: the parts' meshes (``facets``) give sharp edges and outlines, and ``hidden_lines`` says what other parts and the
part itself hide of them. What frames there are is in ``picture_frame``.
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
from . import facets, hidden_lines, seen_body
from .drawing import Arc, Circle, Line, Polyline, Primitive, Text, bounds, chords
from .picture_frame import FRONT, ISOMETRIC, LEFT_SIDE, PLAN, REAR, SIDE, Frame, looking

__all__ = ["FRONT", "ISOMETRIC", "LEFT_SIDE", "PLAN", "REAR", "SIDE", "Frame", "Seen", "View", "looking", "moved", "of", "of_facets",
           "of_kind", "within"]

KEPT = 48
"""How many views are kept: a book is laid out on one size of sheet after the other until it fits, and several books show one view."""

_kept: OrderedDict[tuple, tuple[View, list]] = OrderedDict()


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
        return self._box

    @cached_property
    def _box(self) -> tuple[float, float, float, float]:
        limits = [bounds(item) for item in self.items(hidden=False)]
        if not limits:
            raise ValueError("view: no line of a part is visible in it")
        return min(b[0] for b in limits), min(b[1] for b in limits), max(b[2] for b in limits), max(b[3] for b in limits)


def of_kind(item: Primitive, kind: str) -> Primitive:
    """An item in another line class."""
    if isinstance(item, Text) or item.kind == kind:
        return item
    if isinstance(item, Line):      # most are, and this takes a third of the time
        return Line(item.x0, item.y0, item.x1, item.y1, kind)
    return replace(item, kind=kind)


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


def of_facets(bodies: Mapping[str, facets.Facets], frame: Frame, *, cut: float | None = None, reach: float | None = None,
              hidden: bool = False, clear: frozenset[str] = frozenset(), deflection: float = facets.DEFLECTION) -> dict[str, Seen]:
    """What is seen of each body, by key; arguments as of ``of``. Parts of which nothing is within the view are left out."""
    placed = {key: seen_body.seen_of(body, frame, cut, reach, hidden, deflection) for key, body in bodies.items()
              if seen_body.is_within(body, frame, cut, reach)}
    hiding = [body for key, body in placed.items() if key not in clear]
    chains = [(key, body, number) for key, body in placed.items() for number in range(len(body.chains))]
    if not chains:
        return {key: Seen((), (), _plain_loops(body.loops)) for key, body in placed.items() if body.loops}
    starts, ends, counts = zip(*(body.pieces for body in placed.values()))
    first = np.cumsum([0, *(count for body in counts for count in body)])
    line, begin, end = hidden_lines.visible(np.concatenate(starts), np.concatenate(ends),
                                            np.concatenate([np.zeros((0, 3, 3)), *(body.triangles for body in hiding)]),
                                            np.concatenate([np.zeros(0), *(body.tolerance for body in hiding)]))
    where = np.searchsorted(line, first).tolist()
    segment = (line - np.repeat(first[:-1], np.diff(where))).tolist()
    seen = list(zip(segment, begin.tolist(), end.tolist()))
    shown: dict[str, list[Primitive]] = {key: [] for key in placed}
    covered: dict[str, list[Primitive]] = {key: [] for key in placed}
    for at, (key, body, number) in enumerate(chains):
        stretches = seen[where[at]:where[at + 1]]
        shown[key] += body.drawn(number, stretches, "visible")
        if hidden:
            covered[key] += body.drawn(number, _between(stretches, len(body.chains[number]) - 1), "hidden")
    return {key: Seen(tuple(shown[key]), tuple(covered[key]), _plain_loops(body.loops)) for key, body in placed.items()
            if shown[key] or covered[key] or body.loops}


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
    if isinstance(item, Circle):
        return Circle(x + scale * item.x, y + scale * item.y, scale * item.radius, item.kind, item.fill)
    if isinstance(item, Arc):
        return Arc(x + scale * item.x, y + scale * item.y, scale * item.radius, item.start, item.sweep, item.kind)
    return replace(item, x=x + scale * item.x, y=y + scale * item.y)
