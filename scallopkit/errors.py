"""What can go wrong, said in one sentence: what, where, and what to do about it.

Every error a person can cause is a `ScallopkitError`; the command line prints its text and ends with
status 2. Leaves also inherit the builtin that a Python user would expect to catch.
"""

from __future__ import annotations


class ScallopkitError(Exception):
    """Base of all errors that the input or the request can cause."""


class DrawingError(ScallopkitError, ValueError):
    """The drawing cannot be read, or does not hold what a drawing must hold."""


class NameUnknownError(ScallopkitError, LookupError):
    """A piece, mark, corner or run was named that the drawing does not have."""


class RequestError(ScallopkitError, ValueError):
    """An option's value cannot be read or does not go with the others."""


class NoFitError(ScallopkitError, ValueError):
    """No whole number of scallops fits as asked; `counts` are the nearest that do."""

    def __init__(self, message: str, counts: tuple[float, ...] = ()) -> None:
        super().__init__(message)
        self.counts = counts


class OutputError(ScallopkitError, OSError):
    """The result cannot be written where it was asked for."""


def counted(n: float, one: str, many: str = "") -> str:
    """A number with its word, for sentences: 1 scallop, 2.5 scallops, 2 notches; `many` is `one` with an s if empty."""
    return f"{n:g} {one if n == 1 else many or f'{one}s'}"
