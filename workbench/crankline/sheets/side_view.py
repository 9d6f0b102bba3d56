"""The side view of the car: where engine, transmission, driveshaft and what contains it stand, and the placement dimensions.

Seen from the car's right side, front to the right, so that paper x grows with car X as in the chassis sketches. Parts
hide each other, but for what is seen through. Dimensions and tables come from the scene's numbers.
"""
from __future__ import annotations

import math
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from hashlib import blake2b
from types import MappingProxyType
from typing import Any

from .. import units
from ..features.digest import canonical
from ..features.registry import declaration
from ..features.side_item import Item
from ..record import filled
from ..reports import wording
from ..snapshot import Snapshot
from . import dimension, open_findings, sheet_format
from . import view as hiding
from .dimension import Datum
from .drawing import Arc, Circle, Line, Polyline, Primitive, Sheet, SheetError, Text, bounds, collisions, fitted, text_width, wrapped
from .part_picture import see_through
from .sheet_format import Box
from .side_items import items_of, named, placement_rows
from .view_block import FLAG, flag, flag_width

STATION_NAMES = {"block_rear": "rear face of block", "block_middle": "middle of block", "block_front": "front face of block"}

LOWER_TIERS = (21.0, 33.5)
"""Dimension lines below the track line, mm; marks stand in the strip above the first."""
ROW, HEADING, SEVERITY, MOST = 4.4, 5.2, 18.0, 10
"""Of the tables below the view: height of a line and of the heading, mm; width of the column of severities, mm, and lines of findings."""
STRIP = 9.0
"""Middle of a strip of marks from the view."""
RIGHT = 44.0
"""Room for pitch and crank height on the right of the view."""


@dataclass(frozen=True)
class View:
    """Car side-view millimeters to paper: scale 1:n, and where the rear axle's station on the track stands."""
    n: float
    x: float
    y: float

    def at(self, x: float, z: float) -> tuple[float, float]:
        """The paper point of a car point."""
        return self.x + x / self.n, self.y + z / self.n

    def item(self, item: Primitive) -> Primitive:
        """An item in car millimeters on paper."""
        if isinstance(item, Line):
            return Line(*self.at(item.x0, item.y0), *self.at(item.x1, item.y1), item.kind)
        if isinstance(item, Circle):
            return Circle(*self.at(item.x, item.y), item.radius / self.n, item.kind, item.fill)
        if isinstance(item, Arc):
            return Arc(*self.at(item.x, item.y), item.radius / self.n, item.start, item.sweep, item.kind)
        if isinstance(item, Polyline):
            return Polyline(tuple(self.at(x, y) for x, y in item.points), item.kind, item.closed, item.fill)
        return replace(item, x=self.at(item.x, item.y)[0], y=self.at(item.x, item.y)[1])


