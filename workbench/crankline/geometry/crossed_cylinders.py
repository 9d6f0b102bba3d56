"""Where two round tubes meet: the curve in which a surface of the one, coped to the other, ends. Closed form, imports without the host.

A point of the tube's surface at an angle ``a`` from the direction that is square to both axes lies on a header of radius R, whose axis
passes the tube's at a distance c, where ``radius cos a = c + R cos f``; f is the turn about the header. An end is *wrapped* where the
header reaches across all of the tube, and *half wrapped* where one side of the tube passes beside it and ends in the plane of its axis.
Where both are as thick and their axes meet, the end is *in halves*: two halves of ellipses that meet in the plane square to both axes.
"""
from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from .tube_spec import Header

SHARPEST = math.sin(math.radians(15.0))
"""Sine of the least angle between tube and header that is looked at (numerical)."""
SAME = 1e-9
"""mm, and cosine, within which an end lies in the plane of its header's axis (numerical)."""


@dataclass(frozen=True)
class Crossing:
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

    def in_halves(self, radius: float) -> bool:
        """Whether a surface of the tube is as thick as the header, and their axes meet."""
        return abs(radius - self.header_radius) < SAME and self.apart < SAME

    def half_wrapped(self, radius: float, station: float) -> bool:
        """Whether one side of it passes beside the header, and both end in the plane of its axis."""
        return (abs(self.cosine) < SAME and abs(self.height - station) < SAME
                and -radius < self.apart - self.header_radius < radius < self.apart + self.header_radius)

    def half(self, radius: float) -> float:
        """rad to either side of the direction to the header at which a half wrapped end leaves it; all round where it is wrapped."""
        return math.pi if self.wrapped(radius) or self.in_halves(radius) else math.acos((self.apart - self.header_radius) / radius)

    def header_axes(self) -> np.ndarray:
        """Rows: away from the tube, square to that, along the header, in the basis; its second parameter counts from ``middle``."""
        away = self.way * np.array([0.0, self.cosine, -self.sine])
        along = np.array([0.0, self.sine, self.cosine])
        return np.array([away, np.cross(along, away), along])

    def at(self, radius: float, share: np.ndarray, first: float, span: float = math.tau) -> np.ndarray:
        """(n, 7) of the cope on a surface of the tube, from 0 to 1 of its way around: point in the basis, angle about the tube, way along
        it, turn about the header, way along it. first, span: the angle at which it begins and its sweep, where it goes all round."""
        if self.in_halves(radius):
            angle = first + span * share
            cos_f, sin_f = np.cos(angle), np.abs(np.sin(angle))
        elif self.wrapped(radius):
            angle = first + span * share
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

    @property
    def middle(self) -> np.ndarray:
        """Where the header's axis passes the tube's, in the basis."""
        return np.array([self.apart, 0.0, self.height])


def crossing(header: Header, start: np.ndarray, along: np.ndarray, way: int) -> Crossing | None:
    """How a tube that begins at a point and runs along a unit vector meets a header; None where it does at too sharp an angle."""
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
    return Crossing(header.diameter / 2.0, way, float(off @ aside), height, sine, cosine, np.array([aside, across, along]))
