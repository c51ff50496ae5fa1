"""Run by the system's Python beside an office on a screen: its dialogue for scallops, filled in by keys alone.

Arguments: the name of the pipe on which the office listens, and a folder. Prints what it found as JSON.
"""

from __future__ import annotations

import importlib
import subprocess
import sys
import time
from collections.abc import Callable
from pathlib import Path
from typing import Any

sys.path.insert(0, str(Path(__file__).parent))
dialogues: Any = importlib.import_module("draw_dialogues")
# The cursor is in the first field, and what is typed takes the place of what stands there. One figure alone, as on a
# busy machine the cursor may come once more after it.
AT_ONCE = "9"
# The width again; its unit is left, the count passed over, the depth written, and the shape
# is the third of the list; last comes the name.
KEYS = (
    ("key", "ctrl+a"),
    ("type", "22,5"),
    ("key", "Tab", "Tab", "Tab"),
    ("type", "30"),
    ("key", "Tab", "Tab", "Down", "Down"),
    ("key", "alt+n"),
    ("type", "frill"),
)


def pressed(*words: str) -> str:
    done = subprocess.run(["xdotool", *words], capture_output=True, text=True, timeout=20, check=True)
    return done.stdout


def focused() -> None:
    """Gives the keys to the window that came up last, which nobody does on a screen without a window manager."""
    last = pressed("search", "--onlyvisible", "--name", ".").split()[-1]
    pressed("windowfocus", "--sync", last)


def until(look: Callable[[], bool], what: str) -> None:
    end = time.monotonic() + 20.0
    while not look():
        if time.monotonic() > end:
            raise TimeoutError(what)
        time.sleep(0.05)


def has_cursor(field: Any) -> bool:  # noqa: ANN401  # the host's own objects
    focus = dialogues.uno.getConstantByName("com.sun.star.accessibility.AccessibleStateType.FOCUSED")
    return bool(field.getAccessibleStateSet().contains(focus))


def main() -> None:
    """Scallops as typed, and confirmed from within the last field."""
    office = dialogues.Office(sys.argv[1])
    sheet = office.sheet
    sheet.select(sheet.line("hem", False, [[(3000, 12000), (8000, 9000), (12000, 9000), (17000, 12000)]]))
    command = office.chosen("Scallops...")
    window = office.window(asks=True)
    focused()
    first, *_, last = (one for one in dialogues.within(window) if one.getAccessibleRole() == dialogues.TEXT)
    until(lambda: has_cursor(first), "the first field does not get the keys")
    pressed("type", AT_ONCE)
    until(
        lambda: dialogues.content(first) == AT_ONCE, "what is typed at once does not take the place of what was there"
    )
    for words in KEYS:
        pressed(*words)
    until(lambda: dialogues.content(last) == KEYS[-1][1], "the last keys do not arrive")
    found: dict[str, Any] = {"fields": dialogues.fields(window)}
    pressed("key", "Return")
    found["said"] = office.said()
    office.gone(command)
    found["shapes"] = sheet.shapes()
    dialogues.end(sheet, found)


if __name__ == "__main__":
    dialogues.run(main)
