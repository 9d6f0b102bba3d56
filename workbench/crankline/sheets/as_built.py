"""The as-built sheet: what was read, where the powertrain is, what cannot be right or is missing, what to move, what passes, sign-off."""
from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from .. import units
from ..as_built import report
from ..as_built.fitted import Line
from ..as_built.report import FREEDOM_WORDS, STATES, Outcome, size, within
from ..as_built.verdicts import FAILS, HERE, UNDECIDED
from ..record import filled
from ..snapshot import Snapshot
from . import sheet_format
from .drawing import Primitive, Sheet, SheetError, Text, collisions, wrapped
from .sheet_format import Title, table
from .side_view import identification

STEM = "as-built"
LETTER, ROW, STEP = 2.5, 5.0, 4.2
"""Lettering, rows of the tables, lines of text, mm."""
WHOLE = 12
"""Rows up to which a piece is not split."""
ABOUT = ("Where the powertrain of the real car is, by weighted least squares on the readings below: ± holds 95 times in 100. The residual "
         "is what was read less what the placement as built says. Nothing is known more closely than it was read: what is undecided is not "
         "passed. Readings of the chassis are compared and tell nothing of the powertrain, but what is measured from there.")
SIGNED = ("Measured by", "Moved by", "Measured again by", "Approved by")


@dataclass(frozen=True)
class Piece:
    """A table, or lines of text where it has no columns, under a heading. shares: of the width of the sheet. Long ones are split over
    pages."""
    heading: str
    rows: tuple[tuple[str, ...], ...]
    head: tuple[str, ...] = ()
    shares: tuple[float, ...] = ()
    right: tuple[int, ...] = ()
    row: float = ROW


def sheets(outcome: Outcome, snapshot: Snapshot, size_: str = "A4") -> tuple[Sheet, ...]:
    """The pages. SheetError where they cannot be laid out."""
    space, car = sheet_format.drawing_space(size_), filled(snapshot.car)
    pages: list[list[Primitive]] = [[]]
    low, left, width = space.y0 + sheet_format.TITLE_HEIGHT + 4.0, space.x0 + 2.0, space.width - 4.0
    top = space.y1 - 2.0
    for piece in pieces(outcome, width):
        rest = list(piece.rows)
        step = piece.row if piece.shares else STEP
        while rest:
            taken = int((top - low - 10.0) / step) - bool(piece.head)
            # Short ones are kept together.
            if taken < min(WHOLE if len(rest) <= WHOLE else 3, len(rest)):
                if top > space.y1 - 3.0:
                    raise SheetError("the as-built sheet: a table does not fit; choose a larger size")
                pages.append([])
                top = space.y1 - 2.0
                continue
            some, rest = rest[:taken], rest[taken:]
            drawn, top = _drawn(piece, some, left, top, width)
            pages[-1] += drawn
            top -= 3.0
    found = []
    for number, items in enumerate(pages, 1):
        title = Title("As-built sheet", sheet_format.subject(snapshot), identification(snapshot), "none",
                      "in, deg" if units.reading() == "in" else "mm, deg", car.title_block, "As-built sheet", number, len(pages), book=STEM)
        whole = [*sheet_format.border(size_), *sheet_format.foot(title, space), *items]
        page = Sheet(STEM, title.title, *sheet_format.size_of(size_), tuple(whole), title.by.issued or "")
        if trouble := collisions(page):
            raise SheetError(f"on the as-built sheet {trouble[0]}; choose a larger size")
        found.append(page)
    return tuple(found)


def _drawn(piece: Piece, rows: Sequence[tuple[str, ...]], left: float, top: float, width: float) -> tuple[list[Primitive], float]:
    """A part of a piece that fits a page: what is drawn, and its lower edge."""
    if piece.shares:
        return table(left, top, tuple(share * width for share in piece.shares), piece.heading, piece.head, rows, row=piece.row,
                     letter=LETTER, right=piece.right)
    found: list[Primitive] = [Text(left, top - 3.4, piece.heading, 2.8, bold=True)] if piece.heading else []
    top -= 5.2 if piece.heading else 0.0
    found += [Text(left, top - STEP * (i + 1) + 1.0, line, LETTER) for i, (line,) in enumerate(rows)]
    return found, top - STEP * len(rows)


