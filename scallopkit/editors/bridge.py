"""The bridge: one request of an editor's macro in JSON, one answer in JSON; lengths in mm, y downward.

A request:

    {"bridge": 1, "task": "scallop", "along": ["hem"], "words": {"width": "30mm"},
     "shapes": [{"name": "hem", "closed": false, "curve": [[[0, 0], [60, 40], [120, 40], [180, 0]]]}]}

| key | it holds |
| --- | --- |
| `bridge` | the version of this format: 1 |
| `task` | `scallop`, `eyelets`, `notches`, `refit` (every kept run again), or `version` |
| `shapes` | outlines and lines: `name`, `closed`, and `curve`, segments of two points (straight) or four (cubic) |
| `marks` | points that edges may be named by: `name`, `x`, `y` |
| `page` | width and height of the page; may be left out |
| `along` | edges as the commands take them, each a run of its own |
| `join` | what lies between the edges, which then are one run |
| `on` | names of kept runs: `scallop` changes their scallops, `eyelets` and `notches` set parts on them |
| `words` | the options of the command with underscores, texts or numbers |
| `runs` | what earlier answers gave and the document keeps: `name` and `recipe` |

An answer:

| key | it holds |
| --- | --- |
| `bridge`, `scallopkit` | the versions |
| `error` | one sentence, where nothing was made; then there are no other keys |
| `runs` | each with `name`, `recipe` (to be kept), `edges` (names of its shapes), `lines`, `circles` and `texts` |
| `tell` | what there is to say, line by line, warnings and cautions too |
| `warnings` | those again, each with `code`, `message`, `run`, `piece`, `x`, `y` |
| `cautions` | those again, as texts |

A line has `role`, `piece`, `closed`, `curve` (segments of four points), `colour`, `width` and `dashes` (on, off, …); a
circle `x`, `y` and `radius` instead of a curve. A text has `rows` of `x`, `y` (the foot of the first letter, or of the
row's `middle`) and `text`, with `size`, `angle` in degrees clockwise, and `colour`. A run takes the place of all that
was drawn for the run of the same name before.
"""

from __future__ import annotations

import json
from typing import Any

from .. import __version__
from ..document.report import warning_entry
from ..document.runs import Run
from ..document.sheet_places import off_page
from ..document.workshop import changed, eyelets, notches, refit, scallop, with_runs
from ..errors import RequestError, ScallopkitError
from ..pattern.piece import Warn
from .asked import VERSION, Asked, read_request
from .fault import reported, sentence
from .figures import group_figures
from .told import caution_lines, run_lines, warning_lines, without_dashes

# Words that are keys of the request.
_NOT_WORDS = ("drawing", "along", "join", "run")
# What a task is called in an editor's menu.
_MENU = {"scallop": "Scallops", "eyelets": "Eyelets", "notches": "Notches", "refit": "Fit all again"}
_HEAD = {"bridge": VERSION, "scallopkit": __version__}


def served(data: bytes) -> str:
    """The answer to a request, both as JSON text; the answer in ASCII.

    Raises:
        RequestError: what came in is no JSON.
    """
    try:
        request = json.loads(data.decode("utf-8-sig"))
    except (ValueError, RecursionError) as error:
        raise RequestError(f"what came in on stdin is no JSON ({error}): send one request as a JSON object") from None
    return json.dumps(answer(request), allow_nan=False)


def answer(request: object) -> dict[str, Any]:
    """The answer to a request; a refusal, and a fault of our own, is one sentence under `error`."""
    try:
        return _HEAD | _done(read_request(request))
    except ScallopkitError as error:
        return _HEAD | {"error": sentence(without_dashes(str(error), _MENU))}
    except Exception as error:  # whatever it is, the editor gets an answer
        return _HEAD | {"error": sentence(reported(error, json.dumps(request)))}


def _done(asked: Asked) -> dict[str, Any]:
    drawing = asked.drawing
    runs, told = _made(asked)
    drawn = group_figures(with_runs(drawing, runs), drawing, [run.name for run in runs])
    warnings: list[tuple[Warn, str | None]] = [(warn, None) for warn in drawing.pattern.warnings] if runs else []
    warnings += [(warn, run.name) for run in runs for warn in run.warnings]
    warnings += [(warn, None) for warn in off_page(drawing, runs)] if asked.page else []
    tell = [*told, *warning_lines(warn for warn, _ in warnings), *caution_lines(runs)]
    return {
        "runs": [{"name": run.name, "edges": _edges(run), **drawn[run.name]} for run in runs],
        "tell": [without_dashes(line, _MENU) for line in tell],
        "warnings": [warning_entry(drawing, warn, name) for warn, name in warnings],
        "cautions": list(dict.fromkeys(caution for run in runs for caution in run.cautions)),
    }


def _edges(run: Run) -> list[str]:
    """The names of the shapes that a run lies on."""
    return list(dict.fromkeys(part.edge.piece.name for part in run.laid.parts))


def _made(asked: Asked) -> tuple[list[Run], list[str]]:
    """The runs that a request asks for, each name once, and what there is to say about them."""
    if asked.task == "version":
        return [], [f"scallopkit {__version__}"]
    if asked.task == "refit":
        again = refit(asked.drawing)
        return [one.run for one in again], [f"{one.run.name}: {one.change}" for one in again]
    _refuse_nothing(asked)
    made = {"scallop": _scalloped, "eyelets": _with_eyelets, "notches": _with_notches}[asked.task](asked)
    runs = list({run.name: run for run in made}.values())
    return runs, [line for run in runs for line in run_lines(run)]


def _refuse_nothing(asked: Asked) -> None:
    strange = [word for word in asked.words if word in _NOT_WORDS]
    if strange:
        raise RequestError(f"{strange[0]!r} is no word of a task: send the keys along, join and on beside the words")
    if not asked.along and not asked.on:
        raise RequestError("no edge is named: send its name under along, or that of a kept run under on")
    if asked.words.get("name") and len(asked.along) > 1 and not asked.joins:
        raise RequestError(f'{len(asked.along)} edges can\'t all be called "{asked.words["name"]}": leave the name out')


def _scalloped(asked: Asked) -> list[Run]:
    drawing, words = asked.drawing, dict(asked.words)
    if asked.joins:
        return [scallop(drawing, asked.along, join=asked.joins, **words)]
    made = [scallop(drawing, edge, **words) for edge in asked.along]
    return [*made, *(changed(drawing, run, **words) for run in asked.on)]


def _with_eyelets(asked: Asked) -> list[Run]:
    drawing, words = asked.drawing, dict(asked.words)
    if asked.joins:
        return [eyelets(drawing, asked.along, join=asked.joins, **words)]
    made = [eyelets(drawing, edge, **words) for edge in asked.along]
    return [*made, *(eyelets(drawing, run=run, **words) for run in asked.on)]


def _with_notches(asked: Asked) -> list[Run]:
    if asked.joins:
        raise RequestError("notches go on one edge at a time: leave join out")
    drawing, words = asked.drawing, dict(asked.words)
    made = [notches(drawing, edge, **words) for edge in asked.along]
    return [*made, *(notches(drawing, run=run, **words) for run in asked.on)]
