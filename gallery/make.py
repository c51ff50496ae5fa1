"""Makes the gallery anew: drawings, what the commands make of them, pictures, the page, commands, the schema of jobs.

Run it from anywhere: python gallery/make.py
"""

from __future__ import annotations

from pathlib import Path

from scallopkit.demo import PAGE, SCENES, page_parts, run_demo
from scallopkit.demo_page import Part, Shown, demo_page
from scallopkit.document.making import write_schema

HERE = Path(__file__).parent
_EXTENSION = "scallopkit editors install inkscape\n\nExtensions > Scallopkit > "
_FRONT = (
    f"{_EXTENSION}Scallops\n\nselected: front, hem-front, hem-side\nWidth, valley to valley: 24 mm\n"
    "Seam allowance inside the outline: 15 mm"
)
_ARMHOLE = (
    f"{_EXTENSION}Scallops over seams\n\nselected: front and back, each with its two marks at the armhole\n"
    "The last edge is joined to the first: yes\nWidth, valley to valley: 16 mm\nDepth: 35 % of the width"
)
_EYELETS = f"{_EXTENSION}Eyelets\n\nselected: the line of scallops\nEyelet, inner diameter: 8 mm"
# Taken by `python -m gallery.screenshots` and `python -m gallery.screenshots_office`.
EDITORS = Part(
    "editors",
    "In the editor",
    "The same work in a vector editor: the dialogue with its preview, and the drawing after Apply.",
    (),
    (
        Shown(
            "inkscape-scallops.png",
            "The dialogue Scallops in Inkscape, over the hem of the front with its preview",
            "Scallops on the edge between two marks of the front.",
            _FRONT,
        ),
        Shown(
            "inkscape-scallops-result.png",
            "The front in Inkscape with eight scallops inside its hem",
            "The drawing after Apply.",
            _FRONT,
        ),
        Shown(
            "inkscape-sew.png",
            "The dialogue Scallops over seams in Inkscape, over the armholes of the waistcoat with their preview",
            "Front and back with the marks at their underarms and shoulders: the armhole is closed at both seams.",
            _ARMHOLE,
        ),
        Shown(
            "inkscape-sew-result.png",
            "Both armholes of the waistcoat in Inkscape with scallops, and a note of the figures beside them",
            "The drawing after Apply, with the note in the upper right.",
            _ARMHOLE,
        ),
        Shown(
            "inkscape-eyelets.png",
            "The dialogue Eyelets in Inkscape, over the scallops of the valance with its preview",
            "An eyelet in each scallop of the valance.",
            _EYELETS,
        ),
        Shown(
            "inkscape-eyelets-result.png",
            "The valance in Inkscape with an eyelet in each scallop",
            "The drawing after Apply.",
            _EYELETS,
        ),
        Shown(
            "libreoffice-menu.png",
            "The open menu Scallopkit in LibreOffice Draw, with Scallops, Eyelets, Notches and Fit again",
            "The menu in LibreOffice Draw.",
            "scallopkit editors pack libreoffice",
        ),
        Shown(
            "libreoffice-draw.png",
            "The dialogue Scallops in LibreOffice Draw, over a yoke with scallops round it",
            "LibreOffice Draw: the dialogue over the yoke that it trims.",
            "scallopkit editors pack libreoffice\n\nScallopkit > Scallops…\n\nselected: yoke\n"
            "Width, valley to valley: 30 mm",
        ),
    ),
)


def main() -> None:
    """Draws and trims every scene here, and lists the commands that did it."""
    print(run_demo(HERE))
    (HERE / PAGE).write_bytes(demo_page([*page_parts(), EDITORS]))
    lines = [f"scallopkit {command}" for scene in SCENES for command in scene.commands]
    (HERE / "commands.txt").write_text("\n".join(lines) + "\n", encoding="utf-8")
    write_schema(HERE / "job.schema.json")


if __name__ == "__main__":
    main()
