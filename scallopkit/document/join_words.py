"""Joins as the maker writes them: `seam`, `dart:valley`, `dart:gap:8mm`."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from ..errors import RequestError
from ..pattern.joins import DART, KINDS, LAP
from ..trim.course import CREST, VALLEY
from ..trim.holds import GAP, PASS
from .recipe import JoinWords
from .units import parse_length

# What may follow a kind; a gap brings its length.
HOLDS = (VALLEY, CREST, PASS, GAP)

# Which way a dart is pressed.
CENTRE, SIDE, UP, DOWN = "centre", "side", "up", "down"
PRESSES = (CENTRE, SIDE, UP, DOWN)

_HOLDS_SHOWN = "valley, crest, pass or gap:8mm"
# Words that go with one kind of join only.
_BELONG = {"width": LAP, "apex": DART, "legs": DART, "press": DART}


def join_of(text: str, what: str = "--join") -> JoinWords:
    """The join that a text names, `KIND` or `KIND:HOLD`.

    Args:
        text: such as `seam:valley` or `dart:gap:8mm`.
        what: what the text was given for, for messages.

    Raises:
        RequestError: the kind, the hold or the length of a gap is none; the text lists what there is.
    """
    kind, colon, hold = text.strip().partition(":")
    if colon and not hold:
        raise RequestError(f"{what} {text!r} ends in a colon: write {_HOLDS_SHOWN} after it, or leave it out")
    return checked_join(JoinWords(kind.strip(), hold.strip()), what)


def with_laps(joins: Sequence[JoinWords], width: str) -> tuple[JoinWords, ...]:
    """The joins, with a width for every lap that has none; an empty text changes nothing.

    Raises:
        RequestError: the width is no length above 0, or no join is a lap.
    """
    if not width:
        return tuple(joins)
    parse_length(width, "--lap", "positive")
    if all(join.kind != LAP for join in joins):
        raise RequestError(f"--lap {width} goes with a join of the kind {LAP}: write --join {LAP}, or leave --lap out")
    return tuple(replace(join, width=width) if join.kind == LAP and not join.width else join for join in joins)


def checked_join(words: JoinWords, what: str = "--join") -> JoinWords:
    """The join itself, if its words can be read and go together.

    Raises:
        RequestError: they can't or don't; the text lists what there is.
    """
    if words.kind not in KINDS:
        raise RequestError(
            f"{what} can be {_kinds_shown()}, alone or with a hold as in {DART}:{VALLEY}, not {words.kind!r}"
        )
    _refuse_hold(words.hold, what)
    for word, kind in _BELONG.items():
        if getattr(words, word) and words.kind != kind:
            raise RequestError(f"{what} {words.kind}: {word} goes with a {kind} only; leave it out")
    if words.press and words.press not in PRESSES:
        raise RequestError(f"a dart is pressed to the {', '.join(PRESSES[:-1])} or {PRESSES[-1]}, not {words.press!r}")
    return words


def _refuse_hold(hold: str, what: str) -> None:
    kind, colon, length = hold.partition(":")
    if hold and (kind not in HOLDS or (colon and kind != GAP)):
        raise RequestError(f"the hold of {what} can be {_HOLDS_SHOWN}, not {hold!r}")
    if kind == GAP and not length.strip():
        raise RequestError(f"the hold of {what} needs the gap's length, as in gap:8mm")
    if kind == GAP:
        parse_length(length, f"{what} gap", "positive")


def _kinds_shown() -> str:
    return f"{', '.join(KINDS[:-1])} or {KINDS[-1]}"
