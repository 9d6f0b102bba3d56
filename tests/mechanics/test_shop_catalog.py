"""A shop's own catalog: found, read strictly, never in the way of our rows, and not needed by the cars that use it."""
import os

import pytest
from shop_tables import ABOUT, TUBE, engine

from crankline import carfile, catalog, model, record
from crankline.carfile import catalog_row
from crankline.catalog import shop, sizes, used
from crankline.source import SourceError

DEMO = os.path.join(os.path.dirname(__file__), "..", "..", "demo_assemblies", "full_bodied_automatic.yaml")
OURS = catalog.ours("engines")
POINT = model.Point(x=0.0, y=0.0, z=0.0)


@pytest.fixture
def folder(tmp_path):
    yield tmp_path
    shop.use(())


def put(folder, **tables):
    for table, text in tables.items():
        (folder / f"{table}.yaml").write_text(text, encoding="utf-8")
    shop.use([folder])


def test_rows_of_a_shop_stand_beside_ours(folder):
    put(folder, engines=engine(mass="575 lb"), sections=TUBE)
    assert catalog.names("engines") == (*OURS, "shop_iron") and catalog.ours("engines") == OURS
    found = catalog.engine("shop_iron")
    assert found.mass == pytest.approx(575 * 0.45359237) and found.shop == model.ShopRow(source="invented for the demo", date="2026-05-04")
    assert catalog.engine(OURS[0]).shop is None
    assert catalog.section("1.5x0.109").wall == pytest.approx(0.109 * 25.4)
    shop.use(())
    assert catalog.names("engines") == OURS
    with pytest.raises(ValueError, match="'shop_iron' is not in the catalog of engines"):
        catalog.engine("shop_iron")


def test_the_environment_names_folders(monkeypatch):
    monkeypatch.setenv(shop.VARIABLE, os.pathsep.join(["one", "", "two"]))
    assert shop.of_environment() == ("one", "two")
    monkeypatch.delenv(shop.VARIABLE)
    assert shop.of_environment() == ()


@pytest.mark.parametrize("tables, words", [
    ({"engines": engine(OURS[0])}, ["engines.yaml:3: rows." + OURS[0], f"crankline{os.sep}catalog{os.sep}engines.yaml:", "another name"]),
    ({"engines": engine().replace("    date: 2026-05-04\n", "")}, ["rows.shop_iron.date", "missing", "2026-03-31"]),
    ({"engines": engine().replace("2026-05-04", "4 May")}, ["rows.shop_iron.date", "YYYY-MM-DD"]),
    ({"engines": engine(mass="575")}, ["rows.shop_iron.mass", "no unit"]),
    ({"engines": engine().replace("bore_spacing: 4.38 in", "bore_spaceing: 4.38 in")}, ["rows.shop_iron.bore_spaceing", "bore_spacing?"]),
    ({"engines": engine().replace("    mass: 560 lb\n", "")}, ["rows.shop_iron.mass", "missing"]),
    ({"engines": engine("' x'")}, ["is not a name for a row"]),
    ({"sections": TUBE.replace("0.109 in}", "0.8 in}")}, ["sections.yaml:3: rows.1.5x0.109.wall", "0.8 in is not a wall of a tube of 1.5"]),
    ({"engine": engine()}, ["engine.yaml: ", "not a table", "did you mean engines?"]),
    ({"rules": "rule_set: 1\n"}, ["rules.yaml: ", "engines.yaml"])])
def test_a_row_that_is_wrong_is_refused_with_file_and_field(folder, tables, words):
    put(folder, sections=TUBE)
    with pytest.raises(SourceError) as caught:
        put(folder, **tables)
    said = str(caught.value)
    assert all(word in said for word in words) and said.startswith(str(folder)) and "\n" not in said, said
    assert "1.5x0.109" in catalog.names("sections"), "the rows of before are kept"


def test_two_folders_must_not_name_one_thing(folder):
    for name in ("one", "two"):
        (folder / name).mkdir()
        (folder / name / "sections.yaml").write_text(TUBE)
    with pytest.raises(SourceError) as caught:
        shop.use([folder / "one", folder / "two"])
    assert str(folder / "two" / "sections.yaml:3") in str(caught.value) and str(folder / "one" / "sections.yaml:3") in str(caught.value)
    shop.use([folder / "one", folder / "one"])   # one folder named twice is one
    with pytest.raises(SourceError, match="there: the catalog folder cannot be read"):
        shop.use([folder / "there"])


