"""The demo: a tea room's linen and uniforms, drawn, trimmed by the commands themselves, and pictured.

All measurements are invented.
"""

from __future__ import annotations

import contextlib
import io
import shlex
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

from .demo_apron import APRON_JOB, apron
from .demo_captions import CAPTIONS, TITLES
from .demo_felt import FELT_COMMANDS, felt
from .demo_page import Part, Shown, demo_page
from .demo_waistcoat import waistcoat
from .errors import OutputError
from .progress import Step

if TYPE_CHECKING:
    from .document.drawing import Drawing

_HEAD = (
    '<?xml version="1.0" encoding="UTF-8"?>\n'
    '<svg xmlns="http://www.w3.org/2000/svg" xmlns:inkscape="http://www.inkscape.org/namespaces/inkscape"\n'
    "     {size}>\n"
    "  <title>{title}</title>\n"
)
_OUTLINE = "fill:none;stroke:#000000;stroke-width:{width}"
# Of a piece that is drawn as it is cut besides: thin, so that no one takes the outline for the cutting line.
_NET = "fill:none;stroke:#767676;stroke-width:0.35"
_MARK = "fill:#000000;stroke:none"


def tablecloth() -> str:
    """A round tablecloth, 1600 mm across, drawn as one quarter on two folds."""
    return (
        _HEAD.format(
            size='width="1860mm" height="900mm" viewBox="-20 -20 1860 900"', title="Round tablecloth, a quarter"
        )
        + f'  <path id="quarter" style="{_NET}" d="M 0,0 H 800 A 800 800 0 0 1 0,800 Z"/>\n'
        '  <g id="marks" inkscape:groupmode="layer" inkscape:label="marks">\n'
        f'    <circle id="fold-across" cx="800" cy="0" r="1.5" style="{_MARK}"/>\n'
        f'    <circle id="fold-down" cx="0" cy="800" r="1.5" style="{_MARK}"/>\n'
        "  </g>\n"
        "</svg>\n"
    )


def napkin() -> str:
    """A napkin 420 mm square, drawn in inches, on a scaled page, inside turned and moved groups."""
    side = 420.0 / 25.4
    half = side / 2.0
    return (
        _HEAD.format(size='width="20in" height="20in" viewBox="0 0 10 10"', title="Napkin, in inches at half scale")
        + '  <g transform="translate(5,5) scale(0.5)" inkscape:groupmode="layer" inkscape:label="linen">\n'
        f'    <g transform="rotate(90) translate({-half:.9f},{-half:.9f})">\n'
        f'      <rect id="napkin" width="{side:.9f}" height="{side:.9f}" style="{_OUTLINE.format(width=0.03)}"/>\n'
        "    </g>\n"
        "  </g>\n"
        "</svg>\n"
    )


def front() -> str:
    """A waistcoat's front in one piece, its outline drawn with 15 mm seam allowance on."""
    outline = (
        "M 30,590 L 30,320 C 30,230 72,120 112,40 L 218,72 C 196,150 186,246 266,292 "
        "L 250,548 C 180,566 104,584 30,590 Z"
    )
    return (
        _HEAD.format(size='width="300mm" height="640mm" viewBox="0 0 300 640"', title="Front, with allowance")
        + f'  <path id="front" style="{_NET}" d="{outline}"/>\n'
        '  <path id="grain" style="display:none" d="M 140,200 V 460"/>\n'
        '  <g id="marks" inkscape:groupmode="layer" inkscape:label="marks">\n'
        f'    <circle id="hem-front" cx="30" cy="590" r="1.5" style="{_MARK}"/>\n'
        f'    <circle id="hem-side" cx="250" cy="548" r="1.5" style="{_MARK}"/>\n'
        f'    <circle id="shoulder" cx="218" cy="72" r="1.5" style="{_MARK}"/>\n'
        f'    <circle id="underarm" cx="266" cy="292" r="1.5" style="{_MARK}"/>\n'
        "  </g>\n"
        "</svg>\n"
    )


def valance() -> str:
    """A window valance, one straight edge of 1380 mm."""
    return (
        _HEAD.format(size='width="1420mm" height="420mm" viewBox="0 0 1420 420"', title="Window valance")
        + f'  <rect id="valance" x="20" y="20" width="1380" height="240" style="{_OUTLINE.format(width=0.7)}"/>\n'
        "</svg>\n"
    )


