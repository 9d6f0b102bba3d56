"""The program's sources as syntax trees, read once in a process: for tests of what is written, which change nothing of it."""
from __future__ import annotations

import ast
from functools import cache


@cache
def tree(path) -> ast.Module:
    """A file, parsed."""
    return ast.parse(path.read_text(encoding="utf-8"))


@cache
def nodes(path) -> tuple[ast.AST, ...]:
    """Every node of a file, its module first."""
    return tuple(ast.walk(tree(path)))


@cache
def of_kind(path, *kinds: type) -> tuple[ast.AST, ...]:
    """Those nodes of a file that are of some kinds, in the same order."""
    return tuple(node for node in nodes(path) if isinstance(node, kinds))
