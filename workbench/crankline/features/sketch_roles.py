"""Roles on the elements of sketches that a user drew: which there are, what is missing, giving and taking them; and a car's chassis read
from such sketches, which stay where they are.

A role is the name of a constraint on its element (``sketches``). Nothing is moved here: who gives a role to another element changes what
is read.
"""
from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass

import FreeCAD as App
import Part
import Sketcher

from ..units import INCH, read_in
from . import chassis as chassis_feature
from . import chassis_drawing, drawn_tubes, props, read, sketches
from .apply import reconciled
from .base import car_units
from .transaction import transaction

UNDEFINED = -2000
"""Number of no element in a constraint of the host's."""
WALL = 0.065 * INCH
"""Wall of a tube across the car that a sketch draws and no number gives (common practice, no source)."""
MARKS = ("Distance", "Diameter", "Radius")
"""Constraints on one element that carry its role."""


@dataclass(frozen=True)
class Role:
    """One role of a view. ``kind``: line, circle, either, or tube (an arc too); ``needed``: no chassis is read without it."""
    name: str
    doc: str
    kind: str = "line"
    needed: bool = False

    @property
    def label(self) -> str:
        """As a list shows it."""
        return self.name.replace("_", " ").capitalize()


ROLES: dict[str, tuple[Role, ...]] = {
    "side": (Role("rear_axle", "rear axle at X = 0: a circle around its center, or a line that ends there", "either", True),
             Role("track", "track surface, at Z = 0", needed=True),
             Role("main_rail", "centerline of the main rails", needed=True),
             Role("pinion", "pinion axis, from the housing forward to the center of the rear joint", needed=True),
             Role("footwell_tube", "footwell tube, seen from its end", "circle"),
             Role("rear_cross_member", "rear cross member, seen from its end", "circle"),
             Role("upper_rail", "centerline of the second rails of a double-rail chassis"),
             Role("upper_member", "upper fore-aft members over the driveshaft"),
             Role("firewall", "firewall line")),
    "plan": (Role("rail_left", "centerline of the left rail", needed=True),
             Role("rail_right", "centerline of the right rail, as far from the center plane", needed=True),
             Role("upper_left", "left upper fore-aft member"),
             Role("upper_right", "right upper fore-aft member"),
             Role("upright_left", "left upright, seen from above", "circle"),
             Role("upright_right", "right upright, seen from above", "circle"))}
"""View to the roles that its elements may have, in the order in which they are asked for."""

KINDS = {"either": "line or a circle", "tube": "line, a circle or an arc"}
"""Kind of a role to what its element may be, in words."""

Given = Mapping[str, int]
"""Role to the number of its element."""


def roles_of(view: str, tubes: Iterable[str] = ()) -> tuple[Role, ...]:
    """The roles of a view, those of a car's further tubes (their names) after them."""
    return (*ROLES[view], *(_tube(drawn_tubes.role_of(name)) for name in tubes))


def role(view: str, name: str) -> Role:
    """A role of a view; StopIteration where there is none."""
    return _tube(name) if name.startswith(drawn_tubes.PREFIX) else next(one for one in ROLES[view] if one.name == name)


def _tube(name: str) -> Role:
    return Role(name, "a line, or a circle where it is seen from its end; of a bent tube any of its lines and arcs", "tube")


def held(sketch, view: str) -> dict[str, int]:
    """The roles of a view that elements of a sketch have; of a role on two elements the first."""
    known = {one.name for one in ROLES[view]}
    found: dict[str, int] = {}
    for one in sketch.Constraints:
        name = sketches.role_name(one.Name) if one.Name else ""
        if (name in known or name.startswith(drawn_tubes.PREFIX)) and 0 <= one.First < len(sketch.Geometry):
            found.setdefault(name, one.First)
    return found


def missing(view: str, given: Given) -> tuple[Role, ...]:
    """The roles of a view without which no chassis is read and that no element has."""
    return tuple(one for one in ROLES[view] if one.needed and one.name not in given)


def refusal(sketch, view: str, name: str, index: int) -> str:
    """Why an element cannot have a role, one sentence; empty where it can."""
    wanted, shape = role(view, name), sketch.Geometry[index]
    if wanted.kind == "tube" and isinstance(shape, (Part.LineSegment, Part.Circle, Part.ArcOfCircle)):
        return ""
    found = "line" if isinstance(shape, Part.LineSegment) else "circle" if isinstance(shape, Part.Circle) else type(shape).__name__
    if found not in ("line", "circle") or wanted.kind not in ("either", found):
        return f"{wanted.label} must be a {KINDS.get(wanted.kind, wanted.kind)}; this element is a {found}"
    return ""


def toggled(sketch, view: str, given: Given, name: str, index: int) -> dict[str, int]:
    """The roles after an element was clicked with a role in hand: it has the role and no other one, or it had it and has it no more.
    RoleError where it is of the wrong kind."""
    if given.get(name) == index:
        return {one: at for one, at in given.items() if one != name}
    if told := refusal(sketch, view, name, index):
        raise sketches.RoleError(f"sketch {sketch.Label}: {told}")
    return {**{one: at for one, at in given.items() if at != index and one != name}, name: index}


