"""What every sheet shares: sizes, border, title block, cautions, scales, tables, and strips in which labels find room.

Sizes after ISO 5457 (A4 to A1: filing margin 20 mm, the others 10 mm) and ASME Y14.1 (A to D); title block after ISO 7200;
third-angle symbol after ISO 5456-2; scales after ISO 5455.
"""
from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from .. import units
from ..model import TitleBlock
from ..snapshot import Snapshot
from ..units import INCH
from .drawing import Circle, Line, Polyline, Primitive, SheetError, Text, fitted, text_width, wrapped

SIZES = {"A4": (297.0, 210.0), "A3": (420.0, 297.0), "A2": (594.0, 420.0), "A1": (841.0, 594.0),
         "A": (11 * INCH, 8.5 * INCH), "B": (17 * INCH, 11 * INCH), "C": (22 * INCH, 17 * INCH), "D": (34 * INCH, 22 * INCH)}
"""Sheet size to width and height in mm, lying."""
SERIES = (("A4", "A3", "A2", "A1"), ("A", "B", "C", "D"))
"""Sizes of ISO and of ANSI, from the smallest."""
USUAL = {"mm": ("A4", "A3"), "in": ("A", "B")}
"""By a car's unit: the size of what is read in the hand, and that of drawings, where neither car nor command says otherwise (common
practice, no source)."""

SCALES = (1, 2, 5, 10, 20, 50, 100)
"""Reductions 1:n of ISO 5455."""

CAUTION = ("This work can hurt people. Plates, mounts, loops and enclosures protect the driver only if they are built and welded "
           "correctly. The current rule book of the sanctioning body, the chassis inspector and a qualified welder take precedence "
           "over this sheet. Dimensions are in the car frame at static ride height; measure the car before cutting.")

SHORT_CAUTION = ("Plates, mounts, loops and enclosures protect people only if they are built and welded correctly. The current rule book, "
                 "the chassis inspector and a qualified welder take precedence over this sheet.")
"""The cautions of a sheet that goes with the side view, where all of them stand."""


@dataclass(frozen=True)
class Box:
    """A rectangle on the paper, mm."""
    x0: float
    y0: float
    x1: float
    y1: float

    @property
    def width(self) -> float:
        return self.x1 - self.x0

    @property
    def height(self) -> float:
        return self.y1 - self.y0


@dataclass(frozen=True)
class Title:
    """The fields of the title block. An empty one prints as an empty field, to be filled in by hand. ``identification``: of the car's
    data (``side_view.identification``); ``by``: who made the drawing, from the car; ``book``: name of the file (``BOOKS``)."""
    title: str
    subject: str
    identification: str
    scale: str
    units: str
    by: TitleBlock
    document: str = "Layout drawing"
    sheet: int = 1
    sheets: int = 1
    book: str = ""

    @property
    def number(self) -> str:
        """Number of the sheet and how many its book has: ``P3/13``."""
        return f"{sheet_number(self.book, self.sheet)}/{self.sheets}"


BOOKS = {"cover": "C", "side-view": "S", "general-drawings": "G", "set-up": "U", "instructions": "N", "driveshaft-order": "D",
         "cope-templates": "T", "part-drawings": "P", "kit-contents": "K", "as-built": "B", "why-here": "W"}
"""File of a book to the letter that the numbers of its sheets begin with."""


def sheet_number(book: str, sheet: int) -> str:
    """What a sheet of a book is called, in its title block and in every list: ``P3``; the bare number of a sheet of no package."""
    return f"{BOOKS.get(book, '')}{sheet}"


def subject(snapshot: Snapshot, designed: bool = False) -> str:
    """The car in a title block: its name, and of a car that was measured which placement is drawn: designed, that one,
    whatever is shown."""
    name, placement = str(snapshot.car.car.name), snapshot.car.placement
    if placement.as_built is None:
        return name
    return f"{name}, {'AS BUILT' if placement.shown == 'as_built' and not designed else 'as designed'}"


def size_of(name: str) -> tuple[float, float]:
    """Width and height of a sheet size; SheetError for one that there is not."""
    if name not in SIZES:
        raise SheetError(f"size: found {name!r}; use one of {', '.join(SIZES)}")
    return SIZES[name]


