"""Solids put together from their faces, edges and corners, in the host's own text of a shape: where all curves are known in closed form,
that takes a tenth of the time of a boolean, which would have to find them.

A solid is written from the corners up. What a method returns names the piece to those that follow; a piece with a minus runs the other way.
Lengths mm. Format: BRep, version 1, of Open CASCADE's ``BRepTools``.
"""
from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from functools import cache
from typing import TypeAlias

import numpy as np

from ..host import Part

TOLERANCE = 1e-7
"""Least tolerance of corners and edges, mm: numerical, the host's own."""
EXACT, CLOSE = 1e-6, 2e-7
"""mm by which a spline may be off the curve that it stands for; nearer than the second no more spans are tried (numerical)."""
DEGREE, JOINED = 7, 3
"""Of the splines: degree, and how often each inner knot counts (numerical)."""
SPANS = (12, 16, 24, 32)
"""Spans between knots, as few as will do: whoever walks along a spline takes so many points in each (numerical)."""

Numbers: TypeAlias = Iterable[float]
Named: TypeAlias = int
"""A piece that was written, from 1 on; negative: run the other way."""


def _text(*values: Numbers | float) -> str:
    return " ".join([" ".join(map(repr, np.ravel(value).tolist())) for value in values])


class Solid:
    """What has been written of one solid so far."""

    def __init__(self) -> None:
        self._flat_curves: list[str] = []
        self._curves: list[str] = []
        self._surfaces: list[str] = []
        self._pieces: list[tuple[str, Sequence[Named]]] = []

    @staticmethod
    def _add(to: list[str], text: str) -> int:
        to.append(text)
        return len(to)

    # ------------------------------------------------------------------------------------------ geometry

    def line(self, start: Numbers, along: Numbers) -> int:
        """A line in space from a point along a unit vector."""
        return self._add(self._curves, f"1 {_text(start, along)}")

    def circle(self, center: Numbers, axes: np.ndarray, radius: float) -> int:
        """A circle about the third of three unit vectors (rows), counted from the first to the second."""
        return self._add(self._curves, f"2 {_text(center, axes[2], axes[0], axes[1], radius)}")

    def spline(self, poles: np.ndarray) -> int:
        """A curve in space (n, 3) as ``fitted`` gives it."""
        return self._add(self._curves, _spline(poles))

    def flat_line(self, start: Numbers, along: Numbers) -> int:
        """A line in the parameters of a surface."""
        return self._add(self._flat_curves, f"1 {_text(start, along)}")

    def flat_spline(self, poles: np.ndarray) -> int:
        """A curve in the parameters of a surface (n, 2) as ``fitted`` gives it."""
        return self._add(self._flat_curves, _spline(poles))

    def plane(self, point: Numbers, axes: np.ndarray) -> int:
        """A plane square to the third of three unit vectors (rows)."""
        return self._add(self._surfaces, f"1 {_text(point, axes[2], axes[0], axes[1])}")

    def cylinder(self, point: Numbers, axes: np.ndarray, radius: float) -> int:
        """A cylinder about the third of three unit vectors (rows), its first parameter the turn from the first to the second, its second
        the way along the third."""
        return self._add(self._surfaces, f"2 {_text(point, axes[2], axes[0], axes[1], radius)}")

    # ------------------------------------------------------------------------------------------ pieces

    def _piece(self, kind: str, said: str, flags: str, of: Sequence[Named]) -> Named:
        self._pieces.append((f"{kind}\n{said}\n{flags}\n", of))
        return len(self._pieces)

    def corner(self, point: Numbers, tolerance: float = TOLERANCE) -> Named:
        """A corner."""
        return self._piece("Ve", f"{tolerance!r}\n{_text(point)}\n0 0\n", "0101101", ())

    def edge(self, curve: int, first: float, last: float, ends: tuple[Named, Named], on: Sequence[tuple[int, ...]],
             tolerance: float = TOLERANCE) -> Named:
        """An edge along a curve between two of its parameters and two corners. on: its (surface, curve in the parameters of the surface);
        three of them for a seam: the second curve is that of the edge run the other way. A plane needs none."""
        said = [f" {tolerance!r} 1 1 0", f"1  {curve} 0 {_text(first, last)}"]
        for surface, *flat in on:
            said.append(f"2  {flat[0]} {surface} 0 {_text(first, last)}" if len(flat) == 1
                        else f"3  {flat[0]} {flat[1]}CN {surface} 0 {_text(first, last)}")
        return self._piece("Ed", "\n".join([*said, "0\n"]), "0101000", (ends[0], -ends[1]))

    def face(self, surface: int, *wires: Sequence[Named]) -> Named:
        """The face within the wires, each its edges in order: the first one runs counterclockwise about the surface's normal."""
        names = [self._piece("Wi", "", "0101100", wire) for wire in wires]
        return self._piece("Fa", f"0 {TOLERANCE!r} {surface} 0\n", "0101000", names)

    def made(self, faces: Sequence[Named]) -> Part.Solid:
        """The solid within the faces, each with its normal outward."""
        self._piece("So", "", "0100000", (self._piece("Sh", "", "0101100", faces),))
        count = len(self._pieces)       # In the text pieces are counted from the last one back.
        pieces = "\n".join(said + "".join(f"{'+' if one > 0 else '-'}{count + 1 - abs(one)} 0 " for one in of) + "*"
                           for said, of in self._pieces)
        sections: tuple[tuple[str, list[str]], ...] = (("Locations", []), ("Curve2ds", self._flat_curves), ("Curves", self._curves),
                                                       ("Polygon3D", []), ("PolygonOnTriangulations", []), ("Surfaces", self._surfaces),
                                                       ("Triangulations", []))
        head = "\n".join("\n".join([f"{name} {len(rows)}", *rows]) for name, rows in sections)
        shape = Part.Shape()
        shape.importBrepFromString(f"CASCADE Topology V1, (c) Matra-Datavision\n{head}\n\nTShapes {count}\n{pieces}\n\n+1 0 \n")
        return shape.Solids[0]


