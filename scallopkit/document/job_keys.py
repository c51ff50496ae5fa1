"""Every key of a job file: what it takes, what it means, and an example. Reader and schema both live on this."""

from __future__ import annotations

import json
import re
from collections.abc import Mapping
from dataclasses import dataclass
from enum import Enum
from typing import Any

from ..construction.cautions import UNDER_7, WEARERS
from ..construction.cloth_layout import FOLDED
from ..construction.cloth_layout import LIES as CLOTH_LIES
from ..construction.lacing import PATHS, TYING
from ..construction.matching import CLOTHS
from ..construction.pleats import CENTRE, END, START
from ..construction.repeats import HOLDS
from ..construction.rules import DEGREES, MM, PERCENT, RULES, THICKNESS, Rule, bound
from ..pattern.joins import KINDS
from ..trim.eyelet_sizes import NAMED
from ..trim.fastenings import PARTS
from ..trim.notches import EDGE, SCALLOPS, SNIP, TRIANGLE, V
from ..trim.profiles import PROFILES
from .cloth_needed import SHRINKAGE
from .cut_pieces import USUAL_CORNERS
from .cutter import FORMATS
from .cutter import KINDS as LINE_KINDS
from .estimate import MINUTES, PRICED
from .finishing import FINISHES
from .join_words import PRESSES
from .match_words import FRONT_BACK, GRAIN, NO_NOTCHES, SQUARE
from .page_sizes import SHEET_PAGES
from .paper import WAYS, WEIGHTS
from .row_words import LIES
from .wishes import CORNERS, KEEPS, SIDES, STEPS, TOUCHES

# Keys that stand without quotes.
_BARE = re.compile(r"[A-Za-z0-9_-]+")


class Takes(Enum):
    """What a key takes; the value says it in words."""

    TEXT = "a text in quotes"
    VALUE = "a text in quotes or a number"
    VALUES = "a text in quotes, a number, or a list of such"
    TEXTS = "a text in quotes, or a list of such"
    NAMES = "a text in quotes, or a list of names in quotes"
    HOLDS = "a text in quotes, a list of such, or a table {MARK = HOLD}"
    SWITCH = "true or false"
    FILE = "the name of a file in quotes"
    TABLE = "one table"
    TABLES = "a list of tables"
    ROWS = "a list of texts in quotes or tables"
    DRAWINGS = "the name of a file in quotes, or a list of tables"


@dataclass(frozen=True)
class Key:
    """One key of a job file.

    Attributes:
        takes: what kind of value.
        what: what it means, as a sentence.
        example: a value that may stand there, as TOML has it.
        words: the only words that may stand there; empty where others may.
        of: for tables and rows, the name of their own keys in `TABLES`.
        required: whether the table is nothing without it.
    """

    takes: Takes
    what: str
    example: Any = None
    words: tuple[str, ...] = ()
    of: str = ""
    required: bool = False


def _text(what: str, example: str, words: tuple[str, ...] = (), required: bool = False) -> Key:
    return Key(Takes.TEXT, what, example, words, required=required)


def _value(what: str, example: str | float) -> Key:
    return Key(Takes.VALUE, what, example)


def _tables(what: str, of: str) -> Key:
    return Key(Takes.TABLES, what, of=of)


def _with_unit(rule: Rule) -> str | float:
    """A rule's limit as a job file has it."""
    units = {MM: "mm", DEGREES: "deg", PERCENT: "%"}
    return f"{rule.limit:g}{units[rule.unit]}" if rule.unit in units else rule.limit


def _limit_told(rule: Rule) -> str:
    """What a rule's limit is for: the usual one, its reason and where it comes from."""
    what = f"{rule.what[0].upper()}{rule.what[1:]}: usually {bound(rule, rule.limit)}"
    return f"{what}, because {rule.reason}. Source of the limit: {rule.source}."


_ALLOWANCE = "The outline is drawn with this seam allowance on: work on the stitching lines inside it"

