"""Why here: one page on where the powertrain is and why, for the customer and for the file: the placement window around it with what binds
on each edge, balance, what an inch forward or up does, and the nearest cars of the shop's own records.
"""
from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np

from .. import placement_window, records, units
from ..checks import RuleError
from ..mechanics import balance, car_balance, components
from ..mechanics.scene import Scene, SceneError
from ..placement_window import Point, State, Window, region, tables, words
from ..placement_window.figures import BY_NAME
from ..record import filled
from ..records import suggestion
from ..snapshot import Snapshot
from ..source import SourceError
from . import sheet_format, window_block
from .drawing import Primitive, Sheet, SheetError, Text, collisions, wrapped
from .sheet_format import Box, Title, table
from .side_view import identification

STEM = "why-here"
LETTER, LINE, STEP, GAP = 2.5, 5.0, 4.0, 5.0
STEPS = 61
"""Placements each way in the window that is drawn: 0.1 in along, 0.05 in up and down, over what a window reaches by itself."""
FIGURES = ("residual_static", "residual_launch", "front_joint_launch", "rear_joint_launch", "shaft_length", "critical_speed", "plunge_in",
           "plunge_out", "front_share", "cg_height", "wheelstand_margin", "anti_squat", "oil_pan_to_track", "transmission_pan_to_track",
           "firewall_room", "rail_tab_room", "cross_member_room")
NEAREST = 4
"""Records that are named."""
FIRST_ORDER = "First order, about this placement; pitch held as the car has it."
ASSUMED = "Rigid car, level, rear driven; tire friction {0:g} assumed. Screening figures, no promise of how the car leaves."


def sheets(snapshot: Snapshot, collection: records.Collection, size: str = "B") -> tuple[Sheet, ...]:
    """The page, of a car that was measured about the placement as designed, whichever is shown. collection: placement records; invented
    ones never come onto it. SheetError where it cannot be laid out, or the car stands
    nowhere."""
    # Window, figures and balance of one placement: the one that is chosen, not where the powertrain came to be.
    car, scene = filled(snapshot.car), snapshot.placed.designed or snapshot.placed
    try:
        x, z = (np.linspace(own - span, own + span, STEPS) for own, span in (
            (car.placement.axle_to_block, placement_window.SPAN_X), (car.placement.crank_height, placement_window.SPAN_Z)))
        window = placement_window.grid(snapshot.car, x, z)
        point = placement_window.at(window.judge, car.placement.axle_to_block, car.placement.crank_height)
    except (SceneError, RuleError, SourceError, placement_window.WindowError) as error:
        raise SheetError(f"the sheet why here was not drawn: {error}") from None
    space = sheet_format.drawing_space(size)
    room = Box(space.x0 + 3.0, space.y0 + sheet_format.TITLE_HEIGHT + 3.0, space.x1 - 3.0, space.y1 - 2.0)
    title = Title("Why here", sheet_format.subject(snapshot, designed=True), identification(snapshot), "none",
                  "in, deg" if units.reading() == "in" else "mm, deg", car.title_block, "Placement sheet", 1, 1, book=STEM)
    wide = (room.width - 2.0 * GAP) / 3.0
    own = collection.own()
    columns = [[_head(point), *window_block.pieces(window, point, _dots(own, window), wide), _reach(window)],
               [_inches(point)], [_balance(snapshot, scene), _same_split(snapshot, scene), _records(snapshot, scene, own), _rest(window)]]
    items: list[Primitive] = [*sheet_format.border(size), *sheet_format.foot(title, space)]
    for number, column in enumerate(columns):
        x0, top = room.x0 + number * (wide + GAP), room.y1
        for piece in column:
            drawn, top = piece(x0, top, wide)
            items += drawn
            top -= GAP
        if top + GAP < room.y0:
            raise SheetError(f"the sheet why here does not fit on a sheet {size}; choose a larger one")
    width, height = sheet_format.size_of(size)
    page = Sheet(STEM, title.title, width, height, tuple(items), title.by.issued or "")
    if trouble := collisions(page):
        raise SheetError(f"on the sheet why here {trouble[0]}; choose a larger size")
    return (page,)