# ---------------------------------------------------------------------------------------------------------- splines

Fitted: TypeAlias = tuple[np.ndarray, np.ndarray, float]
"""Values along a curve, poles of the splines through them, and their tolerance, mm."""


def fitted(curve: Callable[[np.ndarray], np.ndarray], sizes: Sequence[float]) -> Fitted | None:
    """(values (m, k), poles (n, k), tolerance) of the splines through a curve, a function of parameters (m,) to values (m, k), from 0 to 1;
    None where they are off by more than ``EXACT``. Values: from its first to its last. sizes: how many mm one of each value is."""
    for spans in SPANS:
        at, middle, inverse, weights = _stations(spans)
        values = curve(at)
        poles = inverse @ values
        error = float(np.abs((weights @ poles - curve(middle)) * sizes).max())
        if error <= CLOSE:
            break
    return (values, poles, max(TOLERANCE, 2.0 * error)) if error <= EXACT else None


@cache
def _stations(spans: int) -> tuple[np.ndarray, np.ndarray, np.ndarray, np.ndarray]:
    """Parameters (n,) at which a curve is asked (Greville's abscissae), those halfway between them, what each value there weighs in each
    pole, and each pole in each value halfway."""
    row = _knots(spans)
    at = np.array([row[i + 1:i + DEGREE + 1].mean() for i in range(len(row) - DEGREE - 1)])
    middle = (at[1:] + at[:-1]) / 2.0
    return at, middle, np.linalg.inv(_weights(row, at)), _weights(row, middle)


def _knots(spans: int) -> np.ndarray:
    """Knots from 0 to 1, each as often as it counts."""
    return np.concatenate([np.zeros(DEGREE + 1), np.repeat(np.arange(1, spans) / spans, JOINED), np.ones(DEGREE + 1)])


def _weights(row: np.ndarray, at: np.ndarray) -> np.ndarray:
    """What each pole of splines with these knots weighs at parameters, (m, n), by de Boor's recursion."""
    last = np.flatnonzero(np.diff(row) > 0.0)[-1]
    span = np.minimum(np.searchsorted(row, at, side="right") - 1, last)
    found = (np.arange(len(row) - 1) == span[:, None]).astype(float)
    for degree in range(1, DEGREE + 1):
        count = len(row) - 1 - degree
        below, above = row[degree:degree + count] - row[:count], row[degree + 1:degree + 1 + count] - row[1:count + 1]
        rise = np.where(below > 0.0, (at[:, None] - row[:count]) / np.where(below > 0.0, below, 1.0), 0.0)
        fall = np.where(above > 0.0, (row[degree + 1:degree + 1 + count] - at[:, None]) / np.where(above > 0.0, above, 1.0), 0.0)
        found = rise * found[:, :count] + fall * found[:, 1:count + 1]
    return found


def _spline(poles: np.ndarray) -> str:
    spans = (len(poles) - DEGREE - 1) // JOINED + 1
    distinct = [(0.0, DEGREE + 1), *((i / spans, JOINED) for i in range(1, spans)), (1.0, DEGREE + 1)]
    row = " ".join(f"{knot!r} {count}" for knot, count in distinct)
    return f"7 0 0  {DEGREE} {len(poles)} {len(distinct)}  {_text(poles.ravel().tolist())}\n {row}"
