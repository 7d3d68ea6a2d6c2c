"""Every sentence an answer or a paper can hold stands in `yardfall.sentences`, by an id in use."""

from __future__ import annotations

import ast
import re
import string
from pathlib import Path

import pytest
from said import (
    SERVICE,
    called,
    ids_said,
    makes,
    parts_of,
    pattern_of,
    sources,
    strings_written,
    tree_of,
)

from yardfall.core.compiled import MODULES as LOOPS
from yardfall.sentences import MODULES, TEXTS, say

MODULE_NAMES = {module.__name__.rpartition(".")[2] for module in MODULES}
TABLES_ALONE = {"__init__", "limits"}
"""Modules of the package without sentences by id."""
REFUSALS = ("InputError", "Problem")
"""What is refused is told by these; so is everything that ends in `Error` or is named so."""
NO_ANSWERS = {
    "cli/main.py": "what the command line says",
    "cli/commands.py": "what the command line says",
    "client.py": "what the client says when it raises",
    "core/asbuilt/dug_readings.py": "refusals",
    "core/asbuilt/old_pipe.py": "refusals",
    "use_cases/transfer.py": "refusals",
    "cli/admin.py": "what the command line says",
    "cli/sources.py": "what the command line says",
    "web/http/access.py": "refusals",
    "web/http/api.py": "refusals, and the contract",
    "web/http/parsing.py": "refusals",
    "web/openapi/security.py": "what the contract says of keys",
    "web/openapi/words/check_descriptions.py": "what the contract says of fields",
    "web/openapi/words/fill_descriptions.py": "what the contract says of fields",
    "web/openapi/words/ground_descriptions.py": "what the contract says of fields",
    "web/openapi/units.py": "what the contract says of measures",
    "web/openapi/words/field_words.py": "what the contract says of fields",
    "web/openapi/words/kept_words.py": "what the contract says of fields",
    "web/openapi/words/words_anywhere.py": "what the contract says of fields",
    "web/openapi/geojson.py": "what the contract says of shapes",
    "web/openapi/finish.py": "what the contract says of schemas",
    "web/openapi/operations.py": "what the contract says of calls",
    "web/openapi/words/water_descriptions.py": "what the contract says of fields",
    "web/openapi/words/descriptions.py": "what the contract says of fields",
    "web/openapi/words/reach_descriptions.py": "what the contract says of fields",
    "web/openapi/words/upload_descriptions.py": "what the contract says of fields",
    "web/openapi/fields.py": "refusals, and what the contract says of fields",
    "web/jobs/views.py": "refusals, and what the contract says of its calls",
    "web/jobs/paper_views.py": "refusals, and what the contract says of its calls",
    "web/papers/views.py": "what the contract says of its calls",
    "web/http/problems.py": "refusals",
    "web/http/problem_kinds.py": "how refusals begin",
    "web/http/once.py": "refusals",
}
"""Modules that hold sentences, none of which is of an answer or a paper; schemas besides."""


def named(path: Path) -> str:
    return path.relative_to(SERVICE).as_posix()


def answer_modules() -> list[Path]:
    """Every module that may put an answer or a paper together.

    What `store` and `geo` say is of files and databases that they refuse.
    """
    found = [
        path
        for path in sources()
        if named(path) not in NO_ANSWERS
        and not path.stem.endswith("schemas")
        and path.relative_to(SERVICE).parts[0] not in ("store", "geo")
    ]
    folders = [path.relative_to(SERVICE).parts[0] for path in found]
    assert folders.count("web") > 30, "no module of web was found"
    assert folders.count("papers") > 15, "no module of papers was found"
    assert folders.count("core") > 40, "no module of core was found"
    return found


def fields_of(text: str) -> list[tuple[str | None, str | None, str | None]]:
    return [(f, spec, how) for _, f, spec, how in string.Formatter().parse(text) if f is not None]


def test_every_module_of_the_package_is_listed() -> None:
    files = {path.stem for path in (SERVICE / "sentences").rglob("*.py")}
    assert files - TABLES_ALONE == MODULE_NAMES
    assert len(TEXTS) == sum(len(module.TEXTS) for module in MODULES) > 200


def test_every_id_that_is_said_has_a_text() -> None:
    said = list(ids_said())
    assert len(said) > 100, "no place where something is said was found"
    missing = [
        f"{where}: {''.join('{}' if p is None else p for p in parts)}"
        for where, parts, _ in said
        if not any(pattern_of(parts).fullmatch(name) for name in TEXTS)
    ]
    assert not missing


