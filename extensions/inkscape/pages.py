"""Writes the drawing at full size on pages of paper, as PDF; the drawing itself stays as it is."""

from __future__ import annotations

import argparse
import sys

import start  # noqa: F401  # finds the library

from scallopkit.document.drawing import Drawing
from scallopkit.document.paper import PaperWish
from scallopkit.editors import effect
from scallopkit.editors.chosen import Chosen
from scallopkit.editors.paging import paged


def fields() -> argparse.ArgumentParser:
    """What the dialogue asks for."""
    parser = effect.options("Full-size pages")
    effect.add_texts(parser, file_name="", page="A4", other="", way="any", hide="", title="", weight="role")
    effect.add_lengths(parser, margin=10.0, overlap=10.0)
    effect.add_switches(parser, "black", "arrange")
    return parser


def work(drawing: Drawing, chosen: Chosen, given: argparse.Namespace) -> effect.Done:
    """The pages as asked for."""
    wish = PaperWish(
        page=given.other if given.page == "other" else given.page,
        way=given.way,
        margin=effect.length(given, "margin") or "0mm",
        overlap=effect.length(given, "overlap") or "0mm",
        hide=tuple(role.strip() for role in given.hide.split(",") if role.strip()),
        black=given.black,
        weight=given.weight,
        title=given.title,
        arrange=given.arrange,
    )
    return paged(drawing, chosen, wish, given.file_name)


if __name__ == "__main__":
    sys.exit(effect.main(fields(), work, selected=False))
