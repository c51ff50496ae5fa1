"""Full-size pages of which the real Inkscape makes the PDF, read back by an independent library."""

from __future__ import annotations

import os
import shutil
import subprocess
import sys
from pathlib import Path

import numpy as np
import pytest

from ..pages import read_pages

pytestmark = pytest.mark.host
DRAWING = """<svg xmlns="http://www.w3.org/2000/svg" width="700mm" height="500mm" viewBox="0 0 1400 1000">
  <rect id="cloth" x="20" y="20" width="840" height="600" stroke="black"/></svg>"""
# What a point on paper may lie off, mm; the editor writes a thousandth of a point.
NEAR = 0.05


def pages(folder: Path, drawing: Path, *arguments: str, path: str = "") -> subprocess.CompletedProcess[bytes]:
    environment = {key: value for key, value in os.environ.items() if not key.startswith(("PYTHON", "VIRTUAL_ENV"))}
    environment |= {"DOCUMENT_PATH": "/home/me/apron.svg"} | ({"PATH": path} if path else {})
    command = [sys.executable, "pages.py", *arguments, str(drawing)]
    return subprocess.run(command, cwd=folder, capture_output=True, check=False, env=environment, timeout=200)


@pytest.mark.skipif(shutil.which("inkscape") is None, reason="Inkscape is not on this system")
def test_the_editor_itself_makes_the_pdf(folder: Path, tmp_path: Path) -> None:
    drawing, target = tmp_path / "d.svg", tmp_path / "pages.pdf"
    drawing.write_text(DRAWING, encoding="utf-8")
    done = pages(folder, drawing, f"--file-name={target}", "--page=Letter", "--way=upright", "--note=false")
    assert (done.returncode, done.stderr) == (0, b"")
    # The drawing stays as it is.
    assert done.stdout == DRAWING.encode()
    first, *tiles = read_pages(target.read_bytes())
    assert len(tiles) == 6
    for page in (first, *tiles):
        assert (page.width, page.height) == pytest.approx((215.9, 279.4), abs=0.01)
    sides = [np.ptp(points, axis=0) for points in first.strokes]
    for wanted in (100.0, 101.6):
        assert any(np.abs(side - wanted).max() < NEAR for side in sides)
    assert any("apron.svg" in word for word, _ in first.words)
    # The upper left corner of the cloth lies 1 mm inside the first tile, whose margin is 10 mm.
    corner = min(float(np.abs(points - 11.0).max(axis=1).min()) for points in tiles[0].strokes)
    assert corner < NEAR


@pytest.mark.skipif(shutil.which("inkscape") is None, reason="Inkscape is not on this system")
def test_pieces_are_moved_about_where_that_saves_pages(folder: Path, tmp_path: Path) -> None:
    """Two pieces a metre apart share the page that either of them needs; where they are drawn they take two."""
    drawing, target = tmp_path / "d.svg", tmp_path / "pages.pdf"
    apart = """<svg xmlns="http://www.w3.org/2000/svg" width="1400mm" height="300mm" viewBox="0 0 1400 300">
      <rect id="cuff" x="20" y="20" width="80" height="200" stroke="black"/>
      <rect id="tab" x="1120" y="20" width="80" height="200" stroke="black"/></svg>"""
    drawing.write_text(apart, encoding="utf-8")
    given = (f"--file-name={target}", "--page=A4", "--way=upright")
    for more, count, told in (((), 2, ""), (("--arrange=true",), 1, "the pieces are moved: 1 page instead of 2")):
        done = pages(folder, drawing, *given, *more)
        assert (done.returncode, done.stderr) == (0, b"")
        assert len(read_pages(target.read_bytes())) - 1 == count
        assert told in done.stdout.decode()


@pytest.mark.parametrize(
    ("arguments", "told"),
    [
        ((), "Say where the pages are written: choose a file that ends in .pdf. Nothing was changed."),
        (("--file-name=/tmp/x.png",), "X.png is no PDF: choose a file that ends in .pdf. Nothing was changed."),
        (("--file-name=/tmp/x.pdf", "--page=other", "--other=A12"), "is no size of paper"),
        (("--file-name=/tmp/x.pdf",), "The editor's own program, which writes the PDF, was not found"),
    ],
)
def test_a_mistake_is_one_sentence(folder: Path, tmp_path: Path, arguments: tuple[str, ...], told: str) -> None:
    drawing = tmp_path / "d.svg"
    drawing.write_text(DRAWING, encoding="utf-8")
    done = pages(folder, drawing, *arguments, path=str(tmp_path))
    assert done.stdout == b""
    assert told in done.stderr.decode()
    assert done.stderr.count(b"\n") == 1