# --- pieces: what is drawn from an upper left corner within a width, and its lower edge --------------------------------


def _text(lines: Sequence[str], x: float, top: float, width: float) -> tuple[list[Primitive], float]:
    shown = [line for text in lines for line in wrapped(text, LETTER, width)]
    return [Text(x, top - STEP * (n + 1) + 1.0, line, LETTER) for n, line in enumerate(shown)], top - STEP * len(shown)


def _head(point: Point) -> window_block.Piece:
    measured = point.judge.car.placement.as_built is not None
    lines = [f"Where the engine is{' designed to be' if measured else ''}: {words.where(point)}.",
             *(["The car was measured: its as-built sheet tells where the engine is; all here is as designed."] if measured else []),
             "Of the rules that numbers decide, " + ("none is open here." if not point.open() else "these are open here: " + "; ".join(
                 f"{one.claim.rule.title} ({one.claim.rule.severity})" for one in point.open()) + ".")]
    unknown = [one.claim.rule.title for one in point.verdicts if one.state == State.NOT_EVALUATED]
    lines += [f"Not evaluated: {', '.join(unknown)}."] if unknown else []
    return lambda x, top, width: _text(lines, x, top, width)


def _reach(window: Window) -> window_block.Piece:
    """What binds on each edge of the region."""
    titles = {claim.rule.id: claim.rule.title for claim in window.claims}
    rows = [(words.EDGES[edge.side].split()[0], titles[edge.rule] if edge.rule != region.LIMIT else "end of what was looked at",
             f"{edge.share:.0%}") for edge in window.edges(0)]
    nowhere = [f"{titles[window.claims[row].rule.id]}: {window.why_nowhere(row)}, so that the border is drawn without it."
               for row in window.nowhere]

    def draw(x: float, top: float, width: float) -> tuple[list[Primitive], float]:
        drawn, low = table(x, top, (0.11 * width, 0.77 * width, 0.12 * width), "What closes it beyond each edge",
                           ("Edge", "Rule", "Share"), rows or [("", "no placement around here is allowed", "")], row=LINE,
                           letter=LETTER, right=(2,))
        more, low = _text(nowhere, x, low - 1.0, width) if nowhere else ([], low)
        return [*drawn, *more], low
    return draw


def _inches(point: Point) -> window_block.Piece:
    """Figures here, and what one inch (25 mm) forward or up does to each."""
    system, slopes = point.judge.car.car.units, point.slopes()
    step, name = (25.0, "25 mm") if system == "mm" else (units.INCH, "1 in")
    rows = []
    for key in FIGURES:
        if key in point.figures and math.isfinite(point.figures[key]):
            figure = BY_NAME[key]
            rows.append((figure.label, tables.figure_text(figure, point.figures[key], system),
                         *(_change(figure, step * slope, system) for slope in slopes[key])))

    def draw(x: float, top: float, width: float) -> tuple[list[Primitive], float]:
        drawn, low = table(x, top, (0.46 * width, 0.18 * width, 0.18 * width, 0.18 * width), "What a move does",
                           ("Figure", "Here", f"{name} forward", f"{name} up"), rows, row=LINE, letter=LETTER, right=(1, 2, 3))
        note, low = _text([FIRST_ORDER], x, low - 1.0, width)
        near = [f"{one.claim.rule.title}: {words.left(one)}" for one in point.nearest(4)]
        told, low = _text(["Rules that a move would open first, with what is left:", *near], x, low - 3.0, width) if near else ([], low)
        return [*drawn, *note, *told], low
    return draw


def _change(figure, value: float, system: str | None) -> str:
    told = tables.figure_text(figure, value, system, sign=True)
    return "0" if not any(digit in told for digit in "123456789") else told


