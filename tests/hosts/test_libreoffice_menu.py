"""The packed extension in a real LibreOffice Draw: installed, chosen from its menu, its dialogues filled in."""

from __future__ import annotations

import os
import shutil
import subprocess
import tempfile
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from scallopkit.editors.shipped import libreoffice_package

from .inkscape_runs import missing as absent
from .inkscape_runs import screen
from .office_runs import (
    GRID,
    UNSEEN,
    by_command,
    clean,
    eyelets_by_command,
    listening,
    missing,
    path_of,
    played,
    python_with_the_library,
    same_line,
)

INSTALLER = shutil.which("unopkg")
KEYS = ("Xvfb", "xdotool")
SESSION = Path(__file__).with_name("draw_dialogues.py")
HEM = path_of("hem", [[3000, 12000], [8000, 9000], [12000, 9000], [17000, 12000]], [False, True, True, False])
MISSING = missing() or ("" if INSTALLER else "LibreOffice's unopkg is not installed")


def unprivileged() -> list[str] | None:
    """What is put before a command so that it does not run as root, or None where that can't be."""
    if os.geteuid() != 0:
        return []
    return ["setpriv", "--reuid=65534", "--regid=65534", "--clear-groups"] if shutil.which("setpriv") else None


pytestmark = [
    pytest.mark.host,
    pytest.mark.skipif(bool(MISSING), reason=MISSING),
    pytest.mark.skipif(unprivileged() is None, reason="unopkg refuses root, and there is no setpriv"),
]


@pytest.fixture(scope="module")
def place() -> Iterator[Path]:
    """A folder that another user can read too, which pytest's own is not."""
    with tempfile.TemporaryDirectory(prefix="scallopkit-oxt-", ignore_cleanup_errors=True) as made:
        Path(made).chmod(0o777)
        yield Path(made)


def installer(place: Path, *words: str) -> str:
    """What the office's installer says, asked about the profile in that folder."""
    return subprocess.run(
        [*(unprivileged() or []), str(INSTALLER), words[0], f"-env:UserInstallation={profile_in(place)}", *words[1:]],
        capture_output=True,
        text=True,
        env=clean() | {"HOME": str(place)},
        timeout=60,
        check=True,
        stdin=subprocess.DEVNULL,
    ).stdout


def profile_in(place: Path) -> str:
    return (place / "profile").as_uri()


@pytest.fixture(scope="module")
def installed(place: Path) -> Path:
    """A profile with the package in it."""
    package = place / "scallopkit.oxt"
    package.write_bytes(libreoffice_package(str(python_with_the_library(place))))
    installer(place, "add", "-f", str(package))
    return place / "profile"


@pytest.fixture(scope="module")
def found(place: Path, installed: Path) -> dict[str, Any]:
    """What a session found that used the menu of the installed package, and what the installer tells of it."""
    told = installer(place, "list")
    with listening(installed, **UNSEEN) as pipe:
        return played(SESSION, pipe, place) | {"installer": told}


@pytest.fixture(scope="module")
def typed(tmp_path_factory: pytest.TempPathFactory, place: Path, installed: Path) -> dict[str, Any]:
    """What a session found on a screen, whose dialogue was filled in by keys."""
    # In a profile that another office has just left, one can find itself locked out.
    own = tmp_path_factory.mktemp("screen") / "profile"
    shutil.copytree(installed, own, ignore=shutil.ignore_patterns(".lock"))
    with screen() as display, listening(own, DISPLAY=display) as pipe:
        return played(SESSION.with_name("draw_keys.py"), pipe, place, DISPLAY=display)


def ours(shapes: list[dict[str, Any]], name: str) -> dict[str, Any]:
    """The group of a run among the shapes of a page."""
    (group,) = [shape for shape in shapes if shape["name"] == f"scallopkit: {name}"]
    return group


def test_the_package_installs(found: dict[str, Any]) -> None:
    assert "Identifier: scallopkit.draw" in found["installer"]
    assert "is registered: yes" in found["installer"]
    assert "scallopkit.oxt/Addons.xcu" in found["installer"]


