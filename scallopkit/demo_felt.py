"""The demo's bunting and tea cosy, cut from felt on the line itself: two open lines, and one outline.

A flag and a swag are drawn as open lines, each the one edge that is trimmed; what hangs above it is folded over a tape
and needs no drawing. The cosy's scallops stand beyond the seam round its dome. All measurements are invented.
"""

from __future__ import annotations

_LINE = "fill:none;stroke:#767676;stroke-width:0.35"
_GRAIN = "fill:none;stroke:#000000;stroke-width:0.35"
_MARK = "fill:#000000;stroke:none"
_SHAPES = {
    "flag": "M 40,60 L 130,190 L 220,60",
    "swag": "M 40,270 C 80,350 180,350 220,270",
    "cosy": "M 300,350 V 230 C 300,110 370,60 450,60 C 530,60 600,110 600,230 V 350 Z",
}

FELT_COMMANDS = (
    "scallop felt.svg --along flag --side right --width 20mm --depth 35% --corner wrap --finish stitched --template 3 "
    "--name flag -o felt-scalloped.svg",
    "scallop felt-scalloped.svg --along swag --side right --width 20mm --depth 35% --finish raw --name swag --in-place",
    'scallop felt-scalloped.svg --along "cosy:c0..top..c1" --hold top=crest --width 26mm --depth 35% --finish raw '
    "--template 1 --name cosy --in-place",
    "cut felt-scalloped.svg --piece cosy --allowance 0mm --number 2 --cloth felt --in-place",
    "refit felt-scalloped.svg --in-place --report felt.json",
    "check felt-scalloped.svg",
)


def felt() -> str:
    """The lower edges of a pointed flag and of a swag as open lines, and the cosy with its top marked."""
    return (
        '<?xml version="1.0" encoding="UTF-8"?>\n'
        '<svg xmlns="http://www.w3.org/2000/svg" xmlns:inkscape="http://www.inkscape.org/namespaces/inkscape"\n'
        '     width="760mm" height="400mm" viewBox="0 0 760 400">\n'
        "  <title>Bunting and a tea cosy, in felt</title>\n"
        + "".join(f'  <path id="{name}" style="{_LINE}" d="{d}"/>\n' for name, d in _SHAPES.items())
        + f'  <path id="grain" style="{_GRAIN}" d="M 450,150 V 280"/>\n'
        '  <g id="marks" inkscape:groupmode="layer" inkscape:label="marks">\n'
        f'    <circle id="top" cx="450" cy="60" r="1.5" style="{_MARK}"/>\n'
        "  </g>\n</svg>\n"
    )
