"""What every document object of ours is: properties from a table, a kind, a key, a schema number, a live proxy.

Nothing outside the object is written by execute, and links run one way: chassis and data, layout, parts (a cycle would be
accepted by the host in silence). A part keeps its shape as long as the digest of its inputs holds.
"""
from __future__ import annotations

from collections import Counter
from collections.abc import Callable
from functools import cache
from typing import Any, ClassVar

import crankline

from .. import catalog
from ..compat import add_property, same_placement, untraced
from ..geometry import measure
from ..host import FreeCAD as App
from ..host import Part
from ..mechanics.frames import Frame
from ..mechanics.scene import Scene, build
from ..progress import working_on
from ..record import FAR
from ..units import read_in
from . import copied_keys, props, shared_shapes
from .digest import digest
from .part_kind import PartKind
from .records import Records
from .result_properties import output, put_mark

UNLINKED = "is no longer linked to Crankline; run Repair Document"
"""What is said of an object whose program part is lost."""

counts: Counter = Counter()
"""How often objects were executed and shapes built since the process started: ``executes``, ``builds``, and each with a
key. Tests and the bench read it."""

IDENTITY_PROPERTIES = (("App::PropertyString", "Kind", "What this object is"),
                       ("App::PropertyString", "Key", "Name of this object in reports; unique in a car"),
                       ("App::PropertyInteger", "SchemaVersion", "Version of this object's properties"))


def identify(obj, kind: str, key: str, schema: int) -> None:
    """Give an object its kind, key and schema number, read-only to the user."""
    for host_type, name, doc in IDENTITY_PROPERTIES:
        add_property(obj, host_type, name, "Identity", doc)
        obj.setPropertyStatus(name, ["ReadOnly", "Output"])
    obj.Kind, obj.SchemaVersion = kind, schema
    if not obj.Key:
        obj.Key = key


class Feature:
    """Base of all proxies. Holds no document object; all state is in the object's properties, and what is kept beside them is only what
    was computed from them."""

    kind: ClassVar[str] = ""
    schema: ClassVar[int] = 1
    record: ClassVar[type | None] = None
    links: ClassVar[tuple[tuple[str, str], ...]] = ()
    """(property, what it links to) besides Layout."""
    optional_links: ClassVar[tuple[str, ...]] = ()
    link_lists: ClassVar[tuple[tuple[str, str], ...]] = ()
    """(property, what it lists); empty lists are allowed."""
    has_layout: ClassVar[bool] = True
    shown: ClassVar[tuple[str, ...]] = ()
    """Properties that belong to an object upstream and are only shown here."""

    def __init__(self, obj, key: str = ""):
        obj.Proxy = self
        self.ensure(obj)
        obj.Key = key or self.kind
        self._dress(obj)

    @classmethod
    def rows(cls) -> tuple[props.Prop, ...]:
        """The property table of this kind."""
        return props.table(cls.record) if cls.record else ()

    def ensure(self, obj) -> None:
        """Add every property that is missing: at creation, after restoring an older file, and in a repair."""
        identify(obj, self.kind, self.kind, self.schema)
        if self.has_layout:
            add_property(obj, "App::PropertyLinkGlobal", "Layout", "Links", "The layout that places this car's powertrain")
        for name, doc in self.links:
            add_property(obj, "App::PropertyLinkGlobal", name, "Links", doc)
        for name, doc in self.link_lists:
            add_property(obj, "App::PropertyLinkListGlobal", name, "Links", doc)
        props.ensure(obj, self.rows(), self.shown)

    def onDocumentRestored(self, obj) -> None:
        from . import migrate
        migrate.upgrade(obj, self)
        known = set(obj.PropertiesList)
        self.ensure(obj)
        if set(obj.PropertiesList) - known:
            try:
                self.fill(obj)
            except (AttributeError, ValueError):
                pass   # what is not whole is told where it is read, and filled when it is executed
        if self.has_layout:
            copied_keys.separate(obj)
        elif obj.Key != self.kind:
            obj.Key = self.kind     # one a car; an older crankline took it for a copy of the container of this name
        self._dress(obj)

    @staticmethod
    def _dress(obj) -> None:
        if App.GuiUp and crankline.gui_hook is not None:
            crankline.gui_hook(obj)

    def execute(self, obj) -> None:
        if obj.SchemaVersion > self.schema:
            raise untraced(f"{obj.Label} was written by a newer Crankline ({self.kind} of schema {obj.SchemaVersion}; this one knows "
                             f"{self.schema}); open it with the Crankline that wrote it")
        working_on(obj.Label)
        counts["executes"] += 1
        counts[f"executes {obj.Key}"] += 1
        if wrong := self._wrong(obj):
            raise untraced(wrong)   # here, where nothing else holds it

    def _wrong(self, obj) -> str:
        """Do it; the sentence of what is wrong with the object's numbers, empty where nothing is. What is no user's mistake is raised."""
        try:
            with read_in(lambda: car_units(obj)):
                self.run(obj)
        except ValueError as error:
            return str(error) or type(error).__name__
        return ""

    def run(self, obj) -> None:
        """What execute does; the base only proves that the properties can be read."""
        if self.record is not None:
            self.read(obj)

    def fill(self, obj) -> None:
        """Write results that a document of an older crankline does not hold; nothing is executed or built for them."""

    def read(self, obj, absent: bool = False) -> Any:
        """The record that this object holds (see ``props.read``)."""
        if self.record is None:
            raise TypeError(f"{type(self).__name__} holds no record")
        return self.held(obj, self.rows(), self.record, absent)

    def held(self, obj, rows: tuple[props.Prop, ...], record: type, absent: bool) -> Any:
        """One of the records that this object holds: read once, and again when one of its properties was changed."""
        known = vars(self).setdefault("_records", {})
        if (record, absent) not in known:
            known[record, absent] = props.read(obj, rows, record, absent)
        return known[record, absent]

    @classmethod
    @cache
    def _held(cls) -> frozenset[str]:
        """Properties that its record is read from."""
        return frozenset(("Unset", *(row.name for row in cls.rows())))

    def onChanged(self, obj, name: str) -> None:
        """What the host calls when a property was changed: by the user, an expression, undo, or us."""
        if name in self._held():
            vars(self).pop("_records", None)

    def dumps(self):
        return None

    def loads(self, state):
        return None

    __getstate__ = dumps   # 0.20 knows only these names
    __setstate__ = loads