EDGE_KEYS: Mapping[str, Key] = {
    "side": _text(
        "Where the trim bulges: outward or inward of a closed outline, left or right of an open line.",
        "outward",
        SIDES,
    ),
    "start": _text("What the trim does at the start: valley, crest, gap:15mm, fold or fold:valley.", "fold"),
    "end": _text("What the trim does at the end, as for start.", "gap:15mm"),
    "hold": Key(
        Takes.HOLDS,
        "What the trim does at marks or corners on the way: MARK=valley, crest, pass or gap:15mm.",
        {"side": "crest"},
    ),
    "corner": _text("At corners on the way: hold a valley, wrap a scallop round, or pass.", "hold", CORNERS),
    "allowance": Key(
        Takes.VALUES,
        f"{_ALLOWANCE}. Two lengths: of the neighbouring edges, and of the edge itself.",
        "15mm",
    ),
    "start_at": _text("The mark or corner of a closed outline where the first valley is.", "side"),
    "true_up": Key(Takes.SWITCH, "Follow the smooth line where edges meet at an angle once sewn.", True),
    "times": _value("How often the run is sewn, for the totals: 2 for left and right.", 2),
}

STRETCH_KEYS: Mapping[str, Key] = {
    "along": _text("The edge: PIECE, PIECE:FROM..TO or PIECE:FROM..VIA..TO.", "back:fold..dart-in", required=True),
    "allowance": Key(Takes.VALUES, f"{_ALLOWANCE}, where it differs from the run's.", "10mm"),
}

JOIN_KEYS: Mapping[str, Key] = {
    "kind": _text("How one edge goes on into the next once sewn.", "dart", KINDS, required=True),
    "hold": _text("What the trim does there: valley, crest, pass or gap:8mm.", "pass"),
    "width": _value("Of a lap, how far either edge goes beyond the centre line.", "18mm"),
    "apex": _text("Of a dart that the outline does not show, the mark at its point; or PIECE:CORNER.", "tip"),
    "legs": Key(
        Takes.TEXTS,
        "Of a dart drawn as lines of their own, both of them, from the edge to the point.",
        ["leg-1", "leg-2"],
    ),
    "press": _text(
        "Of a dart, which way it is pressed; else upright darts to the centre, others down.", "centre", PRESSES
    ),
}

SCALLOP_KEYS: Mapping[str, Key] = {
    "width": _value("How wide a scallop should be, valley to valley.", "24mm"),
    "count": _value("How many there are to be.", 12),
    "min_width": _value("No narrower than this.", "20mm"),
    "max_width": _value("No wider than this.", "30mm"),
    "depth": _value("How far a scallop bulges: a length, or a share of the width.", "40%"),
    "radius": _value("The arc's radius, instead of a depth.", "14mm"),
    "profile": _text(
        f"The scallop's outline: {', '.join(PROFILES)}, or motif:PIECE for a line of your own.",
        "arc",
    ),
    "touch": _text("Which part of each scallop lies on the edge.", "valley", TOUCHES),
    "step": _text("chord: equal straight widths; along: equal lengths along the edge.", "chord", STEPS),
    "keep": _text("What stays when the width must change: the shape, or the depth.", "shape", KEEPS),
    "weights": Key(Takes.VALUES, 'Sizes in turn ([2, 1]), or growing ("1..2"); the width is that of size 1.', [2, 1]),
    "space": _value("A flat stretch between two scallops.", "2mm"),
    "sharpest": _value("Warn of valleys sharper than this angle.", "15deg"),
    "like": _text("The run whose scallops these go by, by its name.", "hem"),
    "ratio": _value("How many times as wide as the scallops of the run named in like.", 2),
    "same_width": Key(
        Takes.SWITCH, "Tell what to let out or take in at which seam so that all spans get one width.", True
    ),
}