def side_view(snapshot: Snapshot, findings: Iterable = (), size: str = "A3", marks: Mapping[str, str] = MappingProxyType({})) -> Sheet:
    """The sheet ``side-view``.

    findings: those of ``checks``; the open ones are listed. marks: by key of part; what has none is numbered. size: a key of
    ``sheet_format.SIZES``. SheetError where the document holds no placement, or where something would not fit or would overlap.
    """
    if snapshot.scene is None:
        raise SheetError("side view: the document holds no placed powertrain; correct the placement and recompute")
    space = sheet_format.drawing_space(size)
    drawn, missing = _parts(snapshot)
    own = _scheme(snapshot)
    limits = [bounds(item) for item in drawn + own]
    low_x, high_x = min(b[0] for b in limits), max(b[2] for b in limits)
    low_z, high_z = min(0.0, *(b[1] for b in limits)), max(b[3] for b in limits)

    foot = _foot(snapshot, space, tuple(findings))
    floor = max(bounds(item)[3] for item in foot) + 3.0
    items = items_of(snapshot)
    listed = list(zip(named(items, marks), items))
    head, ceiling = _head(snapshot, listed, missing, space)
    below, above = LOWER_TIERS[1] + 7.0, STRIP + FLAG / 2.0 + 2.0
    room = Box(space.x0 + 4.0, floor + below, space.x1 - RIGHT, ceiling - above)
    if room.height < 20.0:
        raise SheetError(f"side view: the tables leave {max(room.height, 0.0):.0f} mm of height for the view on {size}; use a larger sheet")
    n = sheet_format.scale_for(high_x - low_x, high_z - low_z, room)
    slack_x, slack_y = room.width - (high_x - low_x) / n, room.height - (high_z - low_z) / n
    view = View(n, room.x0 + slack_x / 2.0 - low_x / n, room.y0 + slack_y / 2.0 - low_z / n)
    right, top = view.at(high_x, high_z)

    picture = [view.item(item) for item in drawn + own]
    by = filled(snapshot.car).title_block
    title = sheet_format.Title("Side view, powertrain placement", sheet_format.subject(snapshot), identification(snapshot), f"1:{n}",
                         "in [mm], deg" if snapshot.system == "in" else "mm [in], deg", by, book="side-view")
    found = [*sheet_format.border(size), *_unique(picture), *_axes(snapshot, view, right), *_dimensions(snapshot, view, right),
             *_flags(snapshot, view, listed, space, top), *_front(space, top), *foot, *head, *sheet_format.title_block(title, space)]
    width, height = sheet_format.size_of(size)
    sheet = Sheet("side-view", "Side view, powertrain placement", width, height, tuple(found), by.issued or "")
    if trouble := collisions(sheet):
        more = f" (and {len(trouble) - 1} more)" if len(trouble) > 1 else ""
        raise SheetError(f"side view: {trouble[0]}{more}; use a sheet larger than {size}")
    return sheet


def identification(snapshot: Snapshot) -> str:
    """Eight hexadecimal digits that change with the car's data or with the shape of a part, and are equal on every host: two
    prints that carry the same ones show the same car, whoever drew them."""
    if not _identified or _identified[0][0] is not snapshot:
        absent: Any = None
        text = canonical(replace(snapshot.car, title_block=absent)) + repr(sorted((part.key, part.digest) for part in snapshot.parts))
        _identified[:] = [(snapshot, blake2b(text.encode(), digest_size=4).hexdigest().upper())]
    return _identified[0][1]


_identified: list[tuple[Snapshot, str]] = []
"""The snapshot that was asked for last, and what it was: every page asks."""


# -------------------------------------------------------------------------------------------------------- the picture

def _parts(snapshot: Snapshot) -> tuple[list[Primitive], list[str]]:
    """Visible edges of every part in car millimeters, what others hide left out, and the keys of those that could not be drawn."""
    lines = {part.key: declaration(part.kind, part.key).side_view.line for part in snapshot.parts}
    whole = [part for part in sorted(snapshot.parts, key=lambda p: p.key) if part.shape is not None and not part.shape.isNull()]
    found: list[Primitive] = []
    missing = sorted(lines.keys() - {part.key for part in whole})
    # What only stands for room that is kept hides nothing and is hidden by nothing.
    for group in ([part for part in whole if not part.reference], *([part] for part in whole if part.reference)):
        seen = hiding.of(group, hiding.SIDE, see_through=see_through)
        found += seen.items(lambda key: lines[key], hidden=False)
        missing += seen.missing
    return found, missing


def _scheme(snapshot: Snapshot) -> list[Primitive]:
    """What is drawn from numbers, car millimeters: rear tire on its loaded radius, front axle's station."""
    scene, wheelbase = snapshot.placed, snapshot.car.car.wheelbase
    radius = scene.chassis.rear_tire.loaded_radius
    mark = 60.0
    return [Circle(0.0, radius, radius, "phantom"),
            Line(-mark, radius, mark, radius, "centre"), Line(0.0, radius - mark, 0.0, radius + mark, "centre"),
            Line(wheelbase, 0.0, wheelbase, radius + mark, "centre")]


