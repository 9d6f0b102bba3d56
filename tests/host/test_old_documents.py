"""Documents of every schema that was ever written open, come to life and hold the car of the file beside them."""
from __future__ import annotations

import FreeCAD as App
import pytest
from conftest import ROOT

from crankline import carfile, record
from crankline.features import base, read, repair

DOCUMENTS = sorted((ROOT / "tests" / "documents").glob("*/*.FCStd"))


def test_there_is_a_sample_of_every_schema():
    schemas = {int(path.parent.name) for path in DOCUMENTS}
    assert schemas == set(range(1, max(schemas) + 1)) and schemas


@pytest.mark.parametrize("path", DOCUMENTS, ids=lambda path: f"{path.parent.name}/{path.stem}")
def test_an_old_document_opens_and_holds_its_car(path):
    document = App.openDocument(str(path), True)
    try:
        assert repair.lifeless(document) == []
        base.counts.clear()
        document.recompute()
        layout = read.only_layout(document)
        assert record.difference(read.car(layout), carfile.read(path.with_suffix(".yaml"))) == []
        assert [note for note in read.snapshot(layout).unsound if note.kind not in ("undrawn", "catalogue")] == []
    finally:
        App.closeDocument(document.Name)
