"""An effect in the editor's real window: previewed, changed, applied and undone; and on nodes that were clicked."""

from __future__ import annotations

import json
from pathlib import Path

import pytest
from lxml import etree

from scallopkit.document.layer import read_groups

from .inkscape_runs import HEIGHT, WIDTH, missing, write_profile
from .inkscape_window import NEEDED, opened

pytestmark = [
    pytest.mark.host,
    pytest.mark.skipif(bool(missing(NEEDED)), reason=f"the editor's window can't be worked: {missing(NEEDED)}"),
]
NECK = "M 280,40 C 300,160 400,160 420,40"
DRAWING = f"""<svg xmlns="http://www.w3.org/2000/svg" width="700mm" height="300mm" viewBox="0 0 700 300">
  <g id="piece" transform="rotate(10) scale(0.9)"><path id="neck" style="fill:none;stroke:#000000" d="{NECK}"/></g>
</svg>
"""
# Where things lie in the dialogue, from its left and upper edges, or, below 0, from its right and lower ones.
WIDTH_FIELD, PREVIEW, CLOSE, APPLY = (205, 114), (24, -57), (-134, -20), (-45, -20)
# The dots show on the screen where the first and the third corner are, in colours that the editor itself has nowhere.
FRONT = """<svg xmlns="http://www.w3.org/2000/svg" xmlns:inkscape="http://www.inkscape.org/namespaces/inkscape"
  xmlns:sodipodi="http://sodipodi.sourceforge.net/DTD/sodipodi-0.dtd"
  width="700mm" height="300mm" viewBox="0 0 700 300">
  <path id="front" style="fill:none;stroke:#000000" d="M 400,60 L 600,80 L 580,240 C 520,260 460,250 410,230 z"/>
  <g id="dots" inkscape:groupmode="layer" sodipodi:insensitive="true">
    <circle cx="400" cy="60" r="16" style="fill:#fa0a82;stroke:none"/>
    <circle cx="580" cy="240" r="16" style="fill:#0ac88c;stroke:none"/>
  </g>
</svg>
"""


def widths(drawing: Path) -> list[str]:
    """The widths asked for, of all runs in a saved drawing; none while the editor is still writing it."""
    written = drawing.read_bytes()
    if not written.rstrip().endswith(b"</svg>"):
        return []
    kept = [group.recipe for group in read_groups(written) if '"scallop"' in group.recipe]
    return [json.loads(recipe)["scallop"]["width"] for recipe in kept]


def test_previewed_changed_applied_and_undone(tmp_path: Path) -> None:
    drawing = tmp_path / "neck.svg"
    drawing.write_text(DRAWING, encoding="utf-8")
    profile = write_profile(tmp_path / "profile", {"scallop.width": 18, "scallop.depth": 25})
    with opened(profile, drawing, ["select-by-id:neck", "scallopkit.scallop"]) as editor:
        main, dialogue = editor.window("neck.svg - Inkscape"), editor.window("Scallops")
        assert 400 < dialogue.width < 620, editor.shot(tmp_path / "screen.png")
        assert 400 < dialogue.height < 700, editor.shot(tmp_path / "screen.png")
        editor.place(main, 0, 0, WIDTH, HEIGHT)
        editor.press(main, "5")
        editor.place(dialogue, 0, 0)
        canvas = (dialogue.width + 20, 150, WIDTH - 60, HEIGHT - 120)

        bare = editor.at_rest(*canvas)
        editor.click(dialogue, *PREVIEW)
        editor.until(lambda: editor.seen(*canvas) != bare, "the preview draws nothing")
        narrow = editor.at_rest(*canvas)
        editor.write(dialogue, *WIDTH_FIELD, "26")
        editor.until(lambda: editor.seen(*canvas) not in (bare, narrow), "the preview does not follow the width")
        editor.click(dialogue, *APPLY)
        editor.dismiss(dialogue, *CLOSE)
        editor.press(main, "ctrl+s")
        editor.until(lambda: widths(drawing) == ["26mm"], "what was applied is not in the saved drawing")

        # The first takes back what saving noted down, the second what was applied.
        editor.press(main, "ctrl+z", "ctrl+z", "ctrl+s")
        editor.until(lambda: not list(read_groups(drawing.read_bytes())), "undoing leaves something of ours")
    (own,) = etree.parse(drawing).iter("{http://www.w3.org/2000/svg}path")
    assert own.get("d") == NECK
    parent = own.getparent()
    assert parent is not None
    assert parent.get("transform") == "rotate(10) scale(0.9)"


def test_the_edge_runs_between_clicked_nodes_from_the_first(tmp_path: Path) -> None:
    drawing = tmp_path / "front.svg"
    drawing.write_text(FRONT, encoding="utf-8")
    profile = write_profile(tmp_path / "profile", {"scallop.width": 18, "scallop.depth": 25})
    with opened(profile, drawing, ["select-by-id:front", "scallopkit.scallop"]) as editor:
        main, dialogue = editor.window("front.svg - Inkscape"), editor.window("Scallops")
        editor.place(main, 0, 0, WIDTH, HEIGHT)
        editor.press(main, "F2")
        editor.place(dialogue, 0, 0)
        canvas = (dialogue.width + 20, 150, WIDTH - 60, HEIGHT - 120)
        editor.at_rest(*canvas)
        first, last = editor.middle_of(10, 200, 140), editor.middle_of(250, 10, 130)
        editor.click(main, *first)
        editor.click(main, *last, held="shift")
        clicked = editor.at_rest(*canvas)
        editor.click(dialogue, *APPLY)
        editor.until(lambda: editor.seen(*canvas) != clicked, "nothing is applied")
        editor.dismiss(dialogue, *CLOSE)
        editor.press(main, "ctrl+s")
        editor.until(lambda: widths(drawing) == ["18mm"], "what was applied is not in the saved drawing")
    (run,) = [group.name for group in read_groups(drawing.read_bytes()) if '"scallop"' in group.recipe]
    # The corners are named by their order in the outline; the second click is the edge's end.
    assert run == "front:c2..c0"
