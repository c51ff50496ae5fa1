"""The command line: what each command prints and writes, and how every kind of bad input ends."""

from __future__ import annotations

import json
import os
import re
import shlex
import subprocess
import sys
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

import pytest
import typer
from lxml import etree

from scallopkit import __version__
from scallopkit.cli import app, main
from scallopkit.demo import napkin
from scallopkit.document.kept import LEGEND
from scallopkit.document.layer import read_groups

from .drawings import LINE, QUARTER, marks, page

COMMANDS = typer.main.get_command(app).commands  # type: ignore[attr-defined]  # a group of commands
# Words that tell the reader of an error what to do about it.
CURE = re.compile(
    r"\b(add|ask for|at most|can be|check|choose|draw|give|leave|make|must be|name|not both|on it are|or|remove|"
    r"save|say|take|takes|there are|this drawing has|ungroup|use|write)\b|`survey`|--[a-z]"
)


@dataclass(frozen=True)
class Ended:
    """How a command ended: its exit status, and what it said where."""

    status: int
    out: str
    err: str


Runner = Callable[..., Ended]


@pytest.fixture
def run(tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]) -> Runner:
    """Runs a command line in this process, in a folder that holds `a.svg` and `r.svg`, a drawing with a run."""
    monkeypatch.chdir(tmp_path)
    Path("a.svg").write_text(page(f"{LINE}{marks(dart=('110', '20'))}"))  # type: ignore[arg-type]  # written as they are

    def command(line: str) -> Ended:
        monkeypatch.setattr(sys, "argv", ["scallopkit", *shlex.split(line)])
        with pytest.raises(SystemExit) as ended:
            main()
        said = capsys.readouterr()
        code = ended.value.code
        return Ended(code if isinstance(code, int) else int(code is not None), said.out, said.err)

    assert command("scallop a.svg --width 60mm -o r.svg").status == 0
    assert command("eyelets a.svg --eyelet 8mm --count 6 --name row -o e.svg").status == 0
    Path("p.svg").write_text(page('<path id="a" d="M 10,20 H 190"/><path id="b" d="M 10,60 H 190"/>'))
    Path("c.svg").write_text(page(FRONTS))
    Path("j.toml").write_text(
        'pattern = "a.svg"\noutput = "j.svg"\nreport = "j.json"\n[[run]]\nedges = ["hem"]\nflat = "f.svg"\n'
        "[run.scallop]\nwidth = 30\n"
    )
    return command


def listing(folder: Path = Path()) -> dict[str, tuple[bytes, int]]:
    """Every file with its bytes and its time: what a command that was refused must leave as it was."""
    return {
        str(path): (path.read_bytes(), path.stat().st_mtime_ns) for path in sorted(folder.rglob("*")) if path.is_file()
    }


# --- every command --------------------------------------------------------------------------------------------------