def car_units(obj) -> str | None:
    """The units in which the car of an object is written; looked up only where a message needs them."""
    layout = obj if obj.Kind == "layout" else getattr(obj, "Layout", None)
    cars = [other for other in obj.Document.Objects if getattr(other, "Kind", "") == "car"]
    own = next((car for car in cars if car.Layout == layout), None) if layout is not None else None
    found = own or (cars[0] if cars else None)
    return str(found.Units) if found is not None else None


def layout_of(obj):
    """The layout that an object belongs to; a sentence for the user where the link was cut."""
    layout = obj.Layout
    if layout is None or getattr(layout, "Proxy", None) is None:
        raise ValueError(f"{obj.Label}: Layout links to nothing; set it to the layout of this car")
    if "Invalid" in layout.State:
        # The host would keep our old shape as up to date when the layout has failed.
        raise ValueError(f"{obj.Label}: the layout is in error, so this part cannot be placed; see the layout's message")
    return layout


def linked_record(obj, name: str) -> Any:
    """The record of a linked object; None where the link is empty, a sentence where what it links to is dead."""
    linked = getattr(obj, name)
    if linked is None:
        return None
    if getattr(linked, "Proxy", None) is None:
        raise ValueError(f"{obj.Label}: {name} links to {linked.Label}, which {UNLINKED}")
    return linked.Proxy.read(linked)


def linked_records(obj, name: str) -> tuple:
    """The records of a list of linked objects, in the order of the list; what has lost its program part is a sentence."""
    for linked in getattr(obj, name):
        if getattr(linked, "Proxy", None) is None:
            raise ValueError(f"{obj.Label}: {name} holds {linked.Label}, which {UNLINKED}")
    return tuple(linked.Proxy.read(linked) for linked in getattr(obj, name))


def host_placement(frame: Frame | None) -> App.Placement:
    """A frame of the mechanics as a placement of the host; None is the car frame."""
    if frame is None:
        return App.Placement()
    (a, b, c), (d, e, f), (g, h, i) = frame.rotation.tolist()
    x, y, z = frame.origin.tolist()
    return App.Placement(App.Matrix(a, b, c, x, d, e, f, y, g, h, i, z, 0, 0, 0, 1))