def _unique(items: list[Primitive]) -> list[Primitive]:
    """The items without those that lie on another one: left and right tubes fall together in side view."""
    seen, found = set(), []
    for item in items:
        # A line is the same line from its other end.
        values = (sorted([(round(item.x0, 3), round(item.y0, 3)), (round(item.x1, 3), round(item.y1, 3))]) if isinstance(item, Line)
                  else [round(v, 3) for v in bounds(item)])
        mark = (type(item).__name__, getattr(item, "kind", ""), *map(str, values))
        if mark not in seen:
            seen.add(mark)
            found.append(item)
    return found


def _axes(snapshot: Snapshot, view: View, right: float) -> list[Primitive]:
    """Track line, centerlines of crank, shaft and pinion, and the joints."""
    scene = snapshot.placed
    left = view.x - scene.chassis.rear_tire.loaded_radius / view.n
    front, rear = (view.at(p[0], p[2]) for p in (scene.front_joint, scene.rear_joint))
    ux, uz = _side_direction(scene.engine_frame.axis)
    px, pz = _side_direction(scene.pinion_axis)
    ahead = (right + 3.0 - front[0]) / ux
    back = max(8.0, scene.rear_joint[0] / view.n)       # the pinion's centerline runs back to the axle
    found: list[Primitive] = [
        Line(left - 4.0, view.y, right + RIGHT - 6.0, view.y, "border"),
        Line(front[0] - 6.0 * ux, front[1] - 6.0 * uz, front[0] + ahead * ux, front[1] + ahead * uz, "centre"),
        Line(*rear, *front, "centre"),
        Line(rear[0] - back * px, rear[1] - back * pz, rear[0] + 8.0 * px, rear[1] + 8.0 * pz, "centre")]
    # The track surface: ground strokes under the line at both ends.
    for i in range(5):
        x = left - 4.0 + 2.2 * i
        found.append(Line(x + 1.6, view.y, x, view.y - 1.6, "thin"))
    return found + [Circle(*joint, 1.3, "visible", "white") for joint in (front, rear)]


def _side_direction(axis) -> tuple[float, float]:
    size = math.hypot(axis[0], axis[2])
    return float(axis[0] / size), float(axis[2] / size)


def _dimensions(snapshot: Snapshot, view: View, right: float) -> list[Primitive]:
    """Axle-to-block and wheelbase below, pitch and crank height on the right."""
    scene, system = snapshot.placed, snapshot.system
    place, block = scene.placement, scene.block
    radius = scene.chassis.rear_tire.loaded_radius
    axle = Datum("rear axle centerline", *view.at(0.0, radius))
    base = scene.engine_point(0.0, 0.0, -scene.engine.base_drop)
    rear_face = Datum("rear face of block at its base", *view.at(base[0], base[2]))
    tier = [view.y - drop for drop in LOWER_TIERS]
    found = dimension.horizontal(axle, rear_face, tier[0], f"AXLE TO BLOCK  {dimension.both_units(place.axle_to_block, system)}")
    found.append(Text((axle.x + rear_face.x) / 2.0, tier[0] - 3.6,
                      "rear axle centerline to rear face of block, at the base of the block", 2.5, "middle"))
    found.append(Circle(rear_face.x, rear_face.y, 0.7, "thin", "black"))
    wheelbase = snapshot.car.car.wheelbase
    found += dimension.horizontal(axle, Datum("front axle", *view.at(wheelbase, 0.0)), tier[1],
                                  f"WHEELBASE  {dimension.both_units(wheelbase, system)}")

    along = {"block_rear": 0.0, "block_middle": 0.5, "block_front": 1.0}[place.height_at] * float(block.length)
    point = scene.engine_point(along)
    crank = Datum("crank centerline at " + STATION_NAMES[place.height_at], *view.at(point[0], point[2]))
    ux, uz = _side_direction(scene.engine_frame.axis)
    arc = right + 6.0
    x = right + 30.0
    # The level line that both dimensions start from: through the crank centerline at the stated station.
    found.append(Circle(crank.x, crank.y, 0.7, "thin", "black"))
    found.append(Line(crank.x, crank.y, x + dimension.OVERRUN, crank.y, "dimension"))
    found += dimension.angle(crank, 0.0, math.atan2(uz, ux), arc - crank.x, "")[:-1]
    found += [Text(arc + 1.5, crank.y + 8.4, "PITCH", 2.5), Text(arc + 1.5, crank.y + 3.2, dimension.angle_text(scene.pitch), 3.5)]
    found.append(Text(arc + 1.5, crank.y - 7.2, "rear up" if scene.pitch >= 0.0 else "rear down", 2.5))
    height = dimension.vertical(Datum("track", crank.x, view.y), crank, x, dimension.both_units(place.crank_height, system))
    # Its extension lines are the track line and the level line.
    found += [item for item in height if not (isinstance(item, Line) and item.y0 == item.y1)]
    start = next(item for item in height if isinstance(item, Text)).box[1]
    found += [Text(x + 4.0, start, "CRANK HEIGHT", 2.5, "left", True),
              Text(x + 8.0, start, "at " + STATION_NAMES[place.height_at], 2.5, "left", True)]
    return found


