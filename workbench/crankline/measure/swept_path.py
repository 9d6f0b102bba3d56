"""Sweeps: how bodies that are moved together along steps, straight or tipping, pass the parts that stay, and what blocks them.

The exact distance is taken at sampled positions and no shape is taken for convex. Between two samples it can fall no lower than
half their sum less half the way between them, nor lower than what the boxes of the faces allow over that stretch, along the
axes of the car, of the moving body and of the part; nor, where a round body slides along its own axis, than what stands around
it allows. Where a body tips, the way is that of its farthest point, and by what its points stand off the chords of their arcs the
boxes are kept farther apart. Stretches that may hold something nearer than the nearest found are halved, until what is still
possible lies within a stated tolerance. Needs the host.
"""
from __future__ import annotations

import heapq
import math
from collections.abc import Container, Generator, Iterable, Sequence
from dataclasses import dataclass, replace
from typing import Any

import numpy as np

from ..mechanics.frames import as_point
from ..progress import Progress
from . import core, proof, swept_boxes
from .body import Body, Point, faces_of, inverse, relative, standing
from .distance import TOUCH, surfaces
from .kept import Kept
from .parting import parted

RESOLUTION = 5.0
"""mm that samples stand apart at most wherever something is within reach and may come nearer."""

REACH = 30.0
"""mm beyond which the clearance to a part is not followed."""

SHARE, FINEST = 1.0 / 5.0, 0.25
"""A smallest clearance is found to within this share of itself, to no less than so many mm and no more than the resolution."""

ENTERED = 0.1
"""mm to which the place of a blocking is closed in on."""

GRAZE = 1e-3
"""mm by which boxes may overlap before their faces can have entered each other: boxes are exact to less."""


@dataclass(frozen=True)
class Step:
    """A move that is straight, turns, or both at once in proportion: unit direction in the car frame and how far, mm; tip: angle in
    rad, right-handed about a unit axis through a point (about, car frame, where it is when the step begins) that goes along."""
    name: str
    direction: tuple[float, float, float]
    travel: float
    tip: float = 0.0
    axis: tuple[float, float, float] = (0.0, 1.0, 0.0)
    about: tuple[float, float, float] = (0.0, 0.0, 0.0)

    def motion(self, share: float) -> np.ndarray:
        """The move up to a share of the step, (4, 4)."""
        move = np.eye(4)
        x, y, z = self.axis
        cross = np.array([[0.0, -z, y], [z, 0.0, -x], [-y, x, 0.0]])
        angle, point = share * self.tip, np.array(self.about)
        if angle:
            move[:3, :3] += math.sin(angle) * cross + (1.0 - math.cos(angle)) * cross @ cross
        move[:3, 3] = point - move[:3, :3] @ point + share * self.travel * np.array(self.direction)
        return move


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
    course: Course
    resolution: float
    reach: float
    passes: tuple[Pass, ...]

    @property
    def steps(self) -> tuple[Step, ...]:
        """The steps that are longer than nothing."""
        return self.course.steps

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
        """Length of the whole path: travels, and the way of the point that tips farthest."""
        return self.course.ends[-1]


def sweep(moving: Sequence[Body], staying: Iterable[Body], steps: Sequence[Step], kept: Kept | None = None,
          resolution: float = RESOLUTION, reach: float = REACH, first_only: bool = False,
          apart: Container[str] = (), share: float = SHARE) -> Generator[Progress, None, Path]:
    """Slice by slice, how bodies pass that are moved. Move bodies together along steps past bodies that stay.

    A part that touches a moving body at rest (bolted to it, or what it slides out of) does not block by that; it does where the
    body enters it. What overlaps at rest is an interference, and is left to that. first_only: once a part blocks, what lies behind that
    is not looked at, which saves most of the time; what is told of other parts then holds up to there. ValueError for a resolution
    over 5 mm.
    """
    if not 0.0 < resolution <= 5.0:
        raise ValueError(f"resolution: {resolution} mm was found; more than 0 and no more than 5 mm is allowed")
    kept, moving = kept or Kept(), sorted(moving, key=lambda body: body.key)
    course = Course([step for step in steps if step.travel > 0.0 or step.tip], hull(moving, kept))
    passes, until = [], math.inf
    for part in sorted(staying, key=lambda body: body.key):
        found = []
        for body in moving:
            one = yield from _Pair(body, part, course, kept, resolution, reach, until, apart=part.key in apart, share=share).passed()
            found.append(one)
            if first_only and one.blocked is not None:
                until = min(until, one.blocked)
        nearest = min(found, key=lambda one: (one.distance is None, one.at_rest, one.distance or 0.0))
        passes.append(replace(nearest, blocked=min((one.blocked for one in found if one.blocked is not None), default=None)))
    return Path(course, resolution, reach, tuple(passes))


