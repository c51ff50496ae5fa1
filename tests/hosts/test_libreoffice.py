"""The macro in a real LibreOffice Draw without a window: the library's lines, one step of undo, no other change."""

from __future__ import annotations

import json
import os
import shutil
import signal
import subprocess
import sys
import tempfile
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from lxml import etree
from typer.testing import CliRunner

import scallopkit
from scallopkit.cli import app
from scallopkit.document.path_data import read_path
from scallopkit.editors.hosts import host_called
from scallopkit.editors.shipped import libreoffice_package

SYSTEM = Path("/usr/bin/python3")
OFFICE, INSTALLER = shutil.which("soffice"), shutil.which("unopkg")
SESSION = Path(__file__).with_name("draw_session.py")
# The host's grid is 0.01 mm: a point is off by half of it at most on either way, and so is each handle of the edge.
GRID = 0.02
NECK = [[20, 40], [40, 100], [120, 100], [140, 40]]


def clean() -> dict[str, str]:
    return {key: value for key, value in os.environ.items() if not key.startswith(("PYTHON", "VIRTUAL_ENV"))}


def missing() -> str:
    """Why the office can't be run here, or an empty text."""
    if OFFICE is None:
        return "LibreOffice is not installed"
    if not SYSTEM.exists() or subprocess.run([SYSTEM, "-c", "import uno"], capture_output=True, env=clean()).returncode:
        return f"{SYSTEM} can't talk to LibreOffice (python3-uno)"
    return ""


MISSING = missing()


@pytest.fixture(scope="module")
def found(tmp_path_factory: pytest.TempPathFactory) -> Iterator[dict[str, Any]]:
    """What a session in the office has found: it draws, fits, undoes and saves, in a profile of its own."""
    folder = tmp_path_factory.mktemp("office")
    scripts = folder / "profile" / "user" / "Scripts" / "python"
    # Laid out as `editors install` does.
    for name, data in host_called("libreoffice").files().items():
        (scripts / "scallopkit" / name).parent.mkdir(parents=True, exist_ok=True)
        (scripts / "scallopkit" / name).write_bytes(data)
    # The library need not be installed to be tested, so its Python is told where it lies; -I would forbid that.
    python = folder / "python"
    source = Path(scallopkit.__file__).parents[1]
    python.write_text(f'#!/bin/sh\nshift\nPYTHONPATH="{source}" exec "{sys.executable}" "$@"\n')
    python.chmod(0o755)
    (scripts / "scallopkit" / "bridge.json").write_text(json.dumps({"python": str(python)}))
    pipe = f"scallopkit{os.getpid()}"
    options = ["--headless", "--norestore", "--nologo", f"-env:UserInstallation={(folder / 'profile').as_uri()}"]
    office = subprocess.Popen(
        [str(OFFICE), *options, f"--accept=pipe,name={pipe};urp;"],
        stdin=subprocess.DEVNULL,
        stdout=subprocess.DEVNULL,
        stderr=subprocess.DEVNULL,
        env=clean(),
        start_new_session=True,
    )
    try:
        done = subprocess.run(
            [SYSTEM, SESSION, scripts / "scallopkit", pipe, folder],
            capture_output=True,
            env=clean() | {"PYTHONDONTWRITEBYTECODE": "1", "TMPDIR": str(folder)},
            timeout=60,
            check=False,
        )
        assert done.returncode == 0, done.stderr.decode()
        yield json.loads(done.stdout) | {"folder": str(folder)}
    finally:
        try:
            office.wait(5)
        except subprocess.TimeoutExpired:
            os.killpg(office.pid, signal.SIGKILL)
            office.wait()


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


def no_notes(shapes: list[dict[str, Any]]) -> list[dict[str, Any]]:
    return [{**shape, "note": ""} for shape in shapes]


