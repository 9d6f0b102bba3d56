"""Service paths of a car: what is taken out, what is out of the way or comes off first, and which ways are tried. Needs the host.

Transmission: the car on stands, so that the track is no obstacle; jack under it, driveshaft out, tail bolts and cross bolt out, mount
folded flat on the cross member, split loops open. It goes straight back along the crank by the travel that frees dowels and pilot. Then
it is lowered; or its front is lowered, so that it is tipped nose down over the cross member and slides out forward and down; or it
is turned a quarter about its own axis first, pan to one side. How far it is tipped and shifted is looked for (``path_search``), and
what is found is swept exactly (``swept_path``). Driveshaft: the slip yoke's engaged spline is drawn out rearward, through enclosure and
loops; the rear end is not drawn. Engine with its plates: up in the plane of the plates, which is square to the crank and the way that a
plate slides out of its tabs; or straight up, which a leaning plate cannot go far. Its headers are off, since they hang on it.
"""
from __future__ import annotations

import math
from collections.abc import Generator, Iterable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from functools import cached_property
from itertools import pairwise

import FreeCAD
import numpy as np
import Part

from .. import model
from ..features.base import host_placement
from ..geometry import transmission_mount
from ..mechanics.frames import as_point
from ..mechanics.scene import Scene
from ..mechanics.travel import JOINT_REACH
from ..progress import Progress
from ..record import filled
from ..units import INCH, sized
from . import path_search, relations, swept_path
from .body import Body, box_of, faces_of, skin_of, tight_box
from .kept import Kept
from .swept_path import Path, Step

PATHS = ("transmission", "driveshaft", "engine", "engine_with_transmission", "engine_straight_up")

WAYS = ("straight_down", "nose_down", "turned_nose_down")
"""Ways of the transmission once it is back off its dowels, in the order in which they are tried."""

TIP_LIMIT = math.radians(90.0)
"""How far the transmission may be tipped on its jack: until its front faces the ground."""

LIFT = 15.0 * INCH
"""Straight lift over which the engine's way is followed (common practice: 12 to 15 in clear over the block, no source)."""

UNDER = 1.0 * INCH
"""The transmission is out when its top is this far below the underside of the lowest rail."""

FINE, CLOSE = 1.0 / 50.0, 0.5 * INCH
"""Share of itself to within which the smallest clearance of all is found, where it is less than so many mm."""

_AROUND = ("enclosure", "fixed_loop")
"""Kinds of what a driveshaft is drawn out of."""

_FIRST = {"transmission": "transmission", "driveshaft": "driveshaft"}
"""What is taken out, where that is not the engine: the key of the body that the steps are laid out for."""


@dataclass(frozen=True)
class Setup:
    """What moves, what stays, which of that may be taken off (key to the role that it comes off with), the steps of the first way, and
    keys of what must not be met even where it begins: a shaft as thick as its joints swing is not how the shaft is drawn."""
    name: str
    moving: tuple[Body, ...]
    staying: tuple[Body, ...]
    steps: tuple[Step, ...]
    removable: Mapping[str, str] = field(default_factory=dict)
    apart: frozenset[str] = frozenset()


@dataclass(frozen=True)
class Failure:
    """A way that does not come out, and the part that is in the way: after how much travel, mm, and where, as far as that is known."""
    way: str
    part: str
    step: str = ""
    after: float | None = None


@dataclass(frozen=True)
class Outcome:
    """How a thing comes out. way: the one of ``path``, empty where a service path has one only; it comes out if nothing in ``path``
    blocks. off: keys of what must be taken off first. failed: ways tried before. lowest: height over the track of the lowest point on the
    way, mm, negative below it."""
    name: str
    way: str
    path: Path
    off: tuple[str, ...] = ()
    failed: tuple[Failure, ...] = ()
    lowest: float = 0.0


class NoPath(ValueError):
    """The car has nothing to take out this way. One sentence."""


def way_out(name: str, bodies: Mapping[str, tuple[str, Body]], scene: Scene, car: model.Car, kept: Kept | None = None,
        ways: Sequence[str] = WAYS, off: Sequence[str] | None = None, tip_limit: float = TIP_LIMIT) -> Generator[Progress, None, Outcome]:
    """Slice by slice, the outcome: how a thing comes out, by the first of the ways that does; where none does, the first way and what
    blocks it."""
    kept = kept or Kept()
    found = setup(name, bodies, scene, car, off, kept)
    if name != "transmission":
        return (yield from _outcome(found, "", found.steps, kept))
    failed: list[Failure] = []
    first = None
    # All ways begin alike: what is in the way there ends them all.
    fixed = [body for body in found.staying if body.key not in found.removable]
    begin = yield from swept_path.sweep(found.moving, fixed, found.steps[:1], kept, first_only=True)
    if begin.blocked is not None:
        return Outcome(name, "", begin, lowest=_lowest(found.moving, begin, kept))
    room = _Room(found, kept)
    for way in (way for way in WAYS if way in ways):
        if way == "straight_down":
            tried: Iterable[tuple[Step, ...] | Progress] = [found.steps]
        else:
            tried = _tipped(found, scene, way, tip_limit, failed, room)
        for steps in tried:
            if isinstance(steps, Progress):
                yield steps
                continue
            one = yield from _outcome(found, way, steps, kept)
            first = first or one
            if one.path.blocked is None:
                return replace(one, failed=tuple(failed))
            blocked = one.path.blocked
            failed.append(Failure(way, blocked.part, blocked.step, blocked.blocked))
    if first is None:
        first = yield from _outcome(found, "straight_down", found.steps, kept)
    return replace(first, failed=tuple(failed))


