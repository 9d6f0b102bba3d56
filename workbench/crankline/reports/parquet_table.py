"""A table as Apache Parquet, where the library for it (pyarrow) is there; it is no part of what Crankline needs."""
from __future__ import annotations

from collections.abc import Sequence
from importlib.util import find_spec
from pathlib import Path
from typing import Any


def there() -> bool:
    """Whether the library is there."""
    return find_spec("pyarrow") is not None


def write(rows: Sequence[Sequence[Any]], path: Path) -> None:
    """Write rows, the first of which names the columns: a column of whole numbers, of numbers, or of texts, and nothing where a cell is
    empty or left out."""
    import pyarrow
    import pyarrow.parquet
    names, *lines = rows
    columns = {str(name): _column([line[number] if number < len(line) else None for line in lines]) for number, name in enumerate(names)}
    pyarrow.parquet.write_table(pyarrow.table(columns), str(path))


def _column(cells: Sequence[Any]) -> list[Any]:
    """Cells of one type: that of all, numbers if all are numbers, else text."""
    held = [None if cell == "" else cell for cell in cells]
    kinds = {type(cell) for cell in held if cell is not None}
    if len(kinds) < 2:
        return held
    to = float if kinds <= {int, float} else str
    return [None if cell is None else to(cell) for cell in held]
