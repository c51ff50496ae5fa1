"""Notches of a run: the maker's words turned into notches in place."""

from __future__ import annotations

from ..errors import RequestError
from ..geometry.length import Measured
from ..pattern.edge import Edge
from ..pattern.piece import Warn
from ..trim.course import Course
from ..trim.notches import CRESTS, EDGE, MARKS, PARTS, SCALLOPS, SNIP, TRIANGLE, VALLEYS, Notches, NotchWish, V, marked
from ..trim.notches import notches as placed_notches
from ..trim.scallops import Scallops
from .recipe import NotchWords
from .units import Sign, parse_length
from .wishes import one_of, whole_number


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
