"""The two sketches of a chassis that is given as numbers: which elements they have, drawing them, and moving them when a number changes.

An element that this module drew is held by dimensions of its own names (``main_rail_h``); it is moved by setting them, so that whatever
the user added to the sketch stays. What the user drew himself is never moved: the sentence says where to do it.
"""
from __future__ import annotations

import math
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import Any

import FreeCAD as App
import Part
import Sketcher

from .. import model
from ..mechanics.chassis import completed
from ..mechanics.scene import pinion
from ..record import filled
from ..units import INCH
from . import sketch_labels, sketches
from .sketches import Circle

AXLE_DIAMETER = 76.2
PINION_REACH = 150.0
"""Length of the pinion line, mm: only its direction and its forward end are read."""
FIREWALL_HEIGHT = 30.0 * INCH
PITCH = "_pitch"
"""What the name of an element's angle ends in, positive where the element goes down forward."""
ENDS = ("_h", "_v", "_end_h", "_end_v", "_start_h", "_start_v", PITCH)
"""What the names of an element's driving dimensions end in, after its role."""
SAME = 1e-7
"""Two coordinates of a sketch closer than this are the same, mm: a tenth of what the host's solver leaves."""


class DrawnByHand(ValueError):
    """An element that the user drew and that a changed number would have to move. One sentence."""


@dataclass(frozen=True)
class Line:
    """A line as it is drawn, mm in the sketch: from ``start`` to ``end``. ``by_start``: whether it is held by both ends, or by its end, its
    length and its pitch."""
    start: tuple[float, float]
    end: tuple[float, float]
    by_start: bool = True

    @property
    def level(self) -> bool:
        return self.by_start and self.start[1] == self.end[1]

    @property
    def pitch(self) -> float:
        """Angle to the ground, rad, positive where it goes down forward."""
        return math.atan2(self.start[1] - self.end[1], self.end[0] - self.start[0])

    @property
    def plumb(self) -> bool:
        return self.by_start and self.start[0] == self.end[0]


Element = Line | Circle
Elements = Mapping[str, Element]

_READ: dict[str, Callable[[Any], tuple[float, ...]]] = {
    "track": lambda one: (),
    "rear_axle": lambda one: one.center,
    "firewall": lambda one: (one.start[0],),
    "rail_left": lambda one: (one.start[1],), "rail_right": lambda one: (one.start[1],),
    "upper_left": lambda one: (one.start[1],), "upper_right": lambda one: (),
    "upright_left": lambda one: one.center, "upright_right": lambda one: (),
    "pinion": lambda one: (*one.end, math.atan2(one.start[1] - one.end[1], one.end[0] - one.start[0])),
}
"""Role to what the chassis reads of its element, where that is not all of it."""


def elements(chassis: model.Chassis, rear_end: model.RearEnd, wheelbase: float) -> tuple[Elements, Elements]:
    """Role to element of the side and of the plan sketch, from the numbers of a car file (mm, rad)."""
    chassis = completed(filled(chassis), wheelbase)
    joint, pitch = pinion(chassis, rear_end)
    rails, radius = chassis.rails, chassis.rear_tire.loaded_radius
    side: dict[str, Element] = {
        "track": Line((-2.0 * radius, 0.0), (wheelbase + radius, 0.0)),
        "rear_axle": Circle((0.0, radius), AXLE_DIAMETER),
        "main_rail": Line((rails.x_rear, rails.height), (rails.x_front, rails.height)),
        # The pinion line ends in the joint, and its dimensions are counted from there.
        "pinion": Line((joint[0] - PINION_REACH * math.cos(pitch), joint[2] + PINION_REACH * math.sin(pitch)), (joint[0], joint[2]), False),
    }
    half = rails.half_spacing
    plan: dict[str, Element] = {"rail_left": Line((rails.x_rear, half), (rails.x_front, half)),
                                "rail_right": Line((rails.x_rear, -half), (rails.x_front, -half))}
    if rails.upper_height is not None:
        side["upper_rail"] = Line((rails.x_rear, rails.upper_height), (rails.x_front, rails.upper_height))
    for role, tube in (("footwell_tube", chassis.footwell_tube), ("rear_cross_member", chassis.rear_cross_member)):
        if tube:
            side[role] = Circle((tube.x, tube.z), tube.section.outer_diameter)     # square across the car: the plan would say it again
    upper = chassis.upper_fore_aft
    if upper:
        side["upper_member"] = Line((upper.x_rear, upper.z), (upper.x_front, upper.z))
        for role, sign in (("upper_left", 1.0), ("upper_right", -1.0)):
            plan[role] = Line((upper.x_rear, sign * upper.half_spacing), (upper.x_front, sign * upper.half_spacing))
    if chassis.firewall:
        side["firewall"] = Line((chassis.firewall.x, rails.height), (chassis.firewall.x, rails.height + FIREWALL_HEIGHT))
    uprights = chassis.uprights
    if uprights and uprights.x is not None:
        for role, sign in (("upright_left", 1.0), ("upright_right", -1.0)):
            plan[role] = Circle((uprights.x, sign * uprights.half_spacing), uprights.section.outer_diameter)
    return side, plan


