"""Colors in the window that belong to no part: parts declare theirs (``features.part_kind``)."""
from __future__ import annotations

from ..features.part_kind import Color, Look

SKETCH = Look((0.47, 0.56, 0.66), edge=(0.47, 0.56, 0.66), edge_width=1.5)

# Middle tones: they stand out on dark and on light backgrounds.
PREVIEW_POWERTRAIN: Color = (0.97, 0.50, 0.05)
PREVIEW_SHAFT: Color = (0.20, 0.58, 1.00)
FINDING: Color = (0.93, 0.10, 0.55)
"""Marks of a finding: no part has this color."""
