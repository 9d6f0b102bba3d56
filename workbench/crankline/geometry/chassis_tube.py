"""Tubes of the chassis that the powertrain meets, in the car frame."""
from __future__ import annotations

from .. import model
from ..mechanics.chassis import completed, upright_station
from ..record import filled
from ..units import INCH, sized
from . import tube

VERSION = tube.VERSION
Spec = tube.Spec
build = tube.build

UPRIGHT_HEIGHT = 22.0 * INCH
"""Drawn height of an upright over its rail (drawn only: nothing is measured at its free end)."""
STUB = 1.0 * INCH
"""What is left of the footwell tube between rail and transmission cross member (common practice, no source)."""


def specs(chassis: model.Chassis, wheelbase: float | None = None,
          cross_member: model.CrossMember | None = None) -> dict[str, Spec]:
    """Key to spec of every tube that the chassis record places; ``missing`` tells what it leaves out.

    Given a wheelbase, ends that are not stated are filled in (``mechanics.chassis``). Cross tubes run between the rails
    and are coped to them where they meet; uprights stand on the rail at the firewall line. A transmission cross member in
    the line of the footwell tube breaks that tube into ``footwell_tube/left`` and ``footwell_tube/right``.
    """
    chassis = filled(chassis) if wheelbase is None else completed(filled(chassis), wheelbase)
    found: dict[str, Spec] = {}
    rails = chassis.rails
    if rails.half_spacing is not None and rails.height is not None:
        rear, front = _extent("rails", rails)
        for side, sign in (("left", 1.0), ("right", -1.0)):
            found[f"rail/{side}"] = _along(sign * rails.half_spacing, rails.height, rear, front, rails.section)
            if rails.kind == "double" and rails.upper_height is not None:
                found[f"upper_rail/{side}"] = _along(sign * rails.half_spacing, rails.upper_height, rear, front, rails.section)
        for side, sign in (("left", 1.0), ("right", -1.0)):
            upright = _upright(chassis, sign)
            if upright is not None:
                found[f"upright/{side}"] = upright
        for key in ("footwell_tube", "rear_cross_member"):
            member = getattr(chassis, key)
            if member is not None and member.x is not None and member.z is not None:
                found |= _across(key, member, rails, footwell_break(chassis, cross_member) if key == "footwell_tube" else None)
    upper = chassis.upper_fore_aft
    if upper is not None and upper.half_spacing is not None and upper.z is not None:
        rear, front = _extent("upper_fore_aft", upper)
        for side, sign in (("left", 1.0), ("right", -1.0)):
            found[f"upper_fore_aft/{side}"] = _along(sign * upper.half_spacing, upper.z, rear, front, upper.section)
    return found


def missing(chassis: model.Chassis) -> dict[str, str]:
    """Key to one sentence for every chassis tube that is described but cannot be placed."""
    found = {}
    if chassis.rails.half_spacing is None or chassis.rails.height is None:
        found["rail"] = "chassis.rails needs half_spacing and height before its tubes can be drawn; give both"
    if chassis.uprights is not None:
        if chassis.uprights.half_spacing is None:
            found["upright"] = "chassis.uprights.half_spacing is missing, so the uprights are not drawn; give it"
        elif upright_station(chassis) is None:
            found["upright"] = ("chassis.uprights.x and chassis.firewall.x are missing, so the station of the uprights is not known "
                                "and they are not drawn; give either")
    for key in ("footwell_tube", "rear_cross_member"):
        member = getattr(chassis, key)
        if member is not None and (member.x is None or member.z is None):
            found[key] = f"chassis.{key} needs x and z before it can be drawn; give both"
    upper = chassis.upper_fore_aft
    if upper is not None and (upper.half_spacing is None or upper.z is None):
        found["upper_fore_aft"] = "chassis.upper_fore_aft needs half_spacing and z before it can be drawn; give both"
    return found


def rail_header(rails: model.Rails, sign: float, height: float | None = None) -> tube.Header:
    """The rail of one side (sign +1 left, -1 right) as something to cope to."""
    z = rails.height if height is None else height
    return tube.Header((0.0, sign * rails.half_spacing, z), (1.0, 0.0, 0.0), rails.section.outer_diameter)