EYELET_KEYS: Mapping[str, Key] = {
    "eyelet": _value(f"The clear opening inside, or a usual eyelet: {', '.join(NAMED)}.", "8mm"),
    "barrel": _value("The outside of its tube.", "8.6mm"),
    "barrel_length": _value("The length of its tube.", "5mm"),
    "flange": _value("The outer diameter.", "14mm"),
    "hole": _value("What is cut in the cloth, slightly under the barrel.", "8mm"),
    "every": _value("One in every k-th scallop.", 2),
    "from_crest": _value("At this distance below the crest.", "12mm"),
    "margin": _value("Cloth left round the flange.", "6mm"),
    "spacing": _value("Along an edge without scallops: how far apart.", "40mm"),
    "count": _value("Along an edge without scallops: how many.", 6),
    "ends": Key(
        Takes.VALUES,
        "Along an edge without scallops: from its ends to the first and last; one length, or two.",
        ["15mm", "20mm"],
    ),
    "inset": _value("Along an edge without scallops: how far inside it.", "12mm"),
    "step": _text("Along an edge without scallops: equal straight distances, or along it.", "chord", STEPS),
    "part": _text("What stands there.", "buttonhole", PARTS),
    "button": _value("Of buttons and buttonholes, the button's diameter.", "18mm"),
    "button_thickness": _value("Of buttonholes, how thick the button is.", "4mm"),
    "bulky": Key(Takes.SWITCH, "Of buttonholes: 3 mm longer, for bulky cloth.", True),
    "lies": _text("Of buttonholes: along the edge, or across it.", "across", LIES),
    "snap": _value("Of snaps, their diameter.", "12mm"),
    "off": _value(
        "Along edges without scallops: how far flanges keep from seams, darts and the allowances pressed there, as "
        "margin unless told; none leaves them where they fall.",
        "8mm",
    ),
    "level_with": _text(
        "The run with whose row this one is level, where both edges of the opening face each other.", "left-front"
    ),
    "staggered": Key(
        Takes.SWITCH,
        "With level_with: half way between the parts of that row, its first and last pair level, for a spiral.",
        True,
    ),
    "patch": _value("A patch to strengthen each, so far beyond its flange.", "5mm"),
    "layers": _value("How many layers of cloth there are, facings and linings too.", 3),
    "cloth_thickness": _value("How thick a layer is; else as [cloth] has it.", "0.5mm"),
    "cord": _value("How thick the cord is at its thickest, the tip or a knot.", "3mm"),
    "passes": _value("How often the cord goes through each eyelet.", 2),
}

NOTCH_KEYS: Mapping[str, Key] = {
    "at": Key(Takes.NAMES, "Where: valleys, crests, parts:4 (equal parts), or names of marks.", "valleys"),
    "every": _value("Only every k-th.", 4),
    "kind": _text("snip or v (cut into the cloth), or triangle (left standing).", "snip", (SNIP, V, TRIANGLE)),
    "length": _value("How long.", "3mm"),
    "on": _text("On the edge, or on the scallops where the cloth is cut along them.", "edge", (EDGE, SCALLOPS)),
}

FINISH_KEYS: Mapping[str, Key] = {
    "finish": _text(
        "How the trimmed edge is finished: faced (sewn and turned), bound, stitched or raw.", "faced", FINISHES
    ),
    "cut": _text(
        "Of a faced edge, where the cloth is cut: scalloped:6mm beyond the stitching line, or straight:10mm beyond the "
        "crests, to be trimmed after sewing.",
        "scalloped:6mm",
    ),
    "trim": _value("Of a faced edge, the allowance left when it is clipped.", "5mm"),
    "clip_short": _value("How far from the stitching clips stop.", "1.25mm"),
    "widest_wedge": _value("No wedge is wider than this.", "6mm"),
    "widest_gap": _value("No clip on a hollow curve opens wider than this.", "4mm"),
    "stitch": _value("The stitch length wanted round the scallops.", "1.5mm"),
}

