"""Finds the library that lies beside the scripts, and what it needs in the editor's own Python."""

from __future__ import annotations

import sys
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parent / "vendor"))

try:
    import lxml.etree  # noqa: F401  # only to see whether it is there
    import numpy  # noqa: F401
except ImportError as error:
    sys.stderr.write(
        f"The Python of this editor has no {error.name}, which scallopkit needs: install it with your system's package "
        "manager (python3-numpy, python3-lxml), or take an editor that brings it. Nothing was changed.\n"
    )
    sys.exit(1)
