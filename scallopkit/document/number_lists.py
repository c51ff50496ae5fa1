"""Numbers as SVG writes them: glued, with signs and points as separators, in lists."""

from __future__ import annotations

import re

# Also takes `23.`, which the grammar leaves out and several programs write.
NUMBER = r"[-+]?(?:[0-9]+\.?[0-9]*|\.[0-9]+)(?:[eE][-+]?[0-9]+)?"
SPACE = r"[ \t\n\r\f]*"
SEPARATOR = rf"{SPACE}(?:,{SPACE})?"

_SPLIT = re.compile(f"({NUMBER})")
_SPACE = re.compile(SPACE)
_SEPARATOR = re.compile(SEPARATOR)
USUAL_GAPS = frozenset(["", " ", ",", ", ", " ,", "\n", "\t"])
_BLANKS = " \t\n\r\f"


def split_numbers(text: str) -> tuple[list[str], list[float]]:
    """All numbers in a text, and what stands before, between and after them (one more than there are numbers)."""
    parts = _SPLIT.split(text)
    return parts[::2], list(map(float, parts[1::2]))


def read_numbers(text: str) -> tuple[list[float], int | None]:
    """The numbers of a list up to its first fault, and where in the text that fault stands (None: there is none).

    Numbers are parted by blanks, one comma, or nothing where a sign or a point tells them apart. A number too large
    for a float comes out as infinity.
    """
    parts = _SPLIT.split(text)
    gaps = parts[::2]
    if USUAL_GAPS.issuperset(gaps[1:-1]) and not gaps[0].strip(_BLANKS) and not gaps[-1].strip(_BLANKS):
        return list(map(float, parts[1::2])), None
    return _until_fault(parts)


def _until_fault(parts: list[str]) -> tuple[list[float], int | None]:
    values: list[float] = []
    place = 0
    last = len(parts) - 1
    for i, part in enumerate(parts):
        if i % 2:
            values.append(float(part))
        else:
            between = 0 < i < last
            match = (_SEPARATOR if between else _SPACE).match(part)
            end = match.end() if match else 0
            if end < len(part):
                return values, place + end
        place += len(part)
    return values, None


def number_place(text: str, index: int) -> int:
    """Where in the text its number `index` begins."""
    parts = _SPLIT.split(text)
    return sum(map(len, parts[: 2 * index + 1]))
