"""The command line: options in, one call to the library, tables and files out. No geometry lives here."""

from __future__ import annotations

import os
import sys
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer

from . import __version__
from .errors import RequestError, ScallopkitError

if TYPE_CHECKING:
    from collections.abc import Sequence

    from .document.drawing import Drawing
    from .document.runs import Run
    from .pattern.piece import Warn

app = typer.Typer(
    help="Fits whole scallops, eyelets and notches to the edges of sewing patterns drawn as SVG.",
    no_args_is_help=True,
    rich_markup_mode=None,
    pretty_exceptions_enable=False,
    context_settings={"help_option_names": ["-h", "--help"], "max_content_width": 100},
)

# ---------------------------------------------------------------- options that several commands share

File = Annotated[Path, typer.Argument(help="The drawing, an SVG file at full size.", show_default=False)]
Output = Annotated[
    Path | None,
    typer.Option("--output", "-o", help="Where the drawing is written; else FILE-scalloped.svg.", show_default=False),
]
InPlace = Annotated[bool, typer.Option("--in-place", help="Write the drawing back to FILE.")]
Report = Annotated[
    str, typer.Option("--report", help="Write all figures as JSON to this file; - for the screen.", show_default=False)
]
Name = Annotated[str, typer.Option("--name", help="What the run is called; else as its edge.", show_default=False)]
Along = Annotated[
    str,
    typer.Option(
        "--along",
        help="The edge: PIECE, PIECE:FROM..TO or PIECE:FROM..VIA..TO, by marks and corners (`survey` lists them).",
        show_default=False,
    ),
]
Side = Annotated[
    str,
    typer.Option(
        "--side", help="outward or inward of a closed outline; left or right of an open line.", show_default=False
    ),
]
Start = Annotated[
    str,
    typer.Option("--start", help="At the start: valley, crest, gap:15mm, fold or fold:valley.", show_default=False),
]
End = Annotated[str, typer.Option("--end", help="At the end: as for --start.", show_default=False)]
Hold = Annotated[
    list[str],
    typer.Option(
        "--hold", help="At a mark or corner on the way, MARK=valley, crest, pass or gap:15mm; may be repeated."
    ),
]
Corner = Annotated[
    str,
    typer.Option(
        "--corner", help="At corners on the way: hold a valley, wrap a scallop round, or pass.", show_default=False
    ),
]
Allowance = Annotated[
    str,
    typer.Option(
        "--allowance",
        help="The outline is drawn with this seam allowance on: work on the stitching lines inside it. "
        "Two lengths, as 15mm, 0mm: of the neighbouring edges, and of the edge itself.",
        show_default=False,
    ),
]
StartAt = Annotated[
    str,
    typer.Option(
        "--start-at", help="The mark or corner of a closed outline where the first valley is.", show_default=False
    ),
]
RunName = Annotated[
    str, typer.Option("--run", help="The run of the drawing to add to, by its name.", show_default=False)
]


# ---------------------------------------------------------------- commands


@app.callback(invoke_without_command=True)
def _version(
    version: Annotated[bool, typer.Option("--version", help="Show the version and stop.")] = False,
) -> None:
    if version:
        typer.echo(f"scallopkit {__version__}")
        raise typer.Exit


@app.command()
def survey(file: File, report: Report = "") -> None:
    """Tell what a drawing holds: pieces, corners, edges and marks, with their sizes.

    Example: scallopkit survey blouse.svg
    """
    from .document.surveying import survey_entry, survey_tables
    from .document.workshop import read

    drawing = read(file)
    _write_report(survey_entry(drawing), report, file)
    _say(survey_tables(drawing, terminal=_terminal(report)), report)
    _warn(drawing.pattern.warnings)


