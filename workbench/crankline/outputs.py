"""Everything that a run writes: beside the results first, opened again and verified, then renamed; report.json last."""
from __future__ import annotations

import json
import os
import re
import shutil
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass, field
from functools import cached_property
from pathlib import Path
from typing import TYPE_CHECKING, Any

from .document_files import save_document, write_step
from .exit_codes import CLEAN, FINDINGS, INCOMPLETE
from .features.part_kind import Supply
from .snapshot import Snapshot
from .staging import Staging
from .units import read_in

if TYPE_CHECKING:
    from .geometry.piece import Piece, Seam
    from .measure.measurer import Measurer
    from .measure.part_marks import Marked
    from .sheets import Sheet

FORMS = ("pdf", "svg", "png")
"""What sheets may be written as: a file with all pages of a book, or a file for each page."""


# --- what can be written ---------------------------------------------------------------------------------------------

@dataclass(frozen=True)
class Job:
    """What is written of: a layout, its snapshot, what a check of it found, and its report; the last two are only needed by what
    ``Product.checked`` says. size: of the sheets, "" for the car's own choice; form: what sheets are written as (``FORMS``); stock: length
    and width of the sheets, mm, on which flat patterns are nested too. What several products need is computed once."""
    layout: Any
    shot: Snapshot
    outcome: Any = None
    report: dict[str, Any] = field(default_factory=dict)
    size: str = ""
    form: str = "pdf"
    stock: tuple[float, float] | None = None
    records: tuple[str, ...] = ()
    """Folders of placement records, beside those that the environment names."""
    fitted: Any = None
    """What readings of the real car told (``as_built.report.Outcome``)."""
    books: dict[str, tuple[str, int]] = field(default_factory=dict)
    """File to title and number of sheets of every book that was written so far."""

    @cached_property
    def measurer(self) -> Measurer:
        """What a check has measured with, or another one that measures afresh."""
        from .measure.host_measurer import HostMeasurer
        measurer = self.outcome.measurer if self.outcome is not None else None
        if measurer is None:
            measurer = HostMeasurer()
            measurer.sees(self.shot)
        return measurer

    @cached_property
    def marked(self) -> tuple[Marked, ...]:
        """The marks of the car's parts."""
        from .measure import part_marks
        return part_marks.of(self.shot, self.measurer)

    @cached_property
    def pieces(self) -> dict[str, tuple[Piece, ...]]:
        """Key to the pieces that each part is made from."""
        from .features import made_from
        return made_from.pieces(self.layout)

    @cached_property
    def seams(self) -> dict[str, tuple[Seam, ...]]:
        """Key to the welds between the pieces of each part."""
        from .features import made_from
        return made_from.seams(self.layout)

    def part_drawings(self, size: str) -> tuple[Sheet, ...]:
        """The drawings of the made parts on a size, drawn once. SheetError where one does not fit."""
        from .sheets import part_drawings
        if size not in self._drawn:
            with read_in(self.shot.system):
                self._drawn[size] = part_drawings.book(self.shot, self.marked, self.pieces, size, self.measurer, self.seams)
        return self._drawn[size]

    @cached_property
    def drawing_numbers(self) -> dict[str, int]:
        """Mark to the number of the sheet of part drawings on which it is; none where these find no room on any size."""
        from . import sheets
        from .sheets import part_drawings
        for size in sheets.sizes_for(self.shot, self.size, drawing=True):
            try:
                return part_drawings.sheet_numbers(self.part_drawings(size), self.marked)
            except sheets.SheetError:
                continue
        return {}

    @cached_property
    def _drawn(self) -> dict[str, tuple[Sheet, ...]]:
        return {}

    def book(self, folder: Path, stem: str, draw: Callable[[str], Sequence[Sheet]], drawing: bool = False) -> None:
        """Write a book of sheets in the size and the form of this job; ``draw``: its pages on a size. Nothing where it has none."""
        from . import sheets
        pages: list[Sheet] = []

        def drawn(size: str) -> Sequence[Sheet]:
            pages[:] = draw(size)
            return pages
        sheets.write_book(self.shot.system, folder, stem, drawn, sheets.sizes_for(self.shot, self.size, drawing), self.form)
        if pages:
            self.books[stem] = pages[0].title, len(pages)


@dataclass(frozen=True)
class Product:
    """One thing that a run can write. ``write``: into a staging folder, verified; ``mine``: whether a file of a run is of it. ``shapes``:
    it shows parts, so that a car with a part in error has none. ``checked``: it tells what a check found. ``readings``: it needs readings
    of the real car."""
    name: str
    label: str
    doc: str
    write: Callable[[Job, Path], None]
    mine: Callable[[str], bool]
    shapes: bool = False
    checked: bool = False
    readings: bool = False


