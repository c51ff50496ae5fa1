"""What can be done with a drawing, for Python users; the command line and the editors call the same functions.

Lengths are millimetres as numbers, or texts with a unit (`"1 1/4in"`); every other value is the word or number that
the command line takes.
"""

from __future__ import annotations

import json
from collections.abc import Sequence
from dataclasses import dataclass, fields, replace
from pathlib import Path
from typing import Any, TypeVar

from ..errors import DrawingError, NameUnknownError, OutputError, RequestError, ScallopkitError
from ..pattern.edge import find_edge, same_stretch
from ..pattern.piece import Warn
from .atomic import write_all_atomic
from .drawing import Drawing
from .flattening import bare_name
from .group import group_of
from .join_words import join_of
from .layer import read_groups, replace_groups
from .reader import read_drawing, read_file
from .recipe import EdgeWords, EyeletWords, NotchWords, Recipe, ScallopWords, StretchWords, Value, as_text, from_text
from .report import report_of
from .runs import Run, make_run


def read(path: str | Path) -> Drawing:
    """The drawing in an SVG file.

    Raises:
        DrawingError: it can't be read.
    """
    return read_file(path)


def scallop(
    drawing: Drawing, along: str | Sequence[str] = "", *, join: str | Sequence[str] = (), name: str = "", **words: Value
) -> Run:
    """Whole scallops fitted to an edge, or to several as they will lie once sewn.

    A run of the same name on the same edge is made anew, with the eyelets and notches that it has in the drawing.

    Args:
        drawing: the drawing that holds the edge.
        along: the edge, PIECE, PIECE:FROM..TO or PIECE:FROM..VIA..TO; may be left out where there is one piece. Or
            several edges in sewing order.
        join: what lies between them, "KIND" or "KIND:HOLD" each: one fewer than edges, or as many for a loop.
        name: the run's name; else the edge's.
        words: the options of the `scallop` command with underscores: width, count, min_width, max_width, depth, radius,
            profile, touch, step, keep, weights, space, sharpest, and for the edge side, start, end, hold (a list of
            "MARK=KIND"), corner, allowance, start_at.

    Raises:
        ScallopkitError: a value is refused or nothing fits; the text says what to do.
    """
    edge, trim = _sorted_words(words, EdgeWords, ScallopWords)
    kept = kept_recipes(drawing)
    run = make_run(drawing, _over(Recipe(name, edge, trim), along, join), kept)
    run = replace(run, warnings=(*run.warnings, *_edge_taken(drawing, run, kept)))
    before = kept.get(run.name)
    if before is None or before.stretches != run.recipe.stretches or not (before.eyelets or before.notches):
        return run
    # The same edge trimmed anew keeps the eyelets and notches that were put on it.
    return make_run(drawing, replace(run.recipe, eyelets=before.eyelets, notches=before.notches), kept)


def _over(recipe: Recipe, along: str | Sequence[str], join: str | Sequence[str]) -> Recipe:
    """The recipe over one edge, or over several with the joins between them."""
    edges = [along] if isinstance(along, str) else list(along)
    joins = [join] if isinstance(join, str) else list(join)
    if len(edges) < 2 and not joins:
        return replace(recipe, edge=replace(recipe.edge, along=edges[0] if edges else ""))
    return replace(
        recipe,
        edges=tuple(StretchWords(edge) for edge in edges),
        joins=tuple(join_of(text) for text in joins),
    )


def _edge_taken(drawing: Drawing, run: Run, kept: dict[str, Recipe]) -> list[Warn]:
    """A warning for each other run of scallops that stands on the same edge, walked either way."""
    out = []
    for name, recipe in kept.items():
        if name == run.name or recipe.scallop is None:
            continue
        try:
            others = [find_edge(drawing.pattern, bare_name(one.along) or None) for one in recipe.stretches]
        except ScallopkitError:
            # Its edge is gone, so it can't be this one; `refit` will say so.
            continue
        if any(same_stretch(other, part.drawn) for other in others for part in run.laid.parts):
            text = f'the edge already carries the run "{name}": both are now in the drawing; delete one in the editor'
            out.append(Warn("edge-taken", text, run.laid.parts[0].edge.piece.name))
    return out


