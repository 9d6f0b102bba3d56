"""The chassis object: the only one that reads sketches. It publishes rails, members and the pinion to everything else."""
from __future__ import annotations

import FreeCAD as App

from .. import model
from ..units import sized
from . import drawn_tubes, props, sketches
from .base import Feature
from .result_properties import output

CHASSIS = props.table(model.Chassis, "Chassis")
REAR_END = props.table(model.RearEnd, "Rear end", ("rear_end",))

_FROM_SKETCH = {"RailsHalfSpacing", "RailsHeight", "RailsUpperHeight", "RailsXRear", "RailsXFront", "UprightsX", "UprightsHalfSpacing",
                "FootwellTubeX", "FootwellTubeZ", "FootwellTubeSectionOuterDiameter", "RearCrossMemberX",
                "RearCrossMemberZ", "RearCrossMemberSectionOuterDiameter", "UpperForeAftHalfSpacing", "UpperForeAftZ",
                "UpperForeAftXRear", "UpperForeAftXFront", "FirewallX", "RearEndPinionJointX", "RearEndPinionJointZ",
                "RearEndPinionPitch"}


class Chassis(Feature):
    """Chassis and rear end, read from the side and the plan sketch; sections, tire and suspension are numbers here."""

    kind = "chassis"
    schema = 2
    record = model.Chassis
    has_layout = False
    links = (("SideSketch", "Side-view sketch of the chassis"), ("PlanSketch", "Plan sketch of the chassis"))
    shown = tuple(sorted(_FROM_SKETCH))

    @classmethod
    def rows(cls):
        return CHASSIS + REAR_END

    def ensure(self, obj) -> None:
        super().ensure(obj)
        obj.setPropertyStatus("Unset", ["Hidden", "Output"])
        output(obj, "App::PropertyDistance", "AxleHeight", "Results", "Height of the rear axle in the side sketch")
        output(obj, "App::PropertyString", "DrawnTubes", "Results", "Further tubes that the sketches draw (JSON)", hidden=True)
        output(obj, "App::PropertyString", "DrawnBends", "Results", "Centerline radii of those that are bent, mm (JSON)", hidden=True)

    def read(self, obj, absent: bool = False) -> model.Chassis:
        found: model.Chassis = self.held(obj, CHASSIS, model.Chassis, absent)
        return found

    def read_rear_end(self, obj, absent: bool = False) -> model.RearEnd:
        """The rear end; its pinion comes from the side sketch."""
        found: model.RearEnd = self.held(obj, REAR_END, model.RearEnd, absent)
        return found

    def run(self, obj) -> None:
        for name, _doc in self.links:
            if getattr(obj, name) is None:
                raise ValueError(f"{obj.Label}: {name} links to nothing; set it to the sketch")
        given = tuple(role for role, stem in sketches.CROSS_TUBES.items() if f"{stem}SectionWall" not in obj.Unset)
        found = published(obj.SideSketch, obj.PlanSketch, given)
        obj.AxleHeight = found.pop("AxleHeight")
        obj.DrawnTubes, obj.DrawnBends = drawn_tubes.texts(drawn_tubes.read(obj.SideSketch, obj.PlanSketch))
        unset = list(obj.Unset)
        for name in _FROM_SKETCH:
            value = found.get(name)
            if value is None and name == "UprightsHalfSpacing":
                continue   # the support tube needs their spacing even where nothing says at which station they stand
            if value is None:
                if name not in unset:
                    # What was derived of a number that the sketch no longer gives is not given either.
                    unset = [*(item for item in unset if not item.startswith(name + "=")), name]
                value = 0.0
            elif name in unset:
                unset.remove(name)
            setattr(obj, name, value)
        if unset != list(obj.Unset):
            obj.Unset = unset
        self.read(obj)
        self.read_rear_end(obj)


