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
def found() -> Iterator[dict[str, Any]]:
    """What a session found that used the menu of the installed package, and what the installer tells of it."""
    # Another user has to read it, so it lies outside pytest's own folder.
    with tempfile.TemporaryDirectory(prefix="scallopkit-oxt-", ignore_cleanup_errors=True) as place:
        folder = Path(place)
        folder.chmod(0o777)
        package, profile = folder / "scallopkit.oxt", folder / "profile"
        package.write_bytes(libreoffice_package(str(python_with_the_library(folder))))
        before = [*(unprivileged() or []), str(INSTALLER)]
        where = f"-env:UserInstallation={profile.as_uri()}"
        told = [
            subprocess.run(
                [*before, word, where, *rest],
                capture_output=True,
                text=True,
                env=clean() | {"HOME": place},
                timeout=60,
                check=True,
                stdin=subprocess.DEVNULL,
            ).stdout
            for word, *rest in (["add", "-f", str(package)], ["list"])
        ]
        with listening(profile, **UNSEEN) as pipe:
            yield played(SESSION, pipe, folder) | {"installer": told[1]}


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
        "hem: 148.9 mm along the edge as sewn\n5 scallops, each 29.72 mm wide"
    )
    (line,) = ours(found["steps"][1], "hem")["within"]
    (curve,) = by_command(tmp_path, HEM, "--along", "hem", "--width", "30mm", "--depth", "40%")["hem"]
    same_line(line, curve)


def test_the_menu_s_eyelets_are_those_of_the_command_line(found: dict[str, Any], tmp_path: Path) -> None:
    wanted = eyelets_by_command(tmp_path, HEM, "30mm", ["--eyelet", "5mm", "--margin", "6mm"])
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
        assert content or kind == "text", name
    # The unit comes right after its number.
    numbers = [
        k for k, field in enumerate(fields) if field[0] == "number" and "." in field[2] and field[2][-2:] != ".0"
    ]
    assert numbers
    for k in numbers:
        assert fields[k + 1][:2] == ["list", fields[k][1]]


def test_each_command_is_one_step_of_undo(found: dict[str, Any]) -> None:
    assert found["titles"][:3] == ["Notches", "Eyelets", "Scallops"]
    assert found["walk"][0] == found["steps"][2]
    assert found["walk"][-1] == found["steps"][3]


def test_nothing_is_asked_when_nothing_is_selected_and_nothing_done_when_cancelled(found: dict[str, Any]) -> None:
    assert found["said"]["nothing selected"] == (
        "No line is selected: select a line or an outline, and try again. Nothing was changed."
    )
    assert found["steps"][4] == found["steps"][3]
