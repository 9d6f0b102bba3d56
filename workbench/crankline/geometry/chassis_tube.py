"""Tubes of the chassis that the powertrain meets, in the car frame."""
from __future__ import annotations

from .. import model
from ..record import filled
from . import tube

VERSION = tube.VERSION
Spec = tube.Spec
build = tube.build

RAIL_REAR = 12.0 * model.INCH
UPRIGHT_HEIGHT = 22.0 * model.INCH
"""Extents where the chassis states none. They are only drawn: nothing is measured at the free end of a chassis tube."""


def specs(chassis: model.Chassis, wheelbase: float | None = None) -> dict[str, Spec]:
    """Key to spec of every tube that the chassis record places; ``missing`` tells what it leaves out.

    Rails run level from ``x_rear`` (default 12 in) to ``x_front`` (default: the front axle). Cross tubes run between the
    rails and are coped to them where they meet; uprights stand on the rail at the firewall line.
    """
    chassis = filled(chassis)
    found: dict[str, Spec] = {}
    rails = chassis.rails
    if rails.half_spacing is not None and rails.height is not None:
        rear, front = _rail_extent(rails, wheelbase)
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
                found[key] = _across(member, rails)
    upper = chassis.upper_fore_aft
    if upper is not None and upper.half_spacing is not None and upper.z is not None:
        rear, front = _upper_extent(chassis, wheelbase)
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
        elif chassis.firewall is None:
            found["upright"] = ("chassis.firewall.x is missing, so the station of the uprights is not known and they are not "
                                "drawn; give the firewall line")
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


def _across(member: model.CrossTube, rails: model.Rails) -> Spec:
    right, left, headers = cross_ends(member.x, member.z, member.section, rails)
    return Spec(right, left, member.section.outer_diameter, member.section.wall, headers)


def _rail_extent(rails: model.Rails, wheelbase: float) -> tuple[float, float]:
    rear = RAIL_REAR if rails.x_rear is None else rails.x_rear
    front = wheelbase if rails.x_front is None else rails.x_front
    if front - rear < 1.0:
        raise ValueError(f"chassis.rails.x_front: the rails end at X = {front / 25.4:.2f} in, behind their rear end at "
                         f"{rear / 25.4:.2f} in; give an x_front further forward")
    return rear, front


def _upper_extent(chassis: model.Chassis, wheelbase: float) -> tuple[float, float]:
    """Upper members: from where the rails begin to the footwell tube, else over the rear half of the wheelbase."""
    upper = chassis.upper_fore_aft
    rear = upper.x_rear
    if rear is None:
        rear = RAIL_REAR if chassis.rails.x_rear is None else chassis.rails.x_rear
    front = upper.x_front
    if front is None:
        footwell = chassis.footwell_tube
        front = footwell.x if footwell is not None and footwell.x is not None else 0.55 * wheelbase
    if front - rear < 1.0:
        raise ValueError(f"chassis.upper_fore_aft.x_front: the members end at X = {front / 25.4:.2f} in, behind their rear "
                         f"end at {rear / 25.4:.2f} in; give an x_front further forward")
    return rear, front


def _upright(chassis: model.Chassis, sign: float) -> Spec | None:
    uprights, rails = chassis.uprights, chassis.rails
    if uprights is None or uprights.half_spacing is None or chassis.firewall is None:
        return None
    x, y = chassis.firewall.x, sign * uprights.half_spacing
    foot = rails.height
    if rails.kind == "double" and rails.upper_height is not None:
        foot = max(foot, rails.upper_height)
    meets = abs(uprights.half_spacing - rails.half_spacing) < (uprights.section.outer_diameter + rails.section.outer_diameter) / 2
    headers = (tube.Header((x, sign * rails.half_spacing, foot), (1.0, 0.0, 0.0), rails.section.outer_diameter),) if meets else ()
    return Spec((x, y, foot), (x, y, foot + UPRIGHT_HEIGHT), uprights.section.outer_diameter, uprights.section.wall, headers)
