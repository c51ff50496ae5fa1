"""Sets eyelets, buttonholes, snaps or buttons: one in each scallop, or evenly along the selected edges."""

from __future__ import annotations

import argparse
import sys

import start  # noqa: F401  # finds the library

from scallopkit.document.drawing import Drawing
from scallopkit.editors import effect
from scallopkit.editors.chosen import Chosen
from scallopkit.editors.trimming import with_eyelets


def fields() -> argparse.ArgumentParser:
    """What the dialogue asks for."""
    parser = effect.options("Eyelets")
    effect.add_texts(parser, place="scallops", size="e5", part="", lies="", wearer="", name="")
    effect.add_lengths(parser, opening=0.0, flange=0.0, from_crest=0.0, margin=0.0, spacing=0.0, ends=0.0, inset=0.0)
    effect.add_lengths(parser, button=0.0, snap=0.0, patch=0.0, cord=0.0)
    effect.add_numbers(parser, every=0.0, count=0.0)
    return parser


def work(drawing: Drawing, chosen: Chosen, given: argparse.Namespace) -> effect.Done:
    """The row as asked for."""
    evenly, eyelet = given.place == "along", given.part in ("", "eyelet")
    words = {
        "part": given.part,
        "eyelet": (effect.length(given, "opening") or given.size) if eyelet else "",
        "lies": given.lies if given.part == "buttonhole" else "",
        "wearer": given.wearer,
    }
    names = ["margin", "patch"]
    names += ["spacing", "ends", "inset"] if evenly else ["from_crest"]
    names += ["flange", "cord"] if eyelet else []
    names += ["button"] if given.part in ("button", "buttonhole") else ["snap"] if given.part == "snap" else []
    words |= {name: effect.length(given, name) for name in names}
    counted = "count" if evenly else "every"
    words[counted] = effect.number(given, counted)
    if words.get("count"):
        words["spacing"] = ""
    return effect.drawn(drawing, with_eyelets(drawing, chosen, evenly, words, given.name if evenly else ""))


if __name__ == "__main__":
    sys.exit(effect.main(fields(), work))
