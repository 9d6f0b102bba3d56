"""Lists beside the sheets as files: what the cut files, the tubes and the kit are counted in."""
from __future__ import annotations

from pathlib import Path

from ..replacing import replacing
from .drawing import SheetError


def write(content: str, path: Path) -> Path:
    """Write a list; its path. SheetError where it cannot be written."""
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        with replacing(path) as temporary:
            # With its mark, by which a spreadsheet knows that it is UTF-8.
            temporary.write_text(content, encoding="utf-8-sig", newline="")
    except OSError as error:
        raise SheetError(f"{path}: {error.strerror or error}; choose a writable folder") from None
    return path
