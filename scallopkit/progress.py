"""A bar on the terminal for work that takes more than a second."""

from __future__ import annotations

import sys
import time
from collections.abc import Callable, Iterator
from contextlib import ExitStack, contextmanager
from typing import Any, Protocol

# Work that is done sooner shows no bar, seconds.
_PATIENCE = 1.0


class Step(Protocol):
    """Told how many parts of the work are done, of how many, and what is made next."""

    def __call__(self, done: int, number: int, what: str, /) -> None:
        """Takes note."""


@contextmanager
def progress(label: str) -> Iterator[Step]:
    """Something to tell the steps of work to, which shows them on a terminal, below the label, and nowhere else."""
    begun = time.perf_counter()
    shown: list[Any] = []
    now = [""]
    with ExitStack() as stack:

        def step(done: int, number: int, what: str, /) -> None:
            if not sys.stderr.isatty():
                return
            now[0] = what
            if not shown:
                if done >= number or time.perf_counter() - begun < _PATIENCE:
                    return
                shown.append(stack.enter_context(_bar(label, number, lambda _: now[0])))
            (bar,) = shown
            bar.update(done - bar.pos)

        yield step


def _bar(label: str, number: int, what: Callable[[object], str]) -> Any:  # noqa: ANN401  # the library's own kind
    import typer

    return typer.progressbar(length=number, label=label, file=sys.stderr, show_eta=False, item_show_func=what)