def _outcome(found: Setup, way: str, steps: Sequence[Step], kept: Kept) -> Generator[Progress, None, Outcome]:
    """Slice by slice, the outcome: sweeps past what cannot be taken off; if that is clear, what must be taken off is told."""
    fixed = [body for body in found.staying if body.key not in found.removable]
    path = yield from swept_path.sweep(found.moving, fixed, steps, kept, first_only=True, apart=found.apart)
    off: tuple[str, ...] = ()
    if path.blocked is None:
        loose = [body for body in found.staying if body.key in found.removable]
        passes = yield from swept_path.entered(found.moving, loose, steps, kept)
        off = tuple(one.part for one in passes if one.blocked is not None)
        gone = {found.removable[key] for key in off}         # an enclosure and its mounts come off together
        stay = tuple(one for one in passes if found.removable[one.part] not in gone)
        path = replace(path, passes=tuple(sorted((*path.passes, *stay), key=lambda one: one.part)))
        closest = math.inf if path.closest is None or path.closest.distance is None else path.closest.distance
        if closest < CLOSE:
            # What may be the nearest is found as exactly as it is told.
            near = {one.part for one in path.passes if one.distance is not None and one.distance - one.within <= closest}
            again = [body for body in found.staying if body.key in near]
            finer = (yield from swept_path.sweep(found.moving, again, steps, kept, share=FINE)).passes
            others = (one for one in path.passes if one.part not in near)
            path = replace(path, passes=tuple(sorted((*others, *finer), key=lambda one: one.part)))
    return Outcome(found.name, way, path, off, lowest=_lowest(found.moving, path, kept))


def _lowest(moving: Sequence[Body], path: Path, kept: Kept) -> float:
    points = np.concatenate([faces_of(body, kept).vertices for body in moving])
    heights = [float((points @ path.course.pose(along)[2, :3]).min() + path.course.pose(along)[2, 3])
               for along in np.linspace(0.0, path.travel, 60)]
    return min(heights)


def ahead(name: str, bodies: Mapping[str, tuple[str, Body]], kept: Kept) -> Generator[Progress, None, None]:
    """What takes long of ``setup``, a slice each."""
    for kind, body in bodies.values() if name == "driveshaft" else ():
        if kind in _AROUND:
            yield Progress(f"where {body.key} ends", 0.0)
            tight_box(body, kept)


def setup(name: str, bodies: Mapping[str, tuple[str, Body]], scene: Scene, car: model.Car, off: Sequence[str] | None = None,
          kept: Kept | None = None) -> Setup:
    """What moves, what stays, and the steps; off: roles that may be taken off, None for all that are bolted on."""
    kept = kept or Kept()
    if name not in PATHS:
        raise ValueError(f"service path: {name!r} was found; one of {', '.join(PATHS)} is allowed")
    first = _FIRST.get(name, "engine")
    if first not in bodies:
        raise NoPath(f"the car has no {first} to take out")
    bodies = dict(bodies) if name == "driveshaft" else _folded(bodies, scene, car)
    fate = {key: relations.removal_of(kind, key) for key, (kind, _body) in bodies.items()}
    moving = sorted((key for key in bodies if name in fate[key].moves), key=lambda key: (key != first, key))
    moved = tuple(bodies[key][1] for key in moving)
    stays = tuple(body for key, (_kind, body) in sorted(bodies.items()) if key not in moving and name not in fate[key].absent)
    loose = set(relations.removable() if off is None else off)
    if name == "driveshaft":
        moved = (_swinging(moved[0], scene, filled(car).driveshaft),)
        # It is what the shaft is drawn through; it does not come off with the shaft in it.
        loose.discard("enclosure")
        steps = _withdraw(moved[0], bodies, scene, kept)
    elif name == "transmission":
        steps = _back_and_down(moved[0], scene)
    else:
        up = (0.0, 0.0, 1.0) if name == "engine_straight_up" else as_point(scene.engine_frame.rotation[:, 2])
        steps = (Step("straight up" if name == "engine_straight_up" else "up along the plates", up, LIFT),)
    removable = {key: one.off_with for key, one in fate.items() if one.off_with in loose and key not in moving}
    around = frozenset(key for key, (kind, _body) in bodies.items() if kind in _AROUND)
    return Setup(name, moved, stays, steps, removable, around if name == "driveshaft" else frozenset())