def entered(moving: Sequence[Body], staying: Iterable[Body], steps: Sequence[Step], kept: Kept | None = None,
            resolution: float = RESOLUTION, reach: float = REACH) -> Generator[Progress, None, tuple[Pass, ...]]:
    """Slice by slice, how each part is passed; of one that is entered only that it is, and a place, not the first."""
    kept, moving = kept or Kept(), sorted(moving, key=lambda body: body.key)
    course = Course([step for step in steps if step.travel > 0.0 or step.tip], hull(moving, kept))
    found = []
    for part in sorted(staying, key=lambda body: body.key):
        passes = []
        for body in moving:
            passes.append((yield from _Pair(body, part, course, kept, resolution, reach, at_once=True).passed()))
        found.append(min(passes, key=lambda one: (one.blocked is None, one.distance is None, one.at_rest, one.distance or 0.0)))
    return tuple(found)


def hull(moving: Sequence[Body], kept: Kept) -> np.ndarray:
    """Corners (n, 3) of boxes that hold the bodies, car frame, mm."""
    return np.concatenate([swept_boxes.corners(faces_of(body, kept).box[None])[0] for body in moving])


class Course:
    """Where a path brings the bodies that are moved along it. The way along it, mm, is such that no point of theirs goes farther: the
    travel of a step, and its tip times the distance of the point that is farthest from the axis."""

    def __init__(self, steps: Sequence[Step], corners: np.ndarray):
        """corners: (n, 3), car frame, mm, of a hull that holds the bodies as they stand at first."""
        self.steps, self._starts, self._radii, self.ends = tuple(steps), [np.eye(4)], [], [0.0]
        for step in self.steps:
            start = self._starts[-1]
            offset = corners @ start[:3, :3].T + start[:3, 3] - step.about
            radius = float(np.linalg.norm(np.cross(offset, step.axis), axis=1).max()) if step.tip else 0.0
            self._radii.append(radius)
            self.ends.append(self.ends[-1] + step.travel + radius * abs(step.tip))
            self._starts.append(step.motion(1.0) @ start)

    def index(self, along: float) -> int:
        """Number of the step; where two meet, the earlier."""
        return next((i for i, end in enumerate(self.ends[1:]) if along <= end + 1e-9), len(self.steps) - 1)

    def name(self, along: float) -> str:
        """Name of the step there."""
        return self.steps[self.index(along)].name if self.steps else ""

    def pose(self, along: float, index: int | None = None) -> np.ndarray:
        """How the bodies have been moved from where they stood, (4, 4)."""
        if not self.steps:
            return np.eye(4)
        i = self.index(along) if index is None else index
        share = (along - self.ends[i]) / (self.ends[i + 1] - self.ends[i])
        return self.steps[i].motion(min(max(share, 0.0), 1.0)) @ self._starts[i]

    def stretch(self, first: float, last: float) -> tuple[tuple[np.ndarray, np.ndarray], float]:
        """Poses at both ends of a stretch of one step, and how far, mm, any point may stand off its chord between them."""
        i = self.index(0.5 * (first + last))
        turn = abs(self.steps[i].tip) * (last - first) / (self.ends[i + 1] - self.ends[i])
        return (self.pose(first, i), self.pose(last, i)), self._radii[i] * turn * turn / 8.0

    def turned(self, first: float, last: float) -> bool:
        """Whether the bodies stand turned from how they stood at first, or are turned there."""
        i = self.index(0.5 * (first + last))
        return bool(self.steps[i].tip) or bool(np.abs(self._starts[i][:3, :3] - np.eye(3)).max() > 1e-12)


class _Moved:
    """Faces of a body, each moved when it is asked for."""

    def __init__(self, faces: Sequence, place: Any):
        self._faces, self._place = faces, place

    def __getitem__(self, index):
        moved = self._faces[index].copy(False, False)
        moved.Placement = self._place.multiply(moved.Placement)
        return moved


