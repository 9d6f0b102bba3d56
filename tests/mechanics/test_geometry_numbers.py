"""Every named number that a shape is made with says where it comes from."""
import ast
import pathlib
import re

import pytest
import source_trees

GEOMETRY = pathlib.Path(__file__).parents[2] / "workbench" / "crankline" / "geometry"
SOURCES = re.compile(r"common practice[^()]*no source|from memory|numerical|drawn only|closed form"
                     r"|\b(ASME|ISO|EN|SAE|AWS|DIN|NIST|FED-STD)\b")
NO_DIMENSION = {"VERSION", "INCH", "SIDES", "FACES", "LEVELS", "ENDS", "FORWARD", "ALONG", "TOP", "X", "UP", "ORIGIN"}
"""Versions, units, names of sides, directions."""


def _numbers(path):
    """(names, text below them) of every assignment of numbers at the top of a module; a text closes the lines right above it."""
    body = source_trees.tree(path).body
    waiting = []
    for item, after in zip(body, body[1:] + [None]):
        if not isinstance(item, ast.Assign) or not any(isinstance(node, ast.Constant) and type(node.value) in (int, float)
                                                       for node in ast.walk(item.value)):
            waiting = []
            continue
        names = [node.id for target in item.targets for node in ast.walk(target) if isinstance(node, ast.Name)]
        waiting += [name for name in names if name not in NO_DIMENSION and not name.startswith("_")]
        text = after.value.value if isinstance(after, ast.Expr) and isinstance(after.value, ast.Constant) else ""
        if text or not isinstance(after, ast.Assign):
            if waiting:
                yield waiting, text
            waiting = []


@pytest.mark.parametrize("path", sorted(GEOMETRY.glob("*.py")), ids=lambda path: path.stem)
def test_every_number_says_where_it_comes_from(path):
    for names, text in _numbers(path):
        assert SOURCES.search(" ".join(text.split())), (
            f"{path.name}: {', '.join(names)} names neither its source nor 'common practice, no source'")


def test_the_reading_finds_numbers(tmp_path):
    (tmp_path / "one.py").write_text('A = 1.0\nB = 2.0\n"""Both (ISO 1)."""\nC = 3.0\n\nD = f(4.0)\n"""Lone."""\n', "utf-8")
    assert list(_numbers(tmp_path / "one.py")) == [(["A", "B"], "Both (ISO 1)."), (["C", "D"], "Lone.")]
    assert sum(len(names) for path in GEOMETRY.glob("*.py") for names, _text in _numbers(path)) > 60
