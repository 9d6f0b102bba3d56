"""What a document holds of a shop's own catalog row, and what it says where the row is elsewhere or has changed."""
import io
from dataclasses import replace

import FreeCAD as App
import pytest
from conftest import ROOT
from shop_tables import engine

from crankline import catalog, headless, model
from crankline.catalog import shop
from crankline.features import props, read
from crankline.features.data import EngineData, TransmissionData

SHOP = model.ShopRow(source="rig sheet 12", date="2026-05-04")


@pytest.fixture(scope="module")
def data():
    document = App.newDocument("Data")
    obj = document.addObject("App::FeaturePython", "EngineData")
    EngineData(obj)
    box = document.addObject("App::FeaturePython", "TransmissionData")
    TransmissionData(box)
    obj.Label, box.Label = "Engine data", "Transmission data"
    yield obj, box
    App.closeDocument(document.Name)


def put(obj, record):
    props.write(obj, obj.Proxy.rows(), record)
    obj.touch()
    obj.Document.recompute()
    assert "Invalid" not in obj.State and obj.Proxy.read(obj, absent=True) == record
    return read._off_its_row(obj)


def test_a_document_holds_a_row_of_a_shop_and_says_what_departs(data):
    obj, box = data
    ours = catalog.engine("demo_short_deck_iron")
    assert put(obj, ours) == "" and put(box, catalog.transmission("demo_two_speed")) == ""
    assert put(obj, replace(ours, mass=300.0)) == "demo_short_deck_iron, with mass of its own"
    assert put(obj, replace(ours, row_digest="older")) == "the catalog's row 'demo_short_deck_iron' has changed since it was used"
    assert put(obj, replace(ours, use="gone")) == "the catalog holds no row 'gone'"
    away = replace(ours, use="shop_iron", shop=SHOP)
    assert put(obj, away) == "" and put(box, replace(catalog.transmission("demo_two_speed"), use="shop_box", shop=SHOP)) == ""
    assert put(obj, replace(away, mass=300.0, overrides=("mass",))) == "shop_iron, with mass of its own (the shop's catalog is not here)"


def test_the_name_of_a_row_is_not_typed_in_the_property_editor(data):
    for obj in data:
        assert all("ReadOnly" in obj.getEditorMode(name) for name in ("Use", "ShopSource", "ShopDate", "Overrides", "RowDigest"))
        assert obj.getEditorMode("MassKg") == []


def test_the_command_line_takes_folders_and_refuses_what_is_wrong_in_them(tmp_path, monkeypatch):
    car = tmp_path / "car.yaml"
    car.write_text((ROOT / "demo_assemblies" / "full_bodied_automatic.yaml").read_text().replace(
        "engine: {use: demo_tall_deck_aluminium}", "engine: {use: shop_iron}"))
    (tmp_path / "own").mkdir()
    table = tmp_path / "own" / "engines.yaml"
    table.write_text(engine())

    def run(*more):
        out, err = io.StringIO(), io.StringIO()
        code = headless.main(["rules", str(car), "--quiet", *more], out, err)
        return code, err.getvalue()

    try:
        assert run("--catalog", str(tmp_path / "own")) == (0, "")
        code, told = run()
        assert code == 2 and f"{car}:43: engine.use: 'shop_iron' is not in the catalog of engines" in told
        monkeypatch.setenv(shop.VARIABLE, str(tmp_path / "own"))
        assert run() == (0, "")
        table.write_text(engine(mass="heavy"))
        code, told = run()
        assert code == 2 and told.startswith(f"{table}:") and "rows.shop_iron.mass" in told and told.count("\n") == 1
    finally:
        shop.use(())