def _swinging(shaft: Body, scene: Scene, given: model.Driveshaft) -> Body:
    """The driveshaft as it is handled: tube, and cylinders as thick as the joints swing, to the ends of the drawn shaft."""
    forward = (scene.front_joint - scene.rear_joint) / scene.driveline.length
    swing, reach = given.joint_swing_diameter / 2.0, JOINT_REACH * given.joint_swing_diameter
    ends = (box_of(shaft.shape)[[0, 3]] - scene.rear_joint[0]) / forward[0]

    def cylinder(radius: float, first: float, last: float) -> Part.Shape:
        return Part.makeCylinder(float(radius), float(last - first), FreeCAD.Vector(*map(float, scene.rear_joint + first * forward)),
                                 FreeCAD.Vector(*map(float, forward)))

    solid = cylinder(given.outer_diameter / 2.0, ends[0], ends[1]).fuse(
        [cylinder(swing, min(ends[0], -swing), reach), cylinder(swing, scene.driveline.length - reach, ends[1])])
    # It stands in the car's frame: where it stands is part of the mark.
    where = [round(float(value), 6) for value in (*scene.rear_joint, *scene.front_joint, swing)]
    return Body(shaft.key, solid.removeSplitter(), f"swinging {where}:{shaft.mark}" if shaft.mark else "")


def _withdraw(shaft: Body, bodies: Mapping[str, tuple[str, Body]], scene: Scene, kept: Kept) -> tuple[Step, ...]:
    """Out of the spline, then on until the slip yoke's end has come out of the rearmost of enclosure and welded loops."""
    forward = (scene.front_joint - scene.rear_joint) / scene.driveline.length
    rearward, engaged = as_point(-forward), scene.transmission.spline_engaged
    front = float(box_of(shaft.shape)[3])
    around = [float(tight_box(body, kept)[0]) for kind, body in bodies.values() if kind in _AROUND]
    rest = (front - min(around)) / float(forward[0]) + UNDER - engaged if around else 0.0
    return (Step("withdraw the slip yoke", rearward, engaged), Step("rearward through enclosure and loops", rearward, max(rest, 0.0)))


def _back_and_down(transmission: Body, scene: Scene) -> tuple[Step, ...]:
    back = scene.transmission.disengage_travel
    axis = scene.engine_frame.axis
    top = float(box_of(transmission.shape)[5]) - back * float(axis[2])
    return (Step("straight back", as_point(-axis), back),
            Step("down", (0.0, 0.0, -1.0), max(top - _out_below(scene), 0.0)))


def _out_below(scene: Scene) -> float:
    """Height below which the transmission is out."""
    rails = scene.chassis.rails
    return (rails.height or 0.0) - rails.section.outer_diameter / 2 - UNDER


# --- tipping ----------------------------------------------------------------------------------------------------------


class _Room:
    """What moves and what stands near it, as points; taken when they are first asked for, those of one part a slice."""

    def __init__(self, found: Setup, kept: Kept):
        self._found, self._kept = found, kept
        self._obstacles: list[tuple[str, np.ndarray]] | None = None

    @cached_property
    def body(self) -> np.ndarray:
        return np.concatenate([_surface_points(one, self._kept) for one in self._found.moving])

    def obstacles(self) -> Generator[Progress, None, list[tuple[str, np.ndarray]]]:
        if self._obstacles is not None:
            return self._obstacles
        low, high = self.body.min(axis=0) - path_search.AROUND, self.body.max(axis=0) + path_search.AROUND
        boxes = {one.key: faces_of(one, self._kept).box for one in self._found.staying}
        near = [one for one in self._found.staying if (boxes[one.key][:3] < high).all() and (boxes[one.key][3:] > low).all()]
        points = []
        for number, one in enumerate(near):
            yield Progress(f"{one.key} as points", number / len(near))
            points.append((one.key, _surface_points(one, self._kept, path_search.MARGIN)))
        self._obstacles = points
        return points


