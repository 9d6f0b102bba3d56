"""Engine envelope: what the engine occupies, with its rear- and front-face patterns."""
from __future__ import annotations

from ..geometry import engine_envelope
from .base import PartFeature


class EngineEnvelope(PartFeature):
    """The engine as a body for clearances; its numbers are on the engine's data object."""
    kind = "engine"
    geometry = engine_envelope

    @classmethod
    def spec(cls, records, scene):
        return engine_envelope.spec(scene.engine, scene)

    @classmethod
    def mass(cls, records, scene, volume) -> float:
        return scene.engine.mass
