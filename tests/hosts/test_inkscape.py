"""The effects in the real Inkscape, judged by the files that it saves, and against the command line's results.

Two starts serve all tests: one opens all documents and trims what is selected in each, one takes a single document
through every effect.
"""

from __future__ import annotations

import shlex
import sys
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

import numpy as np
import pytest
import svgpathtools
from lxml import etree

from scallopkit.cli import main
from scallopkit.document.drawing import Drawing
from scallopkit.document.layer import read_groups
from scallopkit.document.reader import read_drawing
from scallopkit.geometry.cubics import Array

from .inkscape_runs import Value, missing, run_actions, write_profile

pytestmark = [pytest.mark.host, pytest.mark.skipif(bool(missing()), reason=f"Inkscape can't be run: {missing()}")]

SVG = "{http://www.w3.org/2000/svg}"
# The editor may write our numbers anew; it keeps eight digits, far finer than this on any sheet.
SAME_MM = 1e-3
HEAD = (
    '<svg xmlns="http://www.w3.org/2000/svg" xmlns:xlink="http://www.w3.org/1999/xlink"\n'
    '  xmlns:inkscape="http://www.inkscape.org/namespaces/inkscape"\n'
    '  xmlns:sodipodi="http://sodipodi.sourceforge.net/DTD/sodipodi-0.dtd" {size}>\n{body}\n</svg>\n'
)
INK = 'style="fill:none;stroke:#000000"'
# One neckline in mm, in several units.
NECK = ((280.0, 40.0), (300.0, 160.0), (400.0, 160.0), (420.0, 40.0))


@dataclass(frozen=True)
class Sheet:
    """A document: its text, the id of what is selected in it, and how many of its user units are a mm."""

    text: str
    selected: str = "neck"
    per_mm: float = 0.0


def neck(per_mm: float, attributes: str = "", shift: tuple[float, float] = (0.0, 0.0)) -> str:
    """The neckline drawn in units of which so many are a mm."""
    places = [f"{x * per_mm + shift[0]:.10g},{y * per_mm + shift[1]:.10g}" for x, y in NECK]
    return f'<path id="neck" {INK} {attributes} d="M {places[0]} C {" ".join(places[1:])}"/>'


def sheet(body: str, size: str = 'width="600mm" height="400mm" viewBox="0 0 600 400"', **more: object) -> Sheet:
    return Sheet(HEAD.format(size=size, body=body), **more)  # type: ignore[arg-type]  # the fields as they are


PX = 96.0 / 25.4
SHEETS = {
    "mm": sheet(neck(1.0), per_mm=1.0),
    "px": sheet(neck(PX), 'width="2268" height="1512"', per_mm=PX),
    "inches": sheet(neck(1 / 25.4), 'width="24in" height="16in" viewBox="0 0 24 16"', per_mm=1 / 25.4),
    "scaled": sheet(
        neck(7.5, shift=(-300.0, 450.0)), 'width="600mm" height="400mm" viewBox="-300 450 4500 3000"', per_mm=7.5
    ),
    "groups": sheet(
        '<g id="layer1" inkscape:groupmode="layer" transform="rotate(10.123456789) scale(1.5)">'
        '<g id="inner" transform="translate(33.3333333,-20) matrix(0.8 0.6 -0.6 0.8 10 5)">'
        f'<path id="cuff" {INK} transform="rotate(-27.25, 280, 90)" d="m 40,-90 h 200 v 60 l -200,0 z"/></g></g>',
        selected="cuff",
    ),
    "clone": sheet(
        f'<path id="half" {INK} d="M 40,60 C 80,140 150,160 220,90"/>'
        '<use id="copy" xlink:href="#half" x="0" y="0" transform="matrix(-1 0 0 1 500 90.0625)"/>',
        selected="copy",
    ),
    "path effect": sheet(
        '<defs id="defs1"><inkscape:path-effect effect="spiro" id="bend" is_visible="true" lpeversion="1"/></defs>'
        # The editor makes d from original-d, and this is what it makes of it.
        f'<path id="bent" {INK} inkscape:path-effect="#bend" inkscape:original-d="M 40,60 C 70,80 110,115 140,120 '
        'C 180,125 220,120 260,110 C 290,95 315,75 340,50" d="m 40,60 c 26.149765,29.589867 61.58552,50.85132 100,60 '
        '39.70805,9.45675 82.4049,5.89868 120,-10 l 80,-60"/>',
        selected="bent",
    ),
    "rectangle": sheet(
        '<g id="turned" transform="rotate(15)">'
        f'<rect id="card" {INK} x="120" y="30" width="180.5" height="99" rx="12"/></g>',
        selected="card",
    ),
    "ellipse": sheet(f'<ellipse id="disc" {INK} cx="200" cy="150" rx="110" ry="70.5"/>', selected="disc"),
    "locked": sheet(
        '<g id="kept" inkscape:groupmode="layer" inkscape:label="kept" sodipodi:insensitive="true">'
        f'<path id="hem" {INK} d="M 30,300 C 130,250 330,250 500,310"/></g>',
        selected="hem",
    ),
}
SIZE: dict[str, Value] = {"width": 18, "depth": 6, "depth-unit": "mm"}
SCALLOPS = {f"{effect}.{name}": value for effect in ("scallop", "sew") for name, value in SIZE.items()}


