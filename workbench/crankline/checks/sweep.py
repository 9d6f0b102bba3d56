"""Sweeps: how bodies that are moved together along straight steps pass the parts that stay, and what blocks them.

The exact distance to every part that stays is taken at sampled positions; no shape is taken for convex. A body that is s mm
away cannot come nearer than s - t by moving t, so samples stand no closer than that allows: what passes beyond ``reach`` is told
as such. Within it the samples stand no more than ``resolution`` apart and ten times as close beside the smallest one: elsewhere
the distance can be lower than at the samples by no more than half their spacing. Needs the host.
"""
from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Iterable, Sequence

import FreeCAD
import numpy as np

from . import clearance
from .clearance import Body, Cache, Point

RESOLUTION = 5.0
"""mm between samples where it matters."""

REACH = 50.0
"""mm beyond which the clearance to a part is not followed."""

FINE = 0.1
"""mm to which the place of a blocking is closed in on."""

TURN = 0.5
"""mm by which a distance must fall before the body counts as approaching: until then it only leaves where it stood."""


@dataclass(frozen=True)
class Step:
    """A straight move: unit direction in the car frame and how far, mm."""
    name: str
    direction: tuple[float, float, float]
    travel: float


@dataclass(frozen=True)
class Pass:
    """How the moving bodies pass one part. distance: the smallest, mm; None: beyond reach all along. along, step: travel from the
    start of the path, and its step, where that is. points: on the moving body and on the part, car frame, there. at_rest: it
    never comes nearer than it stood at first. blocked: travel at which a body enters the part, None where none does."""
    part: str
    distance: float | None = None
    along: float = 0.0
    step: str = ""
    points: tuple[Point, ...] = ()
    at_rest: bool = False
    blocked: float | None = None


@dataclass(frozen=True)
class Path:
    """The result of a sweep, mm; passes by part."""
    steps: tuple[Step, ...]
    resolution: float
    reach: float
    passes: tuple[Pass, ...]

    @property
    def blocked(self) -> Pass | None:
        """The part that is entered first; None where the way is clear."""
        return min((one for one in self.passes if one.blocked is not None), key=lambda one: (one.blocked, one.part), default=None)

    @property
    def closest(self) -> Pass | None:
        """Where it passes closest on its way; None where everything that it approaches stays beyond reach."""
        return min((one for one in self.passes if one.distance is not None and not one.at_rest),
                   key=lambda one: (one.distance, one.part), default=None)

    @property
    def travel(self) -> float:
        """Length of the whole path."""
        return sum(step.travel for step in self.steps)


def sweep(moving: Sequence[Body], staying: Iterable[Body], steps: Sequence[Step], cache: Cache | None = None,
          resolution: float = RESOLUTION, reach: float = REACH) -> Path:
    """Move bodies together along steps past bodies that stay.

    A part that touches a moving body at rest (bolted to it, or what it slides out of) does not block by that; it does where the
    body enters it. What overlaps at rest is an interference, and is left to that. ValueError for a resolution over 5 mm.
    """
    if not 0.0 < resolution <= 5.0:
        raise ValueError(f"resolution: {resolution} mm was found; more than 0 and no more than 5 mm is allowed")
    cache = cache or Cache()
    steps = tuple(step for step in steps if step.travel > 0.0)
    passes = []
    for part in sorted(staying, key=lambda body: body.key):
        found = [_Mover(body, part, steps, cache).passed(resolution, reach) for body in sorted(moving, key=lambda body: body.key)]
        nearest = min(found, key=lambda one: (one.distance is None, one.at_rest, one.distance or 0.0))
        passes.append(replace(nearest, blocked=min((one.blocked for one in found if one.blocked is not None), default=None)))
    return Path(steps, resolution, reach, tuple(passes))


def at(steps: Sequence[Step], along: float) -> tuple[np.ndarray, str]:
    """How far a path has moved a body after so much travel, (3,) in mm, and the name of the step."""
    shift, name = np.zeros(3), steps[0].name if steps else ""
    for step in steps:
        if along > 1e-9:
            name = step.name
        shift += np.array(step.direction) * min(max(along, 0.0), step.travel)
        along -= step.travel
    return shift, name


