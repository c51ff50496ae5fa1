"""What the dialogues ask for, and the words that it makes for the library."""

from __future__ import annotations

from .asking import DEPTHS, UNITS, Choice, Number, Text

_ENDS = (
    ("", "as usual: a valley"),
    ("valley", "valley: a whole scallop ends there"),
    ("crest", "crest: half a scallop ends there"),
    ("fold", "fold: cut on the fold there"),
    ("gap", "leave the edge bare"),
)
_SIDES = (
    ("", "the outside (open line: its left)"),
    ("outward", "the outside of a closed outline"),
    ("inward", "the inside of a closed outline"),
    ("left", "the left of an open line"),
    ("right", "the right of an open line"),
)
_WHERE = (("scallops", "the scallops on it"), ("edge", "the edge itself"))

SCALLOPS = [
    (
        "Scallops",
        [
            Number("width", "Width, valley to valley", 30.0, UNITS),
            Number("count", "Or how many (0: by width)", 0.0),
            Number("depth", "Depth", 40.0, DEPTHS),
            Choice(
                "profile",
                "Shape",
                (
                    ("arc", "round (part of a circle)"),
                    ("half-circle", "half circle"),
                    ("pointed-arch", "pointed arch"),
                    ("double-curve", "double curve"),
                    ("wave", "wave"),
                    ("point", "straight point"),
                ),
            ),
            Choice("start", "At the start", _ENDS),
            Choice("end", "At the end", _ENDS),
            Number("gap", "If bare, for how long", 15.0, UNITS),
        ],
    ),
    (
        "More",
        [
            Choice("side", "They bulge to", _SIDES),
            Choice(
                "touch",
                "On the edge lies",
                (
                    ("valley", "the valley: they go beyond it"),
                    ("crest", "the crest: they stay inside"),
                    ("middle", "the middle of the depth"),
                ),
            ),
            Choice(
                "corner",
                "At corners on the way",
                (("", "a valley"), ("wrap", "a scallop goes round"), ("pass", "pass over them")),
            ),
            Number("space", "Flat between two", 0.0, UNITS),
            Number("allowance", "Allowance in the line", 0.0, UNITS),
            Text("name", "Name (empty: the line's)"),
        ],
    ),
]

EYELETS = [
    (
        "Eyelets",
        [
            Choice("where", "They go on", _WHERE),
            Number("eyelet", "Opening inside", 5.0, UNITS),
            Number("margin", "Cloth left round it", 6.0, UNITS),
            Number("every", "In each: 1, every other: 2", 1.0),
        ],
    ),
    (
        "Along the edge",
        [
            Number("spacing", "How far apart", 30.0, UNITS),
            Number("count", "Or how many (0: by distance)", 0.0),
            Number("ends", "From the ends (0: usual)", 0.0, UNITS),
            Number("inset", "In from the edge (0: usual)", 0.0, UNITS),
        ],
    ),
]

NOTCHES = [
    (
        "Notches",
        [
            Choice("where", "They go on", _WHERE),
            Choice(
                "at",
                "On scallops, at",
                (("crests", "each crest"), ("valleys", "each valley")),
            ),
            Number("every", "All: 1, every other: 2", 1.0),
            Number("parts", "On an edge: equal parts", 4.0),
            Choice("kind", "Shape", (("snip", "snip"), ("v", "v, cut in"), ("triangle", "triangle, left standing"))),
            Number("length", "Length", 3.0, UNITS),
        ],
    ),
]


def scallop_words(filled: dict) -> dict:
    """The words for scallops."""
    words = {key: filled[key] for key in ("depth", "profile", "side", "touch", "corner", "space", "allowance", "name")}
    by = "count" if filled["count"] else "width"
    ends = {key: f"gap:{filled['gap']}" if filled[key] == "gap" else filled[key] for key in ("start", "end")}
    return {**words, by: filled[by], **ends}


def eyelet_words(filled: dict) -> dict:
    """The words for eyelets."""
    words = {key: filled[key] for key in ("eyelet", "margin")}
    if filled["where"] == "scallops":
        return {**words, "every": filled["every"]}
    by = "count" if filled["count"] else "spacing"
    return {**words, by: filled[by], "ends": filled["ends"], "inset": filled["inset"]}


def notch_words(filled: dict) -> dict:
    """The words for notches."""
    words = {"kind": filled["kind"], "length": filled["length"]}
    if filled["where"] == "scallops":
        return {**words, "at": filled["at"], "every": filled["every"]}
    return {**words, "at": f"parts:{filled['parts'] or 0}"}
