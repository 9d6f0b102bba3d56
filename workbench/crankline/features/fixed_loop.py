"""Fixed loop: welded between the rear cross member and the upper fore-aft members, closed through them."""
from __future__ import annotations

from ..geometry import fixed_loop
from .loop import Loop


class FixedLoop(Loop):
    """A loop that is welded in."""
    kind = "fixed_loop"
    geometry = fixed_loop
    welded = True
