"""Sets notches on lines of scallops or edges, and tells how the edge is finished, which gives clips and wedges."""

from __future__ import annotations

import argparse
import sys

import start  # noqa: F401  # finds the library

from scallopkit.document.drawing import Drawing
from scallopkit.document.workshop import finished, redrawn
from scallopkit.editors import effect
from scallopkit.editors.chosen import Chosen
from scallopkit.editors.trimming import meant, with_notches
from scallopkit.errors import RequestError


def fields() -> argparse.ArgumentParser:
    """What the dialogue asks for."""
    parser = effect.options("Notches and clips")
    effect.add_texts(parser, at="valleys", marks="", kind="snip", on="edge", finish="", cut="scalloped")
    effect.add_numbers(parser, parts=4.0, every=0.0)
    effect.add_lengths(parser, size=3.0, cut_at=6.0, trim=0.0, clip_short=0.0)
    return parser


def work(drawing: Drawing, chosen: Chosen, given: argparse.Namespace) -> effect.Done:
    """The notches, the finish, or both; a run that gets both is finished first."""
    made = []
    if given.finish:
        made = [finished(drawing, name, **finish(given)) for name in meant(drawing, chosen)]
    if given.at != "none":
        at = {"parts": f"parts:{given.parts:g}", "marks": given.marks}.get(given.at, given.at)
        words = {"at": at, "every": effect.number(given, "every"), "kind": given.kind, "on": given.on}
        words["length"] = effect.length(given, "size")
        drawing = redrawn(drawing, made) if made else drawing
        made = with_notches(drawing, chosen, words)
    if not made:
        raise RequestError("neither notches nor a finish are asked for: choose one of them")
    return effect.drawn(drawing, made)


def finish(given: argparse.Namespace) -> dict[str, str]:
    """How the edge is finished; only what is faced is cut beyond its line and clipped."""
    if given.finish != "faced":
        return {"finish": given.finish}
    cut = f"{given.cut}:{effect.length(given, 'cut_at')}"
    return {
        "finish": given.finish,
        "cut": cut,
        "trim": effect.length(given, "trim"),
        "clip_short": effect.length(given, "clip_short"),
    }


if __name__ == "__main__":
    sys.exit(effect.main(fields(), work))
