"""Matches two edges that will be sewn together: the longer is eased, gathered, pleated or darted."""

from __future__ import annotations

import argparse
import sys

import start  # noqa: F401  # finds the library

from scallopkit.document.drawing import Drawing
from scallopkit.editors import effect
from scallopkit.editors.chosen import Chosen
from scallopkit.editors.meeting import matched


def fields() -> argparse.ArgumentParser:
    """What the dialogue asks for."""
    parser = effect.options("Match two edges")
    effect.add_texts(parser, take_up="ease", toward="", cloth="", pairs="", lines="", notches="")
    effect.add_numbers(parser, number=0.0)
    effect.add_lengths(parser, depth=0.0, spacing=0.0, margin=0.0, dart_length=0.0, line_length=0.0, phase=0.0)
    effect.add_switches(parser, "turned", "in-phase")
    return parser


def work(drawing: Drawing, chosen: Chosen, given: argparse.Namespace) -> effect.Done:
    """The two edges, matched; those lengths count that go with what the longer edge does."""
    pleated, darted = given.take_up in ("knife", "box", "inverted"), given.take_up == "darts"
    names = ["phase", *(["depth", "spacing", "margin", "line_length"] if pleated else ["dart_length"] * darted)]
    words: dict[str, str | list[str]] = {name: effect.length(given, name) for name in names}
    words["take_up"] = [given.take_up]
    words["pair"] = [pair.strip() for pair in given.pairs.split(",") if pair.strip()]
    words |= {"turned": str(given.turned), "in_phase": str(given.in_phase)}
    words |= {"cloth": given.cloth, "notches": given.notches}
    if pleated or darted:
        words["number"] = effect.number(given, "number")
    if pleated:
        words["lines"] = given.lines
    if given.take_up == "knife":
        words["toward"] = given.toward
    return matched(drawing, chosen, words)


if __name__ == "__main__":
    sys.exit(effect.main(fields(), work))
