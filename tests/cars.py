"""The cars that tests work on. Each is made into a document once in a session and saved; whoever asks for it opens a copy of his own.

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
import pathlib
import shutil
import tempfile
from collections import OrderedDict
from functools import cache

import FreeCAD as App

from crankline import carfile, model
from crankline.features import make
from crankline.features.registry import CLASSES, proxy_class
from crankline.measure.host_measurer import HostMeasurer
from crankline.measure.kept import Kept

FOLDER = pathlib.Path(__file__).parent.parent / "demo_assemblies"
DEMOS = AUTOMATIC, CLUTCH = ("full_bodied_automatic", "open_clutch")
"""The demo cars by the names of their files."""

SHAPES = 1500
"""How many shapes are kept; the least recently used goes first."""

_copies = 0
_built: OrderedDict = OrderedDict()
"""Shapes by the module that built them and their spec."""
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
    """The file of a car's document, or of a demo by its name; made at the first call. It is not to be written."""
    car = demo(car) if isinstance(car, str) else car
    path = _folder() / f"{len(list(_folder().iterdir()))}.FCStd"
    document = make.document(car, "Car")
    try:
        document.saveCopy(str(path))
    finally:
        App.closeDocument(document.Name)
    return path


@contextlib.contextmanager
def remembering():
    """Meanwhile no part's builder builds what it has built before: it hands out another copy. The session of tests runs in it
    (conftest.py), in this process only; what tests start builds all of its own."""
    modules = {getattr(proxy_class(kind), "geometry", None) for kind in CLASSES} - {None}
    kept = {module: module.build for module in modules}

    def remembers(module):
        def build(spec):
            key = module, spec
            if key in _built:
                _built.move_to_end(key)
            else:
                _built[key] = kept[module](spec)
                if len(_built) > SHAPES:
                    _built.popitem(last=False)
            return _built[key].copy()
        return build

    try:
        for module in modules:
            module.build = remembers(module)
        yield
    finally:
        for module, build in kept.items():
            module.build = build


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
