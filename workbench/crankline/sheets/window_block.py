"""A placement window as lines on a sheet: axes, the border of the allowed region, numbers of what binds, where the car is."""
from __future__ import annotations

from collections.abc import Callable, Sequence

import numpy as np

from .. import units
from ..placement_window import Point, Window, region
from .drawing import Circle, Line, Polyline, Primitive, Text, wrapped

Piece = Callable[[float, float, float], tuple[list[Primitive], float]]
"""What is drawn from an upper left corner (x, top) within a width, and its lower edge."""

LETTER = 2.5
HEAD, LEFT, UNDER = 7.0, 13.0, 10.0
"""Room for the heading and for the numbers of the axes, mm."""
SHAPE = 0.62
"""Height of the picture over its width."""
NEAR = 3.0
"""Points of a border no farther apart are joined; in steps of the window."""
KEY = "heavy line: border of what is allowed, as far as numbers decide; cross: this car"
DOTS = "; small circles: own records"


def pieces(window: Window, point: Point, dots: Sequence[tuple[float, float]], _width: float) -> list[Piece]:
    """The picture, and what its signs mean. dots: axle-to-block and crank height of records, mm."""
    def draw(x: float, top: float, width: float) -> tuple[list[Primitive], float]:
        low = top - HEAD - SHAPE * width - UNDER - 4.0 * (len(_key(dots, width)) - 1)
        return picture(window, point, dots, x, top, width), low
    return [draw]


def picture(window: Window, point: Point, dots: Sequence[tuple[float, float]], left: float, top: float, width: float) -> list[Primitive]:
    """The window of the first pitch."""
    x0, y1 = left + LEFT, top - HEAD
    x1, y0 = left + width - 3.0, y1 - SHAPE * width
    span_x, span_z = (float(axis[-1] - axis[0]) for axis in (window.x, window.z))

    def at(x: float, z: float) -> tuple[float, float]:
        return x0 + (x - window.x[0]) / span_x * (x1 - x0), y0 + (z - window.z[0]) / span_z * (y1 - y0)

    unit, size = ("mm", 1.0) if units.reading() == "mm" else ("in", units.INCH)
    items: list[Primitive] = [Polyline(((x0, y0), (x1, y0), (x1, y1), (x0, y1)), "outline", True),
                              Text(left, top - 3.4,
                                   f"Placement window, pitch {window.layer_name(0)}: crank height over axle-to-block, {unit}", 2.8,
                                   bold=True)]
    for value in _ticks(window.x[0] / size, window.x[-1] / size):
        u, _v = at(value * size, window.z[0])
        items += [Line(u, y0, u, y0 + 1.2, "thin"), Text(u, y0 - 3.6, f"{value:g}", LETTER, "middle")]
    for value in _ticks(window.z[0] / size, window.z[-1] / size):
        _u, v = at(window.x[0], value * size)
        items += [Line(x0, v, x0 + 1.2, v, "thin"), Text(x0 - 1.2, v - 0.9, f"{value:g}", LETTER, "right")]
    items += [*_border(window, at), *_name(window, point, dots, at)]
    items += [Circle(*at(*dot), 0.8, "thin") for dot in dots
              if window.x[0] < dot[0] < window.x[-1] and window.z[0] < dot[1] < window.z[-1]]
    u, v = at(point.x, point.z)
    items += [Line(u - 3.0, v, u + 3.0, v, "visible"), Line(u, v - 3.0, u, v + 3.0, "visible"), Circle(u, v, 1.5, "visible")]
    return items + [Text(left, y0 - 8.4 - 4.0 * n, line, LETTER) for n, line in enumerate(_key(dots, width))]


def _key(dots: Sequence[tuple[float, float]], width: float) -> list[str]:
    return wrapped(KEY + (DOTS if dots else ""), LETTER, width)


def _ticks(low: float, high: float) -> list[float]:
    """Round values within a span, five to nine of them."""
    step = next(step for step in (0.1, 0.2, 0.25, 0.5, 1.0, 2.0, 5.0, 10.0, 20.0, 25.0, 50.0, 100.0) if (high - low) / step <= 8.0)
    first = int(np.ceil(low / step - 1e-9))
    return [round(step * n, 6) for n in range(first, int(np.floor(high / step + 1e-9)) + 1)]


def _border(window: Window, at: Callable[[float, float], tuple[float, float]]) -> list[Primitive]:
    """The border, found by bisection between placements: its points joined from one to the nearest, from an end of the window inward."""
    found = window.borders(0)
    cell = np.array([window.x[1] - window.x[0], window.z[1] - window.z[0]])
    left = np.unique(np.array([(one.x, one.z) for one in found]).reshape(-1, 2) / cell, axis=0)
    low, high = np.array([window.x[0], window.z[0]]) / cell, np.array([window.x[-1], window.z[-1]]) / cell
    chains: list[Primitive] = []
    while len(left):
        place = left[np.argmin(np.minimum(left - low, high - left).min(axis=1))]
        chain = []
        while True:
            chain.append(place)
            left = left[(left != place).any(axis=1)]
            away = np.hypot(*(left - place).T)
            if not len(left) or away.min() > NEAR:
                break
            place = left[np.argmin(away)]
        if len(chain) > 2:
            closed = len(chain) > 8 and np.hypot(*(chain[0] - chain[-1])) < NEAR
            chains.append(Polyline(tuple(at(*(place * cell)) for place in chain), "border", bool(closed)))
    return chains


def _name(window: Window, point: Point, dots: Sequence[tuple[float, float]],
          at: Callable[[float, float], tuple[float, float]]) -> list[Text]:
    """The word in the allowed region, where it is widest and nothing else is; none where it has no room."""
    if window.nowhere:
        return []
    depth, taken = region.to_border(window, 0), [at(point.x, point.z), *(at(*dot) for dot in dots)]
    for flat in np.argsort(-depth, axis=None, kind="stable")[:600:20]:
        i, j = np.unravel_index(flat, depth.shape)
        u, v = at(float(window.x[i]), float(window.z[j]))
        if depth[i, j] > 0.0 and all(abs(u - x) > 10.0 or abs(v + 0.9 - y) > 4.5 for x, y in taken):
            return [Text(u, v, "allowed", LETTER, "middle")]
    return []