def _show_marks(job: Job) -> None:
    """Put the marks of the parts into the tree."""
    from .features import shown_marks
    from .measure import part_marks
    shown_marks.show(job.layout, part_marks.by_key(job.marked))


def _document(job: Job, folder: Path) -> None:
    _show_marks(job)
    save_document(job.layout.Document, folder / "car.FCStd")


def _step(job: Job, folder: Path) -> None:
    write_step(job.layout, folder / "car.step")


def _made_step(job: Job, folder: Path) -> None:
    write_step(job.layout, folder / "made-parts.step", lambda part: part.supply is Supply.KIT)


def _sheets(job: Job, folder: Path) -> None:
    from .measure import part_marks
    from .sheets.side_view import side_view
    marks = part_marks.by_key(job.marked)
    job.book(folder, "side-view", lambda size: (side_view(job.shot, tuple(job.outcome.findings), size, marks),), drawing=True)


def _general(job: Job, folder: Path) -> None:
    from .sheets import general_drawings
    job.book(folder, "general-drawings", lambda size: general_drawings.sheets(job.shot, job.marked, job.pieces, size), drawing=True)


def _set_up(job: Job, folder: Path) -> None:
    from .measure import part_marks
    from .sheets import set_up
    marks = part_marks.by_key(job.marked) if job.shot.car.mounts and job.shot.car.mounts.setup_stands else {}
    job.book(folder, "set-up", lambda size: set_up.sheets(job.shot, size, marks))


def _instructions(job: Job, folder: Path) -> None:
    from .sheets import instructions
    from .sheets.instruction_step import Kit
    from .sheets.step_pictures import StepPictures

    def draw(size: str) -> Sequence[Sheet]:
        # The texts are in the units that are read while it is drawn.
        kit = Kit(job.shot, job.marked)
        return instructions.sheets(kit, StepPictures(kit), size)

    job.book(folder, "instructions", draw, drawing=True)


def _shaft_order(job: Job, folder: Path) -> None:
    from .sheets import shaft_order
    job.book(folder, "driveshaft-order", lambda size: (shaft_order.sheet(job.shot, size),))


def _why_here(job: Job, folder: Path) -> None:
    from . import records
    from .sheets import why_here
    collection = records.load((*records.of_environment(), *job.records))
    job.book(folder, why_here.STEM, lambda size: why_here.sheets(job.shot, collection, size), drawing=True)


def _flats(job: Job, folder: Path) -> None:
    """All of them or none, so that no half set is cut."""
    from .features import made_from
    from .sheets import SheetError, flat_patterns, nesting
    try:
        with read_in(job.shot.system):
            files = flat_patterns.cut_files(job.shot, job.marked, job.pieces)
            flat_patterns.write(files, folder / "flat", job.shot.system)
            if job.stock:
                nesting.write(files, folder / "nest", job.stock, job.shot.system)
    except SheetError:
        shutil.rmtree(folder / "flat", ignore_errors=True)
        raise
    if told := made_from.not_cut(job.layout):
        raise SheetError(told)


def _tubes(job: Job, folder: Path) -> None:
    from .sheets import cope_templates, tube_list
    with read_in(job.shot.system):
        rows = tube_list.sawn(job.shot, job.marked, job.pieces)
        tube_list.write(rows, folder)
    job.book(folder, "cope-templates", lambda size: cope_templates.book(job.shot, rows, size))


def _part_drawings(job: Job, folder: Path) -> None:
    job.book(folder, "part-drawings", job.part_drawings, drawing=True)


def _contents(job: Job, folder: Path) -> None:
    from .sheets import kit_contents
    with read_in(job.shot.system):
        rows = kit_contents.rows(job.shot, job.marked, job.pieces)
        kit_contents.write(rows, folder)
    job.book(folder, "kit-contents", lambda size: kit_contents.book(job.shot, rows, size, job.drawing_numbers))


def _cover(job: Job, folder: Path) -> None:
    """Of what was written before it."""
    from .sheets import cover
    books = [cover.Book(stem, *told) for stem, told in job.books.items()]
    job.book(folder, "cover", lambda size: cover.sheets(job.shot, books, job.outcome.findings, job.outcome.rule_sets, job.marked, size))


def _as_built(job: Job, folder: Path) -> None:
    from .sheets import as_built
    job.book(folder, as_built.STEM, lambda size: as_built.sheets(job.fitted, job.shot, size))


