"""Document to model: the one place that knows which object holds what, and the one place for global frames."""
from __future__ import annotations

import os
from collections.abc import Iterable
from dataclasses import replace
from typing import Any

import FreeCAD as App

from .. import catalog, model
from ..catalog import solid_files, used
from ..geometry import chassis_tube
from ..mechanics.scene import Scene
from ..progress import working_on
from ..record import entries
from ..snapshot import UPSTREAM, PartView, Snapshot, Unsound
from ..units import read_in, sized
from . import drawn_tubes
from .base import UNLINKED, PartFeature, car_units, is_ours
from .plan import expected
from .registry import CLASSES, CONTAINER, PARTS, proxy_class


class ReadError(ValueError):
    """A document in which no car can be found. One sentence."""


def layouts(document: App.Document) -> list:
    """The layout objects of a document, one a car, by name."""
    return sorted((obj for obj in document.Objects if getattr(obj, "Kind", "") == "layout"), key=lambda obj: obj.Name)


def newer(document: App.Document) -> str:
    """Why a document is not read: one sentence that names what it holds and what this program knows; empty where it can be read. What a
    newer crankline wrote may mean something else by the same names."""
    own = [obj for obj in document.Objects if is_ours(obj)]
    car = next((obj for obj in own if obj.Kind == "car"), None)
    for obj in own:
        known = 1 if obj.Kind == CONTAINER else proxy_class(obj.Kind).schema if obj.Kind in CLASSES else None
        if known is None:
            held = f", whose car is of schema {car.SchemaVersion}" if car is not None else ""
            return (f"{document.Label}: {obj.Label} is of the kind {obj.Kind!r} of a newer Crankline{held}; this one knows schema "
                    f"{proxy_class('car').schema} and not that kind, so open it with the Crankline that wrote it")
        if obj.SchemaVersion > known:
            return (f"{document.Label}: {obj.Label} was written by a newer Crankline ({obj.Kind} of schema {obj.SchemaVersion}; this one "
                    f"knows {known}); open it with the Crankline that wrote it")
    return ""


def only_layout(document: App.Document):
    """The layout of a document that holds one car; ReadError where there is none or more than one."""
    if told := newer(document):
        raise ReadError(told)
    found = layouts(document)
    if len(found) != 1:
        what = "no car" if not found else f"{len(found)} cars"
        raise ReadError(f"{document.Label}: the document holds {what}; open one that holds a single car made by Crankline")
    return found[0]


def recompute(document: App.Document) -> None:
    """Recompute a document, what was saved in error too: the host keeps that as it is, and its sentence is lost."""
    for obj in document.Objects:
        if is_ours(obj) and "Invalid" in obj.State:
            obj.touch()
    document.recompute()


def settled(document: App.Document) -> bool:
    """Whether a recompute would do nothing: nothing was changed since the last one, and nothing is in error."""
    return not any({"Touched", "Invalid"} & set(obj.State) for obj in document.Objects)


def members(layout) -> list:
    """Every object of a layout's car, sorted by key: what links to it and what it links to."""
    own = {obj.Name: obj for obj in layout.InList if is_ours(obj) and getattr(obj, "Layout", None) is layout}
    for name in ("Chassis", "Engine", "Transmission"):
        linked = getattr(layout, name, None)
        if linked is not None:
            own[linked.Name] = linked
    own[layout.Name] = layout
    return sorted(own.values(), key=lambda obj: (obj.Key, obj.Name))


def containers(layout) -> list:
    """The App::Parts that hold a car, root first."""
    found, queue = [], [layout]
    while queue:
        for parent in queue.pop().InList:
            if getattr(parent, "Kind", "") == CONTAINER and parent not in found:
                found.append(parent)
                queue.append(parent)
    for parent in list(found):
        found += [child for child in parent.Group if getattr(child, "Kind", "") == CONTAINER and child not in found]
    return sorted(found, key=lambda part: (part.Key != "root", part.Key))