@app.command()
def scallop(
    file: File,
    along: Along = "",
    width: Annotated[
        str, typer.Option("--width", help="How wide a scallop should be, valley to valley.", show_default=False)
    ] = "",
    count: Annotated[str, typer.Option("--count", help="How many there are to be.", show_default=False)] = "",
    min_width: Annotated[str, typer.Option("--min-width", help="No narrower than this.", show_default=False)] = "",
    max_width: Annotated[str, typer.Option("--max-width", help="No wider than this.", show_default=False)] = "",
    depth: Annotated[
        str,
        typer.Option("--depth", help="How far it bulges: a length, or a share of the width (40%).", show_default=False),
    ] = "",
    radius: Annotated[
        str, typer.Option("--radius", help="The arc's radius, instead of a depth.", show_default=False)
    ] = "",
    profile: Annotated[
        str,
        typer.Option(
            "--profile",
            help="arc, half-circle, pointed-arch, double-curve, wave, point, or motif:PIECE for a line of yours.",
            show_default=False,
        ),
    ] = "",
    touch: Annotated[
        str,
        typer.Option(
            "--touch", help="What lies on the edge: each scallop's valley, crest or middle.", show_default=False
        ),
    ] = "",
    side: Side = "",
    start: Start = "",
    end: End = "",
    hold: Hold = [],  # noqa: B006  # typer's way to say: none given
    step: Annotated[
        str,
        typer.Option(
            "--step", help="chord: equal straight widths; along: equal lengths along the edge.", show_default=False
        ),
    ] = "",
    keep: Annotated[
        str,
        typer.Option(
            "--keep", help="When the width must change: keep the shape, or the depth (the radius).", show_default=False
        ),
    ] = "",
    weights: Annotated[
        str, typer.Option("--weights", help="Sizes in turn (2,1), or growing (1..2).", show_default=False)
    ] = "",
    allowance: Allowance = "",
    corner: Corner = "",
    space: Annotated[str, typer.Option("--space", help="Flat stretch between two scallops.", show_default=False)] = "",
    start_at: StartAt = "",
    sharpest: Annotated[
        str, typer.Option("--sharpest", help="Warn of valleys sharper than this angle (15deg).", show_default=False)
    ] = "",
    name: Name = "",
    output: Output = None,
    in_place: InPlace = False,
    report: Report = "",
) -> None:
    """Fit whole scallops to an edge.

    Example: scallopkit scallop blouse.svg --along "front:c0..c1" --width 30mm --start fold
    """
    from .document.workshop import read
    from .document.workshop import scallop as make

    drawing = read(file)
    run = make(
        drawing,
        along,
        name=name,
        width=width,
        count=count,
        min_width=min_width,
        max_width=max_width,
        depth=depth,
        radius=radius,
        profile=profile,
        touch=touch,
        side=side,
        start=start,
        end=end,
        hold=hold,
        step=step,
        keep=keep,
        weights=weights,
        allowance=allowance,
        corner=corner,
        space=space,
        start_at=start_at,
        sharpest=sharpest,
    )
    _finish(drawing, [run], file, output, in_place, report)


@app.command()
def eyelets(
    file: File,
    run: RunName = "",
    along: Along = "",
    eyelet: Annotated[str, typer.Option("--eyelet", help="Clear opening inside.", show_default=False)] = "",
    flange: Annotated[str, typer.Option("--flange", help="Outer diameter.", show_default=False)] = "",
    barrel: Annotated[str, typer.Option("--barrel", help="Outside of its tube.", show_default=False)] = "",
    barrel_length: Annotated[str, typer.Option("--barrel-length", help="Length of its tube.", show_default=False)] = "",
    hole: Annotated[
        str, typer.Option("--hole", help="What is cut in the cloth, slightly under the barrel.", show_default=False)
    ] = "",
    every: Annotated[str, typer.Option("--every", help="One in every k-th scallop.", show_default=False)] = "",
    from_crest: Annotated[
        str, typer.Option("--from-crest", help="At this distance below the crest.", show_default=False)
    ] = "",
    margin: Annotated[
        str, typer.Option("--margin", help="Cloth left round the flange (6mm).", show_default=False)
    ] = "",
    spacing: Annotated[str, typer.Option("--spacing", help="Along an edge: how far apart.", show_default=False)] = "",
    count: Annotated[str, typer.Option("--count", help="Along an edge: how many.", show_default=False)] = "",
    ends: Annotated[
        str, typer.Option("--ends", help="Along an edge: from its ends to the first and last.", show_default=False)
    ] = "",
    inset: Annotated[str, typer.Option("--inset", help="Along an edge: how far inside it.", show_default=False)] = "",
    step: Annotated[str, typer.Option("--step", help="Along an edge: chord or along.", show_default=False)] = "",
    side: Side = "",
    start_at: StartAt = "",
    allowance: Allowance = "",
    name: Name = "",
    output: Output = None,
    in_place: InPlace = False,
    report: Report = "",
) -> None:
    """Set one eyelet a scallop on a run, or eyelets evenly along an edge.

    Example: scallopkit eyelets blouse-scalloped.svg --run "front:c0..c1" --eyelet 8mm --in-place
    """
    from .document.workshop import eyelets as make
    from .document.workshop import read

    drawing = read(file)
    made = make(
        drawing,
        along,
        run=run,
        name=name,
        eyelet=eyelet,
        flange=flange,
        barrel=barrel,
        barrel_length=barrel_length,
        hole=hole,
        every=every,
        from_crest=from_crest,
        margin=margin,
        spacing=spacing,
        count=count,
        ends=ends,
        inset=inset,
        step=step,
        side=side,
        start_at=start_at,
        allowance=allowance,
    )
    _finish(drawing, [made], file, output, in_place, report)


