"""Fits whole scallops over the selected edges as they will lie once sewn together, in the order of the selection."""

from __future__ import annotations

import argparse
import sys

import scallop
import start  # noqa: F401  # finds the library

from scallopkit.document.drawing import Drawing
from scallopkit.editors import effect
from scallopkit.editors.chosen import Chosen
from scallopkit.editors.trimming import sewn


def fields() -> argparse.ArgumentParser:
    """What the dialogue asks for: what scallops are, and how the edges are joined."""
    parser = scallop.fields()
    effect.add_texts(parser, join="seam", joins="", hold="")
    effect.add_lengths(parser, lap=0.0)
    effect.add_switches(parser, "closed")
    return parser


def work(drawing: Drawing, chosen: Chosen, given: argparse.Namespace) -> effect.Done:
    """The scallops over all edges."""
    kinds = given.joins or given.join
    joins = ",".join(
        kind if ":" in kind or not given.hold else f"{kind.strip()}:{given.hold}" for kind in kinds.split(",")
    )
    lap, words = effect.length(given, "lap"), scallop.words(given)
    return effect.drawn(drawing, sewn(drawing, chosen, joins, given.closed, words, lap, given.name))


if __name__ == "__main__":
    sys.exit(effect.main(fields(), work))
