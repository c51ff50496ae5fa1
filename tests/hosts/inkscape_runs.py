"""Inkscape in a profile of its own, with our effects in it, started without a screen that anyone sees.

Its exit status says nothing, so every run is judged by the files that it wrote.
"""

from __future__ import annotations

import os
import shutil
import subprocess
from collections.abc import Iterator, Mapping, Sequence
from contextlib import contextmanager
from pathlib import Path
from xml.sax.saxutils import quoteattr

from scallopkit.editors.shipped import inkscape_files

# What a value of a dialogue is stored as.
Value = str | float
NEEDED = ("inkscape", "Xvfb")
# The screen in pixels.
WIDTH, HEIGHT = 1400, 1000


def missing(programs: Sequence[str] = NEEDED) -> str:
    """Why the editor can't be run here, or an empty text."""
    absent = [program for program in programs if shutil.which(program) is None]
    return f"not on this system: {', '.join(absent)}" if absent else ""


def write_effects(folder: Path) -> Path:
    """The one folder that the editor holds, with all that we put there."""
    for name, data in inkscape_files().items():
        (folder / name).parent.mkdir(parents=True, exist_ok=True)
        (folder / name).write_bytes(data)
    return folder


def write_profile(folder: Path, values: Mapping[str, Value]) -> Path:
    """A profile with our effects; values of their dialogues by effect and name, such as scallop.width."""
    write_effects(folder / "inkscape" / "extensions" / "scallopkit")
    stored = " ".join(f"scallopkit.{name}={quoteattr(str(value))}" for name, value in values.items())
    preferences = f'<inkscape version="1"><group id="extensions" {stored}/></inkscape>'
    (folder / "inkscape" / "preferences.xml").write_text(preferences, encoding="utf-8")
    return folder


def environment(profile: Path) -> dict[str, str]:
    """What the editor is started with: its profile, and no Python settings of ours, as on a maker's desk."""
    own = {key: value for key, value in os.environ.items() if not key.startswith(("PYTHON", "VIRTUAL_ENV", "DBUS"))}
    return {**own, "XDG_CONFIG_HOME": str(profile), "XDG_CACHE_HOME": str(profile), "XDG_DATA_HOME": str(profile)}


def run_actions(profile: Path, actions: Sequence[str], *drawings: Path, timeout: float = 60.0) -> str:
    """Does all actions on each of the drawings, in one start of the editor; gives what it said."""
    command = ["inkscape", "-g", "--batch-process", f"--actions={';'.join(actions)}"]
    with screen() as display:
        done = subprocess.run(
            [*command, *(str(drawing) for drawing in drawings)],
            cwd=drawings[0].parent,
            env={**environment(profile), "DISPLAY": display},
            capture_output=True,
            text=True,
            check=False,
            timeout=timeout,
        )
    return done.stdout + done.stderr


@contextmanager
def screen() -> Iterator[str]:
    """The name of a new screen; the server itself finds a free number."""
    reader, writer = os.pipe()
    command = ["Xvfb", "-displayfd", str(writer), "-screen", "0", f"{WIDTH}x{HEIGHT}x24", "-nolisten", "tcp"]
    # LibreOffice's first, short-lived process would take the screen with it when it leaves.
    command.append("-noreset")
    server = subprocess.Popen(command, pass_fds=[writer], stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL)
    os.close(writer)
    try:
        with os.fdopen(reader) as told:
            yield f":{told.readline().strip()}"
    finally:
        server.terminate()
        server.wait()
