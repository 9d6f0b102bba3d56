"""A straight tube coped to what its ends run into, put together from its faces: a cope is where two cylinders meet, which is known in
closed form. Ends that are not so plain are left to a boolean (``tube``).

A point of the tube's surface at an angle ``a`` from the direction that is square to both axes lies on a header of radius R, whose axis
passes the tube's at a distance c, where ``radius cos a = c + R cos f``; f is the turn about the header. An end is *wrapped* where the
header reaches across all of the tube, and *half wrapped* where one side of the tube passes beside it and ends in the plane of its axis.
"""
from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from ..host import Part
from . import brep_text
from .tube_spec import Header, Spec

SHARPEST = math.sin(math.radians(15.0))
"""Sine of the least angle between tube and header: below it a boolean makes the cope (numerical)."""
EXACT = 1e-6
"""mm by which the curve of a cope may be off (numerical)."""
CLEAR = 0.01
"""rad that the seam stays away from a cope beside which it runs (numerical)."""
SAME = 1e-9
"""mm, and cosine, within which an end lies in the plane of its header's axis (numerical)."""


@dataclass(frozen=True)
class _Cope:
    """How an end meets its header, in the tube's axes. way: 1 at the first end, -1 at the last; apart: from axis to axis; height: along the
    tube to where the axes pass each other; sine, cosine: of the angle between them, the header running to the same side as the tube is
    turned; basis: rows: from the tube's axis toward the header's, square to that, along the tube."""
    header_radius: float
    way: int
    apart: float
    height: float
    sine: float
    cosine: float
    basis: np.ndarray

    def wrapped(self, radius: float) -> bool:
        """Whether the header reaches across all of a surface of the tube."""
        return self.apart + radius < self.header_radius

    def half_wrapped(self, radius: float, station: float) -> bool:
        """Whether one side of it passes beside the header, and both end in the plane of its axis."""
        return (abs(self.cosine) < SAME and abs(self.height - station) < SAME
                and -radius < self.apart - self.header_radius < radius < self.apart + self.header_radius)

    def half(self, radius: float) -> float:
        """rad to either side of the direction to the header at which a half wrapped end leaves it; all round where it is wrapped."""
        return math.pi if self.wrapped(radius) else math.acos((self.apart - self.header_radius) / radius)

    def header_axes(self) -> np.ndarray:
        """Rows: away from the tube, square to that, along the header, in the basis."""
        away = self.way * np.array([0.0, self.cosine, -self.sine])
        along = np.array([0.0, self.sine, self.cosine])
        return np.array([away, np.cross(along, away), along])

    def at(self, radius: float, share: np.ndarray, first: float) -> np.ndarray:
        """(n, 7) of the cope on a surface of the tube, from 0 to 1 of its way around: point in the basis, angle about the tube, way along
        it, turn about the header, way along it. first: the angle at which it begins where it goes all round."""
        if self.wrapped(radius):
            angle = first + 2.0 * math.pi * share
            cos_f = (radius * np.cos(angle) - self.apart) / self.header_radius
            sin_f = np.sqrt(1.0 - cos_f ** 2)
        else:
            # It runs into the plane of the axis as a sine into its crest; so nothing is infinitely steep there.
            half, part = self.half(radius), math.pi * (share - 0.5)
            angle = half * np.sin(part)
            cos_f = (radius * np.cos(angle) - self.apart) / self.header_radius
            both = np.sinc((half + angle) / math.tau) * np.sinc((half - angle) / math.tau)
            sin_f = np.cos(part) * half / 2.0 * np.sqrt(2.0 * radius / self.header_radius * both * (1.0 - cos_f))
        out = self.way * self.header_radius * sin_f
        along_header = (radius * np.sin(angle) + out * self.cosine) / self.sine
        height = self.height + out * self.sine + along_header * self.cosine
        side = math.copysign(1.0, self.header_axes()[1, 0])
        turn = math.pi - side * (math.pi / 2.0 - np.arctan2(sin_f, cos_f))
        return np.column_stack([radius * np.cos(angle), radius * np.sin(angle), height, angle, height, turn, along_header])


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
        cope = _cope(header, start, along, 1 - 2 * number)
        if cope is None or not (all(map(cope.wrapped, radii)) or all(cope.half_wrapped(radius, number * length) for radius in radii)):
            return None
        copes[number] = cope
    return _Writing(start, along, length, radii, copes).solid()


def _cope(header: Header, start: np.ndarray, along: np.ndarray, way: int) -> _Cope | None:
    direction = np.array(header.direction, float)
    direction /= np.linalg.norm(direction)
    aside = np.cross(along, direction)
    sine = float(np.linalg.norm(aside))
    if sine < SHARPEST:
        return None
    off = np.array(header.point) - start
    aside *= math.copysign(1.0 / sine, float(off @ aside))
    across = np.cross(along, aside)
    direction *= math.copysign(1.0, float(direction @ across))
    cosine = float(direction @ along)
    height = float(off @ along) - float(off @ across) / sine * cosine
    return _Cope(header.diameter / 2.0, way, float(off @ aside), height, sine, cosine, np.array([aside, across, along]))


class _Writing:
    """The tube's faces as they are written. Turns are counted from the seam."""

    def __init__(self, start: np.ndarray, along: np.ndarray, length: float, radii: tuple[float, float], copes: dict[int, _Cope]):
        self.text, self.start, self.length, self.radii, self.copes = brep_text.Solid(), start, length, radii, copes
        # The seam lies on the side that passes beside a header.
        leading = next((cope for cope in copes.values() if not cope.wrapped(radii[0])), next(iter(copes.values())))
        first = -leading.basis[0]
        self.axes = np.array([first, np.cross(along, first), along])
        self.surfaces = [self.text.cylinder(start, self.axes, radius) for radius in radii]
        self.on_header: dict[int, int] = {}
        for number, cope in copes.items():
            middle = start + np.array([cope.apart, 0.0, cope.height]) @ cope.basis
            self.on_header[number] = self.text.cylinder(middle, cope.header_axes() @ cope.basis, cope.header_radius)
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
        middle, weights = brep_text.between()
        values, between = (cope.at(radius, share, -turn) for share in (brep_text.stations(), middle))
        for row in (values, between):
            row[:, :3] = self.start + row[:, :3] @ cope.basis
            row[:, 3] += turn
        poles = brep_text.poles_through(values)
        # Turns count as far as they move a point.
        off = (weights @ poles - between) * (1.0, 1.0, 1.0, radius, 1.0, cope.header_radius, 1.0)
        error = float(np.abs(off).max())
        if error > EXACT or (cope.way * (values[:, 4] - station)).min() < -SAME:
            return None
        if number == 0:
            self.lowest = max(self.lowest, float(values[:, 4].max()))
        else:
            self.highest = min(self.highest, float(values[:, 4].min()))
        tolerance = max(brep_text.TOLERANCE, 2.0 * error)
        on = [(surface, text.flat_spline(poles[:, 3:5])), (self.on_header[number], text.flat_spline(poles[:, 5:]))]
        curve = text.spline(poles[:, :3])
        if half == math.pi:
            corner = text.corner(values[0, :3], tolerance)
            edge = text.edge(curve, 0.0, 1.0, (corner, corner), on, tolerance)
            return _Rim((edge,), corner, float(values[0, 4]), edge)
        corner = text.corner(seam_at + station * self.axes[2])
        first, last = (text.corner(values[at, :3], tolerance) for at in (0, -1))
        edge = text.edge(curve, 0.0, 1.0, (first, last), on, tolerance)
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
