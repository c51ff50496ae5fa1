"""What is said where something can't be done, and where a fault of our own is told of."""

from __future__ import annotations

import platform
import sys
import tempfile
import traceback

UNCHANGED = "Nothing was changed."


class Refusal(Exception):  # noqa: N818  # it is no error but an answer
    """One sentence: what is wrong, and what to do."""


def reported(error: BaseException) -> str:
    """Writes what is needed to find a fault into a file, and says where."""
    told = traceback.format_exception(type(error), error, error.__traceback__)
    text = "\n".join([f"scallopkit in Draw, Python {sys.version} on {platform.platform()}", "".join(told)])
    where = "no file could be written about it; please report what you did, together with the drawing"
    try:
        with tempfile.NamedTemporaryFile(
            "w", encoding="utf-8", errors="backslashreplace", prefix="scallopkit-fault-", suffix=".txt", delete=False
        ) as file:
            file.write(text)
            where = f"the file {file.name} tells what happened; please send it together with the drawing"
    except OSError:
        pass
    return f"A fault of scallopkit itself ({type(error).__name__}): {where}."
