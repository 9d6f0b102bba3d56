"""How kinds of parts look: colour by what they are made of and do, see-through where they would hide what matters.

Blue, orange and greys, so that nothing hangs on telling red from green. The chassis is dark and thin, fabricated mounts
are blue, containment is orange, plates are pale, envelopes of bought units are grey and see-through.
"""
from __future__ import annotations

from dataclasses import dataclass

Color = tuple[float, float, float]


@dataclass(frozen=True)
class Look:
    """Colour of faces and edges (0 to 1), transparency in per cent, width of edges in pixels."""
    color: Color
    transparency: int = 0
    edge: Color = (0.13, 0.14, 0.16)
    edge_width: float = 1.0


_STEEL_TUBE = Look((0.36, 0.39, 0.44))
_MOUNT = Look((0.13, 0.39, 0.68))
_LOOP = Look((0.90, 0.52, 0.08))
_PLATE = Look((0.76, 0.81, 0.87), edge_width=1.5)
_SHAFT_STEEL, _SHAFT_COMPOSITE = Look((0.62, 0.65, 0.69)), Look((0.17, 0.18, 0.20))

LOOKS: dict[str, Look] = {
    "chassis_tube": _STEEL_TUBE,
    "engine": Look((0.60, 0.62, 0.65), 45),
    "header": Look((0.72, 0.45, 0.36), 80, edge=(0.60, 0.34, 0.26)),
    "transmission": Look((0.49, 0.53, 0.60), 45),
    "protector": Look((0.95, 0.82, 0.47), edge_width=1.5),
    "mid_plate": _PLATE,
    "front_plate": _PLATE,
    "plate_foot": _MOUNT,
    "rail_tab": _MOUNT,
    "support_tube": _MOUNT,
    "tie_tab": _MOUNT,
    "transmission_mount": _MOUNT,
    "receiver": _MOUNT,
    "cross_member": _MOUNT,
    "driveshaft": _SHAFT_STEEL,
    "shaft_envelope": Look((0.45, 0.70, 0.95), 85, edge=(0.30, 0.50, 0.75)),
    "split_loop": _LOOP,
    "fixed_loop": _LOOP,
    "enclosure_mount": _MOUNT,
    "enclosure": Look((0.97, 0.75, 0.38), 60),
    "tunnel": Look((0.70, 0.68, 0.78), 78),
    "firewall": Look((0.70, 0.68, 0.78), 70),
}
"""Kind to look; a part that is not listed is a fabricated mount."""

SKETCH = Look((0.47, 0.56, 0.66), edge=(0.47, 0.56, 0.66), edge_width=1.5)

# Middle tones: they stand out on dark and on light backgrounds.
PREVIEW_POWERTRAIN: Color = (0.97, 0.50, 0.05)
PREVIEW_SHAFT: Color = (0.20, 0.58, 1.00)
FINDING: Color = (0.93, 0.10, 0.55)
"""Marks of a finding: no part has this colour."""


def look(kind: str, material: str = "") -> Look:
    """The look of a part's kind; a driveshaft's depends on its material."""
    if kind == "driveshaft" and material:
        from ..catalog import family
        return _SHAFT_COMPOSITE if family(material) == "composite" else _SHAFT_STEEL
    return LOOKS.get(kind, _MOUNT)
