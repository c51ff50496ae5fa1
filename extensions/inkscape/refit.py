"""Makes all that is in our layer again, after the outlines were changed."""

from __future__ import annotations

import argparse
import sys

import start  # noqa: F401  # finds the library

from scallopkit.document.drawing import Drawing
from scallopkit.editors import effect
from scallopkit.editors.chosen import Chosen
from scallopkit.editors.meeting import refitted


def fields() -> argparse.ArgumentParser:
    """The dialogue asks for nothing of its own."""
    return effect.options("Fit all again")


def work(drawing: Drawing, chosen: Chosen, given: argparse.Namespace) -> effect.Done:
    """Everything of ours, made again; what is selected does not matter."""
    del chosen, given
    return refitted(drawing)


if __name__ == "__main__":
    sys.exit(effect.main(fields(), work, selected=False))
