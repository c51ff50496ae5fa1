"""Takes pictures of the dialogues and of what they make, in the real editor on a screen that nobody sees.

Run it from the repository, with Inkscape, Xvfb, xdotool and ImageMagick installed: python -m gallery.screenshots
"""

from __future__ import annotations

import tempfile
from dataclasses import dataclass, field
from pathlib import Path

from scallopkit.document.workshop import read, scallop, with_runs
from tests.hosts.inkscape_runs import HEIGHT, WIDTH, Value, missing, write_profile
from tests.hosts.inkscape_window import NEEDED, opened

HERE = Path(__file__).parent
# Where things lie in every dialogue, from its right and lower edges, or, above 0, its left one.
PREVIEW, CLOSE, APPLY = (24, -57), (-134, -20), (-45, -20)
_PX_PER_MM = 96.0 / 25.4


@dataclass(frozen=True)
class Picture:
    """One dialogue over a drawing of the gallery.

    Attributes:
        name: what the pictures are called.
        effect: the effect.
        title: what its dialogue is called.
        drawing: the drawing's bytes.
        selected: ids of what is selected, in order.
        middle: the place of the drawing that the middle of the canvas shows, mm.
        zoom: pixels on the screen to the mm.
        values: values of the dialogue.
    """

    name: str
    effect: str
    title: str
    drawing: bytes
    selected: tuple[str, ...]
    middle: tuple[float, float]
    zoom: float
    values: dict[str, Value] = field(default_factory=dict)


def pictures() -> list[Picture]:
    """What the gallery shows."""
    front, waistcoat, valance = (read(HERE / f"{name}.svg") for name in ("front", "waistcoat", "valance"))
    hem = scallop(valance, "valance:c3..c2", width="92mm", depth="40%", name="hem")
    armhole = ("front", "front-underarm", "front-shoulder", "back", "back-shoulder", "back-underarm")
    return [
        Picture(
            "scallops",
            "scallop",
            "Scallops",
            front.source,
            ("front", "hem-front", "hem-side"),
            (255.0, 470.0),
            2.4,
            {"width": 24, "allowance": 15},
        ),
        Picture(
            "sew",
            "sew",
            "Scallops over seams",
            waistcoat.source,
            armhole,
            (380.0, 165.0),
            2.4,
            {"width": 16, "depth": 35, "closed": 1, "name": "armhole"},
        ),
        Picture(
            "eyelets",
            "eyelets",
            "Eyelets",
            with_runs(valance, [hem]),
            ("scallopkit-hem",),
            (335.0, 190.0),
            2.0,
            {"size": "e8"},
        ),
    ]


def take(picture: Picture, folder: Path) -> None:
    """The dialogue with its preview, and the window once it was applied."""
    drawing = folder / f"{picture.name}.svg"
    drawing.write_bytes(_viewed(picture))
    profile = write_profile(folder / "profile", {f"{picture.effect}.{k}": value for k, value in picture.values.items()})
    actions = [f"select-by-id:{','.join(picture.selected)}", f"scallopkit.{picture.effect}"]
    with opened(profile, drawing, actions) as editor:
        main, dialogue = editor.window("svg - Inkscape"), editor.window(picture.title)
        editor.place(main, 0, 0, WIDTH, HEIGHT)
        editor.place(dialogue, WIDTH - dialogue.width - 40, 130)
        dialogue = editor.window(picture.title)
        whole = (0, 0, WIDTH, HEIGHT)
        bare = editor.at_rest(*whole)
        editor.click(dialogue, *PREVIEW)
        editor.until(lambda: editor.seen(*whole) != bare, "the preview draws nothing")
        editor.at_rest(*whole)
        editor.shot(HERE / f"inkscape-{picture.name}.png")
        editor.click(dialogue, *APPLY)
        editor.dismiss(dialogue, *CLOSE)
        editor.press(main, "Escape")
        editor.at_rest(*whole)
        editor.shot(HERE / f"inkscape-{picture.name}-result.png")


def _viewed(picture: Picture) -> bytes:
    """The drawing with a view of it that the editor opens."""
    x, y = (place * _PX_PER_MM for place in picture.middle)
    view = (
        '<sodipodi:namedview xmlns:sodipodi="http://sodipodi.sourceforge.net/DTD/sodipodi-0.dtd" '
        'xmlns:inkscape="http://www.inkscape.org/namespaces/inkscape" id="view" inkscape:document-units="mm" '
        f'inkscape:zoom="{picture.zoom / _PX_PER_MM:.6f}" inkscape:cx="{x:.3f}" inkscape:cy="{y:.3f}" '
        f'inkscape:window-width="{WIDTH}" inkscape:window-height="{HEIGHT}" inkscape:window-maximized="0"/>'
    ).encode()
    head, tag, rest = picture.drawing.partition(b"<title>")
    return head + view + tag + rest


def main() -> None:
    """Takes all pictures."""
    if why := missing(NEEDED):
        raise SystemExit(f"no pictures can be taken: {why}")
    with tempfile.TemporaryDirectory() as folder:
        for picture in pictures():
            take(picture, Path(folder))


if __name__ == "__main__":
    main()
