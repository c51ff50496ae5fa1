"""Eyelets and notches of a run: the maker's words turned into trims in place."""

from __future__ import annotations

from ..errors import RequestError
from ..geometry.cubics import Array
from ..geometry.length import Measured
from ..pattern.edge import Edge
from ..pattern.piece import Warn
from ..trim.course import Course
from ..trim.eyelets import (
    MARGIN,
    Eyelets,
    EyeletSize,
    eyelet_size,
    eyelet_warnings,
    eyelets_along,
    eyelets_in_scallops,
    stitching_lines,
)
from ..trim.notches import CRESTS, EDGE, MARKS, PARTS, SCALLOPS, SNIP, TRIANGLE, VALLEYS, Notches, NotchWish, V, marked
from ..trim.notches import notches as placed_notches
from ..trim.scallops import Scallops
from .recipe import EyeletWords, NotchWords
from .units import Sign, parse_length
from .wishes import STEPS, lengths_of, one_of, whole_number


def eyelets_of(
    words: EyeletWords,
    course: Course,
    placed: Scallops | None,
    edge: Edge,
    others: list[Array],
    folds: tuple[bool, bool] = (False, False),
) -> tuple[Eyelets, tuple[Warn, ...]]:
    """Eyelets in the scallops of a run, or evenly along its edge, with what stands too near.

    Args:
        words: what was asked for.
        course: the course.
        placed: its scallops, if it has any.
        edge: the edge, for names.
        others: further stitching lines that flanges should keep clear of.
        folds: whether the edge starts, and ends, at a fold.

    Raises:
        RequestError, NoFitError: a value is refused, or an eyelet has no place.
    """
    size = _size(words)
    margin = parse_length(words.margin, "--margin", "not-negative") if words.margin else MARGIN
    if placed is not None:
        _refuse_given(words, ("spacing", "count", "ends", "inset", "step"), "goes with --along, not with scallops")
        from_crest = _given(words.from_crest, "--from-crest", "positive")
        set_in = eyelets_in_scallops(
            placed, course, size, margin, whole_number(words.every, "--every") or 1, from_crest
        )
        lines = stitching_lines(placed, course)
    else:
        _refuse_given(words, ("every", "from_crest"), "goes with the scallops of a --run")
        set_in = _along(words, course, size, margin, folds)
        lines = [course.measured.curve]
    warnings = eyelet_warnings(set_in, [*lines, *others], margin, edge.piece.name, course.measured.closing)
    return set_in, (*_uneven(words, course, placed, edge), *warnings)


def _uneven(words: EyeletWords, course: Course, placed: Scallops | None, edge: Edge) -> tuple[Warn, ...]:
    """A warning where every k-th scallop of a loop leaves a shorter last gap."""
    every = whole_number(words.every, "--every") or 1
    if placed is None or not course.loop or len(placed) % every == 0:
        return ()
    text = f"every {every}th of {len(placed)} scallops round a loop leaves one gap of {len(placed) % every}"
    return (Warn("eyelets-uneven", f"{text}: take a count that {every} divides", edge.piece.name),)


def _along(words: EyeletWords, course: Course, size: EyeletSize, margin: float, folds: tuple[bool, bool]) -> Eyelets:
    spacing, count = _given(words.spacing, "--spacing", "positive"), whole_number(words.count, "--count")
    if (spacing is None) == (count is None):
        raise RequestError(
            "eyelets along an edge need a --spacing or a --count; for one a scallop name the --run that holds them"
        )
    # Without a word on the ends the flanges stay as far from them as from any stitching line; a fold is no end.
    clear = 0.5 * size.flange + margin
    ends = lengths_of(words.ends, "--ends") or [0.0 if course.loop or fold else clear for fold in folds]
    if len(ends) > 2:
        raise RequestError("--ends takes one length, or two: at the start, at the end")
    return eyelets_along(
        course,
        size,
        spacing,
        count,
        ends=(ends[0], ends[-1]),
        inset=_given(words.inset, "--inset", "not-negative"),
        margin=margin,
        chord=one_of(words.step, STEPS[::-1], "--step") == "chord",
    )


def _size(words: EyeletWords) -> EyeletSize:
    if not words.eyelet:
        raise RequestError("say how large the eyelets are: --eyelet 8mm, their clear opening")
    return eyelet_size(
        parse_length(words.eyelet, "--eyelet", "positive"),
        _given(words.barrel, "--barrel", "positive"),
        _given(words.barrel_length, "--barrel-length", "positive"),
        _given(words.flange, "--flange", "positive"),
        _given(words.hole, "--hole", "positive"),
    )


def notches_of(
    words: NotchWords, course: Course, placed: Scallops | None, cutting: Measured | None, edge: Edge, origin: float
) -> Notches:
    """Notches on a run's edge, or on its scallops where the cloth is cut along them.

    Args:
        words: what was asked for.
        course: the course.
        placed: its scallops, if it has any.
        cutting: the cutting line, where the outline carries an allowance.
        edge: the edge that the course follows.
        origin: where along the edge a loop's course begins.

    Raises:
        RequestError, NameUnknownError: a value is refused.
    """
    wish, names = _notch_wish(words, placed is not None)
    spots = marked(edge, names, origin)
    return placed_notches(course, wish, placed, spots, cutting, edge.outside or None)


def notch_warnings(placed: Notches, words: NotchWords, scallops: Scallops | None, piece: str) -> tuple[Warn, ...]:
    """A warning where notches stand on a drawn edge that lies inside the scallops."""
    on_edge = words.on == EDGE or words.at != CRESTS
    if scallops is None or not on_edge or not len(placed):
        return ()
    outward = (scallops.axis[0] @ placed.direction[0]) < 0.0
    if not outward:
        return ()
    x, y = placed.points[0]
    text = "these notches stand on the drawn edge, inside the scallops that go beyond it: mark them, do not cut them; "
    text += "on a piece that is cut they stand on its cutting line"
    return (Warn("notches-inside", text, piece, float(x), float(y)),)


def _notch_wish(words: NotchWords, on_scallops: bool) -> tuple[NotchWish, list[str]]:
    if not words.at:
        raise RequestError("say where the notches go: --at valleys, crests, parts:4, or the names of marks")
    kind, _, number = words.at.partition(":")
    names: list[str] = []
    parts = 4
    if kind == PARTS:
        parts = whole_number(number, "--at parts:") or 4
        at = PARTS
    elif words.at in (VALLEYS, CRESTS):
        at = words.at
    else:
        at, names = MARKS, [name.strip() for name in words.at.split(",") if name.strip()]
        if not names:
            raise RequestError(f"--at takes valleys, crests, parts:4, or the names of marks, not {words.at!r}")
    wish = NotchWish(
        at,
        whole_number(words.every, "--every") or 1,
        parts=parts,
        # Where crests stand out beyond the drawn edge, the cloth is cut beyond it too.
        on=one_of(words.on, (SCALLOPS, EDGE) if on_scallops and at == CRESTS else (EDGE, SCALLOPS), "--on"),
        kind=one_of(words.kind, (SNIP, V, TRIANGLE), "--kind"),
        length=_given(words.length, "--length", "positive"),
    )
    return wish, names


def _given(text: str, option: str, sign: Sign) -> float | None:
    return parse_length(text, option, sign) if text else None


def _refuse_given(words: EyeletWords, names: tuple[str, ...], why: str) -> None:
    for name in names:
        if getattr(words, name):
            raise RequestError(f"--{name.replace('_', '-')} {why}")