TABLE = [
    # command line, what it prints, what it writes
    ("survey a.svg", ["piece\toutline\tsize mm\tlength mm\talso called", "hem\topen\t300.0 x 0.0\t300.00\t"], []),
    ("survey r.svg", ["run in the drawing", "hem"], []),
    ("survey a.svg --report s.json", ["hem\topen"], ["s.json"]),
    ("scallop a.svg --width 30mm", ["wrote a-scalloped.svg", "run hem: 300.00 mm, 10 scallops"], ["a-scalloped.svg"]),
    ("scallop a.svg --along hem --count 12 -o b.svg", ["wrote b.svg", "12\t25.000\t0.00%"], ["b.svg"]),
    (
        "scallop a.svg --width 1,2in --report b.json",
        ["wrote a-scalloped.svg and b.json"],
        ["a-scalloped.svg", "b.json"],
    ),
    ("scallop a.svg --width 30 --in-place", ["wrote a.svg"], ["a.svg"]),
    ("scallop a.svg --width 25 --hold dart=valley", ["start (valley)\tdart (valley)\t100.00\t4"], ["a-scalloped.svg"]),
    ("scallop a.svg --count 9.5 --start fold", ["9.5 scallops", "start (crest)\tend (valley)"], ["a-scalloped.svg"]),
    ("eyelets r.svg --run hem --eyelet 8mm -o b.svg", ["5 eyelets: opening 8 mm", "caution: Metal"], ["b.svg"]),
    ("eyelets a.svg --eyelet 8 --count 4 --inset 2cm", ["run eyelets: 300.00 mm", "4 eyelets"], ["a-scalloped.svg"]),
    ("notches r.svg --run hem --at crests --in-place", ["5 notches (snip), 3 mm"], ["r.svg"]),
    (
        "notches a.svg --along hem --at dart --kind v",
        ["run hem notches: 300.00 mm", "1 notch (v)"],
        ["a-scalloped.svg"],
    ),
    ("refit r.svg --in-place", ["run\tchange", "hem\tunchanged"], []),
    ("check r.svg", ["hem: 9 findings, all as promised\n"], []),
    ("check r.svg --all", ["run\tcheck\twhere", "hem\twhole\trun\t5\t5\tok"], []),
    ("check r.svg --report c.json", ["hem: 9 findings"], ["c.json"]),
    ("make j.toml", ["wrote j.svg, j.json, f.svg", "run hem: 300.00 mm, 10 scallops"], ["j.svg", "j.json", "f.svg"]),
    (
        "cut c.svg --allowance 1cm --number 2",
        ["wrote c-scalloped.svg", "piece\tallowances mm\tcut mm\tnotches\tlabel", "left\t10\t520.0\t0\tcut 2, a pair"],
        ["c-scalloped.svg"],
    ),
    (
        "cut c.svg --piece left --side left:c0..c1=2cm --fold left:c3..c0 --cloth linen --size 38 --in-place",
        ["wrote c.svg", "left\t0, 15, 20\t", "\t0\tcut 1 on the fold, linen, size 38"],
        ["c.svg"],
    ),
    (
        "cut c.svg --piece right -o b.svg --report b.json",
        ["wrote b.svg and b.json", "right\t15\t580.0\t0\t"],
        ["b.svg", "b.json"],
    ),
    (
        "scallop a.svg --width 30 --finish faced --cut scalloped:5mm --trim 4mm --stitch 2mm",
        ["finish faced: cut scalloped, 5 mm beyond the stitching line; at 4 mm 9 clips", "stitches: 20 of 2.02 mm"],
        ["a-scalloped.svg"],
    ),
    (
        "scallop a.svg --width 30 --finish faced --template 2",
        ["hem card 1: ", "strip of 2"],
        ["a-scalloped.svg"],
    ),
    (
        "facing r.svg --run hem --depth 6cm --interlining net --in-place --report f.json",
        ["hem facing: shaped, 300.0 mm long, 60 mm deep"],
        ["r.svg", "f.json"],
    ),
    (
        "lacing e.svg --run row --path running --wearer adult -o b.svg",
        ["laced running: 6 holes, 5 runs", "cut 1 cord of", "caution: Cords and drawstrings can catch"],
        ["b.svg"],
    ),
    ("facing r.svg --kind strip --depth 6cm -o b.svg", ["hem facing: strip, 300.0 mm long"], ["b.svg"]),
    ("scallop a.svg --width 30 --finish raw", ["finish raw: cut on the line"], ["a-scalloped.svg"]),
    ("make j.toml --check", ["j.toml can be made; nothing was written"], []),
    ("make --schema s.json", ["wrote s.json"], ["s.json"]),
    ("scallop a.svg --width 30 --flat f.png", ["wrote a-scalloped.svg and f.png"], ["a-scalloped.svg", "f.png"]),
    (
        "scallop p.svg --along a --along b --join butt:valley --width 30 --times 2",
        ["12 scallops", "butt\ta:end/b:start"],
        ["p-scalloped.svg"],
    ),
    (
        "scallop p.svg --along a --along b --join lap --lap 15mm --width 30",
        ["run a to b: 330.00 mm, 11 scallops", "lap\ta:end/b:start\t165.00"],
        ["p-scalloped.svg"],
    ),
    ("refit r.svg -o b.svg --report b.json", ["wrote b.svg and b.json"], ["b.svg", "b.json"]),
    (
        "trim r.svg --run hem --repeat 32mm --take-up seams --in-place",
        ["9 repeats of 32 mm on 300.00 mm", "seams (taken)\t9\t-12.00\ttake in 6.00 mm at start (hem)"],
        ["r.svg"],
    ),
    ("strap c.svg --length 30cm --width 1cm --number 2", ["strap\t2\t300.0\t320.0\t40\t2\t640"], ["c-scalloped.svg"]),
    ("editors pack -o e.zip", ["wrote e.zip"], ["e.zip"]),
    ("paper r.svg", ["wrote r.pdf", "a first page to measure, and 2 of A4, 210 x 297 mm: A1, A2"], ["r.pdf"]),
    ("paper r.svg -o p.pdf --page '11in x 17in' --show stitching --black --title Hem", ["wrote p.pdf"], ["p.pdf"]),
    ("paper r.svg -o a.pdf --arrange", ["wrote a.pdf", "the pieces are left where they are drawn"], ["a.pdf"]),
    ("cutter r.svg", ["wrote r.dxf"], ["r.dxf"]),
    ("sheet r.svg", ["wrote r-sheet.html", "0.21 hours"], ["r-sheet.html"]),
    ("sheet r.svg -o s.html --cloth-width 1m", ["wrote s.html", "0.21 hours"], ["s.html"]),
    (
        "sheet e.svg -o s.html --price eyelet=0.5 --minutes eyelet=2 --currency EUR --without eyelet",
        ["as drawn: 0.20 hours, 3.00 EUR", "without eyelet: 0.00 hours"],
        ["s.html"],
    ),
    ("cutter r.svg -o c2.svg --lines polylines --within 0.1mm --hide outline", ["wrote c2.svg"], ["c2.svg"]),
    (
        "match p.svg a b --pair 50=50 --report m.json",
        ["match a to b: 180.00 mm to 180.00 mm", "start\t50\t50.00\t50.00\t0.00"],
        ["p-scalloped.svg", "m.json"],
    ),
]


@pytest.mark.parametrize(("line", "printed", "written"), TABLE, ids=[row[0] for row in TABLE])
def test_what_a_command_prints_and_writes(line: str, printed: list[str], written: list[str], run: Runner) -> None:
    before = listing()
    ended = run(line)
    assert (ended.status, ended.err) == (0, "")
    for text in printed:
        assert text in ended.out
    after = listing()
    assert {name for name in after if after[name][0] != before.get(name, (b"", 0))[0]} == set(written)
    # Plain text in a pipe: no codes that steer a terminal, no aligned columns.
    assert "\x1b" not in ended.out + ended.err
    assert "---" not in ended.out


def test_the_demo_is_one_command_too(run: Runner, monkeypatch: pytest.MonkeyPatch) -> None:
    """What it draws is tested by itself; here a scene short of pictures would only cost time."""
    monkeypatch.setattr("scallopkit.demo.SCENES", ())
    ended = run("demo here")
    assert (ended.status, ended.err) == (0, "")
    assert "Open in here" in ended.out
    assert Path("here").is_dir()


def test_no_command_is_missing_from_the_table() -> None:
    # The bridge talks to editors; its tests are with theirs.
    assert {row[0].split()[0] for row in TABLE} | {"demo", "bridge"} == set(COMMANDS)