def pieces(outcome: Outcome, width: float) -> list[Piece]:
    """What is on the sheet, in its order; width: of its lines, mm."""
    fitted = outcome.fitted
    found = [_text("", [ABOUT], width), _placement(outcome), _readings(fitted.lines)]
    wrong = [f"{line.measured.reading.name}: {report.said(line, line.suspect, fitted.lines)}" for line in fitted.suspects if line.suspect]
    told = [*report.notes(fitted), *wrong]
    if told:
        found.append(_text("To be kept in mind, and to be read again", told, width))
    found += _moves(outcome, width)
    found.append(Piece("Joint angles at static ride height", tuple(report.angles(outcome)),
                       ("", "As designed", "As built", "After the moves"), (0.4, 0.2, 0.2, 0.2), (1, 2, 3)))
    found += _findings(outcome, width)
    found.append(Piece("Sign-off", tuple((words, "", "", "") for words in SIGNED), ("", "Name", "Date", "Signature"),
                       (0.25, 0.3, 0.15, 0.3), row=8.0))
    return [piece for piece in found if piece.rows]


def _text(heading: str, sentences: Sequence[str], width: float) -> Piece:
    return Piece(heading, tuple((line,) for sentence in sentences for line in wrapped(sentence, LETTER, width - 4.0)))


def _placement(outcome: Outcome) -> Piece:
    rows = []
    for one in outcome.fitted.freedoms:
        rows.append((FREEDOM_WORDS[one.name], size(one.wanted, one.quantity), report.as_found(one), report.off(one), within(one)))
    return Piece("Placement", tuple(rows), ("", "As designed", "As built", "Off", "Within, 95 %"), (0.36, 0.16, 0.16, 0.16, 0.16),
                 (1, 2, 3, 4))


def _readings(lines: Sequence[Line]) -> Piece:
    rows = []
    for number, line in enumerate(lines, 1):
        one = line.measured
        told = "–" if line.value is None else size(line.value, one.quantity)
        if len(one.reading.read) > 1:
            told += f" ({len(one.reading.read)}x)"
        fitted = "" if line.fitted is None else size(line.fitted, one.quantity)
        off = "" if line.residual is None else size(line.residual, one.quantity)
        remark = STATES[line.state] or ("" if line.checked >= 0.1 else "no other checks it")
        rows.append((str(number), one.reading.name, size(one.wanted, one.quantity), told,
                     f"± {size(line.within or one.within, one.quantity)}", fitted, off, one.instrument, remark))
    return Piece("Readings", tuple(rows), ("No.", "Measure", "As designed", "Read", "Within", "As built", "Residual", "With", ""),
                 (0.035, 0.295, 0.08, 0.1, 0.075, 0.08, 0.08, 0.135, 0.12), (2, 3, 4, 5, 6))


def _moves(outcome: Outcome, width: float) -> list[Piece]:
    moves = outcome.correction
    if moves is None:
        return [_text("Moves", ["No moves are listed: the readings do not say where the powertrain is. Take the readings above first."],
                      width)]
    if not moves.words:
        return [_text("Moves", ["None: everything is within the tolerances of the set-up sheet, or off by less than the readings tell.",
                                *moves.follows], width)]
    found = [Piece("Moves, in this order; then measure again", tuple((str(i), words, "") for i, words in enumerate(moves.words, 1)),
                   ("No.", "Move", "Done"), (0.05, 0.83, 0.12))]
    told = [*moves.follows]
    if not moves.plan.enough:
        told.append("With the shims there are, some of it stays outside the tolerances of the set-up sheet.")
    changed = [f"{one.before.rule}{report.which(one.before)} ({one.before.title}): {one.before.state.value} as built, "
               f"{one.after.state.value} after the moves" for one in moves.changes]
    return [*found, *([_text("", told, width)] if told else []),
            *([_text("Findings from numbers that the moves change", changed, width)] if changed else [])]


def _findings(outcome: Outcome, width: float) -> list[Piece]:
    if not outcome.findings:
        return []
    found = [_text("Findings as built", [f"{report.sums(outcome)}. {outcome.about_shapes}"], width)]
    for heading, verdict, every in (("Fails surely", FAILS, True), ("Undecided: not passed", UNDECIDED, True),
                                    ("Open at the fitted placement; looked at nowhere else", HERE, False)):
        told = [report.finding(one) for one in outcome.findings if one.verdict == verdict and (every or one.finding.unresolved)]
        if told:
            found.append(_text(heading, told, width))
    return found