def draw(side, plan, chassis: model.Chassis, rear_end: model.RearEnd, wheelbase: float) -> None:
    """Fill an empty side and an empty plan sketch, fully constrained, from the numbers of a car file."""
    side.Placement, plan.Placement = App.Placement(App.Vector(), App.Rotation(App.Vector(1, 0, 0), 90)), App.Placement()
    for sketch, wanted in zip((side, plan), elements(chassis, rear_end, wheelbase)):
        for role, element in wanted.items():
            _add(sketch, role, element)
        sketch_labels.spread(sketch)


def redraw(side, plan, chassis: model.Chassis, rear_end: model.RearEnd, wheelbase: float) -> None:
    """Bring two sketches to the numbers of a car file; only what differs is touched. DrawnByHand where that would move an element that
    the user drew, RoleError where a role is doubled or lies on no element; then nothing was changed."""
    steps: list[Callable[[], None]] = []
    for sketch, wanted, known in zip((side, plan), elements(chassis, rear_end, wheelbase),
                                     (sketches.SIDE_REQUIRED + sketches.SIDE_OPTIONAL, sketches.PLAN_REQUIRED + sketches.PLAN_OPTIONAL)):
        present = sketches.roles(sketch, (), known)
        for role in known:
            if role in sketches.CROSS_TUBES and role not in wanted and sketch is plan and not _ours(sketch, role):
                continue    # the side sketch says where it is; a line that the user drew there as well stays
            if step := _step(sketch, role, present.get(role), wanted.get(role)):
                steps.append(step)
    for step in steps:
        step()
    for sketch in (side, plan) if steps else ():
        sketch_labels.spread(sketch)


def drawn_in(sketch) -> bool:
    """Whether a sketch holds an element that was not drawn here."""
    held = {sketches.role_name(one.Name): one.First for one in sketch.Constraints if one.Name}
    ours = {index for name, index in held.items() if any(f"{name}{end}" in held for end in ENDS)}
    return not set(range(len(sketch.Geometry))) <= ours


def dimensions(role: str, element: Element) -> dict[str, float]:
    """Name to value (mm, rad) of the driving dimensions of an element as drawn here; a length of zero has none, its point is on the
    axis."""
    if isinstance(element, Circle):
        found = {f"{role}_h": element.center[0], f"{role}_v": element.center[1], role: element.diameter}
    elif not element.by_start:
        found = {f"{role}_h": element.end[0], f"{role}_v": element.end[1], role: math.dist(element.start, element.end)}
        return {**{name: value for name, value in found.items() if abs(value) >= sketches.ON_AXIS}, f"{role}{PITCH}": element.pitch}
    else:
        found = {f"{role}_h": element.start[0], f"{role}_v": element.start[1]}
        if not element.plumb:
            found[f"{role}_end_h"] = element.end[0]
        if not element.level:
            found[f"{role}_end_v"] = element.end[1]
    return {name: value for name, value in found.items() if abs(value) >= sketches.ON_AXIS}


def _step(sketch, role: str, present: sketches.Line | Circle | None, wanted: Element | None) -> Callable[[], None] | None:
    """What brings one element to what is wanted; None where nothing has to be done."""
    if present is None:
        return None if wanted is None else lambda: _add(sketch, role, wanted)
    held = {sketches.role_name(one.Name): one for one in sketch.Constraints if one.Name}
    drawn = {f"{role}{end}" for end in ENDS} & held.keys()
    ours = _ours(sketch, role)
    if wanted is not None and _same(role, present, wanted, whole=ours):
        return None
    if not ours:
        what = "is no longer in the chassis's numbers" if wanted is None else "is not where the chassis's numbers put it"
        raise DrawnByHand(f"sketch {sketch.Label}: the element with the role {role!r} was drawn by hand and {what}; change it in the "
                          "sketch")
    if wanted is None:
        return lambda: _remove(sketch, role)
    new = dimensions(role, wanted)
    if drawn == new.keys() - {role}:
        moved = {held[name].Name: value for name, value in new.items() if abs(held[name].Value - value) > SAME}
        return lambda: _set(sketch, moved)

    def anew() -> None:
        _remove(sketch, role)
        _add(sketch, role, wanted)

    return anew


