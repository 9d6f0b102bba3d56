"""What a part is: everything that other rooms ask of it, declared once, beside the feature that makes it.

A declaration leaves nothing out: what a part has none of says ``none("because ...")``, so that nothing is forgotten in silence. It is plain
data and needs no host; where it holds a function, that reads a car's records and scene.
"""
from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass, replace
from enum import Enum
from typing import Any, Literal, TypeAlias

from .. import catalog, model
from ..mechanics.scene import Scene
from ..snapshot import PartView, Snapshot
from .joint_hardware import HardwareLine
from .side_item import Item

Color: TypeAlias = tuple[float, float, float]
Numbered: TypeAlias = Callable[[Snapshot, tuple[PartView, ...]], Iterable[Item]]


@dataclass(frozen=True)
class Nothing:
    """An entry of which a part has none, and why. It is false, so that ``entry or ()`` reads as an empty one."""
    because: str

    def __bool__(self) -> Literal[False]:
        return False


def none(because: str) -> Nothing:
    """A part has nothing of this; because: the reason, a half sentence."""
    return Nothing(because)


@dataclass(frozen=True)
class Look:
    """Color of faces and edges (0 to 1), transparency in per cent, width of edges in pixels; color where it is made of a composite;
    whether a picture of the whole car shows it, which one that is no part of the car and hides what it surrounds would spoil."""
    color: Color
    transparency: int = 0
    edge: Color = (0.13, 0.14, 0.16)
    edge_width: float = 1.0
    composite: Color | None = None
    pictured: bool = True


class Hold(Enum):
    """How two parts that touch by design are held together."""
    WELDED = "welded"
    BOLTED = "bolted"
    SLIDING = "sliding"
    TRIMMED = "trimmed"


class Weld(Enum):
    """How a welded joint is made, as its symbol says it (AWS A2.4)."""
    AROUND = "fillet all around"
    BOTH = "fillet on both sides"


@dataclass(frozen=True)
class Joint:
    """Roles that a part touches by design, and how. A joint of two parts is declared by one of them. weld: of what is welded; None where
    its form is left to the fabricator."""
    hold: Hold
    to: tuple[str, ...]
    weld: Weld | None = None


class Supply(Enum):
    """Who a part comes from: made for the kit, bought ready, or the customer's own, which the kit is built around."""
    KIT = "made"
    BOUGHT = "bought"
    CUSTOMER = "customer's own"


@dataclass(frozen=True)
class SideView:
    """How a part is drawn in side view: class of its lines."""
    line: str


@dataclass(frozen=True)
class Removal:
    """What becomes of a part when something is taken out of the car. ``moves``: service paths that it comes out with; ``absent``: those
    for which it was opened or taken out before; ``off_with``: role with which it may be taken off first, empty where it stays."""
    moves: tuple[str, ...] = ()
    absent: tuple[str, ...] = ()
    off_with: str = ""


@dataclass(frozen=True, kw_only=True)
class PartKind:
    """One part, or several that differ in their keys only. No field has a default.

    role: what rules call it: the first word of its key where one kind of object serves for several things, else the kind.
    kind: the kind of its document object; its icon is ``gui/icons/<kind>.svg``.
    label: what the tree calls it.
    container: the branch of the tree in which it stands.
    section: the section of the car in which it is edited (``sections``): its own, or that of the part that brings it.
    moves_with: what it moves with when the placement changes (``snapshot``).
    welded: whether it is welded to the chassis, so that a changed placement means cutting welds.
    reference: whether it is no part of the car, such as a swept volume or what sets the car up: it meets what it meets, goes into no STEP
    file, and weighs nothing unless it is made for the kit.
    protective: whether it stands between people and what flies: one that was edited by hand is an error.
    supply: who it comes from.
    mark: letters of its mark on drawings, cut files and lists (``measure.part_marks``); only what is made for the kit has one.
    look: colors in the window.
    stands_on: what it is welded to: of each group (roles, or keys of parts) it meets one.
    joints: what it touches by design, as far as the other part does not say it.
    keeps_clear: groups of clearance rules (``measure.relations``) whose far side it is.
    near_driver: whether the driver's box has to be clear of it.
    side_view: how it is drawn there.
    numbered: its items there, of a placed car and the parts of the role that it has.
    hardware: what is bought to hold it, of a car with defaults filled in and its scene.
    removal: what becomes of it when something is taken out.
    parameters: paths in the car file that move or size it, the cheapest to change first; ``*`` stands for its own name in a list.
    stronger: group of joints that are screened (``mechanics.mount_screening``) to paths of what makes it stronger there, what a builder
    changes first being first; `bearing` is where a bolt bears on it.
    """
    role: str
    kind: str
    label: str
    container: str
    section: str
    moves_with: str
    welded: bool
    reference: bool
    protective: bool
    supply: Supply | Nothing
    mark: str | Nothing
    look: Look
    stands_on: tuple[tuple[str, ...], ...] | Nothing
    joints: tuple[Joint, ...] | Nothing
    keeps_clear: tuple[str, ...] | Nothing
    near_driver: bool | Nothing
    side_view: SideView
    numbered: Numbered | Nothing
    hardware: Callable[[model.Car, Scene], tuple[HardwareLine, ...]] | Nothing
    removal: Removal | Nothing
    parameters: tuple[str, ...] | Nothing
    stronger: Mapping[str, tuple[str, ...]] | Nothing

    def look_of(self, material: str) -> Look:
        """Its look in a material: another color for composites where it declares one."""
        composite = self.look.composite
        return replace(self.look, color=composite) if composite and material and catalog.family(material) == "composite" else self.look

    def entries(self) -> dict[str, Any]:
        """Name to value of every entry."""
        return {name: getattr(self, name) for name in self.__dataclass_fields__}


# Blue, orange and grays, so that nothing hangs on telling red from green. The chassis is dark and thin, fabricated mounts are blue,
# containment is orange, plates are pale, envelopes of bought units are gray and see-through.
STEEL_TUBE = Look((0.36, 0.39, 0.44))
MOUNT = Look((0.13, 0.39, 0.68))
LOOP = Look((0.90, 0.52, 0.08))
PLATE = Look((0.76, 0.81, 0.87), edge_width=1.5)

CHASSIS_TUBES = ("rail", "upper_rail", "upright", "footwell_tube", "rear_cross_member", "upper_fore_aft", "frame_tube")
RAILS = ("rail", "upper_rail")
LOOPS = ("split_loop", "fixed_loop")
ON_RAILS = (RAILS,)
"""What stands on a rail, either of two."""
ENGINE_PATHS = ("engine", "engine_straight_up", "engine_with_transmission")

OUTLINE = SideView("outline")
VISIBLE, THIN, PHANTOM = SideView("visible"), SideView("thin"), SideView("phantom")

WELDED_IN = none("it is welded in and stays")
STAYS = none("it stays with the chassis")
SWEPT_PAST = none("it stays in the car; the engine's way is swept past it")
OWN_REGIONS = none("its own regions are what other parts keep clear of")
BEHIND_RAIL = none("it is small and is behind the rail in side view")
OWN = none("it is the customer's own")
NOT_SCREENED = none("it is in no joint that is screened")
OTHERS_SAY = none("the parts that are joined to it say so")
CHASSIS_IS_AROUND = none("the chassis is built around the driver")