FACING_KEYS: Mapping[str, Key] = {
    "kind": _text(
        "A shaped facing, a straight strip, or a band that binds the edge.", "shaped", ("shaped", "strip", "band")
    ),
    "depth": _value("How deep it is, from the edge inwards.", "50mm"),
    "across": Key(
        Takes.TEXTS, "The seams that it goes across in one piece, by the names of the joins; or all.", ["hem-side"]
    ),
    "most_gap": _value("Where the pieces beside such a seam gape or overlap by more, the facing keeps a seam.", "1mm"),
    "seam": _value("The allowance at its own seams and ends.", "15mm"),
    "inner": _value("The allowance of its inner edge; none if that is only neatened.", "6mm"),
    "turn": _value("By how much it is smaller at the crests, for the turn of the cloth.", "0.5mm"),
    "interlining": _text("Interlining: net (to the stitching line) or full (as it is cut).", "net", ("net", "full")),
    "interlining_cloth": _text("What the interlining is cut from, for the label.", "light fusible"),
    "longest": _value("Of a strip or a band, the longest that the cloth allows.", "1400mm"),
    "cloth": _text("What it is cut from, for its label; else the cloth of its pieces, or of the job.", "linen"),
    "size": _text("The size, for its label; else that of the pieces.", "40"),
}

TRIM_KEYS: Mapping[str, Key] = {
    "repeat": _value("How long the repeat of a bought trim is.", "32mm"),
    "width": _value("How wide the trim is; without it only its line is drawn.", "20mm"),
    "offset": _value("How far inside the edge its nearer line lies.", "30mm"),
    "motif": _value("Where in the repeat its motif's middle lies, 0 to 1.", 0.5),
    "start": _text("What lies at the start: a whole repeat begins, the middle of a motif, or any.", "whole", HOLDS),
    "end": _text("What lies at the end, as for start.", "motif", HOLDS),
    "take_up": _text(
        "How the rest is taken up: ease, stretch, seams, edge, hide:PLACE, mitre or none; else by the gentler of ease "
        "and stretch.",
        "seams",
    ),
    "ease": _value("How much may be eased on.", "3%"),
    "stretch": _value("How much it may be stretched.", "1%"),
    "move": Key(Takes.TEXTS, "The seams or free ends that may be moved; else all seams, or the free ends.", ["side"]),
    "joins": _value("Trim given to each join and to each turned end.", "10mm"),
    "reserve": _value("What is bought besides: a length, or a share.", "5%"),
    "longest": _value("How much is on the roll.", "10m"),
}

STRAP_KEYS: Mapping[str, Key] = {
    "name": _text("What the strap is called.", "ties", required=True),
    "pattern": _text("Of several drawings the one that the strap goes with, by its file.", "waistcoat.svg"),
    "length": _value("How long it is when it is finished.", "900mm"),
    "along": _text("As long as this edge, or this run.", "hem"),
    "width": _value("How wide it is when it is finished; a binding, on one side.", "25mm"),
    "number": _value("How many of it are cut.", 2),
    "ends": _value("Allowance at each end; of a cord what hangs there.", "10mm"),
    "seam": _value("Allowance along its edges; of a binding what is turned in.", "10mm"),
    "fold": _value("How it is made: 2 (folded double), 1 (flat), bias (a binding) or cord.", 2),
    "longest": _value("The longest piece there can be; pieces are joined at 45 degrees.", "1400mm"),
    "joins": _value("Allowance where two pieces are joined.", "6mm"),
    "cloth": _text("What it is cut from, for the label.", "linen"),
    "window": Key(Takes.SWITCH, "It hangs at a window, for cautions.", True),
}

