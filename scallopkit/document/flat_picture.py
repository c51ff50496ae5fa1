"""A picture of a run laid flat as sewn: what its maker holds against the body before anything is cut.

It is drawn at full size in the run's flat frame. Each piece shows as a band of cloth along the edge, with the joints
between them, the scallops as one unbroken line, what holds them, and the figures of each span. At an end that goes on,
beyond a fold or into a loop's next turn, the first scallops there are drawn faintly, so that both are seen to meet.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from ..geometry import cubics, motion
from ..geometry.cubics import Array
from ..pattern.joins import LAP
from ..trim.part_shapes import shapes_of
from ..trim.sharing import Cut, Share, share_curves, whole
from .end_to_end import linked
from .flat_bands import Band, bands_of
from .flat_figures import measure_spans, write_title
from .flat_holds import draw_holds, holds_of, name_holds
from .flat_joints import draw_joints, name_joints
from .flat_legend import draw_legend
from .flat_paper import Paper
from .flat_view import View, piece_name, view_of
from .lettering import one_line, wrapped
from .lines import stitching_text
from .recipe import RAW
from .runs import Run
from .sheet import parts_at

# How many scallops are shown beyond a fold, and beyond a loop's end.
_BEYOND_FOLD, _BEYOND_LOOP = 2, 1
# Greys of neighbouring pieces; black on the darkest has a contrast of 14 to 1.
_TINTS = ("#f5f5f5", "#e6e6e6", "#d6d6d6")


def flat_picture(run: Run) -> bytes:
    """The picture of a run laid flat, an SVG document at full size with all of it in one layer.

    Args:
        run: any run, with scallops or without.

    Returns:
        UTF-8 bytes, the same for the same run; user units are mm of the run's flat frame, in which its first piece
        lies as on the sheet unless it is drawn face down.
    """
    view = view_of(run)
    bands = bands_of(view)
    paper = Paper(view.size)
    _draw_cloth(paper, view, bands)
    _draw_beyond(paper, view)
    _draw_edges(paper, view, bands)
    draw_joints(paper, view, bands)
    _draw_scallops(paper, view)
    _draw_trims(paper, view)
    holds = holds_of(view)
    draw_holds(paper, view, holds)
    _name_pieces(paper, view, bands)
    measure_spans(paper, view)
    name_joints(paper, view, bands)
    name_holds(paper, view, holds)
    write_title(paper, run)
    draw_legend(paper, raw=run.finish is not None and run.finish.kind == RAW)
    return paper.svg(run.name)


# ---------------------------------------------------------------- pieces


def _draw_cloth(paper: Paper, view: View, bands: Sequence[Band]) -> None:
    """Each piece's cloth up to the scallops, in a grey of its own."""
    run = view.run
    if not bands:
        curves = [view.line.curve] if run.scallops is None else _turned_curves(run, whole(run.line))
        paper.fill(linked(curves), _TINTS[0], piece_name(run.laid.parts[0]))
        return
    pieces = list(dict.fromkeys(part.edge.piece.name for part in run.laid.parts))
    for k, (part, band) in enumerate(zip(run.laid.parts, bands, strict=True)):
        if band.fade is None:
            continue
        trimmed = [band.edge] if run.scallops is None else _turned_curves(run, run.shares[k])
        around = [*trimmed, band.sides[1], cubics.reverse(band.fade), cubics.reverse(band.sides[0])]
        paper.fill(linked(around), _tint(pieces.index(part.edge.piece.name), len(pieces)), piece_name(part))


def _tint(i: int, pieces: int) -> str:
    """The grey of piece i; round a loop the last one differs from the first too."""
    k = i % len(_TINTS)
    return _TINTS[1 if k == 0 and i == pieces - 1 and i > 0 else k]


