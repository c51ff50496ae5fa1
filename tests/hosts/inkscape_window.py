"""The editor's real window on a screen that nobody sees, worked by mouse and keys as a maker would."""

from __future__ import annotations

import subprocess
import time
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from typing import TypeVar

import numpy as np
from numpy.typing import NDArray

from .inkscape_runs import HEIGHT, WIDTH, environment, screen

NEEDED = ("inkscape", "Xvfb", "xdotool", "import")
# Seconds that something may take to show up while other work goes on.
PATIENCE = 20.0
# Looks at the screen that must be alike for it to be at rest.
_STILL = 4

T = TypeVar("T")


@dataclass(frozen=True)
class Window:
    """A window by its number, and where it lies on the screen."""

    number: str
    x: int
    y: int
    width: int
    height: int


@dataclass(frozen=True)
class Editor:
    """The editor as started, with all that is needed to work it."""

    env: dict[str, str]
    folder: Path

    def window(self, name: str, fits: Callable[[Window], bool] = lambda _: True) -> Window:
        """The window whose name ends so, as soon as it is there."""
        return self.until(lambda: next(filter(fits, self._windows(name)), None), f'no window called "{name}"')

    def _windows(self, name: str) -> Iterator[Window]:
        for number in self._told("search", "--onlyvisible", "--name", f"{name}$").split():
            told = dict(line.partition("=")[::2] for line in self._told("getwindowgeometry", "--shell", number).split())
            if "HEIGHT" in told:
                yield Window(number, *(int(told[key]) for key in ("X", "Y", "WIDTH", "HEIGHT")))

    def until(self, look: Callable[[], T | None], what: str) -> T:
        """What is looked for, as soon as it is there; fails with a picture of the screen.

        Raises:
            AssertionError: it does not come.
        """
        end = time.monotonic() + PATIENCE
        while time.monotonic() < end:
            if found := look():
                return found
            time.sleep(0.1)
        raise AssertionError(f"{what}; see {self.shot(self.folder / 'screen.png')}")

    def place(self, window: Window, x: int, y: int, width: int = 0, height: int = 0) -> None:
        """Moves a window there, on top of the others, and makes it as large."""
        if width:
            self._do("windowsize", "--sync", window.number, str(width), str(height))
        self._do("windowmove", window.number, str(x), str(y))
        self._do("windowraise", window.number)

    def click(self, window: Window, x: int, y: int, held: str = "") -> None:
        """Clicks at a place of a window, with a key held perhaps; below 0 it counts from its right and lower edges."""
        at = (x if x >= 0 else window.width + x, y if y >= 0 else window.height + y)
        self._do("mousemove", "--window", window.number, *map(str, at))
        self._do(*(["keydown", held] if held else []), "click", "1", *(["keyup", held] if held else []))

    def dismiss(self, window: Window, x: int, y: int) -> None:
        """Clicks the button there until the window is gone, since one that is at work takes no clicks."""

        def gone() -> bool:
            if window.number not in self._told("search", "--onlyvisible", "--name", ".").split():
                return True
            self.click(window, x, y)
            time.sleep(0.5)
            return False

        self.until(gone, "the window does not close")

    def middle_of(self, red: int, green: int, blue: int) -> tuple[int, int]:
        """Where on the screen the middle of all that has a colour lies."""
        y, x = np.nonzero((self._pixels() == (red, green, blue)).all(axis=2))
        assert len(x), f"nothing is of that colour; see {self.shot(self.folder / 'screen.png')}"
        return round(float(x.mean())), round(float(y.mean()))

    def write(self, window: Window, x: int, y: int, text: str) -> None:
        """Writes into the field at a place of a window, over what stands there."""
        self.click(window, x, y)
        self.press(window, "ctrl+a")
        self._do("type", text)
        self._do("key", "Tab")

    def press(self, window: Window, *keys: str) -> None:
        """Presses keys in a window."""
        self._do("windowfocus", "--sync", window.number)
        self._do("key", *keys)

    def shot(self, file: Path, window: Window | None = None) -> Path:
        """Takes a picture of the screen."""
        subprocess.run(["import", "-window", window.number if window else "root", str(file)], env=self.env, check=True)
        return file

    def seen(self, left: int, top: int, right: int, bottom: int) -> bytes:
        """What is seen in a part of the screen, for a comparison."""
        return self._pixels()[top:bottom, left:right].tobytes()

    def _pixels(self) -> NDArray[np.uint8]:
        command = ["import", "-window", "root", "-depth", "8", "ppm:-"]
        taken = subprocess.run(command, env=self.env, check=True, capture_output=True).stdout
        return np.frombuffer(taken[-WIDTH * HEIGHT * 3 :], np.uint8).reshape(HEIGHT, WIDTH, 3)

    def at_rest(self, left: int, top: int, right: int, bottom: int) -> bytes:
        """What is seen there, once it no longer changes."""
        before: list[bytes] = []

        def still() -> bytes:
            before.append(self.seen(left, top, right, bottom))
            return before[-1] if len(before) > _STILL and len(set(before[-_STILL:])) == 1 else b""

        return self.until(still, "the screen does not come to rest")

    def _do(self, *words: str) -> None:
        subprocess.run(["xdotool", *words], env=self.env, check=True, capture_output=True, timeout=PATIENCE)

    def _told(self, *words: str) -> str:
        done = subprocess.run(["xdotool", *words], env=self.env, check=False, capture_output=True, text=True)
        return done.stdout


@contextmanager
def opened(profile: Path, drawing: Path, actions: Sequence[str]) -> Iterator[Editor]:
    """The editor with a drawing open, on a screen of its own; both are ended afterwards."""
    with screen() as display:
        env = {**environment(profile), "DISPLAY": display, "GTK_THEME": "Adwaita"}
        command = ["inkscape", "-g", f"--actions={';'.join(actions)}", str(drawing)]
        with (drawing.parent / "editor.log").open("wb") as log:
            editor = subprocess.Popen(command, env=env, stdout=log, stderr=log)
        try:
            yield Editor(env, drawing.parent)
        finally:
            editor.kill()
            editor.wait()