MATCH_KEYS: Mapping[str, Key] = {
    "a": _text("The first edge, or a run.", "band:c3..c2", required=True),
    "b": _text("The edge or the run that it is sewn to.", "skirt:side..front", required=True),
    "pattern": _text("Of several drawings the one that both are on, by its file.", "waistcoat.svg"),
    "pair": Key(Takes.TEXTS, "Places that meet beside the ends: A-MARK=B-MARK, or lengths.", ["front=front"]),
    "turned": Key(Takes.SWITCH, "The second edge runs the other way.", True),
    "allowance": _value(f"{_ALLOWANCE}; of edges, not of runs.", "15mm"),
    "take_up": Key(
        Takes.TEXTS,
        "What the longer edge does: ease, gathers, knife:3, box:3, inverted:3, darts:2 or edit; or STRETCH=HOW.",
        ["knife:3"],
    ),
    "cloth": _text(
        "How much can be eased in: 2.5% of woven cloth, 4% of wool, nothing of knit.", "wool", tuple(CLOTHS)
    ),
    "most_ease": _value("How much can be eased in, of the shorter edge.", "3%"),
    "depth": _value("How deep pleats are; each takes up twice that, a box or inverted one four times.", "12mm"),
    "number": _value("How many pleats or darts are in each stretch.", 3),
    "toward": _text("Where knife pleats are turned.", "centre", (START, END, CENTRE)),
    "spacing": _value("From one pleat to the next as sewn; else they are even.", "40mm"),
    "margin": _value("How far folded pleats keep from marks and ends.", "10mm"),
    "dart_length": _value("How long darts are.", "90mm"),
    "lines": _text("How lines of pleats go in from the edge.", GRAIN, (SQUARE, GRAIN)),
    "line_length": _value("How long lines of pleats are drawn.", "60mm"),
    "notches": _text(
        "Notches at each pair: one in front and two behind, or none.", NO_NOTCHES, (FRONT_BACK, NO_NOTCHES)
    ),
    "phase": _value("How far beyond the first edge's valleys those of the second should lie as sewn.", "10mm"),
    "phase_within": _value("How far they may lie from there.", "0.5mm"),
    "in_phase": Key(Takes.SWITCH, "The second run is fitted anew with its valleys there.", True),
    "move": Key(Takes.TEXTS, "The runs on the first edge whose eyelets and notches the second gets too.", ["row"]),
}

TEMPLATE_KEYS: Mapping[str, Key] = {
    "strip": _value("How many scallops are on a card.", 3),
    "body": _value("How far the card goes on below the valleys.", "30mm"),
}

LACING_KEYS: Mapping[str, Key] = {
    "path": _text("How the cord goes: through two rows, or through one.", "crossed", PATHS),
    "with": _text('The run of the second row by its name, or "mirror" where the piece is cut twice.', "mirror"),
    "gap": _value("How far the two edges stand apart as worn.", "20mm"),
    "thickness": _value("How thick the cloth is at each pass, all its layers.", "2mm"),
    "tails": _value("What hangs of each end once it is tied.", "50mm"),
    "ends": _text("How the ends are tied.", "bow", tuple(TYING)),
    "cords": _value("Among how many cords the holes are shared out.", 1),
    "underlay": _value("How far an underlay reaches under each side; 0 for none.", "25mm"),
    "underlay_allowance": _value(
        "What is cut beyond the stitching lines of the underlay; else as [cut] has it, or 10 mm.", "10mm"
    ),
    "channel": _value("How wide a channel for a bone beside the row is.", "12mm"),
    "cord": _value("How thick the cord is at its thickest part.", "4mm"),
}

CUT_KEYS: Mapping[str, Key] = {
    "allowance": _value("Seam allowance beyond the drawn line.", "15mm"),
    "corners": _text("How allowances meet at corners.", "mitred", USUAL_CORNERS),
    "number": _value("How many are cut, for the label.", 2),
    "cloth": _text("What it is cut from, for the label.", "linen"),
    "size": _text("The size, for the label.", "38"),
    "lining": _value("A lining is drawn too; how far it is cut beyond the inner edges of the facings.", "15mm"),
    "lining_cloth": _text("What the lining is cut from, for its label.", "cotton batiste"),
}

