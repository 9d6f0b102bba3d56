"""Every quantity that a rule may measure; importing this package registers them."""
from . import (
    clearance,
    contact,
    containment,
    document,
    driveline,
    placement,
    plates,
    protective,
    release,
    service,
    stack,
    strength,
    travel,
    whirl,
)

__all__ = [
    "clearance",
    "contact",
    "containment",
    "document",
    "driveline",
    "placement",
    "plates",
    "protective",
    "release",
    "service",
    "stack",
    "strength",
    "travel",
    "whirl",
]
