"""The zip for people without a terminal: exactly what an installation writes, a page, and the same bytes each time."""

from __future__ import annotations

import io
import os
import re
import shutil
import subprocess
import zipfile
from pathlib import Path

import pytest
from lxml import etree

from scallopkit.editors import shipped
from scallopkit.editors.hosts import host_called
from scallopkit.editors.installing import OWN, install, look, remove, state
from scallopkit.editors.packing import PAGE, packed, page

INKSCAPE = host_called("inkscape")
SYSTEM = Path("/usr/bin/python3")
DRAWING = """<svg xmlns="http://www.w3.org/2000/svg" width="200mm" height="100mm" viewBox="0 0 200 100">
  <path id="neck" style="stroke:#000000" d="M 10,20 H 190"/>
</svg>
"""


def unpacked(data: bytes, folder: Path) -> Path:
    with zipfile.ZipFile(io.BytesIO(data)) as archive:
        archive.extractall(folder)
    return folder


def files_in(folder: Path) -> dict[str, bytes]:
    return {path.relative_to(folder).as_posix(): path.read_bytes() for path in folder.rglob("*") if path.is_file()}


def test_it_holds_what_an_installation_writes_and_the_page(tmp_path: Path) -> None:
    install(tmp_path / "installed", INKSCAPE.files(), "0.1.0")
    held = files_in(unpacked(packed(INKSCAPE, "0.1.0"), tmp_path / "unpacked"))
    assert held.pop(PAGE).startswith(b"<!DOCTYPE html>")
    assert held == files_in(tmp_path / "installed")
    assert not [name for name in held if "__pycache__" in name or name.endswith(".pyc")]


def test_the_same_files_give_the_same_bytes(monkeypatch: pytest.MonkeyPatch) -> None:
    once = packed(INKSCAPE, "0.1.0")
    turned = dict(reversed(INKSCAPE.files().items()))
    monkeypatch.setattr(shipped, "inkscape_files", lambda: turned)
    monkeypatch.setattr("time.time", lambda: 2e9)
    assert packed(INKSCAPE, "0.1.0") == once
    assert packed(INKSCAPE, "0.1.1") != once


def test_names_fit_every_system() -> None:
    with zipfile.ZipFile(io.BytesIO(packed(INKSCAPE, "0.1.0"))) as archive:
        names = archive.namelist()
    assert names == sorted(names)
    assert len({name.lower() for name in names}) == len(names)
    assert all(re.fullmatch(r"[\w ./]+", name, re.ASCII) for name in names)
    # Windows takes 260 letters, of which its user folder and the editor's need about 80.
    assert max(map(len, names)) < 120


def test_a_copy_from_the_zip_is_known_and_can_be_removed(tmp_path: Path) -> None:
    unpacked(packed(INKSCAPE, "0.1.0"), tmp_path)
    assert state(look(tmp_path), INKSCAPE.files(), "0.1.0") == "version 0.1.0, current"
    remove(tmp_path)
    assert [path.name for path in tmp_path.iterdir()] == [PAGE]


# ---------------------------------------------------------------- the page


def test_the_page_needs_nothing_beside_it() -> None:
    text = page(INKSCAPE, "0.1.0", INKSCAPE.files())
    assert not re.search(r"<script|<link|<img|src=|href=|url\(|@import|https?:|\bon\w+=", text)
    assert not re.search(r"[{}]", re.sub(r"<style>.*</style>", "", text, flags=re.DOTALL))


def test_the_page_says_in_four_steps_where_to_put_it() -> None:
    text = page(INKSCAPE, "0.1.0", INKSCAPE.files())
    root = etree.fromstring(text.encode(), etree.HTMLParser())
    close, find, unpack, start = (" ".join("".join(map(str, step.itertext())).split()) for step in root.iter("li"))
    assert close == "Close Inkscape."
    for folder in (
        r"%APPDATA%\inkscape\extensions",
        "~/Library/Application Support/org.inkscape.Inkscape/config/inkscape/extensions",
        "~/.config/inkscape/extensions",
        "~/.var/app/org.inkscape.Inkscape/config/inkscape/extensions",
        "~/snap/inkscape/current/.config/inkscape/extensions",
    ):
        assert folder in find
    assert "Edit > Preferences > System" in find
    assert "scallopkit" in unpack
    assert "extensions/scallopkit/" in unpack
    assert start.startswith("Start Inkscape.")
    assert "Extensions > Scallopkit" in start
    assert "To remove it, close Inkscape and delete the folder scallopkit." in " ".join(
        "".join(map(str, root.itertext())).split()
    )


def test_the_manifest_that_the_page_names_is_there() -> None:
    (name,) = set(re.findall(r"extensions/scallopkit/([\w.]+)", page(INKSCAPE, "0.1.0", INKSCAPE.files())))
    assert name in INKSCAPE.files()


# ---------------------------------------------------------------- somebody who has only the zip


def offline() -> list[str]:
    """What runs a command without a network, or nothing where that is not permitted."""
    for command in (["unshare", "-n"], ["unshare", "-rn"]):
        if (
            shutil.which("unshare")
            and subprocess.run([*command, "true"], capture_output=True, check=False).returncode == 0
        ):
            return command
    return []


def in_clean_home(home: Path, words: list[str]) -> subprocess.CompletedProcess[bytes]:
    command = [*offline(), "env", "-i", f"HOME={home}", "PATH=/usr/bin", *words]
    return subprocess.run(command, cwd=home / "extensions" / OWN, capture_output=True, check=False, timeout=60)


@pytest.mark.host
def test_unpacked_in_a_clean_home_an_effect_draws_without_a_network(tmp_path: Path) -> None:
    """With the system's Python, an empty environment and nothing of ours beside the zip."""
    ask = "import sys, numpy, lxml.etree; assert sys.version_info >= (3, 10)"
    if not SYSTEM.exists() or subprocess.run(["env", "-i", SYSTEM, "-c", ask], check=False).returncode:
        pytest.skip(f"{SYSTEM} with numpy and lxml, which an editor would bring, is not on this system")
    if not offline():
        pytest.skip("`unshare -n`, which takes the network away, is not permitted here")
    unpacked(packed(INKSCAPE, "0.1.0"), tmp_path / "extensions")
    (tmp_path / "a.svg").write_text(DRAWING, encoding="utf-8")
    reach = "import socket; socket.create_connection(('192.0.2.1', 9), 1)"
    refused = in_clean_home(tmp_path, [str(SYSTEM), "-c", reach]).stderr
    assert os.strerror(101).encode() in refused  # the network is unreachable
    done = in_clean_home(tmp_path, [str(SYSTEM), "scallop.py", "--id=neck", "--width=30", str(tmp_path / "a.svg")])
    assert (done.returncode, done.stderr) == (0, b"")
    (line,) = [
        path for path in etree.fromstring(done.stdout).iter("{http://www.w3.org/2000/svg}path") if path.get("data-run")
    ]
    assert line.get("data-role") == "stitching"
    # What that run left behind is no obstacle: all of it goes again.
    assert state(look(tmp_path / "extensions"), INKSCAPE.files(), "0.1.0") == "version 0.1.0, current"
    remove(tmp_path / "extensions")
    assert not (tmp_path / "extensions" / OWN).exists()