PIECE_KEYS: Mapping[str, Key] = {
    "piece": _text("The piece.", "front", required=True),
    "pattern": _text("Of several drawings the one that the piece is on, by its file.", "waistcoat.svg"),
    **CUT_KEYS,
    "side": Key(
        Takes.HOLDS, "Sides with an allowance of their own: EDGE=LENGTH, or a table.", {"front:c1..c2": "20mm"}
    ),
    "corner": Key(
        Takes.HOLDS,
        "Corners of their own kind: CORNER=KIND, or a table; turned:before or turned:after for the side whose "
        "allowance is turned back there.",
        {"c2": "rounded"},
    ),
    "fold": Key(Takes.TEXTS, "Sides on a fold; those of runs are known.", ["back:hem-fold..c7"]),
    "dart": Key(Takes.TEXTS, "Darts in seams, by their points.", ["c6"]),
}

LIMIT_KEYS: Mapping[str, Key] = {
    **{code: _value(_limit_told(rule), _with_unit(rule)) for code, rule in RULES.items()},
    THICKNESS: _value("How thick the cloth is.", "0.5mm"),
}

CLOTH_KEYS: Mapping[str, Key] = {
    "name": _text("What it is called; written on all pieces that do not tell their own cloth.", "linen"),
    "width": _value("How wide it lies; no strip and no band is cut longer, unless it tells its longest.", "1400mm"),
    "thickness": _value(
        "How thick it is, for the rules of sewing unless the limits tell another, and for barrels of eyelets.", "0.5mm"
    ),
    "lies": _text(
        "How it lies when its length is worked out from its width: single, or folded lengthwise; else whichever takes "
        "less.",
        FOLDED,
        CLOTH_LIES,
    ),
    "one_way": Key(Takes.SWITCH, "It has a nap or a print: nothing is laid upside down.", True),
    "shrinkage": _value("By what share it may shrink; wash a sample.", SHRINKAGE),
}

_SHOW = Key(
    Takes.TEXTS, "Only these lines: outline, cutting, stitching, facing and so on; all if none are named.", ["cutting"]
)
_HIDE = Key(Takes.TEXTS, "All lines but these.", ["true-line"])
_ONLY = Key(Takes.TEXTS, "Only what belongs to these pieces.", ["front"])

PAPER_KEYS: Mapping[str, Key] = {
    "output": Key(
        Takes.FILE, "Where the pages are written; else by the trimmed drawing, as .pdf.", "waistcoat-scalloped.pdf"
    ),
    "page": _text(
        "The page: A4, A3, A2, A1, A0, Letter, Legal, Tabloid, roll:610mm, or width x height as 30cm x 40cm.", "A4"
    ),
    "way": _text("How pages lie: upright, lying, or any for whichever takes fewer.", "any", WAYS),
    "margin": _value("What the printer leaves white on all sides.", "10mm"),
    "overlap": _value("How far neighbouring pages show the same.", "10mm"),
    "show": _SHOW,
    "hide": _HIDE,
    "piece": _ONLY,
    "black": Key(Takes.SWITCH, "All lines in black; their dashes tell them apart.", True),
    "weight": _text("Lines as wide as their kind is (role), or all hairline.", "role", WEIGHTS),
    "title": _text("What the first page is called; else as the drawing.", "Waistcoat"),
    "dated": Key(Takes.SWITCH, "Write today's date on the first page.", True),
    "arrange": Key(Takes.SWITCH, "Move pieces on the pages where that takes fewer of them.", True),
}

CUTTER_KEYS: Mapping[str, Key] = {
    "output": Key(
        Takes.FILE, "Where it is written, .dxf or .svg; else by the trimmed drawing.", "waistcoat-scalloped.dxf"
    ),
    "as": _text("What kind of file; else by the name of the output.", "dxf", tuple(one[1:] for one in FORMATS)),
    "lines": _text("polylines, or curves (splines in DXF); else polylines in DXF only.", LINE_KINDS[0], LINE_KINDS),
    "within": _value("How far polylines may lie off the curves.", "0.05mm"),
    "show": _SHOW,
    "hide": _HIDE,
    "piece": _ONLY,
}

