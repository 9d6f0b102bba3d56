"""Rail tab: welded to a main rail, one in front of and one behind a plate, clamping it: the mid plate, or a wide front plate."""
from __future__ import annotations

from collections.abc import Iterator

from .. import model
from ..geometry import rail_tab
from ..mechanics.scene import Scene
from ..record import filled
from ..snapshot import POWERTRAIN, PartView, Snapshot
from .base import PartFeature
from .joint_hardware import HardwareLine, through
from .part_kind import MOUNT, ON_RAILS, OUTLINE, RAILS, WELDED_IN, Hold, Joint, PartKind, Supply, Weld, none
from .side_item import Item, at, plate


def at_mid_plate(car: model.Car, _scene: Scene) -> tuple[HardwareLine, ...]:
    """Bolts through the pairs of tabs that clamp the mid plate."""
    mid = car.plates.mid
    lines: tuple[HardwareLine, ...] = ()
    if mid is None or car.mounts.rail_tabs is None:
        return lines
    for side in ("left", "right"):
        for level in ("", "_upper") if mid.kind == "double_rail" else ("",):
            where = ("mid_plate", f"rail_tab/{side}_front{level}", f"rail_tab/{side}_rear{level}")
            lines += _clamped(car.mounts.rail_tabs, mid.thickness, where)
    return lines


def at_front_plate(car: model.Car, _scene: Scene) -> tuple[HardwareLine, ...]:
    """Bolts through the pairs of tabs that clamp a wide front plate."""
    front = car.plates.front
    lines: tuple[HardwareLine, ...] = ()
    if front is not None and front.kind == "wide" and car.mounts.rail_tabs is not None:
        for side in ("left", "right"):
            lines += _clamped(car.mounts.rail_tabs, front.thickness, ("front_plate", f"front_tab/{side}_front", f"front_tab/{side}_rear"))
    return lines


def _clamped(tabs: model.RailTabs, plate: float, where: tuple[str, ...]) -> tuple[HardwareLine, ...]:
    return through(tabs.bolt, tabs.bolts_per_rail, plate + 2.0 * (tabs.gap + tabs.thickness), where)


def numbered(snapshot: Snapshot, _parts: tuple[PartView, ...]) -> Iterator[Item]:
    """The rear tabs of the mid plate, above the rail."""
    tabs, scene = filled(snapshot.car.mounts).rail_tabs, snapshot.placed
    x, z = at(scene.engine_point(-scene.stack.total - tabs.gap - tabs.thickness))
    yield Item("Rail tabs", x, (scene.chassis.rails.height or z) + 25.0, None, None, plate(tabs, snapshot.system), True)


THICKNESS, WIDTH = "mounts.rail_tabs.thickness", "mounts.rail_tabs.width"


class RailTab(PartFeature):
    """One tab; its key says side, face and, on double rails, the rail: ``rail_tab/left_front`` clamps the mid plate,
    ``front_tab/left_front`` the front plate that it links to."""
    kind = "rail_tab"
    declares = (PartKind(
        role="rail_tab", kind="rail_tab", label="Rail tab", container="mounts",
        section="mounts.rail_tabs",
        moves_with=POWERTRAIN, welded=True, reference=False, protective=False,
        supply=Supply.KIT, mark="RT",
        look=MOUNT,
        stands_on=ON_RAILS,
        joints=(Joint(Hold.WELDED, RAILS, Weld.BOTH), Joint(Hold.BOLTED, ("mid_plate",))),
        keeps_clear=("starter_to_chassis", "header_to_chassis"),
        near_driver=True,
        side_view=OUTLINE,
        numbered=numbered,
        hardware=at_mid_plate,
        removal=WELDED_IN,
        parameters=none("it follows plate and rail"),
        stronger={"bearing": (THICKNESS,), "bolts": ("mounts.rail_tabs.bolt",), "tab_bending": (THICKNESS, WIDTH),
                  "tab_welds": (WIDTH, THICKNESS)}), PartKind(
        role="front_tab", kind="rail_tab", label="Front tab", container="mounts",
        section="mounts.rail_tabs",
        moves_with=POWERTRAIN, welded=True, reference=False, protective=False,
        supply=Supply.KIT, mark="FT",
        look=MOUNT,
        stands_on=ON_RAILS,
        joints=(Joint(Hold.WELDED, RAILS, Weld.BOTH), Joint(Hold.BOLTED, ("front_plate",))),
        keeps_clear=("header_to_chassis",),
        near_driver=True,
        side_view=OUTLINE,
        numbered=none("the front plate that it clamps is numbered"),
        hardware=at_front_plate,
        removal=WELDED_IN,
        parameters=none("it follows plate and rail"),
        stronger={"bearing": (THICKNESS,)}),)
    geometry = rail_tab
    material_of = "RailTabs"
    links = (("RailTabs", "Sizes that all rail tabs share"), ("FrontPlate", "The wide front plate that it clamps; empty for the mid plate"))
    optional_links = ("FrontPlate",)

    @classmethod
    def spec(cls, records, scene):
        stem, _, rest = records.key.partition("/")
        words = rest.split("_")
        if len(words) < 2:
            raise ValueError(f"{records.label}: its key {records.key!r} names no side and face; delete this copy and copy nothing")
        level = words[2] if len(words) > 2 and words[2] == "upper" else "lower"
        front = records["FrontPlate"]
        if front is None and stem == "front_tab":
            raise ValueError(f"{records.label}: FrontPlate links to nothing; set it to the wide front plate, or delete this tab")
        if front is not None and front.kind != "wide":
            raise ValueError(f"{records.label}: a narrow front plate is mounted on plate feet and has no rail tabs; make it wide, or "
                             "delete this tab")
        thickness, x_rear = (scene.stack.mid_plate, -scene.stack.total) if front is None else (front.thickness, scene.engine.block_length)
        return rail_tab.spec(records["RailTabs"], thickness, x_rear, scene, words[0], words[1], level)