@pytest.mark.host
@pytest.mark.skipif(bool(MISSING), reason=MISSING)
class TestDraw:
    def test_scallops_are_those_of_the_command_line(self, found: dict[str, Any], tmp_path: Path) -> None:
        (group,) = [shape for shape in found["fitting"]["once"] if shape["name"] == "scallopkit: neck"]
        shape = path_of("neck", [[100 * x for x in point] for point in NECK], [False, True, True, False])
        wanted = by_command(tmp_path, shape, "--along", "neck", "--width", "9mm", "--depth", "40%")
        (line,), (curve,) = group["within"], wanted["neck"]
        same_line(line, curve)
        assert found["fitting"]["said"][0].startswith(
            "neck: 160.6 mm along the edge as sewn\n18 scallops, each 8.92 mm"
        )

    def test_outlines_in_a_turned_group_are_read_where_they_lie(self, found: dict[str, Any], tmp_path: Path) -> None:
        scene = found["groups"]
        lines = {name: (shape["points"][0], shape["flags"][0]) for name, shape in scene["lines"].items()}
        # The group was turned by 15 degrees.
        assert lines["strap"][0][0] != [3000, 16000]
        for name, (points, flags) in lines.items():
            wanted = by_command(tmp_path, path_of(name, points, flags), "--along", name, "--width", "9mm")
            (group,) = [shape for shape in scene["ours"] if shape["name"] == f"scallopkit: {name}"]
            line = next(shape for shape in group["within"] if "points" in shape)
            same_line(line, wanted[name][0])
        assert {shape["name"] for shape in scene["ours"]} == {
            *("scallopkit: cuff", "scallopkit: strap", "scallopkit: cuff notches", "scallopkit: strap notches")
        }
        assert sum(shape["kind"] == "EllipseShape" for shape in scene["ours"][0]["within"]) == 32
        assert [shape["points"] for shape in scene["group"]["within"]] == [
            one["points"] for one in scene["lines"].values()
        ]

    def test_a_second_run_replaces_the_first_and_starts_from_the_edge(
        self, found: dict[str, Any], tmp_path: Path
    ) -> None:
        (group,) = [shape for shape in found["fitting"]["twice"] if shape["name"].startswith("scallopkit: ")]
        shape = path_of("neck", [[100 * x for x in point] for point in NECK], [False, True, True, False])
        wanted = by_command(tmp_path, shape, "--along", "neck", "--width", "11mm")
        same_line(group["within"][0], wanted["neck"][0])
        assert found["fitting"]["said"][2] == "neck: unchanged"
        recipe = json.loads(json.loads(group["note"])["recipe"])
        assert recipe["scallop"] == {"width": "11mm"}

    def test_the_maker_s_own_shapes_stay_as_they_are(self, found: dict[str, Any]) -> None:
        scene = found["fitting"]
        assert scene["once"][:2] == scene["twice"][:2] == scene["thrice"][:2] == scene["before"]
        assert all(shape["layer"] == "layout" for shape in scene["before"])

    def test_one_step_back_takes_all_away_and_one_on_brings_it_back(self, found: dict[str, Any]) -> None:
        scene = found["undoing"]
        assert len(scene["done"][0]) == len(scene["before"][0]) + 1
        assert scene["undone"] == scene["before"]
        assert scene["redone"] == scene["done"]

    def test_many_steps_back_and_on_end_where_they_began(self, found: dict[str, Any]) -> None:
        scene = found["fitting"]
        assert scene["titles"][:3] == ["Fit all again", "Scallops", "Scallops"]
        assert no_notes(scene["walk"][0]) == no_notes(scene["twice"])
        assert scene["walk"][-1] == scene["thrice"]
        for shapes in scene["walk"]:
            assert shapes[:2] == scene["before"]

    def test_the_layer_is_seen_and_printed(self, found: dict[str, Any]) -> None:
        scene = found["fitting"]
        assert "scallopkit" not in scene["layers before"]
        assert scene["layers"]["scallopkit"] == [True, True, False]
        (group,) = [shape for shape in scene["thrice"] if shape["name"].startswith("scallopkit: ")]
        assert {shape["layer"] for shape in (group, *group["within"])} == {"scallopkit"}
        # Blue, half a millimetre, dashed, not filled.
        assert group["within"][0]["style"] == [0x0072B2, 50, "DASH", "NONE"]

    def test_an_edge_between_two_small_shapes(self, found: dict[str, Any]) -> None:
        (line,) = found["edges"]["first"][0]["within"]
        assert nodes(line["points"][0], line["flags"][0])[[0, -1]].tolist() == [[40, 20], [130, 20]]

    def test_everything_is_fitted_again_on_lines_as_they_are_now(self, found: dict[str, Any]) -> None:
        said = found["edges"]["said"][2].splitlines()
        assert said[0].startswith("front:from here..to here: edge 90.00 to 100.00 mm, count 10 to 11")
        # Of two lines without names the one that was made longer is known by what is left.
        assert said[1:] == ["curve 1: unchanged", "curve 2: edge 80.00 to 120.00 mm, count 8 to 12"]
        assert [shape["name"] for shape in found["edges"]["theirs"]] == ["front", "from here", "to here", "", ""]

    @pytest.mark.parametrize(
        ("case", "text"),
        [
            ("nothing", "No line is selected: select a line or an outline, and try again."),
            (
                "rectangle",
                '"pocket" is no line with points: convert it to a curve first (Shape > Convert > To Curve), and select '
                "it again.",
            ),
            (
                "too wide",
                "The edge is 120 mm long, shorter than one scallop of 900 mm: ask for a width of at most 120 mm.",
            ),
            ("no scallops", 'There are no scallops on "hem" yet: fit them first, or go along the edge.'),
            ("nothing of ours", "There are no scallops, eyelets or notches of ours on this page yet."),
        ],
    )
    def test_a_refusal_is_one_sentence_and_changes_nothing(self, found: dict[str, Any], case: str, text: str) -> None:
        assert found["refusals"][case] == f"{text} Nothing was changed."
        assert found["refusals"]["shapes"] == 2
        assert not any("callop" in title for title in found["refusals"]["steps"])

    def test_a_fault_writes_a_report_and_says_where(self, found: dict[str, Any]) -> None:
        said = found["refusals"]["a fault"]
        (report,) = Path(found["folder"]).glob("scallopkit-fault-*.txt")
        assert str(report) in said
        assert "Traceback" not in said
        assert "TypeError" in report.read_text()

    def test_the_office_runs_the_macro_itself(self, found: dict[str, Any]) -> None:
        assert found["script"]["said"].startswith("hem: 120.0 mm along the edge as sewn\n13 scallops")
        assert found["script"]["counts"] == [2, 1, 2]


