"""How a command ends that may be refused: by a sentence, never by a traceback."""

from __future__ import annotations

import argparse
import sys
from collections.abc import Callable
from functools import wraps
from typing import TypeVar

from yardfall.core.errors import YardfallError

Kept = TypeVar("Kept")
Command = Callable[[argparse.Namespace, Kept], None]
Run = Callable[[argparse.Namespace], int]


def told(opened: Callable[[argparse.Namespace], Kept]) -> Callable[[Command[Kept]], Run]:
    """A command on what is `opened`, which says what went wrong in a sentence, with exit code 2."""

    def told_of(command: Command[Kept]) -> Run:
        @wraps(command)
        def run(arguments: argparse.Namespace) -> int:
            try:
                command(arguments, opened(arguments))
            except (YardfallError, ValueError) as error:
                print(error, file=sys.stderr)
                return 2
            except OSError as error:
                print(f"{error.filename or arguments.data}: {error.strerror}.", file=sys.stderr)
                return 2
            return 0

        return run

    return told_of
