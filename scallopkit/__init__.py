"""Fits whole scallops, eyelets and notches to the edges of sewing patterns drawn as SVG.

    import scallopkit

    drawing = scallopkit.read("napkin.svg")
    run = scallopkit.scallop(drawing, width="30mm", corner="wrap")
    print(run.count, run.widths)
    scallopkit.save(drawing, [run], "napkin-scalloped.svg", report="napkin.json")

Lengths are millimetres as numbers, or texts with a unit.
"""

from __future__ import annotations

from importlib import import_module
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from .document.checking import check
    from .document.drawing import Drawing
    from .document.making import make_job
    from .document.paths import drawing_of, path_of
    from .document.report import report_of
    from .document.runs import Run
    from .document.surveying import survey_entry as survey
    from .document.workshop import Refit, eyelets, notches, read, redrawn, refit, save, scallop, with_runs
    from .errors import ScallopkitError

__version__ = "0.1.0"

__all__ = [
    "Drawing",
    "Refit",
    "Run",
    "ScallopkitError",
    "check",
    "drawing_of",
    "eyelets",
    "make_job",
    "notches",
    "path_of",
    "read",
    "redrawn",
    "refit",
    "report_of",
    "save",
    "scallop",
    "survey",
    "with_runs",
]

# Where each public name lives; loaded when it is first used, so that the command line starts at once.
_HOMES = {
    "Drawing": ("document.drawing", "Drawing"),
    "Refit": ("document.workshop", "Refit"),
    "Run": ("document.runs", "Run"),
    "ScallopkitError": ("errors", "ScallopkitError"),
    "check": ("document.checking", "check"),
    "drawing_of": ("document.paths", "drawing_of"),
    "make_job": ("document.making", "make_job"),
    "path_of": ("document.paths", "path_of"),
    "report_of": ("document.report", "report_of"),
    "survey": ("document.surveying", "survey_entry"),
}


def __getattr__(name: str) -> Any:  # noqa: ANN401  # each name has its own type, which checkers read above
    if name not in __all__:
        raise AttributeError(f"module {__name__!r} has no attribute {name!r}")
    module, attribute = _HOMES.get(name, ("document.workshop", name))
    return getattr(import_module(f".{module}", __name__), attribute)
