"""Runs: a recipe carried out on a drawing."""

from __future__ import annotations

import re
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np

from ..errors import RequestError, ScallopkitError
from ..geometry.cubics import Array
from ..pattern.edge import Edge, begin_at, find_edge
from ..pattern.piece import Warn
from ..trim.counts import FARTHEST
from ..trim.course import CREST, VALLEY, WRAP, Course, Stop, Wish
from ..trim.fit import Fit, fit
from ..trim.holds import FOLD, GAP, End, Holds, Plan, plan_of, side_of
from ..trim.meeting import refuse_overlap, valley_warnings
from ..trim.reaching import reach_warnings
from ..trim.scallops import Scallops, scallops
from .drawing import Drawing
from .recipe import EdgeWords, Recipe, ScallopWords
from .wishes import SIDES, allowances_of, holds_of, one_of, sharpest_of, wish_of

if TYPE_CHECKING:
    from ..trim.eyelets import Eyelets
    from ..trim.notches import Notches

# What XML 1.0 leaves out of its characters: https://www.w3.org/TR/xml/#charsets
_UNWRITABLE = re.compile("[^\t\n\r\u0020-\ud7ff\ue000-\ufffd\U00010000-\U0010ffff]")
# Spans whose widths differ by more than this are seen; common practice, no source.
_SEEN = 0.03
# Allowance that can still be turned, mm; common practice, no source.
_TURNABLE = 5.0


@dataclass(frozen=True, eq=False)
class Run:
    """One run made on a drawing.

    Attributes:
        recipe: what was asked for.
        drawn: the edge as it is drawn.
        edge: the edge that is trimmed: the drawn one, or its stitching line where it carries an allowance.
        course: that edge as trim sees it; a loop may start at another place, `origin` mm along the edge.
        stops: the holds, in order along the course.
        fit, scallops: the fitted scallops; None where the run has none.
        eyelets, notches: what else is put on the edge, one entry for each time it was asked for.
        warnings: what the maker should know.
        cautions: where the work can hurt someone.
    """

    recipe: Recipe
    drawn: Edge
    edge: Edge
    course: Course
    origin: float
    stops: tuple[Stop, ...]
    fit: Fit | None
    scallops: Scallops | None
    eyelets: tuple[Eyelets, ...]
    notches: tuple[Notches, ...]
    warnings: tuple[Warn, ...]
    cautions: tuple[str, ...]

    @property
    def name(self) -> str:
        """The run's name."""
        return self.recipe.name

    @property
    def count(self) -> float:
        """How many scallops; a half at an end counts 0.5."""
        return self.fit.count if self.fit else 0.0

    @property
    def widths(self) -> tuple[float, ...]:
        """The width of each span in mm."""
        return self.fit.widths if self.fit else ()

    @property
    def copies(self) -> int:
        """How often the edge appears once its folds are opened."""
        return 1 << sum(stop.fold for stop in self.stops)

    def along_edge(self, s: Array) -> Array:
        """Lengths along the course as lengths along the edge."""
        return np.mod(s + self.origin, self.course.measured.length) if self.course.loop else s


def make_run(drawing: Drawing, recipe: Recipe) -> Run:
    """The run that a recipe makes on a drawing.

    Raises:
        ScallopkitError: a name, a value or the fit is refused; one sentence tells which and what to do.
    """
    words = recipe.edge
    drawn = find_edge(drawing.pattern, words.along or None)
    edge = _net(drawn, words)
    if words.start_at:
        edge = begin_at(edge, words.start_at)
    _refuse_loop_ends(edge, recipe)
    side = side_of(edge, one_of(words.side, SIDES, "--side") if words.side else None)
    plan = plan_of(edge, side, _holds(edge, words))
    recipe = replace(recipe, name=recipe.name or edge.name)
    if _UNWRITABLE.search(recipe.name):
        raise RequestError(f"the run's name {recipe.name!r} holds a character that no drawing can: give it another")
    run = Run(recipe, drawn, edge, plan.course, plan.origin, plan.ways[0], None, None, (), (), plan.warnings, ())
    if recipe.scallop is not None:
        run = _with_scallops(drawing, run, recipe.scallop, plan)
    return _with_trims(drawing, run) if recipe.eyelets or recipe.notches else run


def _refuse_loop_ends(edge: Edge, recipe: Recipe) -> None:
    if edge.loop and (recipe.edge.start or recipe.edge.end):
        raise RequestError(
            f'"{edge.name}" is a whole closed outline and has no ends: leave out --start and --end, or name a stretch'
        )