EVERYWHERE = {"-o", "--output", "--in-place", "--report", "--legend", "--no-legend"}
EDGE = {"--along", "--side", "--start-at", "--allowance", "--name"}
OPTIONS = {
    "survey": {"--report"},
    "scallop": EVERYWHERE
    | EDGE
    | {
        *("--width", "--count", "--min-width", "--max-width", "--depth", "--radius", "--profile", "--touch"),
        *("--start", "--end", "--hold", "--step", "--keep", "--weights", "--corner", "--space"),
        *("--join", "--lap", "--like", "--ratio", "--same-width", "--true-up", "--times", "--flat"),
        *("--finish", "--cut", "--trim", "--stitch", "--template", "--wearer"),
    },
    "eyelets": EVERYWHERE | EDGE | {"--run", "--eyelet", "--flange", "--every", "--count", "--wearer"},
    "notches": EVERYWHERE | EDGE | {"--run", "--at", "--every"},
    "cut": EVERYWHERE
    | {
        *("--piece", "--allowance", "--side", "--corners", "--corner", "--fold", "--dart"),
        *("--number", "--cloth", "--size", "--lining"),
    },
    "facing": EVERYWHERE
    | {
        *("--run", "--kind", "--depth", "--across", "--most-gap", "--seam", "--inner", "--turn", "--interlining"),
        *("--longest", "--cloth"),
    },
    "trim": EVERYWHERE
    | EDGE
    | {
        *("--run", "--join", "--lap", "--repeat", "--width", "--offset", "--motif", "--start", "--end", "--take-up"),
        *("--ease", "--stretch", "--move", "--joins", "--reserve", "--longest", "--true-up", "--times"),
    },
    "strap": EVERYWHERE
    | {
        *("--name", "--length", "--along", "--width", "--number", "--ends", "--seam", "--fold", "--longest"),
        *("--joins", "--cloth", "--window", "--wearer"),
    },
    "lacing": EVERYWHERE
    | {
        *("--run", "--with", "--path", "--gap", "--thickness", "--cord", "--ends", "--tails", "--cords", "--underlay"),
        *("--underlay-allowance", "--channel", "--wearer"),
    },
    "match": EVERYWHERE
    | {
        *("--pair", "--turned", "--take-up", "--depth", "--number", "--toward", "--spacing", "--margin", "--cloth"),
        *("--most-ease", "--dart-length", "--lines", "--line-length", "--notches", "--phase", "--move", "--allowance"),
    },
    "refit": EVERYWHERE,
    "make": {"--check", "--schema"},
    "check": {"--report", "--limit", "--all"},
    # A group of commands, with tests of their own.
    "editors": set(),
    "paper": {
        *("-o", "--output", "--page", "--way", "--margin", "--overlap", "--show", "--hide", "--piece", "--black"),
        *("--weight", "--title", "--dated", "--arrange"),
    },
    "sheet": {
        "-o",
        "--output",
        "--title",
        "--minutes",
        "--price",
        "--currency",
        "--without",
        "--cloth-width",
        "--cloth-lies",
        "--one-way",
        "--shrinkage",
    },
    "cutter": {"-o", "--output", "--lines", "--within", "--show", "--hide", "--piece"},
    "demo": set(),
    "bridge": set(),
}


@pytest.mark.parametrize("command", OPTIONS)
def test_every_promised_option_is_there(command: str) -> None:
    there = {one for parameter in COMMANDS[command].params for one in (*parameter.opts, *parameter.secondary_opts)}
    assert there >= OPTIONS[command]


def test_every_command_s_options_are_promised() -> None:
    assert set(OPTIONS) == set(COMMANDS)


@pytest.mark.parametrize("command", OPTIONS)
@pytest.mark.parametrize("flag", ["--help", "-h"])
def test_help_shows_an_example_and_plain_words(command: str, flag: str, run: Runner) -> None:
    ended = run(f"{command} {flag}")
    assert (ended.status, ended.err) == (0, "")
    assert f"Example: scallopkit {command}" in " ".join(ended.out.split())
    # A length in the help has its unit, as a maker writes it; no names of the code show through.
    assert not re.search(r"\b(float|None|Path|str|lambda|(?<!double-)curve|segment|Newton)\b", ended.out)
    assert "\x1b" not in ended.out


@pytest.mark.parametrize("command", OPTIONS)
def test_the_example_of_the_help_can_be_read(command: str) -> None:
    """Its drawing is not there, but its words are those of the command."""
    words = shlex.split((COMMANDS[command].help or "").split("Example: scallopkit ")[1])
    context = COMMANDS[command].make_context(command, words[1:])
    assert words[0] == command
    assert context.args == []


# --- reports --------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("line", "key", "table"),
    [
        ("survey a.svg --report -", "pieces", "hem\topen"),
        ("scallop a.svg --width 30mm --report -", "runs", "or scallops\twidth mm"),
        ("eyelets r.svg --run hem --eyelet 8 --report -", "runs", "5 eyelets"),
        ("notches r.svg --run hem --at crests --report -", "runs", "5 notches"),
        ("refit r.svg --report -", "runs", "run\tchange"),
        ("cut c.svg --report -", "pieces", "piece\tallowances mm"),
    ],
)
def test_a_report_to_the_screen_is_all_that_stdout_holds(line: str, key: str, table: str, run: Runner) -> None:
    ended = run(line)
    assert ended.status == 0
    assert json.loads(ended.out)[key]
    assert json.loads(ended.out)["input"] == line.split()[1]
    assert table in ended.err


def test_the_report_in_a_file_is_the_one_on_the_screen(run: Runner) -> None:
    shown = run("scallop a.svg --width 30mm --report -").out
    run("scallop a.svg --width 30mm --report b.json")
    assert Path("b.json").read_text() == shown


def test_warnings_go_to_stderr_and_leave_the_status(run: Runner) -> None:
    Path("w.svg").write_text(
        page(LINE + '<path id="near" d="M 10,15 H 310"/>' + '<g id="marks"><circle id="x" r="1"/></g>')
    )
    ended = run("scallop w.svg --along hem --width 30mm")
    assert ended.status == 0
    assert re.search(r"^warning \([a-z-]+\): .*near", ended.err, re.MULTILINE)
    surveyed = run("survey w.svg")
    assert "stray-mark" in surveyed.out + surveyed.err


def test_runs_are_added_and_replaced(run: Runner) -> None:
    run("scallop r.svg --width 30mm --name second --in-place")
    assert [group.name for group in read_groups(Path("r.svg").read_bytes())] == ["hem", "the legend", "second"]
    run("scallop r.svg --width 50mm --in-place")
    assert [group.name for group in read_groups(Path("r.svg").read_bytes())] == ["hem", "the legend", "second"]


def test_a_check_holds_the_limits_of_the_job(run: Runner) -> None:
    job = f"{Path('j.toml').read_text()}[run.finish]\nfinish = 'faced'\n"
    Path("j.toml").write_text(job)
    Path("l.toml").write_text(f"{job}[limits]\nturn-radius = '20mm'\nlong-stitch = '1mm'\n")
    assert run("make l.toml").status == 1
    ended = run("check j.svg")
    assert ended.status == 1
    told = "limits as the drawing's job has set them: "
    assert ended.out.startswith(f"{told}turn-radius 20mm, long-stitch 1mm\n")
    assert "source of the limit of turn-radius: your own; the usual limit is at least 6 mm" in ended.out
    ended = run("check j.svg --limit turn-radius=5mm --report -")
    assert ended.status == 1
    assert ended.err.startswith(f"{told}long-stitch 1mm\n")
    assert [one["what"] for one in json.loads(ended.out)["findings"] if not one["ok"]] == ["long-stitch"]
    ended = run("check j.svg --limit turn-radius=5mm --limit long-stitch=3mm")
    assert ended.status == 0
    assert "limits as" not in ended.out
    sheet = run("sheet j.svg")
    assert sheet.status == 0
    assert f"{told}turn-radius 20mm, long-stitch 1mm\n" in sheet.out
    # Those of a job that has none are the usual ones.
    assert run("make j.toml").status == 0
    assert "limits as" not in run("check j.svg").out


