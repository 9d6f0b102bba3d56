"""Shaded picture of bodies in parallel projection, as an array of colors: numpy only, no window, no graphics card.

Opaque bodies share one depth buffer; each see-through body has one of its own, and the layers are laid over each other pixel by
pixel, farthest first, so that it does not matter in which order bodies are given. Outlines are drawn where the nearest body
changes or its depth jumps, edges where the bodies say so. Everything is drawn ``SAMPLES`` times as large and averaged.
"""
from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass

import numpy as np

from .hidden_lines import counted

SAMPLES = 3
"""Points across each pixel, and up it."""
LIGHT = np.array([0.25, 0.45, 0.86]) / np.linalg.norm([0.25, 0.45, 0.86])
"""Towards the light, in the view's axes (right, up, toward the eye): a little above the eye and to its right."""
AMBIENT = 0.48
"""Brightness of what the light does not reach, of the color given."""
JUMP = 12.0
"""Step in depth, mm, at which an outline is drawn within one body."""
NEARER = 1.0
"""Edges are drawn so much nearer than they are, mm, so that their own faces do not hide them."""
BAND = 8 * SAMPLES
"""Lines that are laid over each other at once."""
CHUNK = 2_000_000
"""Points that are worked on at once."""
VIEWS = {"front-right": (0.80, -0.72, 0.62), "front-left": (0.80, 0.72, 0.62), "rear-right": (-0.80, -0.72, 0.62),
         "rear-left": (-0.80, 0.72, 0.62), "right": (0.0, -1.0, 0.0), "left": (0.0, 1.0, 0.0), "top": (0.0, 0.0, 1.0)}
"""Where the eye is, as a direction from the car in the car frame."""

Color = tuple[float, float, float]


@dataclass(frozen=True, eq=False)
class Body:
    """What is drawn. points (n, 3) and their normals (n, 3) in the car frame, mm; triangles (m, 3) of point numbers; edges: polylines
    (k, 3). color, edge: 0 to 1; opacity: 1 for what hides everything behind it."""
    points: np.ndarray
    normals: np.ndarray
    triangles: np.ndarray
    edges: tuple[np.ndarray, ...]
    color: Color
    edge: Color
    opacity: float = 1.0


@dataclass(frozen=True, eq=False)
class _Layer:
    """Nearest surface of some bodies in a window of the picture: depth (toward the eye, -inf where there is nothing) and color."""
    left: int
    top: int
    depth: np.ndarray
    color: np.ndarray
    opacity: np.ndarray


@dataclass(frozen=True, eq=False)
class Framing:
    """How a picture is taken. axes: rows right, up and toward the eye; middle: of what is seen, in these axes, mm; size: width and height
    in points of the picture; scale: points of the picture in a mm."""
    axes: np.ndarray
    middle: np.ndarray
    size: tuple[int, int]
    scale: float

    def placed(self, points: np.ndarray) -> np.ndarray:
        """Right and down in points of the picture, depth toward the eye in mm, of points (n, 3) in mm."""
        turned = points @ self.axes.T - self.middle
        right, down = self.size[0] / 2.0 + self.scale * turned[:, 0], self.size[1] / 2.0 - self.scale * turned[:, 1]
        return np.column_stack([right, down, turned[:, 2]])


def framing(clouds: Sequence[np.ndarray], width: int, height: int, view: str, margin: float = 0.03) -> Framing:
    """How points (n, 3) just fill a picture of a width and height, less a margin on each side; at least one is given."""
    axes = _axes(VIEWS[view])
    seen = [points @ axes.T for points in clouds if len(points)]
    low, top = np.min([p.min(axis=0) for p in seen], axis=0), np.max([p.max(axis=0) for p in seen], axis=0)
    scale = (1.0 - 2.0 * margin) * min(width / max(top[0] - low[0], 1e-9), height / max(top[1] - low[1], 1e-9))
    return Framing(axes, (low + top) / 2.0, (width, height), scale)


