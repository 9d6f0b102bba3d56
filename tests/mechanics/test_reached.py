"""Nothing is there for nobody: every field that a user may fill is read by something, every function is called by more than tests.

Both go by names, which tell no record from another: a field or function that shares its name with one that is used is not seen. Neither
record nor section escapes, because the field that holds it must be read too.
"""
from __future__ import annotations

import ast
import dataclasses

from conftest import WORKBENCH

from crankline import model, record

PACKAGE = WORKBENCH / "crankline"

CARRY = ("model.py", "record.py", "schema.py", "carfile/reader.py", "carfile/writer.py", "features/props.py")
"""What types, writes and stores every field alike."""

BY_THE_HOST = ("features", "gui", "headless.py")
"""Rooms whose methods FreeCAD and Qt call by their names."""

REGISTERED = ("quantity", "formula")
"""Decorators that make a function known under its name."""

WAITING = {
    "as_blank": "the transmission mount as it is delivered",
    "aligned": "diagonals of a set-up sheet", "render_book": "the sheets of a kit in one file",
    "clamp_load": "torque table", "tightening_torque": "torque table",
    "cg_x_from_loads": "balance", "cg_height_from_tilt": "balance", "wheelstand_limit": "balance", "neutral_line_drop": "balance",
    "recover": "as-built fit", "from_plate": "as-built fit: readings on the surface plate",
    "angle_at_nonuniformity": "rules of both joints in series", "peak_torsional_acceleration": "rules of both joints in series",
    "second_joint_allowance": "rules of both joints in series",
    "secondary_couple": "rules of both joints in series",
}
"""Functions that only tests reach until what they are for is there, and what that is."""


def trees(left_out=()):
    """(path within the package, parsed) of every module but some."""
    for path in sorted(PACKAGE.rglob("*.py")):
        name = path.relative_to(PACKAGE).as_posix()
        if name not in left_out:
            yield name, ast.parse(path.read_text(encoding="utf-8"))


def read_by_name(kinds=(ast.Attribute, ast.Name), left_out=()) -> set[str]:
    """Names that are read anywhere in the package, as attributes or by themselves."""
    return {getattr(node, "attr", None) or node.id for _name, tree in trees(left_out) for node in ast.walk(tree)
            if isinstance(node, kinds) and isinstance(node.ctx, ast.Load)}


def test_every_field_of_the_model_is_read_by_something():
    read = read_by_name(ast.Attribute, CARRY)
    records = [item for item in vars(model).values() if isinstance(item, type) and dataclasses.is_dataclass(item)]
    fields = {(kind.__name__, name) for kind in records for name, entry in record.entries(kind).items() if not entry.internal}
    assert len(records) > 30
    assert {(kind, name) for kind, name in fields if name not in read} == set(), "use the field, or take it out with a schema step"


def test_no_function_is_there_for_tests_alone():
    read, found = read_by_name(), set()
    for name, tree in trees():
        if name.split("/")[0] in BY_THE_HOST:
            continue
        for node in ast.walk(tree):
            if not isinstance(node, (ast.FunctionDef, ast.ClassDef)) or node.name.startswith("_"):
                continue
            if not any(isinstance(item, ast.Call) and getattr(item.func, "id", "") in REGISTERED for item in node.decorator_list):
                found |= {node.name} - read
    assert found - set(WAITING) == set(), "use it, take it out, or move it to the tests that need it (closed_forms.py)"
    assert set(WAITING) - found == set(), "it is used now: take it off the list"
