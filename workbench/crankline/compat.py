"""Every difference between host versions, told by capability and never by version number."""
from __future__ import annotations

import glob
import os
import shutil
import sys

from .host import FreeCAD as App


def host() -> dict[str, str]:
    """Versions of what we run in, for reports."""
    version = App.Version()
    try:
        import Part
        kernel = getattr(Part, "OCC_VERSION", "unknown")
    except ImportError:
        kernel = "unknown"
    return {"freecad": ".".join(version[:3]), "kernel": kernel, "python": sys.version.split()[0]}


def program() -> str:
    """Path of the program that we run in, to start another one like it; OSError where it is not known."""
    if named := os.environ.get("CRANKLINE_HOST"):
        return named
    home = App.getHomePath()
    # Some hosts name the plain interpreter that is built into them, which cannot open a document; Debian adds to the program's name.
    on_path = [shutil.which(name) or "" for name in ("FreeCADCmd", "freecadcmd")]
    for name in [sys.executable or "", *sorted(glob.glob(os.path.join(glob.escape(home), "bin", "*"))), *on_path]:
        if os.path.basename(name).lower().startswith("freecadcmd") and os.path.isfile(name):
            return name
    raise OSError(f"the program FreeCADCmd was not found in {home}; name it in the environment variable CRANKLINE_HOST")


def add_property(obj, kind: str, name: str, group: str, doc: str) -> bool:
    """Add a property that the user cannot remove; False if it was there.

    Four positional arguments are all that every version understands alike; the lock is a status for the same reason.
    """
    if name in obj.PropertiesList:
        return False
    obj.addProperty(kind, name, group, doc)
    obj.setPropertyStatus(name, "LockDynamic")
    return True


def same_placement(a: App.Placement, b: App.Placement, tolerance: float = 1e-12) -> bool:
    """Whether two placements agree (0.20 has no Placement.isSame)."""
    if a == b:
        return True
    near = (a.Base - b.Base).Length <= tolerance * (1.0 + a.Base.Length)
    qa, qb = a.Rotation.Q, b.Rotation.Q
    return near and min(max(abs(x - y) for x, y in zip(qa, qb)), max(abs(x + y) for x, y in zip(qa, qb))) <= tolerance


def restoring(obj) -> bool:
    """Whether the object is being read from a file."""
    return "Restore" in obj.State or bool(getattr(obj.Document, "Restoring", False))


class _NoTraceback:
    """As long as it lives, Python writes errors without the lines of the program that led to them."""

    def __init__(self) -> None:
        self._before = getattr(sys, "tracebacklimit", None)
        sys.tracebacklimit = 0

    def __del__(self) -> None:
        if self._before is None:
            vars(sys).pop("tracebacklimit", None)
        else:
            sys.tracebacklimit = self._before


def untraced(sentence: str) -> ValueError:
    """What an execute raises of a user's mistake: the object is in error with this sentence, and the report view gets it without a
    traceback.

    Every host writes what leaves an execute with its traceback and lets go of it at once: what hangs on the error ends there.
    """
    error = ValueError(sentence)
    error.without = _NoTraceback()  # type: ignore[attr-defined]
    return error


def tasks_cover_the_right(docks) -> bool:
    """Whether task panels lie over the right of the view, as they do in 1.1 until somebody moves them; ``docks``: of the main window."""
    for dock in docks:
        above = dock.parentWidget() if dock.objectName() == "Tasks" else None
        while above is not None:
            if above.objectName() == "OverlayRight":
                return True
            above = above.parentWidget()
    return False
