"""LibreOffice in a profile of its own, without a screen that anyone sees, and what the command line makes beside it."""

from __future__ import annotations

import json
import os
import shutil
import signal
import subprocess
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from lxml import etree
from typer.testing import CliRunner

import scallopkit
from scallopkit.cli import app
from scallopkit.document.path_data import read_path

SYSTEM = Path("/usr/bin/python3")
OFFICE = shutil.which("soffice")
# The host's grid is 0.01 mm: a point is off by half of it at most on either way, and so is each handle of the edge.
GRID = 0.02
# Without windows the office ends every dialogue at once; drawn into memory they open, and nobody needs a screen.
UNSEEN = {"SAL_USE_VCLPLUGIN": "svp"}


def clean() -> dict[str, str]:
    return {key: value for key, value in os.environ.items() if not key.startswith(("PYTHON", "VIRTUAL_ENV"))}


def missing() -> str:
    """Why the office can't be run here, or an empty text."""
    if OFFICE is None:
        return "LibreOffice is not installed"
    if not SYSTEM.exists() or subprocess.run([SYSTEM, "-c", "import uno"], capture_output=True, env=clean()).returncode:
        return f"{SYSTEM} can't talk to LibreOffice (python3-uno)"
    return ""


def python_with_the_library(folder: Path) -> Path:
    """A program that is Python to the macro, and has the library as it lies here.

    The library need not be installed to be tested, so its Python is told where it lies; -I would forbid that.
    """
    python, source = folder / "python", Path(scallopkit.__file__).parents[1]
    python.write_text(f'#!/bin/sh\nshift\nPYTHONPATH="{source}" exec "{sys.executable}" "$@"\n')
    python.chmod(0o755)
    return python


@contextmanager
def listening(profile: Path, *options: str, **variables: str) -> Iterator[str]:
    """An office that goes by a profile; gives the name of the pipe on which it listens, and ends with the block."""
    pipe = f"scallopkit{os.getpid()}{profile.parent.name}"
    office = subprocess.Popen(
        [
            *(str(OFFICE), "--norestore", "--nologo", "--nofirststartwizard", *options),
            f"-env:UserInstallation={profile.as_uri()}",
            f"--accept=pipe,name={pipe};urp;",
        ],
        stdin=subprocess.DEVNULL,
        stdout=subprocess.DEVNULL,
        stderr=subprocess.DEVNULL,
        env=clean() | variables,
        start_new_session=True,
    )
    try:
        yield pipe
    finally:
        try:
            office.wait(5)
        except subprocess.TimeoutExpired:
            os.killpg(office.pid, signal.SIGKILL)
            office.wait()


def played(script: Path, *arguments: str | Path, **variables: str) -> dict[str, Any]:
    """What a script beside the office found; the last argument is a folder that it may write to."""
    done = subprocess.run(
        [SYSTEM, script, *arguments],
        capture_output=True,
        env=clean() | {"PYTHONDONTWRITEBYTECODE": "1", "TMPDIR": str(arguments[-1])} | variables,
        timeout=120,
        check=False,
    )
    assert done.returncode == 0, done.stderr.decode()
    found: dict[str, Any] = json.loads(done.stdout)
    return found


# ---------------------------------------------------------------- lines of both


def nodes(points: Any, flags: Any) -> np.ndarray[Any, Any]:  # noqa: ANN401  # the session's JSON
    """The nodes of a line of the host in mm, without its handles."""
    return np.array([point for point, handle in zip(points, flags, strict=True) if not handle]) / 100.0


def handles(points: Any, flags: Any) -> np.ndarray[Any, Any]:  # noqa: ANN401  # the session's JSON
    return np.array([point for point, handle in zip(points, flags, strict=True) if handle]) / 100.0


def by_command(folder: Path, shapes: str, *arguments: str) -> dict[str, list[np.ndarray[Any, Any]]]:
    """What the command line draws for runs on the same shapes as an SVG in mm, by their names."""
    sheet = f'<svg xmlns="http://www.w3.org/2000/svg" width="210mm" height="297mm" viewBox="0 0 210 297">{shapes}</svg>'
    (folder / "sheet.svg").write_text(sheet)
    command = ["scallop", str(folder / "sheet.svg"), *arguments, "-o", str(folder / "out.svg")]
    ended = CliRunner().invoke(app, command)
    assert ended.exit_code == 0, ended.output
    out: dict[str, list[np.ndarray[Any, Any]]] = {}
    for path in etree.parse(folder / "out.svg").iter("{http://www.w3.org/2000/svg}path"):
        if path.get("data-role") == "stitching":
            parts = [part.curve for part in read_path(path.get("d") or "", 1e-6).subpaths]
            out.setdefault(path.get("data-run") or "", []).extend(parts)
    return out


def path_of(name: str, points: Any, flags: Any) -> str:  # noqa: ANN401  # the session's JSON
    """A line of the host as a path in mm."""
    d: list[str] = []
    group: list[str] = []
    for point, handle in zip(points, flags, strict=True):
        group.append(f"{point[0] / 100},{point[1] / 100}")
        if not handle:
            d.append(("C " if len(group) == 3 else "L " if d else "M ") + " ".join(group))
            group = []
    closed = " Z" if points[0] == points[-1] else ""
    return f'<path id="{name}" fill="none" stroke="black" d="{" ".join(d)}{closed}"/>'


def same_line(shape: dict[str, Any], curve: np.ndarray[Any, Any]) -> None:
    """A line of the host lies on a curve of the library."""
    points, flags = shape["points"][0], shape["flags"][0]
    wanted = np.concatenate([curve[:1, 0], curve[:, 3]])
    assert nodes(points, flags) == pytest.approx(wanted, abs=GRID)
    assert handles(points, flags) == pytest.approx(curve[:, 1:3].reshape(-1, 2), abs=GRID)


def eyelets_by_command(
    folder: Path, shapes: str, width: str, words: list[str], depth: str = "40%"
) -> list[tuple[float, float]]:
    """Where the command line sets eyelets on such scallops, in mm, by their order along the edge."""
    by_command(folder, shapes, "--along", "hem", "--width", width, "--depth", depth)
    command = ["eyelets", str(folder / "out.svg"), "--run", "hem", *words, "-o", str(folder / "both.svg")]
    ended = CliRunner().invoke(app, [*command, "--report", str(folder / "both.json")])
    assert ended.exit_code == 0, ended.output
    (run,) = json.loads((folder / "both.json").read_text())["runs"]
    return [(one["x"], one["y"]) for one in run["eyelets"]]
