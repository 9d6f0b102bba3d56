"""Further tubes of the chassis as the two sketches draw them: a straight tube is an element with the role ``tube NAME`` in each sketch.

A line in both runs from its rear end to its front end; a tube across the car is a line in the plan sketch and a circle in the side
sketch, an upright one a circle in the plan sketch and a line in the side sketch. A bent tube is given by its points.
"""
from __future__ import annotations

import json

from ..units import sized
from . import sketches
from .sketches import Circle, Line, RoleError

PREFIX = "tube_"
SAME_STATION = 0.1
"""mm that the two views of one end may differ along the car."""
Point = tuple[float, float, float]


def role_of(name: str) -> str:
    """The role of the elements that draw a tube."""
    return sketches.role_name(f"{PREFIX}{name}")


def read(side, plan) -> dict[str, tuple[Point, Point]]:
    """Role to both ends (car frame, mm) of every tube that the sketches draw; RoleError where one of them alone does, or both differ."""
    found = {}
    names = {sketch.Name: _names(sketch) for sketch in (side, plan)}
    for role in sorted(names[side.Name] | names[plan.Name]):
        for sketch, other in ((side, plan), (plan, side)):
            if role not in names[other.Name]:
                raise RoleError(f"sketch {other.Label}: the role {role!r} is missing, but sketch {sketch.Label} has it; draw the tube in "
                                "both, or give its points in numbers and take the name off its element")
        found[role] = _ends(role, sketches.roles(side, (role,))[role], sketches.roles(plan, (role,))[role], side)
    return found


def _names(sketch) -> set[str]:
    return {role for one in sketch.Constraints if one.Name and (role := sketches.role_name(one.Name)).startswith(PREFIX)}


def _ends(role: str, seen: Line | Circle, above: Line | Circle, side) -> tuple[Point, Point]:
    if isinstance(seen, Circle) and isinstance(above, Circle):
        raise RoleError(f"sketch {side.Label}: the role {role!r} is on a circle in both sketches, which gives the tube no length; it must "
                        "be a line in one of them")
    views = [(one.center, one.center) if isinstance(one, Circle) else (one.start, one.end) for one in (seen, above)]
    for seen_at, above_at in zip(*views):
        if abs(seen_at[0] - above_at[0]) > SAME_STATION:
            raise RoleError(f"sketch {side.Label}: the element with the role {role!r} ends at X = {sized(seen_at[0])}, but in the plan "
                            f"sketch at X = {sized(above_at[0])}; draw both ends at the same stations")
    (ax, az), (bx, bz) = views[0]
    (_ax, ay), (_bx, by) = views[1]
    return (ax, ay, az), (bx, by, bz)


def text(found: dict[str, tuple[Point, Point]]) -> str:
    """What ``read`` found, for a property of the chassis object."""
    return json.dumps(found, sort_keys=True) if found else ""


def of(chassis) -> dict[str, tuple[Point, ...]]:
    """What the sketches of a chassis object draw, as of its last recompute."""
    held = getattr(chassis, "DrawnTubes", "")
    return {role: tuple(tuple(point) for point in points) for role, points in json.loads(held).items()} if held else {}
