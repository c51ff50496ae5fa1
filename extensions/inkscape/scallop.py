"""Fits whole scallops to the outlines or edges that are selected, each on its own."""

from __future__ import annotations

import argparse
import sys

import start  # noqa: F401  # finds the library

from scallopkit.document.drawing import Drawing
from scallopkit.editors import effect
from scallopkit.editors.chosen import Chosen
from scallopkit.editors.trimming import scalloped


def fields() -> argparse.ArgumentParser:
    """What the dialogue asks for."""
    parser = effect.options("Scallops")
    effect.add_lengths(parser, width=30.0, start_gap=15.0, end_gap=15.0, space=0.0, allowance=0.0)
    effect.add_lengths(parser, unit="%", depth=40.0)
    effect.add_numbers(parser, count=0.0)
    effect.add_texts(parser, profile="arc", side="", start="", end="", touch="valley", corner="", name="")
    return parser


def words(given: argparse.Namespace) -> dict[str, str]:
    """The options of scallops as the library takes them."""
    return {
        "width": "" if given.count else effect.length(given, "width"),
        "count": effect.number(given, "count"),
        "depth": effect.length(given, "depth"),
        "profile": given.profile,
        "side": given.side,
        "start": effect.end(given, "start"),
        "end": effect.end(given, "end"),
        "touch": given.touch,
        "corner": given.corner,
        "space": effect.length(given, "space"),
        "allowance": effect.length(given, "allowance"),
    }


def work(drawing: Drawing, chosen: Chosen, given: argparse.Namespace) -> effect.Done:
    """The scallops as asked for."""
    return effect.drawn(drawing, scalloped(drawing, chosen, words(given), given.name))


if __name__ == "__main__":
    sys.exit(effect.main(fields(), work))
