"""How far the chassis tubes reach where the builder did not say.

The ends only bound what is drawn: the powertrain meets the tubes between rear cross member and firewall.
"""
from __future__ import annotations

from dataclasses import replace

from ..model import Chassis, CrossMember
from ..record import filled
from ..units import INCH

UPRIGHT_BEHIND_FIREWALL = 1.125 * INCH
"""So far behind the firewall line an upright clears the ears of the mid plate and the tabs that clamp them."""


def upright_station(chassis: Chassis) -> float | None:
    """X of the uprights: stated, or behind the firewall line; None where neither is there."""
    if chassis.uprights is not None and chassis.uprights.x is not None:
        return chassis.uprights.x
    return None if chassis.firewall is None else chassis.firewall.x - UPRIGHT_BEHIND_FIREWALL


def cross_member_station(member: CrossMember, chassis: Chassis) -> float:
    """X of the middle of the transmission cross member; ValueError where what it is counted from is missing."""
    member = filled(member)
    if member.reference == "chassis_x":
        return member.offset
    footwell = chassis.footwell_tube
    if footwell is None or footwell.x is None:
        raise ValueError("mounts.cross_member.reference is footwell_tube, but chassis.footwell_tube.x is missing; give it, or "
                         "count from chassis_x")
    return footwell.x + member.offset


def completed(chassis: Chassis, wheelbase: float) -> Chassis:
    """The chassis with every end of a tube stated, mm: main rails from 12 in ahead of the rear axle to the front one, upper members from
    the rear cross member to the footwell tube (or 60 in ahead of the rear axle), uprights behind the firewall line."""
    rails = chassis.rails
    rails = replace(rails, x_rear=12.0 * INCH if rails.x_rear is None else rails.x_rear,
                    x_front=wheelbase if rails.x_front is None else rails.x_front)
    upper = chassis.upper_fore_aft
    if upper is not None:
        rear = chassis.rear_cross_member.x if chassis.rear_cross_member else None
        front = chassis.footwell_tube.x if chassis.footwell_tube else None
        upper = replace(upper, x_rear=_first(upper.x_rear, None if rear is None else rear - 2.0 * INCH, 18.0 * INCH),
                        x_front=_first(upper.x_front, front, 60.0 * INCH))
    uprights = chassis.uprights
    if uprights is not None:
        station = upright_station(chassis)
        uprights = uprights if station is None else replace(uprights, x=station)
    return replace(chassis, rails=rails, upper_fore_aft=upper, uprights=uprights)


def _first(*values: float | None) -> float:
    return next(value for value in values if value is not None)