def car(layout) -> model.Car:
    """The model that the document's properties hold, absent fields absent. Lossless: it equals the model that was made."""
    if told := newer(layout.Document):
        raise ReadError(told)
    by_kind: dict[str, list] = {}
    for obj in members(layout):
        by_kind.setdefault(obj.Kind, []).append(obj)

    def one(kind: str) -> Any:
        obj = by_kind.get(kind, [None])[0]
        return None if obj is None else _reader(obj).read(obj, absent=True)

    def several(kind: str, name: str) -> Any:
        rows = tuple(_reader(obj).read(obj, absent=True) for obj in _in_order(by_kind, kind))
        return rows if rows or name in given else None

    def section(record: type) -> dict[str, Any]:
        """Every part of a section of the car file, by the record that it holds."""
        kinds = {proxy_class(kind).record: kind for kind in CLASSES}
        return {name: one(kinds[entry.record]) for name, entry in entries(record).items()}

    if "car" not in by_kind:
        raise ReadError(f"{layout.Label}: the car object was deleted; undo that or make the document again")
    car_object, chassis = by_kind["car"][0], layout.Chassis
    given = set(car_object.Given)
    loops = tuple(_reader(obj).read(obj, absent=True) for obj in _in_order(by_kind, "split_loop", "fixed_loop"))
    # A model leaves out what a document does not give.
    absent: Any = None
    containment: Any = model.Containment(loops=loops if loops or "containment.loops" in given else absent,
                                    enclosure=one("enclosure"), tunnel=one("tunnel"))
    if containment == model.Containment() and "containment" not in given:
        containment = None
    rules = _reader(car_object).read_rules(car_object, absent=True)
    if rules is None and "rules" in given:
        rules = model.Rules()
    title_block = _reader(car_object).read_title_block(car_object, absent=True)
    if title_block is None and "title_block" in given:
        title_block = model.TitleBlock()
    return model.Car(
        car=_reader(car_object).read(car_object, absent=True),
        chassis=replace(chassis.Proxy.read(chassis, absent=True), tubes=several("frame_tube", "chassis.tubes")),
        rear_end=chassis.Proxy.read_rear_end(chassis, absent=True),
        engine=layout.Engine.Proxy.read(layout.Engine, absent=True),
        transmission=layout.Transmission.Proxy.read(layout.Transmission, absent=True),
        placement=layout.Proxy.read(layout, absent=True),
        plates=model.Plates(**section(model.Plates)),
        mounts=model.Mounts(**section(model.Mounts)),
        driveshaft=one("driveshaft"),
        headers=several("header", "headers"),
        containment=containment,
        masses=several("mass", "masses"),
        protective_items=several("protective_item", "protective_items"),
        rules=rules,
        title_block=title_block,
    )


def _reader(obj):
    """What reads an object's properties: its proxy, or one of its kind where it has lost its own. Its numbers are still there."""
    proxy = getattr(obj, "Proxy", None)
    return object.__new__(proxy_class(obj.Kind)) if proxy is None else proxy


def _in_order(by_kind: dict[str, list], *kinds: str) -> list:
    """Objects of some kinds as the car file lists them: by their number where they have one, else by their key."""
    return sorted((obj for kind in kinds for obj in by_kind.get(kind, [])), key=lambda obj: (getattr(obj, "Number", 0), obj.Key))