def published(side, plan, also: tuple[str, ...] = tuple(sketches.CROSS_TUBES)) -> dict[str, float]:
    """Property name to value (mm, deg) of everything that the two sketches say; ``also``: tubes across the car that must be drawn."""
    _flat(side, (1.0, 0.0, 0.0), (0.0, 0.0, 1.0), "the XZ plane")
    _flat(plan, (1.0, 0.0, 0.0), (0.0, 1.0, 0.0), "the XY plane")
    seen = sketches.roles(side, (*sketches.SIDE_REQUIRED, *also), sketches.SIDE_OPTIONAL)
    above = sketches.roles(plan, sketches.PLAN_REQUIRED, sketches.PLAN_OPTIONAL)
    axle = seen["rear_axle"]
    center = axle.center if isinstance(axle, sketches.Circle) else axle.end
    if abs(center[0]) > 0.01:
        raise sketches.RoleError(f"sketch {side.Label}: the rear axle is at X = {sized(center[0])}; it must be at "
                                 "X = 0, move the sketch by that much")
    track = sketches.required_line(seen, "track", side)
    if max(abs(track.start[1]), abs(track.end[1])) > 0.01:
        raise sketches.RoleError(f"sketch {side.Label}: the track line is at Z = {sized(track.start[1])}; it must be at "
                                 "Z = 0, move the sketch by that much")
    import math
    rail = sketches.required_line(seen, "main_rail", side)
    shaft = sketches.required_line(seen, "pinion", side)
    if shaft.end[0] - shaft.start[0] < 1e-6:
        raise sketches.RoleError(f"sketch {side.Label}: the pinion line is vertical; draw it from the housing forward "
                                 "to the center of the rear joint")
    left, right = sketches.required_line(above, "rail_left", plan), sketches.required_line(above, "rail_right", plan)
    if not left.start[1] > 0.0 > right.start[1] or abs(left.start[1] + right.start[1]) > 0.1:
        raise sketches.RoleError(f"sketch {plan.Label}: rail_left is at Y = {sized(left.start[1])} and rail_right at "
                                 f"{sized(right.start[1])}; they must be the same distance left (+) and right (-) of Y = 0")
    out = {"AxleHeight": center[1], "RailsHalfSpacing": left.start[1], "RailsHeight": rail.start[1],
           "RailsXRear": rail.start[0], "RailsXFront": rail.end[0],
           "RearEndPinionJointX": shaft.end[0], "RearEndPinionJointZ": shaft.end[1],
           # From the housing forward to the joint: nose down is a joint below the housing, a positive pitch.
           "RearEndPinionPitch": math.degrees(_stated(side, "pinion_pitch",
                                                      math.atan2(shaft.start[1] - shaft.end[1], shaft.end[0] - shaft.start[0])))}
    for role, stem in sketches.CROSS_TUBES.items():
        tube = sketches.circle(seen, role, side)
        if tube is not None:
            out.update({f"{stem}X": tube.center[0], f"{stem}Z": tube.center[1], f"{stem}SectionOuterDiameter": tube.diameter})
    second = sketches.line(seen, "upper_rail", side)
    if second:
        out["RailsUpperHeight"] = second.start[1]
    upper, upper_left = sketches.line(seen, "upper_member", side), sketches.line(above, "upper_left", plan)
    if upper and upper_left:
        out.update({"UpperForeAftZ": upper.start[1], "UpperForeAftHalfSpacing": abs(upper_left.start[1]),
                    "UpperForeAftXRear": upper.start[0], "UpperForeAftXFront": upper.end[0]})
    upright = sketches.circle(above, "upright_left", plan)
    if upright:
        out.update({"UprightsX": upright.center[0], "UprightsHalfSpacing": abs(upright.center[1])})
    wall = sketches.line(seen, "firewall", side)
    if wall:
        out["FirewallX"] = wall.start[0]
    return out


def _stated(sketch, name: str, drawn: float) -> float:
    """An angle as its dimension states it, rad, where one drives it: the solver leaves a little. Else as it is drawn."""
    held = next((float(one.Value) for one in sketch.Constraints if one.Name and sketches.role_name(one.Name) == name
                 and one.Type == "Angle" and one.Driving), drawn)
    return held if abs(held - drawn) < 1e-6 else drawn


def _flat(sketch, across: tuple, up: tuple, plane: str) -> None:
    """Sketches are read in the car frame: the sketch must lie on its plane, unturned and unmoved."""
    place = sketch.getGlobalPlacement()
    right = place.Rotation.multVec(App.Vector(1, 0, 0)) - App.Vector(*across)
    above = place.Rotation.multVec(App.Vector(0, 1, 0)) - App.Vector(*up)
    offset = place.Base.dot(App.Vector(*across)), place.Base.dot(App.Vector(*up))
    if right.Length > 1e-6 or above.Length > 1e-6:
        raise sketches.RoleError(f"sketch {sketch.Label}: it is turned out of {plane} of the car frame; put it on {plane}")
    if max(map(abs, offset)) > 0.01:
        raise sketches.RoleError(f"sketch {sketch.Label}: it is offset by {sized(offset[0])}, {sized(offset[1])} in the car "
                                 "frame; move the sketch by that much so that its origin is the car's")
