"""Drawings and flat patterns. ``page``, ``layout`` and ``dimension`` are pure; the rest needs the host, Qt or ezdxf.

``write_side_view`` and ``write_flats`` make the files that ``build`` writes beside the document.
"""
from __future__ import annotations

from collections.abc import Iterable, Mapping
from pathlib import Path
from typing import TYPE_CHECKING

from ..units import read_in
from .drawing import Sheet, SheetError

if TYPE_CHECKING:
    from ..geometry.outline import Flat
    from ..snapshot import Snapshot

__all__ = ["Sheet", "SheetError", "write_flats", "write_side_view"]


def write_side_view(snapshot: Snapshot, folder: str | Path, findings: Iterable = (), size: str = "A3") -> Path:
    """Write ``side-view.pdf``; its path. SheetError, one sentence, where it cannot be drawn or Qt is absent."""
    from . import qt, side_view
    with read_in(snapshot.system):
        return qt.render(_fitting(side_view.side_view, snapshot, tuple(findings), size), Path(folder) / "side-view.pdf")


def write_flats(snapshot: Snapshot, flats: Mapping[str, Flat], folder: str | Path) -> list[Path]:
    """Write ``flat/<key>.dxf`` for every part that is cut; the paths.

    flats: part key to its flat pattern (bought parts among them are left out). A file stands only once it was verified. SheetError, one
    sentence, where ezdxf is absent or a file does not hold what it should; what was written before stays.
    """
    from . import flat_patterns
    with read_in(snapshot.system):
        return flat_patterns.write(flat_patterns.cut(snapshot, flats), Path(folder) / "flat")


def _fitting(draw, snapshot: Snapshot, findings: tuple, size: str) -> Sheet:
    """The sheet in the size asked for, or in the next larger one on which nothing overlaps."""
    larger = ("A3", "A2", "A1") if size == "A3" else (size,)
    for name in larger:
        try:
            return draw(snapshot, findings, size=name)
        except SheetError as error:
            refusal = error
    raise refusal
