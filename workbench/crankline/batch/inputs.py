"""What the result of a run hangs on, as one digest: the car's file and what it names, rule files, a shop's catalog, options. Equal digest,
version and host: equal result."""
from __future__ import annotations

import datetime
import hashlib
import json
from collections.abc import Iterable, Mapping
from pathlib import Path
from typing import Any

from .. import VERSION, source
from ..catalog import shop


def identity(path: Path, options: Mapping[str, Any], rule_files: Iterable[str], catalogs: Iterable[str]) -> dict[str, str]:
    """``{"file": name, "sha256": digest}`` as a report has it. options: what else was asked for, plain data; where no event date is among
    them the day counts. OSError where a file cannot be read."""
    found = hashlib.sha256()
    asked = {**options, "event_date": options.get("event_date") or datetime.date.today().isoformat()}
    found.update(json.dumps(asked, sort_keys=True, default=str).encode())
    for one in [path, *_beside(path), *map(Path, rule_files), *_tables(catalogs)]:
        data = one.read_bytes()
        found.update(f"\x1f{one.name}\x1f{len(data)}\x1f".encode())
        found.update(data)
    return {"file": path.name, "sha256": found.hexdigest()}


def unchanged(report: Mapping[str, Any], wanted: Mapping[str, str], host: Mapping[str, str]) -> bool:
    """Whether a report is of this input, this version and this host."""
    return report.get("input") == wanted and report.get("version") == VERSION and report.get("host") == dict(host)


def _beside(path: Path) -> list[Path]:
    """The document with the sketches that a car file names. Solids are named in it by their digest."""
    if path.suffix.lower() not in (".yaml", ".yml"):
        return []
    try:
        name = source.read(path).at("chassis", "sketches", "file").text
    except (source.SourceError, LookupError, AttributeError):
        return []
    return [beside] if name and (beside := path.parent / name).is_file() else []


def _tables(folders: Iterable[str]) -> list[Path]:
    paths = (Path(shop.path_of(folder, table)) for folder in folders for table in shop.KEPT)
    return [path for path in paths if path.is_file()]
