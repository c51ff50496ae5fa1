"""A whole job made: every run of a job file on every drawing, all files written together or none."""

from __future__ import annotations

import json
from collections.abc import Callable, Iterator, Mapping, Sequence
from contextlib import contextmanager
from dataclasses import dataclass, replace
from pathlib import Path
from typing import TYPE_CHECKING

from ..errors import RequestError, ScallopkitError, counted
from ..pattern.edge import find_piece
from ..pattern.piece import Warn
from .atomic import write_all_atomic, write_atomic
from .cut_pieces import MadePiece, made_piece, matched, piece_table
from .drawing import Drawing
from .examining import examine
from .finding import check_tables
from .flattening import name_of
from .job import Job, JobMatch, JobPattern, JobPiece, JobRun, JobStrap, JobTable, explained, read_job
from .job_schema import job_schema
from .kept import group_name, kept_matches, kept_pieces, kept_recipes, kept_straps, match_group_name, with_limits
from .legend import with_legend
from .parts_met import parts_met
from .reader import read_drawing
from .recipe import Recipe
from .report import report_of
from .runs import Run, make_run
from .sheet_places import off_page, with_places
from .summary import caution_lines, run_tables
from .tables import table
from .wishes import yes
from .workshop import in_phase, json_text, picture_of, read, refuse_loss, rematched, strapped, with_runs

if TYPE_CHECKING:
    from .cloth_needed import ClothNeeded
    from .matches import MadeMatch
    from .straps import MadeStrap

# Told how many parts of the work are done, of how many, and what is made next.
Step = Callable[[int, int, str], None]


@dataclass(frozen=True)
class Made:
    """What was made: its tables as text, its warnings, and whether everything meets once sewn."""

    text: str
    warnings: tuple[Warn, ...]
    ok: bool


def make_job(path: Path, write: bool = True, terminal: bool = False, step: Step | None = None) -> Made:
    """Makes a job.

    Args:
        path: the job file.
        write: whether the files are written, or it is only seen whether they could be.
        terminal: whether tables are made for a terminal.
        step: told how many parts the work has, how many are done, and what is made next.

    Raises:
        ScallopkitError: something in the job file is refused; the text names file, line and key. Nothing is written.
    """
    job = read_job(path)
    steps = _Steps(job, step)
    files: dict[Path, bytes] = {}
    told: list[str] = []
    rows: list[tuple[str, str]] = []
    warnings: list[Warn] = []
    made: list[Run] = []
    more_cautions: list[str] = []
    ok = True
    for pattern in job.patterns:
        drawing, runs = _made_on(job, pattern, steps)
        steps.next("pieces")
        matches = _matched_on(job, pattern, drawing, runs)
        asked_for = len(runs)
        runs = in_phase(runs, matches)
        pieces = _cut_on(job, pattern, drawing, runs, matches)
        straps = _straps_on(job, pattern, drawing, runs)
        data = with_legend(drawing, with_runs(drawing, runs, pieces, straps, matches), job.legend)
        data = with_limits(data, job.limits)
        refuse_loss(pattern.output, drawing, runs, pieces, straps, matches)
        files[pattern.output] = data
        rows.append(drawn_row(pattern.output, runs, len(pieces)))
        report = report_of(drawing, runs, (), pieces, straps, matches) if pattern.report is not None else None
        if pattern.report is not None and report is not None:
            files[pattern.report] = json_text(report).encode()
            rows.append((pattern.report.name, "report: all figures"))
        pictures: dict[str, bytes] = {}
        for asked, run in zip(pattern.runs, runs[:asked_for], strict=True):
            if asked.flat is not None:
                files[asked.flat] = picture_of(run, asked.flat)
                pictures |= {run.name: files[asked.flat]} if asked.flat.suffix.lower() == ".svg" else {}
                rows.append((asked.flat.name, f"picture of {run.name} laid flat"))
        told += [run_tables(drawing, run, terminal) for run in runs]
        made += runs
        if pieces:
            told.append(piece_table(pieces, terminal))
        if matches:
            # Loaded only where edges are matched.
            from .match_figures import match_table

            told.append(match_table(matches, terminal))
            more_cautions += [caution for one in matches for caution in one.cautions]
        if straps:
            # Loaded only where there are straps.
            from .straps import strap_table, straps_off_page

            told.append(strap_table(straps, terminal))
            warnings += straps_off_page(data, pattern.output.name, straps)
            more_cautions += [caution for strap in straps for caution in strap.cautions]
        every = [*_kept_runs(drawing, {run.name for run in runs}), *runs]
        cloths = _cloth_to_buy(job, drawing, every, pieces, straps)
        told += [line for one in cloths for line in one.lines]
        warnings += [*drawing.pattern.warnings, *(warning for run in runs for warning in run.warnings)]
        warnings += parts_met(runs)
        warnings += [*off_page(drawing, runs), *(warning for made in pieces for warning in made.warnings)]
        warnings += [warning for match in matches for warning in match.warnings]
        steps.next("checks")
        findings = examine(data, pattern.output.name, job.limits, (drawing, every, pieces))
        broken = [finding for finding in findings if not finding.ok]
        if broken:
            ok = False
            told.append(check_tables(broken, terminal))
        if pattern.outputs.places:
            # Loaded only where more is written than drawings, reports and pictures.
            from .making_outputs import made_beside

            written = read_drawing(data, pattern.output.name)
            if report is None or len(every) > len(runs):
                report = report_of(drawing, every, (), pieces, straps, matches)
            beside = made_beside(job, pattern.outputs, written, report, every, findings, pictures, cloths, steps.next)
            files |= beside.files
            rows += beside.rows
            warnings += beside.warnings
    cautions = caution_lines(made, more_cautions)
    told += [cautions] if cautions else []
    told.append(table(("file", "what"), rows, terminal=terminal))
    steps.next("files")
    if write:
        write_all_atomic(files)
        told.insert(0, "wrote " + ", ".join(str(file) for file in files))
    else:
        told.insert(0, f"{job.name} can be made; nothing was written")
    steps.next("")
    return Made(("\n\n" if terminal else "\n").join(told), tuple(warnings), ok)