def at_name(name: str) -> str:
    return f"{name.replace(' ', '-')}.svg"


@pytest.fixture(scope="module")
def saved(tmp_path_factory: pytest.TempPathFactory) -> dict[str, bytes]:
    """Each document as the editor has saved it with scallops on what is selected."""
    folder = tmp_path_factory.mktemp("sheets")
    for name, one in SHEETS.items():
        (folder / at_name(name)).write_text(one.text, encoding="utf-8")
    every = ",".join(dict.fromkeys(one.selected for one in SHEETS.values()))
    actions = [f"select-by-id:{every}", "scallopkit.scallop.noprefs", "export-type:svg", "export-do"]
    profile = write_profile(folder / "profile", SCALLOPS)
    said = run_actions(profile, actions, *(folder / at_name(name) for name in SHEETS))
    results = {name: folder / at_name(name).replace(".svg", "_out.svg") for name in SHEETS}
    assert all(result.exists() for result in results.values()), said
    return {name: result.read_bytes() for name, result in results.items()}


Command = Callable[[str], None]


@pytest.fixture
def command(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Command:
    """Runs a command line on a.svg in a folder of its own."""
    monkeypatch.chdir(tmp_path)

    def run(line: str) -> None:
        monkeypatch.setattr(sys, "argv", ["scallopkit", *shlex.split(line)])
        with pytest.raises(SystemExit) as ended:
            main()
        assert not ended.value.code

    return run


def read(data: bytes) -> Drawing:
    return read_drawing(data, "a.svg")


def our_lines(data: bytes, run: str) -> dict[str, list[Array]]:
    """All that we drew of a run but texts, in mm, by what it is; read as if the maker had drawn it."""
    roles = {role for element in _own(data, run) if (role := element.get("data-role")) and role != "label"}
    return {role: _read_alone(data, run, role) for role in sorted(roles)}


def _own(data: bytes, run: str) -> list[etree._Element]:
    return [element for element in etree.fromstring(data).iter(f"{SVG}*") if element.get("data-run") == run]


def _read_alone(data: bytes, run: str, role: str) -> list[Array]:
    """The curves of one role, all else taken out of the drawing."""
    root = etree.fromstring(data)
    for element in [*root.iter(f"{SVG}path", f"{SVG}circle", f"{SVG}ellipse", f"{SVG}use", f"{SVG}rect")]:
        if element.get("data-run") == run and element.get("data-role") == role:
            element.set("style", "fill:none;stroke:#000000")
        else:
            parent = element.getparent()
            assert parent is not None
            parent.remove(element)
    for element in root.iter(f"{SVG}*"):
        for name in map(str, list(element.attrib)):
            if name == "id" or name.endswith("}label") or name.startswith("data-"):
                del element.attrib[name]
    return [piece.curve for piece in read(etree.tostring(root)).pattern.pieces]


def names_of(data: bytes) -> list[str]:
    return [group.name for group in read_groups(data)]


def assert_same(theirs: bytes, ours: bytes, run: str) -> None:
    """Both hold the same lines of a run, to the tolerance."""
    one, other = our_lines(theirs, run), our_lines(ours, run)
    assert one.keys() == other.keys()
    assert one
    for role, curves in one.items():
        assert len(curves) == len(other[role]) > 0, role
        for curve, wanted in zip(curves, other[role], strict=True):
            assert curve == pytest.approx(wanted, abs=SAME_MM), role


def assert_untouched(before: str | bytes, after: bytes) -> None:
    """Every element of the maker's is there with all its attributes, as texts, and in the same order."""
    root = etree.fromstring(before if isinstance(before, bytes) else before.encode())
    own = [element for element in root.iterdescendants() if element.get("id")]
    there = {element.get("id"): element for element in etree.fromstring(after).iter() if isinstance(element.tag, str)}
    for element in own:
        found = there[element.get("id")]
        assert found.tag == element.tag
        assert sorted(found.items()) == sorted(element.items())
    ids = [element.get("id") for element in own]
    assert [name for name in there if name in ids] == ids


# ---------------------------------------------------------------- documents


@pytest.mark.parametrize("name", SHEETS)
def test_scallops_are_the_command_lines(name: str, saved: dict[str, bytes], command: Command) -> None:
    Path("a.svg").write_text(SHEETS[name].text, encoding="utf-8")
    run = SHEETS[name].selected
    command(f"scallop a.svg --along {run} --width 18mm --depth 6mm --in-place")
    assert_same(saved[name], Path("a.svg").read_bytes(), run)
    assert "stitching" in our_lines(saved[name], run)


@pytest.mark.parametrize("name", SHEETS)
def test_what_the_maker_drew_is_untouched(name: str, saved: dict[str, bytes]) -> None:
    assert_untouched(SHEETS[name].text, saved[name])
    assert names_of(saved[name]) == [SHEETS[name].selected, "note of scallopkit"]


@pytest.mark.parametrize("name", [name for name, one in SHEETS.items() if one.per_mm])
def test_a_scallop_is_as_wide_in_every_unit(name: str, saved: dict[str, bytes]) -> None:
    """The line as another library reads it, brought to mm by hand: these documents hold the same neckline."""
    (element,) = [one for one in _own(saved[name], "neck") if one.get("data-role") == "stitching"]
    assert not any(one.get("transform") for one in (element, *element.iterancestors()))
    arcs = svgpathtools.parse_path(element.get("d"))
    places = np.array([arc.start for arc in arcs] + [arcs[-1].end]) / SHEETS[name].per_mm
    # Every scallop is two arcs, which meet in its crest.
    widths = np.abs(np.diff(places[::2]))
    length = svgpathtools.CubicBezier(*(complex(*place) for place in NECK)).length()
    assert len(widths) == round(length / 18.0)
    assert np.ptp(widths) < SAME_MM
    # A chord is shorter than its stretch of the line by the third power of the bend: here up to a tenth of a mm.
    assert length / len(widths) - 0.1 < widths.mean() < length / len(widths)


# ---------------------------------------------------------------- every effect


PIECES = sheet(
    f'<g id="layer1" inkscape:groupmode="layer" inkscape:label="pattern" transform="translate(5,7.25)">{neck(1.0)}'
    f'<path id="left" {INK} d="M 30,300 L 130,306"/><path id="right" {INK} d="M 160,306 L 280,300"/>'
    f'<path id="skirt" {INK} d="M 30,350 H 210"/><path id="band" {INK} d="M 230,350 H 340"/></g>'
)
LONGER = "M 270 40 C 300 180 400 180 430 40"
STEPS = (
    ("scallop", "neck", "scallop"),
    ("again", "neck", "scallop"),
    ("eyelets", "scallopkit-neck", "eyelets"),
    ("notches", "scallopkit-neck", "notches"),
    ("facing", "scallopkit-neck", "facing"),
    ("sew", "left,right", "sew"),
    ("match", "skirt,band", "match"),
    ("survey", "", "survey"),
    ("refit", "", "refit"),
)
VALUES: dict[str, Value] = SCALLOPS | {
    "eyelets.size": "e4",
    "eyelets.margin": 1,
    "sew.join": "butt",
    "sew.name": "lower hem",
    "match.take-up": "knife",
    "match.number": 3,
    "facing.depth": 4,
    "facing.depth-unit": "cm",
}


@pytest.fixture(scope="module")
def steps(tmp_path_factory: pytest.TempPathFactory) -> dict[str, bytes]:
    """The document after each effect in turn; before all is fitted again, the editor changes the neckline."""
    folder = tmp_path_factory.mktemp("steps")
    (folder / "pieces.svg").write_text(PIECES.text, encoding="utf-8")
    actions = []
    for step, selected, effect in STEPS:
        actions += ["select-clear", *([f"select-by-id:{selected}"] if selected else [])]
        if step == "refit":
            actions += ["select-by-id:neck", f"object-set-attribute:d,{LONGER}", "select-clear"]
        actions += [f"scallopkit.{effect}.noprefs", f"export-filename:{folder / step}.svg", "export-do"]
    said = run_actions(write_profile(folder / "profile", VALUES), actions, folder / "pieces.svg")
    assert (folder / "refit.svg").exists(), said
    return {step: (folder / f"{step}.svg").read_bytes() for step, *_ in STEPS}


@pytest.mark.parametrize("step", [step for step, *_ in STEPS if step != "refit"])
def test_each_effect_leaves_the_makers_elements(step: str, steps: dict[str, bytes]) -> None:
    assert_untouched(PIECES.text, steps[step])


def test_a_second_run_replaces_the_first(steps: dict[str, bytes]) -> None:
    assert names_of(steps["again"]) == names_of(steps["scallop"]) == ["neck", "note of scallopkit"]
    assert_same(steps["again"], steps["scallop"], "neck")


def test_each_effect_does_what_its_command_does(steps: dict[str, bytes], command: Command) -> None:
    drawing = Path("a.svg")
    drawing.write_text(PIECES.text, encoding="utf-8")
    wide = "--width 18mm --depth 6mm"
    for step, run, line in (
        ("scallop", "neck", f"scallop a.svg --along neck {wide}"),
        ("eyelets", "neck", "eyelets a.svg --run neck --eyelet e4 --margin 1mm"),
        ("notches", "neck", "notches a.svg --run neck --at valleys"),
        ("facing", "neck", "facing a.svg --run neck --depth 4cm"),
        ("sew", "lower hem", f'scallop a.svg --along left --join butt --along right {wide} --name "lower hem"'),
        ("match", "match skirt to band", "match a.svg skirt band --take-up knife:3"),
    ):
        command(f"{line} --in-place")
        assert_same(steps[step], drawing.read_bytes(), run)
    drawing.write_bytes(steps["survey"].replace(b'd="M 280,40 C 300,160 400,160 420,40"', f'd="{LONGER}"'.encode()))
    command("refit a.svg --in-place")
    for run in ("neck", "lower hem", "match skirt to band"):
        assert_same(steps["refit"], drawing.read_bytes(), run)


def test_a_survey_writes_names(steps: dict[str, bytes]) -> None:
    words = {
        "".join(str(part) for part in one.itertext()).strip() for one in _own(steps["survey"], "names of scallopkit")
    }
    assert {"neck", "left", "right", "skirt", "band"} <= words


def test_fitted_again_after_a_change_in_the_editor(steps: dict[str, bytes]) -> None:
    assert LONGER in steps["refit"].decode()
    before, after = (our_lines(steps[step], "neck")["stitching"][0] for step in ("survey", "refit"))
    assert np.abs(after[0, 0] - before[0, 0]).max() > 5.0
