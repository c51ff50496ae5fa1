"""What a job writes beside its drawings: pages, a file for machines and a make sheet, each read back."""

from __future__ import annotations

import io
import json
import os
import shutil
import subprocess
import sys
from dataclasses import replace
from pathlib import Path
from typing import Any

import ezdxf
import pytest
from lxml import html
from pypdf import PdfReader

from scallopkit.demo import SCENES
from scallopkit.document.examining import examine
from scallopkit.document.job import JobRun, read_job
from scallopkit.document.kept import kept_recipes
from scallopkit.document.making import make_job
from scallopkit.document.reader import read_drawing
from scallopkit.document.runs import make_run
from scallopkit.document.sheeting import sheet_of
from scallopkit.document.workshop import made_runs, recut
from scallopkit.errors import OutputError, ScallopkitError

GALLERY = Path(__file__).parents[2] / "gallery"
BAND = (
    '<svg xmlns="http://www.w3.org/2000/svg" width="340mm" height="120mm" viewBox="0 0 340 120">'
    '<path id="band" fill="none" stroke="black" d="M 20 20 H 320 V 100 H 20 Z"/></svg>'
)
# Ten scallops of 30 mm with an eyelet each, on one piece that is cut once.
JOB = """\
pattern = "band.svg"
report = "band.json"
[cut]
allowance = "10mm"
{tables}
[[run]]
name = "hem"
edges = "band:c2..c3"
[run.scallop]
count = 10
depth = "12mm"
[[run.eyelet]]
eyelet = "4mm"
margin = "2mm"
"""
ALL = """\
[paper]
page = "A3"
title = "The band"
[cutter]
show = ["cutting", "eyelet"]
[sheet]
title = "The band"
without = "eyelet"
[prices]
currency = "EUR"
eyelet = 0.25
hour = "30"
[minutes]
scallop = 3
eyelet = "1,5"
piece = 0
seam = 0
clip = 0
"""
BESIDE = {"band-scalloped.pdf", "band-scalloped.dxf", "band-scalloped-sheet.html"}


def job_in(folder: Path, tables: str, text: str = JOB) -> Path:
    (folder / "band.svg").write_text(BAND, encoding="utf-8")
    file = folder / "band.toml"
    file.write_text(text.format(tables=tables), encoding="utf-8")
    return file


def names(folder: Path) -> set[str]:
    return {path.name for path in folder.iterdir()}


def refusal(folder: Path, tables: str, text: str = JOB) -> str:
    """The sentence with which a job is refused; nothing is written, nor left half."""
    file = job_in(folder, tables, text)
    before = names(folder)
    with pytest.raises(ScallopkitError) as caught:
        make_job(file)
    assert names(folder) == before
    told = str(caught.value)
    assert "\n" not in told
    assert "--" not in told
    return told


def test_everything_is_written_and_told(tmp_path: Path) -> None:
    made = make_job(job_in(tmp_path, ALL))
    assert names(tmp_path) == {"band.svg", "band.toml", "band-scalloped.svg", "band.json", *BESIDE}
    first, *rest = made.text.splitlines()
    paths = first.removeprefix("wrote ").split(", ")
    assert {Path(path).name for path in paths} == {"band-scalloped.svg", "band.json", *BESIDE}
    assert all(Path(path).is_file() for path in paths)
    # The table at the end has a row for each of them.
    rows = [line.split("\t") for line in rest[rest.index("file\twhat") + 1 :]]
    assert [row[0] for row in rows] == [Path(path).name for path in paths]


def test_the_pages_are_read_back(tmp_path: Path) -> None:
    make_job(job_in(tmp_path, ALL))
    pages = PdfReader(io.BytesIO((tmp_path / "band-scalloped.pdf").read_bytes())).pages
    # 300 mm and what is beyond it fit a lying A3.
    assert len(pages) == 2
    assert {tuple(round(float(v) * 25.4 / 72.0) for v in page.mediabox[2:]) for page in pages} == {(420, 297)}
    assert "The band" in pages[0].extract_text()


