"""Fits whole scallops to the outlines or edges that are selected, each on its own."""

from __future__ import annotations

import argparse
import sys

import start  # noqa: F401  # finds the library

from scallopkit.document.drawing import Drawing
from scallopkit.editors.chosen import Chosen
from scallopkit.editors.effect import Done, drawn, length, main, options
from scallopkit.editors.trimming import scalloped


def fields() -> argparse.ArgumentParser:
    """What the dialogue asks for."""
    parser = options("Scallops")
    parser.add_argument("--width", type=float, default=30.0)
    parser.add_argument("--width-unit", default="mm")
    parser.add_argument("--count", type=float, default=0.0)
    parser.add_argument("--depth", type=float, default=40.0)
    parser.add_argument("--depth-unit", default="%")
    parser.add_argument("--profile", default="arc")
    parser.add_argument("--side", default="")
    parser.add_argument("--start", default="")
    parser.add_argument("--end", default="")
    parser.add_argument("--start-gap", type=float, default=0.0)
    parser.add_argument("--end-gap", type=float, default=0.0)
    parser.add_argument("--touch", default="valley")
    parser.add_argument("--corner", default="")
    parser.add_argument("--space", type=float, default=0.0)
    parser.add_argument("--allowance", type=float, default=0.0)
    parser.add_argument("--small-unit", default="mm")
    parser.add_argument("--name", default="")
    return parser


def work(drawing: Drawing, chosen: Chosen, given: argparse.Namespace) -> Done:
    """The scallops as asked for."""
    words = {
        "width": "" if given.count else length(given.width, given.width_unit),
        "count": f"{given.count:g}" if given.count else "",
        "depth": length(given.depth, given.depth_unit),
        "profile": given.profile,
        "side": given.side,
        "touch": given.touch,
        "corner": given.corner,
        "space": length(given.space, given.small_unit),
        "allowance": length(given.allowance, given.small_unit),
    }
    ends = {"start": hold(given.start, given.start_gap, given), "end": hold(given.end, given.end_gap, given)}
    return drawn(drawing, scalloped(drawing, chosen, {**words, **ends}, given.name))


def hold(kind: str, gap: float, given: argparse.Namespace) -> str:
    """What the scallops do at an end; a gap has its length."""
    return f"gap:{gap:g}{given.small_unit}" if kind == "gap" else kind


if __name__ == "__main__":
    sys.exit(main(fields(), work))
