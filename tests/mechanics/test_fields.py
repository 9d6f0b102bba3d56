"""A field that a user may fill is read by something: by its name, in code that does more with it than carry it about.

Names tell no record from another, so a field that shares its name with one that is read is not seen; neither record nor section
escapes, because the field that holds it must be read too.
"""
from __future__ import annotations

import ast
import dataclasses

from conftest import WORKBENCH

from crankline import model, record

PACKAGE = WORKBENCH / "crankline"

CARRY = ("model.py", "record.py", "schema.py", "carfile/reader.py", "carfile/writer.py", "features/props.py")
"""What types, writes and stores every field alike."""


def read_by_name() -> set[str]:
    """Names of the attributes that are read anywhere in the package but in what only carries."""
    found = set()
    for path in PACKAGE.rglob("*.py"):
        if path.relative_to(PACKAGE).as_posix() not in CARRY:
            tree = ast.parse(path.read_text(encoding="utf-8"))
            found |= {node.attr for node in ast.walk(tree) if isinstance(node, ast.Attribute) and isinstance(node.ctx, ast.Load)}
    return found


def test_every_field_of_the_model_is_read_by_something():
    read = read_by_name()
    records = [item for item in vars(model).values() if isinstance(item, type) and dataclasses.is_dataclass(item)]
    fields = {(kind.__name__, name) for kind in records for name, entry in record.entries(kind).items() if not entry.internal}
    assert len(records) > 30
    unread = {(kind, name) for kind, name in fields if name not in read}
    assert unread == set(), "use the field, or take it out with a schema step"
