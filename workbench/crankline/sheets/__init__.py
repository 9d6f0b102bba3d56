"""Drawings, cut files and lists. ``drawing``, ``sheet_format`` and ``dimension`` are pure; the rest needs the host, Qt or ezdxf.

A book is the pages of one product, laid out on one size of sheet; ``write_book`` makes its files.
"""
from __future__ import annotations

from collections.abc import Callable, Sequence
from pathlib import Path
from typing import TYPE_CHECKING

from ..units import read_in
from .drawing import Sheet, SheetError

if TYPE_CHECKING:
    from ..snapshot import Snapshot

__all__ = ["Sheet", "SheetError", "sizes_for", "write_book"]

def sizes_for(snapshot: Snapshot, asked: str = "", drawing: bool = False) -> tuple[str, ...]:
    """Sizes on which a book of a car is tried, in order: from the one that is asked for, else the car's own, else what is usual in the
    car's unit, to the largest of its series. drawing: it shows the car to scale and needs a larger sheet than what is read in the hand."""
    from ..record import filled
    from . import sheet_format
    own = filled(snapshot.car).title_block.sheet_size
    return sheet_format.sizes_from(asked or own or sheet_format.USUAL[snapshot.system][drawing])


def write_book(system: str, folder: str | Path, stem: str, draw: Callable[[str], Sequence[Sheet]], sizes: Sequence[str],
               form: str = "pdf") -> list[Path]:
    """Write a book on the first of these sizes on which it can be laid out; the paths, none of a book without pages.

    system: units of lengths that its reader reads, ``in`` or ``mm``; draw: the pages on a size; SheetError from it is the next size's
    turn. SheetError, one sentence, where none will do, or Qt is absent. """
    from . import qt
    with read_in(system):
        for size in sizes:
            try:
                pages = draw(size)
                break
            except SheetError as error:
                refusal = error
        else:
            raise refusal
        return qt.render_pages(pages, folder, stem, form) if pages else []
