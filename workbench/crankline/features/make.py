"""A whole car as a document: used alike by headless runs, the window and tests."""
from __future__ import annotations

import re
from pathlib import Path
from typing import Any

import FreeCAD as App

from .. import model
from .apply import Reconciler
from .base import identify
from .plan import CONTAINERS
from .registry import CONTAINER


def document(car: model.Car, name: str = "Car", folder: str | Path | None = None) -> App.Document:
    """A new document holding the car, recomputed. ``folder`` is where a named sketch document is looked for."""
    made = App.newDocument(re.sub(r"\W", "_", name) or "Car")
    made.Label = name
    try:
        add_car(made, car, folder)
        made.recompute()
    except Exception:
        App.closeDocument(made.Name)
        raise
    return made


def add_car(target: App.Document, car: model.Car, folder: str | Path | None = None):
    """Add a car to a document; only its chassis and layout are recomputed. Returns its layout object; MakeError says why the car cannot
    be placed. Several cars in one document are legal."""
    return Reconciler(target, _containers(target, car.car.name), {}).settle(None, car, folder)


def _containers(target: App.Document, name: str) -> dict[str, Any]:
    """The tree that holds a car: key to App::Part."""
    root = target.addObject("App::Part", "Crankline")
    root.Label = name
    identify(root, CONTAINER, "root", 1)
    found = {"root": root}
    for key, title in CONTAINERS:
        part = target.addObject("App::Part", title)
        part.Label = title
        identify(part, CONTAINER, key, 1)
        part.setPropertyStatus("Placement", "ReadOnly")
        root.addObject(part)
        found[key] = part
    return found
