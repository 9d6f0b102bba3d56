"""Fixed loop: welded between the rear cross member and the upper fore-aft members, closed through them."""
from __future__ import annotations

from ..geometry import fixed_loop
from ..snapshot import CHASSIS
from .loop import CARRIERS, PARAMETERS, Loop, numbered
from .part_kind import LOOP, NOT_SCREENED, OUTLINE, WELDED_IN, Hold, Joint, PartKind, Supply, Weld, none


class FixedLoop(Loop):
    """A loop that is welded in."""
    kind = "fixed_loop"
    declares = (PartKind(
        role="fixed_loop", kind="fixed_loop", label="Loop", container="driveline",
        section="containment.loops",
        moves_with=CHASSIS, welded=True, reference=False, protective=True,
        supply=Supply.KIT, mark="FL",
        look=LOOP,
        stands_on=none("what carries it is a rule of containment"),
        joints=(Joint(Hold.WELDED, CARRIERS, Weld.AROUND),),
        keeps_clear=("bell_to_chassis",),
        near_driver=True,
        side_view=OUTLINE,
        numbered=numbered,
        hardware=none("it is welded"),
        removal=WELDED_IN,
        parameters=PARAMETERS,
        stronger=NOT_SCREENED),)
    geometry = fixed_loop
