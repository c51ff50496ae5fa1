"""One effect of a vector editor from process start to result: options in, the drawing or a sentence out.

Editors start a script with the drawing's file last, take what it writes to stdout for the new drawing, and show what it
writes to stderr in a window of its own, at every preview too. So stderr stays empty unless something went wrong, or the
report was asked for.
"""

from __future__ import annotations

import argparse
import sys
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from pathlib import Path
from typing import TYPE_CHECKING

from ..document.drawing import Drawing
from ..document.layer import read_groups
from ..document.reader import read_drawing
from ..document.recipe import is_legend
from ..document.runs import Run
from ..document.sheet_places import off_page
from ..document.workshop import pieces_anew, with_runs
from ..errors import DrawingError, ScallopkitError
from ..pattern.piece import Warn
from .chosen import Chosen, chosen, read_node
from .fault import reported, sentence
from .note import with_note
from .told import caution_lines, run_lines, warning_lines, without_dashes

if TYPE_CHECKING:
    from ..document.matches import MadeMatch

# What the drawing is called in messages: editors hand over copies with names of their own.
_NAME = "the drawing"
_UNCHANGED = "Nothing was changed."


@dataclass(frozen=True)
class Done:
    """What an effect has made: the drawing's bytes, and what there is to say, line by line."""

    source: bytes
    lines: list[str] = field(default_factory=list)


Work = Callable[[Drawing, Chosen, argparse.Namespace], Done]


def options(about: str) -> argparse.ArgumentParser:
    """A parser with what every effect is given: what is selected, whether a report is to be shown, and the drawing."""
    parser = argparse.ArgumentParser(description=about, allow_abbrev=False, exit_on_error=False)
    parser.add_argument("--id", action="append", default=[], help="id of a selected object, in their order")
    parser.add_argument("--selected-nodes", action="append", default=[], help="a selected node, element:subpath:node")
    parser.add_argument("--tell", type=switch, default=False, help="show what was done in a window too")
    parser.add_argument("--note", type=switch, default=True, help="write what was done into the drawing")
    parser.add_argument("file", help="the drawing")
    return parser


def switch(text: str) -> bool:
    """A switch as editors write it."""
    return text.strip().lower() in ("true", "1", "yes")


def add_lengths(parser: argparse.ArgumentParser, unit: str = "mm", **defaults: float) -> None:
    """Lengths of a dialogue, each with its unit beside it."""
    for name, default in defaults.items():
        option = f"--{name.replace('_', '-')}"
        parser.add_argument(option, type=float, default=default)
        parser.add_argument(f"{option}-unit", default=unit)


def add_texts(parser: argparse.ArgumentParser, **defaults: str) -> None:
    """Choices and names of a dialogue, as texts."""
    for name, default in defaults.items():
        parser.add_argument(f"--{name.replace('_', '-')}", default=default)


def add_numbers(parser: argparse.ArgumentParser, **defaults: float) -> None:
    """Numbers of a dialogue."""
    for name, default in defaults.items():
        parser.add_argument(f"--{name.replace('_', '-')}", type=float, default=default)


def add_switches(parser: argparse.ArgumentParser, *names: str) -> None:
    """Switches of a dialogue, off unless they are given."""
    for name in names:
        parser.add_argument(f"--{name}", type=switch, default=False)


def length(given: argparse.Namespace, name: str) -> str:
    """A length of a dialogue with its unit; an empty text for 0, which stands for: not given."""
    value = getattr(given, name)
    return f"{value:g}{getattr(given, f'{name}_unit')}" if value else ""


def number(given: argparse.Namespace, name: str) -> str:
    """A number of a dialogue; an empty text for 0, which stands for: not given."""
    value = getattr(given, name)
    return f"{value:g}" if value else ""


def end(given: argparse.Namespace, name: str) -> str:
    """What lies at an end; a gap has its length with it."""
    kind = str(getattr(given, name))
    return f"gap:{length(given, f'{name}_gap')}" if kind == "gap" else kind


def drawn(drawing: Drawing, runs: Sequence[Run]) -> Done:
    """The drawing with runs put in, and what there is to say about them."""
    return put_in(drawing, runs, [line for run in runs for line in run_lines(run)])


def put_in(drawing: Drawing, runs: Sequence[Run], lines: Sequence[str], matches: Sequence[MadeMatch] = ()) -> Done:
    """The drawing with runs and matches put in, and the pieces that are cut otherwise by them drawn again.

    Args:
        drawing: the drawing.
        runs: the runs as they will be drawn.
        lines: what there is to say about them.
        matches: the matches as they will be drawn.
    """
    pieces, again = pieces_anew(drawing, runs, matches=matches), ""
    if pieces:
        # Loaded only where pieces are cut.
        from ..document.cut_changes import drawn_again

        again = drawn_again(drawing, pieces)
    more = [*(warn for made in matches for warn in made.warnings), *(warn for made in pieces for warn in made.warnings)]
    source = with_runs(drawing, runs, pieces, matches=matches)
    return Done(source, [*lines, *([again] if again else []), *told(drawing, runs, more)])


def told(drawing: Drawing, runs: Sequence[Run], more: Sequence[Warn] = ()) -> list[str]:
    """Warnings about a drawing and its runs, and further ones; then the cautions."""
    own = [warn for run in runs for warn in run.warnings]
    return [*warning_lines([*drawing.pattern.warnings, *own, *more, *off_page(drawing, runs)]), *caution_lines(runs)]


def main(
    parser: argparse.ArgumentParser, work: Work, arguments: Sequence[str] | None = None, selected: bool = True
) -> int:
    """Does the work on the drawing and writes the result to stdout; gives the process's exit status.

    Of an effect on the whole drawing, `selected` is false: what is selected does not matter.

    A refusal is one sentence on stderr, and stdout stays empty, so that the drawing stays as it is. A fault of our own
    writes a report into a file and says where.
    """
    try:
        given, _ = parser.parse_known_args(arguments)
        done = _noted(given, work, selected)
    except (ScallopkitError, argparse.ArgumentError) as error:
        return _failed(without_dashes(" ".join(str(error).split())))
    except Exception as error:  # whatever it is, no traceback reaches a user
        return _failed(reported(error))
    sys.stdout.buffer.write(done.source)
    sys.stdout.flush()
    if given.tell:
        sys.stderr.write("\n".join(done.lines) + "\n")
    return 0


def _noted(given: argparse.Namespace, work: Work, selected: bool) -> Done:
    try:
        data = Path(given.file).read_bytes()
    except OSError as error:
        raise DrawingError(f"the drawing cannot be read ({error.strerror}): save it, and try again") from None
    drawing = read_drawing(data, _NAME)
    nodes = [read_node(text) for text in given.selected_nodes] if selected else []
    done = work(drawing, chosen(drawing, given.id, nodes) if selected else Chosen((), (), ()), given)
    lines = [without_dashes(line) for line in done.lines]
    source = with_note(drawing, done.source, lines) if given.note and lines else done.source
    return Done(_with_its_legend(drawing, source), lines)


def _with_its_legend(drawing: Drawing, source: bytes) -> bytes:
    """A changed drawing with its legend made anew; none is added, since here a maker lays out the page."""
    if source == drawing.source or not any(is_legend(group.recipe) for group in read_groups(drawing.source)):
        return source
    # Loaded only where there is one.
    from ..document.legend import with_legend

    return with_legend(drawing, source)


def _failed(text: str) -> int:
    sys.stderr.write(f"{sentence(text)} {_UNCHANGED}\n")
    return 1