class _Pair:
    """One moving body and one part that stays."""

    def __init__(self, body: Body, part: Body, course: Course, kept: Kept, resolution: float, reach: float, until: float = math.inf,
                 at_once: bool = False, apart: bool = False, share: float = SHARE):
        self.body, self.part, self.course, self.kept = body, part, course, kept
        self.resolution, self.reach, self.until, self.at_once, self.apart, self.share = resolution, reach, until, at_once, apart, share
        self.there, self.here = faces_of(part, kept), faces_of(body, kept)
        self.frames: list | None = None
        self.tipped: swept_boxes.Tipped | None = None
        self.known: dict[float, tuple[float, tuple]] = {}
        self.least: dict[float, float] = {}
        self.coped = kept.of("coped", part.mark, lambda: any(edge.Curve.TypeId == "Part::GeomBSplineCurve" for edge in part.shape.Edges
                                                             if not edge.Degenerated))
        self.slides: dict[int, float] = {}
        self.progress = Progress(f"{body.key} past {part.key}", 0.5)

    # --- bounds
    def far(self, first: float, last: float) -> float:
        """Lower bound over a stretch of one step, from the boxes of the whole bodies along the car's axes."""
        ends, bulge = self.course.stretch(first, last)
        box = swept_boxes.corners(self.here.box[None])[..., None]
        first_box, last_box = (swept_boxes.extent(pose[:3, :3] @ box + pose[:3, 3:]) for pose in ends)
        return float(swept_boxes.boxes_apart(first_box, last_box, self.there.box[None]).max() - bulge)

    def bound(self, first: float, last: float) -> float:
        """Lower bound over a stretch of one step, from the boxes of the faces; negative where they may have entered each other."""
        return float(self.gaps(first, last).min())

    def gaps(self, first: float, last: float) -> np.ndarray:
        """The same for every two faces, (n, m)."""
        ends, bulge = self.course.stretch(first, last)
        if bulge == 0.0 and not self.course.turned(first, last):
            if self.frames is None:
                self.frames = [(turn, swept_boxes.turned_boxes(self.here.faces, turn), swept_boxes.turned_boxes(self.there.faces, turn))
                               for turn in swept_boxes.turns(self.body, self.part)]
            return np.maximum.reduce([swept_boxes.stretch_gap(mine, theirs, turn @ ends[0][:3, 3], turn @ ends[1][:3, 3])
                                      for turn, mine, theirs in self.frames])
        if self.tipped is None:
            self.tipped = swept_boxes.Tipped(self.body, self.here, self.part, self.there)
        return self.tipped.gaps(*ends) - bulge

    def beside(self, first: float, last: float) -> float:
        """Lower bound over a step along which a round body slides on its own axis; -inf where it does not, or that is not known."""
        i = self.course.index(0.5 * (first + last))
        if i not in self.slides:
            step = self.course.steps[i]
            start = self.course.pose(self.course.ends[i], i) @ self.body.pose
            self.slides[i] = -math.inf if step.tip else core.slide_gap(self.body, start, step.travel * np.array(step.direction), self.part,
                                                                       self.reach, self.kept)
        return self.slides[i]

    def skins(self, along: float) -> float:
        """Lower bound of the distance there, from the skins; 0 where they do not tell, or the host tells sooner: its distance from edges
        that are splines, as of coped tubes, is the dear one."""
        if not self.coped:
            return 0.0
        if along not in self.least:
            moved = self.moved(self.course.pose(along))
            place = relative(self.part, moved)
            what = "swept least", (place.round(6) + 0.0).tobytes()
            self.least[along] = self.kept.between(what, (self.part.mark, self.body.mark), place,
                                                  lambda: proof.least_distance(self.part, moved, self.kept))
        return self.least[along]

    # --- exact

    def surfaces(self, along: float) -> tuple[float, tuple]:
        """Distance of the surfaces and the two points."""
        if along not in self.known:
            pose = self.course.pose(along)
            # Ways that are tried begin alike, and what is found is followed again more finely.
            place = inverse(self.part.pose) @ pose @ self.body.pose
            distance, points = self.kept.between(("swept", (place.round(6) + 0.0).tobytes()), (self.part.mark, self.body.mark), place,
                                                 lambda: self._measured(along, pose))
            self.known[along] = distance, tuple(as_point(self.part.pose[:3, :3] @ point + self.part.pose[:3, 3]) for point in points)
        return self.known[along]

    def _measured(self, along: float, pose: np.ndarray) -> tuple[float, tuple[np.ndarray, ...]]:
        """Distance of the surfaces, the body moved by a pose, and the two points in the part's own frame."""
        faces = _Moved(self.here.faces, swept_boxes.placement(pose))
        here = replace(self.here, made=lambda: faces, vertices=self.here.vertices @ pose[:3, :3].T + pose[:3, 3])
        # Nowhere it is farther than where it was sampled, and the way from there.
        bound = min((distance + abs(along - other) for other, (distance, _points) in self.known.items()), default=math.inf)
        moved = self.moved(pose)
        distance, points = surfaces(here, self.there, self.kept, self.gaps(along, along).clip(0.0), bound,
                                    lambda bound, exact: proof.face_gaps(moved, self.part, bound, exact, self.kept))
        own = inverse(self.part.pose)
        return distance, tuple(own[:3, :3] @ point + own[:3, 3] for point in points)

    def inside(self, along: float) -> bool:
        """Whether the body has entered the part there: they have volume in common."""
        if self.surfaces(along)[0] > TOUCH or self.bound(along, along) > -GRAZE:
            return False
        return not parted(self.moved(self.course.pose(along)), self.part, 0.0, self.kept)

    def moved(self, pose: np.ndarray) -> Body:
        """The body moved by a pose."""
        return replace(self.body, shape=standing(self.body, swept_boxes.placement(pose).multiply(self.body.shape.Placement), self.kept))

    # --- the path

    def passed(self) -> Generator[Progress, None, Pass]:
        """Slice by slice, the whole path, step by step."""
        yield self.progress
        stretches = [(first, min(last, self.until)) for first, last in zip(self.course.ends, self.course.ends[1:]) if first < self.until]
        if all(self.far(*stretch) >= self.reach for stretch in stretches):
            return Pass(self.part.key)
        name, points = self.course.name(0.0), ()
        start = self.skins(0.0)
        if start < self.reach:
            start, points = self.surfaces(0.0)
        if start <= TOUCH and self.inside(0.0):
            return Pass(self.part.key, 0.0, 0.0, 0.0, name, points, at_rest=not self.apart, blocked=0.0 if self.apart else None)
        best, best_at, blocked = min(start, self.reach), None, None
        for stretch in stretches:
            best, best_at, blocked = yield from self._search(stretch, best, best_at)
            if blocked is not None:
                break
            if best_at is None and stretch[1] < self.course.ends[-1]:
                # It only left where it stood; what follows is judged again.
                best = self.reach
        if best_at is None:
            return Pass(self.part.key, start, 0.0, 0.0, name, points, at_rest=True) if start < self.reach else Pass(self.part.key)
        distance, points = self.surfaces(best_at)
        if blocked is not None:
            distance = 0.0
        return Pass(self.part.key, distance, self._tolerance(distance), best_at, self.course.name(best_at), points, blocked=blocked)

    def _tolerance(self, distance: float) -> float:
        return min(max(self.share * distance, FINEST), self.resolution)

    def _search(self, stretch: tuple[float, float], best: float, best_at: float | None):
        """Slice by slice, the smallest distance below ``best`` over a stretch of one step, and where a body first enters the part."""
        blocked, queue, count = None, list[Any](), 0

        def put(first: float, last: float) -> None:
            nonlocal count
            count += 1
            # Most promising first; of equals the earlier.
            heapq.heappush(queue, (self._least(first, last), first, last))

        put(*stretch)
        while queue:
            least, first, last = heapq.heappop(queue)
            yield self.progress
            if blocked is not None and first >= blocked:
                continue
            if best > TOUCH and least >= best - self._tolerance(best):
                continue
            if best <= TOUCH and (least > -GRAZE or last - first <= ENTERED):
                continue
            if least > -GRAZE and last - first <= 2.0 * FINEST:
                continue
            middle = 0.5 * (first + last)
            for along in (first, middle, last):
                if along in self.known or (blocked is not None and along > blocked):
                    continue
                if self.bound(along, along) >= best or self.skins(along) > max(best, TOUCH):
                    continue
                distance, _points = self.surfaces(along)
                if distance < best:
                    best, best_at = distance, along
                if distance <= TOUCH and self.inside(along):
                    blocked, best, best_at = along, 0.0, along
                    if self.at_once:
                        return best, best_at, blocked
            if last - first > ENTERED:
                put(first, middle)
                put(middle, last)
        return best, best_at, blocked

    def _least(self, first: float, last: float) -> float:
        """The least distance that is possible over a stretch; negative where the body may enter the part."""
        bound = max(self.bound(first, last), self.beside(first, last))
        ends = [self.known[along][0] if along in self.known else self.least.get(along) for along in (first, last)]
        if ends[0] is not None and ends[1] is not None:
            slope = 0.5 * (ends[0] + ends[1] - (last - first))
            if slope > 0.0:
                bound = max(bound, slope)
        return bound
