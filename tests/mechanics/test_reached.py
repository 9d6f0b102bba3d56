"""Nothing is there for nobody: every field that a user may fill is read by something, every function is called by more than tests.

Fields and methods go by names, which tell no record from another: one that shares its name with one that is used is not seen. Neither
record nor section escapes, because the field that holds it must be read too. Functions and classes of a module are told apart by the
module that they are taken from.
"""
from __future__ import annotations

import ast
import dataclasses

import source_trees
from conftest import WORKBENCH

from crankline import model, record

PACKAGE = WORKBENCH / "crankline"

CARRY = ("model.py", "record.py", "schema.py", "carfile/reader.py", "carfile/writer.py", "features/props.py")
"""What types, writes and stores every field alike."""

BY_THE_HOST = ("features", "gui", "headless.py", "command_line.py")
"""Rooms whose methods FreeCAD, Qt and argparse call by their names."""

REGISTERED = ("quantity", "formula")
"""Decorators that make a function known under its name."""

WAITING = {"run": "a whole check in one call: for macros and the Python console"}
"""Functions that only tests reach until what they are for is there, and what that is."""


def modules(left_out=()):
    """(path within the package, path) of every module but some."""
    for path in sorted(PACKAGE.rglob("*.py")):
        name = path.relative_to(PACKAGE).as_posix()
        if name not in left_out:
            yield name, path


def read_by_name(*kinds, left_out=()) -> set[str]:
    """Names that are read anywhere in the package, as attributes or by themselves."""
    return {getattr(node, "attr", None) or node.id for _name, path in modules(left_out)
            for node in source_trees.of_kind(path, *kinds) if isinstance(node.ctx, ast.Load)}


def test_every_field_of_the_model_is_read_by_something():
    read = read_by_name(ast.Attribute, left_out=CARRY)
    records = [item for item in vars(model).values() if isinstance(item, type) and dataclasses.is_dataclass(item)]
    fields = {(kind.__name__, name) for kind in records for name, entry in record.entries(kind).items() if not entry.internal}
    assert len(records) > 30
    assert {(kind, name) for kind, name in fields if name not in read} == set(), "use the field, or take it out with a schema step"


def taken():
    """(module, name) of everything that some module of the package takes from one, or uses of its own."""
    names = {f"crankline.{name.removesuffix('.py').replace('/', '.')}".removesuffix(".__init__"): (name, path)
             for name, path in modules()}
    found = set()
    for module, (name, path) in names.items():
        package = module if name.endswith("__init__.py") else module.rpartition(".")[0]
        known = {}
        for node in source_trees.of_kind(path, ast.ImportFrom):
            above = package.split(".")[:len(package.split(".")) - node.level + 1] if node.level else []
            source = ".".join([*above, *filter(None, [node.module])])
            for item in node.names:
                if f"{source}.{item.name}" in names:
                    known[item.asname or item.name] = f"{source}.{item.name}"
                else:
                    found.add((source, item.name))
        for node in source_trees.of_kind(path, ast.Attribute, ast.Name):
            if isinstance(node, ast.Attribute) and isinstance(node.value, ast.Name) and node.value.id in known:
                found.add((known[node.value.id], node.attr))
            elif isinstance(node, ast.Name) and isinstance(node.ctx, ast.Load):
                found.add((module, node.id))
    return found


ASKED_OF_A_GEOMETRY = ("build", "closed_volume", "flat", "pieces", "seams")
"""What every feature asks of its geometry, whichever that is."""


def test_no_function_of_a_module_is_there_for_tests_alone():
    used, found = taken(), set()
    for name, path in modules():
        if name.split("/")[0] in BY_THE_HOST and "/hardware" not in name:
            continue
        module = f"crankline.{name.removesuffix('.py').replace('/', '.')}".removesuffix(".__init__")
        for node in source_trees.tree(path).body:
            if isinstance(node, (ast.FunctionDef, ast.ClassDef)) and (module, node.name) not in used:
                registered = any(isinstance(item, ast.Call) and getattr(item.func, "id", "") in REGISTERED for item in node.decorator_list)
                if not registered and not (name.startswith("geometry/") and node.name in ASKED_OF_A_GEOMETRY):
                    found.add(node.name)
    assert found - set(WAITING) == set(), "use it, take it out, or move it to the tests that need it (oracles.py, closed_forms.py)"


def test_no_function_is_there_for_tests_alone():
    read, found = read_by_name(ast.Attribute, ast.Name), set()
    for name, path in modules():
        if name.split("/")[0] in BY_THE_HOST:
            continue
        for node in source_trees.of_kind(path, ast.FunctionDef, ast.ClassDef):
            if node.name.startswith("_"):
                continue
            if not any(isinstance(item, ast.Call) and getattr(item.func, "id", "") in REGISTERED for item in node.decorator_list):
                found |= {node.name} - read
    assert found - set(WAITING) == set(), "use it, take it out, or move it to the tests that need it (closed_forms.py)"
    assert set(WAITING) - found <= {"run"}, "it is used now: take it off the list"
