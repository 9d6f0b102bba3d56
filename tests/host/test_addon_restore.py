"""The checkout as an add-on: what it costs at start, and that documents restore wherever and under whatever name it lies.

Other add-ons have a folder called workbench too, as a package or as a plain folder, and FreeCAD puts each add-on's own folder
on the path. So ours is never imported as workbench.crankline, and nothing of it may depend on the name of its folder.
"""
import json
import os
import pathlib
import shutil
import subprocess
import sys
import xml.etree.ElementTree

import cars
import FreeCAD
import pytest
from conftest import ROOT

# Makes the document (a file, given as the only argument) and says what it holds: the least car, and a plate whose solid takes little.
MAKE_DOCUMENT = f"""
import dataclasses, json, sys
from crankline import carfile
from crankline.features import make
least, whole = (carfile.read({str(ROOT / "demo_assemblies")!r} + f"/{{name}}.yaml") for name in ("minimal", "full_bodied_automatic"))
document = make.document(dataclasses.replace(least, plates=whole.plates))
document.saveAs(sys.argv[1])
print("RESULT " + json.dumps({{obj.Name: type(obj.Proxy).__name__ for obj in document.Objects if hasattr(obj, "Proxy")}}))
"""

READ_DOCUMENTS = """
import json, sys
import FreeCAD
documents = [FreeCAD.openDocument(path) for path in sys.argv[1:]]
print("RESULT " + json.dumps({
    "alive": [{obj.Name: type(obj.Proxy).__name__ for obj in document.Objects if hasattr(obj, "Proxy")} for document in documents],
    "modules": sorted({type(obj.Proxy).__module__ for document in documents for obj in document.Objects if hasattr(obj, "Proxy")}),
    "file": sys.modules["crankline"].__file__}))
"""


def result(finished):
    return json.loads(next(line for line in finished.stdout.splitlines() if line.startswith("RESULT "))[len("RESULT "):])


def copy_of_ours(target: pathlib.Path) -> None:
    target.mkdir()
    for name in ("Init.py", "InitGui.py", "package.xml", "LICENSE"):
        shutil.copy(ROOT / name, target)
    for name in ("workbench", "icons"):
        shutil.copytree(ROOT / name, target / name, ignore=shutil.ignore_patterns("__pycache__"))


@pytest.fixture(params=["renamed", "renamed to come first", "symlinked"])
def crowded_home(request, host_environment):
    """A FreeCAD home in which our add-on stands between two others that have a workbench folder of their own."""
    mod = pathlib.Path(host_environment["FREECAD_USER_HOME"]) / "Mod"
    for addon, is_package in (("Aaa", False), ("Zzz", True)):
        inner = mod / addon / "workbench"
        (inner / f"{addon.lower()}_pkg").mkdir(parents=True)
        (inner / f"{addon.lower()}_pkg" / "__init__.py").write_text("")
        # They use the name workbench themselves, before and after us, as such add-ons do.
        (mod / addon / "Init.py").write_text("try:\n    import workbench\nexcept ImportError:\n    pass\n")
        if is_package:
            (inner / "__init__.py").write_text("OWNER = 'somebody else'\n")
    if request.param == "symlinked":
        (mod / "Linked").symlink_to(ROOT)
        return mod / "Linked"
    ours = mod / ("My Renamed-Addon (1)" if request.param == "renamed" else "0 crank")
    copy_of_ours(ours)
    return ours


def test_documents_restore_beside_other_workbench_folders(crowded_home, freecadcmd, tmp_path):
    """One that was made here, and one that the checkout made."""
    here, before = tmp_path / "made.FCStd", cars.copy(cars.AUTOMATIC)
    held = result(freecadcmd(MAKE_DOCUMENT, here, addons=()))
    found = result(freecadcmd(READ_DOCUMENTS, here, before, addons=()))
    document = cars.document(cars.AUTOMATIC)
    made_before = {obj.Name: type(obj.Proxy).__name__ for obj in document.Objects if hasattr(obj, "Proxy")}
    FreeCAD.closeDocument(document.Name)
    assert len(made_before) > len(held) > 10 and found["alive"] == [held, made_before]
    assert all(module.startswith("crankline.features.") for module in found["modules"])
    assert found["file"] == str(crowded_home / "workbench" / "crankline" / "__init__.py")


def test_a_second_name_is_refused():
    out = subprocess.run([sys.executable, "-c", "import workbench.crankline"], cwd=ROOT, capture_output=True, text=True,
                         env={"PATH": os.environ["PATH"]})
    assert out.returncode == 1 and "ImportError: crankline was imported as 'workbench.crankline'" in out.stderr


def test_workbench_and_tests_are_not_packages():
    assert not (ROOT / "workbench" / "__init__.py").exists()
    assert not list((ROOT / "tests").rglob("__init__.py"))


def test_start_imports_nothing_but_the_empty_package(freecadcmd, tmp_path):
    finished = freecadcmd("import json, sys\nprint('RESULT ' + json.dumps([m for m in sys.modules if m.split('.')[0] in "
                          "('crankline', 'workbench', 'yaml', 'numpy', 'ezdxf', 'matplotlib', 'pivy')]))")
    assert result(finished) == ["crankline"]


# ---------------------------------------------------------------------------------------------- package.xml

def test_package_xml_as_the_host_reads_it():
    assert hasattr(FreeCAD, "Metadata"), "this FreeCAD cannot read package.xml: look for another check"
    data = FreeCAD.Metadata(str(ROOT / "package.xml"))
    assert data.Name == "Crankline" and data.Description and data.Maintainer and data.Urls
    assert [licence["name"] for licence in data.License] == ["LGPL-2.1-or-later"]
    assert (ROOT / data.License[0]["file"]).read_text().lstrip().startswith("GNU LESSER GENERAL PUBLIC LICENSE")
    assert (ROOT / data.Icon).is_file()
    (workbench,) = data.Content["workbench"]
    assert workbench.Classname == "CranklineWorkbench" and f"class {workbench.Classname}(" in (ROOT / "InitGui.py").read_text()
    assert (ROOT / workbench.Subdirectory / workbench.Icon).is_file()


def test_versions_agree():
    import crankline
    version = FreeCAD.Metadata(str(ROOT / "package.xml")).Version
    assert str(version).startswith(crankline.VERSION)
    assert f'version = "{crankline.VERSION}"' in (ROOT / "pyproject.toml").read_text()


@pytest.mark.parametrize("path", sorted((ROOT / "icons").glob("*.svg")), ids=lambda path: path.stem)
def test_icons_are_plain_and_small(path):
    """64 x 64 and at most 10 kB, without foreign elements (FreeCAD's artwork guidelines)."""
    assert path.stat().st_size <= 10_000
    root = xml.etree.ElementTree.parse(path).getroot()
    assert (root.get("width"), root.get("height"), root.get("viewBox")) == ("64", "64", "0 0 64 64")
    assert {element.tag.split("}")[0] for element in root.iter()} == {"{http://www.w3.org/2000/svg"}
