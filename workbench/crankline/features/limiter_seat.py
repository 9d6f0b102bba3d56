"""Seat of the limiter strut: its bracket on a main rail, welded."""
from __future__ import annotations

from ..snapshot import POWERTRAIN
from .limiter_bracket import LimiterBracket, at
from .part_kind import BEHIND_RAIL, MOUNT, ON_RAILS, OUTLINE, RAILS, WELDED_IN, Hold, Joint, PartKind, Supply, Weld


class LimiterSeat(LimiterBracket):
    """The bracket at the strut's rear end."""
    kind = "limiter_seat"
    declares = (PartKind(
        role="limiter_seat", kind="limiter_seat", label="Limiter seat", container="mounts",
        section="mounts.limiter_strut",
        moves_with=POWERTRAIN, welded=True, reference=False, protective=False,
        supply=Supply.KIT, mark="LT",
        look=MOUNT,
        stands_on=ON_RAILS,
        joints=(Joint(Hold.WELDED, RAILS, Weld.AROUND), Joint(Hold.BOLTED, ("limiter_strut",))),
        keeps_clear=("header_to_chassis",),
        near_driver=True,
        side_view=OUTLINE,
        numbered=BEHIND_RAIL,
        hardware=lambda car, _scene: at(car, "limiter_seat"),
        removal=WELDED_IN,
        parameters=("mounts.limiter_strut.plate_y", "mounts.limiter_strut.plate_z", "mounts.limiter_strut.run"),
        stronger={"bearing": ("mounts.limiter_strut.bracket_thickness",)}),)
    end = "rail"