def eyelets(drawing: Drawing, along: str = "", *, run: str = "", name: str = "", **words: Value) -> Run:
    """Eyelets in the scallops of a run that the drawing holds, or evenly along an edge as a run of their own.

    Args:
        drawing: the drawing.
        along: the edge, for eyelets of their own.
        run: the name of a run in the drawing, whose scallops take the eyelets.
        name: the name of a run of its own.
        words: the options of the `eyelets` command (one set for each from_crest): eyelet, barrel, barrel_length,
            flange, hole, every, from_crest, margin, spacing, count, ends, inset, and for the edge those of `scallop`.

    Raises:
        ScallopkitError: a value is refused, or an eyelet has no room; the text says what to do.
    """
    edge, trim = _sorted_words(words, EdgeWords, EyeletWords)
    if run:
        _refuse_beside_run(edge, along, name)
        kept = kept_recipe(drawing, run)
        others = tuple(row for row in kept.eyelets if row.from_crest != trim.from_crest)
        return make_run(drawing, replace(kept, eyelets=(*others, trim)), kept_recipes(drawing))
    return make_run(drawing, Recipe(name or _own_name(along, "eyelets"), replace(edge, along=along), eyelets=(trim,)))


def notches(drawing: Drawing, along: str = "", *, run: str = "", name: str = "", **words: Value) -> Run:
    """Notches on a run that the drawing holds, or on an edge as a run of their own.

    Args:
        drawing: the drawing.
        along: the edge, for notches of their own.
        run: the name of a run in the drawing.
        name: the name of a run of its own.
        words: the options of the `notches` command: at, every, kind, length, on, and for the edge those of `scallop`.

    Raises:
        ScallopkitError: a value is refused; the text says what to do.
    """
    edge, trim = _sorted_words(words, EdgeWords, NotchWords)
    if run:
        _refuse_beside_run(edge, along, name)
        kept = kept_recipe(drawing, run)
        others = tuple(row for row in kept.notches if (row.at, row.on) != (trim.at, trim.on))
        return make_run(drawing, replace(kept, notches=(*others, trim)), kept_recipes(drawing))
    return make_run(drawing, Recipe(name or _own_name(along, "notches"), replace(edge, along=along), notches=(trim,)))


def _refuse_beside_run(edge: EdgeWords, along: str, name: str) -> None:
    """A run brings its own edge and name."""
    given = [f.name for f in fields(edge) if getattr(edge, f.name)]
    given += ["along"] * bool(along) + ["name"] * bool(name)
    if given:
        option = given[0].replace("_", "-")
        raise RequestError(f"--{option} does not go with --run, which has its own: leave out one of the two")


def _own_name(along: str, what: str) -> str:
    return f"{along} {what}".strip()


_Trim = TypeVar("_Trim")


def _sorted_words(words: dict[str, Value], *kinds: type) -> tuple[Any, Any]:
    """The given words as texts, shared out among the edge's and the trim's."""
    left = {key: value for key, value in words.items() if value is not None}
    out = []
    for kind in kinds:
        known = {f.name: f.default == () for f in fields(kind) if f.name != "along"}
        out.append(kind(**{key: as_text(left.pop(key), known[key]) for key in list(left) if key in known}))
    if left:
        every = sorted({f.name for kind in kinds for f in fields(kind)} - {"along"})
        raise RequestError(f"there is no option {', '.join(sorted(left))}; there are {', '.join(every)}")
    return out[0], out[1]


def kept_recipe(drawing: Drawing, run: str) -> Recipe:
    """The recipe of a run that the drawing holds.

    Raises:
        NameUnknownError: it holds no run of that name.
    """
    kept = {group.name: group.recipe for group in read_groups(drawing.source)}
    if run not in kept:
        there = ", ".join(f'"{name}"' for name in kept) or "none"
        raise NameUnknownError(f'{drawing.name} holds no run called "{run}"; there are {there}')
    return from_text(kept[run], run)


def kept_recipes(drawing: Drawing) -> dict[str, Recipe]:
    """The recipes of all runs that the drawing holds, by their names."""
    return {group.name: from_text(group.recipe, group.name) for group in read_groups(drawing.source)}


@dataclass(frozen=True)
class Refit:
    """A run made again: itself, what it was before, and a sentence on what changed."""

    run: Run
    before: dict[str, Any]
    change: str


def refit(drawing: Drawing) -> list[Refit]:
    """Every run of the drawing made again from its recipe, on the outlines as they are now.

    Raises:
        RequestError: the drawing holds no run.
        ScallopkitError: one can't be made any more; the text names it.
    """
    groups = read_groups(drawing.source)
    if not groups:
        raise RequestError(f"{drawing.name} holds no run to make again: make one with `scallopkit scallop`")
    out, known = [], kept_recipes(drawing)
    for group in groups:
        # The group's name counts: the maker may have renamed it in the editor.
        recipe = replace(from_text(group.recipe, group.name), name=group.name)
        try:
            run = make_run(drawing, recipe, known)
        except ScallopkitError as error:
            raise type(error)(f'the run "{group.name}" can\'t be made again: {error}') from None
        out.append(Refit(run, recipe.made, _change(recipe.made, run)))
    return out


