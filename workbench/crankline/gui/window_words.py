"""What the placement window says beside its chart, as a page: the chosen placement with what binds there, figures, and what the records
say. Neither the host nor Qt is needed.
"""
from __future__ import annotations

import math
from collections.abc import Iterator
from html import escape
from typing import Any

import numpy as np

from .. import model, placement_window, records, units
from ..mechanics.scene import Scene
from ..placement_window import Point, State
from ..placement_window.figures import BY_NAME
from ..placement_window.region import LIMIT
from ..records import INVENTED, wording
from .readout import value_text

SHOWN = ("front_share", "cg_height", "wheelstand_margin", "anti_squat", "critical_speed", "plunge_in", "firewall_room", "rail_tab_room",
         "cross_member_room")
"""Figures that the read-out of the panel does not have."""
SIDES = {"rear": "rearward", "front": "forward", "low": "down", "high": "up"}


def grid(car: model.Car, asked: Any, size: tuple[int, int]) -> placement_window.Window:
    """The window that is asked for (``window_panel.Asked``), of so many placements along and up. ValueError with one sentence."""
    along, up = size
    return placement_window.grid(car, np.linspace(asked.axle_to_block_from, asked.axle_to_block_to, along),
                                 np.linspace(asked.crank_height_from, asked.crank_height_to, up), level=str(asked.closed_by))


def dots(collection: records.Collection) -> list[tuple[float, float, str]]:
    """The records as dots of the chart: mm, and what they are called in its legend."""
    return [(one.record.axle_to_block, one.record.crank_height, f"record, {INVENTED}" if one.record.invented else "record")
            for one in collection.entries if one.record.crank_height is not None]


def suggested(car: model.Car, scene: Scene, collection: records.Collection) -> list[str]:
    """What the records say of a car, and what of them could not be read; INVENTED beside every number of an invented one."""
    system = "mm" if car.car.units == "mm" else "in"
    lines = wording.suggestion(records.suggest(records.of_car(car, scene), collection, 3), system)
    return lines + [str(problem) for problem in collection.problems]


def page(window: placement_window.Window, point: Point, said: list[str]) -> str:
    """HTML. said: what the records say."""
    system = "mm" if window.car.car.units == "mm" else "in"
    blocks = [*_verdict(window, point), _table([(BY_NAME[name].label, figure_text(name, point.figures[name], system)) for name in SHOWN
                                                if math.isfinite(point.figures.get(name, math.nan))]),
              "<b>Allowed here</b>", escape(window.reach().capitalize()), *_edges(window),
              f"{len(window.unclaimed)} other rules are known only where the placement is built and checked: press OK, then Check Car",
              "<b>Placement records</b>", "<br>".join(escape(line).replace(INVENTED, f"<b>{INVENTED}</b>") for line in said)]
    return "".join(f"<p>{block}</p>" for block in blocks if block)


def figure_text(name: str, value: float, system: str) -> str:
    """A figure for people, in the car's unit."""
    kind = BY_NAME[name].kind
    if kind in ("length", "angle"):
        return value_text(value, kind, system)
    if kind == "turning":
        return f"{units.to(value, 'turning', 'rpm'):,.0f} rpm"
    return {"share": f"{100.0 * value:.1f} %", "percent": f"{value:.0f} %", "g": f"{value:.2f} g"}[kind]


def _verdict(window: placement_window.Window, point: Point) -> Iterator[str]:
    """Whether the rules that are read here hold, which are open, and which are nearest to it."""
    if not point.solved:
        yield "<b>✗ There is no such placement</b>"
        return
    opened = point.open()
    asked = {window.claims[row].rule.id for row in window.asked}
    closed = [one for one in opened if one.claim.rule.id in asked]
    more = [one for one in opened if one not in closed]
    untold = any(one.state == State.NOT_EVALUATED and one.claim.rule.id in asked for one in point.verdicts)
    yield ("<b>✗ Closed by:</b>" if closed else "<b>? Not known: a rule that counts here was not evaluated</b>" if untold else
           "<b>✓ Allowed by every rule that counts here</b>")
    yield "<br>".join(map(_rule, closed))
    if more:
        yield "Open too, but closing nothing: " + "; ".join(map(_rule, more))
    nearest = point.nearest()
    if nearest:
        yield "Nearest limits: " + "; ".join(_rule(one) for one in nearest)
    if unknown := [one.claim.rule.title for one in point.verdicts if one.state == State.NOT_EVALUATED]:
        yield escape(f"? Not evaluated: {'; '.join(unknown)}")


def _rule(one: Any) -> str:
    margin = "" if one.margin is None else f", margin {one.margin:.3g} {one.claim.unit}".rstrip()
    return escape(f"{one.claim.rule.title} ({one.claim.rule.severity}{margin})")


def _edges(window: placement_window.Window) -> Iterator[str]:
    """The rule that binds on most of each edge."""
    titles = {claim.rule.id: f"{claim.rule.title} ({claim.rule.id})" for claim in window.claims}
    told: dict[str, str] = {}
    for edge in window.edges():
        told.setdefault(edge.side, "the chart ends" if edge.rule == LIMIT else titles[edge.rule])
    if told:
        yield escape("; ".join(f"{SIDES[side]}: {rule}" for side, rule in told.items()))


def _table(rows: list[tuple[str, str]]) -> str:
    return "<table>" + "".join(f"<tr><td>{escape(label)}&nbsp;&nbsp;</td><td>{escape(text)}</td></tr>" for label, text in rows) + "</table>"