def cross_ends(x: float, z: float, section: model.Section, rails: model.Rails) -> tuple[tuple, tuple, tuple[tube.Header, ...]]:
    """Right and left end of a cross tube between the rails, and the rails that it is coped to."""
    headers = []
    heights = [rails.height] + ([rails.upper_height] if rails.kind == "double" and rails.upper_height is not None else [])
    for height in heights:
        if abs(z - height) < (section.outer_diameter + rails.section.outer_diameter) / 2:
            for sign in (-1.0, 1.0):
                header = rail_header(rails, sign, height)
                headers.append(tube.Header((x, header.point[1], height), header.direction, header.diameter))
    return (x, -rails.half_spacing, z), (x, rails.half_spacing, z), tuple(headers)


def _along(y: float, z: float, rear: float, front: float, section: model.Section) -> Spec:
    return Spec((rear, y, z), (front, y, z), section.outer_diameter, section.wall)


def footwell_break(chassis: model.Chassis, cross_member: model.CrossMember | None) -> float | None:
    """Distance from the center plane at which the footwell tube ends beside a transmission cross member in its line.

    None where the footwell tube runs through: no member, one counted from a chassis X, or one at another height.
    """
    footwell, rails = chassis.footwell_tube, chassis.rails
    if cross_member is None or footwell is None or footwell.x is None or footwell.z is None or rails.half_spacing is None:
        return None
    cross_member = filled(cross_member)
    if cross_member.reference != "footwell_tube":
        return None
    if abs(cross_member.z - footwell.z) > 0.25 * (cross_member.section.outer_diameter + footwell.section.outer_diameter):
        return None
    inner = rails.half_spacing - rails.section.outer_diameter / 2 - STUB
    return inner if inner > 2.0 * STUB else None


def _across(key: str, member: model.CrossTube, rails: model.Rails, inner: float | None = None) -> dict[str, Spec]:
    right, left, headers = cross_ends(member.x, member.z, member.section, rails)
    outer, wall = member.section.outer_diameter, member.section.wall
    if inner is None:
        return {key: Spec(right, left, outer, wall, headers)}
    return {f"{key}/{side}": Spec((member.x, sign * inner, member.z), end, outer, wall,
                                  tuple(header for header in headers if header.point[1] * sign > 0))
            for side, sign, end in (("left", 1.0, left), ("right", -1.0, right))}


def _extent(name: str, tubes: model.Rails | model.UpperForeAft) -> tuple[float, float]:
    """Rear and front end."""
    if tubes.x_rear is None or tubes.x_front is None:
        raise ValueError(f"chassis.{name} needs x_rear and x_front before its tubes can be drawn; give both, or the wheelbase")
    if tubes.x_front - tubes.x_rear < 1.0:
        raise ValueError(f"chassis.{name}.x_front: the tubes end at X = {sized(tubes.x_front, 2)}, not ahead of their rear end "
                         f"at {sized(tubes.x_rear, 2)}; give an x_front farther forward")
    return tubes.x_rear, tubes.x_front


def _upright(chassis: model.Chassis, sign: float) -> Spec | None:
    uprights, rails = chassis.uprights, chassis.rails
    x = upright_station(chassis)
    if uprights is None or uprights.half_spacing is None or x is None:
        return None
    y = sign * uprights.half_spacing
    foot = rails.height
    if rails.kind == "double" and rails.upper_height is not None:
        foot = max(foot, rails.upper_height)
    meets = abs(uprights.half_spacing - rails.half_spacing) < (uprights.section.outer_diameter + rails.section.outer_diameter) / 2
    headers = (tube.Header((x, sign * rails.half_spacing, foot), (1.0, 0.0, 0.0), rails.section.outer_diameter),) if meets else ()
    return Spec((x, y, foot), (x, y, foot + UPRIGHT_HEIGHT), uprights.section.outer_diameter, uprights.section.wall, headers)