def test_damaged_limits_are_told_in_a_sentence_and_nothing_is_written(run: Runner) -> None:
    Path("l.toml").write_text(f"{Path('j.toml').read_text()}[limits]\nturn-radius = '20mm'\n")
    run("make l.toml")
    Path("j.svg").write_bytes(Path("j.svg").read_bytes().replace(b"20mm", b"wide"))
    before = listing()
    for line in ("check j.svg --report c.json", "sheet j.svg"):
        ended = run(line)
        assert ended.status == 2
        assert ended.err.count("\n") == 1
        assert "the limits that j.svg keeps of its job can't be read: run `make` again" in ended.err
    assert listing() == before


def test_the_legend_can_be_left_out(run: Runner) -> None:
    for options, there in (("", True), ("--no-legend", False), ("", False), ("--legend", True)):
        run(f"scallop r.svg --width 30mm --name second --in-place {options}")
        assert ("test square" in Path("r.svg").read_text()) is there


# --- what is refused ------------------------------------------------------------------------------------------------

BOMB = """<?xml version="1.0"?><!DOCTYPE svg [<!ENTITY a "aaaaaaaaaa"><!ENTITY b "&a;&a;&a;&a;&a;&a;&a;&a;&a;&a;">
<!ENTITY c "&b;&b;&b;&b;&b;&b;&b;&b;&b;&b;">]><svg xmlns="http://www.w3.org/2000/svg"><text>&c;</text></svg>"""
OUTSIDE = """<?xml version="1.0"?><!DOCTYPE svg [<!ENTITY a SYSTEM "file:///etc/passwd">]>
<svg xmlns="http://www.w3.org/2000/svg"><text>&a;</text></svg>"""

BAD_FILES = {
    "not XML": ("This is a letter.", "not well-formed"),
    "half a file": (page(LINE)[:-9], "not well-formed"),
    "empty": ("", "is empty"),
    "blank": ("  \n ", "is empty"),
    "no SVG": ("<html><body/></html>", "no SVG"),
    "no namespace": ("<svg><path d='M0,0H9'/></svg>", "xmlns"),
    "entities in entities": (BOMB, "entit"),
    "outside entity": (OUTSIDE, "external entity"),
    "no outline": (page(""), "no outline"),
    "empty path": (page('<path id="hem" d=""/>'), "no outline"),
    "one point": (page('<path id="hem" d="M 10,10"/>'), "no outline"),
    "no length": (page('<path id="hem" d="M 10,10 L 10,10 Z"/>'), "no outline"),
    "not a number": (page('<path id="hem" d="M 10,10 L NaN,30"/>'), ""),
    "beyond all size": (page('<path id="hem" d="M 10,10 L 1e300,30"/>'), ""),
    "infinite": (page('<path id="hem" d="M 10,10 L 1e999,30"/>'), ""),
    "shorter than a scallop": (page('<path id="hem" d="M 10,10 h 8"/>'), ""),
    "compressed": ("\x1f\x8b\x08 not really", "compressed"),
}


def assert_refused(ended: Ended, said: str = "") -> None:
    assert ended.status == 2
    assert ended.out == ""
    assert ended.err.startswith("scallopkit: ")
    assert ended.err.count("\n") == 1
    assert ended.err.endswith("\n")
    assert said in ended.err
    assert "Traceback" not in ended.err
    assert "fault of scallopkit" not in ended.err
    assert CURE.search(ended.err), f"tells no way out: {ended.err}"


@pytest.mark.parametrize("name", BAD_FILES)
def test_a_drawing_that_can_t_be_used(name: str, run: Runner) -> None:
    text, said = BAD_FILES[name]
    Path("bad.svg").write_bytes(text.encode("latin-1"))
    before = listing()
    assert_refused(run("scallop bad.svg --width 30mm --min-width 20mm --report b.json"), said)
    assert listing() == before


