"""What can go wrong with what a user gives us.

    YardfallError
    ├── InputError (ValueError)     cannot be computed; says where, what, and what would be right
    ├── GroundGap                   ground is not known along part of the route
    ├── NotFoundError (LookupError) no such raster or job
    ├── FileRefusedError (ValueError)  an uploaded file we will not read
    ├── TooLargeError (ValueError)  more than a named limit
    │   └── OutOfTimeError          a sum that takes longer than it may
    ├── StaleError                  someone else saved first
    ├── NotYoursError               may be read, but not changed
    ├── StillRunningError           the same call is being answered
    ├── KeyUsedError                a call's own key was another call's
    ├── UnavailableError            what the service stands on does not answer
    └── StorageFullError            no room left

A "no" is a result, not an error. Anything else that is raised is a bug.
"""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass, replace


class YardfallError(Exception):
    """Root of every error that a caller can mend."""


@dataclass(frozen=True)
class Problem:
    """One fault: an RFC 6901 pointer into the request, a sentence, and a stable code of the kind of
    fault."""

    pointer: str
    detail: str
    code: str = "cannot_be_computed"


class InputError(YardfallError, ValueError):
    """The request has the right shape but cannot be computed."""

    def __init__(self, *problems: Problem) -> None:
        super().__init__(" ".join(p.detail for p in problems))
        self.problems = problems

    @classmethod
    def at(cls, pointer: str, detail: str) -> InputError:
        """One fault at `pointer`."""
        return cls(Problem(pointer, detail))


class GroundGap(YardfallError):  # noqa: N818 - a gap is what it is
    """Ground is unknown on `gaps_m`: pairs (from, to) of stations in metres."""

    def __init__(self, gaps_m: tuple[tuple[float, float], ...], reason: str) -> None:
        super().__init__(reason)
        self.gaps_m = gaps_m
        self.reason = reason


class NotFoundError(YardfallError, LookupError):
    """Nothing is kept under that id."""


class FileRefusedError(YardfallError, ValueError):
    """An uploaded file that is not of an accepted kind."""


class TooLargeError(YardfallError, ValueError):
    """Over a named limit; the sentence names it."""


class OutOfTimeError(TooLargeError):
    """A sum that takes longer than it may; with less to do the machine may do it, or later."""


class StaleError(YardfallError):
    """Someone else saved first."""


class NotYoursError(YardfallError):
    """It may be read, but not changed by this caller."""


class StillRunningError(YardfallError):
    """The same call, sent before, is still being answered."""


class KeyUsedError(YardfallError):
    """The key that a caller gave a call was another call's."""


class UnavailableError(YardfallError):
    """What the service stands on does not answer; the same request may work later."""


class StorageFullError(YardfallError):
    """No room is left to keep anything."""


@contextmanager
def under(prefix: str) -> Iterator[None]:
    """Turn the pointers of an InputError raised inside into pointers below `prefix`."""
    try:
        yield
    except InputError as error:
        moved = (replace(p, pointer=prefix + p.pointer) for p in error.problems)
        raise InputError(*moved) from error
