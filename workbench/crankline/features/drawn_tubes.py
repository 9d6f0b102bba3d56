"""Further tubes of the chassis as the two sketches draw them: elements with the role ``tube NAME`` in each sketch.

A straight tube is a line in both, from its rear end to its front end; a tube across the car is a line in the plan sketch and a circle in
the side sketch, an upright one a circle in the plan sketch and a line in the side sketch. A bent tube is a chain of lines and arcs, each
tangent to the next, in the sketch that shows its bends; any one of them carries the role. In the other sketch it is a line along the car:
it lies in a plane beside the one that it is drawn in, so that bends have the radius of their arcs. Any other bent tube is given by its
points.
"""
from __future__ import annotations

import json
import math
from collections.abc import Iterator
from dataclasses import dataclass, replace
from itertools import pairwise

from ..host import Part
from ..units import sized
from . import sketches
from .sketches import Circle, RoleError

PREFIX = "tube_"
SAME_STATION = 0.1
"""mm that the two views of one end may differ along the car, and a tube may leave the plane that it is bent in."""
SAME_RADIUS = 0.05
"""mm that the bends of one tube may differ: it is bent on one die."""
JOINED = 1e-3
"""Ends of elements that are closer than this, mm, are one place."""
TANGENT = math.radians(0.5)
"""Elements that turn less than this where they meet go on in a line."""
MEANT = math.radians(20.0)
"""Elements that turn less than this, but more than ``TANGENT``, are taken for a bend that was not made tangent; more, for another part."""
MOST_TURN = math.radians(170.0)
"""An arc turns no farther: its legs meet nowhere that a point could be given (as in ``bent_tube``)."""
Place = tuple[float, float]
Point = tuple[float, float, float]


@dataclass(frozen=True)
class Drawn:
    """A tube as it is drawn: points of its centerline (car frame, mm) and centerline radius of its bends, mm; 0: it has none."""
    points: tuple[Point, ...]
    bend_radius: float = 0.0


@dataclass(frozen=True)
class Course:
    """A tube in one view: its ends and the corners between, where its legs would meet; radius of the bends, mm; extent along the car."""
    corners: tuple[Place, ...]
    radius: float
    low: float
    high: float


@dataclass(frozen=True)
class _Piece:
    """A line or arc of a sketch, from one end to the other; ``out``: unit vectors that lead on past each end."""
    index: int
    ends: tuple[Place, Place]
    out: tuple[Place, Place]
    center: Place | None = None
    radius: float = 0.0
    turn: float = 0.0

    def turned(self) -> _Piece:
        return replace(self, ends=self.ends[::-1], out=self.out[::-1])


def role_of(name: str) -> str:
    """The role of the elements that draw a tube."""
    return sketches.role_name(f"{PREFIX}{name}")


def read(side, plan) -> dict[str, Drawn]:
    """Role to every tube that the sketches draw; RoleError where one of them alone does, or both differ."""
    found = {}
    names = {sketch.Name: _names(sketch) for sketch in (side, plan)}
    for role in sorted({*names[side.Name], *names[plan.Name]}):
        for sketch, other in ((side, plan), (plan, side)):
            if role not in names[other.Name]:
                raise RoleError(f"sketch {other.Label}: the role {role!r} is missing, but sketch {sketch.Label} has it; draw the tube in "
                                "both, or give its points in numbers and take the name off its element")
        seen, above = (_view(sketch, role, names[sketch.Name]) for sketch in (side, plan))
        found[role] = _tube(role, seen, above, side, plan)
    return found


def _names(sketch) -> dict[str, set[int]]:
    """Role of each tube to the elements that carry it."""
    found: dict[str, set[int]] = {}
    for one in sketch.Constraints:
        if one.Name and (role := sketches.role_name(one.Name)).startswith(PREFIX):
            found.setdefault(role, set()).add(one.First)
    return found


# --- one view ---------------------------------------------------------------------------------------------------------


