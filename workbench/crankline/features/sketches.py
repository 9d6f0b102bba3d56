"""Chassis sketches: roles on their elements, reading them, and making them from numbers.

A role is the name of a constraint on the element, which keeps pointing at it when other geometry is inserted, deleted or
reordered. A driving dimension or a reference length serves alike. Case, blanks and hyphens in the name do not matter.
Side sketch: sketch x = car X, sketch y = car Z. Plan sketch: sketch x = car X, sketch y = car Y.
"""
from __future__ import annotations

import re
from dataclasses import dataclass

from ..host import Part

SIDE_REQUIRED = ("rear_axle", "track", "main_rail", "pinion")
CROSS_TUBES = {"footwell_tube": "FootwellTube", "rear_cross_member": "RearCrossMember"}
"""Role in the side sketch to what the properties of such a tube begin with; required in it where the chassis gives the tube's wall."""
SIDE_OPTIONAL = (*CROSS_TUBES, "upper_member", "upper_rail", "firewall")
PLAN_REQUIRED = ("rail_left", "rail_right")
PLAN_OPTIONAL = ("footwell_tube", "rear_cross_member", "upper_left", "upper_right", "upright_left", "upright_right")


class RoleError(ValueError):
    """A role that is missing, doubled or on the wrong kind of element. One sentence naming role and sketch."""


@dataclass(frozen=True)
class Line:
    """A line element in sketch coordinates, mm, its ends ordered by sketch x, then y."""
    start: tuple[float, float]
    end: tuple[float, float]


@dataclass(frozen=True)
class Circle:
    """A circle element in sketch coordinates, mm."""
    center: tuple[float, float]
    diameter: float


def role_name(name: str) -> str:
    """A constraint's name as a role: lower case, blanks and hyphens as underscores."""
    return re.sub(r"[\s\-]+", "_", name.strip().lower())


def roles(sketch, required: tuple[str, ...], optional: tuple[str, ...] = ()) -> dict[str, Line | Circle]:
    """Role to element, in car coordinates of the sketch's plane. RoleError for a missing or doubled role."""
    wanted = set(required) | set(optional)
    held: dict[str, int] = {}
    for constraint in sketch.Constraints:
        role = role_name(constraint.Name) if constraint.Name else ""
        if role not in wanted:
            continue
        if role in held and held[role] != constraint.First:
            raise RoleError(f"sketch {sketch.Label}: the role {role!r} is on two elements; rename one of the two "
                            "constraints that carry the name")
        held[role] = constraint.First
    missing = [role for role in required if role not in held]
    if missing:
        raise RoleError(f"sketch {sketch.Label}: the role {missing[0]!r} is missing; name a constraint on its element "
                        f"{missing[0]!r}" + (f" (missing too: {', '.join(missing[1:])})" if missing[1:] else ""))
    return {role: _element(sketch, role, index) for role, index in held.items()}


def _element(sketch, role: str, index: int) -> Line | Circle:
    if not 0 <= index < len(sketch.Geometry):
        raise RoleError(f"sketch {sketch.Label}: the role {role!r} is on an axis or on external geometry; draw the "
                        "element in the sketch and name a constraint on it")
    geometry = sketch.Geometry[index]
    if isinstance(geometry, Part.LineSegment):
        ends = sorted([(geometry.StartPoint.x, geometry.StartPoint.y), (geometry.EndPoint.x, geometry.EndPoint.y)])
        return Line(*ends)
    if isinstance(geometry, Part.Circle):
        return Circle((geometry.Center.x, geometry.Center.y), 2.0 * geometry.Radius)
    raise RoleError(f"sketch {sketch.Label}: the role {role!r} is on a {type(geometry).__name__}; use a line or a circle")


def line(found: dict, role: str, sketch) -> Line | None:
    """The line of a role; None if the role is not there, RoleError if it is a circle."""
    element = found.get(role)
    if element is not None and not isinstance(element, Line):
        raise RoleError(f"sketch {sketch.Label}: the role {role!r} is on a circle; it must be a line")
    return element


def circle(found: dict, role: str, sketch) -> Circle | None:
    """The circle of a role; None if the role is not there, RoleError if it is a line."""
    element = found.get(role)
    if element is not None and not isinstance(element, Circle):
        raise RoleError(f"sketch {sketch.Label}: the role {role!r} is on a line; it must be a circle")
    return element


def required_line(found: dict, role: str, sketch) -> Line:
    """The line of a role; RoleError where it is missing or a circle."""
    element = line(found, role, sketch)
    if element is None:
        raise RoleError(f"sketch {sketch.Label}: the role {role!r} is missing; name a constraint on its line {role}")
    return element


ON_AXIS = 1e-9
"""A coordinate smaller than this is held by the axis, mm."""
