"""The maker's words turned into what the trim understands: lengths in mm, holds, shapes and weights."""

from __future__ import annotations

import math
import re
from collections.abc import Sequence

from ..errors import RequestError
from ..pattern.edge import find_piece
from ..pattern.joins import FOLD
from ..pattern.piece import Pattern
from ..trim.course import CREST, VALLEY, WRAP, Weights, Wish
from ..trim.holds import GAP, HOLD, PASS, End, Holds
from ..trim.profiles import PROFILES, own_motif
from ..trim.shape import Shape
from .recipe import EdgeWords, ScallopWords
from .units import parse_angle, parse_length, parse_share

SIDES = ("outward", "inward", "left", "right")
CORNERS = (HOLD, WRAP, PASS)
TOUCHES = (VALLEY, CREST, "middle")
STEPS = ("chord", "along")
KEEPS = ("shape", "depth")
MOTIF = "motif:"

DEFAULT_DEPTH = 0.4
# Valleys sharper than this are hard to turn; common practice, no source.
DEFAULT_SHARPEST = "15deg"

# What XML 1.0 leaves out of its characters: https://www.w3.org/TR/xml/#charsets
_UNWRITABLE = "[^\t\n\r\u0020-\ud7ff\ue000-\ufffd\U00010000-\U0010ffff]"


def refuse_unwritable(text: str, what: str, cure: str = "give it without") -> None:
    """Refuses a text that no drawing can hold.

    Raises:
        RequestError: it holds a character that XML has no place for; `what` says what it was given for.
    """
    # The expression is long to make ready, and most texts need no look.
    if not (text.isascii() and text.isprintable()) and re.search(_UNWRITABLE, text):
        raise RequestError(f"{what} {text!r} holds a character that no drawing can: {cure}")


def one_of(text: str, choices: Sequence[str], option: str) -> str:
    """The text, if it is one of the choices; the first choice for an empty text.

    Raises:
        RequestError: it is none of them.
    """
    if not text:
        return choices[0]
    if text not in choices:
        words = [choice for choice in choices if choice]
        raise RequestError(f"{option} can be {', '.join(words[:-1])} or {words[-1]}, not {text!r}")
    return text


def yes(text: str, option: str) -> bool:
    """Whether a word that means yes or no means yes; an empty one means no.

    Raises:
        RequestError: it is neither.
    """
    return one_of(text, ("", "False", "True"), option) == "True"


def whole_number(text: str, option: str) -> int | None:
    """A whole number from 1 on; None for an empty text.

    Raises:
        RequestError: it is none.
    """
    if not text:
        return None
    if not text.isdecimal() or not 1 <= int(text) <= 100_000:
        raise RequestError(f"{option} takes a whole number from 1 on, not {text!r}")
    return int(text)


def positive_number(text: str, option: str) -> float:
    """A number above 0, with a decimal point or comma.

    Raises:
        RequestError: it is none.
    """
    plain = re.fullmatch(r"\s*\d+([.,]\d+)?\s*", text)
    number = float(text.replace(",", ".")) if plain else 0.0
    if not 0.001 <= number <= 1000.0:
        raise RequestError(f"{option} takes a number between 0.001 and 1000, like 2 or 0.5, not {text!r}")
    return number


def holds_of(words: EdgeWords) -> Holds:
    """The holds of an edge.

    Raises:
        RequestError: a hold can't be read.
    """
    gap = allowances_of(words)[0] if words.allowance else None
    marks: dict[str, End] = {}
    for name, hold in (_mark_hold(text, gap) for text in words.hold):
        if name in marks:
            raise RequestError(f'"{name}" is held twice: leave out one --hold')
        marks[name] = hold
    return Holds(
        _end(words.start, "--start", gap),
        _end(words.end, "--end", gap),
        marks,
        one_of(words.corner, CORNERS, "--corner"),
    )


def allowances_of(words: EdgeWords) -> tuple[float, float]:
    """Seam allowance of the neighbouring edges, and of the edge itself, in mm; (0, 0) where none was given."""
    values = lengths_of(words.allowance, "--allowance") or [0.0]
    if len(values) > 2:
        raise RequestError("--allowance takes one length, or two: of the neighbouring edges, of the edge itself")
    return values[0], values[-1]


def lengths_of(text: str, option: str) -> list[float]:
    """Lengths parted by commas or semicolons, in mm.

    A comma between two digits is a decimal comma; one after a unit or before a blank parts two lengths.
    """
    if not text.strip():
        return []
    parts = re.split(r"(?<=[A-Za-z])\s*,\s*|,\s+|;", text.strip())
    return [parse_length(part, option, "not-negative") for part in parts]


def _end(text: str, option: str, gap: float | None) -> End:
    kind, _, rest = text.partition(":")
    if kind in ("", VALLEY, CREST) and not rest:
        return End(kind or VALLEY)
    if kind == GAP:
        return End(GAP, gap=_gap(rest, option, gap))
    if kind == FOLD:
        return End(FOLD, one_of(rest, (CREST, VALLEY, PASS), f"{option} fold:HOLD"))
    raise RequestError(f"{option} can be valley, crest, gap:15mm, fold, fold:valley or fold:pass, not {text!r}")


def _gap(text: str, option: str, allowance: float | None) -> float:
    if text:
        return parse_length(text, f"{option} gap", "positive")
    if allowance is None:
        raise RequestError(f"{option} gap needs its length, as in gap:15mm (or give --allowance)")
    return allowance