def _flags(snapshot: Snapshot, view: View, listed: Sequence[tuple[str, Item]], space: Box, top: float) -> list[Primitive]:
    """Marks and numbers of items above and below the view, each near what it points at."""
    scene = snapshot.placed
    base = scene.engine_point(0.0, 0.0, -scene.engine.base_drop)
    lines = [view.at(x, 0.0)[0] for x in (0.0, float(base[0]), snapshot.car.car.wheelbase)]
    found: list[Primitive] = []
    for low, y in ((True, view.y - STRIP), (False, top + STRIP)):
        own = [(name, item) for name, item in listed if item.low == low]
        targets = [view.at(item.x, item.z) for _, item in own]
        taken = [(x - 0.8, x + 0.8) for x in lines] if low else []
        widths = [flag_width(name) for name, _ in own]
        places = sheet_format.spread([x for x, _ in targets], widths, space.x0 + 2.0, space.x1 - 2.0, taken, 1.2)
        for (name, item), target, x, width in zip(own, targets, places, widths):
            found += flag(name, x, y, width, target, item.inside)
    return found


def _front(space: Box, top: float) -> list[Primitive]:
    """The arrow that tells the front of the car."""
    x, y = space.x1 - 30.0, top - 4.0
    return [Text(x - 1.5, y - 1.75, "FRONT", 3.5, "right"), Line(x, y, x + 14.0, y, "visible"),
            Polyline(((x + 18.0, y), (x + 12.0, y + 1.6), (x + 12.0, y - 1.6)), "visible", True, "black")]


# --------------------------------------------------------------------------------------------------------- the tables

