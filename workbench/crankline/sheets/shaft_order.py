"""The driveshaft order: what its maker has to know to build and balance it, and what he writes back."""
from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from .. import units
from ..record import filled
from ..reports import numbers
from ..rules.quantity import NotEvaluated
from ..snapshot import Snapshot
from ..units import sized
from . import dimension, sheet_format
from .dimension import Datum
from .drawing import Circle, Line, Polyline, Primitive, Sheet, SheetError, Text, collisions, wrapped
from .sheet_format import Title, table
from .side_view import identification

LETTER, LINE, STEP = 2.5, 5.2, 4.2
BLANKS = ("Serial number", "Balanced to (grade or oz·in, speed)", "Rated torque", "Rated speed", "Length as built", "Date, signature")
"""What the maker fills in."""
HOW = ("Length is from center to center of the joints with the car at static ride height; slip exposed is what is seen of the yoke there, "
       "between seal and joint. Yokes in phase unless an angle is given. Torque is in first gear at launch, on the shaft; with shock it is "
       "what its parts are chosen by.")


def sheet(snapshot: Snapshot, size: str = "A4") -> Sheet:
    """The page. SheetError where the car has no driveshaft yet, or its travel is not known."""
    car = filled(snapshot.car)
    if car.driveshaft is None:
        raise SheetError("the driveshaft order was not drawn: the car has no driveshaft yet; add one")
    try:
        told = numbers.driveshaft_order(car, snapshot.placed)
    except NotEvaluated as reason:
        raise SheetError(f"the driveshaft order was not drawn: {reason}") from None
    space = sheet_format.drawing_space(size)
    title = Title("Driveshaft order", sheet_format.subject(snapshot), identification(snapshot), "none",
                  "in" if units.reading() == "in" else "mm",
                  car.title_block, "Order", 1, 1, book="driveshaft-order")
    top = space.y1 - 2.0
    items: list[Primitive] = [*sheet_format.border(size), *sheet_format.foot(title, space)]
    text = wrapped(HOW, LETTER, space.width - 8.0)
    items += [Text(space.x0 + 3.0, top - STEP * (i + 1), line, LETTER) for i, line in enumerate(text)]
    top -= STEP * len(text) + 3.0
    half = (space.width - 8.0) / 2.0
    left, low = table(space.x0 + 2.0, top, (0.56 * half, 0.44 * half), "Driveshaft", (), _rows(told), row=LINE, letter=LETTER)
    right, below = table(space.x0 + 6.0 + half, top, (0.30 * half, 0.175 * half, 0.175 * half, 0.175 * half, 0.175 * half),
                         "Slip over the travel", ("At", "Axle", "Plunge", "Exposed", "Engaged"), _extremes(told), row=LINE, letter=LETTER,
                         right=(1, 2, 3, 4))
    blanks, last = table(space.x0 + 6.0 + half, below - 4.0, (0.56 * half, 0.44 * half), "From the maker", (),
                         [(name, "") for name in BLANKS], row=LINE + 1.0, letter=LETTER)
    drawn = _sketch(told, space.x0 + 6.0 + half, last - 4.0, half)
    if min(low, last - 4.0 - SKETCH) < space.y0 + sheet_format.TITLE_HEIGHT + 2.0:
        raise SheetError(f"the driveshaft order does not fit on a sheet {size}; choose a larger one")
    width, height = sheet_format.size_of(size)
    page = Sheet("driveshaft-order", title.title, width, height, (*items, *left, *right, *blanks, *drawn), title.by.issued or "")
    if trouble := collisions(page):
        raise SheetError(f"on the sheet of the driveshaft order {trouble[0]}; choose a larger size")
    return page


SKETCH, TALL = 46.0, 5.0
"""Height of the sketch and half that of the shaft's tube in it, mm."""


