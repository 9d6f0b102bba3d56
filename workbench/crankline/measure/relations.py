"""Which parts are joined by design and which must keep apart, as the parts declare it (``features.part_kind``): what the clearance
checks read, by the roles that parts have.
"""
from __future__ import annotations

from dataclasses import dataclass
from functools import cache

from ..features.part_kind import ON_RAILS, Hold, PartKind, Removal, Weld
from ..features.registry import declaration as declaration_of_kind
from ..features.registry import declared
from ..snapshot import PartView
from ..units import INCH

DEPTH = {Hold.WELDED: 0.5, Hold.BOLTED: 0.1, Hold.SLIDING: 0.5, Hold.TRIMMED: 1.0}
"""mm of overlap that a joint may show before it counts as interference: a weld fit; faces bolted together; a tube in its
receiver or a spline; sheet that is trimmed on the car to what it meets and is drawn untrimmed (the sheet's thickness)."""

APART = 0.002 * INCH
"""mm of overlap of parts that are not joined at all: what shapes and booleans are exact to, with room to spare."""


def declaration(part: PartView) -> PartKind:
    """What a part declares of itself."""
    return declaration_of_kind(part.kind, part.key)


def role(part: PartView) -> str:
    """What a part is, finer than its kind where one kind serves for several things: ``rail/left`` is a rail."""
    return declaration(part).role


@dataclass(frozen=True)
class Join:
    """Two roles that touch by design: how, and how deep they may overlap, mm; weld: its form, None where none is said."""
    roles: tuple[str, ...]
    how: str
    depth: float
    weld: Weld | None = None


@cache
def joins() -> dict[tuple[str, ...], Join]:
    """Sorted pair of roles to how they are joined. ValueError where two parts declare one joint differently."""
    found: dict[tuple[str, ...], Join] = {}
    for part in declared().values():
        for joint in part.joints or ():
            for other in joint.to:
                one = Join(tuple(sorted((part.role, other))), joint.hold.value, DEPTH[joint.hold], joint.weld)
                if found.setdefault(one.roles, one) != one:
                    raise ValueError(f"{' and '.join(one.roles)} are declared {found[one.roles].how} and {one.how}; declare one of the two")
    return found


def join(a: PartView, b: PartView) -> Join | None:
    """How two parts are joined by design, None where they are not."""
    return joins().get(tuple(sorted((role(a), role(b)))))


def allowed(a: PartView, b: PartView) -> float:
    """mm that two parts may overlap before it counts as interference."""
    found = join(a, b)
    return APART if found is None else found.depth


def stands_on_rail(role: str) -> bool:
    """Whether parts of a role are welded on a rail and stand between its ends."""
    part = declared().get(role)
    return part is not None and part.stands_on == ON_RAILS


@dataclass(frozen=True)
class Group:
    """What must keep away from what declares it: kind, region (empty for the whole part), and what the rule list says of it."""
    of: tuple[str, str]
    doc: str


GROUPS: dict[str, Group] = {
    "oil_pan_to_members": Group(("engine", "oil_pan"), "engine's oil pan to cross members and rails"),
    "transmission_pan_to_members": Group(("transmission", "pan"), "transmission's pan to cross members and rails"),
    "bell_to_chassis": Group(("transmission", "bell"), "bell to rails, uprights, upper members and tunnel"),
    "starter_to_chassis": Group(("transmission", "starter"), "starter to the parts beside it"),
    "damper_to_chassis": Group(("engine", "damper"), "damper to the parts beside it"),
    "header_to_chassis": Group(("header", ""), "box of a header to chassis, mounts, firewall and tunnel"),
    "engine_to_firewall": Group(("engine", "block"), "back of the block to the firewall"),
    "shaft_to_containment": Group(("shaft_envelope", ""), "what the driveshaft sweeps over travel, to tunnel and members"),
}
"""Name to group. The shaft's has no loops and no enclosure: they have rules of their own, over travel and with the joints, since one fault
is one finding."""


def keeps_clear(part: PartView, group: str) -> bool:
    """Whether a part is on the far side of a group."""
    return group in (declaration(part).keeps_clear or ())


def removal_of(kind: str, key: str) -> Removal:
    """What becomes of a part when something is taken out of the car."""
    return declaration_of_kind(kind, key).removal or Removal()


@cache
def removable() -> tuple[str, ...]:
    """Roles that are bolted on and may be taken off first."""
    return tuple(dict.fromkeys(part.removal.off_with for part in declared().values() if part.removal and part.removal.off_with))
