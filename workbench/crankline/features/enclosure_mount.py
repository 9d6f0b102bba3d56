"""Enclosure mount: carries the enclosure tube in a loop or at the transmission's tail."""
from __future__ import annotations

from .. import model
from ..geometry import enclosure_mount
from ..mechanics.frames import Frame
from ..mechanics.scene import Scene
from ..snapshot import BETWEEN, CHASSIS
from ..units import INCH
from .base import PartFeature
from .joint_hardware import ON_ASSEMBLY, HardwareLine, piece
from .part_kind import LOOPS, MOUNT, NOT_SCREENED, OUTLINE, Hold, Joint, PartKind, Removal, Supply, Weld, none

SCREW = 0.25 * INCH
"""Screws that hold the enclosure tube on a mount's saddle (common practice, no source)."""
SCREWS = 2
"""In each mount (common practice, no source)."""
AT_TAIL = "whichever the transmission's tail housing takes"


def hardware(car: model.Car, _scene: Scene) -> tuple[HardwareLine, ...]:
    """Screws of each mount, and what holds those at the tail on it."""
    tube = car.containment.enclosure
    if tube is None:
        return ()
    at_tail = [HardwareLine("set of bolts, or clamp band", 1, (*(f"enclosure_mount/front_{side}" for side in enclosure_mount.SIDES),
                                                               "transmission"), None, False, AT_TAIL)
               ] if tube.front_support == "transmission_tail" else []
    return (*at_tail, *(line for end in enclosure_mount.ENDS for side in enclosure_mount.SIDES
                        for line in piece("screw", SCREW, SCREWS, (f"enclosure_mount/{end}_{side}", "enclosure"), note=ON_ASSEMBLY)))


class EnclosureMount(PartFeature):
    """One mount; its key says which: ``enclosure_mount/front_top``."""
    kind = "enclosure_mount"
    declares = (PartKind(
        role="enclosure_mount", kind="enclosure_mount", label="Enclosure mount", container="driveline",
        section="containment.enclosure",
        moves_with=CHASSIS, welded=False, reference=False, protective=True,
        supply=Supply.KIT, mark="EM",
        look=MOUNT,
        stands_on=none("what carries it is a rule of containment"),
        joints=(Joint(Hold.WELDED, LOOPS, Weld.BOTH), Joint(Hold.BOLTED, ("enclosure", "transmission"))),
        keeps_clear=none("it is between loop and enclosure"),
        near_driver=True,
        side_view=OUTLINE,
        numbered=none("the enclosure that it carries is numbered"),
        hardware=hardware,
        removal=Removal(off_with="enclosure"),
        parameters=("containment.enclosure.outer_diameter", "containment.enclosure.x_rear", "containment.enclosure.x_front"),
        stronger=NOT_SCREENED),)
    geometry = enclosure_mount
    material_of = "Enclosure"
    links = (("Enclosure", "The tube that it carries, with the sizes of its mounts"),)
    link_lists = (("Loops", "The loops that may carry it"),)

    @classmethod
    def spec(cls, records, scene):
        end, side = place_of(records)
        return enclosure_mount.spec(records["Enclosure"], scene, records["Loops"], end, side)

    @classmethod
    def frame(cls, records, scene) -> Frame:
        return enclosure_mount.frame(records["Enclosure"], scene, records["Loops"], place_of(records)[0])

    @classmethod
    def moves(cls, records) -> str:
        return BETWEEN if records["Enclosure"].front_support == "transmission_tail" else CHASSIS


def place_of(records) -> tuple[str, str]:
    """(front or rear, top or bottom), from the key."""
    end, _, side = records.key.partition("/")[2].partition("_")
    side = side.partition("_")[0]   # a copy's key ends with a number
    if end not in enclosure_mount.ENDS or side not in enclosure_mount.SIDES:
        raise ValueError(f"{records.label}: its key {records.key!r} names no place; delete this object")
    return end, side
