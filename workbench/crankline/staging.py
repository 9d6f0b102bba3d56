"""Where a run writes: beside the results first, from where everything is put in its place at once, report.json last."""
from __future__ import annotations

import hashlib
import json
import os
import shutil
import tempfile
from collections.abc import Callable
from pathlib import Path


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


def _digest(path: Path) -> str:
    return hashlib.sha256(path.read_bytes()).hexdigest()
