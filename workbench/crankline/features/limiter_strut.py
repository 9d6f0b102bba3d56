"""Limiter strut: fore-aft strut with rod ends from the front plate to a main rail."""
from __future__ import annotations

from .. import model
from ..geometry import limiter_strut
from ..snapshot import POWERTRAIN
from .base import PartFeature
from .part_kind import BEHIND_RAIL, MOUNT, OTHERS_SAY, OUTLINE, SWEPT_PAST, PartKind, Supply, none


class LimiterStrut(PartFeature):
    """The strut; it unbolts at both ends."""
    kind = "limiter_strut"
    declares = (PartKind(
        role="limiter_strut", kind="limiter_strut", label="Limiter strut", container="mounts",
        section="mounts.limiter_strut",
        moves_with=POWERTRAIN, welded=False, reference=False, protective=False,
        supply=Supply.KIT, mark="LS",
        look=MOUNT,
        stands_on=none("its rod ends are bolted at both ends"),
        joints=OTHERS_SAY,
        keeps_clear=("header_to_chassis",),
        near_driver=True,
        side_view=OUTLINE,
        numbered=BEHIND_RAIL,
        hardware=none("its brackets list what holds it"),
        removal=SWEPT_PAST,
        parameters=("mounts.limiter_strut.plate_y", "mounts.limiter_strut.plate_z", "mounts.limiter_strut.run"),
        stronger={"limiter_strut": tuple(f"mounts.limiter_strut.section.{name}" for name in ("outer_diameter", "wall")),
                  "limiter_bolts": ("mounts.limiter_strut.bolt",)}),)
    record = model.LimiterStrut
    geometry = limiter_strut

    @classmethod
    def spec(cls, records, scene):
        return limiter_strut.spec(records.own, scene)
