"""A straight tube coped to what its ends run into, put together from its faces: its copes are known in closed form (``crossed_cylinders``).
Ends that are not so plain are left to a boolean (``tube``).
"""
from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from ..host import Part
from . import brep_text
from .crossed_cylinders import SAME, Crossing, crossing
from .tube_spec import Header, Spec

CLEAR = 0.01
"""rad that the seam stays away from a cope beside which it runs (numerical)."""


@dataclass(frozen=True)
class _Rim:
    """Where a surface of the tube ends, as it was written. edges: from the seam around to it again; corner, height: on the seam; cope: that
    of the edges; where it is half wrapped, arcs: those before and after the cope; ends: corner, point, turn about the header and way along
    it of both ends of the cope."""
    edges: tuple[int, ...]
    corner: int
    height: float
    cope: int = 0
    arcs: tuple[int, ...] = ()
    ends: tuple[tuple[int, np.ndarray, float, float], ...] = ()


def build(spec: Spec) -> Part.Solid | None:
    """The tube; None where an end is not so plain: cut by a plane, at two headers, at a sharp angle, or grazing a header."""
    start, end = np.array(spec.start, float), np.array(spec.end, float)
    length = float(np.linalg.norm(end - start))
    along = (end - start) / length
    headers: dict[int, Header] = {}
    for header in spec.headers:
        number = 0 if float((np.array(header.point) - start) @ along) < length / 2.0 else 1
        if number in headers:
            return None
        headers[number] = header
    if spec.planes or not headers:
        return None
    radii = spec.outer_diameter / 2.0, spec.outer_diameter / 2.0 - spec.wall
    copes = {}
    for number, header in headers.items():
        cope = crossing(header, start, along, 1 - 2 * number)
        if cope is None or not (all(map(cope.wrapped, radii)) or all(cope.half_wrapped(radius, number * length) for radius in radii)):
            return None
        copes[number] = cope
    return _Writing(start, along, length, radii, copes).solid()