def snapshot(layout) -> Snapshot:
    """Everything that checks and sheets need, with what is unsound about the document. Recompute first."""
    objects = members(layout)
    picture: model.Car | None = None
    unread: AttributeError | ValueError | None = None
    try:
        picture = car(layout)
    except (AttributeError, ValueError) as error:
        unread = error
    with read_in(lambda: car_units(layout)):
        unsound = list(_unsound(layout, objects, picture))
    ill = {obj.Key for obj in objects if isinstance(getattr(obj, "Proxy", None), PartFeature) and obj.Proxy.nonsense(obj)}
    dead = {note.key for note in unsound if note.kind in ("proxy", "invalid", "link")}
    scene: Scene | None = None
    if not dead & set(UPSTREAM):
        scene = layout.Proxy.scene(layout)
    if picture is None:
        if isinstance(unread, AttributeError) and not dead:
            raise unread
        raise ReadError(f"the car cannot be read: {root_cause(unsound) or unread}")
    return Snapshot(picture, scene, tuple(_views((obj for obj in objects if obj.Key not in ill), scene)), tuple(unsound))


def not_fit(shot: Snapshot) -> str:
    """Why nothing may be written from a snapshot, one sentence: layout, chassis or what they rest on is not up to date, so that every
    number is that of an earlier state. Empty where it may."""
    return root_cause(item for item in shot.unsound if item.blocking) if any(item.blocking for item in shot.unsound) else ""


def root_cause(unsound: Iterable[Unsound]) -> str:
    """The message of what is unsound furthest upstream (the rest follows from it), and how many more there are."""
    order = {key: number for number, key in enumerate(("chassis", "engine_data", "transmission_data", "layout"))}
    notes = sorted((note for note in unsound if note.kind in ("invalid", "proxy", "link", "moved", "missing", "stale", "touched")),
                   key=lambda note: (order.get(note.key, len(order)), note.kind == "touched", note.key))
    if not notes:
        return ""
    more = f" ({len(notes) - 1} more objects follow from it or are in error too)" if len(notes) > 1 else ""
    return notes[0].message + more


def views(layout, keys: Iterable[str]) -> Iterable[PartView]:
    """The parts of some keys as a snapshot has them, as far as they are there and hold a shape that can be measured."""
    wanted = set(keys)
    return _views((obj for obj in members(layout) if obj.Key in wanted and "Invalid" not in obj.State
                   and isinstance(getattr(obj, "Proxy", None), PartFeature) and not obj.Proxy.nonsense(obj)), None)


def _views(objects: Iterable, scene: Scene | None) -> Iterable[PartView]:
    for obj in objects:
        proxy = getattr(obj, "Proxy", None)
        if not isinstance(proxy, PartFeature) or obj.Shape.isNull():
            continue
        about = proxy.declaration(obj.Key)
        try:
            records = proxy.records(obj)
            material, moves = proxy.material(records, scene), proxy.moves(records)
        except ValueError:   # told on its own
            material, moves = getattr(obj, "Material", ""), about.moves_with
        yield PartView(obj.Key, obj.Kind, obj.Label, material, obj.MassKg or None, obj.Shape, moves, obj.ShapeDigest, about.welded,
                       about.reference, getattr(obj, "DevelopedAreaMm2", 0.0) or None,
                       float(obj.DevelopedLength.Value) or None if hasattr(obj, "DevelopedLength") else None)


def _unsound(layout, objects: Iterable, picture: model.Car | None) -> Iterable[Unsound]:
    yield from _unsound_members(layout, objects, picture)
    for obj in objects:
        blocking = obj.Kind in UPSTREAM
        if getattr(obj, "Proxy", None) is None:
            yield Unsound(obj.Key, "proxy", f"{obj.Label} {UNLINKED}", blocking)
            continue
        if "Invalid" in obj.State:
            yield Unsound(obj.Key, "invalid", f"{obj.Label} is in error: {obj.getStatusString()}", blocking)
            continue
        if cause := _waits_for(obj):
            yield Unsound(obj.Key, "touched", f"{obj.Label} waits for {cause.Label}, which is in error", blocking)
            continue
        if "Touched" in obj.State:
            yield Unsound(obj.Key, "touched", f"{obj.Label} was not settled by the recompute; recompute again", blocking)
        for name, _doc in obj.Proxy.links:
            if getattr(obj, name) is None and name not in obj.Proxy.optional_links:
                yield Unsound(obj.Key, "link", f"{obj.Label}: {name} links to nothing; set it", blocking)
        if isinstance(obj.Proxy, PartFeature):
            yield from _unsound_shape(obj)
    yield from _unsound_data(layout, objects)
    for part in containers(layout):
        place = part.Placement
        if part.Key != "root" and (place.Base.Length > 1e-9 or abs(place.Rotation.Angle) > 1e-12):
            yield Unsound(part.Key, "moved", f"container {part.Label} was moved by {sized(place.Base.Length)}; set its "
                          "placement back to nothing, the car frame is the root's", True)


