"""What the service's code says by id, read from its source: every `say(…)`, and every string."""

from __future__ import annotations

import ast
import re
from collections.abc import Iterator
from functools import cache
from pathlib import Path

import yardfall

SERVICE = Path(yardfall.__file__).parent
SAYERS = ("say", "_say")
Parts = tuple[str | None, ...]
"""A string as the code writes it: its fixed pieces, and None for what is put in."""


@cache
def tree_of(path: Path) -> ast.Module:
    return ast.parse(path.read_text("utf-8"), str(path))


def sources() -> list[Path]:
    """Every module of the service but the sentences themselves."""
    found = [
        p for p in sorted(SERVICE.rglob("*.py")) if "sentences" not in p.relative_to(SERVICE).parts
    ]
    assert len(found) > 150, "the service's modules are looked for in the wrong place"
    return found


def parts_of(node: ast.AST) -> Parts | None:
    """The pieces of a string or an f-string; None for what is neither."""
    if isinstance(node, ast.Constant) and isinstance(node.value, str):
        return (node.value,)
    if isinstance(node, ast.JoinedStr):
        return tuple(str(v.value) if isinstance(v, ast.Constant) else None for v in node.values)
    return None


def called(node: ast.Call) -> str:
    if isinstance(node.func, ast.Name):
        return node.func.id
    return node.func.attr if isinstance(node.func, ast.Attribute) else ""


def pattern_of(parts: Parts) -> re.Pattern[str]:
    return re.compile("".join("(.*)" if p is None else re.escape(p) for p in parts))


def values_of(
    node: ast.AST, scope: ast.AST, within: frozenset[str] = frozenset()
) -> set[str] | None:
    """Every string that an expression of a function can be; None where it is not plain to see.

    `within` are the names whose values are being looked for.
    """
    parts = parts_of(node)
    if parts is not None and None not in parts:
        return {"".join(p or "" for p in parts)}
    if isinstance(node, ast.IfExp):
        return together([node.body, node.orelse], scope, within)
    if isinstance(node, ast.BoolOp):
        return together(node.values, scope, within)
    if isinstance(node, ast.Name):
        if node.id in within:
            return set()
        given = [one for one in ast.walk(scope) if binds(one, node.id)]
        plain = [one.value for one in given if isinstance(one, ast.Assign) and is_plain(one)]
        if given and len(plain) == len(given):
            return together(plain, scope, within | {node.id})
    return None


def is_plain(one: ast.Assign) -> bool:
    return len(one.targets) == 1 and isinstance(one.targets[0], ast.Name)


def binds(node: ast.AST, name: str) -> bool:
    """Whether a statement, a loop, or a parameter gives a name its value."""
    if isinstance(node, ast.arg):
        return node.arg == name
    targets: list[ast.expr] = []
    if isinstance(node, ast.Assign):
        targets = node.targets
    elif isinstance(node, ast.For | ast.comprehension | ast.AugAssign | ast.NamedExpr):
        targets = [node.target]
    return any(
        isinstance(part, ast.Name) and part.id == name for t in targets for part in ast.walk(t)
    )


def together(nodes: list[ast.expr], scope: ast.AST, within: frozenset[str]) -> set[str] | None:
    found = [values_of(node, scope, within) for node in nodes]
    return None if any(one is None for one in found) else set().union(*(f or set() for f in found))


def written_ids(node: ast.expr, scope: ast.AST) -> list[Parts]:
    """The ids that an expression comes to, what is not plain to see left open."""
    if isinstance(node, ast.IfExp):
        return [*written_ids(node.body, scope), *written_ids(node.orelse, scope)]
    if not isinstance(node, ast.JoinedStr):
        parts = parts_of(node)
        return [] if parts is None else [parts]
    ids: list[Parts] = [()]
    for value in node.values:
        if isinstance(value, ast.FormattedValue):
            more = values_of(value.value, scope)
        else:
            more = values_of(value, scope)
        ids = [(*one, piece) for one in ids for piece in (more or [None])]
    return ids


def ids_said() -> Iterator[tuple[str, Parts, ast.Call]]:
    """Where, the id as it is written, and the call; a choice of several ids is several."""
    for path in sources():
        wrapped = "".join(
            match.group(1)
            for match in re.finditer(r'return say\(f"(\w+\.)\{name\}"', path.read_text("utf-8"))
        )
        tree = tree_of(path)
        scopes: dict[ast.AST, ast.AST] = {}
        for scope in ast.walk(tree):
            if isinstance(scope, ast.FunctionDef):
                scopes.update(dict.fromkeys(ast.walk(scope), scope))
        for node in ast.walk(tree):
            if not isinstance(node, ast.Call) or called(node) not in SAYERS or not node.args:
                continue
            before: Parts = (wrapped,) if called(node) == "_say" else ()
            for parts in written_ids(node.args[0], scopes.get(node, tree)):
                yield f"{path.name}:{node.lineno}", before + parts, node


@cache
def strings_written() -> tuple[frozenset[str], tuple[Parts, ...]]:
    """Every string of the code, and every f-string, in its pieces."""
    fixed: set[str] = set()
    open_ones = set()
    for path in sources():
        nodes = list(ast.walk(tree_of(path)))
        pieces = {id(v) for node in nodes if isinstance(node, ast.JoinedStr) for v in node.values}
        for node in nodes:
            parts = parts_of(node)
            if parts is None or id(node) in pieces:
                continue
            if None in parts:
                open_ones.add(parts)
            else:
                fixed.add("".join(p or "" for p in parts))
    return frozenset(fixed), tuple(open_ones)


@cache
def is_written(text: str) -> bool:
    """Whether the code holds a text, or an f-string that makes it out of others it holds.

    Five characters at least must be the f-string's own, or it could make anything.
    """
    fixed, open_ones = strings_written()
    if not text or text.isdigit() or text in fixed:
        return True
    telling = (parts for parts in open_ones if sum(len(p or "") for p in parts) >= 5)
    return any(makes(parts, text) for parts in telling)


def makes(parts: Parts, text: str) -> bool:
    """Whether pieces come to a text, with strings of the code in the open places."""
    if not parts:
        return not text
    first, rest = parts[0], parts[1:]
    if first is not None:
        return text.startswith(first) and makes(rest, text[len(first) :])
    return any(makes(rest, text[k:]) and is_written(text[:k]) for k in range(len(text) + 1))