REFUSED = {
    "unknown piece": ("scallop a.svg --along skirt --width 30mm", '"skirt"'),
    "unknown mark": ("scallop a.svg --along hem:start..waist --width 30mm", '"waist"'),
    "unknown mark to hold": ("scallop a.svg --width 30mm --hold waist=crest", '"waist"'),
    "no stretch": ("scallop a.svg --along hem:start..start --width 30mm", "no length"),
    "half a stretch": ("scallop a.svg --along hem:start.. --width 30mm", "does not name an edge"),
    "nothing said": ("scallop a.svg", "--width 30mm"),
    "a width that is none": ("scallop a.svg --width wide", "--width 'wide'"),
    "no width": ("scallop a.svg --width 0", "--width"),
    "too wide": ("scallop a.svg --width 900mm --max-width 1m --min-width 800mm", ""),
    "too deep": ("scallop a.svg --width 30mm --depth 200%", "three quarters of a circle"),
    "two depths": ("scallop a.svg --width 30mm --depth 5 --radius 20", "--depth or a --radius"),
    "unknown profile": ("scallop a.svg --width 30mm --profile round", "--profile"),
    "unknown run": ("eyelets a.svg --run hem --eyelet 8mm", 'no run called "hem"'),
    "no size": ("eyelets a.svg --count 3", "--eyelet 8mm"),
    "a tube smaller than its opening": ("eyelets r.svg --run hem --eyelet 8mm --barrel 7mm", "opening"),
    "no place": ("notches a.svg", "--at"),
    "no runs": ("refit a.svg", "no run to make again"),
    "output is the input": ("scallop a.svg --width 30mm -o a.svg", "--in-place"),
    "output is the input by another name": ("scallop a.svg --width 30mm -o ./sub/../a.svg", "--in-place"),
    "both outputs": ("scallop a.svg --width 30mm -o b.svg --in-place", "not both"),
    "report is the input": ("scallop a.svg --width 30mm --report a.svg", "--report"),
    "survey over the input": ("survey a.svg --report a.svg", "--report"),
    "report is the output": ("scallop a.svg --width 30mm -o b.svg --report b.svg", "b.svg"),
    "report is the output by another name": ("scallop a.svg --width 30mm -o b.svg --report sub/../b.svg", "b.svg"),
    "in place and report": ("scallop a.svg --width 30mm --in-place --report a.svg", "--report"),
    "a lap without its width": ("scallop p.svg --along a --along b --join lap --width 30", "--lap 15mm"),
    "a lap's width without a lap": (
        "scallop p.svg --along a --along b --join butt --lap 15mm --width 30",
        "--join lap",
    ),
    "a lap's width on one edge": ("scallop a.svg --lap 15mm --width 30", "--join lap"),
    "a lap's width that is none": (
        "scallop p.svg --along a --along b --join lap --lap wide --width 30",
        "--lap 'wide'",
    ),
    "nothing to cut": ("cut a.svg", "no closed outline"),
    "an open line to cut": ("cut a.svg --piece hem", "open line"),
    "no such piece to cut": ("cut c.svg --piece skirt", 'no piece is called "skirt"'),
    "words for one piece of two": ("cut c.svg --side left:c0..c1=2cm", "--piece"),
    "no such side": ("cut c.svg --piece left --side left:c0..c9=2cm", '"c9"'),
    "no such corner": ("cut c.svg --piece left --corner c9=rounded", '"c9"'),
    "no such kind of corner": ("cut c.svg --corners turned", "--corners can be"),
    "no such dart": ("cut c.svg --piece left --dart c1", '"c1"'),
    "a fold of another piece": ("cut c.svg --piece left --fold right:c0..c1", '"right"'),
    "two ways for one side": ("cut c.svg --piece left --side left:c0..c1=2cm --fold left:c0..c1", "overlap"),
    "no number": ("cut c.svg --number some", "--number"),
    "cut over the input": ("cut c.svg -o c.svg", "--in-place"),
    "a label that no drawing can hold": ("cut c.svg --cloth 'a\x07b'", "--cloth"),
    "a finish that is none": ("scallop a.svg --width 30 --finish sewn", "--finish can be"),
    "a cut that is none": ("scallop a.svg --width 30 --cut round", "--cut can be"),
    "a cut of a raw edge": ("scallop a.svg --width 30 --finish raw --cut scalloped", "--cut goes with --finish faced"),
    "more left than cut": ("scallop a.svg --width 30 --trim 7mm", "--trim 7 mm is more than"),
    "no such price": ("sheet r.svg --price lace=2", "--price 'lace=2': write NAME=NUMBER"),
    "minutes that are none": ("sheet r.svg --minutes scallop=two", "--minutes scallop takes a number"),
    "nothing to leave out": ("sheet r.svg --without lace", "--without lace"),
    "a way to lie without a width": ("sheet r.svg --cloth-lies folded", "--cloth-lies goes with a width of cloth"),
    "a way to lie that is none": ("sheet r.svg --cloth-width 1m --cloth-lies across", "--cloth-lies can be"),
    "a width of cloth that is none": ("sheet r.svg --cloth-width wide", "--cloth-width 'wide' cannot be read"),
    "a cloth that nothing is cut from": ("sheet r.svg --cloth-width wool=1m", 'nothing is cut from a cloth "wool"'),
    "cloth that shrinks to nothing": ("sheet r.svg --cloth-width 1m --shrinkage 60%", "would leave half"),
    "a sheet of nothing": ("sheet a.svg", "no run to make again"),
    "a sheet over the input": ("sheet r.svg -o r.svg", "would overwrite the drawing"),
    "no such page": ("paper a.svg --page A12", "--page 'A12' is no size of paper"),
    "pages over the input": ("paper a.svg -o a.svg", "would overwrite the drawing"),
    "no such way": ("paper a.svg --way crooked", "--way"),
    "no such weight": ("paper a.svg --weight heavy", "--weight"),
    "no such lines on paper": ("paper a.svg --show lace", "--show lace: the drawing has no such lines"),
    "no such format": ("cutter a.svg -o a.plt", "ends in .dxf or .svg"),
    "lines for a machine that are none": ("cutter a.svg --lines arcs", "--lines can be"),
    "a cutter over the input": ("cutter a.svg -o a.svg", "would overwrite the drawing"),
    "no such file": ("survey gone.svg", "gone.svg cannot be read"),
    "no such file to trim": ("scallop gone.svg --width 30mm", "gone.svg cannot be read"),
    "a folder as the file": ("survey sub", "sub"),
    "a folder as the output": ("scallop a.svg --width 30mm -o sub", "sub is a folder"),
    "a folder as the report": ("scallop a.svg --width 30mm --report sub", "sub is a folder"),
    "a folder as the survey": ("survey a.svg --report sub", "sub is a folder"),
    "no such folder": ("scallop a.svg --width 30mm -o none/b.svg", "there is no folder"),
    "a file as the demo's folder": ("demo a.svg", "a.svg"),
    "a name that no drawing can hold": ("scallop a.svg --width 30mm --name 'a\x07b'", "name"),
    "a wearer that is none": (
        "eyelets r.svg --run hem --eyelet 8mm --wearer baby",
        '--wearer can be "adult", "child, under 3", "child, under 7" or "child, 7 to 14", not "baby"',
    ),
    "a wearer that is none, of scallops": ("scallop a.svg --width 30mm --wearer 3", "--wearer can be"),
    "a name that is no text": ("scallop a.svg --width 30mm --name '\udcff'", "name"),
}


@pytest.mark.parametrize("name", REFUSED)
def test_a_request_that_can_t_be_met(name: str, run: Runner) -> None:
    line, said = REFUSED[name]
    Path("sub").mkdir()
    before = listing()
    assert_refused(run(line), said)
    assert listing() == before


def test_a_link_to_the_input_is_the_input(run: Runner) -> None:
    Path("link.svg").symlink_to("a.svg")
    before = listing()
    assert_refused(run("scallop a.svg --width 30mm -o link.svg"), "--in-place")
    assert_refused(run("scallop a.svg --width 30mm --report link.svg"), "--report")
    assert listing() == before


@pytest.mark.skipif(not hasattr(os, "geteuid") or os.geteuid() == 0, reason="root may write everywhere")
def test_a_folder_that_may_not_be_written(run: Runner) -> None:
    Path("locked").mkdir(mode=0o500)
    before = listing()
    assert_refused(run("scallop a.svg --width 30mm -o locked/b.svg"), "cannot be written")
    assert listing() == before


