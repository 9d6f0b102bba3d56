"""A straight tube coped to what its ends run into, put together from its faces: its copes are known in closed form (``crossed_cylinders``).
Ends that are not so plain are left to a boolean (``tube``).
"""
from __future__ import annotations

import math
from dataclasses import dataclass
from itertools import pairwise

import numpy as np

from ..host import Part
from . import brep_text
from .crossed_cylinders import SAME, Crossing, crossing
from .tube_spec import Header, Spec

CLEAR = 0.01
"""rad that the seam stays away from a cope beside which it runs (numerical)."""


@dataclass(frozen=True)
class _Rim:
    """Where a surface of the tube ends, as it was written. edges: from the seam around to it; corner, height: on the seam; cope: those
    of the edges on the header; where it is half wrapped, arcs: those before and after the cope; ends: corner, point, turn about the header
    and way along it of both ends of the cope."""
    edges: tuple[int, ...]
    corner: int
    height: float
    cope: tuple[int, ...] = ()
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
        if cope is None:
            return None
        all_round = (cope.wrapped(radii[0]) or cope.in_halves(radii[0])) and cope.wrapped(radii[1])
        if not all_round and not all(cope.half_wrapped(radius, number * length) for radius in radii):
            return None
        copes[number] = cope
    return _Writing(start, along, length, radii, copes).solid()


class _Writing:
    """The tube's faces as they are written. Turns are counted from the seam."""

    def __init__(self, start: np.ndarray, along: np.ndarray, length: float, radii: tuple[float, float], copes: dict[int, Crossing]):
        self.text, self.start, self.length, self.radii, self.copes = brep_text.Solid(), start, length, radii, copes
        # The seam lies on the side that passes beside a header.
        leading = next((cope for cope in copes.values() if cope.half(radii[0]) < math.pi), next(iter(copes.values())))
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
        if half < math.pi:
            return self._half_rim(number, surface, radius, cope, turn, half) if half + CLEAR < turn < math.tau - half - CLEAR else None
        joints = sorted({turn % math.pi, turn % math.pi + math.pi} if cope.in_halves(radius) else ())
        bounds = [0.0, *(joint for joint in joints if CLEAR < joint < math.tau - CLEAR), math.tau]
        if any(SAME < min(joint, math.tau - joint) <= CLEAR for joint in joints):
            return None
        pieces = []
        for begin, end in pairwise(bounds):
            piece = self._fitted(number, radius, cope, turn, begin - turn, end - begin)
            if piece is None:
                return None
            pieces.append(piece)
        corners = [text.corner(values[0, :3], tolerance) for values, _poles, tolerance in pieces]
        edges = tuple(self._cope(number, surface, piece, ends) for piece, ends in zip(pieces, pairwise([*corners, corners[0]])))
        return _Rim(edges, corners[0], float(pieces[0][0][0, 4]), edges)

    def _fitted(self, number: int, radius: float, cope: Crossing, turn: float, first: float = 0.0,
                span: float = math.tau) -> brep_text.Fitted | None:
        """The curve of a cope, or of a piece of one that goes all round; None where it is not that of a spline, or runs beyond the end."""
        def curve(share: np.ndarray) -> np.ndarray:
            row = cope.at(radius, share, first, span)
            row[:, :3] = self.start + row[:, :3] @ cope.basis
            row[:, 3] += turn
            return row

        found = brep_text.fitted(curve, (1.0, 1.0, 1.0, radius, 1.0, cope.header_radius, 1.0))
        if found is None or (cope.way * (found[0][:, 4] - number * self.length)).min() < -SAME:
            return None
        if number == 0:
            self.lowest = max(self.lowest, float(found[0][:, 4].max()))
        else:
            self.highest = min(self.highest, float(found[0][:, 4].min()))
        return found

    def _cope(self, number: int, surface: int, fitted: brep_text.Fitted, ends: tuple[int, int]) -> int:
        """The edge along such a curve."""
        _values, poles, tolerance = fitted
        on = [(surface, self.text.flat_spline(poles[:, 3:5])), (self.on_header[number], self.text.flat_spline(poles[:, 5:]))]
        return self.text.edge(self.text.spline(poles[:, :3]), 0.0, 1.0, ends, on, tolerance)

    def _half_rim(self, number: int, surface: int, radius: float, cope: Crossing, turn: float, half: float) -> _Rim | None:
        """One end of a surface of the tube that is half wrapped."""
        text, station = self.text, number * self.length
        fitted = self._fitted(number, radius, cope, turn)
        if fitted is None:
            return None
        values, _poles, tolerance = fitted
        corner = text.corner(self.start + radius * self.axes[0] + station * self.axes[2])
        first, last = (text.corner(values[at, :3], tolerance) for at in (0, -1))
        edge = self._cope(number, surface, fitted, (first, last))
        arcs = (self._arc(number, surface, radius, 0.0, turn - half, corner, first),
                self._arc(number, surface, radius, turn + half, math.tau, last, corner))
        return _Rim((arcs[0], edge, arcs[1]), corner, station, (edge,), arcs,
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
            wires = outer.cope, _back(inner.cope)
            return [-text.face(on_header, *(wires if number == 0 else map(_back, wires)))]
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
        around = (*outer.cope, last, *_back(inner.cope), -first)
        return [sign * flat, -text.face(on_header, around if number == 0 else _back(around))]


def _back(edges: tuple[int, ...]) -> tuple[int, ...]:
    """The same way run from its end."""
    return tuple(-edge for edge in edges[::-1])
