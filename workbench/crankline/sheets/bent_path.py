"""The centerline of what is bent on a machine, from how it is made: straight, rotation, bend, straight ... (the LRA data of the trade)."""
from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from ..geometry.outline import Loop, Vertex

STEP = math.radians(5.0)
"""Arcs are followed by points no farther apart than this (numerical)."""


@dataclass(frozen=True)
class Path:
    """straights: mm, one more than bends; bends: rad, each of ``radius`` to the centerline, mm; rotations: rad by which the plane of each
    bend but the first is turned from the one before, right-handed along the path."""
    straights: tuple[float, ...]
    bends: tuple[float, ...]
    rotations: tuple[float, ...]
    radius: float

    @property
    def plane(self) -> bool:
        """Whether it stays in one plane."""
        return all(abs(math.sin(turn)) < 1e-6 for turn in self.rotations)

    @property
    def length(self) -> float:
        """Length of the centerline, mm."""
        return sum(self.straights) + self.radius * sum(map(abs, self.bends))

    def marks(self) -> tuple[tuple[float, float], ...]:
        """Where each bend starts and ends along the straight tube from its first end, mm."""
        found, at = [], 0.0
        for straight, bend in zip(self.straights, self.bends):
            at += straight
            found.append((at, at + self.radius * abs(bend)))
            at = found[-1][1]
        return tuple(found)


@dataclass(frozen=True)
class Run:
    """One straight or one bend of a path: its points (k, 3), mm, and their directions (k, 3); bend: its number, -1 of a straight."""
    points: np.ndarray
    directions: np.ndarray
    bend: int


def runs(path: Path) -> tuple[Run, ...]:
    """The path in space: its first straight along +y from the origin, its first bend toward -x where its angle is positive (to the left of
    the way), as a flat is bent up."""
    at, along, side = np.zeros(3), np.array([0.0, 1.0, 0.0]), np.array([-1.0, 0.0, 0.0])
    found = []
    for number, straight in enumerate(path.straights):
        end = at + straight * along
        if straight > 1e-9:
            found.append(Run(np.array([at, end]), np.array([along, along]), -1))
        at = end
        if number == len(path.bends):
            break
        if number:
            turn = path.rotations[number - 1]
            side = math.cos(turn) * side + math.sin(turn) * np.cross(along, side)
        bend = path.bends[number]
        toward = side if bend >= 0.0 else -side
        angles = np.linspace(0.0, abs(bend), max(2, math.ceil(abs(bend) / STEP) + 1))[:, None]
        points = at + path.radius * (np.sin(angles) * along + (1.0 - np.cos(angles)) * toward)
        ways = np.cos(angles) * along + np.sin(angles) * toward
        found.append(Run(points, ways, number))
        turned = math.cos(abs(bend)) * toward - math.sin(abs(bend)) * along
        at, along, side = points[-1], ways[-1], turned if bend >= 0.0 else -turned
    return tuple(found)


def beside(path: Path, by: float, heading: float) -> list[Vertex]:
    """The way of a path in one plane, so far to its left, mm; heading: direction of its first straight, rad. Each vertex says how the
    segment that leaves it bends."""
    turns, sign = [], 1.0
    for number, bend in enumerate(path.bends):
        if number and math.cos(path.rotations[number - 1]) < 0.0:
            sign = -sign
        turns.append(sign * bend)
    x, y = 0.0, 0.0
    found: list[Vertex] = []

    def vertex(bulge: float) -> None:
        found.append(Vertex(x - by * math.sin(heading), y + by * math.cos(heading), bulge))

    for number, straight in enumerate(path.straights):
        if straight > 1e-9:
            vertex(0.0)
            x, y = x + straight * math.cos(heading), y + straight * math.sin(heading)
        if number == len(turns):
            break
        turn = turns[number]
        vertex(math.tan(turn / 4.0))
        chord, way = 2.0 * path.radius * abs(math.sin(turn / 2.0)), heading + turn / 2.0
        x, y, heading = x + chord * math.cos(way), y + chord * math.sin(way), heading + turn
    vertex(0.0)
    return found


def strip(path: Path, width: float, heading: float = 0.0) -> Loop:
    """The outline of what is bent along a path in one plane, mm wide there."""
    left, right = beside(path, width / 2.0, heading), beside(path, -width / 2.0, heading)
    back = [Vertex(right[i].y, right[i].z, -right[i - 1].bulge if i else 0.0) for i in range(len(right) - 1, -1, -1)]
    return Loop((*left, *back))
