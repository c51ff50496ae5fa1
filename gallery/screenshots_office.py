"""Takes the pictures of LibreOffice Draw: `python gallery/screenshots_office.py [FOLDER]`, on Linux.

They are of the menu and of the dialogues, as they come up on the keys of the menu; without a folder the menu and the
first dialogue go into this one. The office runs with a profile of its own, into which the package was put, on a screen
of its own (Xvfb; xdotool presses the keys, ImageMagick takes the pictures); the drawing is made up.
"""

from __future__ import annotations

import os
import shutil
import signal
import subprocess
import sys
import tempfile
import time
from pathlib import Path

import scallopkit
from scallopkit.editors.shipped import libreoffice_package

HERE = Path(__file__).parent
SIZE = "1280x860x24"
# Draws a yoke and selects it; run by the system's Python, which has the office's module.
SCRIPT = """
import os, time, uno
local = uno.getComponentContext()
resolver = local.ServiceManager.createInstanceWithContext("com.sun.star.bridge.UnoUrlResolver", local)
for _ in range(600):
    try:
        context = resolver.resolve("uno:pipe,name=scallopkitpicture;urp;StarOffice.ComponentContext")
        break
    except Exception:
        time.sleep(0.1)
desktop = context.ServiceManager.createInstanceWithContext("com.sun.star.frame.Desktop", context)
doc = desktop.loadComponentFromURL("private:factory/sdraw", "_blank", 0, ())
page = doc.DrawPages.getByIndex(0)
shape = doc.createInstance("com.sun.star.drawing.ClosedBezierShape")
page.add(shape)
points = uno.createUnoStruct("com.sun.star.drawing.PolyPolygonBezierCoords")
places = [(3000, 9000), (6500, 3500), (14500, 3500), (18000, 9000), (18000, 16000), (3000, 16000), (3000, 9000)]
kinds = ["NORMAL", "CONTROL", "CONTROL", "NORMAL", "NORMAL", "NORMAL", "NORMAL"]
points.Coordinates = (tuple(uno.createUnoStruct("com.sun.star.awt.Point", x, y) for x, y in places),)
points.Flags = (tuple(uno.Enum("com.sun.star.drawing.PolygonFlags", kind) for kind in kinds),)
shape.PolyPolygonBezier = points
shape.FillStyle = uno.Enum("com.sun.star.drawing.FillStyle", "NONE")
shape.Name = "yoke"
time.sleep(2)
doc.CurrentController.select(shape)
doc.CurrentController.Frame.ContainerWindow.setFocus()
# The office goes on; what it lent is not given back one by one, which can fail.
os._exit(0)
"""
# After each of these the screen is as it should be shown, or the next keys may follow.
MENU, SCALLOPS, EYELETS, NOTCHES = ["alt+k"], ["alt+k", "s"], ["alt+k", "e"], ["alt+k", "n"]


def main() -> None:
    """Starts a screen and an office on it, opens the menu and the dialogues, and keeps the pictures."""
    folder = Path(sys.argv[1]) if sys.argv[1:] else HERE
    started: list[subprocess.Popen[bytes]] = []
    with tempfile.TemporaryDirectory(ignore_cleanup_errors=True) as made:
        place = Path(made)
        place.chmod(0o777)
        environment = {key: value for key, value in os.environ.items() if not key.startswith("PYTHON")}
        environment["HOME"] = made
        profile = f"-env:UserInstallation={(place / 'profile').as_uri()}"
        _install(place, profile, environment)
        office = ["soffice", "--norestore", "--nologo", "--nofirststartwizard", profile]
        try:
            server, environment["DISPLAY"] = _screen(environment)
            started.append(server)
            started.append(_begun([*office, "--accept=pipe,name=scallopkitpicture;urp;"], environment))
            _run(["/usr/bin/python3", "-c", SCRIPT], environment)
            time.sleep(4.0)
            _press(MENU, environment)
            _picture(folder / "libreoffice-menu.png", environment)
            # Fitted once, and what was said read, the dialogue tells what it held.
            _press([SCALLOPS[-1], "Return"], environment)
            _picture(place / "said.png", environment)
            _press(["Return", *SCALLOPS], environment)
            _picture(folder / "libreoffice-draw.png", environment)
            if folder != HERE:
                _rest(folder, place, environment)
        finally:
            for process in reversed(started):
                os.killpg(process.pid, signal.SIGKILL)
                process.wait()


def _rest(folder: Path, place: Path, environment: dict[str, str]) -> None:
    """The other dialogues, and what stands in the drawing after them."""
    shutil.copy(place / "said.png", folder / "libreoffice-said.png")
    _press(["Escape"], environment)
    for name, keys in (("eyelets", EYELETS), ("notches", NOTCHES)):
        _press(keys, environment)
        _picture(folder / f"libreoffice-{name}.png", environment)
        _press(["Return"], environment)
        _picture(folder / f"libreoffice-{name}-said.png", environment)
        _press(["Return"], environment)
    _picture(folder / "libreoffice-done.png", environment)


def _press(keys: list[str], environment: dict[str, str]) -> None:
    for key in keys:
        # On a screen without a window manager nobody gives a new window the keys.
        _run(["sh", "-c", "xdotool windowfocus $(xdotool search --onlyvisible --name . | tail -n 1)"], environment)
        _run(["xdotool", "key", key], environment)
        time.sleep(1.5)


def _picture(path: Path, environment: dict[str, str]) -> None:
    time.sleep(1.0)
    _run(["import", "-window", "root", str(path)], environment)


def _run(command: list[str], environment: dict[str, str]) -> None:
    subprocess.run(command, env=environment, check=True, timeout=120)  # noqa: S603  # our own commands


def _screen(environment: dict[str, str]) -> tuple[subprocess.Popen[bytes], str]:
    """A new screen and its name; the server itself finds a free number.

    It lives on when the office's first, short-lived process has left it.
    """
    reader, writer = os.pipe()
    command = ["Xvfb", "-displayfd", str(writer), "-screen", "0", SIZE, "-nolisten", "tcp", "-noreset"]
    server = subprocess.Popen(  # noqa: S603  # our own command
        command, env=environment, pass_fds=[writer], stderr=subprocess.DEVNULL, start_new_session=True
    )
    os.close(writer)
    with os.fdopen(reader) as told:
        return server, f":{told.readline().strip()}"


def _begun(command: list[str], environment: dict[str, str]) -> subprocess.Popen[bytes]:
    return subprocess.Popen(  # noqa: S603  # our own commands
        command, env=environment, stdin=subprocess.DEVNULL, stderr=subprocess.DEVNULL, start_new_session=True
    )


def _install(place: Path, profile: str, environment: dict[str, str]) -> None:
    """Puts the package into a profile, with a Python that has the library as it lies here."""
    python, source = place / "python", Path(scallopkit.__file__).parents[1]
    python.write_text(f'#!/bin/sh\nshift\nPYTHONPATH="{source}" exec "{sys.executable}" "$@"\n')
    python.chmod(0o755)
    (place / "scallopkit.oxt").write_bytes(libreoffice_package(str(python)))
    # The office's installer refuses root, so another user makes the profile; root can use it.
    other = ["setpriv", "--reuid=65534", "--regid=65534", "--clear-groups"] if os.geteuid() == 0 else []
    _run([*other, "unopkg", "add", "-f", profile, str(place / "scallopkit.oxt")], environment)


if __name__ == "__main__":
    main()