class _Writing:
    """The tube's faces as they are written. Turns are counted from the seam."""

    def __init__(self, start: np.ndarray, along: np.ndarray, length: float, radii: tuple[float, float], copes: dict[int, Crossing]):
        self.text, self.start, self.length, self.radii, self.copes = brep_text.Solid(), start, length, radii, copes
        # The seam lies on the side that passes beside a header.
        leading = next((cope for cope in copes.values() if not cope.wrapped(radii[0])), next(iter(copes.values())))
        first = -leading.basis[0]
        self.axes = np.array([first, np.cross(along, first), along])
        self.surfaces = [self.text.cylinder(start, self.axes, radius) for radius in radii]
        self.on_header: dict[int, int] = {}
        for number, cope in copes.items():
            middle, turned = start + cope.middle @ cope.basis, cope.header_axes() @ cope.basis
            self.on_header[number] = self.text.cylinder(middle, turned, cope.header_radius)
        self.lowest, self.highest = 0.0, length

    def solid(self) -> Part.Solid | None:
        """The tube, or None where the curve of a cope is not that of a spline, or where copes run into each other or beyond the ends."""
        text = self.text
        rims: list[tuple[_Rim, _Rim]] = []
        for surface, radius in zip(self.surfaces, self.radii):
            low, high = (self._rim(number, surface, radius) for number in (0, 1))
            if low is None or high is None:
                return None
            rims.append((low, high))
        if self.lowest >= self.highest:
            return None
        faces = []
        for sign, surface, radius, (low, high) in zip((1, -1), self.surfaces, self.radii, rims):
            line = text.line(self.start + radius * self.axes[0], self.axes[2])
            seam = text.edge(line, low.height, high.height, (low.corner, high.corner),
                             [(surface, text.flat_line((math.tau, 0.0), (0.0, 1.0)), text.flat_line((0.0, 0.0), (0.0, 1.0)))])
            faces.append(sign * text.face(surface, (*low.edges, seam, *_back(high.edges), -seam)))
        for number, (outer, inner) in enumerate(zip(*rims)):
            faces += self._closing(number, outer, inner)
        return text.made(faces)

    def _rim(self, number: int, surface: int, radius: float) -> _Rim | None:
        """One end of a surface of the tube."""
        text, cope, station = self.text, self.copes.get(number), number * self.length
        seam_at = self.start + radius * self.axes[0]
        if cope is None:
            corner = text.corner(seam_at + station * self.axes[2])
            return _Rim((self._arc(number, surface, radius, 0.0, math.tau, corner, corner),), corner, station)
        turn = math.atan2(float(cope.basis[0] @ self.axes[1]), float(cope.basis[0] @ self.axes[0])) % math.tau
        half = cope.half(radius)
        if half < math.pi and not half + CLEAR < turn < math.tau - half - CLEAR:
            return None

        def curve(share: np.ndarray) -> np.ndarray:
            row = cope.at(radius, share, -turn)
            row[:, :3] = self.start + row[:, :3] @ cope.basis
            row[:, 3] += turn
            return row

        fitted = brep_text.fitted(curve, (1.0, 1.0, 1.0, radius, 1.0, cope.header_radius, 1.0))
        if fitted is None or (cope.way * (fitted[0][:, 4] - station)).min() < -SAME:
            return None
        values, poles, tolerance = fitted
        if number == 0:
            self.lowest = max(self.lowest, float(values[:, 4].max()))
        else:
            self.highest = min(self.highest, float(values[:, 4].min()))
        on = [(surface, text.flat_spline(poles[:, 3:5])), (self.on_header[number], text.flat_spline(poles[:, 5:]))]
        spline = text.spline(poles[:, :3])
        if half == math.pi:
            corner = text.corner(values[0, :3], tolerance)
            edge = text.edge(spline, 0.0, 1.0, (corner, corner), on, tolerance)
            return _Rim((edge,), corner, float(values[0, 4]), edge)
        corner = text.corner(seam_at + station * self.axes[2])
        first, last = (text.corner(values[at, :3], tolerance) for at in (0, -1))
        edge = text.edge(spline, 0.0, 1.0, (first, last), on, tolerance)
        arcs = (self._arc(number, surface, radius, 0.0, turn - half, corner, first),
                self._arc(number, surface, radius, turn + half, math.tau, last, corner))
        return _Rim((arcs[0], edge, arcs[1]), corner, station, edge, arcs,
                    tuple((name, values[at, :3], float(values[at, 5]), float(values[at, 6])) for name, at in ((first, 0), (last, -1))))

    def _arc(self, number: int, surface: int, radius: float, first: float, last: float, start: int, end: int) -> int:
        """What is left of a square end."""
        station = number * self.length
        circle = self.text.circle(self.start + station * self.axes[2], self.axes, radius)
        return self.text.edge(circle, first, last, (start, end), [(surface, self.text.flat_line((0.0, station), (1.0, 0.0)))])

    def _closing(self, number: int, outer: _Rim, inner: _Rim) -> list[int]:
        """The faces between both rims of an end: on the header, and what is left of the square end."""
        text, sign = self.text, 2 * number - 1
        on_header = self.on_header.get(number, 0)
        if outer.cope and not outer.ends:
            # The header's normal looks into the tube: about it the rims run one way at the first end and the other at the last.
            return [-text.face(on_header, (-sign * outer.cope,), (sign * inner.cope,))]
        square = text.plane(self.start + number * self.length * self.axes[2], self.axes)
        if not outer.ends:
            return [sign * text.face(square, outer.edges, _back(inner.edges))]
        sides = []
        for (a, point, turn, way), (b, other, _turn, reach) in zip(outer.ends, inner.ends):
            length = float(np.linalg.norm(other - point))
            on = [(on_header, text.flat_line((turn, way), (0.0, math.copysign(1.0, reach - way))))]
            sides.append(text.edge(text.line(point, (other - point) / length), 0.0, length, (a, b), on))
        first, last = sides
        flat = text.face(square, (outer.arcs[1], outer.arcs[0], first, *_back(inner.arcs[::-1]), -last))
        around = (outer.cope, last, -inner.cope, -first)
        return [sign * flat, -text.face(on_header, around if number == 0 else _back(around))]


def _back(edges: tuple[int, ...]) -> tuple[int, ...]:
    """The same way run from its end."""
    return tuple(-edge for edge in edges[::-1])
