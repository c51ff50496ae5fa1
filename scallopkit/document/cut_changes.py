"""What became of pieces that a drawing holds as they are cut, where they are made again."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from itertools import zip_longest

from lxml import etree

from .cut_pieces import MadePiece, piece_group
from .drawing import Drawing
from .ink import Ink
from .kept import group_name, kept_pieces
from .markup import SVG
from .number_lists import split_numbers
from .source import parse_xml

# Lengths and places that differ by less, mm, are the same: what rounding does to what is written.
_SAME = 1e-2

# The notches of the piece itself among all that is drawn of it.
_NOTCHES = ("notch", True)


def cut_changes(drawing: Drawing, pieces: Sequence[MadePiece]) -> list[tuple[str, str]]:
    """What became of each piece that was made again: the name of its group, and a few words.

    Args:
        drawing: the drawing as it was, which holds all of the pieces.
        pieces: the pieces as they are now.
    """
    before, there = kept_pieces(drawing.source), _groups(drawing)
    out = []
    for made in pieces:
        length, name = before[made.name].made.get("cut_mm"), group_name(made.name)
        told = isinstance(length, float | int) and abs(made.cut_length - length) <= _SAME
        parts = [] if told else [f"cut {made.cut_length:.1f} mm long"]
        was, now = (_drawn(one, made.name) for one in (there.get(name), piece_group(made, drawing)))
        parts += _other_notches(drawing, was, now)
        if not parts and not all(_alike(drawing, was.get(kind, []), now.get(kind, [])) for kind in was | now):
            parts = ["drawn anew"]
        out.append((name, ", ".join(parts) or "unchanged"))
    return out


def drawn_again(drawing: Drawing, pieces: Sequence[MadePiece]) -> str:
    """A line that names the pieces of a drawing that are drawn otherwise now; empty where there are none."""
    changed = {name for name, change in cut_changes(drawing, pieces) if change != "unchanged"}
    names = [f'"{made.name}"' for made in pieces if group_name(made.name) in changed]
    return f"drawn again as cut: {', '.join(names)}" if names else ""


def other_notches(drawing: Drawing, pieces: Sequence[MadePiece]) -> dict[str, str]:
    """The names of the pieces of which the drawing has other notches than they have now, and how these differ."""
    there = _groups(drawing)
    out = {}
    for made in pieces:
        was, now = (_drawn(one, made.name) for one in (there.get(group_name(made.name)), piece_group(made, drawing)))
        differ = _other_notches(drawing, was, now)
        if differ:
            out[made.name] = differ[0]
    return out


def _groups(drawing: Drawing) -> dict[str, etree._Element]:
    """The groups of our layer by their names, of several the first."""
    out: dict[str, etree._Element] = {}
    for group in parse_xml(drawing.source, drawing.name).iter(f"{{{SVG}}}g"):
        if group.get("data-recipe") is not None:
            out.setdefault(group.get("data-run", ""), group)
    return out


def _drawn(group: etree._Element | None, piece: str) -> dict[tuple[str, bool], list[str]]:
    """What a group draws, by its role and by whether it is on the piece itself: figures and words in their order."""
    out: dict[tuple[str, bool], list[str]] = {}
    for element in () if group is None else group.iter(f"{{{SVG}}}path", f"{{{SVG}}}tspan"):
        told = element.get("d") or f"{element.get('x')} {element.get('y')} {element.text}"
        kind = element.get("data-role", ""), element.get("data-piece") == piece
        out.setdefault(kind, []).append(told + element.get("transform", ""))
    return out


def _other_notches(
    drawing: Drawing, was: Mapping[tuple[str, bool], list[str]], now: Mapping[tuple[str, bool], list[str]]
) -> list[str]:
    """In a few words, how the notches of a piece differ."""
    before, after = was.get(_NOTCHES, []), now.get(_NOTCHES, [])
    if len(before) != len(after):
        return [f"notches {len(before)} to {len(after)}"]
    return [] if _alike(drawing, before, after) else ["notches moved"]


def _alike(drawing: Drawing, was: Sequence[str], now: Sequence[str]) -> bool:
    """Whether what is drawn is the same but for rounding."""
    within = _SAME / Ink("", drawing).unit_mm
    for one, other in zip_longest(was, now, fillvalue=""):
        (words, numbers), (other_words, others) = split_numbers(one), split_numbers(other)
        if words != other_words or any(abs(a - b) > within for a, b in zip(numbers, others, strict=True)):
            return False
    return True
