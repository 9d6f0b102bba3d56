"""The sketches of a chassis that stands in a document of its own: copied, so that the car's document needs no other one."""
from __future__ import annotations

from pathlib import Path
from typing import Any

import FreeCAD as App

from .. import model
from .plan import MakeError


def copied_sketches(target: App.Document, named: model.Sketches, folder: Path) -> tuple[Any, Any]:
    """Copies of the two sketches of an existing document, which is opened, read and closed, never saved."""
    path = folder / named.file
    if Path(named.file).name != named.file:
        raise MakeError(f"chassis.sketches.file: {named.file!r} is a path; give the name of a document beside the car file")
    if not path.is_file():
        raise MakeError(f"chassis.sketches.file: {named.file} is not beside the car file; put it there or give the chassis "
                        "as numbers")
    before = set(App.listDocuments())
    try:
        source = App.openDocument(str(path), True)
    except Exception as error:
        raise MakeError(f"chassis.sketches.file: {named.file} cannot be opened as a FreeCAD document ({' '.join(str(error).split())}); "
                        "save it again or give the chassis as numbers") from None
    opened_here = source.Name not in before
    try:
        found = []
        for role, label in (("side", named.side), ("plan", named.plan)):
            matches = [obj for obj in source.Objects
                       if obj.TypeId.startswith("Sketcher::SketchObject") and label in (obj.Label, obj.Name)]
            if len(matches) != 1:
                names = ", ".join(obj.Label for obj in source.Objects if obj.TypeId.startswith("Sketcher::SketchObject"))
                what = "is not in" if not matches else "appears twice in"
                raise MakeError(f"chassis.sketches.{role}: a sketch {label!r} {what} {named.file}; its sketches are: "
                                f"{names or 'none'}")
            place = matches[0].getGlobalPlacement()
            copy = target.copyObject(matches[0], False)
            copy.MapMode = "Deactivated"   # what it was attached to stays in its own document
            copy.Placement = place
            found.append(copy)
        return found[0], found[1]
    finally:
        if opened_here:
            App.closeDocument(source.Name)
