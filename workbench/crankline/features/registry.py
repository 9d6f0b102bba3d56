"""Kind to class, for making, reading and repairing. Class paths are file format: a class never moves without an alias."""
from __future__ import annotations

from functools import cache
from importlib import import_module
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from .part_kind import PartKind

DATA = {
    "car": ("data", "CarData"),
    "engine_data": ("data", "EngineData"),
    "transmission_data": ("data", "TransmissionData"),
    "rail_tabs": ("data", "RailTabsData"),
    "mass": ("data", "MassData"),
    "protective_item": ("data", "ProtectiveItemData"),
    "chassis": ("chassis", "Chassis"),
    "layout": ("layout", "Layout"),
}
"""Kinds without a shape."""

PARTS = {
    "chassis_tube": ("chassis_tube", "ChassisTube"),
    "frame_tube": ("frame_tube", "FrameTube"),
    "engine": ("engine_envelope", "EngineEnvelope"),
    "header": ("header", "Header"),
    "protector": ("protector", "Protector"),
    "mid_plate": ("mid_plate", "MidPlate"),
    "front_plate": ("front_plate", "FrontPlate"),
    "transmission": ("transmission_envelope", "TransmissionEnvelope"),
    "plate_foot": ("plate_foot", "PlateFoot"),
    "rail_tab": ("rail_tab", "RailTab"),
    "support_tube": ("support_tube", "SupportTube"),
    "limiter_strut": ("limiter_strut", "LimiterStrut"),
    "limiter_bracket": ("limiter_bracket", "LimiterBracket"),
    "limiter_seat": ("limiter_seat", "LimiterSeat"),
    "tie_tab": ("tie_tab", "TieTab"),
    "transmission_mount": ("transmission_mount", "TransmissionMount"),
    "receiver": ("receiver", "Receiver"),
    "cross_member": ("cross_member", "CrossMember"),
    "driveshaft": ("driveshaft", "Driveshaft"),
    "shaft_envelope": ("shaft_envelope", "ShaftEnvelope"),
    "split_loop": ("split_loop", "SplitLoop"),
    "fixed_loop": ("fixed_loop", "FixedLoop"),
    "enclosure": ("enclosure", "Enclosure"),
    "enclosure_mount": ("enclosure_mount", "EnclosureMount"),
    "tunnel": ("tunnel", "Tunnel"),
    "firewall": ("firewall", "Firewall"),
    "setup_bar": ("setup_bar", "SetupBar"),
    "setup_stand": ("setup_stand", "SetupStand"),
}
"""Kinds of parts."""

CLASSES = {**DATA, **PARTS}

CONTAINER = "container"
"""Kind of the App::Parts that group a car's objects; the root is a container with the key ``root``."""


@cache
def proxy_class(kind: str) -> type[Any]:
    """The proxy class of a kind; KeyError for a kind that is not ours."""
    module, name = CLASSES[kind]
    found: type[Any] = getattr(import_module(f"crankline.features.{module}"), name)
    return found


@cache
def declared() -> dict[str, PartKind]:
    """Role to what every part is, in the order of ``PARTS``."""
    return {part.role: part for kind in PARTS for part in proxy_class(kind).declares}


def declaration(kind: str, key: str) -> PartKind:
    """What the part of a kind and key is; KeyError for a kind that is no part."""
    return _of_stem(kind, key.partition("/")[0])


@cache
def _of_stem(kind: str, stem: str) -> PartKind:
    if kind not in PARTS:
        raise KeyError(kind)
    found: PartKind = proxy_class(kind).declaration(stem)
    return found