def test_the_machine_gets_the_lines_that_are_named(tmp_path: Path) -> None:
    make_job(job_in(tmp_path, ALL))
    space = ezdxf.readfile(str(tmp_path / "band-scalloped.dxf")).modelspace()  # type: ignore[attr-defined]  # ours to use
    assert {entity.dxf.layer for entity in space} == {"cutting", "eyelet"}


def test_svg_for_the_machine(tmp_path: Path) -> None:
    make_job(job_in(tmp_path, '[cutter]\nas = "svg"\nlines = "polylines"\n'))
    drawn = read_drawing((tmp_path / "band-scalloped-cutter.svg").read_bytes(), "cutter")
    assert drawn.pattern.pieces


def test_the_totals_of_the_sheet_by_hand(tmp_path: Path) -> None:
    make_job(job_in(tmp_path, ALL))
    page: Any = html.fromstring((tmp_path / "band-scalloped-sheet.html").read_bytes())
    tables = {
        str(table.findtext("caption")): [[cell.text_content() for cell in row] for row in table.iter("tr")]
        for table in page.iter("table")
    }
    # Ten scallops of 3 minutes and ten eyelets of 1.5: 45 minutes, or 30 without eyelets; an hour costs 30, an eyelet
    # a quarter: 25, or 15.
    assert tables["Minutes: as drawn"][-1][-1] == "45.0"
    assert tables["Cost: as drawn"][-1][-1] == "25.00"
    assert tables["Two ways compared"][1:] == [
        ["hours", "0.75", "0.50", "-0.25"],
        ["cost", "25.00", "15.00", "-10.00"],
    ]
    assert tables["Cost: as drawn"][0][-1] == "EUR"


def test_the_sheet_is_the_one_that_the_command_makes(tmp_path: Path) -> None:
    make_job(job_in(tmp_path, "[sheet]\n[prices]\neyelet = 2\n"))
    drawing = read_drawing((tmp_path / "band-scalloped.svg").read_bytes(), "band-scalloped.svg")
    assert (tmp_path / "band-scalloped-sheet.html").read_bytes() == sheet_of(drawing, prices=["eyelet=2"]).data


def test_the_same_job_gives_the_same_files(tmp_path: Path) -> None:
    file = job_in(tmp_path, ALL)
    make_job(file)
    first = {name: (tmp_path / name).read_bytes() for name in BESIDE}
    make_job(file)
    assert {name: (tmp_path / name).read_bytes() for name in BESIDE} == first


def test_files_go_where_they_are_named(tmp_path: Path) -> None:
    (tmp_path / "out").mkdir()
    tables = '[paper]\noutput = "out/a.pdf"\n[cutter]\noutput = "out/a.svg"\n[sheet]\noutput = "out/a.html"\n'
    make_job(job_in(tmp_path, tables))
    assert names(tmp_path / "out") == {"a.pdf", "a.svg", "a.html"}


def test_a_check_writes_nothing(tmp_path: Path) -> None:
    file = job_in(tmp_path, ALL)
    made = make_job(file, write=False)
    assert names(tmp_path) == {"band.svg", "band.toml"}
    assert made.text.startswith("band.toml can be made; nothing was written")


def test_a_check_finds_what_only_the_pages_refuse(tmp_path: Path) -> None:
    file = job_in(tmp_path, '[paper]\npage = "B7x"\n')
    with pytest.raises(ScallopkitError, match=r"line 6, paper\.page"):
        make_job(file, write=False)


def test_several_drawings_have_files_of_their_own(tmp_path: Path) -> None:
    (tmp_path / "b.svg").write_text(BAND, encoding="utf-8")
    run = '[[run]]\npattern = "{}"\nedges = "band:c2..c3"\n[run.scallop]\ncount = 10\n'
    text = '[[pattern]]\nfile = "band.svg"\n[[pattern]]\nfile = "b.svg"\n{tables}' + "".join(
        run.format(name) for name in ("band.svg", "b.svg")
    )
    make_job(job_in(tmp_path, "[paper]\n[cutter]\n[sheet]\n", text))
    assert names(tmp_path) >= BESIDE | {name.replace("band", "b") for name in BESIDE}
    told = refusal(tmp_path, '[paper]\noutput = "x.pdf"\n', text)
    assert told.startswith("band.toml, line 6, paper.output: goes with one drawing; leave it out")