def _as_built_data(job: Job, folder: Path) -> None:
    """The fit as JSON, and the car file that holds both placements."""
    from . import carfile
    from .as_built import fitted, report
    (folder / "as-built.json").write_text(json.dumps(report.to_json(job.fitted), indent=1, ensure_ascii=False) + "\n", encoding="utf-8")
    if job.fitted.fitted.determined and job.shot.car.chassis.sketches is None:
        carfile.save(fitted.legible(job.shot.car), folder / "as-built.yaml")


def _car_file(job: Job, folder: Path) -> None:
    from . import carfile
    carfile.save(job.shot.car, folder / "car.yaml")


def _junit(job: Job, folder: Path) -> None:
    from . import reports
    (folder / "checks.xml").write_text(reports.junit_text(job.report), encoding="utf-8")


def _sarif(job: Job, folder: Path) -> None:
    from . import reports
    (folder / "checks.sarif").write_text(reports.sarif_text(job.report), encoding="utf-8")


def _csv(job: Job, folder: Path) -> None:
    from . import reports
    (folder / "findings.csv").write_text(reports.csv_text(job.report), encoding="utf-8-sig", newline="")


def _html(job: Job, folder: Path) -> None:
    from . import reports
    (folder / "findings.html").write_text(reports.html_text(job.report), encoding="utf-8")


def _report(job: Job, folder: Path) -> None:
    from . import reports
    (folder / "report.json").write_text(reports.report_text(job.report), encoding="utf-8")


def _book(stem: str) -> Callable[[str], bool]:
    """Whether a file is of the book of this name, in any of its forms."""
    pattern = re.compile(rf"{re.escape(stem)}(\.pdf|(-[0-9]+)?\.(svg|png))")
    return lambda name: pattern.fullmatch(name) is not None


PRODUCTS = {one.name: one for one in (
    Product("document", "Document (FCStd)", "A copy of the document", _document, lambda name: name == "car.FCStd"),
    Product("step", "Whole car (STEP)", "All parts in the car frame", _step, lambda name: name == "car.step", shapes=True),
    Product("made_step", "Parts to make (STEP)", "The parts that the shop makes, in the car frame: no engine, transmission, driveshaft or "
            "chassis", _made_step, lambda name: name == "made-parts.step", shapes=True),
    Product("sheets", "Side view", "Side view with the placement dimensions, title block, hardware and open findings", _sheets,
            _book("side-view"), shapes=True, checked=True),
    Product("general", "General drawings", "The car from the side and from above, cut at plates, loops and enclosure, and a "
            "picture of it, with coordinates and marks", _general, _book("general-drawings"), shapes=True),
    Product("set_up", "Set-up sheet", "For a shop without a fixture: what is measured from what, how closely, with room to write "
            "what was found", _set_up, _book("set-up")),
    Product("instructions", "Instruction sheet", "How the kit is built into the car, step by step, with pictures, what is measured, "
            "torques and sign-off", _instructions, _book("instructions"), shapes=True),
    Product("shaft_order", "Driveshaft order", "What the driveshaft's maker has to know, with room for what he writes back",
            _shaft_order, _book("driveshaft-order")),
    Product("why_here", "Why here", "Where the engine is and why: placement window, balance, what an inch forward or up does, the nearest "
            "of the shop's own cars", _why_here, _book("why-here")),
    Product("flats", "Flat patterns (DXF)", "Cut files 1:1 in mm, one for each mark, and a list of them", _flats,
            lambda name: name.startswith(("flat/", "nest/")), shapes=True),
    Product("tubes", "Tube list and cope templates", "What is sawn from tube and bar, how its ends are coped and how it is bent, with "
            "templates 1:1 to wrap around the coped ends", _tubes,
            lambda name: name == "tubes.csv" or _book("cope-templates")(name), shapes=True),
    Product("part_drawings", "Part drawings", "A drawing for every made part: flats, tubes and bends with their dimensions, "
            "material, mass, what they meet", _part_drawings, _book("part-drawings"), shapes=True),
    Product("contents", "Kit contents", "What is in the kit: parts by mark and hardware, counted over the car, as a list and to print",
            _contents, lambda name: name == "kit.csv" or _book("kit-contents")(name), shapes=True),
    Product("cover", "Cover and contents", "Picture of the car, contents of the sheets written with it, rule sets, open findings and "
            "safety messages", _cover, _book("cover"), shapes=True, checked=True),
    Product("as_built", "As-built sheet (PDF)", "Where the powertrain of the real car is by its readings, what to move, what passes there, "
            "sign-off", _as_built, _book("as-built"), readings=True),
    Product("as_built_data", "As-built fit (JSON, car file)", "as-built.json: readings, placement, moves and findings; as-built.yaml: the "
            "car with both placements", _as_built_data, lambda name: name in ("as-built.json", "as-built.yaml"), readings=True),
    Product("car_file", "Car file (YAML)", "The car with its units, from which the document can be built again", _car_file,
            lambda name: name == "car.yaml"),
    Product("junit", "Findings (JUnit)", "checks.xml: a test case for each finding, for a build server", _junit,
            lambda name: name == "checks.xml", checked=True),
    Product("sarif", "Findings (SARIF)", "checks.sarif: what is open, waived, to be confirmed or not evaluated, for a server that shows it "
            "beside the car file", _sarif, lambda name: name == "checks.sarif", checked=True),
    Product("csv", "Findings (CSV)", "findings.csv: a table with a row for each finding", _csv, lambda name: name == "findings.csv",
            checked=True),
    Product("html", "Findings (HTML)", "findings.html: a page with a small side view of where each one is", _html,
            lambda name: name == "findings.html", checked=True),
    Product("report", "Report (JSON)", "report.json: placement, joint angles, balance, parts, findings and the digests of the files "
            "written with it", _report, lambda name: name == "report.json", checked=True))}
