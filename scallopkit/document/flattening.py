"""The edges that a recipe names, found on a drawing and laid flat, with what the trim does at their joints."""

from __future__ import annotations

from ..errors import NameUnknownError, RequestError
from ..geometry.length import measure
from ..pattern.edge import Edge, begin_at, find_edge, on_line, places
from ..pattern.joins import BUTT, DART, FOLD, LAP, SEAM, Join
from ..pattern.laying import LaidRun, lay
from ..pattern.piece import Pattern
from ..pattern.sewing_order import Stretch
from ..trim.course import CREST, VALLEY
from ..trim.holds import GAP, PASS, AtJoint, End
from .join_words import checked_join
from .recipe import EdgeWords, JoinWords, Recipe
from .units import parse_length
from .wishes import allowances_of, yes

MIRRORED = ":mirrored"
# What the trim does at a join unless told otherwise.
_DEFAULT = {SEAM: VALLEY, DART: PASS, FOLD: CREST, LAP: PASS, BUTT: PASS}


def laid_run(pattern: Pattern, recipe: Recipe, name: str) -> LaidRun:
    """The run of a recipe, laid flat.

    Raises:
        ScallopkitError: an edge or a mark is unknown, a word can't be read, or the edges do not meet.
    """
    words = recipe.edge
    joins = [checked_join(join) for join in recipe.joins]
    found = [_found(pattern, stretch.along) for stretch in recipe.stretches]
    if words.start_at:
        found = [(begin_at(edge, words.start_at), over) for edge, over in found]
    _refuse_whole_outlines([edge for edge, _ in found], joins)
    lines = [
        _net(drawn, recipe, k, stretch.allowance or words.allowance)
        for k, ((drawn, _), stretch) in enumerate(zip(found, recipe.stretches, strict=True))
    ]
    stretches = [
        Stretch(drawn, line, over, net=line is not drawn) for (drawn, over), line in zip(found, lines, strict=True)
    ]
    folds = (words.start.startswith(FOLD), words.end.startswith(FOLD))
    true_up = yes(words.true_up, "--true-up")
    return lay(stretches, [_join(pattern, join) for join in joins], name, folds, true_up)


def name_of(recipe: Recipe, pattern: Pattern) -> str:
    """What a run is called that was given no name: as its edge, or as its first and last."""
    names = [stretch.along for stretch in recipe.stretches]
    if recipe.name or len(names) == 1:
        return recipe.name or names[0] or find_edge(pattern, None).name
    return f"{names[0]} to {names[-1]}"


def joint_holds(run: LaidRun, joins: tuple[JoinWords, ...]) -> tuple[AtJoint, ...]:
    """What the trim does at the joints of a run."""
    out = []
    for joint, words in zip(run.joints, joins, strict=True):
        kind, _, gap = (words.hold or _DEFAULT[words.kind]).partition(":")
        end = End(kind, gap=parse_length(gap, "--join gap", "positive") if kind == GAP else 0.0)
        square = (float(joint.square[0]), float(joint.square[1]))
        turn = 0.0 if joint.trued else joint.true.angle
        out.append(AtJoint(joint.name, joint.s, end, square, turn, joint.kind == FOLD))
    return tuple(out)


def _found(pattern: Pattern, along: str) -> tuple[Edge, bool]:
    """An edge, and whether its piece is drawn face down."""
    return find_edge(pattern, bare_name(along) or None), along.endswith(MIRRORED)


def bare_name(along: str) -> str:
    """The edge's own name in what names it in a run."""
    return along.removesuffix(MIRRORED)


def _refuse_whole_outlines(edges: list[Edge], joins: list[JoinWords]) -> None:
    for edge in edges:
        if edge.loop and joins:
            raise RequestError(
                f'"{edge.name}" is a whole closed outline, which has no ends to join: name a stretch of it, '
                f"{edge.piece.name}:FROM..TO"
            )


def _net(drawn: Edge, recipe: Recipe, k: int, allowance: str) -> Edge:
    """The edge on its stitching line, between those of the seams at its ends; folds, darts and butts have none."""
    if not allowance:
        return drawn
    beside, own = allowances_of(EdgeWords(allowance=allowance))
    if beside == own == 0.0:
        return drawn
    if drawn.loop and beside != own:
        raise RequestError(f'"{drawn.name}" is a whole outline and has no neighbouring edges: give one --allowance')
    before, after = _neighbours(recipe, k)
    at_start, at_end = (beside if kind in (SEAM, LAP, "") else 0.0 for kind in (before, after))
    if drawn.outside == 0:
        # The holds at the ends of a run keep its trim off the allowance there.
        return _shortened(drawn, at_start if before else 0.0, at_end if after else 0.0)
    # Parallels are loaded only for drawings that need them.
    from ..pattern.net import net_edge

    return net_edge(drawn, own, at_start, at_end)


def _neighbours(recipe: Recipe, k: int) -> tuple[str, str]:
    """The kinds of join before and after edge `k`; empty at a free end."""
    kinds = [join.kind for join in recipe.joins]
    count = len(recipe.stretches)
    ends = [FOLD if text.startswith(FOLD) else "" for text in (recipe.edge.start, recipe.edge.end)]
    around = kinds if len(kinds) == count else [*kinds, ends[1]]
    before = around[k - 1] if k > 0 or len(kinds) == count else ends[0]
    return before, around[k]


def _shortened(edge: Edge, at_start: float, at_end: float) -> Edge:
    m = edge.measured
    if at_start + at_end <= 0.0:
        return edge
    if at_start + at_end >= m.length:
        raise RequestError(f'"{edge.name}" is {m.length:.2f} mm long, too short for its --allowance at both ends')
    return on_line(edge, m.part(at_start, m.length - at_end), None, None, max(at_start, at_end))


def _join(pattern: Pattern, words: JoinWords) -> Join:
    if words.kind == LAP:
        return Join(LAP, parse_length(words.width, "the width of a lap", "positive") if words.width else 0.0)
    apex = _apex(pattern, words.apex) if words.apex else None
    legs = None
    if words.legs:
        if len(words.legs) != 2:
            raise RequestError(f"a dart has two legs, not {len(words.legs)}: name both lines, or its apex alone")
        first, second = (find_edge(pattern, leg).curve for leg in words.legs)
        legs = (first, second)
    return Join(words.kind, apex=apex, legs=legs)


def _apex(pattern: Pattern, name: str) -> tuple[float, float]:
    """The place of a mark, wherever it lies, or of a corner written PIECE:CORNER."""
    marks = [mark for mark in pattern.marks if mark.name == name]
    if len(marks) == 1:
        return marks[0].x, marks[0].y
    piece, _, corner = name.rpartition(":")
    for one in pattern.pieces:
        if piece in one.names:
            found = places(pattern, one, measure(one.curve)).get(corner, [])
            if len(found) == 1:
                x, y = one.curve[found[0].segment, 0]
                return float(x), float(y)
    known = ", ".join(f'"{mark.name}"' for mark in pattern.marks) or "none"
    several = f"{len(marks)} marks are" if marks else "no mark is"
    raise NameUnknownError(f'{several} called "{name}", for the apex of a dart; there are {known}')