@pytest.mark.parametrize("scene", ["waistcoat", "apron", "valance"])
def test_what_a_job_finds_is_what_a_check_finds(tmp_path: Path, scene: str) -> None:
    shown = next(one for one in SCENES if one.name == scene)
    (tmp_path / f"{scene}.svg").write_text(shown.draw, encoding="utf-8")
    (tmp_path / f"{scene}.toml").write_text(shown.job, encoding="utf-8")
    made = make_job(tmp_path / f"{scene}.toml")
    data = (tmp_path / f"{scene}-scalloped.svg").read_bytes()
    drawing, again = read_drawing((tmp_path / f"{scene}.svg").read_bytes(), scene), read_drawing(data, scene)
    runs = [make_run(drawing, asked.recipe, kept_recipes(data)) for asked in runs_asked(tmp_path / f"{scene}.toml")]
    assert made.ok
    assert [run.name for run in runs] == [run.name for run in made_runs(again)]
    # With the pieces that are given, and with none of them, which has them made again.
    for pieces in (recut(replace(again, pattern=drawing.pattern), runs), ()):
        assert examine(data, scene, {}, (drawing, runs, pieces)) == examine(data, scene, {})


def test_runs_of_other_outlines_are_made_again(tmp_path: Path) -> None:
    make_job(job_in(tmp_path, ""))
    data = (tmp_path / "band-scalloped.svg").read_bytes()
    other = read_drawing(BAND.replace("V 100", "V 99").encode(), "other")
    # Were the runs that are given taken, there would be none to find anything of.
    assert examine(data, "a", {}, (other, [], [])) == examine(data, "a", {})


def runs_asked(job: Path) -> tuple[JobRun, ...]:
    (pattern,) = read_job(job).patterns
    return pattern.runs


