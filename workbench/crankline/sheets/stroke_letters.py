"""Letters of single strokes, to be etched: the characters of marks, and of numbers beside them, as lines on a grid of 4 by 6, drawn for
this program.

A cutter follows a stroke once, where an outline letter would be etched twice. Only what a part may carry is here.
"""
from __future__ import annotations

from collections.abc import Iterator

Point = tuple[float, float]

HEIGHT = 6.0
"""Units of the grid from base line to top."""
ADVANCE = 6.0
"""Units from one letter to the next."""
WIDTH = 4.0

_ROUND = "01 10 30 41 45 36 16 05 01"
STROKES = {
    "A": "00 26 40, 12 32", "B": "00 06 36 45 44 33 03, 33 42 41 30 00", "C": "45 36 16 05 01 10 30 41", "D": "00 06 26 44 42 20 00",
    "E": "46 06 00 40, 03 33", "F": "46 06 00, 03 33", "G": "45 36 16 05 01 10 30 41 43 23", "H": "00 06, 40 46, 03 43",
    "I": "16 36, 26 20, 10 30", "J": "46 41 30 10 01", "K": "00 06, 46 03 40", "L": "06 00 40", "M": "00 06 23 46 40",
    "N": "00 06 40 46", "O": _ROUND, "P": "00 06 36 45 44 33 03", "Q": _ROUND + ", 22 40", "R": "00 06 36 45 44 33 03, 23 40",
    "S": "45 36 16 05 04 13 33 42 41 30 10 01", "T": "06 46, 26 20", "U": "06 01 10 30 41 46", "V": "06 20 46", "W": "06 10 24 30 46",
    "X": "00 46, 06 40", "Y": "06 23 46, 23 20", "Z": "06 46 00 40",
    "0": _ROUND + ", 01 45", "1": "15 26 20, 10 30", "2": "05 16 36 45 44 00 40", "3": "05 16 36 45 44 33 13, 33 42 41 30 10 01",
    "4": "30 36 02 42", "5": "46 06 03 33 42 41 30 10 01", "6": "45 36 16 05 01 10 30 41 42 33 03", "7": "06 46 10",
    "8": "13 33 44 45 36 16 05 04 13 02 01 10 30 41 42 33", "9": "01 10 30 41 45 36 16 05 04 13 43", "-": "13 33",
    ".": "10 20 21 11 10", " ": "",
}
"""Character to its strokes: points as two digits, x then y, strokes apart by commas."""


def width(text: str, height: float) -> float:
    """Length of a text of a height, mm."""
    return (ADVANCE * (len(text) - 1) + WIDTH) * height / HEIGHT if text else 0.0


def strokes(text: str, height: float) -> Iterator[tuple[Point, ...]]:
    """The lines of a text from the origin to the right, mm. KeyError for a character that no part carries."""
    scale = height / HEIGHT
    for place, letter in enumerate(text):
        for stroke in filter(None, STROKES[letter].split(", ")):
            yield tuple(((ADVANCE * place + int(point[0])) * scale, int(point[1]) * scale) for point in stroke.split())