class _Steps:
    """The parts of a job's work, told one by one."""

    def __init__(self, job: Job, step: Step | None) -> None:
        beside = sum((p.outputs.paper, p.outputs.cutter, p.outputs.sheet).count(None) for p in job.patterns)
        runs = sum(len(pattern.runs) for pattern in job.patterns)
        self._number = runs + 5 * len(job.patterns) - beside + 1
        self._done, self._step = 0, step

    def next(self, what: str) -> None:
        """What is made next."""
        if self._step is not None:
            self._step(self._done, self._number, what)
        self._done += 1


def drawn_row(file: Path, runs: Sequence[Run], pieces: int) -> tuple[str, str]:
    """The row of a trimmed drawing in the table of all that is written."""
    cut = [f"{counted(pieces, 'piece')} as cut"] if pieces else []
    return file.name, ", ".join([f"drawing: {counted(len(runs), 'run')}", *cut])


def _made_on(job: Job, pattern: JobPattern, steps: _Steps) -> tuple[Drawing, list[Run]]:
    drawing = read(pattern.file)
    _refuse_names_taken(job, pattern, drawing)
    known: dict[str, Recipe] = kept_recipes(drawing.source)
    runs: list[Run] = []
    for asked in pattern.runs:
        steps.next(asked.recipe.name or "run")
        try:
            run = make_run(drawing, asked.recipe, known)
        except ScallopkitError as error:
            raise explained(job, _refused(drawing, asked, known), error) from None
        known[run.name] = run.recipe
        runs.append(run)
    return drawing, runs


def _refuse_names_taken(job: Job, pattern: JobPattern, drawing: Drawing) -> None:
    """Refuses runs that are called as each other, or as the cutting line of a piece, whose groups are told by names."""
    cut = {group_name(piece.name): piece.name for piece in drawing.pattern.pieces}
    taken: dict[str, JobRun] = {}
    for asked in pattern.runs:
        with _explained(job, asked):
            name = name_of(asked.recipe, drawing.pattern)
            if name in cut:
                text = f'"{name}" is what the cutting line of "{cut[name]}" is called: give the run another --name'
                raise RequestError(text)
            if name in taken:
                raise RequestError(
                    f'"{name}" is what the run of line {taken[name].line} is called: give one of them another --name'
                )
        taken[name] = asked


def _refused(drawing: Drawing, asked: JobRun, known: Mapping[str, Recipe]) -> JobRun | JobTable:
    """What a run that is refused is refused for: the last table without which it is none, or what is left of it."""
    recipe = asked.recipe
    for one in reversed(asked.tables):
        recipe = one.left_out(recipe)
        try:
            make_run(drawing, recipe, known)
        except ScallopkitError:
            continue
        return one
    return asked.without_tables