def render(bodies: Sequence[Body], width: int, height: int, view: str = "front-right", margin: float = 0.03,
           background: Color = (1.0, 1.0, 1.0)) -> np.ndarray:
    """(height, width, 3) bytes: the bodies seen from a view, just filling the picture less a margin on each side.

    ValueError where there is nothing to draw, or the view is none of ``VIEWS``.
    """
    if not any(len(body.points) for body in bodies):
        raise ValueError("picture: there is no shape to draw; the car has no parts")
    if view not in VIEWS:
        raise ValueError(f"picture: found the view {view!r}; use one of {', '.join(VIEWS)}")
    wide, high = width * SAMPLES, height * SAMPLES
    frame = framing([body.points for body in bodies], wide, high, view, margin)
    axes, placed = frame.axes, frame.placed
    opaque = [body for body in bodies if body.opacity >= 1.0]
    layers = [_drawn(opaque, placed, axes, (0, 0, wide, high))] if opaque else []
    for body in bodies:
        if body.opacity < 1.0 and len(body.points):
            corners = placed(body.points)
            window = (max(int(corners[:, 0].min()) - 4, 0), max(int(corners[:, 1].min()) - 4, 0),
                      min(int(corners[:, 0].max()) + 5, wide), min(int(corners[:, 1].max()) + 5, high))
            layers.append(_drawn([body], placed, axes, window))
    return np.concatenate([_band(layers, background, wide, row, min(row + BAND, high)) for row in range(0, high, BAND)])


def _axes(toward: tuple[float, float, float]) -> np.ndarray:
    """Rows: right, up and toward the eye."""
    eye = np.array(toward) / np.linalg.norm(toward)
    up = np.array([1.0, 0.0, 0.0]) if abs(eye[2]) > 0.999 else np.array([0.0, 0.0, 1.0])
    right = np.cross(up, eye)
    right /= np.linalg.norm(right)
    return np.array([right, np.cross(eye, right), eye])


def _drawn(bodies: Sequence[Body], placed: Callable[[np.ndarray], np.ndarray], axes: np.ndarray,
           window: tuple[int, int, int, int]) -> _Layer:
    """Bodies in one depth buffer: surfaces, outlines, edges."""
    left, top, right, bottom = window
    shape = bottom - top, right - left
    depth, shade = np.full(shape, -np.inf, np.float32), np.zeros(shape, np.float32)
    owner = np.full(shape, -1, np.int16)
    for number, body in enumerate(bodies):
        if not len(body.triangles):
            continue
        corners = placed(body.points)[body.triangles] - [left, top, 0.0]
        normals = body.normals @ axes.T
        normals *= np.where(normals[:, 2:] < 0.0, -1.0, 1.0)        # a surface is lit on the side that is seen
        bright = AMBIENT + (1.0 - AMBIENT) * np.clip(normals @ LIGHT, 0.0, 1.0)
        for rows, columns, z, light in _filled(corners, bright[body.triangles], shape):
            _nearest(depth, shade, owner, rows, columns, z, light, number)
    colors = np.array([body.color for body in bodies] + [(1.0, 1.0, 1.0)], np.float32)
    color = colors[owner] * shade[..., None]
    ink = np.array([body.edge for body in bodies] + [(0.0, 0.0, 0.0)], np.float32)
    opacity = np.array([body.opacity for body in bodies] + [0.0], np.float32)[owner]
    line = _outline(depth, owner)
    color[line], opacity[line] = ink[owner[line]], np.maximum(opacity[line], 0.55)
    for body in bodies:
        for edge in body.edges:
            rows, columns, z = _stroke(placed(edge) - [left, top, 0.0], shape)
            shown = z + NEARER >= depth[rows, columns]
            rows, columns, z = rows[shown], columns[shown], z[shown]
            color[rows, columns] = body.edge
            opacity[rows, columns] = max(body.opacity, 0.55)
            depth[rows, columns] = np.maximum(depth[rows, columns], z)
    return _Layer(left, top, depth, color, opacity)