WAISTCOAT_JOB = """\
# The staff's waistcoat: the hem from the fold to the front edge, the armhole, and the laced front, ready to be cut.
pattern = "waistcoat.svg"
output = "waistcoat-scalloped.svg"
report = "waistcoat.json"

[paper]
page = "A4"
title = "Staff waistcoat"

[cutter]
show = ["cutting", "facing", "interlining", "notch", "clip", "wedge", "eyelet"]

[sheet]
title = "Staff waistcoat"
without = "eyelet"

# Prices and minutes are invented: put your own here.
[prices]
currency = "EUR"
cloth = 18
eyelet = 0.2
cord = 1.2
thread = 0.01
hour = 32

[minutes]
scallop = 2.5
eyelet = 1.2
piece = 6

[cloth]
name = "linen"
width = "1400mm"

[cut]
allowance = "15mm"
size = "38"

[[piece]]
piece = "front"
number = 2
dart = "c6"

[defaults.finish]
finish = "faced"
cut = "scalloped:6mm"

[[run]]
name = "hem"
edges = [
    "back:hem-fold..dart-in",
    "back:dart-out..hem-side",
    "front:hem-side..dart-out",
    "front:dart-in..hem-front",
]
joins = ["dart", "seam", "dart"]
start = "fold:pass"
true_up = true
flat = "waistcoat-hem-flat.svg"
[run.scallop]
width = "24mm"
depth = "35%"
[[run.facing]]
depth = "50mm"
across = "hem-side"
interlining = "net"
[run.template]
strip = 1

[[run]]
name = "armhole"
edges = ["front:underarm..shoulder", "back:shoulder..underarm"]
joins = ["seam", "seam"]
times = 2
flat = "waistcoat-armhole-flat.svg"
[run.scallop]
like = "hem"
ratio = 0.8
depth = "30%"
touch = "crest"
[[run.facing]]
depth = "45mm"

[[run]]
name = "closing"
edges = ["front:hem-front..c11"]
[[run.eyelet]]
eyelet = "5mm"
count = 8
[run.lacing]
path = "crossed"
with = "mirror"
gap = "20mm"
"""


VALANCE_JOB = """\
# The window's valance: fifteen scallops with an eyelet each, lace above them that nobody can stretch, and a cord.
pattern = "valance.svg"
output = "valance-scalloped.svg"
report = "valance.json"

[cloth]
name = "linen"

[[run]]
name = "hem"
edges = "valance:c3..c2"
[run.scallop]
width = "92mm"
depth = "40%"
[[run.eyelet]]
eyelet = "8mm"
[run.trim]
repeat = "32mm"
width = "20mm"
offset = "30mm"
take_up = "seams"
reserve = "5%"

[[run]]
name = "quarters"
edges = "valance:c0..c1"
[[run.notch]]
at = "parts:4"

[[strap]]
name = "cord"
along = "hem"
fold = "cord"
ends = "400mm"
window = true
"""


PAGE = "index.html"
# What is seen round the pages in their picture, mm.
_BORDER = 8.0


@dataclass(frozen=True)
class Scene:
    """One drawing of the demo, the commands done on it, and the part of it to look at closely (mm).

    A job file lies beside the drawing where there is one, `flats` are the pictures of runs laid flat, and `more` are
    further parts to look at closely, by name.
    """

    name: str
    draw: str
    commands: tuple[str, ...]
    close_up: tuple[float, float, float, float]
    job: str = ""
    flats: tuple[str, ...] = ()
    more: tuple[tuple[str, tuple[float, float, float, float]], ...] = ()

    @property
    def pictures(self) -> tuple[str, ...]:
        """Names of its pictures, in the order in which they are shown."""
        more = [*(name for name, _ in self.more), *(["pages"] if self.has_pages else [])]
        return (self.name, f"{self.name}-close", *self.flats, *(f"{self.name}-{name}" for name in more))

    @property
    def has_pages(self) -> bool:
        """Whether its job prints it."""
        return "[paper]" in self.job


