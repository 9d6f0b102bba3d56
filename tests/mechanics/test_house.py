"""The house: imports go downwards only, what must run without the host does, and nothing of ours is a stray."""
from __future__ import annotations

import ast
import subprocess
import sys

import bare_python
import pytest
import source_trees
from conftest import ROOT, WORKBENCH

PACKAGE = WORKBENCH / "crankline"

# Rooms from the bottom up; a module may import from its own floor and from floors below.
FLOORS = (("units", "replacing", "progress", "spelling", "exit_codes", "staging"), ("record",), ("model",), ("sections", "mechanics"),
          ("snapshot",), ("source",), ("schema",), ("catalog",), ("carfile",), ("records",), ("rules",), ("host",),
          ("compat", "preferences"), ("geometry",), ("features",), ("measure",), ("checks",), ("remedies", "reports", "placement_window"),
          ("as_built",), ("sheets", "document_files"), ("outputs",), ("gui",), ("session", "time_limit"), ("command_line",),
          ("batch", "fit_command", "record_commands", "rules_command"), ("window_command",), ("headless",))
FLOOR = {room: number for number, rooms in enumerate(FLOORS) for room in rooms}
HOSTLESS = ("units", "progress", "spelling", "record", "model", "mechanics", "snapshot", "source", "schema", "catalog", "carfile",
            "records", "rules", "measure", "checks", "remedies", "reports", "placement_window", "as_built",
            "preferences")
HOST_MODULES = {"FreeCAD", "FreeCADGui", "Part", "Sketcher", "Import", "TechDraw", "Mesh", "MeshPart", "PySide", "PySide2", "PySide6",
                "pivy"}
GUI_MODULES = {"FreeCADGui", "PySide", "PySide2", "PySide6", "pivy"}


def modules():
    for path in sorted(PACKAGE.rglob("*.py")):
        parts = path.relative_to(PACKAGE).with_suffix("").parts
        yield path, parts[:-1] if parts[-1] == "__init__" else parts


def imported(path, parts, top_level_only=False):
    """(absolute module name, line) of everything that a file imports."""
    package = ("crankline", *parts) if path.name == "__init__.py" else ("crankline", *parts[:-1])
    imports = (ast.Import, ast.ImportFrom)
    for node in source_trees.tree(path).body if top_level_only else source_trees.of_kind(path, *imports):
        if isinstance(node, ast.Import):
            yield from ((alias.name, node.lineno) for alias in node.names)
        elif isinstance(node, ast.ImportFrom):
            base = list(package[: len(package) - node.level + 1]) if node.level else []
            base += node.module.split(".") if node.module else []
            for alias in node.names:
                yield ".".join([*base, alias.name]), node.lineno


@pytest.mark.one_host
def test_every_room_is_on_a_floor():
    rooms = {parts[0] for _path, parts in modules() if parts}
    assert rooms <= set(FLOOR), f"tell test_house.py where these belong: {rooms - set(FLOOR)}"


@pytest.mark.one_host
def test_imports_go_downwards_only():
    wrong = []
    for path, parts in modules():
        if not parts:
            continue
        for name, line in imported(path, parts):
            words = name.split(".")
            if words[0] != "crankline" or len(words) < 2 or words[1] not in FLOOR or words[1] == parts[0]:
                continue
            if FLOOR[words[1]] >= FLOOR[parts[0]]:
                wrong.append(f"{path.relative_to(PACKAGE)}:{line} imports {name}")
    assert wrong == []


@pytest.mark.one_host
def test_workbench_is_never_imported_as_a_package():
    assert not (WORKBENCH / "__init__.py").exists()
    wrong = [f"{path}:{line}" for path, parts in modules() for name, line in imported(path, parts)
             if name.split(".")[0] == "workbench"]
    assert wrong == []


@pytest.mark.one_host
def test_features_never_import_the_window():
    wrong = [f"{path.name}:{line} {name}" for path, parts in modules() if parts
             and parts[0] in ("features", "geometry", "rules", "measure", "checks", "remedies", "reports", "placement_window", "as_built",
            "preferences")
             for name, line in imported(path, parts) if name.split(".")[0] in GUI_MODULES]
    assert wrong == []


@pytest.mark.one_host
def test_no_module_is_called_utils():
    assert [path for path, _parts in modules() if path.stem.startswith("util")] == []


@pytest.mark.parametrize("room", HOSTLESS)
def test_room_imports_without_the_host(room):
    assert bare_python.refusal(f"import sys\nfor name in {sorted(HOST_MODULES)!r}: sys.modules[name] = None\n"
                               f"import crankline.{room}\n") == ""