def _filled(corners: np.ndarray, bright: np.ndarray, shape: tuple[int, int]) -> Iterator[tuple[np.ndarray, ...]]:
    """Points within triangles, some rows of them at a time: row, column, depth, brightness. corners (n, 3, 3), bright (n, 3)."""
    x, y = corners[..., 0], corners[..., 1]
    twice = (x[:, 1] - x[:, 0]) * (y[:, 2] - y[:, 0]) - (x[:, 2] - x[:, 0]) * (y[:, 1] - y[:, 0])
    first = np.clip(np.ceil(y.min(axis=1) - 0.5), 0, shape[0]).astype(int)
    count = np.maximum(np.clip(np.floor(y.max(axis=1) - 0.5), -1, shape[0] - 1).astype(int) - first + 1, 0)
    kept = (np.abs(twice) > 1e-9) & (count > 0)
    corners, bright, twice, first, count = corners[kept], bright[kept], twice[kept], first[kept], count[kept]
    if not len(corners):
        return
    x, y = corners[..., 0], corners[..., 1]
    # Depth and brightness run evenly over a triangle: value at its first corner, slope to the right, slope down.
    values = np.stack([corners[..., 2], bright], axis=-1)
    one, two = values[:, 1] - values[:, 0], values[:, 2] - values[:, 0]
    across = (one * (y[:, 2] - y[:, 0])[:, None] - two * (y[:, 1] - y[:, 0])[:, None]) / twice[:, None]
    down = (two * (x[:, 1] - x[:, 0])[:, None] - one * (x[:, 2] - x[:, 0])[:, None]) / twice[:, None]
    # As many triangles at once as fill so many points of the boxes around them.
    filled = np.cumsum(count * (np.clip(np.ptp(x, axis=1), 1.0, shape[1]) + 1.0))
    start = 0
    while start < len(count):
        end = max(int(np.searchsorted(filled, (filled[start - 1] if start else 0.0) + CHUNK)), start + 1)
        part = np.repeat(np.arange(start, end), count[start:end])
        row = first[part] + counted(count[start:end])
        low, high = _span(corners[part], row + 0.5)
        begin = np.clip(np.ceil(low - 0.5), 0, shape[1]).astype(int)
        length = np.maximum(np.clip(np.floor(high - 0.5), -1, shape[1] - 1).astype(int) - begin + 1, 0)
        part, row, column = np.repeat(part, length), np.repeat(row, length), np.repeat(begin, length) + counted(length)
        found = (values[part, 0] + across[part] * (column + 0.5 - x[part, 0])[:, None] + down[part] * (row + 0.5 - y[part, 0])[:, None])
        yield row, column, found[:, 0], found[:, 1]
        start = end


