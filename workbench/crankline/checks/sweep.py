"""Sweeps: how bodies that are moved together along straight steps pass the parts that stay, and what blocks them.

The exact distance is taken at sampled positions and no shape is taken for convex. Between two samples it can fall no lower than
half their sum less half the way between them, nor lower than what the boxes of the faces allow over that stretch, along the
axes of the car, of the moving body and of the part. Stretches that may hold something nearer than the nearest found are halved, until
what is still possible lies within a stated tolerance. Needs the host.
"""
from __future__ import annotations

import heapq
import math
from dataclasses import dataclass, replace
from typing import Iterable, Sequence

import FreeCAD
import numpy as np

from . import clearance
from .clearance import Body, Cache, Point

RESOLUTION = 5.0
"""mm that samples stand apart at most wherever something is within reach and may come nearer."""

REACH = 50.0
"""mm beyond which the clearance to a part is not followed."""

SHARE, FINEST = 1.0 / 8.0, 0.25
"""A smallest clearance is found to within this share of itself, to no less than so many mm and no more than half the resolution."""

ENTERED = 0.1
"""mm to which the place of a blocking is closed in on."""

GRAZE = 1e-3
"""mm by which boxes may overlap before their faces can have entered each other: boxes are exact to less."""


@dataclass(frozen=True)
class Step:
    """A straight move: unit direction in the car frame and how far, mm."""
    name: str
    direction: tuple[float, float, float]
    travel: float


@dataclass(frozen=True)
class Pass:
    """How the moving bodies pass one part. distance: the smallest, mm; None: beyond reach all along. within: mm by which the true
    smallest one may be less. along, step: travel from the start of the path, and its step, where that is. points: on the moving
    body and on the part, car frame, there. at_rest: it never comes nearer than it stood at first (overlaps at rest count as 0).
    blocked: travel at which a body enters the part, None where none does."""
    part: str
    distance: float | None = None
    within: float = 0.0
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
        found = [_Pair(body, part, steps, cache, resolution, reach).passed() for body in sorted(moving, key=lambda body: body.key)]
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


