"""Split loop: two halves pinned together around the driveshaft, standing on floor tubes."""
from __future__ import annotations

from ..geometry import split_loop
from .loop import Loop


class SplitLoop(Loop):
    """A loop that opens at mid height."""
    kind = "split_loop"
    geometry = split_loop