@app.command()
def notches(
    file: File,
    run: RunName = "",
    along: Along = "",
    at: Annotated[
        str,
        typer.Option("--at", help="valleys, crests, parts:4 (equal parts), or names of marks.", show_default=False),
    ] = "",
    every: Annotated[str, typer.Option("--every", help="Only every k-th.", show_default=False)] = "",
    kind: Annotated[
        str, typer.Option("--kind", help="snip, v (cut in) or triangle (left standing).", show_default=False)
    ] = "",
    length: Annotated[str, typer.Option("--length", help="How long (3mm).", show_default=False)] = "",
    on: Annotated[
        str, typer.Option("--on", help="edge, or scallops where the cloth is cut along them.", show_default=False)
    ] = "",
    side: Side = "",
    start_at: StartAt = "",
    allowance: Allowance = "",
    name: Name = "",
    output: Output = None,
    in_place: InPlace = False,
    report: Report = "",
) -> None:
    """Put match marks on a run or along an edge.

    Example: scallopkit notches blouse-scalloped.svg --run "front:c0..c1" --at crests --every 4 --in-place
    """
    from .document.workshop import notches as make
    from .document.workshop import read

    drawing = read(file)
    made = make(
        drawing,
        along,
        run=run,
        name=name,
        at=at,
        every=every,
        kind=kind,
        length=length,
        on=on,
        side=side,
        start_at=start_at,
        allowance=allowance,
    )
    _finish(drawing, [made], file, output, in_place, report)


@app.command()
def refit(file: File, output: Output = None, in_place: InPlace = False, report: Report = "") -> None:
    """Make every run of a drawing again, after its outlines were changed.

    Example: scallopkit refit blouse-scalloped.svg --in-place
    """
    from .document.tables import table
    from .document.workshop import read
    from .document.workshop import refit as again

    drawing = read(file)
    made = again(drawing)
    _save(drawing, [one.run for one in made], file, output, in_place, report)
    rows = [(one.run.name, one.change) for one in made]
    _say(table(("run", "change"), rows, terminal=_terminal(report)), report)


@app.command()
def demo(
    folder: Annotated[Path, typer.Argument(help="Where to put everything.")] = Path("scallopkit-demo"),
) -> None:
    """Draw the tea room's linen, trim it, and leave drawings, reports and pictures in a folder.

    Example: scallopkit demo
    """
    from .demo import run_demo

    typer.echo(run_demo(folder, terminal=sys.stdout.isatty()))


# ---------------------------------------------------------------- what commands share


def _finish(
    drawing: Drawing, runs: Sequence[Run], file: Path, output: Path | None, in_place: bool, report: str
) -> None:
    """Writes what was made and shows it."""
    from .document.summary import run_tables

    _save(drawing, runs, file, output, in_place, report)
    for run in runs:
        _say(run_tables(run, terminal=_terminal(report)), report)


def _save(drawing: Drawing, runs: Sequence[Run], file: Path, output: Path | None, in_place: bool, report: str) -> None:
    from .document.workshop import report_text, save

    target = _target(file, output, in_place)
    beside = None if report in ("", "-") else Path(report)
    if beside is not None and _same(beside, file):
        raise RequestError(f"--report {beside} would overwrite the drawing: give it another name")
    save(drawing, runs, target, report=beside)
    if report == "-":
        sys.stdout.write(report_text(drawing, runs))
    _say(f"wrote {target}" + (f" and {beside}" if beside else ""), report)
    _warn(drawing.pattern.warnings)
    for run in runs:
        _warn(run.warnings)


def _target(file: Path, output: Path | None, in_place: bool) -> Path:
    if in_place and output is not None:
        raise RequestError("give --output or --in-place, not both")
    if in_place:
        return file
    if output is None:
        return file.with_name(f"{file.stem}-scalloped.svg")
    if _same(output, file):
        raise RequestError(f"--output {output} is the drawing itself: use --in-place to write it back")
    return output


def _same(a: Path, b: Path) -> bool:
    return a.exists() and b.exists() and a.samefile(b)


def _write_report(entry: dict[str, Any], report: str, file: Path) -> None:
    if not report:
        return
    import json

    text = json.dumps(entry, indent=1, ensure_ascii=False, allow_nan=False) + "\n"
    if report == "-":
        sys.stdout.write(text)
        return
    if _same(Path(report), file):
        raise RequestError(f"--report {report} would overwrite the drawing: give it another name")
    from .document.atomic import write_atomic

    write_atomic(Path(report), text.encode())


def _terminal(report: str) -> bool:
    return (sys.stderr if report == "-" else sys.stdout).isatty()


def _say(text: str, report: str) -> None:
    """To stdout, or to stderr where stdout carries the report."""
    typer.echo(text, err=report == "-")


def _warn(warnings: Sequence[Warn]) -> None:
    for warning in warnings:
        typer.echo(f"warning ({warning.code}): {warning.message}", err=True)


def main() -> None:
    """Runs the command line; an error that the input or the request caused is one sentence and status 2.

    A fault of our own is one sentence too; the environment variable SCALLOPKIT_TRACE shows where it arose.
    """
    try:
        app()
    except ScallopkitError as error:
        typer.echo(f"scallopkit: {error}", err=True)
        raise SystemExit(2) from None
    except Exception as error:
        if os.environ.get("SCALLOPKIT_TRACE"):
            raise
        text = f"a fault of scallopkit itself ({type(error).__name__}: {error}), and nothing was written"
        typer.echo(f"scallopkit: {text}; please report it together with the drawing and the command", err=True)
        raise SystemExit(2) from None