@pytest.mark.skipif(not Path("/proc/version").exists(), reason="there is no folder that nobody may write")
def test_a_folder_that_nobody_may_write(run: Runner) -> None:
    before = listing()
    assert_refused(run("scallop a.svg --width 30mm -o /proc/b.svg"), "/proc/b.svg cannot be written")
    assert listing() == before


@pytest.mark.parametrize(
    "line",
    [
        "snip a.svg",
        "survey",
        "survey a.svg more.svg",
        "scallop a.svg --widht 30mm",
        "scallop a.svg --width",
        "scallop a.svg --in-place=yes",
        "--no-such-option",
    ],
)
def test_a_line_that_is_no_command(line: str, run: Runner) -> None:
    before = listing()
    ended = run(line)
    assert (ended.status, ended.out) == (2, "")
    assert "Error: " in ended.err
    assert "Traceback" not in ended.err
    assert listing() == before


def test_a_fault_of_our_own_is_one_sentence_too(run: Runner, monkeypatch: pytest.MonkeyPatch) -> None:
    def breaks(*_: object) -> None:
        raise ZeroDivisionError("by design")

    monkeypatch.setattr("scallopkit.document.workshop.read", breaks)
    monkeypatch.delenv("SCALLOPKIT_TRACE", raising=False)
    ended = run("survey a.svg")
    assert (ended.status, ended.out) == (2, "")
    assert re.fullmatch(
        r"scallopkit: a fault of scallopkit itself \(ZeroDivisionError: by design\).*report.*\n", ended.err
    )


def test_the_refused_are_recognised() -> None:
    """The check of the sentences can fail: on a traceback, on two lines, on a sentence without a cure."""
    for err in (
        "scallopkit: it is wrong\n",
        "scallopkit: a; give b",
        "Traceback\nscallopkit: a; give b\n",
        "scallopkit: a; give b\nmore\n",
    ):
        with pytest.raises(AssertionError):
            assert_refused(Ended(2, "", err))
    assert_refused(Ended(2, "", "scallopkit: a is wrong; give b\n"))


# --- as a program of its own ----------------------------------------------------------------------------------------


def program(
    *words: str, env: dict[str, str] | None = None, cwd: Path | None = None
) -> subprocess.CompletedProcess[bytes]:
    return subprocess.run(
        [sys.executable, "-m", "scallopkit", *words],
        capture_output=True,
        env={**os.environ, **(env or {})},
        cwd=cwd,
        timeout=60,
    )


def test_its_version() -> None:
    done = program("--version")
    assert (done.returncode, done.stdout, done.stderr) == (0, f"scallopkit {__version__}\n".encode(), b"")


def test_alone_it_shows_its_help() -> None:
    done = program()
    text = (done.stdout + done.stderr).decode()
    assert all(command in text for command in COMMANDS)
    assert b"Traceback" not in done.stderr


@pytest.mark.parametrize("encoding", ["ascii", "cp1252"])
def test_names_that_the_screen_cannot_show(encoding: str, tmp_path: Path) -> None:
    """On a screen or in a pipe that knows few letters, names come out changed, but everything is done and said."""
    (tmp_path / "a.svg").write_text(page('<path id="裾ż" d="M 10,20 H 310"/>'), encoding="utf-8")
    env = {"PYTHONIOENCODING": encoding, "PYTHONUTF8": "0"}
    for words in (("survey", "a.svg"), ("scallop", "a.svg", "--width", "30mm", "--report", "-")):
        done = program(*words, env=env, cwd=tmp_path)
        assert done.returncode == 0, done.stderr.decode(encoding)
    assert json.loads(done.stdout)["runs"][0]["count"] == 10
    assert json.loads(done.stdout)["runs"][0]["name"] == "裾ż"
    refused = program("scallop", "a.svg", "--along", "袖", "--width", "30mm", env=env, cwd=tmp_path)
    assert refused.returncode == 2
    assert refused.stderr.startswith(b"scallopkit: no piece is called")
    assert refused.stderr.count(b"\n") == 1


def test_completion_for_the_shell(run: Runner, monkeypatch: pytest.MonkeyPatch) -> None:
    options = {option for parameter in typer.main.get_command(app).params for option in parameter.opts}
    assert {"--install-completion", "--show-completion"} <= options
    monkeypatch.setenv("_SCALLOPKIT_COMPLETE", "source_bash")
    script = run("")
    assert script.status == 0
    assert "complete -o default -F _scallopkit_completion scallopkit" in script.out
    monkeypatch.setenv("_SCALLOPKIT_COMPLETE", "complete_bash")
    monkeypatch.setenv("COMP_CWORD", "1")
    monkeypatch.setenv("COMP_WORDS", "scallopkit s")
    assert run("").out.split() == ["survey", "scallop", "strap", "sheet"]
    monkeypatch.setenv("COMP_CWORD", "2")
    monkeypatch.setenv("COMP_WORDS", "scallopkit scallop --min")
    assert run("").out.split() == ["--min-width"]


# --- trim on two edges in phase -------------------------------------------------------------------------------------


def test_trim_that_is_out_of_phase_is_brought_there_and_stays(run: Runner) -> None:
    run("scallop p.svg --along a --count 6 --name top -o q.svg")
    run("scallop q.svg --along b --width 30 --start gap:4mm --name low --in-place")
    told = run("match q.svg top low -o told.svg")
    assert (
        'warning (out-of-phase): valleys of "low" lie up to 4.00 mm from those of "top": fit "low" with --count 6'
        in told.err
    )
    ended = run("match q.svg top low --phase -3mm --phase-within 0.1mm --in-phase --report - -o r.svg")
    assert (ended.status, "out-of-phase" in ended.err) == (0, False)
    report = json.loads(ended.out)
    assert [v["s_mm"] for v in report["runs"][0]["valleys"]] == pytest.approx([27.0 + 30.0 * k for k in range(6)])
    assert report["matches"][0]["in_phase"] is True
    again = run("refit r.svg -o s.svg")
    assert re.findall(r"\tunchanged$", again.out, re.MULTILINE) == ["\tunchanged"] * 3
    assert Path("s.svg").read_bytes() == Path("r.svg").read_bytes()


# --- what is told, and what is not told again -----------------------------------------------------------------------


