"""What a job writes beside a trimmed drawing: its pages, its file for machines, and its make sheet."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from contextlib import contextmanager
from dataclasses import dataclass, replace
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING, Any

from ..errors import ScallopkitError, counted
from ..pattern.piece import Warn
from .drawing import Drawing
from .drawn import Drawn, drawn
from .finding import Finding
from .job import Job, JobPart, explained
from .job_outputs import JobCutter, JobOutputs, JobPaper, JobSheet

if TYPE_CHECKING:
    from .cloth_needed import ClothNeeded
    from .runs import Run


@dataclass(frozen=True, eq=False)
class Beside:
    """What is written beside a drawing.

    Attributes:
        files: the bytes of each file.
        rows: of each file its name and what is in it, for the table of all.
        warnings: what there is to mind about them.
    """

    files: Mapping[Path, bytes]
    rows: tuple[tuple[str, str], ...]
    warnings: tuple[Warn, ...]


def made_beside(
    job: Job,
    outputs: JobOutputs,
    drawing: Drawing,
    report: Mapping[str, Any],
    runs: Sequence[Run],
    findings: Sequence[Finding],
    pictures: Mapping[str, bytes],
    cloths: Sequence[ClothNeeded],
    step: Callable[[str], None],
) -> Beside:
    """Everything that a job asks for beside a trimmed drawing.

    Args:
        job: the job.
        outputs: what is asked for.
        drawing: the trimmed drawing.
        report: the report on it.
        runs: the runs on it.
        findings: what was found when it was checked.
        pictures: those of runs laid flat that there are already, as SVG, by the runs' names.
        cloths: how much is needed of each cloth.
        step: told what is made next.

    Raises:
        ScallopkitError: something can't be made; the text names the job, the line and the key.
    """
    # Read once for all of them.
    everything = drawn(drawing)
    files: dict[Path, bytes] = {}
    rows: list[tuple[str, str]] = []
    warnings: list[Warn] = []
    if outputs.paper is not None:
        step("pages")
        with _explained(job, outputs.paper):
            data, told, more = _pages(drawing, outputs.paper, everything)
        files[outputs.paper.file] = data
        rows.append((outputs.paper.file.name, told))
        warnings += more
    if outputs.cutter is not None:
        step("lines for machines")
        with _explained(job, outputs.cutter):
            data = _lines(drawing, outputs.cutter, everything)
        files[outputs.cutter.file] = data
        rows.append((outputs.cutter.file.name, f"lines for machines, {outputs.cutter.file.suffix[1:].upper()}"))
    if outputs.sheet is not None:
        step("make sheet")
        with _explained(job, outputs.sheet):
            written, told, unlike = _sheet(drawing, report, runs, findings, outputs.sheet, pictures, everything, cloths)
        files |= written
        warnings += unlike
        rows += [(file.name, f"make sheet: {told}") for file in written]
    return Beside(files, tuple(rows), tuple(warnings))


@contextmanager
def _explained(job: Job, made: JobPart) -> Iterator[None]:
    try:
        yield
    except ScallopkitError as error:
        raise explained(job, made, error) from None


def _pages(drawing: Drawing, asked: JobPaper, everything: Drawn) -> tuple[bytes, str, tuple[Warn, ...]]:
    from .paper import paper

    wish = replace(asked.wish, dated=date.today() if asked.dated else None)
    made = paper(drawing, wish, everything=everything)
    number = len(made.tiling.tiles)
    return (
        made.data,
        f"full size, {counted(number, 'page')} of {made.tiling.page.name} and one to measure",
        made.warnings,
    )


def _lines(drawing: Drawing, asked: JobCutter, everything: Drawn) -> bytes:
    from .cutter import cutter

    return cutter(
        drawing,
        asked.file.suffix,
        kind=asked.kind,
        within=asked.within,
        show=asked.show,
        hide=asked.hide,
        pieces=asked.pieces,
        everything=everything,
    )


def _sheet(
    drawing: Drawing,
    report: Mapping[str, Any],
    runs: Sequence[Run],
    findings: Sequence[Finding],
    asked: JobSheet,
    pictures: Mapping[str, bytes],
    everything: Drawn,
    cloths: Sequence[ClothNeeded],
) -> tuple[dict[Path, bytes], str, list[Warn]]:
    from .sheeting import SheetWords, sheet_from

    words = SheetWords(asked.title, asked.minutes, asked.prices, asked.currency, asked.without)
    made = sheet_from(drawing, report, runs, findings, words, pictures, everything, cloths)
    files = {file: made.as_file(file.suffix, asked.page) for file in asked.files}
    warnings = [warning for _, more in files.values() for warning in more]
    return {file: data for file, (data, _) in files.items()}, "; ".join(made.told.splitlines()), warnings