def element_at(sketch, edge: str) -> int | None:
    """The number of the element that an edge of a sketch's shape is (``Edge3``); None where it is none."""
    number = edge.removeprefix("Edge")
    if not number.isdecimal() or not 0 < int(number) <= len(sketch.Shape.Edges):
        return None
    picked = sketch.Shape.Edges[int(number) - 1]
    local = sketch.Placement.inverse()
    middle = local.multVec(picked.valueAt(0.5 * sum(picked.ParameterRange)))
    ends = [local.multVec(picked.valueAt(at)) for at in picked.ParameterRange]
    for index, shape in enumerate(sketch.Geometry):
        if sketch.getConstruction(index):
            continue
        if isinstance(shape, Part.LineSegment):
            at = 0.5 * (shape.StartPoint + shape.EndPoint)
            if (at - middle).Length < 1e-4 and abs((shape.StartPoint - shape.EndPoint).Length - picked.Length) < 1e-4:
                return index
        elif isinstance(shape, (Part.Circle, Part.ArcOfCircle)) and _has_ends(shape, ends) and all(
                abs((end - shape.Center).Length - shape.Radius) < 1e-4 for end in (*ends, middle)):
            return index
    return None


def _has_ends(shape, ends) -> bool:
    """Whether an edge has the ends of an arc; a circle has any."""
    return isinstance(shape, Part.Circle) or all(min((end - one).Length for one in (shape.StartPoint, shape.EndPoint)) < 1e-4
                                                 for end in ends)


def place(sketch, index: int) -> App.Vector:
    """Where the label of an element is: the middle of a line or an arc, the top of a circle; in the frame of the document."""
    shape = sketch.Geometry[index]
    if isinstance(shape, Part.ArcOfCircle):
        return sketch.getGlobalPlacement().multVec(shape.value(0.5 * (shape.FirstParameter + shape.LastParameter)))
    at = 0.5 * (shape.StartPoint + shape.EndPoint) if isinstance(shape, Part.LineSegment) else \
        shape.Center + App.Vector(0.0, shape.Radius, 0.0) if isinstance(shape, Part.Circle) else App.Vector()
    return sketch.getGlobalPlacement().multVec(at)


def settle(sketch, view: str, wanted: Given) -> None:
    """Give the elements of a sketch these roles of a view, and no other ones."""
    before = held(sketch, view)
    for name, index in before.items():
        if wanted.get(name) != index:
            _take(sketch, name)
    for name, index in wanted.items():
        if before.get(name) != index:
            _give(sketch, name, index)


def _take(sketch, name: str) -> None:
    """The role off its element: the names go, and a length that is only read goes with its name."""
    ours = {name, *(f"{name}{end}" for end in chassis_drawing.ENDS)}
    for number in reversed(range(len(sketch.Constraints))):
        one = sketch.Constraints[number]
        if not one.Name or sketches.role_name(one.Name) not in ours:
            continue
        if not one.Driving:
            sketch.delConstraint(number)
        else:
            sketch.renameConstraint(number, "")


def _give(sketch, name: str, index: int) -> None:
    for number, one in enumerate(sketch.Constraints):
        if one.First == index and one.Second == UNDEFINED and one.Type in MARKS and not one.Name:
            sketch.renameConstraint(number, name)
            return
    shape = sketch.Geometry[index]
    mark, value = (("Distance", shape.length()) if isinstance(shape, Part.LineSegment) else ("Radius", shape.Radius)
                   if isinstance(shape, Part.ArcOfCircle) else ("Diameter", 2.0 * shape.Radius))
    number = sketch.addConstraint(Sketcher.Constraint(mark, index, value))
    sketch.setDriving(number, False)
    sketch.renameConstraint(number, name)


def bind(layout, side, plan, roles: Mapping[str, Given]) -> None:
    """Read a car's chassis from two sketches of its document, whose elements get these roles (view to roles), as one undo step. The
    sketches stay where they are; those that were drawn for the car and that nobody drew in go. ValueError, and nothing is changed, where
    no chassis can be read from them."""
    chassis = layout.Chassis
    if side is None or plan is None or side.Name == plan.Name:
        raise ValueError("Chassis sketches: the same sketch is given twice, or none; choose a side view and a plan view")
    with read_in(lambda: car_units(layout)), transaction(layout.Document, "Chassis Sketches"):
        before = [chassis.SideSketch, chassis.PlanSketch]
        for sketch, view in ((side, "side"), (plan, "plan")):
            settle(sketch, view, roles[view])
            sketch.recompute()
        drawn = held(side, "side")
        for name, stem in sketches.CROSS_TUBES.items():
            if name not in drawn:       # a tube that is not drawn is not there
                _forget(chassis, stem)
            elif f"{stem}SectionWall" in chassis.Unset:
                props.put(chassis, f"{stem}SectionWall", WALL)
                chassis.Unset = [item for item in chassis.Unset if item != f"{stem}SectionWall"]
        chassis_feature.published(side, plan, tuple(name for name in sketches.CROSS_TUBES if name in drawn))
        chassis.SideSketch, chassis.PlanSketch = side, plan
        _forget(chassis, "Sketches")
        chassis.touch()
        layout.Document.recompute([chassis, layout])     # what no longer has anything to stand on goes before it is executed
        for obj in (chassis, layout):
            if "Invalid" in obj.State:
                raise ValueError(obj.getStatusString())
        reconciled(layout, read.car(layout))
        for sketch in before:
            if sketch is not None and sketch.Name not in (side.Name, plan.Name) and not chassis_drawing.drawn_in(sketch):
                layout.Document.removeObject(sketch.Name)


def _forget(chassis, stem: str) -> None:
    """What the chassis's numbers say of a section is absent from now on."""
    for row in chassis_feature.CHASSIS:
        if row.name.startswith(stem):
            props.absent(chassis, row)
