"""Full-size pages from inside an editor: pages are drawn, and the editor's own program makes a PDF of them."""

from __future__ import annotations

import os
import shutil
import subprocess
import tempfile
from dataclasses import replace
from pathlib import Path

from ..document.drawing import Drawing
from ..document.paper import PaperWish, page_names, paper
from ..document.svg_pages import SvgPages
from ..errors import OutputError, RequestError
from .chosen import Chosen
from .effect import Done
from .told import warning_lines

# The names that the program goes by, and how many seconds it is waited for.
_PROGRAMS = ("inkscape", "inkscape.com", "inkscape.exe")
_PATIENCE = 240.0


def paged(drawing: Drawing, chosen: Chosen, wish: PaperWish, target: str) -> Done:
    """Writes the drawing on pages into a PDF; the drawing itself stays as it is.

    Args:
        drawing: the drawing.
        chosen: what is selected; it does not matter here.
        wish: what is wanted on paper.
        target: the file.

    Raises:
        ScallopkitError: no file is named, it can't be written, or a word is refused.
    """
    del chosen
    path = Path(target).expanduser()
    if not target.strip() or not path.is_absolute():
        raise RequestError("say where the pages are written: choose a file that ends in .pdf")
    if path.suffix.lower() != ".pdf":
        raise RequestError(f"{path.name} is no PDF: choose a file that ends in .pdf")
    pages = SvgPages()
    # The script is given a copy with a name of its own; the editor tells the real one beside.
    called = wish.title or Path(os.environ.get("DOCUMENT_PATH", "")).name
    made = paper(drawing, replace(wish, title=called), pages)
    _write(made.data, path)
    tiles = made.tiling
    size = f"{tiles.page.width:g} x {tiles.page.height:g} mm"
    told = f"{path}: a first page to measure, and {len(tiles.tiles)} of {tiles.page.name}, {size}: {page_names(tiles)}"
    arranged = [made.arranged] if made.arranged else []
    return Done(drawing.source, [told, *arranged, *warning_lines([*drawing.pattern.warnings, *made.warnings])])


def _write(pages: bytes, path: Path) -> None:
    """Has the editor's program make a PDF of the drawing of pages."""
    program = next((found for name in _PROGRAMS if (found := shutil.which(name))), None)
    if program is None:
        raise OutputError("the editor's own program, which writes the PDF, was not found: put its folder on the PATH")
    with tempfile.TemporaryDirectory(prefix="scallopkit-") as folder:
        source, result = Path(folder) / "pages.svg", Path(folder) / "pages.pdf"
        source.write_bytes(pages)
        # A profile of its own: the one in use belongs to the editor that is open.
        environment = {**os.environ, "INKSCAPE_PROFILE_DIR": folder}
        command = [program, str(source), "--export-type=pdf", f"--export-filename={result}"]
        try:
            subprocess.run(  # noqa: S603  # the editor's own program, on a file of ours
                command, env=environment, capture_output=True, check=False, timeout=_PATIENCE, stdin=subprocess.DEVNULL
            )
        except (OSError, subprocess.TimeoutExpired) as error:
            raise OutputError(f"{program} made no PDF ({error}): print from the command line with `paper`") from None
        # Its exit status says nothing: what counts is what it wrote.
        if not result.exists():
            raise OutputError(f"{program} made no PDF of the pages: it needs to be release 1.2 or newer")
        try:
            shutil.copyfile(result, path)
        except OSError as error:
            raise OutputError(f"{path} can't be written ({error.strerror}): choose another place") from None
