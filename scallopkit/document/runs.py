"""Runs: a recipe carried out on a drawing."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from functools import cached_property
from typing import TYPE_CHECKING

import numpy as np

from ..errors import RequestError, ScallopkitError
from ..geometry import cubics, motion
from ..geometry.cubics import Array
from ..geometry.length import measure
from ..pattern.edge import Edge
from ..pattern.joins import DART
from ..pattern.laying import Joint, LaidRun, is_true
from ..pattern.piece import Warn
from ..trim.counts import FARTHEST
from ..trim.course import CREST, VALLEY, WRAP, Course, Stop, Wish
from ..trim.fit import Fit, fit
from ..trim.holds import GAP, PASS, AtJoint, End, Holds, Plan, plan_of, side_of
from ..trim.meeting import refuse_overlap, valley_warnings
from ..trim.reaching import cross_warnings, reach_warnings
from ..trim.scallops import Scallops, crest_lengths, scallops
from ..trim.sharing import Share, Trimmed, share_curves, shares, trimmed
from .drawing import Drawing
from .flattening import joint_holds, laid_run, name_of
from .kept import kept_pieces
from .recipe import (
    MIRROR,
    NOTES,
    EdgeWords,
    FinishWords,
    LacingWords,
    Phased,
    Recipe,
    ScallopWords,
    TemplateWords,
    TrimWords,
)
from .sheet import on_sheet, opened, parts_at, placed_on_sheet, to_sheet
from .surroundings import cutting_line, lines_near, outlines_near
from .wishes import (
    SIDES,
    allowances_of,
    holds_of,
    one_of,
    positive_number,
    refuse_unwritable,
    sharpest_of,
    whole_number,
    wish_of,
)

if TYPE_CHECKING:
    from ..construction.match_marks import SewnNotch
    from ..construction.trimmed_edge import EdgeCut
    from ..trim.eyelets import Eyelets
    from ..trim.notches import Notches
    from .bought_trims import MadeTrim
    from .caps import MadeCap
    from .facings import MadeFacing
    from .finishing import Finish
    from .lacing import MadeLacing
    from .templates import MadeTemplate

# More scallops on one edge than this are a mistake; common practice, no source.
_MOST = 20_000.0
# Spans whose widths differ by more than this are seen; common practice, no source.
_SEEN = 0.03
# Halves of one piece are alike within this, mm: a hundredth of what is promised of their coordinates.
_ALIKE = 1e-6
# How far a seam may leave its straight line where trim crosses it, mm.
_STRAIGHT_SEAM = 0.2
# Lengths along a run nearer than this, mm, are one; at its ends, which are told as texts, those nearer than the other.
_SAME, _AT_END = 1e-6, 1e-5
# Allowance that can still be turned, mm; common practice, no source.
_TURNABLE = 5.0


@dataclass(frozen=True)
class Ratio:
    """How the widths of a run's scallops stand to those of another run: as asked, and as whole counts allow."""

    run: str
    asked: float
    reached: float


