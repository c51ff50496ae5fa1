"""A bar on the terminal for work that takes more than a second."""

from __future__ import annotations

import sys
import threading
import time
from collections.abc import Callable, Iterator
from contextlib import ExitStack, contextmanager
from typing import Any, Protocol

# Work that is done sooner shows no bar, seconds.
_PATIENCE = 1.0
# A bar whose end nobody can tell: from one picture to the next, seconds, and its room, letters.
_BEAT, _ROOM = 0.2, 32


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


@contextmanager
def working(label: str) -> Iterator[None]:
    """Shows on a terminal, below the label, that work whose end nobody can tell goes on, and for how long."""
    if not sys.stderr.isatty():
        yield
        return
    done = threading.Event()
    hand = threading.Thread(target=_walk, args=(label, done), daemon=True)
    hand.start()
    try:
        yield
    finally:
        done.set()
        hand.join()


def _walk(label: str, done: threading.Event) -> None:
    """A block that walks up and down a bar until the work is done; then the line is empty again."""
    begun = time.perf_counter()
    if done.wait(_PATIENCE):
        return
    k = 0
    while True:
        at = _ROOM - abs(k % (2 * _ROOM) - _ROOM)
        bar = "-" * at + "####" + "-" * (_ROOM - at)
        print(f"\r{label}  [{bar}]  {time.perf_counter() - begun:.0f} s", end="", file=sys.stderr, flush=True)
        k += 1
        if done.wait(_BEAT):
            break
    print("\r\x1b[2K", end="", file=sys.stderr, flush=True)


def _bar(label: str, number: int, what: Callable[[object], str]) -> Any:  # noqa: ANN401  # the library's own kind
    import typer

    return typer.progressbar(length=number, label=label, file=sys.stderr, show_eta=False, item_show_func=what)
