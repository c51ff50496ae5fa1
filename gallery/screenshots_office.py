"""Takes the picture of the dialogue in LibreOffice Draw: `python gallery/screenshots_office.py`, on Linux.

The office runs with a profile of its own on a screen of its own (Xvfb; ImageMagick takes the picture); the drawing is
made up.
"""

from __future__ import annotations

import json
import os
import signal
import subprocess
import sys
import tempfile
import time
from pathlib import Path

import scallopkit
from scallopkit.editors.shipped import libreoffice_files

HERE = Path(__file__).parent
SCREEN, SIZE = ":97", "1280x860x24"
# Draws a neckline, selects it, and opens the dialogue; run by the system's Python, which has the office's module.
SCRIPT = """
import sys, time, uno
local = uno.getComponentContext()
resolver = local.ServiceManager.createInstanceWithContext("com.sun.star.bridge.UnoUrlResolver", local)
for _ in range(200):
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
place = "vnd.sun.star.script:scallopkit_lo|tools.py$%s?language=Python&location=user"
run = doc.getScriptProvider()
print(run.getScript(place % "scallop_with").invoke((doc, '{"width": "14mm"}'), (), ())[0], flush=True)
time.sleep(1)
doc.CurrentController.select(shape)
run.getScript(place % "scallops").invoke((), (), ())
"""


def main() -> None:
    """Starts a screen and an office on it, opens the dialogue, and keeps the picture."""
    started: list[subprocess.Popen[bytes]] = []
    with tempfile.TemporaryDirectory(ignore_cleanup_errors=True) as place:
        profile = Path(place) / "profile"
        _install(profile / "user" / "Scripts" / "python", Path(place))
        environment = {key: value for key, value in os.environ.items() if not key.startswith("PYTHON")}
        environment["DISPLAY"] = SCREEN
        office = [
            "soffice",
            "--norestore",
            "--nologo",
            "--nofirststartwizard",
            f"-env:UserInstallation={profile.as_uri()}",
        ]
        try:
            started.append(_begun(["Xvfb", SCREEN, "-screen", "0", SIZE], environment))
            time.sleep(1.0)
            started.append(_begun([*office, "--accept=pipe,name=scallopkitpicture;urp;"], environment))
            started.append(_begun(["/usr/bin/python3", "-c", SCRIPT], environment))
            time.sleep(18.0)
            picture = ["import", "-window", "root", str(HERE / "libreoffice-draw.png")]
            subprocess.run(picture, env=environment, check=True, timeout=20)  # noqa: S603  # our own command
        finally:
            for process in reversed(started):
                os.killpg(process.pid, signal.SIGKILL)
                process.wait()


def _begun(command: list[str], environment: dict[str, str]) -> subprocess.Popen[bytes]:
    return subprocess.Popen(  # noqa: S603  # our own commands
        command, env=environment, stdin=subprocess.DEVNULL, stderr=subprocess.DEVNULL, start_new_session=True
    )


def _install(scripts: Path, place: Path) -> None:
    """Puts the macro into a profile, with a Python that has the library as it lies here."""
    for name, data in libreoffice_files().items():
        if name.startswith("scallopkit_lo/"):
            (scripts / name).parent.mkdir(parents=True, exist_ok=True)
            (scripts / name).write_bytes(data)
    python, source = place / "python", Path(scallopkit.__file__).parents[1]
    python.write_text(f'#!/bin/sh\nshift\nPYTHONPATH="{source}" exec "{sys.executable}" "$@"\n')
    python.chmod(0o755)
    (scripts / "scallopkit_lo" / "bridge.json").write_text(json.dumps({"python": str(python)}))


if __name__ == "__main__":
    main()