def test_a_broken_rule_is_told_by_its_row_and_a_sentence(run: Runner) -> None:
    run("scallop a.svg --width 30mm --finish faced --name other -o b.svg")
    fine = run("check b.svg")
    assert fine.status == 0
    assert re.match(r"other: \d+ findings, all as promised\n", fine.out)
    ended = run("check b.svg --limit turn-radius=40mm --report c.json")
    assert ended.status == 1
    assert re.match(r"other: \d+ findings, 1 broken\nrun\tcheck\twhere\tfound\tlimit\t\n", ended.out)
    assert re.search(r"^other\tturn-radius\t.*\tbroken$", ended.out, re.MULTILINE)
    assert re.search(r"^other: the smallest radius of a bulge .* because ", ended.out, re.MULTILINE)
    assert "\tok" not in ended.out
    assert "whole" not in ended.out
    # The figures are all there.
    every = json.loads(Path("c.json").read_text())["findings"]
    assert f"other: {len(every)} findings, " in ended.out
    assert {"whole", "gap", "turn-room"} & {finding["what"] for finding in every} == {"whole", "turn-room"}
    # All of them are listed, and below them the limit of each rule that is kept, with its reason and its source.
    rules = [finding for finding in every if finding["source"]]
    lines = run("check b.svg --all").out.splitlines()
    assert len(lines) == len(every) + 1 + len(rules)
    assert [line.split(": ", 1)[0] for line in lines[-len(rules) :]] == [finding["what"] for finding in rules]
    assert all("; source of the limit: " in line for line in lines[-len(rules) :])


def test_a_figure_near_its_limit_is_told(run: Runner) -> None:
    run("scallop a.svg --width 30mm --finish faced -o b.svg")
    # Scallops 30 mm wide, a tenth less than which is 27.
    assert "scallop-width" not in run("check b.svg --limit scallop-width=27mm").out
    ended = run("check b.svg --limit scallop-width=28mm")
    assert ended.status == 0
    assert re.search(r"^hem\tscallop-width\t.*\t30 mm\t28 mm\tnear its limit$", ended.out, re.MULTILINE)


def test_small_parts_on_clothes_for_the_youngest_are_told(run: Runner) -> None:
    assert run('eyelets r.svg --run hem --eyelet 8mm --wearer "child, under 3" --in-place').status == 0
    ended = run("check r.svg")
    assert ended.status == 1
    assert "hem\tsmall-parts\trun\t5\t0\tbroken" in ended.out
    assert "1501.3(d)" in ended.out
    assert run("check r.svg --limit small-parts=5").status == 0
    assert run("eyelets r.svg --run hem --eyelet 8mm --wearer adult --in-place").status == 0
    assert "small-parts" not in run("check r.svg --all").out


def test_cautions_are_told_once_a_command(run: Runner) -> None:
    Path("two.toml").write_text(
        'pattern = "p.svg"\noutput = "two.svg"\nwearer = "child, 7 to 14"\n'
        + "".join(f'[[run]]\nedges = ["{edge}"]\n[[run.eyelet]]\neyelet = 8\ncount = 4\n' for edge in "ab")
    )
    made = run("make two.toml")
    assert made.status == 0
    assert made.out.count("4 eyelets") == 2
    alone = run('eyelets a.svg --eyelet 8 --count 4 --wearer "child, 7 to 14"')
    cautions = [line for line in alone.out.splitlines() if line.startswith("caution: ")]
    assert [line for line in made.out.splitlines() if line.startswith("caution: ")] == cautions
    assert len(cautions) > 1
    assert all(f"\n{line}" in made.out for line in cautions)


def test_a_facing_and_a_cut_tell_only_what_they_changed(run: Runner) -> None:
    words = "--along left:c0..c1 --width 28mm --finish faced --template 1 --name hem"
    assert run(f"scallop c.svg {words} --in-place").status == 0
    assert run("eyelets c.svg --run hem --eyelet 3mm --margin 1mm --in-place").status == 0
    faced = run("facing c.svg --run hem --depth 3cm --in-place")
    assert faced.out.splitlines()[:2] == ["wrote c.svg", "run hem: 140.00 mm, 5 scallops"]
    assert faced.out.splitlines()[2].startswith("hem facing: shaped, 140.0 mm long")
    assert len(faced.out.splitlines()) == 3
    strip = run("facing c.svg --run hem --kind strip --depth 3cm --in-place")
    assert [line.split(",")[0] for line in strip.out.splitlines()[2:]] == ["hem facing 2: strip"]
    cut = run("cut c.svg --in-place")
    assert cut.out.splitlines()[:3] == [
        "wrote c.svg",
        "run hem: 140.00 mm, 5 scallops",
        "piece\tallowances mm\tcut mm\tnotches\tlabel",
    ]
    assert len(cut.out.splitlines()) == 6
    assert cut.out.splitlines()[-1].startswith("no grain line is drawn in")
    # On the other piece there is no run.
    assert "run hem" not in run("cut c.svg --piece right --in-place").out


def test_a_facing_that_brings_a_finish_tells_it(run: Runner) -> None:
    assert "finish faced: " in run("facing r.svg --run hem --depth 5cm --in-place").out
    assert "finish" not in run("facing r.svg --run hem --depth 6cm --in-place").out


def test_work_that_would_be_lost_is_kept(run: Runner, tmp_path: Path) -> None:
    (tmp_path / "one.svg").write_text(napkin(), encoding="utf-8")
    assert run("scallop one.svg --width 30mm --name edge").status == 0
    assert run("scallop one.svg --width 32mm --name edge").status == 0
    assert run("eyelets one-scalloped.svg --run edge --eyelet 3mm --margin 2mm --in-place").status == 0
    kept = (tmp_path / "one-scalloped.svg").read_bytes()
    for words in ("--name edge", "--name other"):
        ended = run(f"scallop one.svg --width 28mm {words}")
        assert (ended.status, ended.out) == (2, "")
        assert "--in-place" in ended.err
        assert (tmp_path / "one-scalloped.svg").read_bytes() == kept


FRONTS = '<path id="left" d="M 10 10 H 150 V 90 H 10 Z"/><path id="right" d="M 200 10 H 350 V 90 H 200 Z"/>'