def _view(sketch, role: str, names: dict[str, set[int]]) -> Circle | Course:
    """What the elements of a role draw; RoleError where they are no tube."""
    named = names[role]
    first = min(named)
    if not 0 <= first < len(sketch.Geometry) or isinstance(sketch.Geometry[first], Part.Circle):
        circle = sketches.roles(sketch, (role,))[role]      # which says what is wrong with it
        assert isinstance(circle, Circle)
        return circle
    if (start := _piece(sketch, first)) is None:
        raise RoleError(f"sketch {sketch.Label}: the role {role!r} is on a {type(sketch.Geometry[first]).__name__}; use a line, a circle, "
                        "or lines and arcs for a bent tube")
    taken = set().union(*(own for name, own in names.items() if name != role), _other_roles(sketch, named))
    others = {index: piece for index in range(len(sketch.Geometry)) if index not in taken and not sketch.getConstruction(index)
              and (piece := _piece(sketch, index)) is not None}
    chain = [start]
    others.pop(first, None)
    while (after := _next(sketch, role, chain[-1], others)) is not None:
        chain.append(after)
    chain = [piece.turned() for piece in reversed(chain)]
    while (after := _next(sketch, role, chain[-1], others)) is not None:
        chain.append(after)
    if len(chain) > 2 and math.dist(chain[0].ends[0], chain[-1].ends[1]) < JOINED:
        raise RoleError(f"sketch {sketch.Label}: the elements with the role {role!r} close; a tube has two ends")
    if loose := named - {piece.index for piece in chain}:
        raise RoleError(f"sketch {sketch.Label}: the role {role!r} is on two elements, of which element {min(loose) + 1} does not continue "
                        "the tube; join them with arcs that are tangent to both, or rename one of the two constraints that carry the name")
    return _course(sketch, role, chain)


def _other_roles(sketch, named: set[int]) -> set[int]:
    """Elements that are something else of the chassis."""
    known = {*sketches.SIDE_REQUIRED, *sketches.SIDE_OPTIONAL, *sketches.PLAN_REQUIRED, *sketches.PLAN_OPTIONAL}
    return {one.First for one in sketch.Constraints if one.Name and sketches.role_name(one.Name) in known} - named


def _piece(sketch, index: int) -> _Piece | None:
    """An element as a piece of a tube; None where it is neither line nor arc."""
    shape = sketch.Geometry[index]
    if not isinstance(shape, (Part.LineSegment, Part.ArcOfCircle)):
        return None
    ends = (shape.StartPoint.x, shape.StartPoint.y), (shape.EndPoint.x, shape.EndPoint.y)
    if isinstance(shape, Part.LineSegment):
        length = math.dist(*ends)
        if length < JOINED:
            return None
        along = (ends[1][0] - ends[0][0]) / length, (ends[1][1] - ends[0][1]) / length
        return _Piece(index, ends, ((-along[0], -along[1]), along))
    center, radius = (shape.Center.x, shape.Center.y), shape.Radius
    # Counterclockwise from its start: there it leads on clockwise, at its end counterclockwise.
    (ax, ay), (bx, by) = (((x - center[0]) / radius, (y - center[1]) / radius) for x, y in ends)
    return _Piece(index, ends, ((ay, -ax), (-by, bx)), center, radius, shape.LastParameter - shape.FirstParameter)


def _next(sketch, role: str, last: _Piece, others: dict[int, _Piece]) -> _Piece | None:
    """The piece that goes on where the last one ends, taken out of the others; a bend is needed between two lines."""
    found = []
    for piece in others.values():
        for way in (piece, piece.turned()):
            if math.dist(way.ends[0], last.ends[1]) > JOINED or not (piece.radius or last.radius):
                continue
            turn = math.acos(max(-1.0, min(1.0, -(way.out[0][0] * last.out[1][0] + way.out[0][1] * last.out[1][1]))))
            if turn < TANGENT:
                found.append(way)
            elif turn < MEANT:
                raise RoleError(f"sketch {sketch.Label}: the tube with the role {role!r} turns by {math.degrees(turn):.1f} deg without a "
                                f"bend between elements {last.index + 1} and {piece.index + 1}; make them tangent")
    if len(found) > 1:
        both = " and ".join(str(one.index + 1) for one in found)
        raise RoleError(f"sketch {sketch.Label}: elements {both} both go on with the tube that has "
                        f"the role {role!r}; give one of them a role of its own, or make it a construction line")
    if not found:
        return None
    del others[found[0].index]
    return found[0]


def _course(sketch, role: str, chain: list[_Piece]) -> Course:
    """Ends and corners of pieces in a row, from the rear end on."""
    arcs = [piece for piece in chain if piece.radius]
    for piece in arcs:
        if piece.turn > MOST_TURN:
            raise RoleError(f"sketch {sketch.Label}: an arc of the tube with the role {role!r} turns by {math.degrees(piece.turn):.0f} "
                            f"deg; at most {math.degrees(MOST_TURN):.0f} deg are bent at once")
    for one, other in pairwise(arcs):
        if abs(one.radius - other.radius) > SAME_RADIUS:
            raise RoleError(f"sketch {sketch.Label}: bends of {sized(one.radius)} and {sized(other.radius)} radius were found in the tube "
                            f"with the role {role!r}; a tube is bent with one radius")
    corners = [chain[0].ends[0], *(_corner(piece) for piece in arcs), chain[-1].ends[1]]
    if corners[-1] < corners[0]:
        corners.reverse()
    along = [x for piece in chain for x in _along(piece)]
    return Course(tuple(corners), arcs[0].radius if arcs else 0.0, min(along), max(along))