SHEET_KEYS: Mapping[str, Key] = {
    "output": Key(
        Takes.FILE,
        "Where the make sheet is written, .html or .pdf; else by the trimmed drawing, with -sheet.html.",
        "waistcoat-scalloped-sheet.html",
    ),
    "pdf": Key(Takes.FILE, "Where it is written as PDF besides.", "waistcoat-scalloped-sheet.pdf"),
    "page": _text("Its pages in print.", "A4", SHEET_PAGES),
    "title": _text("Its heading; else the drawing's name.", "Waistcoat"),
    "without": Key(Takes.TEXTS, "Compare with the same work without these.", ["eyelet"]),
}

# What prices are in: the one key among them that is no price.
CURRENCY = "currency"
_UNITS = {"m²": "a square metre", "m": "a metre", "h": "an hour", "piece": "each"}

PRICE_KEYS: Mapping[str, Key] = {
    **{name: _value(f"What {name} costs, {_UNITS[unit]}.", 1.5) for name, unit in PRICED.items()},
    CURRENCY: _text("What prices are in.", "EUR"),
}

MINUTE_KEYS: Mapping[str, Key] = {
    name: _value(f"Minutes for {'a metre of' if name in ('seam', 'trim') else 'each'} {name}, as you time it.", usual)
    for name, usual in MINUTES.items()
}

_OUTPUT = Key(
    Takes.FILE,
    "Where the trimmed drawing is written; else the drawing's name with -scalloped, beside the job file.",
    "waistcoat-scalloped.svg",
)
_REPORT = Key(Takes.FILE, "Where all figures are written, as JSON.", "waistcoat.json")

PATTERN_KEYS: Mapping[str, Key] = {
    "file": Key(Takes.FILE, "The drawing, an SVG file at full size.", "waistcoat.svg", required=True),
    "output": _OUTPUT,
    "report": _REPORT,
}

DEFAULTS_KEYS: Mapping[str, Key] = {
    **EDGE_KEYS,
    "scallop": Key(Takes.TABLE, "What the scallops of all runs take.", of="scallop"),
    "eyelet": Key(Takes.TABLE, "What the eyelets of all runs take.", of="eyelet"),
    "notch": Key(Takes.TABLE, "What the notches of all runs take.", of="notch"),
    "finish": Key(Takes.TABLE, "How all trimmed edges are finished.", of="finish"),
}

RUN_KEYS: Mapping[str, Key] = {
    "name": _text("What the run is called; else as its edges.", "hem"),
    "pattern": _text("Of several drawings the one that the run is on, by its file.", "waistcoat.svg"),
    "edges": Key(
        Takes.ROWS,
        "The edges in sewing order, each PIECE, PIECE:FROM..TO or PIECE:FROM..VIA..TO, or a table; may be left out "
        "for the whole outline of a drawing with one piece.",
        ["back:fold..side", {"along": "front:side..edge", "allowance": "10mm"}],
        of="edge",
    ),
    "joins": Key(
        Takes.ROWS,
        "What lies between the edges: a kind, a kind and a hold, or a table; as many as edges make a loop.",
        ["seam:valley"],
        of="join",
    ),
    **EDGE_KEYS,
    "flat": Key(Takes.FILE, "Where a picture of the run laid flat is written.", "hem-flat.svg"),
    "scallop": Key(Takes.TABLE, "The scallops.", of="scallop"),
    "eyelet": _tables("The eyelets.", "eyelet"),
    "notch": _tables("The notches.", "notch"),
    "finish": Key(Takes.TABLE, "How the trimmed edge is finished and cut.", of="finish"),
    "facing": _tables("Its facings.", "facing"),
    "template": Key(Takes.TABLE, "Cards to trace the scallops by.", of="template"),
    "trim": Key(Takes.TABLE, "A bought trim along its edge.", of="trim"),
    "lacing": Key(Takes.TABLE, "The cord through its eyelets.", of="lacing"),
}

