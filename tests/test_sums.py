"""The version of the sums changes with what an answer rests on, and with nothing else."""

from __future__ import annotations

import pytest

from yardfall import engine_version

CODE = '''
"""A module."""
LEAST = 0.15
"""Common practice."""

def depth(cover):  # of the pipe
    """How deep."""
    return cover + LEAST

class Body(Strict):
    grade = Number(0, 100, load_default=0.5, metadata={"description": "Percent."})
'''


@pytest.mark.parametrize(
    ("old", "new"),
    [
        ("# of the pipe", "# of any pipe"),
        ('"""A module."""', '"""Another."""'),
        ('"""Common practice."""', ""),
        ('"""How deep."""', '"""How deep it lies."""'),
        ("Percent.", "In percent."),
    ],
)
def test_what_is_only_said_changes_nothing(old: str, new: str) -> None:
    assert CODE.replace(old, new) != CODE
    assert engine_version.normal_form(CODE.replace(old, new)) == engine_version.normal_form(CODE)


@pytest.mark.parametrize(
    ("old", "new"),
    [("0.15", "0.16"), ("cover + LEAST", "cover - LEAST"), ("load_default=0.5", "load_default=1")],
    ids=["a constant", "a formula", "a default of a field"],
)
def test_what_an_answer_rests_on_counts(old: str, new: str) -> None:
    assert engine_version.normal_form(CODE.replace(old, new)) != engine_version.normal_form(CODE)


def test_a_library_counts(monkeypatch) -> None:
    before = engine_version.sums()
    monkeypatch.setattr(engine_version, "version", lambda _: "0")
    assert engine_version.sums.__wrapped__() != before


def test_a_part_that_is_not_there_is_told(monkeypatch) -> None:
    """A move must not empty the version silently."""
    monkeypatch.setattr(engine_version, "PARTS", ("moved/*.py",))
    with pytest.raises(FileNotFoundError, match="moved"):
        engine_version.sums.__wrapped__()
