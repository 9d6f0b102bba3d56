"""A window as a table of all its placements and as JSON; a point and its figures in the units that people read."""
from __future__ import annotations

import json
import math
from collections.abc import Mapping
from typing import Any

import numpy as np

from .. import units
from .cells import State, length_of
from .figures import BY_NAME, Figure
from .point import Point
from .region import LIMIT
from .window import Window

SCHEMA = 1
"""Of the JSON. Keys may be added to it; one that changes is a new schema."""


def read_as(figure: Figure, system: str | None) -> tuple[str, float]:
    """Unit in which a figure is read in a car of inches or of millimeters, and its size inside."""
    if figure.kind == "length":
        return ("mm", 1.0) if system == "mm" else ("in", units.INCH)
    if figure.kind in ("angle", "turning"):
        unit = {"angle": "deg", "turning": "rpm"}[figure.kind]
        return unit, units.of(1.0, figure.kind, unit)
    return ("%", 0.01) if figure.kind == "share" else ("%" if figure.kind == "percent" else figure.kind, 1.0)


def figure_text(figure: Figure, value: float, system: str | None, sign: bool = False) -> str:
    """A figure as people read it, with its unit; ``-`` where there is none."""
    if not math.isfinite(value):
        return "-"
    unit, size = read_as(figure, system)
    digits = {"in": 3, "mm": 1, "deg": 2, "rpm": 0, "g": 2, "%": 1}[unit]
    number = round(value / size, digits) + 0.0
    return f"{number:{'+' if sign else ''}.{digits}f}{'' if unit == '%' else ' '}{unit}"


# --- CSV --------------------------------------------------------------------------------------------------------------


def csv_text(window: Window) -> str:
    """Every placement, a line each, in the units of the car: where, whether it is allowed, rules that are open and that could not be told,
    figures, and the margin of every rule that was read (positive holds). RFC 4180."""
    system = window.judge.car.car.units
    unit, size = length_of(window.judge.car)
    shape, cells = window.shape, window.cells
    x, z = (np.broadcast_to(part, shape).ravel() / size for part in (window.x[:, None, None], window.z[None, :, None]))
    columns: dict[str, list[str]] = {f"axle_to_block_{unit}": _numbers(x), f"crank_height_{unit}": _numbers(z)}
    pitch = np.broadcast_to(cells.pitch, cells.solved.shape)
    columns["pitch_deg"] = _numbers(np.degrees(pitch))
    columns["allowed"] = [str(int(value)) for value in window.allowed.ravel()]
    if window.nowhere:
        columns["allowed_but_for_rules_met_nowhere"] = [str(int(value)) for value in window.inside.ravel()]
    for name, state in (("open", State.OPEN), ("not_evaluated", State.NOT_EVALUATED)):
        columns[name] = _ids(window, cells.states == state)
    for name, values in cells.figures.items():
        if name == "pitch":
            continue    # it is one of the three numbers
        unit, size = read_as(BY_NAME[name], system)
        columns[f"{name}_{'percent' if unit == '%' else unit}"] = _numbers(values / size)
    for row, claim in enumerate(window.claims):
        columns[f"{claim.rule.id} margin{' ' if claim.unit else ''}{claim.unit}"] = _numbers(claim.shown(cells.margins[row]))
    return "\r\n".join([",".join(columns), *map(",".join, zip(*columns.values())), ""])


def _numbers(values: np.ndarray) -> list[str]:
    return ["" if value != value else f"{value:.6g}" for value in np.asarray(values, dtype=float).tolist()]


def _ids(window: Window, where: np.ndarray) -> list[str]:
    """Ids of the claimed rules of which something is so, for each placement; few combinations are told many times."""
    names = [claim.rule.id for claim in window.claims]
    if not names:
        return [""] * where.shape[1]
    packed, which = np.unique(np.packbits(where, axis=0), axis=1, return_inverse=True)
    bits = np.unpackbits(packed, axis=0, count=len(names)).T.astype(bool)
    texts = [" ".join(name for name, so in zip(names, some) if so) for some in bits]
    return [texts[i] for i in which.ravel().tolist()]


# --- JSON -------------------------------------------------------------------------------------------------------------


def data(window: Window, points: Mapping[str, Point | None], weights: Mapping[str, float], borders: bool = False,
         records: int = 0) -> dict[str, Any]:
    """The window without its cells: axes, rules, region, edges and points; mm and rad, margins in the unit that is named beside them."""
    from . import plots
    states = window.cells.states
    rules = [{"id": claim.rule.id, "title": claim.rule.title, "severity": str(claim.rule.severity), "unit": claim.unit,
              "closes": row in window.counting, "met_nowhere": row in window.nowhere,
              "share_open": _share(states[row] == State.OPEN), "share_not_evaluated": _share(states[row] == State.NOT_EVALUATED)}
             for row, claim in enumerate(window.claims)]
    modes = isinstance(window.pitches, str)
    layers = []
    for k in range(window.shape[2]):
        i, j = np.nonzero(window.inside[:, :, k])
        reach = None if not i.size else {"axle_to_block_mm": [float(window.x[i.min()]), float(window.x[i.max()])],
                                         "crank_height_mm": [float(window.z[j.min()]), float(window.z[j.max()])]}
        layers.append({"pitch": window.pitches if modes else float(window.pitches[k]),
                       "allowed_share": float(window.allowed[:, :, k].mean()), "inside_share": float(window.inside[:, :, k].mean()),
                       "reach": reach,
                       "edges": [{"side": edge.side, "rule": edge.rule if edge.rule != LIMIT else None, "share": edge.share,
                                  "first_mm": edge.first, "last_mm": edge.last} for edge in window.edges(k)],
                       "drawn": [window.claims[row].rule.id for row in plots.binding(window, k)],
                       **({"border": [{"side": one.side, "axle_to_block_mm": one.x, "crank_height_mm": one.z, "rules": list(one.rules)}
                                      for one in window.borders(k)]} if borders else {})})
    return {"crankline_window": SCHEMA, "car": window.car.car.name,
            "axle_to_block_mm": [float(value) for value in window.x], "crank_height_mm": [float(value) for value in window.z],
            "height_at": window.judge.car.placement.height_at, "pitches": window.pitches if modes else [*map(float, window.pitches)],
            "level": window.level, "ignored": sorted(window.ignored), "rules": rules,
            "not_looked_at": [{"id": rule, "why": why} for rule, why in window.unclaimed], "layers": layers, "weights": dict(weights),
            "records": records, "points": {name: None if point is None else point_data(point) for name, point in points.items()}}


def point_data(point: Point) -> dict[str, Any]:
    """A point for JSON."""
    return {"axle_to_block_mm": point.x, "crank_height_mm": point.z, "pitch": point.pitch, "pitch_rad": _plain(point.angle),
            "figures": {name: {"value": _plain(value), "unit": _inside(BY_NAME[name])} for name, value in point.figures.items()},
            "rules": [{"id": one.claim.rule.id, "state": one.state.name.lower(), "margin": one.margin, "unit": one.claim.unit}
                      for one in point.verdicts]}


def _inside(figure: Figure) -> str:
    return {"length": "mm", "angle": "rad", "turning": "rad/s"}.get(figure.kind, figure.kind)


def _share(where: np.ndarray) -> float:
    return float(where.mean()) if where.size else 0.0


def _plain(value: float) -> float | None:
    return float(value) if math.isfinite(value) else None


def json_text(found: dict[str, Any]) -> str:
    """As text, the same for the same window."""
    return json.dumps(found, indent=1, allow_nan=False) + "\n"