class PartFeature(Feature):
    """A leaf part with a shape. A subclass names its geometry module, its spec and what it moves with.

    What follows from numbers is computed from ``Records`` and a scene alone, so that it is the same for a document's object and for a part
    that is only thought of; the object collects its records and writes what comes of them.
    """

    geometry: Any = None
    declares: ClassVar[tuple[PartKind, ...]] = ()
    """What it is: one entry, or one for each thing that it serves for, told apart by the first word of the key."""
    material_of: ClassVar[str] = ""
    """Link to the part or table whose material it is made of; empty where its own record says."""
    states: ClassVar[tuple[tuple[str, Any], ...]] = ()
    """(property, value of a part as it is fitted) of what only tells how it is shown."""

    # ------------------------------------------------------------------------------------------ from records alone

    @classmethod
    def declaration(cls, key: str) -> PartKind:
        """What the part of a key is."""
        stem = key.partition("/")[0]
        return next((one for one in cls.declares if one.role == stem), cls.declares[0])

    @classmethod
    def spec(cls, records: Records, scene: Scene) -> Any:
        """The frozen spec of the shape."""
        raise NotImplementedError

    @classmethod
    def frame(cls, records: Records, scene: Scene) -> Frame | None:
        """Where the local frame stands in the car frame; None for the car frame itself."""
        return scene.engine_frame

    @classmethod
    def moves(cls, records: Records) -> str:
        """What it moves with when the placement changes (``snapshot``)."""
        return cls.declaration(records.key).moves_with

    @classmethod
    def material(cls, records: Records, scene: Scene | None) -> str:
        """Name of the material, empty where there is none."""
        held = records[cls.material_of] if cls.material_of else records.own
        return getattr(held, "material", None) or ""

    @classmethod
    def mass(cls, records: Records, scene: Scene, volume: Callable[[], float]) -> float:
        """Mass in kg, 0 where the material is not known; volume: of its shape, mm3."""
        name = cls.material(records, scene)
        return catalog.material(name).density * volume() if name else 0.0

    @classmethod
    def unfinished(cls, records: Records) -> str:
        """What the part is still without, in words, so that nothing is cut from it yet; empty where it is whole."""
        return ""

    @classmethod
    def digest(cls, spec: Any) -> str:
        """Digest of a spec and its builder's version: equal digest, equal shape."""
        return digest(spec, cls.geometry.VERSION)

    # ------------------------------------------------------------------------------------------ a document's object

    def ensure(self, obj) -> None:
        super().ensure(obj)
        obj.setPropertyStatus("Placement", "ReadOnly")   # it follows from the numbers at each recompute
        output(obj, "App::PropertyString", "ShapeDigest", "Internal", "Digest of the inputs of the shape", hidden=True)
        output(obj, "App::PropertyString", "ShapeMark", "Internal", "Tells the shape as built from one edited by hand", hidden=True)
        output(obj, "App::PropertyFloat", "MassKg", "Results", "Mass (kg); 0 where the material gives none")

    def records(self, obj) -> Records:
        """What the part is made from, collected from the object and from what it links to; ValueError where that is not whole."""
        for name, _doc in self.links:
            if getattr(obj, name) is None and name not in self.optional_links:
                raise ValueError(f"{obj.Label}: {name} links to nothing; set the link")
        linked = {name: linked_record(obj, name) for name, _doc in self.links}
        linked.update({name: linked_records(obj, name) for name, _doc in self.link_lists})
        return Records(obj.Key, obj.Label, self.read(obj) if self.record else None, linked,
                       {name: getattr(obj, name) for name, _fitted in self.states})

    def spec_of(self, obj) -> Any:
        """The spec of an object's shape with its inputs as they are now."""
        return self._spec(self.records(obj), scene_of(obj))

    def current_digest(self, obj) -> str:
        """Digest of the inputs as they are now, to be compared with the one of the shape."""
        return self._mark(self.spec_of(obj))

    def run(self, obj) -> None:
        scene = scene_of(obj)
        self.show(obj, scene)
        records = self.records(obj)
        spec = self._spec(records, scene)
        mark = self._mark(spec)
        if mark != obj.ShapeDigest or obj.Shape.isNull():
            shape = shared_shapes.built(obj.Kind, mark, lambda: self.geometry.build(spec))
            obj.Shape = shape
            obj.ShapeDigest, obj.ShapeMark = mark, self.of_shape(obj, measure.mark)
            put_mark(obj, "")   # none is better than that of another shape
            counts["builds"] += 1
            counts[f"builds {obj.Key}"] += 1
        self.results(obj, records, spec, scene)
        place = host_placement(self.frame(records, scene))
        if not same_placement(obj.Placement, place):
            obj.Placement = place
        mass = self.mass(records, scene, lambda: self._volume(obj, spec))
        if obj.MassKg != mass:
            obj.MassKg = mass

    _specified: tuple[Scene, Records, Any] | None = None

    def _spec(self, records: Records, scene: Scene) -> Any:
        """The spec of a shape, worked out once for the same records and scene."""
        if self._specified is None or self._specified[0] is not scene or self._specified[1] != records:
            self._specified = scene, records, self.spec(records, scene)
        return self._specified[2]

    _marked: tuple[Any, str] | None = None

    def _mark(self, spec: Any) -> str:
        """The digest of a spec, worked out once for the same one."""
        if self._marked is None or self._marked[0] != spec:
            self._marked = spec, self.digest(spec)
        return self._marked[1]

    def _volume(self, obj, spec: Any) -> float:
        """Volume of the object's shape, mm3: where its builder knows that of what it makes, measured only after an edit by hand."""
        known = getattr(self.geometry, "closed_volume", None)
        found = known(spec) if known is not None and self.as_built(obj) else None
        return float(self.of_shape(obj, measure.volume)) if found is None else float(found)

    def as_built(self, obj) -> bool:
        """Whether the object has the shape that was built for it, and not one that was edited by hand."""
        older = (True,) if obj.ShapeMark and not obj.ShapeMark.startswith("L") else ()
        return bool(self.of_shape(obj, measure.mark, *older) == obj.ShapeMark)

    _said: tuple[Part.Shape, dict[tuple, Any]] | None = None

    def of_shape(self, obj, what: Callable[..., Any], *more: Any) -> Any:
        """What a function says of the shape that the object has, wherever it stands, and of what more it is given: asked once, and again
        only when another shape has been put in its place."""
        shape, key = obj.Shape, (what, more)
        if shape.isNull():
            return what(shape, *more)
        kept = self._said
        if kept is None or not kept[0].isPartner(shape):
            kept = self._said = shape, {}
        if key not in kept[1]:
            kept[1][key] = what(shape, *more)
        return kept[1][key]

    def nonsense(self, obj) -> str:
        """What is wrong with the numbers of the object's shape and of where it stands; empty where nothing is."""
        if not all(abs(value) <= FAR for value in obj.Placement.Matrix.A):
            return "is at a place that cannot be in a car"
        return str(self.of_shape(obj, measure.nonsense))

    def show(self, obj, scene: Scene) -> None:
        """Copy values that belong to an object upstream into this object's read-only properties, before its records are read."""

    def results(self, obj, records: Records, spec: Any, scene: Scene) -> None:
        """Write what follows from records and spec into this object's result properties."""

    def fill(self, obj) -> None:
        if type(self).results is not PartFeature.results:
            # Of a scene of its own: what is upstream may not be up to date yet, and the layout keeps the scene that it makes.
            layout = layout_of(obj)
            scene, records = build(*layout.Proxy.inputs(layout)), self.records(obj)
            self.results(obj, records, self.spec(records, scene), scene)


class ChassisPart(PartFeature):
    """A part whose shape is made in the car frame."""

    @classmethod
    def frame(cls, records: Records, scene: Scene) -> Frame | None:
        return None


def scene_of(obj):
    """The scene of the layout that an object belongs to."""
    layout = layout_of(obj)
    return layout.Proxy.scene(layout)


def is_ours(obj) -> bool:
    """Whether an object carries one of our kinds, with or without a live proxy."""
    return bool(getattr(obj, "Kind", "")) and hasattr(obj, "SchemaVersion")