def _net(drawn: Edge, words: EdgeWords) -> Edge:
    """The edge on its stitching line; folds carry no allowance."""
    if not words.allowance:
        return drawn
    # Parallels are loaded only for drawings that need them.
    from ..pattern.net import net_edge

    beside, own = allowances_of(words)
    if drawn.loop and beside != own:
        raise RequestError(f'"{drawn.name}" is a whole outline and has no neighbouring edges: give one --allowance')
    at_start, at_end = (0.0 if end.startswith(FOLD) else beside for end in (words.start, words.end))
    return net_edge(drawn, own, at_start, at_end)


def _holds(edge: Edge, words: EdgeWords) -> Holds:
    """The holds; an open line with an allowance has its stitching lines that far inside its ends."""
    holds = replace(holds_of(words), first_valley=bool(words.start_at))
    beside = allowances_of(words)[0]
    if edge.outside != 0 or beside <= 0.0:
        return holds
    start, end = (End(GAP, gap=beside) if h.kind == VALLEY else h for h in (holds.start, holds.end))
    return replace(holds, start=start, end=end)


def _with_scallops(drawing: Drawing, run: Run, words: ScallopWords, plan: Plan) -> Run:
    wish = wish_of(words, drawing.pattern, plan.course.measured.length)
    _refuse_unfit(wish, plan)
    fitted, stops = _best_way(plan, wish)
    if words.count and (words.radius or (words.depth and not words.depth.strip().endswith("%"))):
        # A depth in mm is meant for the width that comes out, which a count does not tell beforehand.
        wish = wish_of(words, drawing.pattern, plan.course.measured.length, fitted.target)
        fitted, stops = _best_way(plan, wish)
    row = scallops(fitted.row, wish.shape, plan.course.side, _ends_over_folds(stops, wish))
    refuse_overlap(row, plan.course.loop, wish.space)
    piece = run.edge.piece.name
    warnings = (
        *valley_warnings(row, plan.course.loop, sharpest_of(words), piece),
        *_width_warnings(fitted, wish, run.edge),
        *reach_warnings(row, _outlines_near(drawing, replace(run, stops=stops)), piece),
        *_allowance_warnings(run, row),
    )
    return replace(run, stops=stops, fit=fitted, scallops=row, warnings=(*run.warnings, *warnings))


def _with_trims(drawing: Drawing, run: Run) -> Run:
    # Loaded only where eyelets or notches are asked for.
    from .trims import EYELET_CAUTIONS, eyelets_of, notch_warnings, notches_of

    near = [curve for _, curve in _outlines_near(drawing, run)]
    folds = (run.stops[0].fold, run.stops[-1].fold)
    set_in = [eyelets_of(words, run.course, run.scallops, run.edge, near, folds) for words in run.recipe.eyelets]
    cut_in = [
        notches_of(words, run.course, run.scallops, run.drawn, run.edge, run.origin) for words in run.recipe.notches
    ]
    warnings = [warning for _, found in set_in for warning in found]
    for words, made in zip(run.recipe.notches, cut_in, strict=True):
        warnings += notch_warnings(made, words, run.scallops if run.edge is run.drawn else None, run.edge.piece.name)
    return replace(
        run,
        eyelets=tuple(made for made, _ in set_in),
        notches=tuple(cut_in),
        warnings=(*run.warnings, *warnings),
        cautions=EYELET_CAUTIONS if set_in else (),
    )


def _ends_over_folds(stops: tuple[Stop, ...], wish: Wish) -> tuple[Array | None, Array | None]:
    """Square to the fold, where a valley lies on one: the directions at which a smooth line crosses it smoothly."""
    return tuple(  # type: ignore[return-value]  # two of them
        np.array(stop.mirror) if stop.fold and stop.hold == VALLEY and stop.mirror and not wish.space else None
        for stop in (stops[0], stops[-1])
    )


def _allowance_warnings(run: Run, placed: Scallops) -> tuple[Warn, ...]:
    """A warning where hardly any cloth is left between the crests and the cut."""
    if run.edge is run.drawn or not run.edge.piece.closed:
        return ()
    # Loaded only for outlines with an allowance.
    from ..geometry.nearest import nearest

    left = nearest(run.edge.piece.curve, placed.crest).distance
    k = int(np.argmin(left))
    if left[k] >= _TURNABLE:
        return ()
    x, y = placed.crest[k]
    text = f"only {left[k]:.1f} mm of cloth lie outside the crests, less than the {_TURNABLE:g} mm that can be turned"
    cure = ": make the scallops shallower, let their crests touch the edge, or cut with more allowance"
    return (Warn("little-allowance", text + cure, run.edge.piece.name, float(x), float(y)),)