def car_text(use):
    with open(DEMO, encoding="utf-8") as stream:
        return stream.read().replace("engine: {use: demo_tall_deck_aluminium}", f"engine: {use}")


def test_a_car_file_holds_what_it_uses_of_a_shop(folder):
    put(folder, engines=engine())
    car = carfile.read_text(car_text("{use: shop_iron, mass: 600 lb}"))
    assert car.engine.overrides == ("mass",) and used.called(car.engine) == "shop_iron, with mass of its own"
    text = carfile.write_text(car)
    shop.use(())
    with pytest.raises(SourceError, match="'shop_iron' is not in the catalog of engines"):
        carfile.read_text(car_text("{use: shop_iron}"))
    elsewhere = carfile.read_text(text)
    assert elsewhere == car and carfile.write_text(elsewhere) == text
    assert used.row_of(elsewhere.engine) is None and used.departing(elsewhere.engine) == ("mass",)
    # The row has changed where the catalog is: the car keeps its figures, and what departs is told.
    put(folder, engines=engine(deck_height="9.00 in"))
    back = carfile.read_text(text)
    assert back.engine.deck_height == car.engine.deck_height and back.engine.overrides == ("deck_height", "mass")
    assert back.engine.row_digest == car.engine.row_digest != catalog.row_digest("engines", "shop_iron")


def test_what_is_written_of_a_shop_is_read_strictly(folder):
    put(folder, engines=engine())
    text = carfile.write_text(carfile.read_text(car_text("{use: shop_iron}")))
    shop.use(())
    for old, new, words in (("  use: shop_iron", f"  use: {OURS[0]}", "engine.shop: '" + OURS[0]),
                            ("  deck_height: 8.95 in\n", "", "engine.deck_height: the key is missing"),
                            ("date: 2026-05-04, ", "", "engine.shop.date: the key is missing"),
                            ("date: 2026-05-04", "date: 2026-05-04, changed: [weight]", "'weight' is not a field")):
        assert text.count(old) == 1
        with pytest.raises(SourceError, match=words.replace("[", "\\[")):
            carfile.read_text(text.replace(old, new))


def test_figures_that_depart_are_told_with_the_name(folder):
    found = catalog.engine(OURS[0])
    assert used.departing(found) == () and used.called(found) == OURS[0]
    changed = record.replace(found, mass=300.0, deck_height=250.0)
    assert used.departing(changed) == ("deck_height", "mass") and used.called(changed).endswith("with deck height and mass of its own")
    settled = used.settled(record.replace(changed, use=OURS[1]))
    assert settled.row_digest == catalog.row_digest("engines", OURS[1]) and {"mass", "bore_spacing"} <= set(settled.overrides)
    assert used.called(settled).endswith("more figures of its own")


def test_main_sizes_and_origin_of_rows_are_told_in_the_units_of_the_car(folder):
    put(folder, engines=engine(), sections=TUBE)
    assert sizes.line("sections", "1.5x0.109", "in") == "outer diameter 1.5 in, wall 0.109 in"
    assert sizes.line("sections", "1.5x0.109", "mm") == "outer diameter 38.1 mm, wall 2.769 mm"
    # 200 GPa / 6.894757 MPa (NIST SP 811, appendix B.8) = 29,008 ksi; 7833 kg/m3 / 27679.9 kg/m3 = 0.283 lb/in3.
    assert sizes.line("materials", "4130N", "in").startswith("alloy steel, density 0.283 lb/in3, modulus 29,008 ksi, yield 60 ksi")
    assert sizes.line("materials", "4130N", "mm").startswith("alloy steel, density 7833 kg/m3, modulus 200 GPa, yield 413.7 MPa")
    assert sizes.line("engines", "shop_iron", "mm").startswith("V8, cast iron, deck height 227.3 mm, ")
    assert sizes.origin("sections", "1.5x0.109") == "From your own catalog: rig sheet 12, 2026-05-04"
    assert sizes.origin("joint_series", "1310") == "From the catalog: trade sizes of cross joints, from memory"
    assert all(sizes.line(table, name, "in") for table in sizes.MAIN for name in catalog.ours(table))


