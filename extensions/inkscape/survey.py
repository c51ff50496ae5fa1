"""Writes the names of pieces, corners and marks beside them, and what the drawing holds into the note."""

from __future__ import annotations

import argparse
import sys

import start  # noqa: F401  # finds the library

from scallopkit.document.drawing import Drawing
from scallopkit.editors import effect
from scallopkit.editors.chosen import Chosen
from scallopkit.editors.naming import surveyed


def fields() -> argparse.ArgumentParser:
    """What the dialogue asks for."""
    parser = effect.options("Survey")
    effect.add_texts(parser, names="show")
    effect.add_lengths(parser, size=4.0)
    return parser


def work(drawing: Drawing, chosen: Chosen, given: argparse.Namespace) -> effect.Done:
    """The drawing with names in it, or without them; what is selected does not matter."""
    del chosen
    return surveyed(drawing, given.names == "show", effect.length(given, "size"))


if __name__ == "__main__":
    sys.exit(effect.main(fields(), work, selected=False))