def _corner(piece: _Piece) -> Place:
    """Where the legs of a bend would meet: beyond the middle of its chord, seen from its center."""
    assert piece.center is not None
    (ax, ay), (bx, by), (cx, cy) = *piece.ends, piece.center
    x, y = 0.5 * (ax + bx) - cx, 0.5 * (ay + by) - cy
    far = piece.radius**2 / (x * x + y * y)
    return cx + far * x, cy + far * y


def _along(piece: _Piece) -> Iterator[float]:
    """Stations of the ends of a piece, and of where an arc runs square to the car."""
    yield from (x for x, _y in piece.ends)
    if piece.center is not None:
        for side in (-1.0, 1.0):
            x, y = piece.center[0] + side * piece.radius, piece.center[1]
            # Within a turn of less than half a circle: on the far side of its chord from the center.
            if _left(piece, x, y) * _left(piece, *piece.center) < 0.0:
                yield x


def _left(piece: _Piece, x: float, y: float) -> float:
    """How far left of its chord a place is, times the chord's length."""
    (ax, ay), (bx, by) = piece.ends
    return (bx - ax) * (y - ay) - (by - ay) * (x - ax)


# --- both views -------------------------------------------------------------------------------------------------------


def _tube(role: str, seen: Circle | Course, above: Circle | Course, side, plan) -> Drawn:
    for one, other, sketch, far in ((seen, above, side, plan), (above, seen, plan, side)):
        if isinstance(one, Course) and one.radius:
            return _bent(role, one, other, far, in_plan=sketch is plan)
    if isinstance(seen, Circle) and isinstance(above, Circle):
        raise RoleError(f"sketch {side.Label}: the role {role!r} is on a circle in both sketches, which gives the tube no length; it must "
                        "be a line in one of them")
    views = [(one.center, one.center) if isinstance(one, Circle) else (one.corners[0], one.corners[-1]) for one in (seen, above)]
    for seen_at, above_at in zip(*views):
        if abs(seen_at[0] - above_at[0]) > SAME_STATION:
            raise RoleError(f"sketch {side.Label}: the element with the role {role!r} ends at X = {sized(seen_at[0])}, but in the plan "
                            f"sketch at X = {sized(above_at[0])}; draw both ends at the same stations")
    (ax, az), (bx, bz) = views[0]
    (_ax, ay), (_bx, by) = views[1]
    return Drawn(((ax, ay, az), (bx, by, bz)))


def _bent(role: str, bent: Course, other: Circle | Course, far, in_plan: bool) -> Drawn:
    """A tube that is bent in one view; ``far``: the sketch of the other one."""
    aside = None if isinstance(other, Circle) or other.radius else [value for _x, value in other.corners]
    if isinstance(other, Circle) or aside is None or max(aside) - min(aside) > SAME_STATION:
        raise RoleError(f"sketch {far.Label}: the tube with the role {role!r} is bent in the other sketch, so here it must be a line along "
                        "the car; draw it so, or give the points of a tube that is bent out of that plane in numbers (chassis.tubes)")
    if abs(other.low - bent.low) > SAME_STATION or abs(other.high - bent.high) > SAME_STATION:
        raise RoleError(f"sketch {far.Label}: the line with the role {role!r} runs from X = {sized(other.low)} to {sized(other.high)}, but "
                        f"in the other sketch the tube reaches from {sized(bent.low)} to {sized(bent.high)}; draw both ends at the "
                        "same stations")
    level = 0.5 * (min(aside) + max(aside))
    return Drawn(tuple((x, value, level) if in_plan else (x, level, value) for x, value in bent.corners), bent.radius)


# --- kept with the chassis --------------------------------------------------------------------------------------------


def texts(found: dict[str, Drawn]) -> tuple[str, str]:
    """What ``read`` found, for two properties of the chassis object: points, and radii of those that are bent."""
    points = {role: one.points for role, one in found.items()}
    bends = {role: one.bend_radius for role, one in found.items() if one.bend_radius}
    points_text, bends_text = (json.dumps(held, sort_keys=True) if held else "" for held in (points, bends))
    return points_text, bends_text


def of(chassis) -> dict[str, Drawn]:
    """What the sketches of a chassis object draw, as of its last recompute."""
    points, bends = (json.loads(held) if (held := getattr(chassis, name, "")) else {} for name in ("DrawnTubes", "DrawnBends"))
    return {role: Drawn(tuple((x, y, z) for x, y, z in own), bends.get(role, 0.0)) for role, own in points.items()}