def _tipped(found: Setup, scene: Scene, way: str, limit: float, failed: list[Failure], room: _Room):
    """Slice by slice, steps of ways with the nose down, to be tried one after the other: first with everything in its place, then with
    what may be taken off out of the way. What ends the search is noted."""
    back, axis, obstacles = found.steps[0], as_point(scene.engine_frame.axis), (yield from room.obstacles())
    body = room.body
    center = as_point(scene.engine_point(0.0, 0.0, 0.0) + back.travel * np.array(back.direction))
    turns = (0.0,) if way == "nose_down" else (math.pi / 2, -math.pi / 2)
    stopped: list[str] = []
    for fixed in (obstacles, [item for item in obstacles if item[0] not in found.removable]):
        for turn in turns:
            steps = [back]
            if turn:
                steps.append(Step("turn on its own axis", (1.0, 0.0, 0.0), 0.0, turn, axis, center))
            start = np.eye(4)
            for step in steps:
                start = step.motion(1.0) @ start
            stands = body @ start[:3, :3].T + start[:3, 3]
            plan = yield from path_search.plan(stands, fixed, _out_below(scene), limit)
            if plan.poses:
                yield tuple(steps) + _as_steps(plan.poses, stands, _out_below(scene))
            else:
                stopped = list(plan.stopped) or stopped
    if stopped:
        failed.append(Failure(way, stopped[0]))


def _as_steps(poses: Sequence[path_search.Pose], stands: np.ndarray, out_below: float) -> tuple[Step, ...]:
    """Steps from pose to pose, then straight down until all of it is out."""
    middle = path_search.middle_of(path_search.thinned(stands))
    steps = []
    for a, b in pairwise(poses):
        shift = np.array([b.x - a.x, 0.0, b.z - a.z])
        travel, tip = float(np.linalg.norm(shift)), b.tip - a.tip
        name = ("tip nose down, " if tip > 0.0 else "level up, " if tip < 0.0 else "") + _direction(shift)
        direction = as_point(shift / travel) if travel else (0.0, 0.0, -1.0)
        steps.append(Step(name, direction, travel, tip, (0.0, 1.0, 0.0), as_point(middle + [a.x, 0.0, a.z])))
    last = poses[-1]
    c, s = math.cos(last.tip), math.sin(last.tip)
    top = float(((stands - middle) @ np.array([-s, 0.0, c])).max()) + middle[2] + last.z
    return (*steps, Step("down", (0.0, 0.0, -1.0), max(top - out_below, 0.0)))


def _direction(shift: np.ndarray) -> str:
    words = [f"{sized(abs(value), 1)} {word[value < 0.0]}" for value, word in
             ((float(shift[0]), ("forward", "rearward")), (float(shift[2]), ("up", "down"))) if abs(value) > 1e-6]
    return ", ".join(words) or "in place"


def _surface_points(body: Body, kept: Kept, spacing: float = 5.0) -> np.ndarray:
    """Points on a body's surface in the car frame, (n, 3), that stand no farther apart than so many mm, to about 1 mm."""
    own = skin_of(body, kept)
    if own is None:
        vertices, facets = body.shape.copy(True, False).tessellate(1.0)
        corners = np.array([tuple(vertex) for vertex in vertices])[np.array(facets)]        # (n, 3, 3)
    else:
        corners = own.corners @ body.pose[:3, :3].T + body.pose[:3, 3]
    # The longest side first, from its first to its second corner.
    longest = np.linalg.norm(np.roll(corners, -1, axis=1) - corners, axis=-1).argmax(axis=1)
    a, b, c = (corners[np.arange(len(corners)), (longest + step) % 3] for step in range(3))
    base = np.linalg.norm(b - a, axis=1)
    height = np.linalg.norm(np.cross(b - a, c - a), axis=1) / np.maximum(base, 1e-9)
    counts = np.maximum(1, np.ceil(np.stack([base, height], axis=1) / spacing)).astype(int)
    found = []
    for along, up in np.unique(counts, axis=0):
        mine = (counts == (along, up)).all(axis=1)
        v, u = (share.ravel() for share in np.meshgrid(np.linspace(0.0, 1.0, along + 1), np.linspace(0.0, 1.0, up + 1)))
        weights = np.stack([(1.0 - u) * (1.0 - v), (1.0 - u) * v, u], axis=1)
        found.append((weights @ np.stack([a[mine], b[mine], c[mine]], axis=1)).reshape(-1, 3))
    return np.concatenate(found)


def _folded(bodies: Mapping[str, tuple[str, Body]], scene: Scene, car: model.Car) -> dict:
    """The bodies with the transmission mount lying on the cross member."""
    mounts = filled(car).mounts
    if "transmission_mount" not in bodies or mounts.transmission is None or mounts.cross_member is None:
        return dict(bodies)
    if mounts.transmission.action != "slide_and_fold":
        return dict(bodies)         # it stays where it is
    kind, body = bodies["transmission_mount"]
    spec = transmission_mount.spec(mounts.transmission, mounts.cross_member, scene)
    shape = body.shape.copy(True, False)
    shape.Placement = host_placement(scene.engine_frame).multiply(transmission_mount.folded(spec))
    return {**bodies, "transmission_mount": (kind, Body(body.key, shape, f"folded:{body.mark}" if body.mark else ""))}
