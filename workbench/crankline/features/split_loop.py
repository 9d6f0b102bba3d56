"""Split loop: two halves pinned together around the driveshaft, standing on floor tubes."""
from __future__ import annotations

from .. import model
from ..geometry import loop_ring, split_loop
from ..mechanics.scene import Scene
from ..snapshot import CHASSIS
from .joint_hardware import HardwareLine, piece
from .loop import CARRIERS, PARAMETERS, Loop, numbered
from .part_kind import ENGINE_PATHS, LOOP, NOT_SCREENED, OUTLINE, Hold, Joint, PartKind, Removal, Supply, Weld, none


def hardware(car: model.Car, scene: Scene) -> tuple[HardwareLine, ...]:
    """Quick-release pins as the loops are made: more pins than a loop has seats for are not bought."""
    lines: tuple[HardwareLine, ...] = ()
    for loop in (loop for loop in car.containment.loops if loop.kind == "split"):
        made = split_loop.spec(loop, scene)
        for seats in (split_loop.split_pins(made), split_loop.foot_pins(made)):
            lines += piece("pin", loop_ring.PIN, sum(pinned for _seat, pinned in seats), (f"loop/{loop.name}",))
    return lines


class SplitLoop(Loop):
    """A loop that opens at mid height."""
    kind = "split_loop"
    declares = (PartKind(
        role="split_loop", kind="split_loop", label="Loop", container="driveline",
        section="containment.loops",
        moves_with=CHASSIS, welded=False, reference=False, protective=True,
        supply=Supply.KIT, mark="SL",
        look=LOOP,
        stands_on=none("what carries it is a rule of containment"),
        joints=(Joint(Hold.WELDED, CARRIERS, Weld.AROUND),),
        keeps_clear=("bell_to_chassis",),
        near_driver=True,
        side_view=OUTLINE,
        numbered=numbered,
        hardware=hardware,
        removal=Removal(absent=("driveshaft", "transmission", *ENGINE_PATHS)),
        parameters=PARAMETERS,
        stronger=NOT_SCREENED),)
    geometry = split_loop