SCENES = (
    Scene(
        "tablecloth",
        tablecloth(),
        (
            'scallop tablecloth.svg --along "quarter:fold-across..fold-down" --width 80mm --depth 35% '
            "--start fold --end fold --name hem --finish faced --cut straight:10mm --trim 6mm --template 1 "
            "-o tablecloth-scalloped.svg",
            "cut tablecloth-scalloped.svg --cloth damask --in-place",
            "facing tablecloth-scalloped.svg --run hem --depth 60mm --in-place --report tablecloth.json",
        ),
        (600.0, -20.0, 900.0, 280.0),
    ),
    Scene(
        "napkin",
        napkin(),
        (
            "scallop napkin.svg --width 30mm --depth 33.3333% --corner wrap --name edge "
            "-o napkin-scalloped.svg --report napkin.json",
        ),
        (20.0, 20.0, 170.0, 170.0),
    ),
    Scene(
        "front",
        front(),
        (
            'scallop front.svg --along "front:hem-front..hem-side" --allowance 15mm --width 24mm --name hem '
            "-o front-scalloped.svg",
            'scallop front-scalloped.svg --along "front:shoulder..underarm" --allowance 15mm --width 20mm '
            "--depth 30% --touch crest --name armhole --in-place --report front.json",
        ),
        (10.0, 500.0, 290.0, 630.0),
    ),
    Scene(
        "waistcoat",
        waistcoat(),
        ("make waistcoat.toml", "check waistcoat-scalloped.svg"),
        (20.0, 380.0, 300.0, 500.0),
        WAISTCOAT_JOB,
        ("waistcoat-hem-flat", "waistcoat-armhole-flat"),
        (
            ("valley", (60.0, 440.0, 120.0, 480.0)),
            ("join", (200.0, 430.0, 330.0, 490.0)),
            ("dart", (90.0, 430.0, 170.0, 490.0)),
            ("corner", (470.0, 440.0, 560.0, 510.0)),
            ("facing", (600.0, 0.0, 1140.0, 260.0)),
        ),
    ),
    Scene(
        "valance",
        valance(),
        ("make valance.toml", "check valance-scalloped.svg"),
        (10.0, 180.0, 400.0, 320.0),
        VALANCE_JOB,
    ),
    Scene(
        "apron",
        apron(),
        ("make apron.toml", "check apron-scalloped.svg"),
        (40.0, 60.0, 400.0, 360.0),
        APRON_JOB,
        more=(("flap", (620.0, 40.0, 800.0, 180.0)),),
    ),
    Scene(
        "felt",
        felt(),
        FELT_COMMANDS,
        (20.0, 40.0, 240.0, 220.0),
        more=(("cards", (620.0, 0.0, 760.0, 120.0)),),
    ),
)


def run_demo(folder: Path, terminal: bool = False, step: Step | None = None) -> str:
    """Draws, trims and pictures every scene in `folder`, tells each to `step`, and tells what to open.

    Raises:
        OutputError: the folder can't be made or written.
        ScallopkitError: a command was refused.
    """
    folder = Path(folder)
    try:
        folder.mkdir(parents=True, exist_ok=True)
    except OSError as error:
        raise OutputError(f"the folder {folder} can't be made ({error.strerror}): name another one") from None
    told = []
    for k, scene in enumerate(SCENES):
        if step is not None:
            step(k, len(SCENES), scene.name)
        told += _play(scene, folder)
    (folder / PAGE).write_bytes(demo_page(page_parts()))
    pictures = ", ".join(f"{name}.png" for scene in SCENES for name in (scene.name, *scene.flats))
    told.append(
        f"Open in {folder}: {PAGE}, which shows all pictures, or {pictures}; the drawings end in -scalloped.svg, the "
        "reports in .json."
    )
    return "\n".join(told)


def page_parts() -> list[Part]:
    """What the page shows of every scene."""
    return [_part(scene) for scene in SCENES]


