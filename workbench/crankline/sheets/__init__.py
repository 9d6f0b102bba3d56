"""Drawings and flat patterns. ``page``, ``layout`` and ``dimension`` are pure; the rest needs the host, Qt or ezdxf.

``write_side_view``, ``write_flats``, ``write_tubes`` and ``write_contents`` make the files that ``build`` writes beside the document.
"""
from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from pathlib import Path
from typing import TYPE_CHECKING

from ..units import read_in
from .drawing import Sheet, SheetError

if TYPE_CHECKING:
    from ..geometry.piece import Piece
    from ..measure.measurer import Measurer
    from ..measure.part_marks import Marked
    from ..snapshot import Snapshot

__all__ = ["Sheet", "SheetError", "write_contents", "write_flats", "write_set_up", "write_shaft_order", "write_side_view", "write_tubes"]


def write_side_view(snapshot: Snapshot, folder: str | Path, findings: Iterable = (), size: str = "A3") -> Path:
    """Write ``side-view.pdf``; its path. SheetError, one sentence, where it cannot be drawn or Qt is absent."""
    from . import qt, side_view
    with read_in(snapshot.system):
        return qt.render(_fitting(side_view.side_view, snapshot, tuple(findings), size), Path(folder) / "side-view.pdf")


def write_shaft_order(snapshot: Snapshot, folder: str | Path) -> Path:
    """Write ``driveshaft-order.pdf``; its path. Errors as of ``write_side_view``, and where the car has no driveshaft yet."""
    from . import qt, shaft_order
    with read_in(snapshot.system):
        return qt.render(shaft_order.sheet(snapshot), Path(folder) / "driveshaft-order.pdf")


def write_set_up(snapshot: Snapshot, folder: str | Path) -> Path:
    """Write ``set-up.pdf``; its path. Errors as of ``write_side_view``."""
    from . import qt, set_up
    with read_in(snapshot.system):
        return qt.render_book(set_up.sheets(snapshot), Path(folder) / "set-up.pdf")


def write_flats(snapshot: Snapshot, pieces: Mapping[str, Sequence[Piece]], folder: str | Path,
                measurer: Measurer | None = None) -> list[Path]:
    """Write ``flat/<mark>.dxf`` for every piece that is cut from sheet, and their list; the paths.

    pieces: part key to what it is made from; measurer: what a check has measured with, if anything. A file stands only once it was
    verified. SheetError, one sentence, where ezdxf is absent or a file does not hold what it should; what was written before stays.
    """
    from . import flat_patterns
    with read_in(snapshot.system):
        files = flat_patterns.cut_files(snapshot, _marked(snapshot, measurer), pieces)
        return flat_patterns.write(files, Path(folder) / "flat", snapshot.system)


def write_tubes(snapshot: Snapshot, pieces: Mapping[str, Sequence[Piece]], folder: str | Path,
                measurer: Measurer | None = None) -> list[Path]:
    """Write ``tubes.csv`` and, where an end is coped, ``cope-templates.pdf``; the paths. Arguments and errors as of ``write_flats``."""
    from . import cope_templates, qt, tube_list
    with read_in(snapshot.system):
        rows = tube_list.sawn(snapshot, _marked(snapshot, measurer), pieces)
        book = cope_templates.book(snapshot, rows)
        paths = [tube_list.write(rows, folder)]
        return [*paths, qt.render_book(book, Path(folder) / "cope-templates.pdf")] if book else paths


def write_contents(snapshot: Snapshot, pieces: Mapping[str, Sequence[Piece]], folder: str | Path,
                   measurer: Measurer | None = None) -> list[Path]:
    """Write ``kit.csv`` and ``kit-contents.pdf``; the paths. Arguments and errors as of ``write_flats``."""
    from . import kit_contents, qt
    with read_in(snapshot.system):
        rows = kit_contents.rows(snapshot, _marked(snapshot, measurer), pieces)
        pages = kit_contents.book(snapshot, rows)
        paths = [kit_contents.write(rows, folder)]
        return [*paths, qt.render_book(pages, Path(folder) / "kit-contents.pdf")] if pages else paths


def _marked(snapshot: Snapshot, measurer: Measurer | None) -> tuple[Marked, ...]:
    """The marks of a car's parts, by what a check has measured or afresh."""
    from ..measure import part_marks
    from ..measure.host_measurer import HostMeasurer
    if measurer is None:
        measurer = HostMeasurer()
        measurer.sees(snapshot)
    return part_marks.of(snapshot, measurer)


def _fitting(draw, snapshot: Snapshot, findings: tuple, size: str) -> Sheet:
    """The sheet in the size asked for, or in the next larger one on which nothing overlaps."""
    larger = ("A3", "A2", "A1") if size == "A3" else (size,)
    for name in larger:
        try:
            return draw(snapshot, findings, size=name)
        except SheetError as error:
            refusal = error
    raise refusal