@dataclass(frozen=True, eq=False)
class Run:
    """One run made on a drawing.

    Attributes:
        recipe: what was asked for.
        laid: the edges it follows, laid flat.
        course: the run as trim sees it; a loop may start at another place, `origin` mm along the run.
        stops: the holds, in order along the course.
        fit, scallops: the fitted scallops; None where the run has none.
        eyelets, notches: what else is put on the edge, one entry for each time it was asked for.
        warnings: what the maker should know.
        cautions: where the work can hurt someone.
        ratio: how the widths stand to those of another run, where they go by it.
        finish: how the trimmed edge is finished, where that was asked for.
        facings: the pieces that face it.
        templates: the cards to trace its scallops by.
        trim: the bought trim that is laid along it.
        lacing: the cord through its eyelets.
        flat_cuts: its cutting lines in the flat frame that were made already, by their parts.
    """

    recipe: Recipe
    laid: LaidRun
    course: Course
    origin: float
    stops: tuple[Stop, ...]
    fit: Fit | None = None
    scallops: Scallops | None = None
    eyelets: tuple[Eyelets, ...] = ()
    notches: tuple[Notches, ...] = ()
    warnings: tuple[Warn, ...] = ()
    cautions: tuple[str, ...] = ()
    ratio: Ratio | None = None
    finish: Finish | None = None
    facings: tuple[MadeFacing, ...] = ()
    templates: tuple[MadeTemplate, ...] = ()
    lacing: MadeLacing | None = None
    flat_cuts: dict[tuple[int, ...], Array] = field(default_factory=dict, repr=False)
    trim: MadeTrim | None = None

    @property
    def name(self) -> str:
        """The run's name."""
        return self.recipe.name

    @property
    def edge(self) -> Edge:
        """The line that is trimmed, in the flat frame."""
        return self.laid.line

    @property
    def count(self) -> float:
        """How many scallops; a half at an end counts 0.5."""
        return self.fit.count if self.fit else 0.0

    @property
    def widths(self) -> tuple[float, ...]:
        """The width of each span in mm."""
        return self.fit.widths if self.fit else ()

    @cached_property
    def line(self) -> Trimmed:
        """The trimmed line."""
        if self.scallops is None:
            raise ValueError("a run without scallops has no trimmed line")
        return trimmed(self.scallops, self.course, self.stops)

    @cached_property
    def greatest_height(self) -> float:
        """How far crests lie outside the run's own line, mm; nothing where the scallops are cut into the cloth."""
        # Loaded only where edges are faced.
        from ..construction.trimmed_edge import greatest_height, outside_of

        return greatest_height(self.line, outside_of(self.laid, self.line))

    @cached_property
    def shares(self) -> tuple[Share, ...]:
        """What of the trimmed line lies on each part."""
        return shares(self.laid, self.line, self.origin)

    @cached_property
    def caps(self) -> tuple[MadeCap, ...]:
        """The caps of its darts."""
        if not any(joint.kind == DART for joint in self.laid.joints):
            return ()
        # Loaded only where there are darts.
        from .caps import caps_of

        return caps_of(self)

    def edge_cuts(self, beside: tuple[bool, bool] = (False, False)) -> tuple[EdgeCut, ...]:
        """Its cutting lines on each piece, as its finish has them, or as an edge that is faced.

        `beside` tells whether another trimmed edge begins where it starts, and where it ends.
        """
        if beside not in self._edge_cuts:
            # Loaded only where pieces are cut.
            from .finishing import edge_cuts_of

            self._edge_cuts[beside] = edge_cuts_of(self, beside)
        return self._edge_cuts[beside]

    @cached_property
    def _edge_cuts(self) -> dict[tuple[bool, bool], tuple[EdgeCut, ...]]:
        return {}

    @cached_property
    def sewn_notches(self) -> tuple[SewnNotch, ...]:
        """Its notches where they are sewn, as they lie on the sheet; none on the undrawn half of a folded piece.

        Those that match the notches of its facings are among them.
        """
        if not self.notches:
            return tuple(mark for facing in self.facings for mark in facing.marks)
        # Loaded only where there are notches.
        from ..construction.match_marks import SewnNotch

        out = []
        for words, placed in zip(self.recipe.notches, self.notches, strict=True):
            asked = placed.length if words.length else None
            parts, turns = parts_at(self, placed.points, placed.s)
            along = self.along_run(placed.s)
            for i, (part, turn) in enumerate(zip(parts.tolist(), turns.tolist(), strict=True)):
                if self.laid.parts[part].copy_of is None:
                    outward, line = -placed.direction[i], placed.curve(i)
                    flat = SewnNotch(
                        self.name, part, float(along[i]), placed.sewn[i], outward, line, placed.kind, asked
                    )
                    out.append(flat.carried(to_sheet(self.laid, part, turn)))
        return tuple(out)

    @property
    def copies(self) -> int:
        """How often the run is there once all folds are opened and pairs are cut; laced to its mirror image, twice."""
        lacing = self.recipe.lacing
        usual = 2 if lacing is not None and lacing.with_row == MIRROR else 1
        return opened(self.laid) * (whole_number(self.recipe.edge.times, "--times") or usual)

    def share_on_sheet(self, share: Share) -> list[tuple[int, Array]]:
        """The curves of a share as they lie on its piece on the sheet, each with the number of its element."""
        count = self.line.elements
        return [
            (element % count, motion.apply(to_sheet(self.laid, share.part, -(element // count)), curve))
            for element, curve in share_curves(self.line, share)
        ]

    def is_at(self, joint: Joint, s: float) -> bool:
        """Whether a joint lies at a length along the course; a loop's start is also its end."""
        away = joint.s - self.origin - s
        length = self.course.measured.length
        return abs(away - round(away / length) * length if self.course.loop else away) < 1e-6

    def along_run(self, s: Array) -> Array:
        """Lengths along the course as lengths along the run."""
        return np.mod(s + self.origin, self.course.measured.length) if self.course.loop else s


def make_run(drawing: Drawing, recipe: Recipe, known: Mapping[str, Recipe] | None = None) -> Run:
    """The run that a recipe makes on a drawing.

    Args:
        drawing: the drawing.
        recipe: what is asked for.
        known: recipes of other runs by name, for one whose scallops go by those of another.

    Raises:
        ScallopkitError: a name, a value or the fit is refused; one sentence tells which and what to do.
    """
    words = recipe.edge
    recipe = replace(recipe, name=name_of(recipe, drawing.pattern))
    refuse_unwritable(recipe.name, "the run's name", "give it another")
    if recipe.name in NOTES:
        raise RequestError(f'"{recipe.name}" is what a note of ours is called: give the run another name')
    laid = laid_run(drawing.pattern, recipe, recipe.name)
    _refuse_loop_ends(laid.line, recipe)
    side = side_of(laid.line, one_of(words.side, SIDES, "--side") if words.side else None)
    plan = plan_of(laid.line, side, _holds(laid, recipe))
    run = Run(recipe, laid, plan.course, plan.origin, plan.ways[0], warnings=laid.warnings)
    run = replace(run, warnings=(*run.warnings, *on_sheet(run, plan.warnings), *_true_warnings(run)))
    if recipe.scallop is not None:
        sized, model = _sized(drawing, recipe, recipe.scallop, known or {})
        run = _with_scallops(drawing, run, sized, plan)
        run = run if model is None else replace(run, ratio=_ratio(run, *model))
    run = _with_trims(drawing, run, known or {}) if recipe.eyelets or recipe.notches else run
    run = _with_finish(run, recipe.finish) if recipe.finish is not None else run
    run = _with_facings(drawing, run) if recipe.facings else run
    run = _with_templates(run, recipe.template) if recipe.template is not None else run
    run = _with_bought_trim(run, recipe.trim) if recipe.trim is not None else run
    run = _with_lacing(drawing, run, recipe.lacing, known or {}) if recipe.lacing is not None else run
    # A count that can't be read is refused before anything is written.
    _ = run.copies
    return run


def _sized(
    drawing: Drawing, recipe: Recipe, words: ScallopWords, known: Mapping[str, Recipe]
) -> tuple[ScallopWords, tuple[Run, float] | None]:
    """The words with the width that goes by another run's, and that run with the ratio asked for."""
    if recipe.phased is not None:
        own = {"count": "", "weights": "", "like": "", "ratio": "", "min_width": "", "max_width": ""}
        return replace(words, width=f"{recipe.phased.width!r}mm", **own), None
    if not words.like:
        if words.ratio:
            raise RequestError("--ratio goes with --like RUN, the run whose scallops it is a ratio to")
        return words, None
    if words.width or words.count:
        raise RequestError("--like takes its width from another run: leave out --width and --count")
    others = {name: other for name, other in known.items() if name != recipe.name and other.scallop is not None}
    if words.like not in others:
        there = ", ".join(f'"{name}"' for name in others) or "none"
        raise RequestError(f'there is no run of scallops called "{words.like}" to go by; there are {there}')
    model = make_run(drawing, others[words.like], {k: v for k, v in known.items() if k != recipe.name})
    ratio = positive_number(words.ratio, "--ratio") if words.ratio else 1.0
    return replace(words, width=f"{ratio * mean_width(model)!r}mm"), (model, ratio)


def mean_width(run: Run) -> float:
    """The mean width of a run's scallops, mm."""
    return float(np.average(run.widths, weights=run.fit.counts if run.fit else None))


def _ratio(run: Run, model: Run, asked: float) -> Ratio:
    return Ratio(model.name, asked, mean_width(run) / mean_width(model))


def _refuse_loop_ends(edge: Edge, recipe: Recipe) -> None:
    if edge.loop and (recipe.edge.start or recipe.edge.end):
        what = "a loop" if recipe.joins else "a whole closed outline"
        raise RequestError(f'"{edge.name}" is {what} and has no ends: leave out --start and --end, or name a stretch')


def _holds(laid: LaidRun, recipe: Recipe) -> Holds:
    """The holds; an open line with an allowance has its stitching lines that far inside its ends."""
    words = recipe.edge
    holds = replace(holds_of(words), first_valley=bool(words.start_at), joints=joint_holds(laid, recipe.joins))
    if recipe.phased is not None:
        return _phased(laid.line, holds, recipe.phased)
    first, last = recipe.stretches[0], recipe.stretches[-1]
    start = _off_allowance(laid.parts[0].edge, first.allowance or words.allowance, holds.start)
    end = _off_allowance(laid.parts[-1].edge, last.allowance or words.allowance, holds.end)
    return replace(holds, start=start, end=end)


def _phased(edge: Edge, holds: Holds, phased: Phased) -> Holds:
    """The holds of a run whose valleys a match holds in phase: at joints what these leave there, and its ends' own."""
    s = phased.valleys
    if s[-1] > edge.measured.length + _SAME:
        raise RequestError(
            f"the edge is {edge.measured.length:.2f} mm long now, and a match held a valley {s[-1]:.2f} mm along it: "
            "make the run anew, and then `refit`"
        )
    length = edge.measured.length
    at = [*s, *(0.5 * (begin + finish) % (length if edge.loop else math.inf) for begin, finish in phased.flats)]
    joints = tuple(replace(joint, end=_phased_joint(joint, at)) for joint in holds.joints)
    at_ends = [turn + at for flat in phased.flats for at in flat for turn in ((-length, 0.0) if edge.loop else (0.0,))]
    inner = [flat for flat in phased.flats if edge.loop or (flat[0] > 0.0 and flat[1] < length - _SAME)]
    holds = replace(holds, first_valley=False, joints=joints, flats=tuple(inner))
    s = tuple(at for at in s if all(abs(at - end) >= _SAME for end in at_ends))
    if edge.loop:
        return replace(holds, valleys=s)
    for begin, finish in phased.flats:
        if begin <= 0.0:
            holds = replace(holds, start=replace(holds.start, gap=finish))
        elif finish >= length - _SAME:
            holds = replace(holds, end=replace(holds.end, gap=finish - begin))
    # Where the trim begins or ends at a valley, that is the end's own hold.
    begin, end = holds.start.gap, edge.measured.length - holds.end.gap
    return replace(holds, valleys=tuple(at for at in s if begin + _AT_END < at < end - _AT_END))


def _phased_joint(joint: AtJoint, valleys: Sequence[float]) -> End:
    """What a match leaves at a joint: at a fold a valley, the middle of a space, or a crest; else what falls there."""
    if not joint.fold:
        return End(PASS)
    return End(VALLEY if any(abs(joint.s - at) < _SAME for at in valleys) else CREST)


def _off_allowance(edge: Edge, allowance: str, end: End) -> End:
    beside = allowances_of(EdgeWords(allowance=allowance))[0]
    return End(GAP, gap=beside) if edge.outside == 0 and beside > 0.0 and end.kind == VALLEY else end


def _refuse_too_many(wish: Wish, plan: Plan) -> None:
    """Refuses a width of which so many would fit that it is a mistake."""
    count = plan.course.measured.length / wish.width if wish.width else 0.0
    if count > _MOST:
        raise RequestError(
            f"that would be some {count:.3g} scallops, more than {_MOST:,.0f}: give a greater --width, at least "
            f"{plan.course.measured.length / _MOST:.3g} mm"
        )


def _with_scallops(drawing: Drawing, run: Run, words: ScallopWords, plan: Plan) -> Run:
    wish = wish_of(words, drawing.pattern, plan.course.measured.length)
    _refuse_too_many(wish, plan)
    _refuse_unfit(wish, plan)
    fitted, stops = _best_way(plan, wish)
    if words.count and (words.radius or (words.depth and not words.depth.strip().endswith("%"))):
        # A depth in mm is meant for the width that comes out, which a count does not tell beforehand.
        wish = wish_of(words, drawing.pattern, plan.course.measured.length, fitted.target)
        fitted, stops = _best_way(plan, wish)
    closing = plan.course.measured.closing
    row = scallops(fitted.row, wish.shape, plan.course.side, _ends_over_folds(stops, wish), closing)
    refuse_overlap(row, plan.course.loop, wish.space)
    run = replace(run, stops=stops, fit=fitted, scallops=row)
    _refuse_unlike_halves(run)
    piece = run.edge.piece.name
    flat = (*valley_warnings(row, plan.course.loop, sharpest_of(words), piece), *cross_warnings(run.line.curves, piece))
    warnings = (
        *on_sheet(run, flat),
        *_width_warnings(fitted, wish, run.edge, run.recipe.phased is not None),
        *_reach_warnings(drawing, run),
        *_allowance_warnings(run),
        *_seam_warnings(run, wish),
        *(made.warning for made in run.caps if made.warning is not None),
    )
    return replace(run, warnings=(*run.warnings, *warnings))


def _with_trims(drawing: Drawing, run: Run, known: Mapping[str, Recipe]) -> Run:
    # Loaded only where eyelets or notches are asked for.
    from ..construction.cautions import cautions
    from ..trim.fastenings import BUTTON, EYELET, SNAP
    from .rows import row_of
    from .trims import notch_warnings, notches_of

    near = lines_near(drawing, run)
    cutting = cutting_line(run.laid)
    set_in = [row_of(drawing, run, words, near, known) for words in run.recipe.eyelets]
    cut_in = [
        notches_of(words, run.course, run.scallops, cutting, run.edge, run.origin) for words in run.recipe.notches
    ]
    warnings = [warning for _, found in set_in for warning in found]
    # On pieces that are cut they stand on the cutting line.
    inside = cutting is None and bool(cut_in) and not _all_cut(drawing, run.laid)
    for words, made in zip(run.recipe.notches, cut_in, strict=True):
        warnings += notch_warnings(made, words, run.scallops if inside else None, run.edge.piece.name)
    run = replace(run, eyelets=tuple(made for made, _ in set_in), notches=tuple(cut_in))
    parts = {made.size.part for made in run.eyelets}
    return replace(
        run,
        warnings=(*run.warnings, *on_sheet(run, warnings)),
        cautions=cautions(
            eyelets=EYELET in parts,
            metal=SNAP in parts,
            small_parts=bool(parts & {SNAP, BUTTON}),
            cord=any(words.cord for words in run.recipe.eyelets),
            wearer=run.recipe.wearer,
        ),
    )


def _all_cut(drawing: Drawing, laid: LaidRun) -> bool:
    """Whether the drawing holds all pieces of a run as they are cut."""
    return {part.edge.piece.name for part in laid.parts} <= kept_pieces(drawing.source).keys()


def _with_finish(run: Run, words: FinishWords) -> Run:
    if run.scallops is None:
        raise RequestError(f'the run "{run.name}" has no scallops, so there is no trimmed edge to finish')
    # Loaded only where a finish is asked for.
    from .finishing import finish_of

    interlined = any(facing.interlining for facing in run.recipe.facings)
    finish, warnings = finish_of(words, run.laid, run.line, run.stops, interlined)
    return replace(run, finish=finish, warnings=(*run.warnings, *on_sheet(run, warnings)))


def _with_facings(drawing: Drawing, run: Run) -> Run:
    # Loaded only where facings are asked for.
    from .facings import facings_of

    made: list[MadeFacing] = []
    warnings: list[Warn] = []
    for words in run.recipe.facings:
        found, told = facings_of(drawing, run, words, len(made) + 1 if made else 0)
        made += found
        warnings += told
    return replace(run, facings=tuple(made), warnings=(*run.warnings, *warnings))


def _with_templates(run: Run, words: TemplateWords) -> Run:
    # Loaded only where cards are asked for.
    from .templates import templates_of

    made, warnings = templates_of(run, words)
    return replace(run, templates=made, warnings=(*run.warnings, *warnings))


def _with_bought_trim(run: Run, words: TrimWords) -> Run:
    # Loaded only where a trim is asked for.
    from .bought_trims import trim_of

    made, warnings = trim_of(run, words)
    return replace(run, trim=made, warnings=(*run.warnings, *warnings))


def _with_lacing(drawing: Drawing, run: Run, words: LacingWords, known: Mapping[str, Recipe]) -> Run:
    # Loaded only where something is laced.
    from .lacing import laced

    return laced(drawing, run, words, known)


def _refuse_unlike_halves(run: Run) -> None:
    """Refuses a run in which the two halves of one piece would carry different scallops."""
    for share, part in zip(run.shares, run.laid.parts, strict=True):
        if part.copy_of is None:
            continue
        own = [curve for _, curve in run.share_on_sheet(share)]
        other = [curve for _, curve in run.share_on_sheet(run.shares[part.copy_of])]
        if part.mirrored != run.laid.parts[part.copy_of].mirrored:
            other = [cubics.reverse(curve) for curve in other][::-1]
        if len(own) != len(other) or any(_unlike(a, b) for a, b in zip(own, other, strict=True)):
            first = run.laid.parts[part.copy_of].edge.name
            raise RequestError(
                f'"{first}" and "{part.edge.name}" are one edge of one piece, but their scallops differ: hold a valley '
                "or a crest where they meet and the same at their other ends, and take --weights that are even about it"
            )


def _unlike(a: Array, b: Array) -> bool:
    return a.shape != b.shape or float(np.abs(a - b).max()) > _ALIKE


def _ends_over_folds(stops: tuple[Stop, ...], wish: Wish) -> tuple[Array | None, Array | None]:
    """Square to the fold, where a valley lies on one: the directions at which a smooth line crosses it smoothly."""
    return tuple(  # type: ignore[return-value]  # two of them
        np.array(stop.mirror) if stop.fold and stop.hold == VALLEY and stop.mirror and not wish.space else None
        for stop in (stops[0], stops[-1])
    )


def _allowance_warnings(run: Run) -> tuple[Warn, ...]:
    """A warning where hardly any cloth is left between the crests and the cut."""
    placed = run.scallops
    if placed is None or not any(part.net for part in run.laid.parts):
        return ()
    # Loaded only for outlines with an allowance.
    from ..geometry.nearest import nearest

    parts, crests = placed_on_sheet(run, placed.crest, crest_lengths(placed.row))
    out = []
    for k, part in enumerate(run.laid.parts):
        here = crests[parts == k]
        if not part.net or not part.edge.piece.closed or not len(here):
            continue
        left = nearest(part.edge.piece.curve, here).distance
        i = int(np.argmin(left))
        if left[i] < _TURNABLE:
            text = f"only {left[i]:.1f} mm of cloth lie outside the crests, less than the {_TURNABLE:g} mm that can be"
            cure = " turned: make the scallops shallower, let their crests touch the edge, or cut with more allowance"
            out.append(Warn("little-allowance", text + cure, part.edge.piece.name, *map(float, here[i])))
    return tuple(out)


def _reach_warnings(drawing: Drawing, run: Run) -> tuple[Warn, ...]:
    """Warnings for what is drawn on each part that reaches another edge, a cutting line or another piece."""
    out: list[Warn] = []
    for share, part in zip(run.shares, run.laid.parts, strict=True):
        if part.copy_of is not None:
            continue
        lines = [(element // 2, curve) for element, curve in run.share_on_sheet(share) if element % 2 == 0]
        out += reach_warnings(lines, outlines_near(drawing, run, share.part), part.edge.piece.name)
    return tuple(out)


def _true_warnings(run: Run) -> tuple[Warn, ...]:
    """A warning for each join at which the edges do not go on into each other smoothly."""
    # An open line has no outside of its own: it bulges where its scallops stand.
    outward = run.laid.line.outside or run.course.side
    out = []
    for joint in run.laid.joints:
        if is_true(joint) or joint.trued or joint.meeting is None:
            continue
        what = "a dip" if joint.true.side * outward < 0 else "a peak"
        text = f'at "{joint.name}" the edges turn by {abs(math.degrees(joint.true.angle)):.1f} degrees once sewn, '
        text += f"{what} of {joint.true.dip:.2f} mm against a smooth line"
        edge = joint.meeting.first
        x, y = edge.curve[-1, 3]
        cure = ": the true-line in the drawing is smooth; --true-up takes it"
        out.append(Warn("not-true", text + cure, edge.piece.name, float(x), float(y)))
    return tuple(out)


def _seam_warnings(run: Run, wish: Wish) -> tuple[Warn, ...]:
    """A warning for each seam that leaves its straight line within reach of trim that lies inside the edge."""
    inside = {VALLEY: 0.0, CREST: 1.0}.get(wish.touch, 0.5)
    if run.scallops is None or inside == 0.0:
        return ()
    reach = inside * float(run.scallops.depth.max())
    out = []
    for joint in run.laid.joints:
        found = joint.meeting
        if found is None or found.legs is None:
            continue
        for leg, direction, edge in zip(found.legs, found.leaving, (found.first, found.second), strict=True):
            points = cubics.flatten(measure(leg).part(0.0, min(reach, measure(leg).length)), 0.01) - leg[0, 0]
            off = float(np.abs(points @ cubics.left(direction)).max())
            if off > _STRAIGHT_SEAM:
                x, y = leg[0, 0]
                text = f'the seam beside "{edge.name}" leaves its straight line by {off:.2f} mm within the scallops'
                cure = ": they will not quite meet there; draw the seam straighter near the edge"
                out.append(Warn("seam-curves", text + cure, edge.piece.name, float(x), float(y)))
    return tuple(out)


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


def _width_warnings(fitted: Fit, wish: Wish, edge: Edge, held: bool) -> list[Warn]:
    """What there is to say of widths; `held` where a match holds the valleys, in pleats also near to each other."""
    out = []
    piece = edge.piece.name
    narrow, wide = min(fitted.widths), max(fitted.widths)
    if fitted.outside_limits:
        what = f"a width of {narrow:.2f} mm leaves" if wide - narrow < 0.005 else f"{narrow:.2f} to {wide:.2f} mm leave"
        text = f"{what} the limits {wish.least:g} to {wish.most:g} mm"
        out.append(Warn("width-outside-limits", f"{text}: no whole count stays inside them", piece))
    if fitted.spread > _SEEN:
        text = f"the spans' widths run from {narrow:.2f} to {wide:.2f} mm, {100.0 * fitted.spread:.1f}% apart"
        cure = "a match holds its valleys, in pleats too" if held else "move a hold or let one pass"
        out.append(Warn("spans-differ", f"{text}: more than 3% is seen; {cure}", piece))
    for span, width in zip(fitted.spans, fitted.widths, strict=True):
        if width < fitted.target * (1.0 - FARTHEST) and not held:
            between = f'"{span.start.name}" and "{span.end.name}"'
            text = f"between {between} are {span.length:.2f} mm, too short for a scallop of {fitted.target:.4g} mm"
            out.append(Warn("span-too-short", f"{text}: let a hold pass, or ask for another width", piece))
    if fitted.slid:
        text = f"the first valley had to move {fitted.slid:.2f} mm along the outline for the row to close"
        out.append(Warn("first-valley-moved", text + "; another count may start where you want", piece))
    if fitted.several:
        out.append(Warn("several-answers", "more than one width fits this count; the widest was taken", piece))
    return out
