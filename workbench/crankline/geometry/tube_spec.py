"""The numbers of a straight round tube: its ends, its section, and what the ends are coped or cut to. Imports without the host."""
from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True)
class Header:
    """A tube or bar that an end is coped to: a line through ``point`` along ``direction`` (no unit length needed), mm."""
    point: tuple[float, float, float]
    direction: tuple[float, float, float]
    diameter: float


@dataclass(frozen=True)
class Plane:
    """A plane that an end is cut at, square or mitred; the tube stays on the side that ``normal`` points away from."""
    point: tuple[float, float, float]
    normal: tuple[float, float, float]


@dataclass(frozen=True)
class Spec:
    """A straight tube: ends of its centerline, outside diameter and wall, and what its ends are coped or cut to, mm.

    With a header the end stated is the point on the header's centerline (the cut is made by the header itself).
    """
    start: tuple[float, float, float]
    end: tuple[float, float, float]
    outer_diameter: float
    wall: float
    headers: tuple[Header, ...] = ()
    planes: tuple[Plane, ...] = ()