@pytest.mark.parametrize(
    ("tables", "said"),
    [
        ('[paper]\npage = "B7x"\n', "line 6, paper.page: page"),
        ('[paper]\nmargin = "-3mm"\n', "line 6, paper.margin: "),
        ('[paper]\nway = "across"\n', 'line 6, paper.way: can be any, upright or lying, not "across"'),
        ('[paper]\nshow = "sleeve"\n', "line 6, paper.show: show sleeve: the drawing has no such lines; it has "),
        ('[paper]\npiece = ["band", "cuff"]\n', 'line 6, paper.piece: piece cuff: no piece is called "cuff"; '),
        ('[paper]\noutput = "pages.svg"\n', 'line 6, paper.output: takes the name of a file that ends in .pdf, not "p'),
        ('[paper]\nsize = "A4"\n', "line 6, paper.size: there is no such key (it goes below [[run"),
        ('[paper]\noutput = "band.json"\n', "line 6, paper.output: takes the name of a file that ends in .pdf"),
        ('[paper]\npage = "3cm x 4cm"\n', "line 5, paper: "),
        ('[cutter]\nas = "dwg"\n', 'line 6, cutter.as: can be dxf or svg, not "dwg"'),
        ('[cutter]\nas = "svg"\noutput = "a.dxf"\n', "line 6, cutter.as: does not go with the file a.dxf: give that "),
        ('[cutter]\nwithin = "0mm"\n', "line 6, cutter.within: "),
        ('[cutter]\noutput = "band.svg"\n', "line 6, cutter.output: the result would overwrite the drawing "),
        ('[cutter]\noutput = "band-scalloped.svg"\n', "line 6, cutter.output: band-scalloped.svg takes another result"),
        ('[cutter]\noutput = "a.png"\n', "line 6, cutter.output: takes the name of a file that ends in .dxf or .svg, "),
        ('[sheet]\nwithout = ["sleeve"]\n', "line 6, sheet.without: names sleeve: it can be scallop, clip, wedge, "),
        ('[sheet]\ntitel = "x"\n', "line 6, sheet.titel: there is no such key (did you mean title?); there are output"),
        ('[sheet]\npage = "A3"\n', 'line 6, sheet.page: can be A4 or Letter, not "A3"'),
        ('[sheet]\npdf = "a.html"\n', "line 6, sheet.pdf: takes the name of a file that ends in .pdf"),
        ('[sheet]\npdf = "a.pdf"\n[paper]\noutput = "a.pdf"\n', "line 6, sheet.pdf: a.pdf takes another result"),
        ("[prices]\neyelet = 1\n", "line 5, prices: is for the make sheet only: write [sheet] too, or leave this out"),
        ("[minutes]\neyelet = 1\n", "line 5, minutes: is for the make sheet only"),
        ("[sheet]\n[prices]\nbutter = 1\n", "line 7, prices.butter: there is no such key; there are binding, button, "),
        (
            "[sheet]\n[prices]\neyelet = -1\n",
            "line 7, prices.eyelet: it takes a number of at least 0, like 2 or 0.5, n",
        ),
        ('[sheet]\n[prices]\neyelet = "two"\n', "line 7, prices.eyelet: it takes a number of at least 0"),
        ("[sheet]\n[prices]\ncurrency = 3\n", "line 7, prices.currency: takes a text in quotes"),
        ("[sheet]\n[minutes]\nhem = 1\n", "line 7, minutes.hem: there is no such key"),
        ("[sheet]\n[minutes]\nscallop = true\n", "line 7, minutes.scallop: takes a text in quotes or a number"),
    ],
)
def test_a_slip_is_told_with_its_line_and_nothing_is_written(tmp_path: Path, tables: str, said: str) -> None:
    assert refusal(tmp_path, tables).startswith(f"band.toml, {said}")


def test_a_folder_that_is_not_there_keeps_everything_back(tmp_path: Path) -> None:
    file = job_in(tmp_path, '[sheet]\noutput = "nowhere/a.html"\n')
    with pytest.raises(OutputError, match="there is no folder"):
        make_job(file)
    assert names(tmp_path) == {"band.svg", "band.toml"}


def test_what_was_there_stays_when_something_is_refused(tmp_path: Path) -> None:
    make_job(job_in(tmp_path, ALL))
    before = {path.name: path.read_bytes() for path in tmp_path.iterdir() if path.name != "band.toml"}
    with pytest.raises(ScallopkitError):
        make_job(job_in(tmp_path, ALL + "butter = 3\n"))
    assert {name: (tmp_path / name).read_bytes() for name in before} == before


def test_steps_count_up_to_their_number(tmp_path: Path) -> None:
    told: list[tuple[int, int, str]] = []
    make_job(job_in(tmp_path, ALL), step=lambda *one: told.append(one))
    assert [done for done, _, _ in told] == list(range(len(told)))
    assert {number for _, number, _ in told} == {len(told) - 1}
    assert [what for _, _, what in told][-4:] == ["lines for machines", "make sheet", "files", ""]
    assert json.loads((tmp_path / "band.json").read_text())["runs"][0]["count"] == 10


def test_every_process_writes_the_same_bytes(tmp_path: Path) -> None:
    """Whatever order Python keeps sets in."""
    written = []
    for seed in ("1", "2"):
        folder = tmp_path / seed
        folder.mkdir()
        for name in ("waistcoat.svg", "waistcoat.toml"):
            shutil.copy(GALLERY / name, folder)
        words = [sys.executable, "-m", "scallopkit", "make", "waistcoat.toml"]
        surroundings = {**os.environ, "PYTHONHASHSEED": seed}
        subprocess.run(words, cwd=folder, env=surroundings, check=True, capture_output=True)
        written.append({path.name: path.read_bytes() for path in sorted(folder.iterdir())})
    assert len(written[0]) > 7
    assert written[0] == written[1]
