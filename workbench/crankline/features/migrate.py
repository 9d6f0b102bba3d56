"""Bringing documents of older schemas up to date, one step at a time.

A step is a function of (object) that turns schema n of a kind into n + 1: it renames properties, rewrites expressions that
named them, and never gives an old property a new meaning. A sample document of every schema stands in tests/documents.
"""
from __future__ import annotations

from collections.abc import Callable


def _absent(*names: str) -> Callable:
    """The step of a kind that gained properties: none of them was given, so each is at its default."""
    def step(obj) -> None:
        obj.Unset = [*obj.Unset, *names]
    return step


def _nothing(obj) -> None:
    """The step of a kind that gained a link or a list, which an older document leaves empty."""


SOLID = ("SolidFile", "SolidMeshUnit", *(f"Solid{point}{axis}" for point in ("Origin", "Forward", "Left") for axis in "XYZ"), "SolidDigest")
WEIGHED = ("ScalesFrontLeftKg", "ScalesFrontRightKg", "ScalesRearLeftKg", "ScalesRearRightKg", "ScalesFrontRaised", "ScalesRearGainKg")
AS_BUILT = ("AxleToBlock", "CrankHeight", "Pitch", "Lateral", "Roll", "Yaw", "RearJointX", "RearJointY", "RearJointZ", "PinionPitch",
            "Measured")

STEPS: dict[tuple[str, int], Callable] = {
    ("driveshaft", 1): _absent("JointSeries", "RatedTorqueNm", "RatedSpeedRpm", "RatingDate"),
    ("enclosure", 1): _absent("MountThickness", "MountWidth"),
    ("layout", 1): _absent(*(f"AsBuilt{name}" for name in AS_BUILT), "Shown"),
    ("car", 1): _nothing,
    ("car", 2): _absent("Shop", "DrawnBy", "ApprovedBy", "Issued", "Revision", "DrawingNumber"),
    ("car", 3): _absent("SheetSize"),
    ("car", 4): _absent("FrontTrack", "RearTrack", *WEIGHED),
    ("mass", 1): _absent("Role"),
    ("mid_plate", 1): _absent("DowelPilot"),
    ("chassis", 1): _absent("RearEndSuspensionWheelRateNewtonMm"),
    ("split_loop", 1): _nothing,
    ("fixed_loop", 1): _nothing,
    ("tunnel", 1): _nothing,
    ("transmission_data", 1): _absent("MountPadBolt", "MountPadBoltSpacing", "BellBoltsLength", "BellBoltsFlange"),
    ("engine_data", 1): _absent("ShopSource", "ShopDate"),
    ("transmission_data", 2): _absent("ShopSource", "ShopDate"),
    ("engine_data", 2): _absent(*SOLID),
    ("transmission_data", 3): _absent(*SOLID),
}
"""(kind, schema that the step starts from) to the step."""


class SchemaError(ValueError):
    """A document that is newer than this program. One sentence."""


def upgrade(obj, proxy) -> None:
    """Run every step between the object's schema and the program's; an object of a newer schema is left alone."""
    version = int(getattr(obj, "SchemaVersion", proxy.schema) or proxy.schema)
    if version > proxy.schema:
        import FreeCAD as App
        App.Console.PrintError(f"{obj.Label}: it was written by a newer Crankline (schema {version}, this one knows "
                               f"{proxy.schema}); update Crankline before you save this document\n")
        return
    while version < proxy.schema:
        step = STEPS.get((proxy.kind, version))
        if step is None:
            raise SchemaError(f"{obj.Label}: no way leads from schema {version} to {version + 1}; open the document with "
                              "the crankline that wrote it and export the car file")
        step(obj)
        version += 1
        obj.SchemaVersion = version
