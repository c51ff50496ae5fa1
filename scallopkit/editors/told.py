"""What was made, in a few plain lines for people who look at a drawing and at no terminal."""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping, Sequence

from ..document.runs import Run
from ..document.summary import detail_lines
from ..pattern.piece import Warn

# Messages name what to change as the command line does; dialogues have labels of their own.
_OPTION = re.compile(r"(?<![\w-])--([a-z]+(?:-[a-z]+)*)")
# Options whose field is called otherwise, or that have none; labels stand between quotation marks.
FIELDS = {
    "in-phase": '"Move the valleys of the second line to those of the first"',
    "most-ease": 'share of ease (by the cloth under "What is eased")',
    "number": '"How many pleats or darts"',
    "pair": '"Marks that meet"',
    "phase": '"and off them by"',
    "phase-within": "tolerance for that (phase-within on the command line)",
    "take-up": '"The longer one is"',
    "toward": '"Knife pleats turn to"',
    "turned": '"The second runs the other way"',
}
# Phrases with words that stand in no dialogue.
_PHRASES = (
    (re.compile(r"as in [a-z]+:\d+ or --number"), "as in --number"),
    (re.compile(r"move a hold or let one pass"), 'let corners pass ("At corners on the way"), or end at other places'),
    (re.compile(r"--profile arc or half-circle"), "a round shape or the half circle"),
    (re.compile(r"name a stretch of it, \S+:FROM\.\.TO"), "select a stretch of it"),
    (re.compile(r"with --lap 15mm or in a job file with \{[^}]*\}"), 'in "Each side of a lap, beyond its centre line"'),
    (re.compile(r"--corner hold"), 'a valley ("At corners on the way")'),
    (re.compile(r"--touch valley"), 'the valley ("On the edge lies")'),
    (re.compile(r"give that run --times (\d+)"), r"say so for that run on the command line (times \1)"),
    (re.compile(r"let a hold pass"), 'let corners pass ("At corners on the way")'),
)

# What commands are called in the editor's menu.
_COMMAND = re.compile(r"`(?:scallopkit )?([a-z]+)`")
_EFFECTS = {
    "scallop": "the effect Scallops",
    "eyelets": "the effect Eyelets",
    "notches": "the effect Notches and clips",
    "facing": "the effect Facing",
    "match": "the effect Match two edges",
    "refit": "the effect Fit all again",
    "survey": "the effect Survey",
    "paper": "the effect Full-size pages",
}


def without_dashes(text: str, names: Mapping[str, str] = _EFFECTS) -> str:
    """A message with plain words in the place of the command line's options, and effects in that of its commands.

    Args:
        text: the message.
        names: what commands are called in the editor; those that it lacks are on the command line.
    """
    for phrase, instead in _PHRASES:
        text = phrase.sub(instead, text)
    plain = _COMMAND.sub(lambda command: names.get(command[1], f"{command[1]} on the command line"), text)
    return _OPTION.sub(lambda option: FIELDS.get(option[1], option[1].replace("-", " ")), plain)


def run_lines(run: Run) -> list[str]:
    """A run: its length, its scallops with the next counts up and down, and what else it has."""
    lines = [f"{run.name}: {run.laid.parts[-1].end:.1f} mm along the edge as sewn"]
    if run.fit is not None:
        widths = sorted({f"{width:.2f}" for width in run.fit.widths}, key=float)
        wide = f"{widths[0]} mm" if len(widths) == 1 else f"{widths[0]} to {widths[-1]} mm"
        lines.append(f"{run.count:g} scallops, each {wide} wide")
        others = [f"{other.count:g} of {other.width:.2f} mm" for other in run.fit.alternatives]
        lines += [f"or: {'; '.join(others)}"] if others else []
    return [*lines, *detail_lines(run)]


def warning_lines(warnings: Iterable[Warn]) -> list[str]:
    """Warnings, each told once."""
    return list(dict.fromkeys(f"Mind: {warning.message}" for warning in warnings))


def caution_lines(runs: Sequence[Run]) -> list[str]:
    """The cautions of runs, each told once."""
    return list(dict.fromkeys(f"Caution: {caution}" for run in runs for caution in run.cautions))
