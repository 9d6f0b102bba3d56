"""The texts of the window that translators get: ``python3 tests/translations.py`` writes ``gui/translations/crankline.ts`` again.

Read from the sources, so that nothing needs to run: the commands' texts, each in the context of its command, which is how the host looks
for them; what ``translate`` is called with; and the texts of the preferences page.
"""
from __future__ import annotations

import ast
import pathlib
from xml.etree import ElementTree
from xml.sax.saxutils import escape

ROOT = pathlib.Path(__file__).parent.parent
GUI = ROOT / "workbench" / "crankline" / "gui"
FILE = GUI / "translations" / "crankline.ts"

Texts = dict[str, list[str]]


def texts() -> Texts:
    """Context to its texts, both in alphabetical order."""
    found: dict[str, set[str]] = {}
    for path in sorted(GUI.glob("*.py")):
        tree = ast.parse(path.read_text(encoding="utf-8"))
        for context, text in [*_calls(tree, path), *(_commands(tree) if path.stem == "commands" else ())]:
            found.setdefault(context, set()).add(text)
    for path in sorted(GUI.glob("*.ui")):
        root = ElementTree.parse(path).getroot()
        found.setdefault(root.findtext("class") or "", set()).update(node.text or "" for node in root.iter("string"))
    return {context: sorted(found[context]) for context in sorted(found)}


def _calls(tree: ast.Module, path: pathlib.Path):
    for node in ast.walk(tree):
        if isinstance(node, ast.Call) and isinstance(node.func, ast.Name) and node.func.id == "translate":
            values = [argument.value for argument in node.args if isinstance(argument, ast.Constant) and isinstance(argument.value, str)]
            assert len(values) == 2, f"{path.name}:{node.lineno}: translate takes a context and a text as they are, nothing computed"
            yield values[0], values[1]


def _commands(tree: ast.Module):
    """Text, tip, and what *What's this* says, of each class that is a command."""
    for node in tree.body:
        if not isinstance(node, ast.ClassDef):
            continue
        held: dict[str, object] = {}
        for line in node.body:
            if isinstance(line, ast.Assign) and len(line.targets) == 1:
                target, value = line.targets[0], line.value
                both = isinstance(target, ast.Tuple) and isinstance(value, ast.Tuple)
                pairs = zip(target.elts, value.elts) if both else [(target, value)]
                held.update({one.id: other.value for one, other in pairs if isinstance(one, ast.Name) and isinstance(other, ast.Constant)})
        if held.get("name") and held.get("text"):
            for text in (held["text"], held["tip"], f"{held['tip']}. {held['what']}"):
                yield f"Crankline_{held['name']}", str(text)


def file_text(found: Texts) -> str:
    """The translation file of these texts, nothing translated yet."""
    body = "".join(f"<context>\n    <name>{escape(context)}</name>\n" + "".join(
        f"    <message>\n        <source>{escape(text)}</source>\n        <translation type=\"unfinished\"></translation>\n    </message>\n"
        for text in found[context]) + "</context>\n" for context in found)
    return f'<?xml version="1.0" encoding="utf-8"?>\n<!DOCTYPE TS>\n<TS version="2.1" sourcelanguage="en">\n{body}</TS>\n'


if __name__ == "__main__":
    FILE.write_text(file_text(texts()), encoding="utf-8")