def _change(before: dict[str, Any], run: Run) -> str:
    """What became of a run, in a few words."""
    length, count, widths = (before.get(key) for key in ("length_mm", "count", "widths_mm"))
    if not isinstance(widths, list) or not all(isinstance(v, float | int) for v in (length, count, *widths)):
        return "made anew"
    assert length is not None  # noqa: S101  # it is a number, as the line before has shown
    parts = []
    now = run.course.measured.length
    if abs(now - length) > 1e-3:
        parts.append(f"edge {length:.2f} to {now:.2f} mm")
    if count != run.count:
        parts.append(f"count {count:g} to {run.count:g}")
    if widths and run.widths and max(abs(a - b) for a, b in zip(widths, run.widths, strict=False)) > 1e-3:
        parts.append(f"width {widths[0]:.3f} to {run.widths[0]:.3f} mm")
    return ", ".join(parts) or "unchanged"


def with_runs(drawing: Drawing, runs: Sequence[Run]) -> bytes:
    """The drawing's bytes with the runs put in; each replaces the group of the run of its name, and nothing else."""
    return replace_groups(drawing.source, {run.name: group_of(run, drawing) for run in runs})


def redrawn(drawing: Drawing, runs: Sequence[Run]) -> Drawing:
    """The drawing with the runs put in, ready for further work."""
    return read_drawing(with_runs(drawing, runs), drawing.name)


def refuse_loss(path: Path, drawing: Drawing, runs: Sequence[Run]) -> None:
    """Refuses to write over a drawing with work in it that what is to be written does not have.

    Raises:
        OutputError: it holds other runs, or eyelets or notches on the same ones; the text names them.
    """
    try:
        there = {group.name: from_text(group.recipe, group.name) for group in read_groups(path.read_bytes())}
    except (OSError, DrawingError):
        return
    coming = kept_recipes(drawing) | {run.name: run.recipe for run in runs}
    lost = [
        name
        for name, kept in there.items()
        if name not in coming or len(kept.eyelets + kept.notches) > len(coming[name].eyelets + coming[name].notches)
    ]
    if lost:
        names = ", ".join(f'"{name}"' for name in lost)
        raise OutputError(
            f"{path} holds work that would be lost ({names}): go on with that file and --in-place, or give an --output"
        )


def save(
    drawing: Drawing,
    runs: Sequence[Run],
    path: str | Path,
    *,
    report: str | Path | None = None,
    flat: str | Path | None = None,
    warnings: Sequence[Warn] = (),
) -> None:
    """Writes the drawing with the runs put in, and a report and a picture of the first run laid flat if asked.

    All files are written, or none.

    Raises:
        OutputError: one of the files can't be written.
    """
    files = {Path(path): with_runs(drawing, runs)}
    if report is not None:
        if Path(report) == Path(path):
            raise OutputError(f"{path} can't take both the drawing and the report: give them two names")
        files[Path(report)] = report_text(drawing, runs, warnings).encode()
    if flat is not None:
        if Path(flat) in files:
            raise OutputError(f"{flat} can't take both the picture and another file: give each its own name")
        files[Path(flat)] = picture_of(runs[0], Path(flat))
    write_all_atomic(files)


def picture_of(run: Run, path: Path) -> bytes:
    """The picture of a run laid flat, as SVG or PNG by the file's ending.

    Raises:
        OutputError: the ending is another one.
    """
    from .flat_picture import flat_picture

    if path.suffix.lower() not in (".svg", ".png"):
        raise OutputError(f"{path} can't be drawn: a picture laid flat ends in .svg or .png")
    data = flat_picture(run)
    if path.suffix.lower() == ".svg":
        return data
    from .picture import to_png

    return to_png(data, 1600, "white")


def report_text(drawing: Drawing, runs: Sequence[Run], warnings: Sequence[Warn] = (), ascii_only: bool = False) -> str:
    """The report as JSON text, other letters as numbers where it must pass through any screen."""
    return json.dumps(report_of(drawing, runs, warnings), indent=1, ensure_ascii=ascii_only, allow_nan=False) + "\n"
