"""Rules of sewing: figures of a trimmed edge against limits, each with its reason and where the limit comes from.

A rule holds what can still be sewn, not what is usual. Every limit can be set; most are rules of thumb of the trade,
so a broken one says that a scrap should be sewn first, or the cure taken.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType

MM, DEGREES, PERCENT, NUMBER = "mm", "deg", "%", ""

# The thickness of one layer of cloth, mm: no limit, but what one is measured by.
THICKNESS = "thickness"

# A figure misses its limit by more than this share of it, or so many mm, degrees or parts in a hundred: rounding.
_ROUNDING = 1e-9
# A figure that keeps its limit by less than this share of it is near it.
_NEAR = 0.1
_FEW_PLACES, _MOST_PLACES = 2, 7
_PRACTICE = "common practice, no source"


@dataclass(frozen=True)
class Rule:
    """One rule.

    Attributes:
        code: what it is called where its limit is set.
        what: the figure in words.
        unit: of the figure and its limit: MM, DEGREES, PERCENT or NUMBER.
        limit: the limit where none is set.
        at_least: whether the figure must not be below the limit; else it must not be above.
        reason: why, as what follows "because".
        source: where the limit comes from.
        cure: what to do where it is broken.
    """

    code: str
    what: str
    unit: str
    limit: float
    at_least: bool
    reason: str
    source: str
    cure: str


@dataclass(frozen=True)
class Judged:
    """A figure against its rule.

    Attributes:
        rule: the rule.
        value: the figure.
        limit: the limit that it was held against.
        ok: whether it is kept.
        text: one sentence with both and, where it is broken, the reason and a cure.
        piece, x, y: where, mm on the sheet, if it is one place.
    """

    rule: Rule
    value: float
    limit: float
    ok: bool
    text: str
    piece: str | None = None
    x: float | None = None
    y: float | None = None

    @property
    def source(self) -> str:
        """Where the limit comes from; of one that was set, also what the usual one is and where that comes from."""
        if self.limit == self.rule.limit:
            return self.rule.source
        return f"your own; the usual limit is {bound(self.rule, self.rule.limit)}: {self.rule.source}"


def _rule(
    code: str, what: str, unit: str, limit: float, reason: str, cure: str, source: str = _PRACTICE, most: bool = False
) -> Rule:
    return Rule(code, what, unit, limit, not most, reason, source, cure)


# How wide the test cylinder for small parts is, mm: 1.25 in, 16 CFR 1501.4.
CYLINDER = 31.75

_SHALLOWER = "make the scallops wider or shallower"

_ALL = (
    _rule(
        "turn-radius",
        "the smallest radius of a bulge that is turned",
        MM,
        6.0,
        "the allowance is trimmed to half the radius before it is turned, and less than 3 mm do not hold",
        _SHALLOWER,
    ),
    _rule(
        "turn-room",
        "the radius of the tightest bulge less the trimmed allowance",
        MM,
        1.0,
        "an allowance as wide as its bulge bunches up when it is turned",
        "trim the allowance to half the radius, or make the scallops wider",
    ),
    _rule(
        "radius-to-thickness",
        "the smallest radius of a bulge that is turned over the thickness of the cloth",
        NUMBER,
        4.0,
        "four layers lie in a turned edge, and a bulge no rounder than they are thick comes out a lump",
        "make the scallops wider or shallower, or face them with thinner cloth",
    ),
    _rule(
        "valley-angle",
        "the angle of the sharpest valley that is turned",
        DEGREES,
        15.0,
        "in a sharper valley there is no room for a clip between the two rows of stitches",
        "make the scallops shallower, or leave a space between them",
    ),
    _rule(
        "bound-valley-angle",
        "the angle of the sharpest valley that is bound",
        DEGREES,
        90.0,
        "a binding has to be stretched open or mitred in a sharper valley",
        "make the scallops shallower, or face the edge",
    ),
    _rule(
        "stitches-a-scallop",
        "the least number of stitches round a scallop",
        NUMBER,
        8.0,
        "with fewer a curve is sewn as straight pieces that are seen",
        "sew shorter stitches, or make the scallops wider",
    ),
    _rule(
        "short-stitch",
        "the shortest stitch",
        MM,
        1.0,
        "shorter stitches part the cloth like a row of holes, and can't be unpicked",
        "sew longer stitches",
    ),
    _rule(
        "long-stitch",
        "the longest stitch",
        MM,
        3.0,
        "longer stitches neither follow a curve nor hold a trimmed allowance",
        "sew shorter stitches",
        most=True,
    ),
    _rule(
        "trimmed-allowance",
        "the allowance that is left when it is trimmed",
        MM,
        3.0,
        "a narrower one frays out of its stitches",
        "trim it less, or cut with more allowance",
        '"Apparel" (g-wonlinetextbooks, 2012), pp. 451-452: 1/8 to 1/4 in, here rounded down',
    ),
    _rule(
        "clip-short",
        "how far the nearest clip stops short of the stitching",
        MM,
        1.0,
        "a clip that reaches the stitches cuts them or tears through",
        "let clips stop farther off, or sew a second row of stitches at the valleys",
    ),
    _rule(
        "seam-layers",
        "the number of layers where the edge goes over a join",
        NUMBER,
        8.0,
        "more layers can't be turned out sharply, and machines skip stitches on them",
        "press the seam open, cut the facing in one piece there, or hold a gap at the join",
        most=True,
    ),
    _rule(
        "valley-near-seam",
        "the distance of the nearest valley from a seam or a dart that it does not lie on",
        MM,
        3.0,
        "its clip would run into the seam's own allowance",
        "hold a valley or a crest at the join, or take another width",
    ),
    _rule(
        "eyelet-near-seam",
        "the distance of the nearest flange from a seam",
        MM,
        2.0,
        "an eyelet on layers of uneven thickness sits askew and works loose",
        "move the eyelet, or take one with a smaller flange",
    ),
    _rule(
        "eyelet-near-dart",
        "the distance of the nearest flange from a dart",
        MM,
        2.0,
        "an eyelet on layers of uneven thickness sits askew and works loose",
        "move the eyelet, or take one with a smaller flange",
    ),
    _rule(
        "rows-apart",
        "the distance of the nearest flange, or other part of a row, from one of another row",
        MM,
        0.0,
        "two parts can't be set through one place of the cloth",
        "move one of the rows, or leave it out",
        f"{_PRACTICE}; set it where the tool that sets them needs room",
    ),
    _rule(
        "end-distance",
        "the distance of the trim from a free end",
        MM,
        0.0,
        "a zip or an opening there needs so much plain edge",
        "hold a gap at that end",
        "set it where a zip or an opening needs room; none is needed by itself",
    ),
    _rule(
        "facing-depth",
        "the depth of the facing beyond the valleys",
        MM,
        15.0,
        "a shallower one rolls out over the edge, and its clips reach its inner edge",
        "make the facing deeper",
        f"{_PRACTICE}; for valances about.com has 1 1/2 in",
    ),
    _rule(
        "eyelet-in-facing",
        "how far the nearest flange lies inside the inner edge of the facing",
        MM,
        3.0,
        "an eyelet half on the facing grips uneven layers, and the facing's finished edge is thick",
        "make the facing deeper, or set the eyelets nearer to the edge",
    ),
    _rule(
        "scallop-width",
        "the width of the narrowest scallop that is turned",
        MM,
        8.0,
        "a narrower one can't be turned out with a point turner or a knitting needle",
        "make the scallops wider, or sew a close stitch over the edge instead",
    ),
    _rule(
        "shallow-scallop",
        "the depth over the width of the shallowest scallop that is turned",
        PERCENT,
        10.0,
        "what is shallower looks like a wavering seam once it is pressed",
        "make the scallops deeper",
    ),
    _rule(
        "deep-scallop",
        "the depth over the width of the deepest scallop that is turned",
        PERCENT,
        60.0,
        "a deeper one is narrower at its mouth than the hand or tool that turns it out",
        "make the scallops shallower",
        most=True,
    ),
    _rule(
        "small-parts",
        "the number of parts set into the edge that fit through a cylinder 31.75 mm (1.25 in) wide",
        NUMBER,
        0.0,
        "a part that comes off can choke a small child; this is a caution and claims no conformity, for 16 CFR 1501, "
        "which has the cylinder, exempts children's clothing with its buttons and lace holders (1501.3(d)), and local "
        "rules and licensed testing decide",
        "sew eyelets round with thread, or leave them out",
        "16 CFR 1501 for the cylinder; it exempts children's clothing (1501.3(d)), so the figure is only a caution",
        most=True,
    ),
)

RULES: Mapping[str, Rule] = MappingProxyType({rule.code: rule for rule in _ALL})


def judged(
    code: str,
    value: float,
    limits: Mapping[str, float],
    cure: str = "",
    piece: str | None = None,
    x: float | None = None,
    y: float | None = None,
    counted: str = "",
) -> Judged:
    """A figure held against the limit of a rule.

    Args:
        code: the rule's code; a KeyError where there is none.
        value: the figure, in the rule's unit.
        limits: limits that were set, by code; what is missing keeps the rule's own.
        cure: what to do where it is broken, if the rule's own words do not fit.
        piece: the piece on which it lies.
        x: where, mm on the sheet.
        y: likewise.
        counted: how the figure came about, in words.
    """
    rule = RULES[code]
    limit = limits.get(code, rule.limit)
    ok = kept(rule, value, limit)
    return Judged(rule, value, limit, ok, _sentence(rule, value, limit, ok, cure or rule.cure, counted), piece, x, y)


def kept(rule: Rule, value: float, limit: float) -> bool:
    """Whether a figure keeps a limit; on it, and a rounding error beyond it, it does."""
    over = value - limit if rule.at_least else limit - value
    return over >= -_ROUNDING * max(1.0, abs(limit))


def near(rule: Rule, value: float, limit: float) -> bool:
    """Whether a figure keeps its limit by less than a tenth of it; there is no tenth of a limit of 0."""
    return kept(rule, value, limit) and abs(value - limit) < _NEAR * abs(limit)


def fits_cylinder(across: float) -> bool:
    """Whether a flat part so many mm across fits through the cylinder that small parts are tested with."""
    return across <= CYLINDER


def layers_at_join(pressed_open: bool, faced_over: bool) -> int:
    """How many layers of cloth lie in a turned edge beside a join that it goes over.

    Beside a seam pressed open lie the cloth and one allowance; beside one pressed to a side, or a dart, on that side
    the cloth and two. The facing is one layer where it goes over the join in one piece, else two, for its seam is
    pressed open. At the turned edge all of them lie double, for their allowances are turned in with them.
    """
    cloth = 2 if pressed_open else 3
    facing = 1 if faced_over else 2
    return 2 * (cloth + facing)


def shown(value: float, unit: str, places: int = _FEW_PLACES) -> str:
    """A figure with its unit, as it is read."""
    number = f"{value:.{places}f}"
    number = number.rstrip("0").rstrip(".") if "." in number else number
    number = "0" if number == "-0" else number
    return number + {MM: " mm", DEGREES: " degrees", PERCENT: "%", NUMBER: ""}[unit]


def bound(rule: Rule, limit: float, places: int = _FEW_PLACES) -> str:
    """A limit of a rule as it is read, with its unit: at least or at most so much."""
    return f"at {'least' if rule.at_least else 'most'} {shown(limit, rule.unit, places)}"


def _sentence(rule: Rule, value: float, limit: float, ok: bool, cure: str, counted: str) -> str:
    places = _places(value, limit, ok)
    how = f" ({counted})" if counted else ""
    found = f"{rule.what} is {shown(value, rule.unit, places)}{how}"
    held = f"the limit is {bound(rule, limit, places)}"
    return f"{found}; {held}" if ok else f"{found}; {held}, because {rule.reason}: {cure}"


def _places(value: float, limit: float, ok: bool) -> int:
    """So many places that a figure that breaks its limit does not look like it."""
    places = _FEW_PLACES
    while not ok and places < _MOST_PLACES and f"{value:.{places}f}" == f"{limit:.{places}f}":
        places += 1
    return places