def _ours(sketch, role: str) -> bool:
    """Whether the element of a role was drawn here."""
    return any(one.Name and sketches.role_name(one.Name) in {f"{role}{end}" for end in ENDS} for one in sketch.Constraints)


def _same(role: str, present: sketches.Line | Circle, wanted: Element, whole: bool) -> bool:
    """Whether an element stands where it is wanted: all of it, or what is read of it."""
    if isinstance(present, Circle) != isinstance(wanted, Circle):
        return False
    as_read = sketches.Line(*sorted((wanted.start, wanted.end))) if isinstance(wanted, Line) else wanted
    read = _all_of if whole else _READ.get(role, _all_of)
    return all(abs(a - b) <= SAME for a, b in zip(read(present), read(as_read)))


def _all_of(one: Any) -> tuple[float, ...]:
    return (*one.center, one.diameter) if isinstance(one, Circle) else (*one.start, *one.end)


def _set(sketch, values: Mapping[str, float]) -> None:
    for name, value in values.items():
        # A quantity of an angle is in degrees.
        sketch.setDatum(name, App.Units.Quantity(math.degrees(value), App.Units.Angle) if sketches.role_name(name).endswith(PITCH) else
                        App.Units.Quantity(value, App.Units.Length))


def _remove(sketch, role: str) -> None:
    """Take the element of a role, with everything that holds it, out of a sketch."""
    sketch.delGeometry(next(one.First for one in sketch.Constraints if one.Name and sketches.role_name(one.Name) == role))


def _add(sketch, role: str, element: Element) -> None:
    """One element, held by the coordinates of its points; its role is the name of its diameter, or of its reference length."""
    if isinstance(element, Circle):
        index = sketch.addGeometry(Part.Circle(App.Vector(*element.center, 0), App.Vector(0, 0, 1), element.diameter / 2.0), False)
        _hold(sketch, index, 3, role, element.center)
        mark = sketch.addConstraint(Sketcher.Constraint("Diameter", index, element.diameter))
        sketch.renameConstraint(mark, role)
        return
    index = sketch.addGeometry(Part.LineSegment(App.Vector(*element.start, 0), App.Vector(*element.end, 0)), False)
    if not element.by_start:
        # Where it ends, how long it is drawn, and its angle to the ground, as a builder reads it off.
        _hold(sketch, index, 2, role, element.end)
        sketch.renameConstraint(sketch.addConstraint(Sketcher.Constraint("Distance", index, math.dist(element.start, element.end))), role)
        mark = sketch.addConstraint(Sketcher.Constraint("Angle", index, 1, -1, 1, element.pitch))
        sketch.renameConstraint(mark, f"{role}{PITCH}")
        return
    _hold(sketch, index, 1, role, element.start)
    if element.level:
        sketch.addConstraint(Sketcher.Constraint("Horizontal", index))
    if element.plumb:
        sketch.addConstraint(Sketcher.Constraint("Vertical", index))
    _hold(sketch, index, 2, f"{role}_end", (None if element.plumb else element.end[0], None if element.level else element.end[1]))
    mark = sketch.addConstraint(Sketcher.Constraint("Distance", index, math.dist(element.start, element.end)))
    sketch.setDriving(mark, False)
    sketch.renameConstraint(mark, role)


def _hold(sketch, index: int, point: int, name: str, at: tuple[float | None, float | None]) -> None:
    for kind, axis, value, end in (("DistanceX", -2, at[0], "h"), ("DistanceY", -1, at[1], "v")):
        if value is None:
            continue
        if abs(value) < sketches.ON_AXIS:
            # A zero distance has no side to measure on; the point lies on the axis instead.
            sketch.addConstraint(Sketcher.Constraint("PointOnObject", index, point, axis))
            continue
        mark = sketch.addConstraint(Sketcher.Constraint(kind, -1, 1, index, point, value))
        sketch.renameConstraint(mark, f"{name}_{end}")