def _part(scene: Scene) -> Part:
    title, told = TITLES[scene.name]
    files = [f"{scene.name}.svg", *([f"{scene.name}.toml"] if scene.job else [])]
    files += [f"{scene.name}-scalloped.svg", f"{scene.name}.json"]
    ends = (("[paper]", ".pdf"), ("[cutter]", ".dxf"), ("[sheet]", "-sheet.html"))
    files += [f"{scene.name}-scalloped{end}" for table, end in ends if table in scene.job]
    shown = [
        Shown(f"{name}.png", CAPTIONS[name].seen, CAPTIONS[name].told, _made_by(scene, CAPTIONS[name].parts))
        for name in scene.pictures
    ]
    return Part(scene.name, title, told, tuple(files), tuple(shown))


def _made_by(scene: Scene, parts: tuple[str, ...]) -> str:
    """The commands of a scene, with the text of its job file where it has one; or of both only these parts."""
    if scene.job:
        tables = scene.job.rstrip().split("\n\n")
        chosen = [table for table in tables if any(_tells(table, part) for part in parts)] if parts else tables
        heading = f"# in {scene.name}.toml\n" if parts else f"# {scene.name}.toml\n"
        commands = scene.commands[:1] if parts else scene.commands
        return "\n".join(f"scallopkit {command}" for command in commands) + f"\n\n{heading}" + "\n\n".join(chosen)
    chosen = [one for one in scene.commands if not parts or any(_names(one, part) for part in parts)]
    return "\n\n".join(f"scallopkit {command}" for command in chosen)


def _tells(table: str, part: str) -> bool:
    return table.startswith(part) or f'\nname = "{part}"\n' in table


def _names(command: str, part: str) -> bool:
    return any(f"{option} {part} " in f"{command} " for option in ("--name", "--run", "--piece"))


def _play(scene: Scene, folder: Path) -> list[str]:
    from .document.atomic import write_all_atomic
    from .document.picture import cropped, to_png
    from .document.reader import read_drawing

    write_all_atomic({folder / f"{scene.name}.svg": scene.draw.encode()})
    if scene.job:
        write_all_atomic({folder / f"{scene.name}.toml": scene.job.encode()})
    told = [f"== {scene.name}"]
    for command in scene.commands:
        told += [f"$ scallopkit {command}", _command(command, folder)]
    data = (folder / f"{scene.name}-scalloped.svg").read_bytes()
    drawing = read_drawing(data, scene.name)
    pictures = {f"{scene.name}.png": data}
    for name, box in (("close", scene.close_up), *scene.more):
        pictures[f"{scene.name}-{name}.png"] = cropped(data, box, drawing.to_mm)
    pictures |= {f"{flat}.png": (folder / f"{flat}.svg").read_bytes() for flat in scene.flats}
    if scene.has_pages:
        pictures[f"{scene.name}-pages.png"] = _first_pages(folder / f"{scene.name}.toml", drawing)
    write_all_atomic({folder / name: to_png(drawn, 1400, "white") for name, drawn in pictures.items()})
    return told


def _first_pages(job: Path, drawing: Drawing) -> bytes:
    """The page to measure, and the first two of the pages that a job prints, side by side."""
    from .document.job import read_job
    from .document.paper import paper
    from .document.picture import cropped
    from .document.svg_pages import BETWEEN, SvgPages
    from .geometry.motion import IDENTITY

    asked = read_job(job).patterns[0].outputs.paper
    assert asked is not None  # noqa: S101  # the demo's own job
    made = paper(drawing, asked.wish, SvgPages())
    page = made.tiling.page
    # As far apart as the pages lie; a border shows where they end.
    box = (-_BORDER, -_BORDER, 3.0 * page.width + 2.0 * BETWEEN + _BORDER, page.height + _BORDER)
    rims = "".join(
        f'<rect x="{k * (page.width + BETWEEN)}" y="0" width="{page.width}" height="{page.height}" fill="none" '
        'stroke="#999999" stroke-width="0.5"/>'
        for k in range(3)
    )
    return cropped(made.data.replace(b"</svg>", rims.encode() + b"</svg>"), box, IDENTITY)


def _command(command: str, folder: Path) -> str:
    """Runs one command line as if typed in the folder, and gives what it printed."""
    from .cli import app

    words = [str(folder / word) if word.endswith((".svg", ".json", ".toml")) else word for word in shlex.split(command)]
    printed = io.StringIO()
    with contextlib.redirect_stdout(printed), contextlib.redirect_stderr(printed):
        app(words, standalone_mode=False)
    return printed.getvalue().rstrip()
