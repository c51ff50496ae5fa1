"""The legend of the picture of a run laid flat: a rule, and what its lines and signs mean."""

from __future__ import annotations

import numpy as np

from ..geometry import cubics
from ..geometry.cubics import Array
from ..trim.course import CREST, VALLEY, WRAP
from ..trim.holds import GAP, PASS
from .flat_paper import Paper
from .lettering import text_extent

_RULE = 100.0
_HOLDS = {
    VALLEY: "a valley is held here",
    CREST: "a crest is held here",
    PASS: "scallops pass over",
    GAP: "a gap is left here",
    WRAP: "one scallop goes round the corner",
}
_LINES = {
    "stitching": "stitching line of the scallops",
    "edge": "edge of the piece",
    "seam": "seam",
    "dart": "dart, closed",
    "fold": "fold",
    "lap": "middle of a lap",
    "butt": "edges end to end",
    "true-line": "smooth line instead",
    "beyond": "how it goes on",
    "eyelet": "eyelet's hole, or what stands for it",
    "placement": "eyelet's flange",
    "patch": "patch",
    "notch": "notch",
}
_TO_CUT_ON = "line of the scallops, to cut on"
_DRAWN_LONG = set(_LINES) - {"eyelet", "placement", "notch"}


def draw_legend(paper: Paper, raw: bool = False) -> None:
    """A rule of 100 mm, and what the lines and signs drawn so far mean, below everything.

    Args:
        paper: what is drawn on.
        raw: whether the scallops are cut on their line and not sewn.
    """
    (left, _), (right, bottom) = paper.extent().tolist()
    size = paper.size
    y = bottom + 3.0 * size
    rule = [(0.0, -0.5), (0.0, 0.5), (0.0, 0.0), (_RULE / size, 0.0), (_RULE / size, -0.5), (_RULE / size, 0.5)]
    paper.stroke("legend", "measure", cubics.lines(np.array([left, y]) + size * np.array(rule)), "rule of 100 mm")
    paper.write(["100 mm at full size"], np.array([left + _RULE + 0.8 * size, y - 0.7 * size]), anchor="start")
    right = max(right, left + 40.0 * size)
    x, y = left, y + 2.5 * size
    words = _LINES | ({"stitching": _TO_CUT_ON} if raw else {})
    lines = [(role, words[role]) for role in paper.roles if role in words]
    for kind, text in [*lines, *((hold, _HOLDS[hold]) for hold in paper.signs)]:
        sample = (5.0 if kind in _DRAWN_LONG else 1.5) * size
        width = sample + 2.0 * size + text_extent([text], size)[0]
        if x + width > right:
            x, y = left, y + 1.8 * size
        _sample(paper, kind, np.array([(x, y), (x + sample, y)]))
        paper.write([text], np.array([x + sample + 0.5 * size, y - 0.7 * size]), anchor="start")
        x += width


def _sample(paper: Paper, kind: str, ends: Array) -> None:
    """What a line or a sign looks like, between two ends."""
    label, middle = f"sign: {kind}", ends.mean(axis=0)
    if kind in _HOLDS:
        # As it is seen in the picture: with the cloth above it, or below.
        down = -1.0 if paper.signs[kind][1] < 0.0 else 1.0
        paper.sign("legend", kind, middle, np.array([0.0, down]), label)
    elif kind in ("eyelet", "placement"):
        paper.circle("legend", kind, middle, 0.7 * paper.size, label)
    elif kind == "notch":
        half = np.array([0.0, 0.4 * paper.size])
        paper.stroke("legend", kind, cubics.lines([middle - half, middle + half]), label)
    else:
        paper.stroke("legend", kind, cubics.lines(ends), label)
