"""A whole job made: every run of a job file on every drawing, all files written together or none."""

from __future__ import annotations

import json
from dataclasses import dataclass
from pathlib import Path

from ..errors import ScallopkitError
from ..pattern.piece import Warn
from .atomic import write_all_atomic, write_atomic
from .checking import check, check_tables
from .drawing import Drawing
from .job import Job, JobPattern, explained, read_job
from .job_schema import job_schema
from .recipe import Recipe
from .runs import Run, make_run
from .summary import run_tables
from .workshop import kept_recipes, picture_of, read, refuse_loss, report_text, with_runs


@dataclass(frozen=True)
class Made:
    """What was made: its tables as text, its warnings, and whether everything meets once sewn."""

    text: str
    warnings: tuple[Warn, ...]
    ok: bool


def make_job(path: Path, write: bool = True, terminal: bool = False) -> Made:
    """Makes a job.

    Args:
        path: the job file.
        write: whether the files are written, or it is only seen whether they could be.
        terminal: whether tables are made for a terminal.

    Raises:
        ScallopkitError: something in the job file is refused; the text names file, line and key. Nothing is written.
    """
    job = read_job(path)
    files: dict[Path, bytes] = {}
    told: list[str] = []
    warnings: list[Warn] = []
    ok = True
    for pattern in job.patterns:
        drawing, runs = _made_on(job, pattern)
        data = with_runs(drawing, runs)
        refuse_loss(pattern.output, drawing, runs)
        files[pattern.output] = data
        if pattern.report is not None:
            files[pattern.report] = report_text(drawing, runs).encode()
        for asked, run in zip(pattern.runs, runs, strict=True):
            if asked.flat is not None:
                files[asked.flat] = picture_of(run, asked.flat)
        told += [run_tables(drawing, run, terminal) for run in runs]
        warnings += [*drawing.pattern.warnings, *(warning for run in runs for warning in run.warnings)]
        broken = [finding for finding in check(data, pattern.output.name) if not finding.ok]
        if broken:
            ok = False
            told.append(check_tables(broken, terminal))
    if write:
        write_all_atomic(files)
        told.insert(0, "wrote " + ", ".join(str(file) for file in files))
    else:
        told.insert(0, f"{job.name} can be made; nothing was written")
    return Made(("\n\n" if terminal else "\n").join(told), tuple(warnings), ok)


def _made_on(job: Job, pattern: JobPattern) -> tuple[Drawing, list[Run]]:
    drawing = read(pattern.file)
    known: dict[str, Recipe] = kept_recipes(drawing)
    runs: list[Run] = []
    for asked in pattern.runs:
        try:
            run = make_run(drawing, asked.recipe, known)
        except ScallopkitError as error:
            raise explained(job, asked, error) from None
        known[run.name] = run.recipe
        runs.append(run)
    return drawing, runs


def write_schema(path: Path) -> None:
    """Writes the JSON Schema of job files.

    Raises:
        OutputError: the file can't be written.
    """
    write_atomic(path, (json.dumps(job_schema(), indent=1) + "\n").encode())