def test_every_string_that_looks_like_an_id_is_one() -> None:
    """Ids that are kept in a name before they are said; a module's own dotted names are none."""
    looks = re.compile(rf"({'|'.join(sorted(MODULE_NAMES))})\.[a-z_][a-z0-9_.]*")
    paths = re.compile(r".*\.(html|pdf|csv|json|geojson|gpkg|js|py)")
    wrong = [
        text
        for text in strings_written()[0]
        if looks.fullmatch(text)
        and not paths.fullmatch(text)
        and text not in LOOPS
        and not any(name == text or name.startswith(f"{text}.") for name in TEXTS)
    ]
    assert not wrong


def test_every_text_is_said_somewhere() -> None:
    """By its whole id, or by a pattern whose open places the code has strings for."""
    fixed, open_ones = strings_written()
    kept = {p for p in open_ones if str(p[0]).partition(".")[0] in MODULE_NAMES}
    said = kept | {parts for _, parts, _ in ids_said() if None in parts}
    idle = [
        name
        for name in TEXTS
        if name not in fixed and not any(makes(parts, name) for parts in said)
    ]
    assert not idle


@pytest.mark.parametrize("name", sorted(TEXTS))
def test_a_text_has_named_parameters_only(name: str) -> None:
    fields = fields_of(TEXTS[name])
    for field, spec, how in fields:
        assert field is not None
        assert field.isidentifier(), field
        assert (spec, how) == ("", None), "a parameter comes as it is read"
    told = say(name, **{field: f"<{field}>" for field, _, _ in fields if field})
    assert "{" not in told
    assert told == told.strip()


def test_every_parameter_of_a_text_is_given() -> None:
    """Where a call names one id and its parameters one by one."""
    lacking = []
    for where, parts, call in ids_said():
        if None in parts or any(keyword.arg is None for keyword in call.keywords):
            continue
        name = "".join(p or "" for p in parts)
        needed = {field for field, _, _ in fields_of(TEXTS[name])}
        if needed - {keyword.arg for keyword in call.keywords}:
            lacking.append(f"{where}: {name}")
    assert not lacking


def sentences_in(path: Path) -> list[str]:
    """String literals that read as a sentence, but for docstrings and what is refused."""
    tree = tree_of(path)
    passed: set[int] = set()
    for node in ast.walk(tree):
        if isinstance(node, ast.Expr) and isinstance(node.value, ast.Constant):
            passed.add(id(node.value))
        if isinstance(node, ast.Call):
            owner = node.func.value if isinstance(node.func, ast.Attribute) else None
            names = {called(node), owner.id if isinstance(owner, ast.Name) else ""}
            if any(name in REFUSALS or name.endswith("Error") for name in names):
                passed |= {id(part) for part in ast.walk(node)}
        if isinstance(node, ast.JoinedStr) and id(node) not in passed:
            passed |= {id(value) for value in node.values}
    found = []
    for node in ast.walk(tree):
        parts = parts_of(node)
        if parts is None or id(node) in passed:
            continue
        text = "".join("X" if p is None else p for p in parts).strip()
        if text[:1].isupper() and text.endswith(".") and len(text.split()) >= 3:
            found.append(text)
    return found


def test_no_sentence_is_left_where_answers_are_made() -> None:
    left = {named(path): sentences_in(path) for path in answer_modules()}
    assert {name: texts for name, texts in left.items() if texts} == {}


@pytest.mark.parametrize("name", NO_ANSWERS)
def test_an_exception_is_still_needed(name: str) -> None:
    assert sentences_in(SERVICE / name)


def test_a_sentence_that_is_left_would_be_seen(tmp_path: Path) -> None:
    path = tmp_path / "made_up_answer.py"
    path.write_text(
        '"""It is a docstring."""\n'
        "def said(amount):\n"
        '    raise InputError.at("/a", "It is refused.")\n'
        '    return "It falls enough.", f"{amount} is left.", "no sentence", "One label"\n',
        "utf-8",
    )
    assert sentences_in(path) == ["It falls enough.", "X is left."]


def test_assumptions_are_worded_by_the_sentences() -> None:
    """No literal stands where an assumption has its words, which do not end as sentences do."""
    wrong, seen = [], 0
    for path in answer_modules():
        for node in ast.walk(tree_of(path)):
            if isinstance(node, ast.Call) and called(node) == "Assumption" and len(node.args) == 5:
                seen += 1
                if parts_of(node.args[3]) is not None:
                    wrong.append(f"{path.name}:{node.lineno}")
    assert seen > 8
    assert not wrong
