"""Engine envelope: what the engine occupies, with its rear- and front-face patterns."""
from __future__ import annotations

from collections.abc import Iterator

from ..catalog import used
from ..geometry import engine_envelope
from ..snapshot import POWERTRAIN, PartView, Snapshot
from .base import PartFeature
from .part_kind import ENGINE_PATHS, NOT_SCREENED, OTHERS_SAY, OWN, OWN_REGIONS, VISIBLE, Look, PartKind, Removal, Supply, none
from .side_item import Item, at


def numbered(snapshot: Snapshot, _parts: tuple[PartView, ...]) -> Iterator[Item]:
    """Its middle."""
    engine = snapshot.placed.engine
    point = snapshot.placed.engine_point(0.45 * engine.block_length, 0.0, 0.5 * engine.deck_height)
    yield Item("Engine", *at(point), None, None, used.called(engine), inside=True)


class EngineEnvelope(PartFeature):
    """The engine as a body for clearances; its numbers are on the engine's data object."""
    kind = "engine"
    declares = (PartKind(
        role="engine", kind="engine", label="Engine", container="powertrain",
        section="engine",
        moves_with=POWERTRAIN, welded=False, reference=False, protective=False,
        supply=Supply.CUSTOMER, mark=OWN,
        look=Look((0.60, 0.62, 0.65), 45),
        stands_on=none("plates hold it"),
        joints=OTHERS_SAY,
        keeps_clear=OWN_REGIONS,
        near_driver=True,
        side_view=VISIBLE,
        numbered=numbered,
        hardware=none("the plates between engine and transmission list what holds them"),
        removal=Removal(moves=ENGINE_PATHS),
        parameters=none("an engine is not sized to clear a finding; the placement is"),
        stronger=NOT_SCREENED),)
    geometry = engine_envelope

    @classmethod
    def spec(cls, records, scene):
        return engine_envelope.spec(scene.engine, scene)

    @classmethod
    def mass(cls, records, scene, volume) -> float:
        return scene.engine.mass