def _waits_for(obj):
    """The object in error because of which the host has not executed this one; None where there is none."""
    if "Touched" not in obj.State and not (isinstance(obj.Proxy, PartFeature) and obj.Shape.isNull()):
        return None
    return next((other for other in obj.OutListRecursive if is_ours(other) and "Invalid" in other.State), None)


def _unsound_members(layout, objects: Iterable, picture: model.Car | None) -> Iterable[Unsound]:
    """Parts that the car should have and has not, or has and should not, and objects that fell out of it."""
    for obj in layout.Document.Objects:
        if not is_ours(obj) or obj.Kind == CONTAINER:
            continue
        if "Layout" in obj.PropertiesList and obj.Layout is None:
            yield Unsound(obj.Key, "link", f"{obj.Label}: Layout links to nothing, so it belongs to no car; set it to the layout")
    wanted = _wanted(layout, picture)
    if wanted is None:
        yield from _deleted(objects, set())
        return   # what stops the reading is told on its own
    yield from _deleted(objects, wanted)
    held = {obj.Key for obj in objects if obj.Kind in PARTS}
    for key in sorted(wanted - held):
        yield Unsound(key, "missing", f"{key} is missing: this car has it, but the document holds no such part; run Repair Document "
                      "(crankline), which adds it, undo its deletion, or set its Layout again")
    for key in sorted(held - wanted):
        yield Unsound(key, "extra", f"{key} is a part that this car does not have; delete it, or rename the loop that it belongs to")


def _wanted(layout, picture: model.Car | None) -> set[str] | None:
    """Keys of the parts that the car should have; None where nothing can be placed."""
    if picture is None:
        return None
    try:
        return expected(picture, layout.Proxy.scene(layout))
    except (AttributeError, ValueError):
        return None


def _deleted(objects: Iterable, wanted: set[str]) -> Iterable[Unsound]:
    """What the document was made with and no longer holds, and what no other object asks for: a deleted protector would else be a car
    without one. A document of an older crankline does not remember."""
    remembered = next((set(obj.MadeWith) for obj in objects if obj.Kind == "car" and "MadeWith" in obj.PropertiesList), set())
    for key in sorted(remembered - {obj.Key for obj in objects} - wanted):
        yield Unsound(key, "missing", f"{key} was deleted: this document was made with it; undo that, or take it out of the car under Edit "
                      "Car, or build the document again from a car file without it")


def _unsound_data(layout, objects: Iterable) -> Iterable[Unsound]:
    """Numbers that contradict one another or what they were taken from; nothing that stops a reading."""
    chassis = layout.Chassis
    if chassis is not None and getattr(chassis, "Proxy", None) is not None and "Invalid" not in chassis.State:
        axle, radius = float(chassis.AxleHeight.Value), float(chassis.RearTireLoadedRadius.Value)
        if abs(axle - radius) > 1.0:
            yield Unsound(chassis.Key, "axle", f"the rear axle is {sized(axle)} above the track in the side sketch, but the "
                          f"tire's loaded radius is {sized(radius)}")
    if scene_chassis := _chassis_record(layout):
        for key, message in chassis_tube.missing(scene_chassis).items():
            yield Unsound(key, "undrawn", message)
        named = {drawn_tubes.role_of(obj.Key.partition("/")[2]) for obj in objects if obj.Kind == "frame_tube"}
        for role in sorted(drawn_tubes.of(chassis).keys() - named):
            yield Unsound(chassis.Key, "undrawn", f"the chassis sketches draw {role}, but the car has no tube of that name, so it is not "
                          "there; add a chassis tube of that name with its section, or take the role off its elements")
    for obj in (layout.Engine, layout.Transmission):
        if obj is not None and getattr(obj, "Proxy", None) is not None and (told := _off_its_row(obj)):
            yield Unsound(obj.Key, "catalogue", f"{obj.Label}: {told}")
    yield from _unsound_solids(layout)


