"""Everything that a run writes: beside the results first, opened again and verified, then renamed; report.json last."""
from __future__ import annotations

import hashlib
import json
import os
import shutil
import tempfile
from collections.abc import Callable
from pathlib import Path
from typing import Any


class OutputError(RuntimeError):
    """An output that did not survive being read back. One sentence."""


class Staging:
    """A folder beside the results in which everything is written and verified before anything is replaced. placed: takes the name of
    each file as it comes to its place."""

    def __init__(self, target: Path, placed: list[str] | None = None):
        self.target = target
        self._placed = [] if placed is None else placed

    def __enter__(self) -> Staging:
        self.target.mkdir(parents=True, exist_ok=True)
        self.folder = Path(tempfile.mkdtemp(prefix=".crankline-", dir=self.target))
        return self

    def __exit__(self, *_error) -> None:
        shutil.rmtree(self.folder, ignore_errors=True)

    def names(self) -> list[str]:
        """Relative names of all staged files, sorted, report.json last."""
        found = [str(path.relative_to(self.folder)) for path in self.folder.rglob("*") if path.is_file()]
        return sorted(found, key=lambda name: (name == "report.json", name))

    def digests(self) -> dict[str, str]:
        """Name to sha256 of every staged file but the report."""
        return {name: _digest(self.folder / name) for name in self.names() if name != "report.json"}

    def publish(self, replaces: Callable[[str], bool] = lambda name: False) -> tuple[list[str], list[str]]:
        """Move every staged file to its place and remove what an earlier run left; the names of both.

        replaces: whether this run makes files of a name. Such a file goes if the report that lies in the folder lists it with the
        digest that it still has, and this run does not write it: its part is gone, and a laser would cut it all the same.
        """
        names = self.names()
        outdated = [name for name in self._of_earlier_run() if replaces(name) and name not in names]
        # The report that lists them stays until they are gone.
        for name in [name for name in names if name != "report.json"]:
            self._move(name)
        for name in outdated:
            (self.target / name).unlink()
        if "report.json" in names:
            self._move("report.json")
        return names, outdated

    def _move(self, name: str) -> None:
        place = self.target / name
        place.parent.mkdir(parents=True, exist_ok=True)
        os.replace(self.folder / name, place)
        self._placed.append(name)

    def _of_earlier_run(self) -> list[str]:
        """Names of the files of an earlier run that are as it wrote them; none where its report cannot be read."""
        try:
            listed = json.loads((self.target / "report.json").read_text(encoding="utf-8"))["files"].items()
        except (OSError, ValueError, LookupError, TypeError, AttributeError):
            return []
        root, found = self.target.resolve(), []
        for name, digest in listed:
            place = self.target / name
            # A report may have been edited: nothing outside the folder, and nothing through a link, is touched.
            inside = root in place.resolve().parents and not place.is_symlink() and place.is_file()
            if inside and name != "report.json" and _digest(place) == digest:
                found.append(name)
        return sorted(found)


def is_sheet(name: str) -> bool:
    """Whether a file of a run is a drawing or a cut file."""
    return name.startswith("flat/") or name.endswith(".pdf")


def _digest(path: Path) -> str:
    return hashlib.sha256(path.read_bytes()).hexdigest()


def write_all(session, staging: Staging, document, layout, shot, outcome, report: dict[str, Any], code: int,
              with_document: bool) -> int:
    """Write, verify and publish a run's outputs; returns the exit code, 4 where an output is missing."""
    from . import reports
    folder, missing = staging.folder, ""
    if with_document:
        session.stage("saving the document")
        save_document(document, folder / "car.FCStd")
        session.stage("writing car.step")
        write_step(layout, folder / "car.step")
        session.stage("drawing the sheets")
        missing = draw(layout, shot, outcome.findings, folder)
        if missing:
            session.fail(missing)
    (folder / "checks.xml").write_text(reports.junit_text(outcome, shot), encoding="utf-8")
    if missing and code in (0, 1):
        code = 4
    report["exit"] = code
    (folder / "findings.csv").write_text(reports.csv_text(report), encoding="utf-8-sig", newline="")
    (folder / "findings.html").write_text(reports.html_text(report), encoding="utf-8")
    report["files"] = staging.digests()
    text = json.dumps(report, indent=1, ensure_ascii=False, allow_nan=False)
    (folder / "report.json").write_text(text + "\n", encoding="utf-8")
    _written, removed = staging.publish(lambda _name: with_document)
    tell_removed(session, removed)
    return code


def draw(layout, shot, findings, folder: Path) -> str:
    """Draw every sheet into a staging folder; one sentence on what is missing, empty where nothing is.

    What is finished stays; of the cut files either all or none, so that no half set is cut.
    """
    from . import sheets
    from .features import read
    try:
        sheets.write(shot, read.flats(layout), folder, findings)
    except sheets.SheetError as error:
        shutil.rmtree(folder / "flat", ignore_errors=True)
        return str(error)
    return ""


def write_sheets(layout, shot, findings, target: Path, placed: list[str] | None = None) -> tuple[list[str], list[str], str]:
    """Draw, verify and publish a car's sheets alone; names of what was written and of what was removed, and what is missing.
    placed: as of ``Staging``."""
    with Staging(target, placed) as staging:
        missing = draw(layout, shot, findings, staging.folder)
        return (*staging.publish(is_sheet), missing)


def tell_removed(session, names: list[str]) -> None:
    """Say which files of an earlier run are gone."""
    if names:
        session.stage(f"removed, because an earlier run wrote it and this one does not: {', '.join(names)}")


def save_document(document, path: Path) -> None:
    """Save a copy of the document and open it again: every object there, every proxy alive."""
    import FreeCAD as App

    from .features.base import is_ours
    from .features.repair import lifeless
    lost = lifeless(document)
    if lost:
        raise OutputError(f"{lost[0].Label} is no longer linked to Crankline; run Repair Document before saving")
    document.saveCopy(str(path))
    again = App.openDocument(str(path), True)
    try:
        names = {obj.Name for obj in document.Objects}
        if {obj.Name for obj in again.Objects} != names:
            raise OutputError(f"{path.name}: the saved document does not have the same objects as the one in memory; nothing was kept")
        dead = lifeless(again)
        if dead:
            raise OutputError(f"{path.name}: {dead[0].Label} is not linked to Crankline after opening; nothing was kept")
        if not any(is_ours(obj) for obj in again.Objects):
            raise OutputError(f"{path.name}: the saved document came back empty; nothing was kept")
    finally:
        App.closeDocument(again.Name)


def write_step(layout, path: Path) -> None:
    """STEP of the leaf parts, in the car frame; read back and counted."""
    import Import
    import Part

    from .features.base import PartFeature
    from .features.read import members
    leaves = [obj for obj in members(layout)
              if isinstance(getattr(obj, "Proxy", None), PartFeature) and not obj.Proxy.declaration(obj.Key).reference
              and not obj.Shape.isNull()]
    Import.export(leaves, str(path))
    if not path.is_file():
        raise OutputError(f"{path.name}: FreeCAD wrote no file; nothing was kept")
    shape = Part.Shape()
    shape.read(str(path))
    wanted = sum(len(obj.Shape.Solids) for obj in leaves)
    if len(shape.Solids) != wanted:
        raise OutputError(f"{path.name}: {len(shape.Solids)} of {wanted} solids were read back; nothing was kept")
