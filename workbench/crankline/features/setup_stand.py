"""Set-up stand: the plate across the rails behind or ahead of the block. It sets the powertrain and is no part of the car."""
from __future__ import annotations

from dataclasses import replace

from ..geometry import setup_stand
from ..snapshot import BETWEEN
from .base import ChassisPart
from .part_kind import MOUNT, NOT_SCREENED, PHANTOM, PartKind, Supply, none
from .setup_bar import TAKEN_AWAY


class SetupStand(ChassisPart):
    """One of the two plates; which, its key says."""
    kind = "setup_stand"
    declares = (PartKind(
        role="setup_stand", kind="setup_stand", label="Set-up stand", container="mounts",
        section="mounts.setup_stands",
        moves_with=BETWEEN, welded=False, reference=True, protective=False,
        supply=Supply.KIT, mark="SU",
        look=replace(MOUNT, transparency=40, pictured=False),
        stands_on=none("it lies loose on the rails"),
        joints=TAKEN_AWAY,
        keeps_clear=TAKEN_AWAY,
        near_driver=TAKEN_AWAY,
        side_view=PHANTOM,
        numbered=TAKEN_AWAY,
        hardware=none("it lies loose on the rails"),
        removal=TAKEN_AWAY,
        parameters=none("it follows the crank and the block"),
        stronger=NOT_SCREENED),)
    geometry = setup_stand
    material_of = "SetupStands"
    links = (("SetupStands", "The bar that it carries, which holds the sizes of both"),)

    @classmethod
    def spec(cls, records, scene):
        return setup_stand.spec(records["SetupStands"], scene, records.key.partition("/")[2])