"""Name to what can be written, in the order of writing: shapes first, since reports tell what is missing, and the report last."""

BUILT = ("document", "step", "sheets", "general", "set_up", "instructions", "shaft_order", "why_here", "flats", "tubes", "part_drawings",
         "contents", "cover", "junit", "csv", "html", "report")
"""What ``build`` writes."""
TOLD = ("junit", "csv", "html", "report")
"""What ``check`` writes."""
FITTED = ("as_built", "as_built_data")
"""What ``fit`` writes."""
DRAWN = ("sheets", "general", "set_up", "instructions", "shaft_order", "why_here", "flats", "tubes", "part_drawings", "contents", "cover",
         "html")
"""What ``sheets`` writes."""


def write(job: Job, names: Iterable[str], staging: Staging, stage: Callable[[str], None] = lambda _what: None) -> list[str]:
    """Write and verify products of these names into a staging folder; a sentence on each that is missing, such as one that shows parts of
    a car with a part in error. A report that says that all is well says that it is incomplete then. OutputError where something does not
    survive being read back."""
    from .features import read
    from .sheets import SheetError
    from .source import SourceError
    asked = set(names)
    chosen = [one for one in PRODUCTS.values() if one.name in asked]
    told: list[str] = []
    if wrong := read.root_cause(job.shot.unsound):
        barred = [one.label for one in chosen if one.shapes]
        chosen = [one for one in chosen if not one.shapes]
        told += [f"{', '.join(barred)} not written: {wrong}"] * bool(barred)
    for one in chosen:
        if one.checked and not one.shapes and job.report:
            if told and job.report["exit"] in (CLEAN, FINDINGS):
                job.report["exit"] = INCOMPLETE
            if one.name == "report":
                job.report["files"] = staging.digests()
        stage(f"writing {one.label}")
        try:
            one.write(job, staging.folder)
        except (SheetError, SourceError) as error:
            told.append(str(error).replace(f"{staging.folder}{os.sep}", ""))
    if "marked" in vars(job):
        _show_marks(job)
    return told


def mine(names: Iterable[str], form: str = "pdf") -> Callable[[str], bool]:
    """Whether a file is one of the products of these names; sheets in another form than the one that is written are not."""
    chosen = [PRODUCTS[name] for name in names]
    others = tuple(f".{other}" for other in FORMS if other != form)
    return lambda file: not file.endswith(others) and any(one.mine(file) for one in chosen)


@dataclass(frozen=True)
class Written:
    """What an export did: names of the files that came to their place, of those of an earlier run that are gone, and a sentence on each
    product that is missing."""
    files: tuple[str, ...]
    removed: tuple[str, ...]
    missing: tuple[str, ...]


def export(job: Job, names: Iterable[str], target: Path, stage: Callable[[str], None] = lambda _what: None,
           placed: list[str] | None = None) -> Written:
    """Write products of these names to a folder: beside, verified, then renamed. placed: as of ``Staging``."""
    names = tuple(names)
    with Staging(target, placed) as staging:
        missing = write(job, names, staging, stage)
        files, removed = staging.publish(mine(names, job.form))
    return Written(tuple(files), tuple(removed), tuple(missing))


def say_missing(session, written: Written) -> None:
    """Say what is missing, and which files of an earlier run are gone."""
    for sentence in written.missing:
        session.fail(sentence)
    if written.removed:
        session.stage(f"removed, because an earlier run wrote it and this one does not: {', '.join(written.removed)}")
