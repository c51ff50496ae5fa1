"""Finds the library that lies beside the scripts, and what it needs in the editor's own Python."""

from __future__ import annotations

import sys
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parent / "vendor"))


def stop(sentence: str) -> None:
    """Ends the effect with a sentence; what editors see of it is stderr alone."""
    sys.stderr.write(f"{sentence} Nothing was changed.\n")
    sys.exit(1)


# The scripts are read by whatever Python the editor brings, so nothing newer may stand before this line.
if sys.version_info < (3, 10):  # noqa: UP036  # an editor may bring an older one than we support
    found = ".".join(map(str, sys.version_info[:2]))
    stop(
        f"The Python of this editor is {found}, and scallopkit needs 3.10 or newer: take a newer release of the editor."
    )

try:
    import lxml.etree  # noqa: F401  # only to see whether it is there
    import numpy  # noqa: F401
except ImportError as error:
    stop(
        f"The Python of this editor has no {error.name}, which scallopkit needs: install it with your system's package "
        "manager (python3-numpy, python3-lxml), or take an editor that brings it."
    )