def test_the_menu_s_scallops_are_those_of_the_command_line(found: dict[str, Any], tmp_path: Path) -> None:
    assert list(found["menu"]) == ["Scallops...", "Eyelets...", "Notches...", "Fit all again"]
    assert found["said"]["Scallops..."].startswith(
        "hem: 148.9 mm along the edge as sewn\n4 scallops, each 37.11 mm wide"
    )
    (line,) = ours(found["steps"][1], "hem")["within"]
    (curve,) = by_command(tmp_path, HEM, "--along", "hem", "--width", "1 1/2in", "--depth", "30%")["hem"]
    same_line(line, curve)


@pytest.mark.skipif(bool(absent(KEYS)), reason=f"keys can't be pressed in Draw's window: {absent(KEYS)}")
def test_what_is_typed_on_the_screen_is_drawn(typed: dict[str, Any], tmp_path: Path) -> None:
    told = [content for _, name, content in typed["fields"] if name.partition(",")[0] in {"Width", "Depth", "Shape"}]
    assert told == ["22,5", "mm", "30", "% of the width", "pointed arch"]
    (line,) = ours(typed["shapes"], "frill")["within"]
    words = ["--width", "22.5mm", "--depth", "30%", "--profile", "pointed-arch"]
    (curve,) = by_command(tmp_path, HEM, "--along", "hem", *words)["hem"]
    same_line(line, curve)


def test_the_menu_s_eyelets_are_those_of_the_command_line(found: dict[str, Any], tmp_path: Path) -> None:
    wanted = eyelets_by_command(tmp_path, HEM, "1 1/2in", ["--eyelet", "5mm", "--margin", "6mm"], "30%")
    circles = [one["box"] for one in ours(found["steps"][2], "hem")["within"] if one["kind"] == "EllipseShape"]
    middles = {(x + 0.5 * wide, y + 0.5 * high) for x, y, wide, high in circles}
    # Some circles lie about one another: the hole, and what is left free round it.
    assert sorted(middles) == pytest.approx(np.array(sorted(wanted)) * 100.0, abs=100.0 * GRID)


def test_the_menu_s_notches_go_by_what_was_chosen(found: dict[str, Any]) -> None:
    assert found["said"]["Notches..."] == "hem notches: 148.9 mm along the edge as sewn\n3 notches (v), 3 mm"
    assert len(ours(found["steps"][3], "hem notches")["within"]) == 3


@pytest.mark.parametrize("title", ["Scallops", "Eyelets", "Notches"])
def test_every_field_has_a_name_and_something_in_it(found: dict[str, Any], title: str) -> None:
    heading, fields = found["asked"][f"{title}..."]
    assert heading == title
    assert len(fields) >= 7
    for kind, name, content in fields:
        assert name, (kind, content)
        assert content or name.startswith("Name"), name
    # The unit comes right after its number.
    units = [k for k in range(len(fields)) if fields[k][0] == "list" and fields[k][2] in {"mm", "% of the width"}]
    assert units
    for k in units:
        assert fields[k - 1][:2] == ["text", fields[k][1]]


def test_each_command_is_one_step_of_undo(found: dict[str, Any]) -> None:
    assert found["titles"][:3] == ["Notches", "Eyelets", "Scallops"]
    assert found["walk"][0] == found["steps"][2]
    assert found["walk"][-1] == found["steps"][3]


def test_what_can_t_be_read_is_told_and_nothing_done(found: dict[str, Any]) -> None:
    assert found["said"]["Depth"].startswith("Depth 'a third' cannot be read; write it like 30mm")
    assert found["said"]["In each: 1, every other: 2"].startswith("Every takes a whole number from 1 on, not 'x'.")
    # Emptied, not left at what is usual.
    assert found["said"]["On an edge: equal parts"].startswith("At parts: takes a whole number from 1 on, not '0'.")
    assert found["steps"][4] == found["steps"][3]


def test_nothing_is_asked_when_nothing_is_selected_and_nothing_done_when_cancelled(found: dict[str, Any]) -> None:
    assert found["said"]["nothing selected"] == (
        "No line is selected: select a line or an outline, and try again. Nothing was changed."
    )
    assert found["steps"][4] == found["steps"][3]
