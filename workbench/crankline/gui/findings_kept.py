"""The findings of the last check in their car's document: put there when it is saved, shown as of their date when it is opened again."""
from __future__ import annotations

import datetime
from collections.abc import Iterable
from typing import Any

from ..checks import kept_findings
from ..checks.finding import Finding
from ..checks.kept_findings import KeptFindings
from ..compat import add_property
from ..features import read
from . import findings_watch


def put(layout: Any, findings: Iterable[Finding], marks: dict[str, Any]) -> None:
    """Put findings into the document of a layout's car; marks: what they rest on. No undo step and no change of the car: nothing is made
    of them."""
    obj = _holder(layout)
    if obj is None:
        return
    when = datetime.datetime.now().strftime("%Y-%m-%d %H:%M")
    add_property(obj, "App::PropertyString", findings_watch.KEPT, "Internal", "Findings of the last check, with its date (JSON)")
    obj.setPropertyStatus(findings_watch.KEPT, ["Hidden", "Output"])
    setattr(obj, findings_watch.KEPT, kept_findings.write(KeptFindings(tuple(findings), when, findings_watch.mark(marks))))


def get(layout: Any) -> KeptFindings | None:
    """The findings that the document of a layout's car keeps; None where it keeps none."""
    return kept_findings.read(getattr(_holder(layout), findings_watch.KEPT, ""))


def _holder(layout: Any) -> Any:
    return next((obj for obj in read.members(layout) if obj.Kind == "car"), None)