def _mark_hold(text: str, gap: float | None) -> tuple[str, End]:
    name, equals, kind = text.rpartition("=")
    what, _, rest = kind.partition(":")
    if not equals or not name or what not in (VALLEY, CREST, PASS, GAP) or (rest and what != GAP):
        raise RequestError(f"--hold is written MARK=KIND with valley, crest, pass or gap:15mm for KIND, not {text!r}")
    return name, End(what, gap=_gap(rest, f"--hold {name}=", gap) if what == GAP else 0.0)


def wish_of(words: ScallopWords, pattern: Pattern, length: float, mean: float | None = None) -> Wish:
    """What is wanted of the scallops on an edge of that length.

    Args:
        words: what was asked for.
        pattern: the pattern, for a motif of the maker's own.
        length: length of the edge, mm.
        mean: the mean width where it is known; a depth in mm is meant for it where a count is asked for.

    Raises:
        RequestError, NameUnknownError: a value can't be read, or two contradict each other.
    """
    width = _length(words.width, "--width")
    count = _count(words.count)
    if width is not None and count is not None:
        raise RequestError("give a --width or a --count, not both: one follows from the other")
    least, most = _length(words.min_width, "--min-width"), _length(words.max_width, "--max-width")
    limits = [w for w in (least, most) if w is not None]
    aim = width or mean or (length / count if count else None) or (sum(limits) / len(limits) if limits else None)
    weights = _weights(words.weights)
    return Wish(
        _shape(words, pattern, aim or length),
        width,
        count,
        least or 0.0,
        most or math.inf,
        weights,
        _length(words.space, "--space", "not-negative") or 0.0,
        one_of(words.step, STEPS, "--step") == "along",
        one_of(words.touch, TOUCHES, "--touch"),
    )


def sharpest_of(words: ScallopWords) -> float:
    """The angle in radians below which a valley is called sharp."""
    return parse_angle(words.sharpest or DEFAULT_SHARPEST, "--sharpest", "not-negative")


def _length(text: str, option: str, sign: str = "positive") -> float | None:
    return parse_length(text, option, sign) if text else None  # type: ignore[arg-type]  # one of the signs


def _count(text: str) -> float | None:
    if not text:
        return None
    plain = re.fullmatch(r"\s*\d+([.,]\d+)?\s*", text)
    count = float(text.replace(",", ".")) if plain else math.nan
    if not (count > 0.0 and math.isfinite(count) and count * 2.0 == round(count * 2.0)):
        raise RequestError(f"--count takes a whole number of scallops, or one and a half, not {text!r}")
    if count > 1e6:
        raise RequestError(f"--count {text} is beyond a million scallops")
    return count


def _weights(text: str) -> Weights:
    if not text:
        return Weights()
    grown = text.split("..")
    # With semicolons between them the sizes may have decimal commas.
    apart = r"[;\s]+" if ";" in text else r"[,\s]+"
    parts = grown if len(grown) == 2 else re.split(apart, text.strip())
    try:
        values = tuple(float(part.replace(",", ".")) for part in parts)
    except ValueError:
        values = ()
    if not values or not all(0.01 <= value <= 100.0 for value in values):
        raise RequestError(
            f"--weights takes sizes between 0.01 and 100, like 2,1 for large and small in turn, or 1..2 for scallops "
            f"that grow, not {text!r}"
        )
    return Weights(values[:1], values[1]) if len(grown) == 2 else Weights(values)


def _shape(words: ScallopWords, pattern: Pattern, aim: float) -> Shape:
    profile, own = words.profile or "arc", None
    if words.depth and words.radius:
        raise RequestError("a scallop has a --depth or a --radius, not both")
    share = _asked_share(words, aim)
    if profile.startswith(MOTIF):
        piece = find_piece(pattern, profile[len(MOTIF) :])
        if piece.closed:
            raise RequestError(f'the motif "{piece.name}" is closed: draw it as an open line from valley to valley')
        own = own_motif(piece.curve, piece.name, share)
        profile, share = "", own.depth
    elif profile not in PROFILES:
        raise RequestError(
            f"--profile can be {', '.join(PROFILES)}, or motif:PIECE for a line of yours, not {profile!r}"
        )
    if words.radius and profile != "arc":
        raise RequestError("--radius goes with the profile arc; give the others a --depth")
    share = DEFAULT_DEPTH if share is None else share
    if one_of(words.keep, KEEPS, "--keep") == "depth":
        if words.radius:
            return Shape(profile, "radius", parse_length(words.radius, "--radius", "positive"), own)
        return Shape(profile, "depth", share * aim, own)
    return Shape(profile, "share", share, own)


def _asked_share(words: ScallopWords, aim: float) -> float | None:
    """Depth over width as asked, at the width aimed at."""
    if words.radius:
        radius = parse_length(words.radius, "--radius", "positive")
        return Shape("arc", "radius", radius).depth(aim) / aim
    if not words.depth:
        return None
    if words.depth.strip().endswith("%"):
        share = parse_share(words.depth, "--depth", "positive")
    else:
        share = parse_length(words.depth, "--depth", "positive") / aim
    if share > 5.0:
        raise RequestError(f"--depth {words.depth} is more than five times the width: a scallop is at most that deep")
    return share
