"""Draws facings for the selected lines of scallops in free places beside the pattern."""

from __future__ import annotations

import argparse
import sys

import start  # noqa: F401  # finds the library

from scallopkit.document.drawing import Drawing
from scallopkit.document.workshop import facing
from scallopkit.editors import effect
from scallopkit.editors.chosen import Chosen
from scallopkit.editors.trimming import meant


def fields() -> argparse.ArgumentParser:
    """What the dialogue asks for."""
    parser = effect.options("Facing")
    effect.add_texts(parser, kind="shaped", across="", interlining="")
    effect.add_lengths(parser, depth=50.0, seam=15.0, inner=0.0, turn=0.0, longest=0.0)
    return parser


def work(drawing: Drawing, chosen: Chosen, given: argparse.Namespace) -> effect.Done:
    """The facings as asked for."""
    shaped, band = given.kind == "shaped", given.kind == "band"
    lengths = ["depth", "seam", *([] if band else ["inner"]), *(["turn"] if shaped else ["longest"])]
    words: dict[str, str | list[str]] = {name: effect.length(given, name) for name in lengths}
    words["kind"] = given.kind
    if shaped:
        words["across"] = [name.strip() for name in given.across.split(",") if name.strip()]
    if not band:
        words["interlining"] = given.interlining
    return effect.drawn(drawing, [facing(drawing, run, **words) for run in meant(drawing, chosen)])


if __name__ == "__main__":
    sys.exit(effect.main(fields(), work))
