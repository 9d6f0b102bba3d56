"""Transmission envelope: bell, case, pan and tail up to the output seal."""
from __future__ import annotations

from collections.abc import Iterator

from .. import model
from ..catalog import used
from ..geometry import transmission_envelope
from ..mechanics.scene import Scene
from ..record import filled
from ..snapshot import POWERTRAIN, PartView, Snapshot
from .base import PartFeature
from .joint_hardware import HardwareLine
from .part_kind import NOT_SCREENED, OWN, OWN_REGIONS, VISIBLE, Hold, Joint, Look, PartKind, Removal, Supply, none
from .side_item import Item, at

PADS = 6
"""As many pads as a converter has at most (common practice, no source)."""


def hardware(car: model.Car, scene: Scene) -> tuple[HardwareLine, ...]:
    """Spacers on the converter's pads."""
    given = filled(scene.transmission)
    if given.kind != "automatic" or not given.pad_spacers:
        return ()
    return (HardwareLine("converter pad spacer", PADS, ("transmission", "engine"), given.pad_spacers, False,
                         "one for each pad of the converter: many have three (common practice, no source)"),)


def numbered(snapshot: Snapshot, _parts: tuple[PartView, ...]) -> Iterator[Item]:
    """Its middle."""
    scene = snapshot.placed
    point = scene.engine_point(-scene.stack.total - 0.45 * scene.transmission.bell_to_seal, 0.0, 40.0)
    yield Item("Transmission", *at(point), None, None, used.called(scene.transmission), inside=True)


class TransmissionEnvelope(PartFeature):
    """The transmission as a body for clearances; its numbers are on the transmission's data object."""
    kind = "transmission"
    declares = (PartKind(
        role="transmission", kind="transmission", label="Transmission", container="powertrain",
        section="transmission",
        moves_with=POWERTRAIN, welded=False, reference=False, protective=False,
        supply=Supply.CUSTOMER, mark=OWN,
        look=Look((0.49, 0.53, 0.60), 45),
        stands_on=none("the engine and its mount hold it"),
        joints=(Joint(Hold.BOLTED, ("engine",)),),
        keeps_clear=OWN_REGIONS,
        near_driver=True,
        side_view=VISIBLE,
        numbered=numbered,
        hardware=hardware,
        removal=Removal(moves=("transmission", "engine_with_transmission"), absent=("engine", "engine_straight_up")),
        parameters=none("a transmission is not sized to clear a finding; the placement is"),
        stronger=NOT_SCREENED),)
    geometry = transmission_envelope

    @classmethod
    def spec(cls, records, scene):
        return transmission_envelope.spec(scene.transmission, scene)

    @classmethod
    def mass(cls, records, scene, volume) -> float:
        return scene.transmission.mass
