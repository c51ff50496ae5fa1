"""Run by the system's Python beside a real office: the commands of the installed menu, with their dialogues.

Arguments: the name of the pipe on which the office listens, and a folder. The dialogues are read and filled in as a
screen reader does it. Prints what it found as JSON.
"""

from __future__ import annotations

import importlib
import json
import os
import sys
import threading
import time
import traceback
from collections.abc import Callable, Iterator
from contextlib import suppress
from pathlib import Path
from typing import Any

sys.path.insert(0, str(Path(__file__).parent))
session: Any = importlib.import_module("draw_session")
uno: Any = session.uno

_ALERT, _DIALOGUE, _BUTTON, _LIST, _BOX, TEXT = (
    uno.getConstantByName(f"com.sun.star.accessibility.AccessibleRole.{name}")
    for name in ("ALERT", "DIALOG", "PUSH_BUTTON", "LIST", "COMBO_BOX", "TEXT")
)
_PATIENCE = 20.0
MISTAKES = {
    "Scallops...": ("Depth", "a third"),
    "Eyelets...": ("In each: 1, every other: 2", "x"),
    "Notches...": ("On an edge: equal parts", ""),
}


class Office:
    """An office whose menu is used."""

    def __init__(self, pipe: str) -> None:
        self.context = session.connected(pipe)
        self.sheet = session.Sheet(self.context)
        self.toolkit = self._made("com.sun.star.awt.Toolkit")

    def _made(self, name: str) -> Any:  # noqa: ANN401  # the host's own objects
        return self.context.ServiceManager.createInstanceWithContext(name, self.context)

    def menu(self) -> dict[str, str]:
        """The titles of our menu's entries as the office has them, and their addresses."""
        wanted = uno.createUnoStruct("com.sun.star.beans.PropertyValue")
        wanted.Name, wanted.Value = "nodepath", "/org.openoffice.Office.Addons/AddonUI/OfficeMenuBar/scallopkit.draw"
        provider = self._made("com.sun.star.configuration.ConfigurationProvider")
        held = provider.createInstanceWithArguments("com.sun.star.configuration.ConfigurationAccess", (wanted,))
        entries = [held.Submenu.getByName(name) for name in held.Submenu.ElementNames]
        return {entry.Title.replace("~", ""): entry.URL for entry in entries}

    def chosen(self, title: str) -> threading.Thread:
        """An entry of the menu, as the menu starts it; it goes on until its last window is closed."""
        helper, frame = self._made("com.sun.star.frame.DispatchHelper"), self.sheet.doc.CurrentController.Frame
        started = threading.Thread(
            target=helper.executeDispatch, args=(frame, self.menu()[title], "", 0, ()), daemon=True
        )
        started.start()
        return started

    def window(self, asks: bool) -> Any:  # noqa: ANN401  # the host's own objects
        """The dialogue with fields, or the message without, that is open, as soon as there is one."""
        end = time.monotonic() + _PATIENCE
        while time.monotonic() < end:
            # Windows come and go while they are looked at.
            with suppress(Exception):
                for k in range(self.toolkit.getTopWindowCount()):
                    seen = self.toolkit.getTopWindow(k).getAccessibleContext()
                    wanted = _DIALOGUE if asks else _ALERT
                    if seen.getAccessibleRole() == wanted and named(seen, "OK", _BUTTON):
                        return seen
            time.sleep(0.02)
        raise TimeoutError("no window came up")

    def said(self) -> str:
        """What a message says that comes up; its button is pressed."""
        window = self.window(asks=False)
        said = [one.getAccessibleName() for one in within(window) if one.getAccessibleRole() != _BUTTON]
        press(window, "OK")
        return "\n".join(said)

    def gone(self, command: threading.Thread) -> None:
        command.join(_PATIENCE)
        if command.is_alive():
            raise TimeoutError("the command did not end")


def within(window: Any) -> Iterator[Any]:  # noqa: ANN401  # the host's own objects
    """The controls of a window, in the order of the tabulator key."""
    for k in range(window.getAccessibleChildCount()):
        yield window.getAccessibleChild(k).getAccessibleContext()


def fields(window: Any) -> list[list[str]]:  # noqa: ANN401  # the host's own objects
    """Kind, name and content of every field."""
    kinds = {_BOX: "list", TEXT: "text"}
    return [
        [kinds[one.getAccessibleRole()], one.getAccessibleName(), content(one)]
        for one in within(window)
        if one.getAccessibleRole() in kinds
    ]