def _sketch(told: Mapping[str, Any], x: float, top: float, width: float) -> list[Primitive]:
    """Between which points the lengths are measured: rear joint on the left, slip yoke and the transmission's seal on the right."""
    y = top - 22.0
    rear, front, seal = x + 12.0, x + width - 66.0, x + width - 16.0
    barrel = seal - 12.0

    def box(x0: float, x1: float, half: float, kind: str = "visible") -> Polyline:
        return Polyline(((x0, y - half), (x1, y - half), (x1, y + half), (x0, y + half)), kind, True)

    found: list[Primitive] = [Text(x, top - 3.4, "Where it is measured, not to scale", 2.8, bold=True),
                              box(rear + 9.0, front - 9.0, TALL), box(barrel, seal, 3.0), box(seal, x + width - 2.0, 8.0, "phantom"),
                              Line(rear - 8.0, y, x + width - 1.0, y, "centre")]
    for joint, ends in ((rear, (-7.0, 9.0)), (front, (-9.0, barrel - front))):
        found.append(Circle(joint, y, 1.6, "visible", "white"))
        # The arms of both yokes, from what they are on to the cross.
        found += [Line(joint + end, y + side * 3.0, joint + (1.6 if end > 0.0 else -1.6), y + side * 1.6, "visible")
                  for end in ends for side in (1.0, -1.0)]
    joints, slip = told["joint_distance_mm"], told["slip"]
    found += dimension.horizontal(Datum("rear joint", rear, y), Datum("front joint", front, y), y - 14.0,
                                  f"joint to joint {sized(joints)}", LETTER)
    found += dimension.horizontal(Datum("front joint", front, y), Datum("seal", seal, y), y + 14.0,
                                  f"seal to joint {sized(slip['seal_to_joint_mm'])}", LETTER)
    found += dimension.horizontal(Datum("end of slip yoke", barrel, y - 3.0), Datum("seal", seal, y - 8.0), y - 14.0, "", LETTER)
    return [*found, Text(x + width - 1.0, y - 20.0, f"exposed {sized(slip['exposed_mm'])}", LETTER, "right"),
            Text(x + width - 2.0, y + 9.4, "seal", LETTER, "right")]


def _rows(told: Mapping[str, Any]) -> list[tuple[str, str]]:
    """What is ordered, a line each."""
    slip, tube, joints, torque, rating = (told[name] for name in ("slip", "tube", "joints", "torque_nm", "maker_rating"))
    series = joints["series"] or "confirm with the maker"
    governed = f" (by {joints['series_governed_by']})" if joints["series_governed_by"] else ""
    return [("Joint to joint, center to center", sized(told["joint_distance_mm"])),
            ("Tube material", tube["material"]),
            ("Tube outside diameter × wall", f"{sized(tube['outer_diameter_mm'])} × {sized(tube['wall_mm'])}"),
            ("Joint series", f"{series}{governed}"),
            ("Series carries, confirm with its maker", units.torque_text(1000.0 * joints["series_torque_nm"])
             if joints["series_torque_nm"] is not None else "not known"),
            ("Swing diameter at most", sized(joints["swing_diameter_mm"])),
            ("Yokes", "in phase" if abs(joints["phase_deg"]) < 0.05 else f"turned {joints['phase_deg']:.1f}°"),
            ("Slip spline diameter", sized(slip["spline_diameter_mm"])),
            ("Slip exposed at ride height", sized(slip["exposed_mm"])),
            ("Spline engaged at ride height", sized(slip["engaged_mm"])),
            ("Seal to joint center", sized(slip["seal_to_joint_mm"])),
            ("Torque at launch", units.torque_text(1000.0 * torque["launch"])),
            (f"Torque with shock, factor {torque['shock_factor']:g}", units.torque_text(1000.0 * torque["with_shock"])),
            ("Torque is capped by", f"the {torque['capped_by']}"),
            ("Highest speed", f"{told['speed_max_rpm']:.0f} rpm"),
            ("Critical speed, hinged at the joints", f"{told['critical_rpm']:.0f} rpm"),
            ("Maker's rating in the car", _rating(rating))]


def _rating(rating: Mapping[str, Any]) -> str:
    told = [units.torque_text(1000.0 * rating["torque_nm"])] if rating["torque_nm"] is not None else []
    told += [f"{rating['speed_rpm']:.0f} rpm"] if rating["speed_rpm"] is not None else []
    return ", ".join([*told, *([rating["date"]] if rating["date"] else [])]) or "none given"


def _extremes(told: Mapping[str, Any]) -> list[tuple[str, ...]]:
    """Where the slip yoke goes over the travel, a line each."""
    return [(one["name"].replace("_", " "), *(sized(one[name], 2) for name in ("axle_travel_mm", "plunge_mm", "exposed_mm", "engaged_mm")))
            for one in told["slip"]["extremes"]]