def _foot(snapshot: Snapshot, space: Box, findings: tuple) -> list[Primitive]:
    """Below the view: open findings, placement and driveline above them on the left, cautions over the title block."""
    right = space.x1 - sheet_format.TITLE_WIDTH
    left, width = space.x0 + 3.0, right - space.x0 - 7.0
    found = sheet_format.cautions(right, space.y0 + sheet_format.TITLE_HEIGHT + 2.0, sheet_format.TITLE_WIDTH - 2.0)
    rows = _open(snapshot, findings, width - SEVERITY)
    top = space.y0 + 3.0 + ROW * len(rows) + HEADING
    found += sheet_format.table(left, top, (SEVERITY, width - SEVERITY), "Open findings", (), rows, row=ROW)[0]
    told = placement_rows(snapshot)
    columns = tuple(max(text_width(row[i], sheet_format.LETTER) for row in told) + 2.4 for i in range(3))
    beside = 2 if 2.0 * sum(columns) + 3.0 <= width else 1
    each = -(-len(told) // beside)
    top += 2.0 + ROW * each + HEADING
    for place in range(beside):
        heading = "" if place else "Placement and driveline, static ride height"
        found += sheet_format.table(left + place * (sum(columns) + 3.0), top - (HEADING if place else 0.0), columns, heading, (),
                                    told[place * each:(place + 1) * each], row=ROW, right=(1, 2))[0]
    return found


def _open(snapshot: Snapshot, findings: tuple, width: float) -> list[tuple[str, str]]:
    """Lines of the list of open findings, whole where there is room for that; width: of their texts, mm."""
    rows = open_findings.rows(findings, lambda one: _finding_text(one, snapshot.system))
    if not findings:
        rows = [("", "This sheet was drawn without checks.")]
    elif not rows:
        rows = [("", "None open.")]
    whole = [(severity if first else "", line) for severity, text in rows
             for first, line in zip((True, *[False] * 99), wrapped(text, sheet_format.LETTER, width - 2.0))]
    if len(whole) <= MOST:
        return whole
    if len(rows) > MOST:    # a line each, cut to the column
        rows = [*rows[:MOST - 1], ("", f"and {len(rows) - MOST + 1} more; see report.json")]
    return rows


def _finding_text(finding, system: str) -> str:
    """A finding in one line: title, what it concerns, measured, limit."""
    measured = wording.measured(finding.measured, finding.comparison, finding.limit, finding.unit, system)
    return open_findings.title(finding) + (f": {measured}" if measured else "")


def _head(snapshot: Snapshot, listed: Sequence[tuple[str, Item]], missing: list[str], space: Box) -> tuple[list[Primitive], float]:
    """Above the view: the item list in columns, and the remarks; items and the lower edge of it all."""
    system = snapshot.system
    rows = [[name, item.name, _station(item.x_text, system), _station(item.z_text, system), item.note] for name, item in listed]
    columns = 3 if space.width > 380.0 else 2
    per = -(-len(rows) // columns)
    tables = [rows[start:start + per] for start in range(0, len(rows), per)]
    room = space.width - 6.0 - 3.0 * (len(tables) - 1)
    if sum(sum(_widths(some)) for some in tables) > room:
        # What departs from the shop's table is in the car file; here the name is enough where there is no room for more.
        for row in rows:
            row[4] = row[4].partition(", with ")[0]
    spare = (room - sum(sum(_widths(some)) for some in tables)) / len(tables)
    if spare < 0.0:
        raise SheetError("side view: the list of items is wider than the sheet; use a larger sheet")
    found: list[Primitive] = []
    lowest, x = space.y1, space.x0 + 3.0
    heading = "Items: X forward of the rear axle centerline, Z above the track, in " + ("inches" if system == "in" else "mm")
    found.append(Text(x, space.y1 - 5.2, heading, 2.8, bold=True))
    for some in tables:
        *widths, last = _widths(some)
        table, low = sheet_format.table(x, space.y1 - 7.0, (*widths, last + spare), "", HEAD, [tuple(row) for row in some], row=4.2,
                                        right=(2, 3))
        found += table
        lowest, x = min(lowest, low), x + sum(widths) + last + spare + 3.0
    remarks = ["Seen from the right side of the car. What is behind another part is left out."]
    if missing:
        remarks.append("NOT DRAWN: " + ", ".join(missing) + ".")
    if snapshot.unsound:
        remarks.append(f"The document had problems when this was drawn ({len(snapshot.unsound)} remarks in report.json).")
    found.append(Text(space.x0 + 3.0, lowest - 4.2, fitted(" ".join(remarks), 2.5, space.width - 60.0), 2.5))
    return found, lowest - 7.0


HEAD = ("Mark", "Item", "X", "Z", "Size")


def _widths(rows: Sequence[Sequence[str]]) -> tuple[float, ...]:
    """Of the columns of the list of items, so wide that nothing is cut, mm."""
    return tuple(max(10.0 if i < 2 else 14.0, *(text_width(row[i], sheet_format.LETTER) + 2.4 for row in rows)) for i in range(len(HEAD)))


def _station(value: float | None, system: str) -> str:
    if value is None:
        return ""
    return units.inches(value).removesuffix(" in") if system == "in" else f"{value:.1f}"
