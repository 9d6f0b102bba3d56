"""What a user reads is US English of the trade: string literals of the program, values of its YAML files, and the README."""
from __future__ import annotations

import ast
import re
from functools import cache

import pytest
import source_trees
import yaml
from conftest import ROOT, WORKBENCH

PACKAGE = WORKBENCH / "crankline"

BRITISH = r"centre(s|d|line|lines)?|tyres?|alumini" r"um|colours?|grey|catalogues?|licence|metres?|millimetres?|neighbours?|cancell" \
          r"ation law|fibre|normalised|vectorised"
STIFF = r"anew|judge[sd]?|has to hold|in one place|lies wholly|further rule|lost its program part|as usual|no approval|wanted" \
        r"|waives nothing|is no (name|date|box|field|point|wall|table|number|pass)"
STANDS = r"(?<!car on )(?<!is on )(?<!jack )(?<!set-up )stands?(?! that are rated)"
"""To stand is to be: only a car on stands does, and what a car is set on."""
FORBIDDEN = re.compile(rf"(?<![\w.`-])({BRITISH}|{STIFF}|{STANDS})(?![\w(-]|: 1)", re.IGNORECASE)

KEYS = {"ahead_of_axle_centre"}


@cache
def literals(path):
    """(line, text) of every string literal with a blank in it, the plain pieces of f-strings too; docstrings only of quantities and
    formulas, which the list of rules shows."""
    quiet = set()
    for node in source_trees.nodes(path):
        shown = any(ast.unparse(one).startswith(("quantity(", "formula(")) for one in getattr(node, "decorator_list", ()))
        for statement in () if shown else getattr(node, "body", ()) if isinstance(getattr(node, "body", ()), list) else ():
            if isinstance(statement, ast.Expr) and isinstance(statement.value, ast.Constant):
                quiet.add(id(statement.value))
    return [(node.lineno, node.value) for node in source_trees.of_kind(path, ast.Constant)
            if isinstance(node.value, str) and " " in node.value.strip() and id(node) not in quiet]


def test_a_sentence_is_written_once():
    """Whole string literals of so many characters; what describes fields of records, which are alike in several, apart."""
    found = {}
    for path in sorted(PACKAGE.rglob("*.py")):
        if path.relative_to(PACKAGE).as_posix() not in ("model.py", "features/start.py", "records/placement_record.py"):
            for line, text in literals(path):
                if len(text) >= LONG and "<svg" not in text:
                    found.setdefault(text, []).append(f"{path.relative_to(PACKAGE)}:{line}")
    twice = [f"{' and '.join(places)}: {text}" for text, places in found.items() if len(places) > 1]
    assert not twice, "\n".join(twice)


LONG = 50
"""Characters from which a literal is a sentence of its own, and no word or two that meet again."""


def texts(value, path=()):
    """(keys, text) of every value of a YAML document."""
    if isinstance(value, dict):
        for key, item in value.items():
            yield from texts(item, (*path, str(key)))
    elif isinstance(value, list):
        for item in value:
            yield from texts(item, path)
    elif isinstance(value, str) and " " in value:
        yield path, value


@pytest.mark.parametrize("room", sorted({path.relative_to(PACKAGE).parts[0] for path in PACKAGE.rglob("*.py")}))
def test_the_program_speaks_us_english_of_the_trade(room):
    paths = [PACKAGE / room] if room.endswith(".py") else sorted((PACKAGE / room).rglob("*.py"))
    wrong = [f"{path.relative_to(PACKAGE)}:{line}: {found.group(0)!r} in {text[:70]!r}" for path in paths for line, text in literals(path)
             if (found := FORBIDDEN.search(text))]
    assert not wrong, "\n".join(wrong)


def test_rule_files_and_catalog_do():
    wrong = [f"{path.name}: {'.'.join(keys)}: {found.group(0)!r}" for path in sorted(PACKAGE.rglob("*.yaml"))
             for keys, text in texts(yaml.safe_load(path.read_text(encoding="utf-8"))) if (found := FORBIDDEN.search(text))]
    assert not wrong, "\n".join(wrong)


def test_the_help_page_does():
    page = (PACKAGE / "gui" / "help" / "index.html").read_text(encoding="utf-8")
    wrong = [found.group(0) for found in FORBIDDEN.finditer(re.sub(r"<style.*?</style>|<[^>]+>", "", page, flags=re.S))]
    assert not wrong, wrong


def test_the_readme_does():
    text = (ROOT / "README.md").read_text(encoding="utf-8")
    wrong = [line for line in re.sub(r"```.*?```|`[^`]*`", "", text, flags=re.S).splitlines() if FORBIDDEN.search(line)]
    assert not wrong, "\n".join(wrong)


@pytest.mark.parametrize("name", ["README.md", "DEVELOPERS.md"])
def test_lines_are_no_longer_than_those_of_the_code(name):
    long = [number for number, line in enumerate((ROOT / name).read_text(encoding="utf-8").splitlines(), 1) if len(line) > 140]
    assert not long, f"{name}: wrap lines {long}"


def test_a_word_that_is_not_ours_is_found():
    assert FORBIDDEN.search("the shaft stands in the centre") and FORBIDDEN.search("Tyre of the car")
    assert not FORBIDDEN.search("car on stands; center of the tire")