def content(control: Any) -> str:  # noqa: ANN401  # the host's own objects
    if control.getAccessibleRole() == _BOX:
        return content(next(within(control)))
    return str(control.getText())


def named(window: Any, name: str, role: int) -> Any:  # noqa: ANN401  # the host's own objects
    return next(one for one in within(window) if one.getAccessibleName() == name and one.getAccessibleRole() == role)


def press(window: Any, name: str) -> None:  # noqa: ANN401  # the host's own objects
    """Presses a button until the window is gone: what is pressed before it is quite there counts for nothing."""
    end = time.monotonic() + _PATIENCE
    with suppress(Exception):
        while time.monotonic() < end:
            named(window, name, _BUTTON).doAccessibleAction(0)
            time.sleep(0.1)
        return
    # A window that is gone has no buttons any more.


def choose(window: Any, name: str, item: str) -> None:  # noqa: ANN401  # the host's own objects
    items = next(one for one in within(named(window, name, _BOX)) if one.getAccessibleRole() == _LIST)
    shown = [one.getAccessibleName() for one in within(items)]
    items.selectAccessibleChild(shown.index(item))


def write(window: Any, name: str, text: str) -> None:  # noqa: ANN401  # the host's own objects
    named(window, name, TEXT).setText(text)


def main() -> None:
    """Scallops, eyelets and notches by the menu, each undone and done again; then a menu without a selection."""
    office = Office(sys.argv[1])
    sheet = office.sheet
    found: dict[str, Any] = {"menu": office.menu(), "asked": {}, "said": {}, "steps": [sheet.shapes()]}
    hem = sheet.line("hem", False, [[(3000, 12000), (8000, 9000), (12000, 9000), (17000, 12000)]])
    found["steps"] = [sheet.shapes()]
    written = {"Scallops...": {"Width, valley to valley": "1 1/2in", "Depth": "30"}}
    wishes: dict[str, dict[str, str]] = {
        "Scallops...": {},
        "Eyelets...": {},
        "Notches...": {"They go on": "the edge itself", "Shape": "v, cut in"},
    }
    for title, wish in wishes.items():
        sheet.select(hem)
        command = office.chosen(title)
        window = office.window(asks=True)
        found["asked"][title] = [window.getAccessibleName(), fields(window)]
        for name, value in wish.items():
            choose(window, name, value)
        for name, value in written.get(title, {}).items():
            write(window, name, value)
        press(window, "OK")
        found["said"][title] = office.said()
        office.gone(command)
        found["steps"].append(sheet.shapes())
    manager = sheet.doc.UndoManager
    found["titles"] = [*manager.getAllUndoActionTitles()]
    found["walk"] = []
    for step in "uuurrr":
        (manager.undo if step == "u" else manager.redo)()
        found["walk"].append(sheet.shapes())

    sheet.select(hem)
    command = office.chosen("Scallops...")
    window = office.window(asks=True)
    press(window, "Cancel")
    office.gone(command)
    for title, (name, text) in MISTAKES.items():
        sheet.select(hem)
        command = office.chosen(title)
        window = office.window(asks=True)
        write(window, name, text)
        press(window, "OK")
        found["said"][name] = office.said()
        office.gone(command)
    sheet.select()
    command = office.chosen("Eyelets...")
    found["said"]["nothing selected"] = office.said()
    office.gone(command)
    found["steps"].append(sheet.shapes())
    end(sheet, found)


def end(sheet: Any, found: dict[str, Any]) -> None:  # noqa: ANN401  # the host's own objects
    """Prints what was found and ends the office."""
    sys.stdout.write(json.dumps(found))
    sys.stdout.flush()
    sheet.doc.close(True)
    # The office ends while it is asked to, so what it lent can't be given back.
    with suppress(Exception):
        sheet.desktop.terminate()
    os._exit(0)


def run(work: Callable[[], None]) -> None:
    """Does the work, which ends this program; a fault is told."""
    try:
        work()
    except Exception:
        traceback.print_exc()
    sys.stderr.flush()
    # A dialogue that is still open would be waited for.
    os._exit(1)


if __name__ == "__main__":
    run(main)