def _unsound_solids(layout) -> Iterable[Unsound]:
    """Bodies whose files are not there as they were used: what is measured on them would be measured on something else."""
    if layout.Document.FileName:
        solid_files.look_in(os.path.dirname(layout.Document.FileName))
    for obj, key in ((layout.Engine, "engine"), (layout.Transmission, "transmission")):
        try:
            solid = obj.Proxy.read(obj).solid
        except (AttributeError, ValueError):
            continue   # told on its own
        if solid is not None and (told := solid_files.problem(solid)):
            yield Unsound(key, "solid", f"{obj.Label}: {told}")


def _off_its_row(obj) -> str:
    """What sets an engine's or transmission's figures apart from the catalog row that it names; empty where nothing does."""
    try:
        held = obj.Proxy.read(obj, absent=True)
    except ValueError:
        return ""   # told on its own
    row, changed = used.row_of(held), used.departing(held)
    if row is None:
        if held.shop is None:
            return f"the catalog holds no row {obj.Use!r}"
        return f"{used.called(held)} (the shop's catalog is not here)" if changed else ""
    if obj.RowDigest and catalog.row_digest(used.TABLE_OF[type(held)], obj.Use) != obj.RowDigest:
        return f"the catalog's row {obj.Use!r} has changed since it was used" + (f": {used.called(held)}" if changed else "")
    return used.called(held) if changed else ""


def _chassis_record(layout) -> model.Chassis | None:
    try:
        return layout.Chassis.Proxy.read(layout.Chassis)
    except (AttributeError, ValueError):
        return None   # told on its own


def _unsound_shape(obj) -> Iterable[Unsound]:
    working_on(obj.Label)
    if obj.Shape.isNull():
        yield Unsound(obj.Key, "invalid", f"{obj.Label} has no shape; recompute the document")
        return
    if wrong := obj.Proxy.nonsense(obj):
        yield Unsound(obj.Key, "invalid", f"{obj.Label}: its shape {wrong}; run Rebuild Shapes, or restore the document from a copy")
        return
    try:
        fresh = obj.Proxy.current_digest(obj)
    except ValueError as error:
        yield Unsound(obj.Key, "invalid", f"{obj.Label} is in error: {error}")
        return
    if fresh != obj.ShapeDigest:
        yield Unsound(obj.Key, "stale", f"{obj.Label}: the shape is older than its inputs; recompute the document, or run Repair Document "
                      "(crankline) where an older Crankline made it")
    elif not obj.Proxy.as_built(obj):
        kind = "altered" if obj.Proxy.declaration(obj.Key).protective else "edited"
        yield Unsound(obj.Key, kind, f"{obj.Label}: the shape was edited by hand and is kept while its inputs stay the "
                      "same; clear its ShapeDigest to have it built again")



def rebuild(layout) -> None:
    """Clear every digest of a layout's car, so that the next recompute builds its shapes again; another car in the document keeps
    its own."""
    for obj in members(layout):
        if hasattr(obj, "ShapeDigest"):
            obj.ShapeDigest = ""
            obj.touch()


def kinds() -> tuple[str, ...]:
    """Every kind that a document may hold."""
    return tuple(CLASSES)