def _cut_on(
    job: Job, pattern: JobPattern, drawing: Drawing, runs: list[Run], matches: Sequence[MadeMatch]
) -> tuple[MadePiece, ...]:
    """The pieces of a drawing as they are cut, those it holds already among them, with all that it will hold."""
    asked: dict[str, JobPiece] = {
        name: JobPiece(recipe.words, pattern.line) for name, recipe in kept_pieces(drawing.source).items()
    }
    if pattern.cut is not None:
        words = pattern.cut.words
        asked = {
            one.name: replace(pattern.cut, words=replace(words, piece=one.name))
            for one in drawing.pattern.pieces
            if one.closed
        }
    described: dict[str, JobPiece] = {}
    for piece in pattern.pieces:
        with _explained(job, piece):
            name = find_piece(drawing.pattern, piece.words.piece).name
            if name in described:
                other = described[name]
                raise RequestError(
                    f'--piece "{piece.words.piece}" is the piece "{other.words.piece}" of line {_line_of(other)} by '
                    "another name: put all of it into one table"
                )
        described[name] = piece
    asked |= described
    if not asked:
        return ()
    there = [*_kept_runs(drawing, {run.name for run in runs}), *runs, *(run for one in matches for run in one.notched)]
    made = []
    for piece in asked.values():
        with _explained(job, piece):
            made.append(made_piece(drawing, piece.words, there))
    return with_places(drawing, matched(made, there), runs)


def _line_of(piece: JobPiece) -> int:
    """The line in which a piece is named."""
    return next((one.line for one in piece.given if one.key == "piece"), piece.line)


def _straps_on(job: Job, pattern: JobPattern, drawing: Drawing, runs: list[Run]) -> tuple[MadeStrap, ...]:
    """The straps of a drawing, those it holds already among them."""
    if not pattern.straps and not kept_straps(drawing.source):
        return ()
    made = [*strapped(drawing, runs, left_out=[asked.words.name for asked in pattern.straps])]
    for asked in pattern.straps:
        with _explained(job, asked):
            made += strapped(drawing, runs, [asked.words], kept_straps(drawing.source))
    return tuple(made)


def _cloth_to_buy(
    job: Job, drawing: Drawing, runs: list[Run], pieces: Sequence[MadePiece], straps: Sequence[MadeStrap]
) -> tuple[ClothNeeded, ...]:
    """How much of each cloth to buy, where the job tells how wide it is."""
    if job.cloth is None or not job.cloth.width:
        return ()
    # Loaded only where cloth is told.
    from .cloth_needed import ClothWords, cloths_needed

    cloth = job.cloth
    words = ClothWords((cloth.width,), cloth.lies, yes(cloth.one_way, "one_way"), cloth.shrinkage, cloth.name)
    return cloths_needed(drawing, runs, pieces, straps, words)


def _matched_on(job: Job, pattern: JobPattern, drawing: Drawing, runs: list[Run]) -> tuple[MadeMatch, ...]:
    """The matched edges of a drawing, those it holds already among them."""
    there = kept_matches(drawing.source)
    if not pattern.matches and not there:
        return ()
    asked_for = {match_group_name(asked.words.a, asked.words.b) for asked in pattern.matches}
    made = [*rematched(drawing, runs, left_out=asked_for)]
    for asked in pattern.matches:
        with _explained(job, asked):
            made += rematched(drawing, runs, [asked.words], there)
    return tuple(made)


def _kept_runs(drawing: Drawing, again: set[str]) -> list[Run]:
    """The runs that the drawing holds and the job does not make again."""
    known = kept_recipes(drawing.source)
    out = []
    for name, recipe in known.items():
        if name not in again:
            try:
                out.append(make_run(drawing, replace(recipe, name=name), known))
            except ScallopkitError as error:
                raise type(error)(f'the run "{name}" that {drawing.name} holds can\'t be made again: {error}') from None
    return out


@contextmanager
def _explained(job: Job, made: JobRun | JobPiece | JobStrap | JobMatch) -> Iterator[None]:
    """A refusal within is told with the file, the line and the key."""
    try:
        yield
    except ScallopkitError as error:
        raise explained(job, made, error) from None


def write_schema(path: Path) -> None:
    """Writes the JSON Schema of job files.

    Raises:
        OutputError: the file can't be written.
    """
    write_atomic(path, (json.dumps(job_schema(), indent=1) + "\n").encode())
