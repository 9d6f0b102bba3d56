"""The cars of a run: files, folders and patterns as the user wrote them, each car under a name of its own."""
from __future__ import annotations

import glob
import os
import re
from collections import Counter
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from pathlib import Path

CAR_FILES, DOCUMENTS = (".yaml", ".yml"), (".fcstd",)
_MINE = re.compile(rb"^(?:\xef\xbb\xbf|\xff\xfe|\xfe\xff)?[{\s]*[\"']?crankline[\"']?\s*:", re.MULTILINE)
"""A line by which a car file is told from other YAML in a folder, also of one in an encoding that is refused: it is told, not left out."""


class CarsError(ValueError):
    """Cars that cannot be run together. One sentence: what was found, what is allowed, the way out."""


@dataclass(frozen=True)
class Entry:
    """One car of a run: the name of its folder and of its lines in every list, and its file."""
    name: str
    path: Path


def several(arguments: Sequence[str]) -> bool:
    """Whether arguments ask for many cars even where they name one file: a folder or a pattern does."""
    return len(arguments) != 1 or Path(arguments[0]).is_dir() or (not Path(arguments[0]).exists() and glob.has_magic(arguments[0]))


def gather(arguments: Iterable[str], documents: bool, results: Path | None = None) -> tuple[Entry, ...]:
    """The cars of files, folders (with what lies in them, at any depth) and patterns, by name. documents: whether saved documents are
    cars too; results: folder of the run's results, in which no cars are looked for. CarsError where there is none, or two share a name."""
    endings = CAR_FILES + (DOCUMENTS if documents else ())
    found: dict[Path, Path] = {}
    for argument in arguments:
        place = Path(argument)
        if place.is_dir():
            inside = [path for path in sorted(place.rglob("*")) if path.is_file() and path.suffix.lower() in endings
                      and not any(part.startswith(".") for part in path.relative_to(place).parts)]
            named = [path for path in inside if not _within(path, results) and _is_car(path)]
        elif not place.exists() and glob.has_magic(argument):
            named = [Path(path) for path in sorted(glob.glob(argument, recursive=True)) if Path(path).suffix.lower() in endings]
        else:
            named = [place]     # one that is not there is told of that car alone
        if not named:
            raise CarsError(f"{argument}: there is no car file{' or document' if documents else ''} in it; give files, folders or patterns "
                            "that hold some")
        found.update((Path(os.path.abspath(path)), path) for path in named)
    return _named(list(found))


def shard(entries: Sequence[Entry], text: str) -> tuple[Entry, ...]:
    """The share I of N, written ``I/N``, of cars by name: the same on every machine that is given the same list."""
    asked = re.fullmatch(r"([1-9][0-9]{0,4})/([1-9][0-9]{0,4})", text)
    if asked is None or int(asked[1]) > int(asked[2]):
        raise CarsError(f"--shard: {text!r} was found; give which share of how many, such as 1/4 to 4/4")
    return tuple(entries[int(asked[1]) - 1::int(asked[2])])


def _named(paths: list[Path]) -> tuple[Entry, ...]:
    """Each file with the stem as its name, or where several share that, with the folders below what all have in common."""
    shared = Counter(path.stem.lower() for path in paths)
    common = Path(os.path.commonpath([path.parent for path in paths]))
    entries = [Entry(path.stem if shared[path.stem.lower()] == 1 else "-".join(path.relative_to(common).with_suffix("").parts), path)
               for path in paths]
    for name, count in Counter(entry.name.lower() for entry in entries).items():
        if count > 1:
            same = [str(entry.path) for entry in entries if entry.name.lower() == name]
            raise CarsError(f"{' and '.join(same)} would both write to a folder {name}; rename one, or run them apart")
    return tuple(sorted(entries, key=lambda entry: entry.name))


def _within(path: Path, folder: Path | None) -> bool:
    return folder is not None and folder.resolve() in path.resolve().parents


def _is_car(path: Path) -> bool:
    if path.suffix.lower() in DOCUMENTS:
        return True
    try:
        return _MINE.search(path.read_bytes().replace(b"\0", b"")) is not None
    except OSError:
        return True     # it is told when it is read