def sizes_from(name: str) -> tuple[str, ...]:
    """A size and the larger ones of its series, in order; SheetError for one that there is not."""
    size_of(name)
    series = next(series for series in SERIES if name in series)
    return series[series.index(name):]


def drawing_space(size: str) -> Box:
    """The rectangle inside the border."""
    width, height = size_of(size)
    left, rest = (20.0, 10.0) if size in SERIES[0] else (12.7, 10.0 if size == "A" else 12.7)
    return Box(left, rest, width - rest, height - rest)


def border(size: str) -> list[Primitive]:
    """Border of the drawing space and centering marks."""
    box, (width, height) = drawing_space(size), size_of(size)
    middle, level = (box.x0 + box.x1) / 2.0, (box.y0 + box.y1) / 2.0
    return [Polyline(((box.x0, box.y0), (box.x1, box.y0), (box.x1, box.y1), (box.x0, box.y1)), "border", True),
            Line(middle, 5.0, middle, box.y0, "border"), Line(middle, height - 5.0, middle, box.y1, "border"),
            Line(5.0, level, box.x0, level, "border"), Line(width - 5.0, level, box.x1, level, "border")]


TITLE_WIDTH, TITLE_HEIGHT = 180.0, 36.0
CAPTION = 2.5
"""Height of letters of the captions in the title block, mm: the least that ISO 3098 and a photocopy leave readable."""


@dataclass(frozen=True)
class Cell:
    """A field of the title block: its lower left corner with the text's margin, its size, its caption and text, and the height of its
    letters; 0 for a field without a text."""
    x: float
    y: float
    width: float
    height: float
    caption: str
    text: str
    letter: float


def title_cells(title: Title, space: Box) -> list[Cell]:
    """The fields of the title block in the lower right corner of the drawing space."""
    x, y, by = space.x1 - TITLE_WIDTH, space.y0, title.by
    rows = (
        # y low, ((width, caption, text, lettering), ...)
        (24.0, ((45.0, "Shop", by.shop, 2.5), (105.0, "Title", title.title, 5.0), (30.0, "Projection", "", 0.0))),
        (12.0, ((45.0, "Drawn by", by.drawn_by, 2.5), (83.0, "Car", title.subject, 3.5),
                (22.0, "Car data", title.identification, 2.5), (30.0, "Scale", title.scale, 3.5))),
        (0.0, ((45.0, "Approved by", by.approved_by, 2.5), (29.0, "Document type", title.document, 2.5),
               (32.0, "Dwg no.", by.drawing_number, 2.5), (10.0, "Rev.", by.revision, 2.5),
               (23.0, "Date of issue", by.issued, 2.5), (22.0, "Units", title.units, 2.5),
               (19.0, "Sheet", title.number, 3.5))),
    )
    found = []
    for low, cells in rows:
        at = x
        for width, caption, text, letter in cells:
            found.append(Cell(at + 1.2, y + low, width, 12.0, caption, text or "", letter))
            at += width
    return found


def title_frame(space: Box) -> list[Primitive]:
    """The lines of the title block, and the third-angle symbol."""
    blank = Title("", "", "", "", "", TitleBlock())
    x, y = space.x1 - TITLE_WIDTH, space.y0
    right, top = x + TITLE_WIDTH, y + TITLE_HEIGHT
    found: list[Primitive] = [Polyline(((x, y), (right, y), (right, top), (x, top)), "visible", True)]
    found += [Line(x, y + low, right, y + low, "thin") for low in (12.0, 24.0)]
    found += [Line(cell.x - 1.2, cell.y, cell.x - 1.2, cell.y + cell.height, "thin") for cell in title_cells(blank, space)
              if cell.x - 1.2 > x]
    return found + third_angle(x + 165.0, y + 24.0 + 4.0)


def title_block(title: Title, space: Box) -> list[Primitive]:
    """The title block in the lower right corner of the drawing space."""
    found = title_frame(space)
    for cell in title_cells(title, space):
        found.append(Text(cell.x, cell.y + cell.height - 3.3, cell.caption, CAPTION))
        found += _field(cell)
    return found


