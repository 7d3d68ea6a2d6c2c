"""RFC 6901 pointers into a body: built, and read out in words."""

from __future__ import annotations


def below(pointer: str, name: object) -> str:
    """The pointer to a field or entry of what `pointer` leads to."""
    return f"{pointer}/{str(name).replace('~', '~0').replace('/', '~1')}"


def steps(pointer: str) -> list[str]:
    """The names on the way that a pointer leads."""
    return [step.replace("~1", "/").replace("~0", "~") for step in pointer.split("/")[1:]]


def place(pointer: str) -> str:
    """Where a pointer leads, in words: `/ground/readings/0/down` is "Ground, readings, entry 1,
    down"; empty for the whole."""
    whole = ", ".join(
        f"entry {int(step) + 1}" if step.isdecimal() else step.replace("_", " ")
        for step in steps(pointer)
    )
    return whole[:1].upper() + whole[1:]
