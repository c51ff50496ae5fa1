"""The demo's half apron: a shaped waistband, a skirt that is pleated onto it, and the flap of its pocket, net lines.

The waist of the skirt is longer than the band by three pleats a side, and by a little that is eased in. All
measurements are invented.
"""

from __future__ import annotations

# The band's lower edge and the skirt's waist, as they are sewn together, and what meets in the middle.
BAND, WAIST, CENTRE = "band:c3..c2", "skirt:c0..c1", "band-centre=skirt-centre"

# Thin, so that no one takes the net line for the cutting line.
_OUTLINE = "fill:none;stroke:#767676;stroke-width:0.35"
_GRAIN = "fill:none;stroke:#000000;stroke-width:0.35"
_MARK = "fill:#000000;stroke:none"
_PIECES = {
    "band": "M 60,70 Q 280,90 500,70 L 508,120 Q 280,144 52,120 Z",
    "skirt": "M 90,250 Q 382,284 674,250 L 704,540 Q 382,590 60,540 Z",
    "flap": "M 637,60 H 783 V 120 Q 710,181 637,120 Z",
}
_GRAINS = {"band-grain": "M 230,112 H 330", "skirt-grain": "M 382,360 V 500", "flap-grain": "M 710,80 V 130"}
# Half way along its line each.
_MARKS = {"band-centre": (280.0, 132.0), "skirt-centre": (382.0, 267.0)}

APRON_JOB = f"""\
# The kitchen's half apron: scallops round the hem, half as wide ones on the pocket's flap, and the skirt pleated onto
# its waistband.
pattern = "apron.svg"
output = "apron-scalloped.svg"
report = "apron.json"

[cut]
allowance = "12mm"
cloth = "linen"

[defaults.finish]
finish = "faced"
cut = "scalloped:6mm"

[[run]]
name = "hem"
edges = "skirt:c3..c2"
[run.scallop]
width = "40mm"
depth = "35%"

[[run]]
name = "flap"
edges = "flap:c3..c2"
[run.scallop]
like = "hem"
ratio = 0.5
depth = "35%"

[[match]]
a = "{BAND}"
b = "{WAIST}"
pair = "{CENTRE}"
take_up = "knife:3"
depth = "10mm"
spacing = "40mm"
toward = "centre"
lines = "grain"
line_length = "70mm"
"""


def apron() -> str:
    """The apron's pieces, with the middle of the band and of the waist marked."""
    lines = [f'  <path id="{name}" style="{_OUTLINE}" d="{d}"/>\n' for name, d in _PIECES.items()]
    lines += [f'  <path id="{name}" style="{_GRAIN}" d="{d}"/>\n' for name, d in _GRAINS.items()]
    dots = [f'    <circle id="{k}" cx="{x:g}" cy="{y:g}" r="1.5" style="{_MARK}"/>\n' for k, (x, y) in _MARKS.items()]
    return (
        '<?xml version="1.0" encoding="UTF-8"?>\n'
        '<svg xmlns="http://www.w3.org/2000/svg" xmlns:inkscape="http://www.inkscape.org/namespaces/inkscape"\n'
        '     width="860mm" height="640mm" viewBox="0 0 860 640">\n'
        "  <title>Half apron, without allowance</title>\n"
        + "".join(lines)
        + '  <g id="marks" inkscape:groupmode="layer" inkscape:label="marks">\n'
        + "".join(dots)
        + "  </g>\n</svg>\n"
    )