class _Shifted:
    """Faces of a body, each moved when it is asked for."""

    def __init__(self, faces: Sequence, shift: np.ndarray):
        self._faces, self._shift = faces, FreeCAD.Vector(*shift)

    def __getitem__(self, index):
        moved = self._faces[index].copy(False, False)
        moved.translate(self._shift)
        return moved


class _Mover:
    """One moving body and one part that stays: their distance as a function of the travel."""

    def __init__(self, body: Body, part: Body, steps: Sequence[Step], cache: Cache):
        self.body, self.part, self.steps, self.cache = body, part, steps, cache
        self.total = sum(step.travel for step in steps)
        self.corners = np.cumsum([step.travel for step in steps]).tolist()
        self.there, self.here = clearance.prepared(part, cache), clearance.prepared(body, cache)

    def bound(self, along: float) -> float:
        """Lower bound of the distance, from boxes."""
        shift = np.tile(at(self.steps, along)[0], 2)
        return float(clearance.box_gaps((self.here.box + shift)[None], self.there.box[None])[0, 0])

    def surfaces(self, along: float):
        """Distance of the surfaces and the two points."""
        shift = at(self.steps, along)[0]
        here = replace(self.here, faces=_Shifted(self.here.faces, shift), boxes=self.here.boxes + np.tile(shift, 2),
                       vertices=self.here.vertices + shift)
        return clearance.surfaces(here, self.there, self.cache)

    def inside(self, along: float) -> bool:
        """Whether the body has entered the part: they have volume in common."""
        shape = self.body.shape.copy(True, False)
        shape.translate(FreeCAD.Vector(*at(self.steps, along)[0]))
        return clearance.between(replace(self.body, shape=shape, mark=""), replace(self.part, mark=""), self.cache).distance < 0.0

    def passed(self, resolution: float, reach: float) -> Pass:
        """The whole path."""
        best, best_at, points, blocked = reach, None, (), None
        rest, farthest, approaching = None, 0.0, False
        along = clear = 0.0
        while True:
            distance = self.bound(along)
            if distance < max(best, TURN):
                distance, found = self.surfaces(along)
                if distance < clearance.TOUCH and self.inside(along):
                    if along == 0.0:
                        return Pass(self.part.key, 0.0, 0.0, at(self.steps, 0.0)[1], tuple(found), at_rest=True)
                    blocked = self._entered(clear, along)
                    best, best_at, points = 0.0, blocked, self.surfaces(blocked)[1]
                    break
                if along == 0.0:
                    rest = (distance, found)
                farthest = max(farthest, distance)
                approaching = approaching or distance < farthest - TURN
                if approaching and distance < best:
                    best, best_at, points = distance, along, found
            else:
                farthest = max(farthest, distance)
                # Where it stays beyond what matters nothing is left of how it stood at rest.
                approaching = True
            clear = along
            if along >= self.total - 1e-9:
                break
            # The corners of the path are looked at, whatever the distance.
            along = min([along + max(resolution, distance - best)] + [end for end in self.corners if end > along + 1e-9])
        if best_at is not None:
            if blocked is None:
                best, best_at, points = self._refined(best, best_at, points, resolution)
            return Pass(self.part.key, best, best_at, at(self.steps, best_at)[1], tuple(points), blocked=blocked)
        if rest is not None and rest[0] < reach:
            return Pass(self.part.key, rest[0], 0.0, at(self.steps, 0.0)[1], tuple(rest[1]), at_rest=True)
        return Pass(self.part.key)

    def _refined(self, best: float, best_at: float, points, resolution: float):
        for along in best_at + resolution * np.linspace(-0.9, 0.9, 19):
            if 0.0 <= along <= self.total and self.bound(along) < best:
                distance, found = self.surfaces(float(along))
                if distance < best:
                    best, best_at, points = distance, float(along), found
        return best, best_at, points

    def _entered(self, clear: float, inside: float) -> float:
        """Travel at which the body enters the part, between a place that is clear and one that is inside."""
        while inside - clear > FINE:
            middle = 0.5 * (clear + inside)
            if self.surfaces(middle)[0] < clearance.TOUCH and self.inside(middle):
                inside = middle
            else:
                clear = middle
        return inside
