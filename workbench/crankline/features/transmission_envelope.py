"""Transmission envelope: bell, case, pan and tail up to the output seal."""
from __future__ import annotations

from ..geometry import transmission_envelope
from .base import PartFeature


class TransmissionEnvelope(PartFeature):
    """The transmission as a body for clearances; its numbers are on the transmission's data object."""
    kind = "transmission"
    geometry = transmission_envelope

    @classmethod
    def spec(cls, records, scene):
        return transmission_envelope.spec(scene.transmission, scene)

    @classmethod
    def mass(cls, records, scene, volume) -> float:
        return scene.transmission.mass
