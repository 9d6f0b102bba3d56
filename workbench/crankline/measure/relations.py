"""Which parts are joined by design and which must keep apart: data of the clearance checks, by the roles that parts have.

A part's role is its kind; chassis tubes and tabs have the first word of their key (``rail/left`` is a rail).
"""
from __future__ import annotations

from dataclasses import dataclass

from ..snapshot import PartView

WELDED, BOLTED, SLIDING, TRIMMED = 0.5, 0.1, 0.5, 1.0
"""mm of overlap that a joint may show before it counts as interference: a weld fit; faces bolted together; a tube in its
receiver or a spline; sheet that is trimmed on the car to what it meets and is drawn untrimmed (the sheet's thickness)."""

APART = 0.05
"""mm of overlap of parts that are not joined at all: what shapes and booleans are exact to, with room to spare."""

REFERENCE = ("shaft_envelope", "header")
"""Kinds that are no bodies: they meet what they meet. The pipes in a header's box need not be where a tube enters it."""


def role(part: PartView) -> str:
    """What a part is, finer than its kind where one kind serves for several things."""
    return part.key.partition("/")[0] if part.kind in ("chassis_tube", "rail_tab") else part.kind


@dataclass(frozen=True)
class Join:
    """Two roles that touch by design: how, and how deep they may overlap, mm."""
    roles: tuple[str, str]
    how: str
    depth: float


def _joins(how: str, depth: float, *pairs: tuple[str, str]) -> tuple[Join, ...]:
    return tuple(Join(tuple(sorted(pair)), how, depth) for pair in pairs)


_TUBES = ("rail", "upper_rail", "upright", "footwell_tube", "rear_cross_member", "upper_fore_aft")
_LOOPS = ("split_loop", "fixed_loop")

JOINS: dict[tuple[str, str], Join] = {join.roles: join for join in (
    *_joins("welded", WELDED,
            *((a, b) for i, a in enumerate(_TUBES) for b in _TUBES[i:]),
            *((tab, rail) for tab in ("rail_tab", "front_tab", "plate_foot") for rail in ("rail", "upper_rail")),
            *(("cross_member", tube) for tube in ("rail", "upper_rail", "footwell_tube", "upright")),
            ("support_tube", "upright"), ("support_tube", "tie_tab"), ("receiver", "cross_member"),
            ("limiter_seat", "rail"), ("limiter_seat", "upper_rail"), *((loop, "enclosure_mount") for loop in _LOOPS),
            *((loop, tube) for loop in _LOOPS for tube in ("rail", "upper_rail", "rear_cross_member", "cross_member", "footwell_tube",
                                                           "upper_fore_aft"))),
    *_joins("bolted", BOLTED,
            ("engine", "protector"), ("engine", "mid_plate"), ("engine", "front_plate"), ("engine", "transmission"),
            ("protector", "mid_plate"), ("protector", "transmission"), ("mid_plate", "transmission"), ("mid_plate", "rail_tab"),
            ("mid_plate", "tie_tab"), ("front_plate", "plate_foot"), ("front_plate", "front_tab"), ("front_plate", "limiter_bracket"),
            ("limiter_bracket", "limiter_strut"), ("limiter_seat", "limiter_strut"),
            ("transmission_mount", "transmission"), ("enclosure", "enclosure_mount"), ("enclosure_mount", "transmission"),
            ("tunnel", "split_loop"), ("tunnel", "fixed_loop")),
    *_joins("sliding", SLIDING,
            ("driveshaft", "transmission"), ("transmission_mount", "receiver"), ("transmission_mount", "cross_member"),
            ("enclosure", "transmission")),
    *_joins("trimmed", TRIMMED,
            *(("firewall", other) for other in ("mid_plate", "rail", "upper_rail", "upright", "support_tube", "tie_tab", "rail_tab",
                                                "tunnel")),
            *(("tunnel", tube) for tube in _TUBES)),
)}


def join(a: PartView, b: PartView) -> Join | None:
    """How two parts are joined by design, None where they are not."""
    return JOINS.get(tuple(sorted((role(a), role(b)))))


def allowed(a: PartView, b: PartView) -> float:
    """mm that two parts may overlap before it counts as interference."""
    found = join(a, b)
    return APART if found is None else found.depth


ON_RAILS = ("rail_tab", "front_tab", "plate_foot", "limiter_seat")
"""Roles that are welded on a rail and stand between its ends."""

STANDS_ON: dict[str, tuple[tuple[str, ...], ...]] = {
    **dict.fromkeys(ON_RAILS, (("rail", "upper_rail"),)),
    "cross_member": tuple((f"rail/{side}", f"upper_rail/{side}", f"footwell_tube/{side}") for side in ("left", "right")),
    "receiver": (("cross_member",),), "tie_tab": (("support_tube",),)}
"""Role to what it is welded to: of each group (roles, or keys of parts) it meets one. The support tube's own reach is a rule of practice,
what carries loops and enclosure are rules of containment."""


@dataclass(frozen=True)
class Group:
    """What must keep away from what. ``of``: (kind, region or empty for the whole part); ``to``: roles."""
    of: tuple[str, str]
    to: tuple[str, ...]
    doc: str


_MEMBERS = ("cross_member", "footwell_tube", "rear_cross_member", "rail", "upper_rail")

GROUPS: dict[str, Group] = {
    "oil_pan_to_members": Group(("engine", "oil_pan"), _MEMBERS, "engine's oil pan to cross members and rails"),
    "transmission_pan_to_members": Group(("transmission", "pan"), _MEMBERS, "transmission's pan to cross members and rails"),
    "bell_to_chassis": Group(("transmission", "bell"), ("rail", "upper_rail", "upright", "upper_fore_aft", "tunnel", *_LOOPS),
                             "bell to rails, uprights, upper members and tunnel"),
    "starter_to_chassis": Group(("transmission", "starter"), ("rail", "upper_rail", "upright", "footwell_tube", "cross_member", "rail_tab",
                                                              "upper_fore_aft", "tunnel", "header"), "starter beside the bell to what stands beside it"),
    "damper_to_chassis": Group(("engine", "damper"), ("rail", "upper_rail", "upright", "plate_foot", "cross_member"),
                               "damper to what stands beside it"),
    "header_to_chassis": Group(("header", ""), (*_MEMBERS, "upright", "upper_fore_aft", "rail_tab", "front_tab", "plate_foot", "support_tube",
                                                "tie_tab", "limiter_strut", "limiter_seat", "firewall", "tunnel"),
                               "box of a header to chassis, mounts, firewall and tunnel"),
    "engine_to_firewall": Group(("engine", "block"), ("firewall",), "back of the block to the firewall"),
    # Loops and enclosure have rules of their own, over travel and with the joints: one fault is one finding.
    "shaft_to_containment": Group(("shaft_envelope", ""), ("tunnel", "rear_cross_member", "cross_member", "upper_fore_aft", "rail"),
                                  "what the driveshaft sweeps over travel, to tunnel and members"),
}
