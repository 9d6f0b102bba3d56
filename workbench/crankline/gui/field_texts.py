"""Lists and dates in one line of text, as forms show and read them."""
from __future__ import annotations

from PySide import QtCore

from .. import units
from .quantity_field import read


def words(text: str) -> tuple[str, ...]:
    """Words with commas between them."""
    return tuple(word.strip() for word in text.split(",") if word.strip())


def date(text: str) -> str:
    """A day as YYYY-MM-DD; ValueError says what is wrong."""
    if not QtCore.QDate.fromString(text, "yyyy-MM-dd").isValid():
        raise ValueError(f"{text!r} is not a date; write it as YYYY-MM-DD")
    return text


ROWS = {"holes": "hole; write its offset, height and diameter", "points": "point; write its X, Y and Z"}
"""Kinds of field that are lists of three numbers each, and what a wrong one is told."""


def rows_text(rows: tuple, system: str) -> str:
    """Rows of three lengths in mm as ``rows`` reads them."""
    return "; ".join(", ".join(units.write(value, "length", system) for value in row) for row in rows)


def rows(text: str, system: str, what: str) -> tuple:
    """Rows of three numbers with commas between them, semicolons between the rows; ValueError says what is wrong."""
    found = []
    for part in text.split(";"):
        values = [read(one.strip(), "length", system) for one in part.split(",")]
        if len(values) != 3:
            raise ValueError(f"{part.strip()!r} is not a {what} with commas between them")
        found.append(tuple(values))
    return tuple(found)