def _field(cell: Cell) -> list[Primitive]:
    """The text of a field; one that is too long for its line in two lines of the least letters."""
    room = cell.width - 2.4
    if not cell.text:
        return []
    if text_width(cell.text, cell.letter) <= room:
        return [Text(cell.x, cell.y + 2.6, cell.text, cell.letter)]
    lines = wrapped(cell.text, CAPTION, room)
    shown = [lines[0], " ".join(lines[1:])] if len(lines) > 1 else lines
    return [Text(cell.x, cell.y + 1.2 + 3.6 * (len(shown) - 1 - i), fitted(line, CAPTION, room), CAPTION) for i, line in enumerate(shown)]


def foot(title: Title, space: Box) -> list[Primitive]:
    """Title block, and the short cautions to its left."""
    return [*title_block(title, space),
            *cautions(space.x0 + 2.0, space.y0 + 2.0, space.width - TITLE_WIDTH - 4.0, SHORT_CAUTION, 2.5)]


CHECK = {"in": (4.0 * INCH, "4 in"), "mm": (100.0, "100 mm")}
"""Length and name of check bars, by units."""
GENERAL = ((30.0, 0.2), (120.0, 0.3), (400.0, 0.5), (1000.0, 0.8))
"""General tolerance: up to a length, plus or minus, mm (ISO 2768-1, class m, from 6 mm)."""


def general(space: Box, *notes: str) -> list[Primitive]:
    """Check bar, general tolerance and notes, above the cautions to the left of the title block."""
    x, y, (length, name) = space.x0 + 2.0, space.y0 + TITLE_HEIGHT - 4.5, CHECK[units.reading()]
    metric = units.reading() == "mm"
    steps = ", ".join(f"{plus:g} to {most:g}" if metric else f"{plus / INCH:.3f} to {most / INCH:.2f}" for most, plus in GENERAL)
    return [Line(x, y, x + length, y, "visible"), Line(x, y - 1.5, x, y + 1.5, "visible"),
            Line(x + length, y - 1.5, x + length, y + 1.5, "visible"),
            Text(x + length + 2.0, y - 1.2, f"must measure {name}; print at 100 %, not to fit", 2.5),
            Text(x, y - 5.8, f"Unless stated, ISO 2768-m: ± {steps} {'mm' if metric else 'in'}; angles ± 0.5°", 2.5),
            *(Text(x, y - 9.5 - 3.7 * i, note, 2.5) for i, note in enumerate(notes))]


def third_angle(x: float, y: float) -> list[Primitive]:
    """The third-angle symbol around a point: two circles, and to their right the truncated cone seen from the side, its
    small end toward the circles."""
    cx, near, far, small, big = x - 5.0, x + 1.5, x + 8.0, 1.5, 3.0
    return [Circle(cx, y, small, "outline"), Circle(cx, y, big, "outline"),
            Polyline(((near, y - small), (far, y - big), (far, y + big), (near, y + small)), "outline", True),
            Line(cx - big - 0.6, y, far + 1.0, y, "centre"), Line(cx, y - big - 0.6, cx, y + big + 0.6, "centre")]


def cautions(x: float, y: float, width: float, text: str = CAUTION, height: float = 2.5) -> list[Primitive]:
    """The cautions, framed, as high as their lines need, from the lower left corner of the frame."""
    lines = wrapped(text, height, width - 4.0)
    step = 1.55 * height
    top = y + len(lines) * step + 7.0
    found: list[Primitive] = [Polyline(((x, y), (x + width, y), (x + width, top), (x, top)), "outline", True),
                              Text(x + 2.0, top - 4.4, "CAUTION", 2.8, bold=True)]
    return found + [Text(x + 2.0, top - 8.2 - i * step, line, height) for i, line in enumerate(lines)]


def scale_for(width: float, height: float, room: Box) -> int:
    """Largest standard scale 1:n at which a width and a height in mm fit the room; SheetError where none does."""
    for n in SCALES:
        if width / n <= room.width and height / n <= room.height:
            return n
    raise SheetError(f"a view of {width / 1000:.1f} m by {height / 1000:.1f} m does not fit at 1:{SCALES[-1]}; use a larger sheet or "
                     "correct the dimensions of the car")


# ------------------------------------------------------------------------------------------------------------- tables

LETTER = 2.5
"""Height of letters in tables, mm."""


