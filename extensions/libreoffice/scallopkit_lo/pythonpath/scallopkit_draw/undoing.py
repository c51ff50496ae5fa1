"""One command, one step of undo.

The host notes what is removed from a page, but not what a macro adds, so that part has an action of its own here. Steps
that the host noted hold on to the shapes they are about. So a group that a later step may come back to is not removed
by an undo but hidden; the next command removes it, when there is no such step any more.
"""

from __future__ import annotations

import secrets
from contextlib import contextmanager

import unohelper
from com.sun.star.document import XUndoAction

from .drawing import drawn, layer_of
from .keeping import HIDDEN, LAYER, keep, kept_in


@contextmanager
def _unnoted(document: object) -> object:
    """What is done in here is not noted for undo."""
    document.UndoManager.lock()
    try:
        yield
    finally:
        document.UndoManager.unlock()


def put(document: object, page: object, title: str, old: list, runs: list) -> None:
    """Takes old groups of ours away and draws runs anew, in one step of undo.

    Args:
        document: the document.
        page: the page.
        title: what the step is called.
        old: the groups to be taken away.
        runs: pairs of a run of an answer, and what its group is to keep.
    """
    manager = document.UndoManager
    with _unnoted(document):
        action = _Drawn(document, page, title, runs)
        action.draw()
    manager.enterUndoContext(title)
    try:
        for group in old:
            page.remove(group)
        manager.addUndoAction(action)
    finally:
        manager.leaveUndoContext()
    with _unnoted(document):
        _sweep(page)


def _sweep(page: object) -> None:
    """Removes what an undo has hidden; a new step has made an end of all that could bring it back."""
    for k in reversed(range(page.Count)):
        if kept_in(page.getByIndex(k)).get(HIDDEN):
            page.remove(page.getByIndex(k))


class _Drawn(unohelper.Base, XUndoAction):
    """The drawing of runs, which can be taken back and done again.

    Groups are known by a number of their own: what the host takes away and brings back is another object to a macro.
    """

    def __init__(self, document: object, page: object, title: str, runs: list) -> None:
        self.Title = title
        self._document, self._page = document, page
        self._runs = [(run, {**kept, "number": secrets.token_hex(8)}) for run, kept in runs]
        self._hidden = self._own_layer = False

    def draw(self) -> None:
        """Draws the runs, or nothing."""
        self._own_layer = layer_of(self._document)[1]
        try:
            for run, kept in self._runs:
                drawn(self._document, self._page, run, kept)
        except Exception:
            self._remove()
            raise

    def undo(self) -> None:
        # While it is undone the step itself counts among those that can be done again.
        if len(self._document.UndoManager.getAllRedoActionTitles()) > 1:
            self._hide(True)
        else:
            self._remove()

    def redo(self) -> None:
        if self._hidden:
            self._hide(False)
        else:
            self.draw()

    def _groups(self) -> list:
        numbers = [kept["number"] for _, kept in self._runs]
        groups = [self._page.getByIndex(k) for k in range(self._page.Count)]
        return [group for group in groups if kept_in(group).get("number") in numbers]

    def _hide(self, hidden: bool) -> None:
        self._hidden = hidden
        for group in self._groups():
            kept = {key: value for key, value in kept_in(group).items() if key != HIDDEN}
            keep(group, {**kept, HIDDEN: True} if hidden else kept)
            for i in range(group.Count):
                group.getByIndex(i).Visible = group.getByIndex(i).Printable = not hidden

    def _remove(self) -> None:
        for group in self._groups():
            self._page.remove(group)
        if self._own_layer and not _used(self._document):
            self._document.LayerManager.remove(self._document.LayerManager.getByName(LAYER))


def _used(document: object) -> bool:
    """Whether anything lies in our layer."""
    pages = [document.DrawPages.getByIndex(k) for k in range(document.DrawPages.Count)]
    return any(page.getByIndex(i).LayerName == LAYER for page in pages for i in range(page.Count))