def _balance(snapshot: Snapshot, scene: Scene) -> window_block.Piece:
    """Mass, split, launch."""
    car = filled(snapshot.car)
    if not car.masses:
        return lambda x, top, width: _text(["Balance: no list of masses is given, so split and launch are not known."], x, top, width)
    found = car_balance.of(car, scene)
    unit, size = ("kg", 1.0) if car.car.units == "mm" else ("lb", units.of(1.0, "mass", "lb"))
    front, rear = balance.split(found.cg[0], found.wheelbase)
    rows = [("Mass with driver, from the " + found.source, f"{found.mass / size:.0f} {unit}"),
            ("Front / rear, standing", f"{front:.1%} / {rear:.1%}"),
            ("Center of gravity ahead of the axle", units.sized(float(found.cg[0]), 2)),
            ("Center of gravity above the track", units.sized(float(found.cg[2]), 2)),
            ("Launch by torque and tires", f"{float(found.launch):.2f} g"),
            ("Front wheels lift at", f"{float(found.wheelstand):.2f} g"),
            ("Load that goes back at launch", f"{float(found.transfer) / balance.STANDARD_GRAVITY * 1000.0 / size:.0f} {unit}")]
    if car.car.front_track is not None and car.car.rear_track is not None:
        loads = found.corners(car.car.front_track, car.car.rear_track) * 1000.0 / balance.STANDARD_GRAVITY / size
        rows += [(f"{name}, without wedge", f"{load:.0f} {unit}") for name, load in zip(
            ("Left front", "Right front", "Left rear", "Right rear"), loads)]

    def draw(x: float, top: float, width: float) -> tuple[list[Primitive], float]:
        drawn, low = table(x, top, (0.66 * width, 0.34 * width), "Balance", (), rows, row=LINE, letter=LETTER, right=(1,))
        note, low = _text([ASSUMED.format(found.friction)], x, low - 1.0, width)
        return [*drawn, *note], low
    return draw


def _same_split(snapshot: Snapshot, scene: Scene) -> window_block.Piece:
    """What changes the split as an inch of powertrain does."""
    car = filled(snapshot.car)
    step, name = (25.0, "25 mm") if car.car.units == "mm" else (units.INCH, "1 in")
    unit, size = ("kg", 1.0) if car.car.units == "mm" else ("lb", units.of(1.0, "mass", "lb"))
    rows = []
    for one in car_balance.equal_moves(car, scene, step) if car.masses else ():
        told = "" if one.move is None else f"{units.sized(float(one.move), 1)} forward"
        told = told if one.added is None else f"{float(one.added) / size:+.0f} {unit}"
        rows.append((one.name, told))
    share = ""
    if rows:
        moved = car_balance.powertrain_mass(components.of(car, scene))
        mass, _cg = components.whole(car, scene)
        share = f" ({float(balance.shift(moved, step, mass, car.car.wheelbase)):+.2%} on the front wheels)"

    def draw(x: float, top: float, width: float) -> tuple[list[Primitive], float]:
        if not rows:
            return [], top + GAP
        return table(x, top, (0.66 * width, 0.34 * width), f"Same split as the engine {name} forward{share}", (), rows, row=LINE,
                     letter=LETTER, right=(1,))
    return draw


def _dots(own: records.Collection, window: Window) -> list[tuple[float, float]]:
    return [(one.x, one.z) for one in placement_window.dots(own, window)]


def _records(snapshot: Snapshot, scene: Scene, own: records.Collection) -> window_block.Piece:
    """The nearest of the shop's own records."""
    if not own.entries:
        return lambda x, top, width: _text(["Nearest cars: no placement records of the shop's own were given."], x, top, width)
    rows = []
    for near in suggestion.nearest(records.of_car(snapshot.car, scene), own, NEAREST):
        record = near.entry.record
        ran = ", ".join(filter(None, (f"{record.sixty_foot:.2f} s" if record.sixty_foot else "", record.left or "")))
        rows.append((str(record.car), units.sized(record.axle_to_block, 2), units.sized(record.crank_height, 2), ran))
    return lambda x, top, width: table(x, top, (0.40 * width, 0.19 * width, 0.19 * width, 0.22 * width), "Nearest of the shop's own cars",
                                       ("Car", "Axle-to-block", "Crank height", "60 ft"), rows, row=LINE, letter=LETTER, right=(1, 2))


def _rest(window: Window) -> window_block.Piece:
    text = (f"The window looks at {len(window.claims)} rules that numbers decide. {len(window.unclaimed)} others, such as clearances and "
            "the strength of mounts, are known only for the car as it is made: see its findings.")
    return lambda x, top, width: _text([text], x, top, width)
