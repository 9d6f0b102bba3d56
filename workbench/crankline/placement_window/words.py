"""What a run prints of a window: region, what binds on each edge, points."""
from __future__ import annotations

from collections.abc import Iterator, Mapping

import numpy as np

from .cells import State, length_of
from .figures import BY_NAME
from .point import Point, Verdict
from .region import LIMIT, SIDES
from .tables import figure_text
from .window import Window

EDGES = {"rear": "rear edge", "front": "front edge", "low": "low edge", "high": "high edge"}
SHOWN = ("residual_static", "residual_launch", "shaft_length", "plunge_in", "plunge_out", "front_share", "wheelstand_margin",
         "oil_pan_to_track", "transmission_pan_to_track", "firewall_room", "rail_tab_room", "cross_member_room")
"""Figures that are printed of a point."""
NOWHERE = "there is no such placement: the front joint would not be ahead of the rear one, or the pitch has no solution"


def lines(window: Window, points: Mapping[str, Point | None], weights: Mapping[str, float]) -> Iterator[str]:
    """The window in words, a line each."""
    if window.car.placement.shown == "as_built":
        yield "the car is shown as built; this is of the car as designed, and nothing here says what passes where the powertrain is"
    titles = {claim.rule.id: claim.rule.title for claim in window.claims}
    count, rules = window.allowed.size, len(window.claims)
    yield (f"{window.car.car.name}: {count:,} placement{'s' * (count != 1)}. {rules} rule{'s are' if rules != 1 else ' is'} read at each; "
           f"{len(window.unclaimed)} are not looked at here, such as what is measured on shapes: window.json names them")
    yield (f"a placement is closed by an open {window.level}" + (" or worse" if window.level != "error" else "")
           + (f"; left out: {', '.join(sorted(window.ignored))}" if window.ignored else ""))
    for row in window.nowhere:
        rule = window.claims[row].rule
        yield f"{window.why_nowhere(row)} in this window, so what follows is allowed but for it: {rule.id} {rule.title}"
    for layer in range(window.shape[2]):
        yield f"pitch {window.layer_name(layer)}: {window.reach(layer)}"
        edges = window.edges(layer)
        for side in SIDES:
            binding = [edge for edge in edges if edge.side == side]
            if binding:
                yield f"  {EDGES[side]}: " + ", ".join(
                    f"{f'{edge.rule} {titles[edge.rule]}' if edge.rule != LIMIT else 'the window ends here'} ({edge.share:.0%})"
                    for edge in binding)
    if not window.inside.any():
        yield from _closing(window)
    for name, point in points.items():
        by = f" by the weights {', '.join(f'{key} {value:g}' for key, value in weights.items())}" if name == "best" else ""
        if point is None:
            yield f"{name}{by}: none"
            continue
        yield f"{name}{by}: {where(point)}"
        yield from (f"  {line}" for line in of_point(point, window.level))


def _closing(window: Window) -> Iterator[str]:
    """What closes most, where nothing is allowed."""
    shares = sorted(((float((window.cells.states[row] == State.OPEN).mean()), window.claims[row].rule.id) for row in window.counting),
                    key=lambda item: (-item[0], item[1]))
    if not window.solved.any():
        yield NOWHERE
        return
    yield "closed most by " + ", ".join(f"{rule} ({share:.0%})" for share, rule in shares[:3] if share > 0.0)


def where(point: Point) -> str:
    """A placement in words."""
    unit, size = length_of(point.judge.car)
    digits = 1 if unit == "mm" else 3
    mode = f" ({point.pitch.replace('_', ' ')})" if isinstance(point.pitch, str) else ""
    return (f"axle-to-block {point.x / size:.{digits}f} {unit}, crank height {point.z / size:.{digits}f} {unit}, pitch "
            f"{np.degrees(point.angle):.2f} deg{mode}")


def of_point(point: Point, level: str) -> Iterator[str]:
    """What a placement is like, a line each."""
    if not point.solved:
        yield NOWHERE
        return
    system = point.judge.car.car.units
    figures = [name for name in SHOWN if name in point.figures]
    for start in range(0, len(figures), 4):
        yield "; ".join(f"{BY_NAME[name].label} {figure_text(BY_NAME[name], point.figures[name], system)}"
                        for name in figures[start:start + 4])
    for name in ("rail_tab_room", "cross_member_room"):
        if point.figures.get(name, 0.0) < 0.0:
            yield f"does not fit as the chassis is: {BY_NAME[name].label.lower()} {figure_text(BY_NAME[name], point.figures[name], system)}"
    opened = point.open()
    yield "open: " + (", ".join(f"{one.claim.rule.severity} {margin(one)}" for one in opened) if opened else "none of what is read here")
    if unknown := [one.claim.rule.id for one in point.verdicts if one.state == State.NOT_EVALUATED]:
        yield f"not evaluated: {', '.join(unknown)}"
    if near := point.nearest():
        yield "a move would open first: " + ", ".join(margin(one) for one in near)


def margin(verdict: Verdict) -> str:
    """A rule with its margin."""
    return verdict.claim.rule.id if verdict.margin is None else f"{verdict.claim.rule.id} ({left(verdict)})"


def left(verdict: Verdict) -> str:
    """A margin with its unit, positive: by so much it holds."""
    unit = verdict.claim.unit
    digits = {"in": 3, "mm": 1, "deg": 2, "rpm": 0}.get(unit, 3)
    return f"{verdict.margin:+.{digits}f}{' ' if unit else ''}{unit}"
