"""Temporary files of the renderers."""
from __future__ import annotations

from pathlib import Path


def remove(path: Path) -> None:
    """Remove a file if it is there; a folder that cannot be looked into has told its own error already."""
    try:
        path.unlink(missing_ok=True)
    except OSError:
        pass