def _outlines_near(drawing: Drawing, run: Run) -> list[tuple[str, Array]]:
    """What scallops should keep clear of: the rest of the outline, or the cut round it, and the other pieces.

    A fold is no edge: beyond it the cloth goes on.
    """
    own, drawn = run.edge.piece, run.drawn
    others = [(f'the outline of "{p.name}"', p.curve) for p in drawing.pattern.pieces if p is not own]
    carries_allowance = run.edge is not drawn and own.closed
    name = f'the cutting line of "{own.name}"' if carries_allowance else f'another edge of "{own.name}"'
    if drawn.rest is None:
        return [(name, own.curve), *others] if carries_allowance else others
    first = len(drawn.after) if drawn.after is not None and run.stops[-1].fold else 0
    last = len(drawn.rest) - (len(drawn.before) if drawn.before is not None and run.stops[0].fold else 0)
    mine = [(name, drawn.rest[first:last])] if last > first else []
    return [*([(name, drawn.curve)] if carries_allowance else []), *mine, *others]


def _refuse_unfit(wish: Wish, plan: Plan) -> None:
    """Refuses a profile that the holds can't use."""
    stops = [stop for way in plan.ways for stop in way]
    if any(stop.hold == WRAP for stop in stops) and wish.shape.profile not in ("arc", "half-circle"):
        raise RequestError("only an arc can wrap a corner: take --profile arc or half-circle, or --corner hold")
    crest = any(stop.hold == CREST for stop in stops)
    if crest and wish.shape.own is not None and not wish.shape.own.symmetric:
        raise RequestError("a crest hold halves the motif, which needs a motif whose two halves mirror each other")


def _best_way(plan: Plan, wish: Wish) -> tuple[Fit, tuple[Stop, ...]]:
    """The best of the ways in which the stops may stand: nearest to the target, then evenest, then most scallops."""
    found: list[tuple[tuple[float, float, float], Fit, tuple[Stop, ...]]] = []
    refusal: ScallopkitError = RequestError("the edge has no place for scallops")
    for stops in plan.ways:
        try:
            fitted = fit(plan.course, stops, wish)
        except ScallopkitError as error:
            refusal = error
            continue
        departure = max(abs(w / fitted.target - 1.0) for w in fitted.widths)
        found.append(((round(departure, 9), round(fitted.spread, 9), -fitted.count), fitted, stops))
    if not found:
        raise refusal
    _, fitted, stops = min(found, key=lambda way: way[0])
    return fitted, stops


def _width_warnings(fitted: Fit, wish: Wish, edge: Edge) -> list[Warn]:
    out = []
    piece = edge.piece.name
    narrow, wide = min(fitted.widths), max(fitted.widths)
    if fitted.outside_limits:
        what = f"a width of {narrow:.2f} mm leaves" if wide - narrow < 0.005 else f"{narrow:.2f} to {wide:.2f} mm leave"
        text = f"{what} the limits {wish.least:g} to {wish.most:g} mm"
        out.append(Warn("width-outside-limits", f"{text}: no whole count stays inside them", piece))
    if fitted.spread > _SEEN:
        text = f"the spans' widths run from {narrow:.2f} to {wide:.2f} mm, {100.0 * fitted.spread:.1f}% apart"
        out.append(Warn("spans-differ", f"{text}: more than 3% is seen; move a hold or let one pass", piece))
    for span, width in zip(fitted.spans, fitted.widths, strict=True):
        if width < fitted.target * (1.0 - FARTHEST):
            between = f'"{span.start.name}" and "{span.end.name}"'
            text = f"between {between} are {span.length:.2f} mm, too short for a scallop of {fitted.target:.4g} mm"
            out.append(Warn("span-too-short", f"{text}: let a hold pass, or ask for another width", piece))
    if fitted.slid:
        text = f"the first valley had to move {fitted.slid:.2f} mm along the outline for the row to close"
        out.append(Warn("first-valley-moved", text + "; another count may start where you want", piece))
    if fitted.several:
        out.append(Warn("several-answers", "more than one width fits this count; the widest was taken", piece))
    return out
