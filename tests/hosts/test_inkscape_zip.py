"""The zip in the real editor: unpacked into a profile of its own, one effect draws there."""

from __future__ import annotations

import io
import os
import shutil
import subprocess
import sys
import zipfile
from pathlib import Path

import pytest
from lxml import etree

from scallopkit import __version__
from scallopkit.editors.hosts import host_called
from scallopkit.editors.packing import packed

DRAWING = """<svg xmlns="http://www.w3.org/2000/svg" width="200mm" height="100mm" viewBox="0 0 200 100">
  <path id="neck" style="stroke:#000000" d="M 10,20 H 190"/>
</svg>
"""
PATH = "{http://www.w3.org/2000/svg}path"

pytestmark = pytest.mark.host


def needed(*programs: str) -> pytest.MarkDecorator:
    missing = [program for program in programs if shutil.which(program) is None]
    return pytest.mark.skipif(bool(missing), reason=f"not on this system: {', '.join(missing)}")


@pytest.fixture
def profile(tmp_path: Path) -> dict[str, str]:
    """The environment of an editor with a profile of its own, which holds the unpacked zip."""
    extensions = tmp_path / "config" / "inkscape" / "extensions"
    with zipfile.ZipFile(io.BytesIO(packed(host_called("inkscape"), __version__))) as archive:
        archive.extractall(extensions)
    kept = {
        key: value for key, value in os.environ.items() if not key.startswith(("PYTHON", "VIRTUAL_ENV", "INKSCAPE"))
    }
    return {**kept, "HOME": str(tmp_path), "XDG_CONFIG_HOME": str(tmp_path / "config")}


@needed("inkscape", "xvfb-run", "xauth")
def test_the_editor_draws_with_what_was_unpacked(profile: dict[str, str], tmp_path: Path) -> None:
    """It ends well even where it knows no such effect, so only what was drawn counts."""
    (tmp_path / "in.svg").write_text(DRAWING, encoding="utf-8")
    actions = "select-by-id:neck;scallopkit.scallop.noprefs;export-filename:out.svg;export-do"
    command = ["xvfb-run", "-a", "inkscape", "-g", "--batch-process", f"--actions={actions}", "in.svg"]
    done = subprocess.run(command, cwd=tmp_path, env=profile, capture_output=True, check=False, timeout=60)
    assert (tmp_path / "out.svg").exists(), done.stderr.decode()
    lines = [path for path in etree.parse(tmp_path / "out.svg").iter(PATH) if path.get("data-run") == "neck"]
    assert [line.get("data-role") for line in lines] == ["stitching"], done.stderr.decode()


@needed("inkscape")
def test_the_list_finds_the_editor_and_what_was_unpacked(profile: dict[str, str], tmp_path: Path) -> None:
    command = [sys.executable, "-m", "scallopkit", "editors", "list"]
    environment = {**profile, "PYTHONPATH": os.pathsep.join(path for path in sys.path if path)}
    done = subprocess.run(command, cwd=tmp_path, env=environment, capture_output=True, check=True, timeout=60)
    rows = [line.split("\t") for line in done.stdout.decode().splitlines()]
    (row,) = [row for row in rows if row[0] == "Inkscape"]
    assert row[1][0].isdigit()
    assert row[2:] == [str(tmp_path / "config" / "inkscape" / "extensions"), f"version {__version__}, current"]
