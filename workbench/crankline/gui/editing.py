"""Adding, editing, duplicating and removing what a car is made of, by its sections. Every change goes through ``apply``: one undo step."""
from __future__ import annotations

from collections.abc import Callable
from datetime import date
from typing import Any

from .. import model, preferences, sections
from ..features import read
from ..features.apply import apply
from ..features.edited import Place, foreseen, keys_at, place_of
from ..features.first_values import first
from ..features.plan import expected
from ..features.registry import declared, proxy_class
from ..record import sparse
from ..units import read_in
from . import edit_panel, place_panel
from .messages import agreed, show_status
from .record_form import words
from .task_panel import in_error

SKETCHES = "chassis.sketches"
"""The section that no form serves: sketches are drawn, and have a panel of their own."""


class EditError(ValueError):
    """Something that cannot be edited as asked. One sentence."""


def label_of(path: str) -> str:
    """What a section is called: as the part that it makes, else by its name in the car file."""
    section = sections.sections().get(path)
    record = section.record if section is not None else None
    own = next((part.label for part in declared().values() if part.section == path and proxy_class(part.kind).record is record), None)
    named = {SKETCHES: "Chassis sketches", "masses": "Mass", "protective_items": "Protective item"}
    return own or named.get(path) or words(path.rpartition(".")[2])


def title_of(place: Place, car: Any) -> str:
    """A section by its label, an item by its name too."""
    names = sections.items(car, place.path) if place.item is not None else ()
    return f"{label_of(place.path)}, {names[place.item]}" if place.item is not None and place.item < len(names) else label_of(place.path)


def edit(layout, place: Place) -> bool:
    """Open the panel of a section that a car has."""
    if place.path == "placement":
        return place_powertrain(layout)
    if place.path == SKETCHES:
        from . import sketches_panel
        return sketches_panel.show(layout)
    car = read.car(layout)
    held = sections.get(car, place.path, place.item)
    if held is None:
        return add(layout, place.path)
    return edit_panel.show(layout, place, held, f"Edit {title_of(place, car)}")


def place_powertrain(layout) -> bool:
    """Open the placement panel of a layout; False, with a sentence, where it cannot be placed or another panel is open."""
    return place_panel.show(layout)


def edit_object(obj) -> None:
    """Open the panel of the section that an object of a car shows; EditError where there is none."""
    on_object(obj, edit)


def on_object(obj, action: Callable[[Any, Place], object]) -> None:
    """Do something with the section that an object of a car shows; EditError where there is none."""
    layout = obj if obj.Kind == "layout" else _layout_of(obj)
    place = place_of(obj.Kind, obj.Key, read.car(layout)) if layout is not None else None
    if layout is None or place is None:
        raise EditError(f"{obj.Label}: it belongs to no section of a car; run Repair Document")
    action(layout, place)


def is_item(obj) -> bool:
    """Whether an object is an item of a list, of which a car may have more."""
    layout = obj if obj.Kind == "layout" else _layout_of(obj)
    place = place_of(obj.Kind, obj.Key, read.car(layout)) if layout is not None else None
    return place is not None and place.item is not None


def _layout_of(obj):
    if "Layout" in obj.PropertiesList:
        return obj.Layout
    return next((layout for layout in read.layouts(obj.Document) if obj in read.members(layout)), None)


def add(layout, path: str) -> bool:
    """Open the panel of a section that a car does not have yet, or of the next item of a list, with values to begin with."""
    car = read.car(layout)
    section = sections.section_of(path)
    place = Place(path, len(sections.items(car, path)) if section.many else None)
    if path == "title_block":
        record = first_title_block()
    else:
        with read_in(car.car.units):
            record = first(path, car, foreseen(layout, car))
    return edit_panel.show(layout, place, record, f"Add {label_of(path)}")


def first_title_block() -> model.TitleBlock:
    """The title block of a car that has none: the shop of the preferences, and today."""
    begun: model.TitleBlock = sparse(model.TitleBlock, shop=preferences.held().shop or None, issued=date.today().isoformat())
    return begun


def added(what: str) -> str:
    """What is said of a copy."""
    return f"{what} added in the same place as the first one; edit it next"


def duplicate(layout, place: Place) -> None:
    """Another item of a list, like one that is there, under a name of its own; EditError for what a car has once."""
    car = read.car(layout)
    section = sections.section_of(place.path)
    if not section.many or place.item is None:
        raise EditError(f"{label_of(place.path)}: a car has one; edit it instead")
    more, name = sections.joined(car, place.path, sections.get(car, place.path, place.item))
    apply(layout, more, title=f"Duplicate {title_of(place, car)}")
    show_status(in_error(layout) or added(f"{label_of(place.path)} {name}"))


def remove(layout, place: Place) -> bool:
    """Take a section out of a car, once the user has agreed to what goes with it; ValueError where no car is without it."""
    car = read.car(layout)
    less = sections.without(car, place.path, place.item)
    name = title_of(place, car)
    if not agreed(f"Remove {name}", f"Remove {name} from {car.car.name}?", _goes_with(layout, car, less, place)):
        return False
    apply(layout, less, title=f"Remove {name}")
    show_status(in_error(layout) or f"{name} removed")
    return True


def _goes_with(layout, car: Any, less: Any, place: Place) -> str:
    """What else leaves the document with a section, in words; empty where nothing does or the car cannot be laid out."""
    labels = {obj.Key: obj.Label for obj in read.members(layout)}
    try:
        with read_in(car.car.units):
            scene, other = foreseen(layout, car), foreseen(layout, less)
            keys = [key for key in keys_at(place, car, scene) if key in labels]
            gone = [key for key in expected(car, scene) - expected(less, other) if key in labels]
    except ValueError as error:
        return str(error)
    more = sorted(labels[key] for key in gone if key not in keys[:1])
    return f"These go with it: {', '.join(more)}." if more else ""