def test_what_is_changed_of_a_row_that_is_elsewhere_departs_too(folder):
    away = record.replace(catalog.engine(OURS[0]), use="shop_iron", shop=model.ShopRow(source="rig", date="2026-05-04"))
    assert used.settled(away, away) == away
    edited = used.settled(record.replace(away, mass=300.0), record.replace(away, overrides=("pan",)))
    assert edited.overrides == ("pan", "mass") and used.departing(edited) == ("pan", "mass")


def row(table, name):
    return catalog.row(table, name), catalog.about(table, name)


MINE = catalog.Row(source="rig sheet 13", basis="measured", date="2026-06-01", note=None)


def test_rows_are_written_changed_and_taken_out_and_the_rest_of_the_file_stays(folder):
    heavy = "  # the heavy one\n  2x0.25: " + ABOUT + "outer_diameter: 2 in, wall: 0.25 in} # thick\n"
    put(folder, sections="# our tubes\n" + TUBE + heavy)
    tube, _about = row("sections", "1.5x0.109")
    catalog_row.save(folder, "sections", "1 1/2: thin", record.replace(tube, wall=1.0, note="says \"so\""), MINE)
    shop.use([folder])
    assert catalog.names("sections")[-3:] == ("1.5x0.109", "2x0.25", "1 1/2: thin") and catalog.section("1 1/2: thin").wall == 1.0
    # Another name and other sizes for the first row: what stands around it stays.
    catalog_row.save(folder, "sections", "1.5x0.121", record.replace(tube, wall=0.121 * 25.4), MINE, replaces="1.5x0.109")
    text = (folder / "sections.yaml").read_text()
    assert text.startswith("# our tubes\ncatalog: 1\nrows:\n  1.5x0.121: ") and heavy in text
    shop.use([folder])
    for name in catalog.names("sections")[-3:]:
        catalog_row.remove(folder, "sections", name)
    assert (folder / "sections.yaml").read_text() == "# our tubes\ncatalog: 1\nrows: {}\n  # the heavy one\n"
    shop.use([folder])
    assert catalog.names("sections") == catalog.ours("sections")
    catalog_row.save(folder, "sections", "again", tube, MINE)
    shop.use([folder])
    assert catalog.section("again") == tube


def test_an_engine_is_written_like_one_of_ours(folder):
    for name in OURS:
        held = catalog.row("engines", name)
        catalog_row.save(folder / "new", "engines", f"my {name}", held, MINE, "mm")
    shop.use([folder / "new"])
    for name in OURS:
        mine = catalog.engine(f"my {name}")
        assert used.figures(mine) == used.figures(catalog.engine(name)) and mine.shop.source == "rig sheet 13"
    assert sorted(os.listdir(folder / "new")) == ["engines.yaml"]


@pytest.mark.parametrize("name, change, about, words", [
    (OURS[0], {}, MINE, "a row of this name is in "), (" x", {}, MINE, "is not a name for a row"),
    ("x", {}, record.replace(MINE, date=None), "rows.x.date"), ("x", {"mass": -1.0}, MINE, "rows.x.mass"),
    ("x", {"solid": model.Solid(file="no.step", mesh_unit=None, origin=POINT, forward=POINT, left=POINT, digest=None)}, MINE, "no.step")])
def test_a_row_that_is_wrong_is_not_written(folder, name, change, about, words):
    put(folder, engines=engine())
    text = (folder / "engines.yaml").read_text()
    with pytest.raises(SourceError, match=words):
        catalog_row.save(folder, "engines", name, record.replace(catalog.row("engines", OURS[1]), **change), about)
    assert (folder / "engines.yaml").read_text() == text and os.listdir(folder) == ["engines.yaml"]


def test_a_table_that_no_form_can_change_is_left_alone(folder):
    flow = "{catalog: 1, rows: {1.5x0.109: " + ABOUT + "outer_diameter: 1.5 in, wall: 0.109 in}}}\n"
    put(folder, sections=flow)
    with pytest.raises(SourceError):
        catalog_row.save(folder, "sections", "x", catalog.section("1.5x0.109"), MINE)
    with pytest.raises(SourceError, match="there is no row 'y'"):
        catalog_row.remove(folder, "sections", "y")
    assert (folder / "sections.yaml").read_text() == flow
