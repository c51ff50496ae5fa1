"""The maker's words about two edges that are sewn together: anchors, and how a longer edge is taken up."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass, replace

from ..construction.matching import CLOTHS, EASE, NOTHING, PLEATED, WAYS, Anchor, HowTaken, Stretch
from ..construction.pleats import CENTRE, DARTS, END, KNIFE, START, called
from ..errors import NameUnknownError, RequestError
from ..pattern.edge import Edge, spot_on
from .recipe import MatchWords
from .units import parse_length, parse_share
from .wishes import one_of, whole_number, yes

SQUARE, GRAIN = "square", "grain"
# Notches that tell front from back, or none.
FRONT_BACK, NO_NOTCHES = "front-back", "none"

# How far fold lines are drawn, how long a dart is, and how far valleys of two edges may lie from where they should, mm;
# common practice, no source.
_LINE, _DART, _WITHIN = 60.0, 90.0, 0.5
_COUNTED = re.compile(r"[0-9]+")


@dataclass(frozen=True)
class Drawn:
    """How a match is drawn and judged.

    Attributes:
        lines: SQUARE to the edge, or along the GRAIN.
        length: of fold and placement lines, mm.
        dart: length of darts, mm.
        notches: FRONT_BACK, or NO_NOTCHES.
        phase: how far beyond the first edge's valleys those of the second should lie as sewn, mm; 0 where they meet.
        within: how far they may lie from there, mm.
        in_phase: whether the second edge's scallops are brought there.
    """

    lines: str
    length: float
    dart: float
    notches: str
    phase: float
    within: float
    in_phase: bool


def drawn_of(words: MatchWords) -> Drawn:
    """How the match is drawn.

    Raises:
        RequestError: a word can't be read.
    """
    return Drawn(
        one_of(words.lines, (SQUARE, GRAIN), "--lines"),
        _length(words.line_length, "--line-length", _LINE),
        _length(words.dart_length, "--dart-length", _DART),
        one_of(words.notches, (FRONT_BACK, NO_NOTCHES), "--notches"),
        parse_length(words.phase, "--phase") if words.phase else 0.0,
        _length(words.phase_within, "--phase-within", _WITHIN),
        yes(words.in_phase, "--in-phase"),
    )


def _length(text: str, option: str, usual: float) -> float:
    return parse_length(text, option, "positive") if text else usual


# ---------------------------------------------------------------- anchors


def anchors_of(words: MatchWords, a: Edge, b: Edge) -> list[Anchor]:
    """The anchors between the ends, with their lengths along the two edges as these are sewn together.

    Args:
        words: what was asked for.
        a: the first edge, laid flat.
        b: the second one, as it is drawn; turned it runs the other way.

    Raises:
        RequestError, NameUnknownError: a pair can't be read, or names no place.
    """
    length, turned, out = b.measured.length, yes(words.turned, "--turned"), []
    for text in words.pair:
        sides = _parted(text, a)
        if sides is None:
            raise RequestError(f"--pair is written A-MARK=B-MARK, marks, corners or lengths, not {text!r}")
        here, there = _place(sides[0], a), _place(sides[1], b)
        out.append(Anchor(sides[0], sides[1], here, length - there if turned else there))
    return out


def _parted(text: str, a: Edge) -> tuple[str, str] | None:
    """The two sides of a pair; names may hold the sign between them."""
    cuts = [i for i, letter in enumerate(text) if letter == "="]
    known = {spot.name for spot in a.spots}
    cuts = [i for i in cuts if text[:i].strip() in known] or cuts[:1]
    if not cuts:
        return None
    first, second = text[: cuts[0]].strip(), text[cuts[0] + 1 :].strip()
    return (first, second) if first and second else None


def _place(text: str, edge: Edge) -> float:
    """The length along an edge of a mark, a corner or an end, or the length that is written."""
    ends = {"start": 0.0, "end": edge.measured.length}
    named = [spot for spot in edge.spots if spot.name == text]
    if len(named) > 1:
        raise RequestError(
            f'"{text}" is there {len(named)} times along "{edge.name}": give the length along it, as in --pair 120mm=..'
        )
    if named or text in ends:
        return named[0].s if named else ends[text]
    try:
        length = parse_length(text, "--pair", "not-negative")
    except RequestError:
        # Names what there is.
        return spot_on(edge, text).s
    if length > edge.measured.length:
        raise RequestError(
            f'--pair {text} lies beyond the end of "{edge.name}", {edge.measured.length:.2f} mm along it'
        )
    return length


# ---------------------------------------------------------------- how it is taken up


def ways_of(words: MatchWords, stretches: Sequence[Stretch], loop: bool) -> list[HowTaken]:
    """How each stretch is taken up.

    Raises:
        RequestError, NameUnknownError: a word can't be read, or names no stretch.
    """
    usual = HowTaken(
        toward=one_of(words.toward, (START, END, CENTRE), "--toward"),
        spacing=parse_length(words.spacing, "--spacing", "positive") if words.spacing else None,
        margin=parse_length(words.margin, "--margin", "not-negative") if words.margin else 0.0,
        most_ease=_most_ease(words),
    )
    kinds = _kinds(words, stretches)
    out = [_way(words, usual, kind) for kind in kinds]
    _refuse_idle(words, out)
    if usual.toward == CENTRE and loop and any(way.kind == KNIFE for way in out):
        raise RequestError(f"a closed line has no middle to turn pleats to: give --toward {START} or {END}")
    return out


def _most_ease(words: MatchWords) -> float:
    cloth = one_of(words.cloth, tuple(CLOTHS), "--cloth")
    return parse_share(words.most_ease, "--most-ease", "not-negative") if words.most_ease else CLOTHS[cloth]


def _kinds(words: MatchWords, stretches: Sequence[Stretch]) -> list[str]:
    """What was asked of each stretch; what is said of one goes before what is said of all."""
    of_all, own = "", dict[int, str]()
    for text in words.take_up:
        name, equals, how = text.rpartition("=")
        if not equals:
            if of_all:
                raise RequestError(f"--take-up {text!r} and {of_all!r} are both for all stretches: say which, 1={text}")
            of_all = text
            continue
        k = _stretch_called(name.strip(), stretches)
        if k in own:
            raise RequestError(f'--take-up names the stretch "{name}" twice: leave out one')
        own[k] = how.strip()
    # What is said of all is meant for those with anything to take up; where none has, it is refused.
    level = all(stretch.excess < NOTHING for stretch in stretches)
    return [own.get(k, of_all if level or stretch.excess >= NOTHING else "") for k, stretch in enumerate(stretches)]


def _stretch_called(name: str, stretches: Sequence[Stretch]) -> int:
    if _COUNTED.fullmatch(name) and 1 <= int(name) <= len(stretches):
        return int(name) - 1
    for k, stretch in enumerate(stretches):
        if stretch.name == name:
            return k
    there = ", ".join(f'{k + 1} or "{stretch.name}"' for k, stretch in enumerate(stretches))
    raise NameUnknownError(f'--take-up names no stretch with "{name}"; there are {there}')


def _way(words: MatchWords, usual: HowTaken, text: str) -> HowTaken:
    kind, colon, number = text.partition(":")
    if (kind and kind not in WAYS) or (colon and kind not in PLEATED):
        listed = ", ".join(f"{way}:N" if way in PLEATED else way for way in WAYS)
        raise RequestError(f"--take-up can be {listed}, each also for one stretch as 1=ease, not {text!r}")
    if kind not in PLEATED:
        return replace(usual, kind=kind)
    own = whole_number(number, f"--take-up {kind}:") if colon else None
    of_all = whole_number(words.number, "--number")
    if own is not None and of_all is not None and own != of_all:
        raise RequestError(
            f"--take-up {text} and --number {of_all} tell two numbers of {called(kind, 2)}: leave one of them out"
        )
    depth = parse_length(words.depth, "--depth", "positive") if words.depth and kind != DARTS else None
    return replace(usual, kind=kind, number=own or of_all, depth=depth)


def _refuse_idle(words: MatchWords, ways: Sequence[HowTaken]) -> None:
    """Refuses words about pleats where none are asked for, so that nobody waits for them."""
    pleated = {way.kind for way in ways} & set(PLEATED)
    given = [option for option, text in (("--depth", words.depth), ("--number", words.number)) if text]
    given += [option for option, text in (("--toward", words.toward), ("--spacing", words.spacing)) if text]
    if given and not pleated:
        raise RequestError(f"{given[0]} goes with pleats: add --take-up {KNIFE}, or leave it out")
    if words.depth and pleated == {DARTS}:
        raise RequestError("--depth goes with pleats; of darts give the number, as in --take-up darts:2")
    if words.cloth and words.most_ease:
        raise RequestError(f"--cloth and --most-ease both say how much can be {EASE}d in: give one")