def _turned_curves(run: Run, share: Share) -> list[Array]:
    """The curves of a share where they lie in the flat frame itself."""
    count = run.line.elements
    return [motion.apply(run.laid.turned(e // count), curve) for e, curve in share_curves(run.line, share)]


def _draw_edges(paper: Paper, view: View, bands: Sequence[Band]) -> None:
    """The edges that the run follows, and the free sides of the pieces."""
    run = view.run
    if not bands:
        paper.stroke("edges", "edge", view.line.curve, f"edge {one_line(run.laid.parts[0].edge.name)}")
    for k, (part, band) in enumerate(zip(run.laid.parts, bands, strict=False)):
        paper.stroke("edges", "edge", band.edge, f"edge {one_line(part.edge.name)}")
        for end in (False, True):
            joint = view.joint(k, end)
            if band.drawn[end] and (joint is None or joint.kind == LAP):
                paper.stroke("edges", "edge", band.sides[end], f"side of {piece_name(part)}")


def _name_pieces(paper: Paper, view: View, bands: Sequence[Band]) -> None:
    """Each piece's name on its cloth, clear of the scallops."""
    laid = view.run.laid
    if not bands:
        low, high = cubics.bounds(view.line.curve)
        words = wrapped(piece_name(laid.parts[0]), float(high[0] - low[0]), view.size)
        paper.name(words, 0.5 * (low + high), np.array([0.0, 1.0]), bold=True, upon=True)
    for part, band in zip(laid.parts, bands, strict=False):
        point, inward = view.at(0.5 * (part.begin + part.end))
        depth = 0.6 * view.depth
        if band.fade is not None:
            depth = 0.6 * float(np.hypot(*(cubics.flatten(band.fade, 0.5) - point).T).min())
        words = wrapped(piece_name(part), 0.9 * (part.end - part.begin), view.size)
        paper.name(words, point + max(depth, view.below + view.size) * inward, inward, bold=True, upon=True)


# ---------------------------------------------------------------- scallops and trims


def _whole_line(run: Run) -> Share:
    """The trimmed line from the run's start to its end."""
    return Share(0, run.shares[0].begin, run.shares[-1].end)


def _draw_scallops(paper: Paper, view: View) -> None:
    run = view.run
    if run.scallops is None:
        return
    share = _whole_line(run)
    text = stitching_text(run.line, share, run.laid.turned)
    paper.stroke(
        "scallops",
        "stitching",
        linked(_turned_curves(run, share), closed=False),
        f"scallops {one_line(run.name)}",
        text,
    )


def _draw_beyond(paper: Paper, view: View) -> None:
    """How the run goes on beyond a fold at its end, and beyond the end of a loop that does not close flat."""
    run = view.run
    for i, fold in enumerate(run.laid.folds):
        if fold is not None:
            mirror = motion.mirrored(fold.point, fold.along)
            reach = min(view.line.length, _BEYOND_FOLD * view.width if run.scallops is not None else view.depth)
            s = (view.line.length - reach, view.line.length) if i else (0.0, reach)
            paper.stroke("beyond", "beyond", motion.apply(mirror, view.line.part(*s)), "edge beyond the fold")
            _draw_share(paper, run, _first_of(run, _BEYOND_FOLD, at_end=bool(i)), mirror, "scallops beyond the fold")
    if view.reopens:
        reach = min(view.line.length, view.width if run.scallops is not None else view.depth)
        again = motion.apply(run.laid.closing, view.line.part(0.0, reach))
        paper.stroke("beyond", "beyond", again, "edge of the next turn")
        _draw_share(paper, run, _next_of(run, _BEYOND_LOOP), motion.IDENTITY, "scallops of the next turn")


def _draw_share(paper: Paper, run: Run, share: Share | None, over: Array, label: str) -> None:
    if share is None:
        return
    curves = [motion.apply(over, curve) for curve in _turned_curves(run, share)]
    text = stitching_text(run.line, share, lambda turn: motion.compose(over, run.laid.turned(turn)))
    if curves and text:
        paper.stroke("beyond", "beyond", linked(curves, closed=False), label, text)


def _first_of(run: Run, scallops: int, at_end: bool) -> Share | None:
    """The first scallops of an open run, or its last ones."""
    if run.scallops is None:
        return None
    count = run.line.elements
    some = min(2 * scallops, count)
    return Share(0, Cut(count - some), Cut(count)) if at_end else Share(0, Cut(0), Cut(some))


def _next_of(run: Run, scallops: int) -> Share | None:
    """What is left of a scallop that lies over a loop's end, and the first ones of its next turn."""
    if run.scallops is None:
        return None
    end = run.shares[-1].end
    element = end.element + end.element % 2
    more = scallops + (end.point is not None)
    return Share(0, end, Cut(element + 2 * min(more, len(run.scallops))))


def _draw_trims(paper: Paper, view: View) -> None:
    """Eyelets, with the hole that is cut and the flange; notches."""
    run = view.run
    for eyelets in run.eyelets:
        for i, (point, turned) in enumerate(_in_flat_frame(run, eyelets.points, eyelets.s)):
            for shape in shapes_of(eyelets, i):
                if shape.radius:
                    paper.circle("trims", shape.role, motion.apply(turned, point), shape.radius, shape.name)
                for line in shape.lines:
                    paper.stroke("trims", shape.role, motion.apply(turned, line), shape.name)
    for notches in run.notches:
        for i, (_, turned) in enumerate(_in_flat_frame(run, notches.points, notches.s)):
            paper.stroke("trims", "notch", cubics.lines(motion.apply(turned, notches.curve(i))), "notch")


def _in_flat_frame(run: Run, points: Array, s: Array) -> list[tuple[Array, Array]]:
    """Points beside the course, and for each the motion from its own turn of a loop to the flat frame."""
    _, turns = parts_at(run, points, s)
    return [(point, run.laid.turned(-int(turn))) for point, turn in zip(points, turns.tolist(), strict=True)]
