"""Colors in the window that belong to no part: parts declare theirs (``features.part_kind``)."""
from __future__ import annotations

from .. import preferences
from ..features.part_kind import Color, Look

SKETCH = Look((0.47, 0.56, 0.66), edge=(0.47, 0.56, 0.66), edge_width=1.5)


def preview_powertrain() -> Color:
    """Preview of the powertrain and of parts that are edited."""
    return preferences.color("ColorPowertrain")


def preview_shaft() -> Color:
    """Preview of the driveshaft and its joints."""
    return preferences.color("ColorShaft")


def finding() -> Color:
    """Marks of a finding: no part has this color, unless the user chose one."""
    return preferences.color("ColorFinding")
