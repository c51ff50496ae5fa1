"""What is said where something went wrong, in one sentence; what is needed to find a fault of our own, in a file."""

from __future__ import annotations

import platform
import sys
import tempfile
import traceback

from .. import __version__


def sentence(text: str) -> str:
    """The text as one sentence on one line, with its capital letter and full stop."""
    line = " ".join(text.split())
    return f"{line[:1].upper()}{line[1:]}{'' if line.endswith(('.', '!', '?')) else '.'}"


def reported(error: Exception, more: str = "") -> str:
    """Writes what is needed to find a fault of our own into a file, and says so.

    Args:
        error: what was raised.
        more: what else the file should hold, such as the request.
    """
    text = "\n".join(
        [
            f"scallopkit {__version__}, Python {platform.python_version()} on {platform.platform()}",
            " ".join(sys.argv),
            "".join(traceback.format_exception(error)),
            *([more] if more else []),
        ]
    )
    try:
        with tempfile.NamedTemporaryFile(
            "w", encoding="utf-8", errors="backslashreplace", prefix="scallopkit-fault-", suffix=".txt", delete=False
        ) as file:
            file.write(text)
            where = f"the file {file.name} tells what happened; please send it together with the drawing"
    except OSError:
        where = "and no file could be written about it; please report what you did, together with the drawing"
    return f"a fault of scallopkit itself ({type(error).__name__}): {where}"