def test_what_parts_are_is_read_without_the_host():
    """What a part is, and the numbers of its shape, are needed by rules and reports; only its solid needs the host."""
    names = [".".join(("crankline", *parts)) for _path, parts in modules() if parts and parts[0] == "geometry"]
    code = (f"import sys\nfor name in {sorted(HOST_MODULES)!r}: sys.modules[name] = None\n"
            f"from importlib import import_module\nfor name in {names!r}: import_module(name)\n"
            "from crankline.features import plan, registry\n"
            "for kind in registry.PARTS: registry.proxy_class(kind)\n"
            f"sys.path.insert(0, {str(ROOT / 'tests')!r})\nimport every_kind_of_part as every\n"
            "for car in every.cars().values():\n"
            "    scene = every.placed(car)\n"
            "    for part in plan.described(car, scene).values(): part.spec(scene)\n"
            "from crankline.geometry import tube\n"
            "try: tube.straight(tube.Vector(), None, 2.0, 0.1)\n"
            "except ImportError as error: assert 'FreeCAD' in str(error)\n"
            "else: raise AssertionError('a solid without the host')\n")
    assert bare_python.refusal(code) == ""


def test_nothing_heavy_is_imported_when_the_host_starts():
    """InitGui.py, Init.py and the package itself: the standard library's path modules and no more."""
    code = (f"import sys\nsys.path.insert(0, {str(WORKBENCH)!r})\nbefore = set(sys.modules)\nimport crankline\n"
            "print(sorted(set(sys.modules) - before))")
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True)
    assert done.stdout.strip() == "['crankline']"


@pytest.mark.one_host
def test_files_stay_readable_in_length():
    """A file over 400 lines needs a reason, written here."""
    reasons = {"geometry/outline.py": "one closed family: loops of lines and arcs and their exact measures",
               "model.py": "one picture of a whole car"}
    long = {str(path.relative_to(PACKAGE)): n for path, _parts in modules()
            if (n := len(path.read_text(encoding="utf-8").splitlines())) > 420}
    assert set(long) <= set(reasons), long


@pytest.mark.one_host
def test_nothing_evaluates_or_unpickles():
    wrong = []
    for path, _parts in modules():
        for node in source_trees.of_kind(path, ast.Call, ast.Import, ast.ImportFrom, ast.Attribute):
            if isinstance(node, ast.Call) and isinstance(node.func, ast.Name) and node.func.id in ("eval", "exec"):
                wrong.append(f"{path}:{node.lineno}")
            if isinstance(node, (ast.Import, ast.ImportFrom)):
                names = [alias.name for alias in node.names] + [getattr(node, "module", "") or ""]
                wrong += [f"{path}:{node.lineno}" for name in names if name in ("pickle", "marshal", "shelve")]
            if isinstance(node, ast.Attribute) and node.attr in ("unsafe_load", "full_load", "Loader", "UnsafeLoader"):
                wrong.append(f"{path}:{node.lineno}")
    assert wrong == []


@pytest.mark.one_host
def test_no_module_imports_in_a_circle():
    """Local imports counted: a circle that is hidden in a function is one all the same."""
    names = {".".join(parts): path for path, parts in modules()}
    graph = {name: {target for full, _line in imported(path, tuple(name.split(".")) if name else ())
                    if full.split(".")[0] == "crankline"
                    for target in [_module(full.split(".")[1:], names)] if target is not None and target != name}
             for name, path in names.items()}
    circles, state = [], {}

    def walk(name, trail):
        state[name] = "open"
        for other in sorted(graph[name]):
            if state.get(other) == "open":
                circles.append(" -> ".join([*trail[trail.index(other):], other]))
            elif other not in state:
                walk(other, [*trail, other])
        state[name] = "done"

    for name in sorted(graph):
        if name not in state:
            walk(name, [name])
    assert circles == []


def _module(words, names):
    """The module that a dotted name is, or is in; None for the empty package at the top."""
    for end in (len(words), len(words) - 1):
        if ".".join(words[:end]) in names and end > 0:
            return ".".join(words[:end])
    return None


@pytest.mark.one_host
def test_an_inch_is_said_once():
    wrong = [f"{path.relative_to(PACKAGE)}:{node.lineno}" for path, _parts in modules() if path.name != "units.py"
             for node in source_trees.of_kind(path, ast.Constant) if node.value == 25.4]
    assert wrong == []


def test_a_number_of_geometry_names_its_source():
    """A standard, a book, a closed form, what the arithmetic needs (numerical), or ``common practice, no source``: in the text after it."""
    known = ("source", "numerical", "memory", "closed form", "common practice", "ISO", "ASME", "SAE", "NHRA", "drawn only")
    bare = []
    for path, parts in modules():
        body = source_trees.tree(path).body if parts and parts[0] == "geometry" else []
        for place, node in enumerate(body):
            if isinstance(node, ast.Assign) and any(isinstance(one, ast.Constant) and isinstance(one.value, float)
                                                    and one.value not in (-1.0, 0.0, 1.0) for one in ast.walk(node.value)):
                after = next((one for one in body[place + 1:] if not isinstance(one, ast.Assign)), None)
                said = after.value.value if isinstance(after, ast.Expr) and isinstance(after.value, ast.Constant) else ""
                if not any(word in " ".join(said.split()) for word in known):
                    bare.append(f"{path.relative_to(PACKAGE)}:{node.lineno}")
    assert bare == [], "say where these numbers come from"
