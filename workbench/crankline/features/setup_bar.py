"""Bar of the set-up stands: it holds what plates and bar are made from."""
from __future__ import annotations

from dataclasses import replace

from .. import model
from ..geometry import setup_bar
from ..snapshot import POWERTRAIN
from .base import PartFeature
from .part_kind import MOUNT, NOT_SCREENED, PHANTOM, PartKind, Supply, none

TAKEN_AWAY = none("it is taken away once the powertrain is set")


class SetupBar(PartFeature):
    """The bar through the main bearing bores."""
    kind = "setup_bar"
    declares = (PartKind(
        role="setup_bar", kind="setup_bar", label="Set-up bar", container="mounts",
        section="mounts.setup_stands",
        moves_with=POWERTRAIN, welded=False, reference=True, protective=False,
        supply=Supply.KIT, mark="SB",
        look=replace(MOUNT, pictured=False),
        stands_on=none("it lies loose in the set-up stands"),
        joints=TAKEN_AWAY,
        keeps_clear=TAKEN_AWAY,
        near_driver=TAKEN_AWAY,
        side_view=PHANTOM,
        numbered=TAKEN_AWAY,
        hardware=none("it lies loose in the set-up stands"),
        removal=TAKEN_AWAY,
        parameters=none("it follows the crank and the block"),
        stronger=NOT_SCREENED),)
    record = model.SetUpStands
    geometry = setup_bar

    @classmethod
    def spec(cls, records, scene):
        return setup_bar.spec(records.own, scene)

    @classmethod
    def material(cls, records, scene) -> str:
        return records.own.bar_material or ""