def table(x: float, top: float, widths: tuple[float, ...], heading: str, head: tuple[str, ...], rows: Sequence[tuple[str, ...]],
          row: float = 4.6, letter: float = LETTER, right: tuple[int, ...] = ()) -> tuple[list[Primitive], float]:
    """A table hung from its upper left corner: items and the height of its lower edge.

    heading: line above it; head: column titles (empty: none); ``right``: columns set to the right. Texts are cut to
    their columns.
    """
    total = sum(widths)
    found: list[Primitive] = []
    y = top
    if heading:
        found.append(Text(x, y - 3.4, heading, 2.8, bold=True))
        y -= 5.2
    upper = y
    lines = [*([head] if head else []), *rows]
    for number, cells in enumerate(lines):
        at = x
        for column, (width, text) in enumerate(zip(widths, cells)):
            shown = fitted(text, letter, width - 2.0)
            end = column in right and not (head and number == 0)
            found.append(Text(at + width - 1.0 if end else at + 1.0, y - row + 0.33 * (row - letter) + 0.3, shown, letter,
                              "right" if end else "left", bold=bool(head) and number == 0))
            at += width
        y -= row
        found.append(Line(x, y, x + total, y, "outline" if head and number == 0 else "thin"))
    found.append(Polyline(((x, y), (x + total, y), (x + total, upper), (x, upper)), "outline", True))
    at = x
    for width in widths[:-1]:
        at += width
        found.append(Line(at, y, at, upper, "thin"))
    return found, y


# ------------------------------------------------------------------------------------------------------------- strips

def spread(wanted: list[float], widths: list[float], low: float, high: float, taken: Sequence[tuple[float, float]] = (),
           gap: float = 1.0) -> list[float]:
    """Middles for labels in a strip from low to high: each as near to its wanted place as the others allow, order kept.

    ``taken``: intervals that must stay free (extension lines pass there). SheetError where the labels do not fit.
    """
    order = sorted(range(len(wanted)), key=lambda i: wanted[i])
    free, at = [], low
    for start, end in sorted(taken):
        free.append((at, start))
        at = max(at, end)
    free = [(a, b) for a, b in [*free, (at, high)] if b > a]
    held: list[list[int]] = [[] for _ in free]
    for i in order:
        # The interval in which it would have to move least.
        held[min(range(len(free)), key=lambda k: max(free[k][0] - wanted[i], wanted[i] - free[k][1], 0.0))].append(i)

    def over(k: int) -> bool:
        return sum(widths[i] for i in held[k]) + gap * (len(held[k]) - 1) > free[k][1] - free[k][0] + 1e-9

    # What an interval cannot hold goes on to the next one, and what the last one cannot hold comes back.
    for k in range(len(free) - 1):
        while held[k] and over(k):
            held[k + 1].insert(0, held[k].pop())
    for k in range(len(free) - 1, 0, -1):
        while held[k] and over(k):
            held[k - 1].append(held[k].pop(0))
    if held[0] and over(0):
        raise SheetError(f"{len(wanted)} labels find no room in a strip of {high - low:.0f} mm; use a larger sheet or fewer labels")
    placed = [0.0] * len(wanted)
    for (start, end), mine in zip(free, held):
        middles = _nearest([wanted[i] for i in mine], [widths[i] + gap for i in mine], start - gap / 2.0, end + gap / 2.0)
        for i, middle in zip(mine, middles):
            placed[i] = middle
    return placed


def _nearest(wanted: list[float], widths: list[float], low: float, high: float) -> list[float]:
    """Least-squares places of adjoining intervals (pool adjacent violators), then pushed inside the ends."""
    offsets, total = [], 0.0
    for width in widths:
        offsets.append(total + width / 2.0)
        total += width
    pools: list[list[float]] = []          # mean of wanted start, count
    for want, offset in zip(wanted, offsets):
        pools.append([want - offset, 1])
        while len(pools) > 1 and pools[-2][0] > pools[-1][0]:
            mean, count = pools.pop()
            pools[-1] = [(pools[-1][0] * pools[-1][1] + mean * count) / (pools[-1][1] + count), pools[-1][1] + count]
    starts = [mean for mean, count in pools for _ in range(int(count))]
    return [min(max(start, low), high - total) + offset for start, offset in zip(starts, offsets)]