def test_a_lap_keeps_its_width_in_the_drawing(run: Runner) -> None:
    """A buttoned front, 280 mm of edge less the lap of 15 mm on both sides; the right piece is then cut narrower."""
    Path("l.svg").write_text(page(FRONTS))
    words = "--along left:c0..c1 --join lap --along right:c0..c1 --lap 1.5cm --width 26mm --name hem"
    made = run(f"scallop l.svg {words} -o m.svg")
    assert (made.status, made.err) == (0, "")
    assert "run hem: 260.00 mm, 10 scallops" in made.out
    assert "lap\tleft:c1/right:c0\t125.00\tpass" in made.out
    assert run("check m.svg").status == 0
    assert "hem\tunchanged" in run("refit m.svg --in-place").out
    assert run("check m.svg").status == 0
    Path("m.svg").write_text(Path("m.svg").read_text().replace("M 200 10 H 350", "M 200 10 H 324"))
    assert run("check m.svg").status == 1
    assert "edge 260.00 to 234.00 mm, count 10 to 9" in run("refit m.svg --in-place").out
    assert run("check m.svg").status == 0


def test_cut_pieces_follow_their_drawing(run: Runner) -> None:
    """Cut, then changed in the editor, then made again: runs and cutting lines together; nothing is lost on the way."""
    words = "--along left:c0..c1 --join seam --along right:c0..c1 --width 29mm --name hem"
    Path("l.svg").write_text(page(FRONTS))
    assert run(f"scallop l.svg {words} --in-place").status == 0
    cut = run("cut l.svg --in-place")
    assert (cut.status, cut.err) == (0, "")
    assert "left\t6, 15\t" in cut.out
    before = Path("l.svg").read_bytes()
    assert run("cut l.svg --in-place").status == 0
    assert run("refit l.svg --in-place").status == 0
    assert Path("l.svg").read_bytes() == before
    Path("l.svg").write_bytes(before.replace(b"H 150 V 90", b"H 150 V 120"))
    assert "hem\tunchanged" in run("refit l.svg --in-place --report f.json").out
    (left, right) = json.loads(Path("f.json").read_text())["pieces"]
    assert {side["name"]: side["length_mm"] for side in left["sides"]}["c1..c2"] == 110.0
    assert [round(notch["s_mm"], 6) for notch in left["notches"] + right["notches"]] == [40.0, 40.0]
    again = run("scallop l.svg --along left:c2..c3 --width 20mm --in-place")
    assert again.out.count('drawn again as cut: "left"\n') == 1
    assert "refit" not in again.err
    assert "cut left\tunchanged" in run("refit l.svg --in-place").out
    kept = Path("l.svg").read_bytes()
    Path("two.svg").write_text(page(FRONTS))
    Path("two-scalloped.svg").write_bytes(kept)
    ended = run("scallop two.svg --along left:c0..c1 --join seam --along right:c0..c1 --width 29mm --name hem")
    assert ended.status == 2
    assert '"cut left", "cut right"' in ended.err
    assert Path("two-scalloped.svg").read_bytes() == kept


def notched_on(file: str) -> list[str]:
    """The groups in which notches are drawn, each as often as there are any; but for the legend's."""
    found = etree.parse(file).iterfind(".//{*}path[@data-role='notch']")
    return sorted(name for one in found if (name := one.get("data-run", "")) != LEGEND)


def test_a_facing_puts_its_notch_on_a_piece_that_is_cut_already(run: Runner) -> None:
    """In the order in which a maker finds out what she needs: scallops, the cut, and then a facing."""
    Path("q.svg").write_text(page(QUARTER))
    words = "--width 60mm --along quarter:c1..c2 --start fold --end fold --name hem --finish faced"
    assert run(f"scallop q.svg {words} --in-place").status == 0
    assert run("cut q.svg --cloth damask --in-place").status == 0
    assert notched_on("q.svg") == []
    faced = run("facing q.svg --run hem --depth 60mm --in-place --report f.json")
    assert faced.status == 0
    assert faced.out.splitlines()[:2] == ["wrote q.svg and f.json", 'drawn again as cut: "quarter"']
    notched = Path("q.svg").read_bytes()
    # One on the facing, one in the same sewn place on the piece.
    assert notched_on("q.svg") == ["cut quarter", "hem"]
    (piece,) = json.loads(Path("f.json").read_text())["pieces"]
    assert len(piece["notches"]) == 1
    assert "cut quarter\tunchanged" in run("refit q.svg --in-place").out
    assert Path("q.svg").read_bytes() == notched
    assert run("check q.svg").status == 0
    # One that lacks its notch, as it was drawn before, is told, and is no unchanged one.
    own = re.search(rb'<path (?=[^>]*data-role="notch")(?=[^>]*data-run="cut quarter")[^>]*/>', notched)
    assert own is not None
    Path("q.svg").write_bytes(notched.replace(own[0], b""))
    checked = run("check q.svg")
    assert checked.status == 1
    assert 'the notches of "quarter" are not those of its runs and seams (notches 0 to 1): run `refit`' in checked.out
    assert "cut quarter\tnotches 0 to 1" in run("refit q.svg --in-place").out
    assert notched_on("q.svg") == ["cut quarter", "hem"]


def test_what_the_notches_of_a_cut_piece_tell_is_told_once(run: Runner) -> None:
    Path("p.svg").write_text(page('<path id="p" d="M 10,100 H 180 L 200,200 L 220,100 H 390 V 300 H 10 Z"/>'))
    run("cut p.svg --in-place")
    ended = run("notches p.svg --along p:c1..c2 --at parts:4 --name leg --in-place")
    assert ended.err.count("warning (notches-inside)") == 1
    assert 'drawn again as cut: "p"' in ended.out


def test_a_drawing_with_cut_pieces_alone_is_made_again_too(run: Runner) -> None:
    run("cut c.svg --in-place")
    Path("c.svg").write_text(Path("c.svg").read_text().replace("H 150 V 90", "H 160 V 90"))
    ended = run("refit c.svg --in-place --report f.json")
    assert (ended.status, ended.err) == (0, "")
    assert json.loads(Path("f.json").read_text())["pieces"][0]["sides"][0]["length_mm"] == 150.0


def test_a_refusal_on_a_drawing_without_units_says_so(run: Runner, tmp_path: Path) -> None:
    text = napkin().replace('width="20in" height="20in"', 'width="20" height="20"')
    (tmp_path / "one.svg").write_text(text, encoding="utf-8")
    ended = run("scallop one.svg --width 300mm")
    assert ended.status == 2
    assert "shorter than one scallop" in ended.err
    assert "unit" in ended.err