JOB_KEYS: Mapping[str, Key] = {
    "pattern": Key(
        Takes.DRAWINGS,
        "The drawing, an SVG file at full size; several are written as [[pattern]].",
        "waistcoat.svg",
        of="pattern",
        required=True,
    ),
    "output": _OUTPUT,
    "report": _REPORT,
    "wearer": _text("Who wears what is sewn; cautions, and the limit of small parts, go by it.", UNDER_7, WEARERS),
    "legend": Key(Takes.SWITCH, "Whether it gets a legend of its lines and a square to test prints by.", False),
    "defaults": Key(Takes.TABLE, "What all runs take unless they say otherwise.", of="defaults"),
    "cloth": Key(Takes.TABLE, "The cloth, of whatever does not tell its own.", of="cloth"),
    "run": Key(Takes.TABLES, "The runs: edges, and what is put on them.", of="run", required=True),
    "cut": Key(Takes.TABLE, "How all closed pieces are cut.", of="cut"),
    "piece": Key(Takes.TABLES, "How single pieces are cut.", of="piece"),
    "strap": Key(Takes.TABLES, "Straps, bands, bindings and cords.", of="strap"),
    "match": Key(Takes.TABLES, "Edges that are sewn together.", of="match"),
    "limits": Key(Takes.TABLE, "Other limits for the rules of sewing.", of="limits"),
    "paper": Key(Takes.TABLE, "Pages at full size, as PDF.", of="paper"),
    "cutter": Key(Takes.TABLE, "A file for plotters and cutting machines.", of="cutter"),
    "sheet": Key(Takes.TABLE, "The make sheet: what to cut and to buy, steps, hours and cost.", of="sheet"),
    "prices": Key(Takes.TABLE, "What one of each costs, for the make sheet.", of="prices"),
    "minutes": Key(Takes.TABLE, "How long one of each takes, for the make sheet; guesses unless told.", of="minutes"),
}

TABLES: Mapping[str, Mapping[str, Key]] = {
    "job": JOB_KEYS,
    "pattern": PATTERN_KEYS,
    "defaults": DEFAULTS_KEYS,
    "cloth": CLOTH_KEYS,
    "run": RUN_KEYS,
    "edge": STRETCH_KEYS,
    "join": JOIN_KEYS,
    "scallop": SCALLOP_KEYS,
    "eyelet": EYELET_KEYS,
    "notch": NOTCH_KEYS,
    "finish": FINISH_KEYS,
    "facing": FACING_KEYS,
    "template": TEMPLATE_KEYS,
    "trim": TRIM_KEYS,
    "strap": STRAP_KEYS,
    "match": MATCH_KEYS,
    "lacing": LACING_KEYS,
    "cut": CUT_KEYS,
    "piece": PIECE_KEYS,
    "limits": LIMIT_KEYS,
    "paper": PAPER_KEYS,
    "cutter": CUTTER_KEYS,
    "sheet": SHEET_KEYS,
    "prices": PRICE_KEYS,
    "minutes": MINUTE_KEYS,
}


def as_toml(value: Any) -> str:  # noqa: ANN401  # any example
    """A value as it is written in a job file."""
    if isinstance(value, dict):
        return "{ " + ", ".join(f"{_key(key)} = {as_toml(part)}" for key, part in value.items()) + " }"
    if isinstance(value, list):
        return "[" + ", ".join(as_toml(part) for part in value) + "]"
    return json.dumps(value, ensure_ascii=False)


def _key(name: str) -> str:
    return name if _BARE.fullmatch(name) else as_toml(name)