def _span(corners: np.ndarray, y: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """Where lines across the picture enter and leave triangles."""
    low, high = np.full(len(y), np.inf), np.full(len(y), -np.inf)
    for i in range(3):
        a, b = corners[:, i], corners[:, (i + 1) % 3]
        with np.errstate(divide="ignore", invalid="ignore"):
            x = a[:, 0] + (y - a[:, 1]) * (b[:, 0] - a[:, 0]) / (b[:, 1] - a[:, 1])
        meets = np.isfinite(x) & (np.minimum(a[:, 1], b[:, 1]) <= y) & (y <= np.maximum(a[:, 1], b[:, 1]))
        low, high = np.where(meets, np.minimum(low, x), low), np.where(meets, np.maximum(high, x), high)
    none = low > high
    return np.where(none, 0.0, low), np.where(none, -1.0, high)


def _nearest(depth: np.ndarray, shade: np.ndarray, owner: np.ndarray, rows: np.ndarray, columns: np.ndarray, z: np.ndarray,
             light: np.ndarray, number: int) -> None:
    """Write the points that are nearer than what is there."""
    shown = np.flatnonzero(z > depth[rows, columns])
    shown = shown[np.argsort(z[shown], kind="stable")]      # of several at one place the last one stays
    place = rows[shown], columns[shown]
    depth[place], shade[place], owner[place] = z[shown], light[shown], number


def _outline(depth: np.ndarray, owner: np.ndarray) -> np.ndarray:
    """Points on the nearer side of a change of body or a jump in depth."""
    line = np.zeros(depth.shape, bool)
    for axis in (0, 1):
        near, far = (depth[1:], depth[:-1]) if axis == 0 else (depth[:, 1:], depth[:, :-1])
        a, b = (owner[1:], owner[:-1]) if axis == 0 else (owner[:, 1:], owner[:, :-1])
        with np.errstate(invalid="ignore"):
            step = near - far
        jumps = (a != b) | (np.abs(step) > JUMP)
        here, there = (line[1:], line[:-1]) if axis == 0 else (line[:, 1:], line[:, :-1])
        here |= jumps & (step > 0.0)
        there |= jumps & (step < 0.0)
    return line


def _stroke(points: np.ndarray, shape: tuple[int, int]) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Points of a polyline two wide: rows, columns, depth."""
    legs = np.diff(points, axis=0)
    count = np.maximum(np.ceil(np.abs(legs[:, :2]).max(axis=1)).astype(int), 1)
    part = np.repeat(np.arange(len(legs)), count)
    found = points[part] + legs[part] * (counted(count) / count[part])[:, None]
    found = np.concatenate([found + [dx, dy, 0.0] for dx in (-0.5, 0.5) for dy in (-0.5, 0.5)])
    columns, rows = np.floor(found[:, 0]).astype(int), np.floor(found[:, 1]).astype(int)
    inside = (rows >= 0) & (rows < shape[0]) & (columns >= 0) & (columns < shape[1])
    return rows[inside], columns[inside], found[inside, 2]


def _band(layers: Sequence[_Layer], background: Color, wide: int, row: int, end: int) -> np.ndarray:
    """Some lines of pixels, (lines, width, 3) bytes: the layers over each other, farthest first, and averaged."""
    depth = np.full((len(layers), end - row, wide), -np.inf, np.float32)
    color = np.zeros((len(layers), end - row, wide, 3), np.float32)
    opacity = np.zeros((len(layers), end - row, wide), np.float32)
    for i, layer in enumerate(layers):
        first, last = max(row, layer.top), min(end, layer.top + layer.depth.shape[0])
        if first >= last:
            continue
        here, columns = slice(first - layer.top, last - layer.top), slice(layer.left, layer.left + layer.depth.shape[1])
        lines = slice(first - row, last - row)
        depth[i, lines, columns], color[i, lines, columns] = layer.depth[here], layer.color[here]
        opacity[i, lines, columns] = layer.opacity[here]
    paper = np.array(background, np.float32)
    there = np.isfinite(depth)
    result = np.where((there[0] & (opacity[0] >= 1.0))[..., None], color[0], paper)
    several = np.nonzero((there & (opacity < 1.0)).any(axis=0))     # one opaque surface alone needs no sorting
    if len(several[0]):
        z, share, paint = depth[:, *several], opacity[:, *several] * there[:, *several], color[:, *several]
        mixed = np.broadcast_to(paper, (len(several[0]), 3))
        points = np.arange(len(several[0]))
        for layer in np.argsort(z, axis=0):
            mixed = mixed + share[layer, points][:, None] * (paint[layer, points] - mixed)
        result[several] = mixed
    mean = result.reshape((end - row) // SAMPLES, SAMPLES, wide // SAMPLES, SAMPLES, 3).mean(axis=(1, 3))
    return np.round(np.clip(mean, 0.0, 1.0) * 255.0).astype(np.uint8)
