"""The command line: options in, one call to the library, tables and files out. No geometry lives here."""

from __future__ import annotations

import io
import os
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any, NoReturn

import typer

from . import __version__
from .cli_editors import app as editors_app
from .errors import RequestError, ScallopkitError
from .progress import progress, working

if TYPE_CHECKING:
    from collections.abc import Sequence

    from .document.cut_pieces import MadePiece
    from .document.drawing import Drawing
    from .document.matches import MadeMatch
    from .document.runs import Run
    from .document.straps import MadeStrap
    from .pattern.piece import Warn

app = typer.Typer(
    help="Fits whole scallops, eyelets and notches to the edges of sewing patterns drawn as SVG.",
    no_args_is_help=True,
    rich_markup_mode=None,
    pretty_exceptions_enable=False,
    context_settings={"help_option_names": ["-h", "--help"], "max_content_width": 100},
)

# ---------------------------------------------------------------- options that several commands share


def _option(*names: str, metavar: str, help: str) -> Any:  # noqa: A002, ANN401  # typer's own word and type
    """An option that is empty unless given."""
    return typer.Option(*names, metavar=metavar, help=help, show_default=False)


File = Annotated[
    Path, typer.Argument(metavar="FILE", help="The drawing, an SVG file at full size.", show_default=False)
]
Output = Annotated[
    Path | None,
    _option("--output", "-o", metavar="FILE", help="Where the drawing is written; else FILE-scalloped.svg."),
]
InPlace = Annotated[bool, typer.Option("--in-place", help="Write the drawing back to FILE.")]
Legend = Annotated[
    bool | None,
    typer.Option(
        "--legend/--no-legend",
        show_default=False,
        help="Give the drawing a legend and a square to test prints by, or none; else as before, at first with.",
    ),
]
Report = Annotated[
    str,
    _option("--report", metavar="FILE", help="Write all figures as JSON to this file; - for the screen."),
]
Name = Annotated[str, _option("--name", metavar="NAME", help="What the run is called; else as its edge.")]
Along = Annotated[
    str,
    _option(
        "--along",
        metavar="EDGE",
        help="The edge: PIECE, PIECE:FROM..TO or PIECE:FROM..VIA..TO, by marks and corners (`survey` lists them).",
    ),
]
Edges = Annotated[
    list[str],
    typer.Option(
        "--along",
        metavar="EDGE",
        help="The edge: PIECE, PIECE:FROM..TO or PIECE:FROM..VIA..TO, by marks and corners (`survey` lists them). "
        "Several times, in sewing order, for a run over several edges; EDGE:mirrored if the piece is drawn face down.",
        show_default=False,
    ),
]
Join = Annotated[
    list[str],
    typer.Option(
        "--join",
        metavar="KIND[:HOLD]",
        help="What lies between one --along and the next: seam, dart, fold, lap or butt, and what the scallops do "
        "there: valley, crest, pass or gap:8mm. As many joins as edges make a loop. A lap takes its width from --lap.",
        show_default=False,
    ),
]
Lap = Annotated[
    str,
    _option("--lap", metavar="WIDTH", help="How far either edge of a lap goes beyond the centre line, such as 15mm."),
]
Side = Annotated[
    str,
    _option("--side", metavar="SIDE", help="outward or inward of a closed outline; left or right of an open line."),
]
Start = Annotated[
    str,
    _option("--start", metavar="HOLD", help="At the start: valley, crest, gap:15mm, fold or fold:valley."),
]
End = Annotated[str, _option("--end", metavar="HOLD", help="At the end: as for --start.")]
Hold = Annotated[
    list[str],
    typer.Option(
        "--hold",
        metavar="MARK=HOLD",
        help="At a mark or corner on the way, MARK=valley, crest, pass or gap:15mm; may be repeated.",
    ),
]
Corner = Annotated[
    str,
    _option("--corner", metavar="KIND", help="At corners on the way: hold a valley, wrap a scallop round, or pass."),
]
Allowance = Annotated[
    str,
    _option(
        "--allowance",
        metavar="LENGTH",
        help="The outline is drawn with this seam allowance on: work on the stitching lines inside it. "
        "Two lengths, as 15mm, 0mm: of the neighbouring edges, and of the edge itself. An open line: at its ends.",
    ),
]
StartAt = Annotated[
    str,
    _option("--start-at", metavar="MARK", help="The mark or corner of a closed outline where the first valley is."),
]
Wearer = Annotated[
    str,
    _option(
        "--wearer",
        metavar="WHO",
        help='Who wears it, for cautions: adult, "child, under 3", "child, under 7" or "child, 7 to 14".',
    ),
]
RunName = Annotated[
    str,
    _option("--run", metavar="NAME", help="The run of the drawing to add to, by its name."),
]