# ---------------------------------------------------------------- the package


def unprivileged() -> list[str] | None:
    """What is put before a command so that it does not run as root, or None where that can't be."""
    if os.geteuid() != 0:
        return []
    return ["setpriv", "--reuid=65534", "--regid=65534", "--clear-groups"] if shutil.which("setpriv") else None


@pytest.mark.host
@pytest.mark.skipif(INSTALLER is None, reason="LibreOffice's unopkg is not installed")
@pytest.mark.skipif(unprivileged() is None, reason="unopkg refuses root, and there is no setpriv")
def test_the_package_installs() -> None:
    # Another user has to read it, so it lies outside pytest's own folder.
    with tempfile.TemporaryDirectory(prefix="scallopkit-oxt-", ignore_cleanup_errors=True) as place:
        folder = Path(place)
        folder.chmod(0o777)
        (folder / "scallopkit.oxt").write_bytes(libreoffice_package(sys.executable))
        before = [*(unprivileged() or []), str(INSTALLER)]
        profile = f"-env:UserInstallation={(folder / 'profile').as_uri()}"
        environment = clean() | {"HOME": place}
        for words in (["add", "-f", str(folder / "scallopkit.oxt")], ["list"]):
            done = subprocess.run(
                [*before, words[0], profile, *words[1:]],
                capture_output=True,
                text=True,
                env=environment,
                timeout=60,
                check=False,
                stdin=subprocess.DEVNULL,
            )
            assert done.returncode == 0, done.stderr
        assert "Identifier: scallopkit.draw" in done.stdout
        assert "is registered: yes" in done.stdout
        assert "scallopkit.oxt/Addons.xcu" in done.stdout