class _Pair:
    """One moving body and one part that stays."""

    def __init__(self, body: Body, part: Body, steps: Sequence[Step], cache: Cache, resolution: float, reach: float):
        self.body, self.part, self.steps, self.cache = body, part, steps, cache
        self.resolution, self.reach = resolution, reach
        self.ends = [0.0, *np.cumsum([step.travel for step in steps]).tolist()]
        self.there, self.here = clearance.prepared(part, cache), clearance.prepared(body, cache)
        self.frames: list | None = None
        self.known: dict[float, tuple[float, tuple]] = {}

    # --- bounds

    def far(self, first: float, last: float) -> float:
        """Lower bound over a stretch of one step, from the boxes of the whole bodies along the car's axes."""
        return float(_stretch_gap(self.here.box[None], self.there.box[None], at(self.steps, first)[0], at(self.steps, last)[0])[0, 0])

    def bound(self, first: float, last: float) -> float:
        """Lower bound over a stretch of one step, from the boxes of the faces; negative where they may have entered each other."""
        return float(self.gaps(first, last).min())

    def gaps(self, first: float, last: float) -> np.ndarray:
        """The same for every two faces, (n, m)."""
        if self.frames is None:
            self.frames = [(turn, _turned_boxes(self.here.faces, turn), _turned_boxes(self.there.faces, turn))
                           for turn in _turns(self.body, self.part)]
        shifts = at(self.steps, first)[0], at(self.steps, last)[0]
        return np.maximum.reduce([_stretch_gap(mine, theirs, turn @ shifts[0], turn @ shifts[1])
                                  for turn, mine, theirs in self.frames])

    # --- exact

    def surfaces(self, along: float) -> tuple[float, tuple]:
        """Distance of the surfaces and the two points."""
        if along not in self.known:
            shift = at(self.steps, along)[0]
            here = replace(self.here, faces=_Shifted(self.here.faces, shift), boxes=self.here.boxes + np.tile(shift, 2),
                           vertices=self.here.vertices + shift)
            # Nowhere it is farther than where it was sampled, and the way from there.
            bound = min((distance + abs(along - other) for other, (distance, _points) in self.known.items()), default=math.inf)
            self.known[along] = clearance.surfaces(here, self.there, self.cache, self.gaps(along, along).clip(0.0), bound)
        return self.known[along]

    def inside(self, along: float) -> bool:
        """Whether the body has entered the part there: they have volume in common."""
        if self.surfaces(along)[0] > clearance.TOUCH or self.bound(along, along) > -GRAZE:
            return False
        shape = self.body.shape.copy(True, False)
        shape.translate(FreeCAD.Vector(*at(self.steps, along)[0]))
        return clearance.between(replace(self.body, shape=shape, mark=""), replace(self.part, mark=""), self.cache).distance < 0.0

    # --- the path

    def passed(self) -> Pass:
        """The whole path, step by step."""
        stretches = list(zip(self.ends, self.ends[1:]))
        if all(self.far(*stretch) >= self.reach for stretch in stretches):
            return Pass(self.part.key)
        start, points = self.surfaces(0.0)
        name = self.steps[0].name
        if self.inside(0.0):
            return Pass(self.part.key, 0.0, 0.0, 0.0, name, points, at_rest=True)
        best, best_at, blocked = min(start, self.reach), None, None
        for stretch in stretches:
            best, best_at, blocked = self._search(stretch, best, best_at)
            if blocked is not None:
                break
            if best_at is None and stretch[1] < self.ends[-1]:
                # It only left where it stood; what follows is judged anew.
                best = self.reach
        if best_at is None:
            return Pass(self.part.key, start, 0.0, 0.0, name, points, at_rest=True) if start < self.reach else Pass(self.part.key)
        distance, points = self.surfaces(best_at)
        if blocked is not None:
            distance = 0.0
        return Pass(self.part.key, distance, self._tolerance(distance), best_at, at(self.steps, best_at)[1], points, blocked=blocked)

    def _tolerance(self, distance: float) -> float:
        return min(max(SHARE * distance, FINEST), 0.5 * self.resolution)

    def _search(self, stretch: tuple[float, float], best: float, best_at: float | None):
        """The smallest distance below ``best`` over a stretch of one step, and where a body first enters the part."""
        blocked, queue, count = None, [], 0

        def put(first: float, last: float) -> None:
            nonlocal count
            count += 1
            # Most promising first; of equals the earlier.
            heapq.heappush(queue, (self._least(first, last), first, last))

        put(*stretch)
        while queue:
            least, first, last = heapq.heappop(queue)
            if blocked is not None and first >= blocked:
                continue
            if best > clearance.TOUCH and least >= best - self._tolerance(best):
                continue
            if best <= clearance.TOUCH and (least > -GRAZE or last - first <= ENTERED):
                continue
            if least > -GRAZE and last - first <= 2.0 * FINEST:
                continue
            middle = 0.5 * (first + last)
            for along in (first, middle, last):
                if along in self.known or (blocked is not None and along > blocked):
                    continue
                if self.bound(along, along) >= best:
                    continue
                distance, _points = self.surfaces(along)
                if distance < best:
                    best, best_at = distance, along
                if distance <= clearance.TOUCH and self.inside(along):
                    blocked, best, best_at = along, 0.0, along
            if last - first > ENTERED:
                put(first, middle)
                put(middle, last)
        return best, best_at, blocked

    def _least(self, first: float, last: float) -> float:
        """The least distance that is possible over a stretch; negative where the body may enter the part."""
        bound = self.bound(first, last)
        if first in self.known and last in self.known:
            slope = 0.5 * (self.known[first][0] + self.known[last][0] - (last - first))
            if slope > 0.0:
                bound = max(bound, slope)
        return bound


def _turns(body: Body, part: Body) -> list[np.ndarray]:
    """Rotations from the car's axes to those in which boxes are taken: the car's, the body's and the part's, each once."""
    found = [np.eye(3)]
    for shape in (body.shape, part.shape):
        turn = clearance.matrix(shape.Placement)[:3, :3].T
        if all(np.abs(turn - other).max() > 1e-9 for other in found):
            found.append(turn)
    return found


_SIMPLE = ("Part::GeomPlane", "Part::GeomCylinder", "Part::GeomCone")


def _turned_boxes(faces: Sequence, turn: np.ndarray) -> np.ndarray:
    """Boxes of faces along turned axes, (n, 6): tight ones where that is cheap, for faces of torus and spline the quick ones, which
    are never too small."""
    back = FreeCAD.Placement(FreeCAD.Matrix(*(x for row in turn for x in (*row.tolist(), 0.0)), 0, 0, 0, 1))
    rows = []
    for face in faces:
        moved = face.copy(False, False)
        moved.Placement = back.multiply(moved.Placement)
        box = moved.optimalBoundingBox(False) if moved.Surface.TypeId in _SIMPLE else moved.BoundBox
        rows.append((box.XMin, box.YMin, box.ZMin, box.XMax, box.YMax, box.ZMax))
    return np.array(rows)


def _stretch_gap(mine: np.ndarray, theirs: np.ndarray, first: np.ndarray, last: np.ndarray) -> np.ndarray:
    """What boxes (n, 6) keep from boxes (m, 6) all the way from one shift to another, (n, m): along any one axis and side, which
    is linear in the way, the lesser of both ends; negative where they may overlap."""
    low, high = np.minimum(first, last), np.maximum(first, last)
    ahead = (mine[:, None, :3] + low) - theirs[None, :, 3:]
    behind = theirs[None, :, :3] - (mine[:, None, 3:] + high)
    return np.maximum(ahead, behind).max(axis=-1)