Show = Annotated[
    list[str],
    typer.Option(
        "--show",
        metavar="LINES",
        help="Only these: outline, cutting, stitching, facing …; may be repeated.",
        show_default=False,
    ),
]
Hide = Annotated[
    list[str],
    typer.Option("--hide", metavar="LINES", help="All but these; may be repeated.", show_default=False),
]
OnlyPieces = Annotated[
    list[str],
    typer.Option(
        "--piece", metavar="PIECE", help="Only what belongs to this piece; may be repeated.", show_default=False
    ),
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
    """Tell what a drawing holds: pieces, corners, edges and marks, with their sizes, and which edges seem to be joined.

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
    along: Edges = [],  # noqa: B006  # typer's way to say: none given
    join: Join = [],  # noqa: B006  # typer's way to say: none given
    lap: Lap = "",
    width: Annotated[
        str,
        _option("--width", metavar="LENGTH", help="How wide a scallop should be, valley to valley."),
    ] = "",
    count: Annotated[str, _option("--count", metavar="NUMBER", help="How many there are to be.")] = "",
    min_width: Annotated[str, _option("--min-width", metavar="LENGTH", help="No narrower than this.")] = "",
    max_width: Annotated[str, _option("--max-width", metavar="LENGTH", help="No wider than this.")] = "",
    depth: Annotated[
        str,
        _option(
            "--depth", metavar="LENGTH|SHARE", help="How far it bulges: a length, or a share of the width; else 40%."
        ),
    ] = "",
    radius: Annotated[
        str,
        _option("--radius", metavar="LENGTH", help="The arc's radius, instead of a depth."),
    ] = "",
    profile: Annotated[
        str,
        _option(
            "--profile",
            metavar="PROFILE",
            help="arc, half-circle, pointed-arch, double-curve, wave, point, or motif:PIECE for a line of yours.",
        ),
    ] = "",
    touch: Annotated[
        str,
        _option("--touch", metavar="PART", help="What lies on the edge: each scallop's valley, crest or middle."),
    ] = "",
    side: Side = "",
    start: Start = "",
    end: End = "",
    hold: Hold = [],  # noqa: B006  # typer's way to say: none given
    step: Annotated[
        str,
        _option("--step", metavar="KIND", help="chord: equal straight widths; along: equal lengths along the edge."),
    ] = "",
    keep: Annotated[
        str,
        _option(
            "--keep", metavar="KIND", help="When the width must change: keep the shape, or the depth (the radius)."
        ),
    ] = "",
    weights: Annotated[
        str,
        _option("--weights", metavar="SIZES", help="Sizes in turn (2,1), or growing (1..2); --width is size 1."),
    ] = "",
    allowance: Allowance = "",
    corner: Corner = "",
    space: Annotated[str, _option("--space", metavar="LENGTH", help="Flat stretch between two scallops.")] = "",
    start_at: StartAt = "",
    sharpest: Annotated[
        str,
        _option("--sharpest", metavar="ANGLE", help="Warn of valleys sharper than this angle (15deg)."),
    ] = "",
    like: Annotated[
        str,
        _option("--like", metavar="RUN", help="As wide as the scallops of this run of the drawing, or by --ratio."),
    ] = "",
    ratio: Annotated[
        str, _option("--ratio", metavar="NUMBER", help="With --like: so many times as wide, as 2 or 0.5.")
    ] = "",
    same_width: Annotated[
        bool, typer.Option("--same-width", help="Tell what to let out or take in so that all spans get one width.")
    ] = False,
    true_up: Annotated[
        bool, typer.Option("--true-up", help="Follow the smooth line where edges meet at an angle once sewn.")
    ] = False,
    times: Annotated[
        str,
        _option("--times", metavar="NUMBER", help="How often the run is sewn, for the totals: 2 for left and right."),
    ] = "",
    finish: Annotated[
        str,
        _option("--finish", metavar="KIND", help="How the edge is finished: faced, bound, stitched or raw."),
    ] = "",
    cut: Annotated[
        str,
        _option(
            "--cut",
            metavar="KIND[:LENGTH]",
            help="Of a faced edge, where the cloth is cut: scalloped:6mm (beyond the stitching line) or straight:10mm "
            "(beyond the crests, to be trimmed after sewing).",
        ),
    ] = "",
    trim: Annotated[
        str,
        _option("--trim", metavar="LENGTH", help="Of a faced edge, the allowance left when it is clipped."),
    ] = "",
    stitch: Annotated[
        str, _option("--stitch", metavar="LENGTH", help="The stitch length wanted round the scallops (1.5mm).")
    ] = "",
    template: Annotated[
        str,
        _option("--template", metavar="NUMBER", help="Draw cards to trace by, with so many scallops on each."),
    ] = "",
    flat: Annotated[
        str, _option("--flat", metavar="FILE", help="Write a picture of the run laid flat as sewn (SVG or PNG).")
    ] = "",
    wearer: Wearer = "",
    name: Name = "",
    output: Output = None,
    in_place: InPlace = False,
    legend: Legend = None,
    report: Report = "",
) -> None:
    """Fit whole scallops to an edge, or to several edges as they will lie once sewn.

    Example: scallopkit scallop blouse.svg --along "front:c0..c1" --width 30mm --start fold

    Example: scallopkit scallop blouse.svg --along "back:fold..side" --join seam --along "front:side..c1" --width 30mm
    """
    from .document.workshop import read
    from .document.workshop import scallop as make

    drawing = read(file)
    with _about(drawing):
        run = make(
            drawing,
            along,
            join=join,
            lap=lap,
            name=name,
            wearer=wearer,
            like=like,
            ratio=ratio,
            same_width=same_width or None,
            true_up=true_up or None,
            times=times,
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
            finish=finish,
            cut=cut,
            trim=trim,
            stitch=stitch,
            template=template,
        )
    _finish(drawing, [run], file, output, in_place, report, flat, legend=legend)


@app.command()
def eyelets(
    file: File,
    run: RunName = "",
    along: Edges = [],  # noqa: B006  # typer's way to say: none given
    join: Join = [],  # noqa: B006  # typer's way to say: none given
    lap: Lap = "",
    part: Annotated[
        str, _option("--part", metavar="PART", help="What stands there: eyelet, buttonhole, snap or button (eyelet).")
    ] = "",
    eyelet: Annotated[
        str,
        _option(
            "--eyelet",
            metavar="LENGTH|NAME",
            help="Clear opening inside, or a usual eyelet: e4, e5, e5.5, e6.5, e8, e10, e12 or e14.",
        ),
    ] = "",
    flange: Annotated[str, _option("--flange", metavar="LENGTH", help="Outer diameter.")] = "",
    barrel: Annotated[str, _option("--barrel", metavar="LENGTH", help="Outside of its tube.")] = "",
    barrel_length: Annotated[str, _option("--barrel-length", metavar="LENGTH", help="Length of its tube.")] = "",
    hole: Annotated[
        str,
        _option("--hole", metavar="LENGTH", help="What is cut in the cloth, slightly under the barrel."),
    ] = "",
    button: Annotated[
        str, _option("--button", metavar="LENGTH", help="Of buttons and buttonholes: the button's diameter.")
    ] = "",
    button_thickness: Annotated[
        str,
        _option("--button-thickness", metavar="LENGTH", help="Of buttonholes: how thick the button is (3mm)."),
    ] = "",
    bulky: Annotated[bool, typer.Option("--bulky", help="Of buttonholes: 3 mm longer, for bulky cloth.")] = False,
    lies: Annotated[
        str, _option("--lies", metavar="WAY", help="Of buttonholes: along the edge, or across it (along).")
    ] = "",
    snap: Annotated[str, _option("--snap", metavar="LENGTH", help="Of snaps: their diameter.")] = "",
    every: Annotated[str, _option("--every", metavar="NUMBER", help="One in every k-th scallop.")] = "",
    from_crest: Annotated[
        str,
        _option("--from-crest", metavar="LENGTH", help="At this distance below the crest."),
    ] = "",
    margin: Annotated[str, _option("--margin", metavar="LENGTH", help="Cloth left round the flange (6mm).")] = "",
    spacing: Annotated[str, _option("--spacing", metavar="LENGTH", help="Along an edge: how far apart.")] = "",
    count: Annotated[str, _option("--count", metavar="NUMBER", help="Along an edge: how many.")] = "",
    ends: Annotated[
        str,
        _option(
            "--ends",
            metavar="LENGTH",
            help="Along an edge: from its ends to the first and last; else clear of them by the margin.",
        ),
    ] = "",
    inset: Annotated[str, _option("--inset", metavar="LENGTH", help="Along an edge: how far inside it.")] = "",
    step: Annotated[str, _option("--step", metavar="KIND", help="Along an edge: chord or along.")] = "",
    off: Annotated[
        str,
        _option(
            "--off",
            metavar="LENGTH",
            help="Along edges: how far flanges keep from seams, darts and the allowances pressed there, as --margin "
            "unless told; none leaves them where they fall.",
        ),
    ] = "",
    level_with: Annotated[
        str,
        _option(
            "--level-with",
            metavar="RUN",
            help="Along an edge: as many as in this run's row and at the same heights, where both edges of the "
            "opening face each other. Name the edge from the end at which that row starts.",
        ),
    ] = "",
    staggered: Annotated[
        bool,
        typer.Option(
            "--staggered",
            help="With --level-with: half way between the parts of that row, the first and the last pair level, so "
            "that a cord can wind up through both in a spiral.",
        ),
    ] = False,
    patch: Annotated[
        str, _option("--patch", metavar="LENGTH", help="Draw a patch to strengthen each, so far beyond its flange.")
    ] = "",
    layers: Annotated[
        str,
        _option("--layers", metavar="NUMBER", help="How many layers of cloth there are, facings and linings too."),
    ] = "",
    cloth_thickness: Annotated[
        str,
        _option("--cloth-thickness", metavar="LENGTH", help="How thick a layer is, to see that the tube is as long."),
    ] = "",
    cord: Annotated[
        str, _option("--cord", metavar="LENGTH", help="How thick the cord is at its thickest, the tip or a knot.")
    ] = "",
    passes: Annotated[
        str, _option("--passes", metavar="NUMBER", help="How often the cord goes through each eyelet (1).")
    ] = "",
    side: Side = "",
    start: Start = "",
    end: End = "",
    start_at: StartAt = "",
    allowance: Allowance = "",
    wearer: Wearer = "",
    name: Name = "",
    output: Output = None,
    in_place: InPlace = False,
    legend: Legend = None,
    report: Report = "",
) -> None:
    """Set one eyelet a scallop on a run, or eyelets, buttonholes, snaps or buttons evenly along edges.

    Example: scallopkit eyelets blouse-scalloped.svg --run "front:c0..c1" --eyelet 8mm --in-place

    Example: scallopkit eyelets blouse.svg --along "front:c0..c1" --part buttonhole --button 18mm --count 6
    """
    from .document.workshop import eyelets as make
    from .document.workshop import read

    drawing = read(file)
    with _about(drawing):
        made = make(
            drawing,
            along,
            join=join,
            lap=lap,
            run=run,
            name=name,
            wearer=wearer,
            part=part,
            eyelet=eyelet,
            flange=flange,
            barrel=barrel,
            barrel_length=barrel_length,
            hole=hole,
            button=button,
            button_thickness=button_thickness,
            bulky=bulky or None,
            lies=lies,
            snap=snap,
            every=every,
            from_crest=from_crest,
            margin=margin,
            spacing=spacing,
            count=count,
            ends=ends,
            inset=inset,
            step=step,
            off=off,
            level_with=level_with,
            staggered=staggered or None,
            patch=patch,
            layers=layers,
            cloth_thickness=cloth_thickness,
            cord=cord,
            passes=passes,
            side=side,
            start=start,
            end=end,
            start_at=start_at,
            allowance=allowance,
        )
    _finish(drawing, [made], file, output, in_place, report, legend=legend)


@app.command()
def notches(
    file: File,
    run: RunName = "",
    along: Along = "",
    at: Annotated[
        str,
        _option("--at", metavar="PLACES", help="valleys, crests, parts:4 (equal parts), or names of marks."),
    ] = "",
    every: Annotated[str, _option("--every", metavar="NUMBER", help="Only every k-th.")] = "",
    kind: Annotated[
        str,
        _option("--kind", metavar="KIND", help="snip, v (cut in) or triangle (left standing)."),
    ] = "",
    length: Annotated[str, _option("--length", metavar="LENGTH", help="How long (3mm).")] = "",
    on: Annotated[
        str,
        _option("--on", metavar="LINE", help="edge, or scallops where the cloth is cut along them."),
    ] = "",
    side: Side = "",
    start: Start = "",
    end: End = "",
    start_at: StartAt = "",
    allowance: Allowance = "",
    name: Name = "",
    output: Output = None,
    in_place: InPlace = False,
    legend: Legend = None,
    report: Report = "",
) -> None:
    """Put match marks on a run or along an edge.

    Example: scallopkit notches blouse-scalloped.svg --run "front:c0..c1" --at crests --every 4 --in-place
    """
    from .document.workshop import notches as make
    from .document.workshop import read

    drawing = read(file)
    with _about(drawing):
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
            start=start,
            end=end,
            start_at=start_at,
            allowance=allowance,
        )
    _finish(drawing, [made], file, output, in_place, report, legend=legend)


@app.command()
def facing(
    file: File,
    run: RunName = "",
    kind: Annotated[
        str, _option("--kind", metavar="KIND", help="shaped, a straight strip, or a band that binds the edge.")
    ] = "",
    depth: Annotated[str, _option("--depth", metavar="LENGTH", help="How deep it is (50mm).")] = "",
    across: Annotated[
        list[str],
        typer.Option(
            "--across",
            metavar="JOIN",
            help="A seam that it goes across in one piece, by its name in the table of joins, or all. May be repeated.",
        ),
    ] = [],  # noqa: B006  # typer's way to say: none given
    most_gap: Annotated[
        str,
        _option("--most-gap", metavar="LENGTH", help="Where pieces gape by more beside such a seam it stays (1mm)."),
    ] = "",
    seam: Annotated[str, _option("--seam", metavar="LENGTH", help="Allowance at its own seams and ends (15mm).")] = "",
    inner: Annotated[str, _option("--inner", metavar="LENGTH", help="Allowance of its inner edge (none).")] = "",
    turn: Annotated[
        str, _option("--turn", metavar="LENGTH", help="How much smaller it is at the crests, for the turn of cloth.")
    ] = "",
    interlining: Annotated[
        str, _option("--interlining", metavar="KIND", help="net (to the stitching line) or full (as it is cut).")
    ] = "",
    interlining_cloth: Annotated[
        str, _option("--interlining-cloth", metavar="NAME", help="What the interlining is cut from, for the label.")
    ] = "",
    longest: Annotated[
        str, _option("--longest", metavar="LENGTH", help="Of a strip or band, the longest that the cloth allows.")
    ] = "",
    cloth: Annotated[str, _option("--cloth", metavar="NAME", help="What it is cut from, for its label.")] = "",
    size: Annotated[str, _option("--size", metavar="NAME", help="The size, for its label.")] = "",
    output: Output = None,
    in_place: InPlace = False,
    legend: Legend = None,
    report: Report = "",
) -> None:
    """Draw the facing of a run of scallops beside the pattern, ready to be cut.

    Example: scallopkit facing blouse-scalloped.svg --run hem --depth 50mm --across all --in-place
    """
    from .document.summary import facing_tables
    from .document.workshop import facing as make
    from .document.workshop import read

    drawing = read(file)
    with _about(drawing):
        made = make(
            drawing,
            run,
            kind=kind,
            depth=depth,
            across=across,
            most_gap=most_gap,
            seam=seam,
            inner=inner,
            turn=turn,
            interlining=interlining,
            interlining_cloth=interlining_cloth,
            longest=longest,
            cloth=cloth,
            size=size,
        )
    _save(drawing, [made], file, output, in_place, report, legend=legend)
    _say(facing_tables(drawing, made, kind, terminal=_terminal(report)), report)


@app.command()
def lacing(
    file: File,
    run: RunName = "",
    with_row: Annotated[
        str,
        _option(
            "--with",
            metavar="ROW",
            help="The run whose eyelets face these across an opening; mirror where the piece is cut twice.",
        ),
    ] = "",
    path: Annotated[
        str,
        _option(
            "--path",
            metavar="PATH",
            help="Through two rows crossed, straight or spiral; through one running (in and out) or wrapped (over the "
            "edge).",
        ),
    ] = "",
    gap: Annotated[str, _option("--gap", metavar="LENGTH", help="How far the edges stand apart as worn (20mm).")] = "",
    thickness: Annotated[
        str, _option("--thickness", metavar="LENGTH", help="Of the cloth at each pass, all its layers (2mm).")
    ] = "",
    cord: Annotated[
        str, _option("--cord", metavar="LENGTH", help="How thick the cord is at its thickest part, tips included.")
    ] = "",
    ends: Annotated[
        str,
        _option("--ends", metavar="KIND", help="Tied in a bow (200mm of each end), a knot (30mm), or plain (none)."),
    ] = "",
    tails: Annotated[
        str, _option("--tails", metavar="LENGTH", help="What hangs of each end once it is tied (50mm).")
    ] = "",
    cords: Annotated[
        str, _option("--cords", metavar="NUMBER", help="Among how many cords the holes are shared out (1).")
    ] = "",
    underlay: Annotated[
        str,
        _option("--underlay", metavar="LENGTH", help="How far an underlay reaches under each side (25mm); 0 for none."),
    ] = "",
    underlay_allowance: Annotated[
        str,
        _option(
            "--underlay-allowance",
            metavar="LENGTH",
            help="What is cut beyond the underlay's stitching lines (the piece's seam allowance, or 10mm).",
        ),
    ] = "",
    channel: Annotated[
        str,
        _option("--channel", metavar="LENGTH", help="Draw a channel this wide for a bone beside the row."),
    ] = "",
    wearer: Wearer = "",
    output: Output = None,
    in_place: InPlace = False,
    legend: Legend = None,
    report: Report = "",
) -> None:
    """Lace the eyelets of a run: how long the cord is cut, drawn as worn beside the pattern.

    Example: scallopkit lacing front-scalloped.svg --run closing --with mirror --gap 20mm --in-place
    """
    from .document.workshop import lacing as make
    from .document.workshop import read

    drawing = read(file)
    with _about(drawing):
        made = make(
            drawing,
            run,
            wearer=wearer,
            with_row=with_row,
            path=path,
            gap=gap,
            thickness=thickness,
            cord=cord,
            ends=ends,
            tails=tails,
            cords=cords,
            underlay=underlay,
            underlay_allowance=underlay_allowance,
            channel=channel,
        )
    _finish(drawing, [made], file, output, in_place, report, legend=legend)


@app.command()
def trim(
    file: File,
    run: RunName = "",
    along: Edges = [],  # noqa: B006  # typer's way to say: none given
    join: Join = [],  # noqa: B006  # typer's way to say: none given
    lap: Lap = "",
    repeat: Annotated[str, _option("--repeat", metavar="LENGTH", help="How long the trim's repeat is.")] = "",
    width: Annotated[str, _option("--width", metavar="LENGTH", help="How wide the trim is (only a line).")] = "",
    offset: Annotated[
        str, _option("--offset", metavar="LENGTH", help="How far inside the edge its nearer line lies (0).")
    ] = "",
    motif: Annotated[
        str, _option("--motif", metavar="SHARE", help="Where in the repeat its motif's middle lies, 0 to 1 (0.5).")
    ] = "",
    start: Annotated[
        str,
        _option(
            "--start",
            metavar="HOLD",
            help="What lies at the start: a whole repeat begins, motif (the middle of one) or any; fold, fold:motif "
            "where the edge starts on a fold, gap:15mm to leave it bare.",
        ),
    ] = "",
    end: Annotated[str, _option("--end", metavar="HOLD", help="What lies at the end: as for --start.")] = "",
    take_up: Annotated[
        str,
        _option(
            "--take-up",
            metavar="HOW",
            help="How the rest is taken up: ease, stretch, seams, edge, hide:PLACE (a seam or an end), mitre or none; "
            "else by the gentler of ease and stretch.",
        ),
    ] = "",
    ease: Annotated[str, _option("--ease", metavar="SHARE", help="How much may be eased on (3%).")] = "",
    stretch: Annotated[str, _option("--stretch", metavar="SHARE", help="How much it may be stretched (1%).")] = "",
    move: Annotated[
        list[str],
        typer.Option(
            "--move",
            metavar="PLACE",
            help="A seam or a free end that may be moved; else all seams, or the free ends. May be repeated.",
        ),
    ] = [],  # noqa: B006  # typer's way to say: none given
    joins: Annotated[
        str, _option("--joins", metavar="LENGTH", help="Trim given to each join and each turned end (10mm).")
    ] = "",
    reserve: Annotated[
        str, _option("--reserve", metavar="LENGTH|SHARE", help="What is bought besides: a length, or a share.")
    ] = "",
    longest: Annotated[str, _option("--longest", metavar="LENGTH", help="How much is on the roll.")] = "",
    side: Side = "",
    allowance: Allowance = "",
    start_at: StartAt = "",
    true_up: Annotated[
        bool, typer.Option("--true-up", help="Follow the smooth line where edges meet at an angle once sewn.")
    ] = False,
    times: Annotated[
        str,
        _option("--times", metavar="NUMBER", help="How often the run is sewn, for the totals: 2 for left and right."),
    ] = "",
    name: Name = "",
    output: Output = None,
    in_place: InPlace = False,
    legend: Legend = None,
    report: Report = "",
) -> None:
    """Lay a bought trim with a fixed repeat along an edge: whole repeats, and how the rest can be taken up.

    Example: scallopkit trim valance.svg --along "valance:c3..c2" --repeat 32mm --width 20mm --offset 30mm
    """
    from .document.summary import trim_tables
    from .document.workshop import read
    from .document.workshop import trim as make

    drawing = read(file)
    with _about(drawing):
        made = make(
            drawing,
            along,
            join=join,
            lap=lap,
            run=run,
            name=name,
            repeat=repeat,
            width=width,
            offset=offset,
            motif=motif,
            start=start,
            end=end,
            take_up=take_up,
            ease=ease,
            stretch=stretch,
            move=move,
            joins=joins,
            reserve=reserve,
            longest=longest,
            side=side,
            allowance=allowance,
            start_at=start_at,
            true_up=true_up or None,
            times=times,
        )
    _save(drawing, [made], file, output, in_place, report, legend=legend)
    _say(trim_tables(made, terminal=_terminal(report)), report)


@app.command()
def cut(
    file: File,
    piece: Annotated[str, _option("--piece", metavar="PIECE", help="The piece; else every closed outline.")] = "",
    allowance: Annotated[
        str, _option("--allowance", metavar="LENGTH", help="Seam allowance beyond the drawn line (15mm).")
    ] = "",
    side: Annotated[
        list[str],
        typer.Option(
            "--side", metavar="EDGE=LENGTH", help="A side with an allowance of its own; 0mm on a fold. May be repeated."
        ),
    ] = [],  # noqa: B006  # typer's way to say: none given
    corners: Annotated[
        str,
        _option("--corners", metavar="KIND", help="How allowances meet at corners: mitred, squared or rounded."),
    ] = "",
    corner: Annotated[
        list[str],
        typer.Option(
            "--corner",
            metavar="CORNER=KIND",
            help="At one corner, as c2=rounded; turned:before or turned:after for the allowance of the side before or "
            "after it that will be turned back. May be repeated.",
        ),
    ] = [],  # noqa: B006  # typer's way to say: none given
    fold: Annotated[
        list[str],
        typer.Option("--fold", metavar="EDGE", help="A side on a fold; those of runs are known. May be repeated."),
    ] = [],  # noqa: B006  # typer's way to say: none given
    dart: Annotated[
        list[str],
        typer.Option("--dart", metavar="CORNER", help="A dart in a seam, by its point. May be repeated."),
    ] = [],  # noqa: B006  # typer's way to say: none given
    number: Annotated[str, _option("--number", metavar="NUMBER", help="How many to cut, for the label.")] = "",
    cloth: Annotated[str, _option("--cloth", metavar="NAME", help="What it is cut from, for the label.")] = "",
    size: Annotated[str, _option("--size", metavar="NAME", help="The size, for the label.")] = "",
    lining: Annotated[
        str,
        _option(
            "--lining",
            metavar="LENGTH",
            help="Draw a lining too, up to the inner edges of facings and so far beyond them (15mm).",
        ),
    ] = "",
    lining_cloth: Annotated[
        str, _option("--lining-cloth", metavar="NAME", help="What the lining is cut from, for its label.")
    ] = "",
    output: Output = None,
    in_place: InPlace = False,
    legend: Legend = None,
    report: Report = "",
) -> None:
    """Draw the cutting lines of pieces, with the cut of their scalloped edges, notches and labels.

    Example: scallopkit cut blouse-scalloped.svg --allowance 15mm --in-place
    """
    from .document.cut_pieces import piece_table
    from .document.summary import runs_on
    from .document.workshop import cut as make
    from .document.workshop import read

    drawing = read(file)
    with working(file.name), _about(drawing):
        made = make(
            drawing,
            piece,
            allowance=allowance,
            side=side,
            corners=corners,
            corner=corner,
            fold=fold,
            dart=dart,
            number=number,
            cloth=cloth,
            size=size,
            lining=lining,
            lining_cloth=lining_cloth,
        )
    _save(drawing, [], file, output, in_place, report, pieces=made, legend=legend)
    _say(runs_on(drawing, [one.name for one in made]), report)
    _say(piece_table(made, terminal=_terminal(report)), report)


@app.command()
def strap(
    file: File,
    name: Annotated[str, _option("--name", metavar="NAME", help="What the strap is called.")] = "",
    length: Annotated[str, _option("--length", metavar="LENGTH", help="How long it is when it is finished.")] = "",
    along: Annotated[
        str, _option("--along", metavar="EDGE|RUN", help="As long as this edge, or this run of the drawing.")
    ] = "",
    width: Annotated[
        str, _option("--width", metavar="LENGTH", help="How wide it is when it is finished; a binding, on one side.")
    ] = "",
    number: Annotated[str, _option("--number", metavar="NUMBER", help="How many of it are cut.")] = "",
    ends: Annotated[
        str, _option("--ends", metavar="LENGTH", help="Allowance at each end (10mm); of a cord what hangs (250mm).")
    ] = "",
    seam: Annotated[
        str,
        _option(
            "--seam", metavar="LENGTH", help="Allowance along its edges (10mm); a binding turns in its width there."
        ),
    ] = "",
    fold: Annotated[
        str,
        _option("--fold", metavar="HOW", help="How it is made: 2 (folded double), 1 (flat), bias (a binding) or cord."),
    ] = "",
    longest: Annotated[
        str, _option("--longest", metavar="LENGTH", help="The longest piece there can be; joined at 45 degrees.")
    ] = "",
    joins: Annotated[
        str, _option("--joins", metavar="LENGTH", help="Allowance where two pieces are joined (6mm).")
    ] = "",
    cloth: Annotated[str, _option("--cloth", metavar="NAME", help="What it is cut from, for the label.")] = "",
    window: Annotated[bool, typer.Option("--window", help="It hangs at a window: show the usual cautions.")] = False,
    wearer: Wearer = "",
    output: Output = None,
    in_place: InPlace = False,
    legend: Legend = None,
    report: Report = "",
) -> None:
    """Draw a strap, a band or a binding beside the pattern, ready to be cut, or tell how much cord is wanted.

    Example: scallopkit strap apron.svg --name ties --length 900mm --width 25mm --number 2
    """
    from .document.straps import strap_table
    from .document.summary import caution_lines
    from .document.workshop import read
    from .document.workshop import strap as make

    drawing = read(file)
    with _about(drawing):
        made = make(
            drawing,
            name=name,
            length=length,
            along=along,
            width=width,
            number=number,
            ends=ends,
            seam=seam,
            fold=fold,
            longest=longest,
            joins=joins,
            cloth=cloth,
            window=window or None,
            wearer=wearer,
        )
    _save(drawing, [], file, output, in_place, report, straps=(made,), legend=legend)
    _say(strap_table([made], terminal=_terminal(report)), report)
    _say(caution_lines([], made.cautions), report)


@app.command()
def match(
    file: File,
    a: Annotated[str, typer.Argument(metavar="A", help="An edge, or a run of the drawing.", show_default=False)],
    b: Annotated[str, typer.Argument(metavar="B", help="The edge or run that it is sewn to.", show_default=False)],
    pair: Annotated[
        list[str],
        typer.Option(
            "--pair",
            metavar="A-MARK=B-MARK",
            help="Places that meet: marks, corners, or lengths from the start. May be repeated; ends always meet.",
            show_default=False,
        ),
    ] = [],  # noqa: B006  # typer's way to say: none given
    turned: Annotated[bool, typer.Option("--turned", help="B runs the other way: its end meets A's start.")] = False,
    take_up: Annotated[
        list[str],
        typer.Option(
            "--take-up",
            metavar="[STRETCH=]HOW",
            help="What the longer edge does: ease, gathers, knife:3, box:3 or inverted:3 (so many pleats), darts:2, or "
            "edit (told, drawn at its end). For one stretch by its number or FROM..TO, else for all; may be repeated.",
            show_default=False,
        ),
    ] = [],  # noqa: B006  # typer's way to say: none given
    depth: Annotated[
        str,
        _option(
            "--depth",
            metavar="LENGTH",
            help="Of pleats: how far the visible fold lies over the cloth. Each takes up twice that, box and inverted "
            "ones four times.",
        ),
    ] = "",
    number: Annotated[str, _option("--number", metavar="NUMBER", help="Of pleats or darts in each stretch.")] = "",
    toward: Annotated[
        str, _option("--toward", metavar="WHERE", help="Where knife pleats are turned: start, end or centre.")
    ] = "",
    spacing: Annotated[
        str, _option("--spacing", metavar="LENGTH", help="From one pleat to the next as sewn; else even.")
    ] = "",
    margin: Annotated[
        str, _option("--margin", metavar="LENGTH", help="How far folded pleats keep from marks and ends.")
    ] = "",
    dart_length: Annotated[str, _option("--dart-length", metavar="LENGTH", help="How long darts are (90mm).")] = "",
    cloth: Annotated[
        str, _option("--cloth", metavar="KIND", help="What can be eased: woven (2.5%), wool (4%) or knit (none).")
    ] = "",
    most_ease: Annotated[
        str, _option("--most-ease", metavar="SHARE", help="How much can be eased, in % of the shorter edge.")
    ] = "",
    lines: Annotated[
        str, _option("--lines", metavar="HOW", help="Lines of pleats go in square to the edge, or along the grain.")
    ] = "",
    line_length: Annotated[str, _option("--line-length", metavar="LENGTH", help="How long they are (60mm).")] = "",
    notches: Annotated[
        str, _option("--notches", metavar="KIND", help="At each pair front-back (one in front, two behind), or none.")
    ] = "",
    phase: Annotated[
        str,
        _option(
            "--phase",
            metavar="LENGTH",
            help="How far beyond A's valleys those of B should lie as sewn (0: valley meets valley).",
        ),
    ] = "",
    phase_within: Annotated[
        str, _option("--phase-within", metavar="LENGTH", help="How far they may lie from there (0.5mm).")
    ] = "",
    bring: Annotated[
        bool,
        typer.Option(
            "--in-phase",
            help="Fit run B anew with its valleys there, over ease and pleats; its own width, count and holds yield.",
        ),
    ] = False,
    move: Annotated[
        list[str],
        typer.Option(
            "--move",
            metavar="RUN",
            help="Set the eyelets and notches of this run on A on B too, where they meet. May be repeated.",
            show_default=False,
        ),
    ] = [],  # noqa: B006  # typer's way to say: none given
    allowance: Allowance = "",
    output: Output = None,
    in_place: InPlace = False,
    legend: Legend = None,
    report: Report = "",
) -> None:
    """Match two edges that will be sewn together: what the longer one takes up, and where marks on both meet.

    Example: scallopkit match apron.svg band:side..centre skirt:side..centre --take-up knife:3 --toward end
    """
    from .document.match_figures import match_table
    from .document.summary import caution_lines
    from .document.workshop import in_phase, read
    from .document.workshop import match as make

    drawing = read(file)
    with _about(drawing):
        made = make(
            drawing,
            a,
            b,
            pair=pair,
            turned=turned or None,
            allowance=allowance,
            take_up=take_up,
            cloth=cloth,
            most_ease=most_ease,
            depth=depth,
            number=number,
            toward=toward,
            spacing=spacing,
            margin=margin,
            dart_length=dart_length,
            lines=lines,
            line_length=line_length,
            notches=notches,
            phase=phase,
            phase_within=phase_within,
            in_phase=bring or None,
            move=move,
        )
    _save(drawing, in_phase([], [made]), file, output, in_place, report, matches=(made,), legend=legend)
    _say(match_table([made], terminal=_terminal(report)), report)
    _say(caution_lines([], made.cautions), report)


@app.command()
def refit(
    file: File, output: Output = None, in_place: InPlace = False, legend: Legend = None, report: Report = ""
) -> None:
    """Make every run of a drawing again, after its outlines were changed.

    Example: scallopkit refit blouse-scalloped.svg --in-place
    """
    from .document.cut_changes import cut_changes
    from .document.parts_met import parts_met
    from .document.tables import table
    from .document.workshop import (
        change_of,
        in_phase,
        match_changes,
        read,
        recut,
        rematched,
        strap_changes,
        strapped,
    )
    from .document.workshop import refit as again

    drawing = read(file)
    with working(file.name):
        made = again(drawing)
        runs = [one.run for one in made]
        matches = rematched(drawing, runs)
        runs = in_phase(runs, matches)
        pieces, straps = recut(drawing, runs), strapped(drawing, runs)
    _save(drawing, runs, file, output, in_place, report, pieces=pieces, straps=straps, matches=matches, legend=legend)
    _warn(parts_met(runs))
    rows = [
        *((run.name, change_of(one.before, run)) for run, one in zip(runs, made, strict=True)),
        *cut_changes(drawing, pieces),
    ]
    rows += [*strap_changes(drawing, straps), *match_changes(drawing, matches)]
    _say(table(("run", "change"), rows, terminal=_terminal(report)), report)


@app.command()
def make(
    job: Annotated[
        Path | None, typer.Argument(metavar="JOB", help="The job file, in TOML.", show_default=False)
    ] = None,
    check_only: Annotated[
        bool, typer.Option("--check", help="Only tell whether the job can be made; write nothing.")
    ] = False,
    schema: Annotated[
        str,
        _option("--schema", metavar="FILE", help="Write the JSON Schema of job files, for editors that complete keys."),
    ] = "",
) -> None:
    """Make a whole job: every run that a job file states, on all its drawings.

    Example: scallopkit make waistcoat.toml
    """
    from .document.making import make_job, write_schema

    if schema:
        write_schema(Path(schema))
        typer.echo(f"wrote {schema}")
    if job is None:
        if schema:
            return
        raise RequestError("name the job file to make, as in: scallopkit make waistcoat.toml")
    with progress(job.name) as step:
        made = make_job(job, write=not check_only, terminal=sys.stdout.isatty(), step=step)
    typer.echo(made.text)
    _warn(made.warnings)
    if not made.ok:
        raise typer.Exit(1)


@app.command()
def check(
    file: File,
    limit: Annotated[
        list[str],
        typer.Option(
            "--limit",
            metavar="CODE=VALUE",
            help="Another limit for a rule of sewing, as turn-radius=5mm; thickness=0.5mm for the cloth's; it goes "
            "before those of the job that made the drawing. May be repeated.",
        ),
    ] = [],  # noqa: B006  # typer's way to say: none given
    every: Annotated[
        bool, typer.Option("--all", help="List every finding, not only what is broken or near its limit.")
    ] = False,
    report: Report = "",
) -> None:
    """Sew a trimmed drawing together on paper, measure every gap, and tell whether it can be sewn.

    Example: scallopkit check blouse-scalloped.svg
    """
    from .document.examining import examine, job_limits, limit_words, limits_line
    from .document.finding import check_entry, check_summary, check_tables, told_lines
    from .document.workshop import read

    drawing, given = read(file), limit_words(limit)
    kept = job_limits(drawing)
    with working(file.name):
        findings = examine(drawing.source, file.name, kept | given)
    _write_report(check_entry(findings), report, file)
    _say(told_lines([limits_line(kept, given)], _terminal(report)), report)
    tables = check_tables if every else check_summary
    _say(tables(findings, terminal=_terminal(report)), report)
    if not all(finding.ok for finding in findings):
        raise typer.Exit(1)


@app.command()
def paper(
    file: File,
    output: Annotated[
        Path | None, _option("--output", "-o", metavar="FILE", help="Where the pages are written; else FILE.pdf.")
    ] = None,
    page: Annotated[
        str,
        _option(
            "--page",
            metavar="SIZE",
            help="A4, A3, A2, A1, A0, Letter, Legal, Tabloid, roll:610mm, or width x height as 30cm x 40cm (A4).",
        ),
    ] = "A4",
    way: Annotated[
        str, _option("--way", metavar="WAY", help="upright, lying, or any: whichever takes fewer pages (any).")
    ] = "any",
    margin: Annotated[
        str, _option("--margin", metavar="LENGTH", help="What the printer leaves white on all sides (10mm).")
    ] = "",
    overlap: Annotated[
        str, _option("--overlap", metavar="LENGTH", help="How far neighbouring pages show the same (10mm).")
    ] = "",
    show: Show = [],  # noqa: B006  # typer's way to say: none given
    hide: Hide = [],  # noqa: B006  # typer's way to say: none given
    piece: OnlyPieces = [],  # noqa: B006  # typer's way to say: none given
    black: Annotated[bool, typer.Option("--black", help="All lines in black; their dashes tell them apart.")] = False,
    weight: Annotated[
        str, _option("--weight", metavar="KIND", help="Lines as wide as their kind is (role), or all hairline.")
    ] = "role",
    title: Annotated[str, _option("--title", metavar="TEXT", help="What the first page is called.")] = "",
    dated: Annotated[bool, typer.Option("--dated", help="Write today's date on the first page.")] = False,
    arrange: Annotated[
        bool, typer.Option("--arrange", help="Move pieces about on the sheet where that takes fewer pages.")
    ] = False,
) -> None:
    """Print a drawing at full size, on as many pages as it needs.

    Example: scallopkit paper blouse-scalloped.svg --page A4
    """
    from datetime import date

    from .document.atomic import write_all_atomic
    from .document.paper import PaperWish, page_names
    from .document.paper import paper as made_on
    from .document.workshop import read

    target = output if output is not None else file.with_suffix(".pdf")
    if _same(target, file):
        raise RequestError(f"--output {target} would overwrite the drawing: give it another name")
    drawing = read(file)
    day = date.today() if dated else None
    wish = PaperWish(
        page, way, margin, overlap, tuple(show), tuple(hide), tuple(piece), black, weight, title, day, arrange
    )
    with progress(file.name) as step:
        made = made_on(drawing, wish, step=step)
    write_all_atomic({target: made.data})
    tiles = made.tiling
    typer.echo(f"wrote {target}")
    size = f"{tiles.page.width:g} x {tiles.page.height:g} mm"
    typer.echo(f"a first page to measure, and {len(tiles.tiles)} of {tiles.page.name}, {size}: {page_names(tiles)}")
    if made.arranged:
        typer.echo(made.arranged)
    _warn(drawing.pattern.warnings)
    _warn(made.warnings)


@app.command()
def cutter(
    file: File,
    output: Annotated[
        Path | None,
        _option("--output", "-o", metavar="FILE", help="Where it is written, .dxf or .svg; else FILE.dxf."),
    ] = None,
    lines: Annotated[
        str,
        _option("--lines", metavar="KIND", help="polylines, or curves (splines in DXF); else polylines in DXF only."),
    ] = "",
    within: Annotated[
        str, _option("--within", metavar="LENGTH", help="How far polylines may lie off the curves (0.05mm).")
    ] = "",
    show: Show = [],  # noqa: B006  # typer's way to say: none given
    hide: Hide = [],  # noqa: B006  # typer's way to say: none given
    piece: OnlyPieces = [],  # noqa: B006  # typer's way to say: none given
) -> None:
    """Write a drawing for a plotter or a cutting machine, with a layer for each kind of line.

    Example: scallopkit cutter blouse-scalloped.svg --show cutting --show notch
    """
    from .document.atomic import write_all_atomic
    from .document.cutter import cutter as made_for
    from .document.workshop import read

    target = output if output is not None else file.with_suffix(".dxf")
    if _same(target, file):
        raise RequestError(f"--output {target} would overwrite the drawing: give it another name")
    drawing = read(file)
    with working(file.name):
        data = made_for(drawing, target.suffix, kind=lines, within=within, show=show, hide=hide, pieces=piece)
    write_all_atomic({target: data})
    typer.echo(f"wrote {target}")
    _warn(drawing.pattern.warnings)


@app.command()
def sheet(
    file: File,
    output: Annotated[
        Path | None,
        _option("--output", "-o", metavar="FILE", help="Where it is written, .html or .pdf; else FILE-sheet.html."),
    ] = None,
    pdf: Annotated[Path | None, _option("--pdf", metavar="FILE", help="Write it as PDF to this file too.")] = None,
    page: Annotated[str, _option("--page", metavar="SIZE", help="Of its pages in print: A4 or Letter (A4).")] = "",
    title: Annotated[str, _option("--title", metavar="TEXT", help="Its heading; else the drawing's name.")] = "",
    minutes: Annotated[
        list[str],
        typer.Option(
            "--minutes",
            metavar="NAME=NUMBER",
            help="How long one takes, as scallop=2.5 or seam=6 (a metre); guesses unless told. May be repeated.",
            show_default=False,
        ),
    ] = [],  # noqa: B006  # typer's way to say: none given
    price: Annotated[
        list[str],
        typer.Option(
            "--price",
            metavar="NAME=NUMBER",
            help="What one costs, as eyelet=0.2, cloth=18 (a square metre), cord=1.2 (a metre). May be repeated.",
            show_default=False,
        ),
    ] = [],  # noqa: B006  # typer's way to say: none given
    currency: Annotated[str, _option("--currency", metavar="NAME", help="What prices are in, as EUR.")] = "",
    without: Annotated[
        list[str],
        typer.Option(
            "--without", metavar="NAME", help="Compare with the same work without these, as eyelet.", show_default=False
        ),
    ] = [],  # noqa: B006  # typer's way to say: none given
    cloth_width: Annotated[
        list[str],
        typer.Option(
            "--cloth-width",
            metavar="[NAME=]LENGTH",
            help="How wide cloth is: 1400mm, or linen=1400mm for one; pieces are laid on it, and its length told. May "
            "be repeated.",
            show_default=False,
        ),
    ] = [],  # noqa: B006  # typer's way to say: none given
    cloth_lies: Annotated[
        str, _option("--cloth-lies", metavar="HOW", help="single, or folded lengthwise; else whichever takes less.")
    ] = "",
    one_way: Annotated[
        bool, typer.Option("--one-way", help="The cloth has a nap or a print: nothing is turned upside down.")
    ] = False,
    shrinkage: Annotated[
        str, _option("--shrinkage", metavar="SHARE", help="What cloth may shrink by (5%); wash a sample.")
    ] = "",
) -> None:
    """Write the make sheet of a drawing: what to cut and to buy, the order of work, hours and cost.

    Example: scallopkit sheet blouse-scalloped.svg --price eyelet=0.2 --currency EUR --cloth-width 1400mm
    """
    from .document.atomic import write_all_atomic
    from .document.cloth_needed import ClothWords
    from .document.sheeting import sheet_of
    from .document.workshop import read

    target = output if output is not None else file.with_name(f"{file.stem}-sheet.html")
    targets = [target, *([pdf] if pdf is not None else [])]
    for option, one in zip(("--output", "--pdf"), targets, strict=False):
        if _same(one, file):
            raise RequestError(f"{option} {one} would overwrite the drawing: give it another name")
    if pdf is not None and pdf.suffix.lower() != ".pdf":
        raise RequestError(f"--pdf {pdf}: the name of a PDF ends in .pdf")
    drawing = read(file)
    for option, word in (("--cloth-lies", cloth_lies), ("--one-way", one_way), ("--shrinkage", shrinkage)):
        if word and not cloth_width:
            raise RequestError(f"{option} goes with a width of cloth: give --cloth-width 1400mm too")
    cloths = ClothWords(tuple(cloth_width), cloth_lies, one_way, shrinkage) if cloth_width else None
    with working(file.name):
        made = sheet_of(drawing, title, minutes, price, currency, without, cloths)
        files = {target: made.as_file(target.suffix, page) for target in targets}
    write_all_atomic({file: data for file, (data, _) in files.items()})
    for written in files:
        typer.echo(f"wrote {written}")
    typer.echo(made.told)
    _warn(drawing.pattern.warnings)
    for _, warnings in files.values():
        _warn(warnings)


@app.command()
def demo(
    folder: Annotated[Path, typer.Argument(metavar="FOLDER", help="Where to put everything.")] = Path(
        "scallopkit-demo"
    ),
) -> None:
    """Draw the tea room's linen, trim it, and leave drawings, reports and pictures in a folder.

    Example: scallopkit demo
    """
    from .demo import run_demo

    with progress("demo") as step:
        told = run_demo(folder, terminal=sys.stdout.isatty(), step=step)
    typer.echo(told)


app.add_typer(editors_app, name="editors")


@app.command()
def bridge() -> None:
    """Answer a request of an editor's macro: one JSON object in on stdin, one out on stdout (see the README).

    Example: scallopkit bridge
    """
    from .editors.bridge import served

    typer.echo(served(sys.stdin.buffer.read()))


# ---------------------------------------------------------------- what commands share


def _finish(
    drawing: Drawing,
    runs: Sequence[Run],
    file: Path,
    output: Path | None,
    in_place: bool,
    report: str,
    flat: str = "",
    legend: bool | None = None,
) -> None:
    """Writes what was made and shows it."""
    from .document.summary import caution_lines, run_tables

    _save(drawing, runs, file, output, in_place, report, flat, legend=legend)
    for run in runs:
        _say(run_tables(drawing, run, terminal=_terminal(report)), report)
    _say(caution_lines(runs), report)


def _save(
    drawing: Drawing,
    runs: Sequence[Run],
    file: Path,
    output: Path | None,
    in_place: bool,
    report: str,
    flat: str = "",
    pieces: Sequence[MadePiece] = (),
    straps: Sequence[MadeStrap] = (),
    matches: Sequence[MadeMatch] = (),
    legend: bool | None = None,
) -> None:
    from .document.sheet_places import off_page
    from .document.workshop import pieces_anew, refuse_loss, report_text, save

    with _about(drawing):
        again = pieces_anew(drawing, runs, [made.name for made in pieces], matches)
    pieces = [*pieces, *again]
    target = _target(file, output, in_place)
    beside = None if report in ("", "-") else Path(report)
    if beside is not None and _same(beside, file):
        raise RequestError(f"--report {beside} would overwrite the drawing: give it another name")
    if output is None and not in_place:
        refuse_loss(target, drawing, runs, pieces, straps, matches)
    picture = Path(flat) if flat else None
    if picture is not None and _same(picture, file):
        raise RequestError(f"--flat {picture} would overwrite the drawing: give it another name")
    save(
        drawing,
        runs,
        target,
        report=beside,
        flat=picture,
        pieces=pieces,
        straps=straps,
        matches=matches,
        legend=legend,
    )
    if report == "-":
        text = report_text(drawing, runs, ascii_only=True, pieces=pieces, straps=straps, matches=matches)
        sys.stdout.write(text)
    written = [str(path) for path in (target, beside, picture) if path is not None]
    _say("wrote " + " and ".join(written), report)
    if again:
        # Loaded only where pieces are cut.
        from .document.cut_changes import drawn_again

        _say(drawn_again(drawing, again), report)
    _warn(drawing.pattern.warnings)
    for run in runs:
        _warn(run.warnings)
    _warn(off_page(drawing, runs))
    told = [warning for run in runs for warning in run.warnings]
    for made in pieces:
        _warn([warning for warning in made.warnings if warning not in told])
    for match in matches:
        _warn(match.warnings)
    if straps:
        from .document.straps import straps_off_page

        _warn(straps_off_page(target.read_bytes(), target.name, straps))


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

    text = json.dumps(entry, indent=1, ensure_ascii=report == "-", allow_nan=False) + "\n"
    if report == "-":
        sys.stdout.write(text)
        return
    if _same(Path(report), file):
        raise RequestError(f"--report {report} would overwrite the drawing: give it another name")
    from .document.atomic import write_atomic

    write_atomic(Path(report), text.encode())


@contextmanager
def _about(drawing: Drawing) -> Iterator[None]:
    """A refusal on a drawing that may be of another size than it says is told together with that."""
    try:
        yield
    except ScallopkitError as error:
        doubts = [w.message for w in drawing.pattern.warnings if w.code in ("no-units", "unlikely-size")]
        if doubts:
            raise type(error)(f"{error} (and mind: {doubts[0]})") from None
        raise


def _terminal(report: str) -> bool:
    return (sys.stderr if report == "-" else sys.stdout).isatty()


def _say(text: str, report: str) -> None:
    """To stdout, or to stderr where stdout carries the report; nothing where there is nothing to say."""
    if text:
        typer.echo(text, err=report == "-")


def _warn(warnings: Sequence[Warn]) -> None:
    for warning in warnings:
        typer.echo(f"warning ({warning.code}): {warning.message}", err=True)


def main() -> None:
    """Runs the command line; an error that the input or the request caused is one sentence and status 2.

    A fault of our own is one sentence too; the environment variable SCALLOPKIT_TRACE shows where it arose.
    """
    for stream in (sys.stdout, sys.stderr):
        # A screen that can't show a letter of a name gets its number instead of a fault.
        if isinstance(stream, io.TextIOWrapper):
            stream.reconfigure(errors="backslashreplace")
    try:
        app()
    except ScallopkitError as error:
        _stop(str(error))
    except Exception as error:
        if os.environ.get("SCALLOPKIT_TRACE"):
            raise
        _stop(
            f"a fault of scallopkit itself ({type(error).__name__}: {error}); "
            "please report it together with the drawing and the command"
        )


def _stop(sentence: str) -> NoReturn:
    typer.echo(f"scallopkit: {' '.join(sentence.split())}", err=True)
    raise SystemExit(2) from None
