"""Asks the library, which runs in a Python of its own: one request in JSON, one answer."""

from __future__ import annotations

import json
import os
import subprocess
from collections.abc import Iterator
from pathlib import Path

import uno

from .refusing import Refusal

_CURE = "run `scallopkit editors install libreoffice` in a terminal"
# What the office sets for its own Python, and no other should get.
_NOT_THEIRS = ("PYTHONPATH", "PYTHONHOME", "LD_LIBRARY_PATH", "GI_TYPELIB_PATH")
# On Windows a program in the background opens no window of its own.
_WINDOWLESS = 0x08000000
_PATIENCE = 120.0


def ask(request: dict) -> dict:
    """The library's answer.

    Raises:
        Refusal: there is none, or the library refuses; the text is one sentence.
    """
    answer = _answered(_interpreter(), json.dumps(request).encode("ascii"))
    if "error" in answer:
        raise Refusal(answer["error"])
    return answer


def _interpreter() -> str:
    """The Python that has the library, as the installer wrote it down."""
    told = next((path for path in _places() if path.is_file()), None)
    if told is None:
        raise Refusal(f"The library is not set up for Draw yet: {_CURE}.")
    try:
        python = str(json.loads(told.read_text(encoding="utf-8"))["python"])
    except (OSError, ValueError, KeyError, TypeError):
        raise Refusal(f"The file {told} can't be read: {_CURE}.") from None
    if not Path(python).is_file():
        raise Refusal(f"The Python of scallopkit is no longer at {python}: {_CURE} again.")
    return python


def _places() -> Iterator[Path]:
    """Where the installer leaves the path: beside the macro, or in the user's folder of macros."""
    here = uno.fileUrlToSystemPath(__file__) if __file__.startswith("file:") else __file__
    yield Path(here).resolve().parents[2] / "bridge.json"
    context = uno.getComponentContext()
    paths = context.ServiceManager.createInstanceWithContext("com.sun.star.util.PathSubstitution", context)
    user = uno.fileUrlToSystemPath(paths.substituteVariables("$(user)", True))
    yield Path(user) / "Scripts" / "python" / "scallopkit" / "bridge.json"


def _answered(python: str, request: bytes) -> dict:
    environment = {key: value for key, value in os.environ.items() if key not in _NOT_THEIRS}
    command = [python, "-I", "-X", "utf8", "-m", "scallopkit", "bridge"]
    flags = {"creationflags": _WINDOWLESS} if os.name == "nt" else {}
    try:
        done = subprocess.run(  # noqa: S603  # the installer's own path
            command, input=request, capture_output=True, env=environment, timeout=_PATIENCE, check=False, **flags
        )
    except (OSError, subprocess.TimeoutExpired) as error:
        raise Refusal(f"scallopkit could not be run ({error}): {_CURE} again.") from None
    try:
        return dict(json.loads(done.stdout.decode("ascii")))
    except ValueError:
        lines = done.stderr.decode("utf-8", "replace").strip().splitlines()
        raise Refusal(
            f"scallopkit did not answer ({lines[-1] if lines else 'without a word'}): {_CURE} again."
        ) from None
