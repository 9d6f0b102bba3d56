"""The cars that tests work on. Each is made into a document once in a run and saved; whoever asks for it opens a copy of his own.

    document(AUTOMATIC)      an open copy of a demo's document, or of any ``model.Car``, to change and to close
    copy(CLUTCH)             the same as a file
    measurer()               measures shapes of such documents, and nothing that any test has measured is measured again
    forget()                 builds are builds again, for tests of what building does

Opening costs a thirtieth of making, and nearly all of making is building shapes, which are functions of their frozen specs: what one
car has built is not built again for the next one (``remembering``). What making itself does is tested where it is the subject
(host/test_document.py, host/test_exchange.py); that a copy is what was made is tested there too.
"""
from __future__ import annotations

import atexit
import contextlib
import fcntl
import importlib
import os
import pathlib
import pkgutil
import shutil
import tempfile
from collections import OrderedDict
from functools import cache
from hashlib import blake2b

import FreeCAD as App
import pytest
import shares

from crankline import carfile, measure, model
from crankline.features import make
from crankline.features.registry import CLASSES, proxy_class
from crankline.measure import body, skin
from crankline.measure.host_measurer import HostMeasurer
from crankline.measure.kept import Kept

FOLDER = pathlib.Path(__file__).parent.parent / "demo_assemblies"
DEMOS = AUTOMATIC, CLUTCH = ("full_bodied_automatic", "open_clutch")
"""The demo cars by the names of their files."""

EACH = (AUTOMATIC, pytest.param(CLUTCH, marks=pytest.mark.one_host))
"""Both demos, for tests of how parts are built, measured and drawn: one host takes both, every other one the first. As a whole both are
made, checked and held against what was taken for good on every host (host/test_build.py, test_every_part.py, test_exchange.py)."""

SHAPES = 1500
"""How many shapes are kept; the least recently used goes first."""

READINGS = 800
"""The same for what is read off single shapes, skins and boxes each."""

_copies = 0
_built: OrderedDict = OrderedDict()
"""Shapes by the module that built them and their spec."""
_read: tuple[OrderedDict, OrderedDict] = OrderedDict(), OrderedDict()
"""Skins by the digest of the whole text of a shape in its own frame, boxes by that of the shape where it stands."""
_measured = Kept()


@cache
def demo(name: str) -> model.Car:
    """A demo car as its file says."""
    return carfile.read(FOLDER / f"{name}.yaml")


@cache
def _folder() -> pathlib.Path:
    folder = pathlib.Path(tempfile.mkdtemp(prefix="crankline-test-cars-"))
    atexit.register(shutil.rmtree, folder, ignore_errors=True)
    return folder


@cache
def saved(car: model.Car | str) -> pathlib.Path:
    """The file of a car's document, or of a demo by its name; made at the first call in any process of the run, while the others that ask
    for it wait. It is not to be written."""
    car = demo(car) if isinstance(car, str) else car
    path = pathlib.Path(os.environ[shares.FOLDER]) / f"{blake2b(repr(car).encode(), digest_size=16).hexdigest()}.FCStd"
    with open(path.with_suffix(".lock"), "w") as lock:
        fcntl.flock(lock, fcntl.LOCK_EX)
        if not path.exists():
            half = path.with_name(f"half-{path.name}")
            document = make.document(car, "Car")
            try:
                document.saveCopy(str(half))
            finally:
                App.closeDocument(document.Name)
            half.rename(path)
    return path


@contextlib.contextmanager
def remembering():
    """Meanwhile no part's builder builds what it has built before: it hands out another copy. And of a shape that is the same to the
    last digit skin and tight box are read once, by whatever measurer. The session of tests runs in it (conftest.py), in this process only;
    what tests start builds and reads all of its own."""
    modules = {getattr(proxy_class(kind), "geometry", None) for kind in CLASSES} - {None}
    kept = {(module, "build"): module.build for module in modules}
    kept |= {(module, name): value for module in _measuring() for name, value in vars(module).items()
             if value is skin.of or value is body.box_of}

    def remembers(module):
        build = module.build

        def built(spec):
            return _from(_built, SHAPES, (module, spec), lambda: build(spec)).copy()
        return built

    def reads(read, store, framed):
        def reading(shape):
            plain = shape.copy(True, False)
            if not framed:
                plain.Placement = App.Placement()
            mark = blake2b(plain.exportBrepToString().encode()).digest()
            return _from(store, READINGS, mark, lambda: read(shape))
        return reading

    skins, boxes = reads(skin.of, _read[0], framed=False), reads(body.box_of, _read[1], framed=True)
    try:
        for (module, name), value in kept.items():
            setattr(module, name, remembers(module) if name == "build" else skins if value is kept[skin, "of"] else boxes)
        yield
    finally:
        for (module, name), value in kept.items():
            setattr(module, name, value)


def _measuring():
    """Modules that measure, loaded all of them."""
    for found in pkgutil.iter_modules(measure.__path__, measure.__name__ + "."):
        yield importlib.import_module(found.name)


def _from(store: OrderedDict, size: int, key, make_it):
    """What a store holds under a key, made where it does not."""
    if key in store:
        store.move_to_end(key)
    else:
        store[key] = make_it()
        if len(store) > size:
            store.popitem(last=False)
    return store[key]


def forget() -> None:
    """Builds are builds again: for tests of what building itself does."""
    _built.clear()


def measurer() -> HostMeasurer:
    """A measurer that shares what has been measured in the session. Shapes are told apart by kind and digest, as in a document: who puts
    a shape of his own into a snapshot gives it a digest of its own, or takes a measurer of his own."""
    return HostMeasurer(_measured)


def copy(car: model.Car | str, name: str = "Car") -> pathlib.Path:
    """A file of a car's document, or of a demo by its name, that is the caller's; saved without a window."""
    global _copies
    _copies += 1
    folder = _folder() / f"copy_{_copies}"
    folder.mkdir()
    return pathlib.Path(shutil.copyfile(saved(car), folder / f"{name}.FCStd"))


def document(car: model.Car | str, name: str = "Car") -> App.Document:
    """A document of a car, or of a demo by its name, that is the caller's to change and to close."""
    return App.openDocument(str(copy(car, name)), True)
