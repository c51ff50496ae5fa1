"""The effects' scripts and manifests, run directly as the editor runs them, with the system's Python too."""

from __future__ import annotations

import json
import os
import re
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path

import pytest
from lxml import etree

from scallopkit.document.legend import with_legend
from scallopkit.document.reader import read_drawing
from scallopkit.document.workshop import cut, scallop, with_runs
from scallopkit.editors.shipped import extension_folder
from scallopkit.editors.told import FIELDS

SYSTEM = Path("/usr/bin/python3")
SCHEMA = Path("/usr/share/inkscape/extensions/inkscape.extension.rng")
NAMESPACE = "{http://www.inkscape.org/namespace/inkscape/extension}"
MANIFESTS = sorted(extension_folder("inkscape").glob("*.inx"))
DRAWING = """<?xml version="1.0" encoding="UTF-8"?>
<svg xmlns="http://www.w3.org/2000/svg" xmlns:inkscape="http://www.inkscape.org/namespaces/inkscape"
  width="400mm" height="300mm" viewBox="0 0 800 600">
  <g id="layer1" inkscape:groupmode="layer" transform="rotate(10) scale(1.5)">
    <path id="front" style="stroke:#000000"
      d="M 30,350 C 20,250 60,120 100,40 L 218,72 C 196,150 186,246 266,292 L 250,328 z"/>
    <path id="neck" style="stroke:#000000" d="M 280,40 C 300,160 400,160 420,40"/>
  </g>
</svg>
"""


ASK = (
    "import sys, numpy, lxml.etree as xml\n"
    "print(sys.version.split()[0], 'numpy', numpy.__version__, 'lxml', '.'.join(map(str, xml.LXML_VERSION[:3])))\n"
    "assert sys.version_info >= (3, 10)"
)


def versions(python: Path) -> str:
    """What a Python brings, as its tests are called; an empty text where it can't do the work."""
    if not python.exists():
        return ""
    done = subprocess.run([python, "-c", ASK], env=clean(), capture_output=True, text=True, check=False)
    return "" if done.returncode else f"Python {done.stdout.strip()}"


def clean() -> dict[str, str]:
    return {key: value for key, value in os.environ.items() if not key.startswith(("PYTHON", "VIRTUAL_ENV"))}


# The Pythons to run the scripts with: our own, and the one that editors of this system use.
PYTHONS = [python for python in (Path(sys.executable), SYSTEM) if versions(python)]
NAMES = [f"{python.name} of {python.parent.parent.name}: {versions(python)}" for python in PYTHONS]


@pytest.fixture
def drawing(tmp_path: Path) -> Path:
    path = tmp_path / "ink_ext_XXXX.svg"
    path.write_text(DRAWING, encoding="utf-8")
    return path


def effect(folder: Path, script: str, drawing: Path, *arguments: str, python: Path = Path(sys.executable)) -> bytes:
    done = run(folder, script, drawing, *arguments, python=python)
    assert done.stderr == b""
    assert done.returncode == 0
    return done.stdout


def run(
    folder: Path, script: str, drawing: Path, *arguments: str, python: Path = Path(sys.executable)
) -> subprocess.CompletedProcess[bytes]:
    command = [str(python), "-W", "error", f"{script}.py", *arguments, str(drawing)]
    return subprocess.run(command, cwd=folder, capture_output=True, check=False, env=clean(), timeout=60)


def lines_of(data: bytes, run_name: str) -> list[str]:
    paths = etree.fromstring(data).iter("{http://www.w3.org/2000/svg}path")
    return [path.get("d") or "" for path in paths if path.get("data-run") == run_name]


def names_of(data: bytes) -> set[str]:
    return {str(element.get("data-run")) for element in etree.fromstring(data).iter() if element.get("data-run")}


def note_of(data: bytes) -> list[str]:
    texts = etree.fromstring(data).iter("{http://www.w3.org/2000/svg}text")
    return [str(row.text) for text in texts if text.get("data-run") == "note of scallopkit" for row in text]


# ---------------------------------------------------------------- manifests


@pytest.mark.host
@pytest.mark.skipif(not SCHEMA.exists(), reason="Inkscape's schema of manifests is not on this system")
@pytest.mark.parametrize("manifest", MANIFESTS, ids=lambda path: path.stem)
def test_manifests_are_valid_against_the_hosts_schema(manifest: Path) -> None:
    schema = etree.RelaxNG(etree.parse(SCHEMA))
    assert schema.validate(etree.parse(manifest)), str(schema.error_log)


@pytest.mark.parametrize("manifest", MANIFESTS, ids=lambda path: path.stem)
def test_dialogues_ask_for_what_their_script_takes(manifest: Path, folder: Path) -> None:
    root = etree.parse(manifest).getroot()
    asked = {param.get("name") for param in root.iter(f"{NAMESPACE}param")} - {"pages"}
    script = root.findtext(f".//{NAMESPACE}command") or ""
    ask = (
        f"import json, {Path(script).stem} as script\n"
        "print(json.dumps([action.option_strings[-1] for action in script.fields()._actions if action.option_strings]))"
    )
    done = subprocess.run([sys.executable, "-c", ask], cwd=folder, capture_output=True, check=True, env=clean())
    taken = {option.removeprefix("--") for option in json.loads(done.stdout)}
    assert asked == taken - {"id", "selected-nodes", "help"}


@pytest.mark.parametrize("manifest", MANIFESTS, ids=lambda path: path.stem)
def test_scripts_are_short_and_free_of_the_hosts_own_library(manifest: Path) -> None:
    text = manifest.with_suffix(".py").read_text(encoding="utf-8")
    assert text.count("\n") < 100
    assert "inkex" not in text


@pytest.mark.host
@pytest.mark.skipif(SYSTEM not in PYTHONS, reason=f"{SYSTEM} is not there, or lacks numpy or lxml")
def test_the_systems_own_python_is_tried_too(record_property: Callable[[str, object], None]) -> None:
    found = versions(SYSTEM)
    print(f"\nscripts run under {SYSTEM}: {found}")
    record_property("system python", found)
    numbers = [tuple(map(int, text.split("."))) for text in re.findall(r"\d+\.\d+", found)]
    assert all(number >= least for number, least in zip(numbers, [(3, 10), (1, 24), (4, 9)], strict=True))


# ---------------------------------------------------------------- scallops


@pytest.mark.parametrize("python", PYTHONS, ids=NAMES)
def test_scallops_are_those_of_the_library(folder: Path, drawing: Path, python: Path) -> None:
    out = effect(folder, "scallop", drawing, "--id=neck", "--width=9", "--width-unit=mm", python=python)
    own = read_drawing(DRAWING.encode(), "d.svg")
    wanted = with_runs(own, [scallop(own, "neck", width=9, depth="40%", profile="arc")])
    (line,), (other,) = lines_of(out, "neck"), lines_of(wanted, "neck")
    numbers, others = ([float(n) for n in re.findall(r"-?[\d.]+", text)] for text in (line, other))
    # Different builds of numpy add in different orders, which shows in the last digits only.
    assert numbers == pytest.approx(others, abs=1e-5)
    assert out.startswith(DRAWING.encode()[: DRAWING.index("</g>")])


def test_the_note_tells_how_many_and_what_else_would_fit(folder: Path, drawing: Path) -> None:
    note = note_of(effect(folder, "scallop", drawing, "--id=neck", "--width=9"))
    assert re.fullmatch(r"neck: [\d.]+ mm along the edge as sewn", note[0])
    assert re.fullmatch(r"\d+ scallops, each [\d.]+ mm wide", note[1])
    assert re.fullmatch(r"or: \d+ of [\d.]+ mm; \d+ of [\d.]+ mm", note[2])
    assert note_of(effect(folder, "scallop", drawing, "--id=neck", "--width=9", "--note=false")) == []


def test_a_report_is_shown_only_if_asked_for(folder: Path, drawing: Path) -> None:
    done = run(folder, "scallop", drawing, "--id=neck", "--width=9", "--tell=true")
    assert done.returncode == 0
    assert done.stderr.decode().startswith("neck: ")
    assert done.stdout == effect(folder, "scallop", drawing, "--id=neck", "--width=9")


def test_selected_nodes_name_the_edge(folder: Path, drawing: Path) -> None:
    out = effect(
        *(folder, "scallop", drawing, "--id=front", "--selected-nodes=front:0:2", "--selected-nodes=front:0:1"),
        "--width=12",
    )
    assert len(lines_of(out, "front:c2..c1")) == 1


def test_a_second_run_replaces_the_first(folder: Path, drawing: Path) -> None:
    once = effect(folder, "scallop", drawing, "--id=neck", "--width=9")
    drawing.write_bytes(once)
    assert effect(folder, "scallop", drawing, "--id=neck", "--width=9") == once
    other = effect(folder, "scallop", drawing, "--id=neck", "--width=11")
    assert len(lines_of(other, "neck")) == 1
    assert lines_of(other, "neck") != lines_of(once, "neck")


def test_a_selected_line_of_scallops_is_made_anew_on_its_edges(folder: Path, drawing: Path) -> None:
    drawing.write_bytes(effect(folder, "scallop", drawing, "--id=neck", "--width=9"))
    other = effect(folder, "scallop", drawing, "--id=scallopkit-neck", "--width=11")
    assert lines_of(other, "neck") == lines_of(effect(folder, "scallop", drawing, "--id=neck", "--width=11"), "neck")


@pytest.mark.parametrize(
    ("arguments", "text"),
    [
        ((), "No outline is selected: select one, or two nodes of it for the edge between them. Nothing was changed."),
        (("--id=neck", "--width=4000"), "Nothing was changed."),
        (("--id=neck", "--width=wide"), "Nothing was changed."),
        (("--id=neck", "--width=9", "--depth=49"), "or leave a space of 0.06 mm. Nothing was changed."),
        (("--id=layer1", "--name=all"), 'can\'t all be called "all": leave the name out. Nothing was changed.'),
    ],
)
def test_a_mistake_is_one_plain_sentence_and_an_empty_result(
    folder: Path, drawing: Path, arguments: tuple[str, ...], text: str
) -> None:
    done = run(folder, "scallop", drawing, *arguments)
    message = done.stderr.decode()
    assert done.stdout == b""
    assert message.endswith(text + "\n")
    assert message.count("\n") == 1
    assert "Traceback" not in message


def test_a_fault_of_our_own_is_reported_in_a_file(folder: Path, drawing: Path, tmp_path: Path) -> None:
    code = "import scallop; scallop.effect.main(scallop.fields(), lambda *_: 1 / 0)"
    environment = {**clean(), "TMPDIR": str(tmp_path)}
    command = [sys.executable, "-c", code, "--id=neck", str(drawing)]
    done = subprocess.run(command, cwd=folder, capture_output=True, check=False, env=environment, timeout=60)
    message = done.stderr.decode()
    (report,) = tmp_path.glob("scallopkit-fault-*.txt")
    assert done.stdout == b""
    assert str(report) in message
    assert "Traceback" not in message
    assert "ZeroDivisionError" in report.read_text(encoding="utf-8")


# ---------------------------------------------------------------- the other effects


def roles(data: bytes, run_name: str) -> set[str]:
    every = etree.fromstring(data).iter("{http://www.w3.org/2000/svg}*")
    return {element.get("data-role") or "" for element in every if element.get("data-run") == run_name} - {""}


@pytest.fixture(params=PYTHONS, ids=NAMES)
def python(request: pytest.FixtureRequest) -> Path:
    return Path(str(request.param))


FRONT = ("--id=front", "--selected-nodes=front:0:0", "--selected-nodes=front:0:1")
SIDE = ("--id=front", "--selected-nodes=front:0:1", "--selected-nodes=front:0:2")


def test_eyelets_in_scallops_and_along_edges(folder: Path, drawing: Path, python: Path) -> None:
    drawing.write_bytes(effect(folder, "scallop", drawing, *FRONT, "--width=36", "--depth=50", python=python))
    row = effect(folder, "eyelets", drawing, "--id=front", "--size=e4", "--margin=2", python=python)
    assert "eyelet" in roles(row, "front:c0..c1")
    assert "7 eyelets" in " ".join(note_of(row))
    along = effect(folder, "eyelets", drawing, *SIDE, "--place=along", "--count=4", "--margin=3", python=python)
    assert "eyelet" in roles(along, "front:c1..c2 eyelets")


def test_notches_and_clips_of_a_line_of_scallops(folder: Path, drawing: Path, python: Path) -> None:
    drawing.write_bytes(effect(folder, "scallop", drawing, *FRONT, "--width=36", python=python))
    out = effect(folder, "notches", drawing, "--id=scallopkit-front-c0..c1", "--finish=faced", python=python)
    assert {"notch", "clip", "wedge", "stitching"} <= roles(out, "front:c0..c1")
    alone = effect(folder, "notches", drawing, "--id=neck", "--at=parts", "--parts=3", python=python)
    assert "notch" in roles(alone, "neck notches")


def test_a_facing_lies_beside_the_pattern(folder: Path, drawing: Path, python: Path) -> None:
    drawing.write_bytes(effect(folder, "scallop", drawing, *FRONT, "--width=36", python=python))
    out = effect(folder, "facing", drawing, "--id=front", "--depth=4", "--depth-unit=cm", python=python)
    assert "facing" in roles(out, "front:c0..c1")
    assert "40 mm deep" in " ".join(note_of(out))


def test_two_edges_are_matched(folder: Path, drawing: Path, python: Path) -> None:
    select = ("--id=neck", *FRONT)
    out = effect(folder, "match", drawing, *select, "--take-up=knife", "--number=3", python=python)
    assert "pleat" in roles(out, "match neck to front:c0..c1")


def test_edges_are_sewn_in_the_order_of_the_selection(folder: Path, drawing: Path, python: Path) -> None:
    nodes = (
        "--selected-nodes=front:0:0",
        "--selected-nodes=front:0:1",
        "--selected-nodes=neck:0:0",
        "--selected-nodes=neck:0:1",
    )
    out = effect(
        folder,
        "sew",
        drawing,
        "--id=front",
        "--id=neck",
        *nodes,
        "--join=butt",
        "--width=15",
        "--depth=25",
        "--name=all",
        python=python,
    )
    assert "stitching" in roles(out, "all")
    assert len(lines_of(out, "all")) == 2


def test_notches_lie_between_selected_nodes(folder: Path, drawing: Path, python: Path) -> None:
    out = effect(folder, "notches", drawing, *SIDE, "--at=parts", "--parts=3", python=python)
    assert roles(out, "front:c1..c2 notches") == {"notch"}
    assert "front:c1..c2" in note_of(out)[0]


def test_a_facing_goes_with_the_scallops_whose_nodes_are_selected(folder: Path, drawing: Path, python: Path) -> None:
    drawing.write_bytes(effect(folder, "scallop", drawing, *FRONT, "--width=36", python=python))
    out = effect(folder, "facing", drawing, *FRONT, "--depth=40", python=python)
    assert "facing" in roles(out, "front:c0..c1")


# Every effect that works on edges, with what its dialogue needs to say, the nodes clicked, and what comes of it where.
NODED = {
    "scallop": (["--width=12"], ["front:0:2", "front:0:1"], "front:c2..c1", "stitching"),
    "sew": (
        ["--join=butt", "--width=15", "--depth=25"],
        ["front:0:0", "front:0:1"],
        "neck to front:c0..c1",
        "stitching",
    ),
    "eyelets": (
        ["--place=along", "--count=4", "--margin=3"],
        ["front:0:2", "front:0:1"],
        "front:c2..c1 eyelets",
        "eyelet",
    ),
    "notches": (["--at=parts", "--parts=3"], ["front:0:2", "front:0:1"], "front:c2..c1 notches", "notch"),
    "facing": (["--depth=40"], ["front:0:0", "front:0:1"], "front:c0..c1", "facing"),
    "match": (["--take-up=knife", "--number=3"], ["front:0:0", "front:0:1"], "match neck to front:c0..c1", "pleat"),
}


@pytest.mark.parametrize("script", NODED)
def test_clicked_nodes_mean_an_edge_in_every_effect(folder: Path, drawing: Path, script: str, python: Path) -> None:
    """As the editor hands them over: in the order of the clicks, beside whole outlines that are selected."""
    arguments, nodes, name, role = NODED[script]
    whole = {"sew": ["--id=neck"], "match": ["--id=neck"]}.get(script, [])
    clicked = [f"--selected-nodes={node}" for node in nodes]
    if script == "facing":
        drawing.write_bytes(effect(folder, "scallop", drawing, *FRONT, "--width=36", python=python))
    out = effect(folder, script, drawing, *whole, "--id=front", *clicked, *arguments, python=python)
    assert role in roles(out, name), names_of(out)


def test_no_effect_on_edges_is_left_out() -> None:
    whole = {"refit", "survey", "pages"}
    assert {manifest.stem for manifest in MANIFESTS} == {*NODED, *whole}


@pytest.mark.parametrize("script", ["refit", "survey"])
def test_what_is_about_the_whole_drawing_takes_any_selection(folder: Path, drawing: Path, script: str) -> None:
    drawing.write_bytes(effect(folder, "scallop", drawing, *FRONT, "--width=36"))
    odd = ("--id=layer1", "--selected-nodes=front:0:1", "--selected-nodes=front:0")
    assert effect(folder, script, drawing, *odd) == effect(folder, script, drawing)


def test_edges_on_both_sides_of_a_dart_are_sewn(folder: Path, drawing: Path, python: Path) -> None:
    """Four nodes of one outline are two edges."""
    outline = "M 40,200 V 320 H 140 L 155,260 L 170,320 H 280 V 200 z"
    drawing.write_text(DRAWING.replace('id="neck"', f'id="skirt" d="{outline}"/><path id="neck"'), encoding="utf-8")
    nodes = [f"--selected-nodes=skirt:0:{number}" for number in (1, 2, 4, 5)]
    out = effect(folder, "sew", drawing, *nodes, "--id=skirt", "--join=dart", "--width=20", "--name=hem", python=python)
    assert len([line for line in lines_of(out, "hem") if line]) >= 2
    assert "stitching" in roles(out, "hem")


def test_all_is_fitted_again_after_a_change(folder: Path, drawing: Path, python: Path) -> None:
    before = effect(folder, "scallop", drawing, "--id=neck", "--width=9", python=python)
    longer = before.replace(b"420,40", b"480,40")
    drawing.write_bytes(longer)
    out = effect(folder, "refit", drawing, python=python)
    assert lines_of(out, "neck") != lines_of(before, "neck")
    assert re.match(r"neck: edge [\d.]+ to [\d.]+ mm, count \d+ to \d+", note_of(out)[0])


def test_a_survey_writes_names_and_takes_them_away(folder: Path, drawing: Path, python: Path) -> None:
    out = effect(folder, "survey", drawing, python=python)
    names = {text[0].text for text in etree.fromstring(out).iter("{http://www.w3.org/2000/svg}text")}
    assert {"front", "neck", "c0", "c1", "start", "end"} <= names
    drawing.write_bytes(out)
    assert effect(folder, "survey", drawing, "--names=hide", "--note=false", python=python).count(b"<text") == 1


def test_the_makers_own_elements_stay_byte_for_byte(folder: Path, drawing: Path) -> None:
    own = DRAWING.encode()[: DRAWING.index("</svg>")]
    for script, arguments in (
        ("scallop", ("--id=neck", "--width=9")),
        ("survey", ()),
        ("notches", ("--id=neck", "--at=parts")),
    ):
        assert effect(folder, script, drawing, *arguments).startswith(own.rstrip())


# ---------------------------------------------------------------- an editor's Python that can't


@pytest.mark.parametrize(
    ("spoil", "told"),
    [
        ("import sys; sys.version_info = (3, 9, 2)", "The Python of this editor is 3.9, and scallopkit needs 3.10"),
        ("import sys; sys.modules['numpy'] = None", "The Python of this editor has no numpy"),
        ("import sys; sys.modules['lxml'] = sys.modules['lxml.etree'] = None", "The Python of this editor has no lxml"),
    ],
)
def test_an_editor_whose_python_can_not_says_so(folder: Path, drawing: Path, spoil: str, told: str) -> None:
    code = f"{spoil}; import runpy; sys.argv = ['scallop.py', {str(drawing)!r}]; runpy.run_path('scallop.py')"
    command = [sys.executable, "-c", code]
    done = subprocess.run(command, cwd=folder, capture_output=True, check=False, env=clean(), timeout=60)
    message = done.stderr.decode()
    assert message.startswith(told)
    assert message.endswith("Nothing was changed.\n")
    assert message.count("\n") == 1
    assert (done.stdout, done.returncode) == (b"", 1)


def test_switches_of_the_match_dialogue(folder: Path, drawing: Path) -> None:
    select = ("--id=neck", *FRONT)
    one = effect(folder, "match", drawing, *select, "--take-up=gathers", "--turned=true", "--in-phase=false")
    other = effect(folder, "match", drawing, *select, "--take-up=gathers", "--turned=false")
    assert "label" in roles(one, "match neck to front:c0..c1")
    assert one != other


def test_a_cutting_line_is_no_row_and_no_line_of_scallops(folder: Path, drawing: Path) -> None:
    own = read_drawing(DRAWING.encode(), "d.svg")
    drawing.write_bytes(with_runs(own, [], cut(own, "front")))
    for script, arguments in (("eyelets", ("--place=along", "--spacing=50")), ("notches", ("--at=parts",))):
        done = run(folder, script, drawing, "--id=scallopkit-cut-front", *arguments)
        assert done.stdout == b""
        assert "is no line of scallops or other parts" in done.stderr.decode()


def test_effects_draw_pieces_again_that_are_cut_already(folder: Path, drawing: Path) -> None:
    own = read_drawing(DRAWING.encode(), "d.svg")
    cut_first = with_runs(own, [], cut(own, "front"))
    drawing.write_bytes(cut_first)
    drawing.write_bytes(effect(folder, "scallop", drawing, *FRONT, "--width=36"))
    once = lines_of(drawing.read_bytes(), "cut front")
    assert 'drawn again as cut: "front"' in note_of(drawing.read_bytes())
    assert once != lines_of(cut_first, "cut front")
    drawing.write_bytes(effect(folder, "facing", drawing, "--id=front", "--depth=4", "--depth-unit=cm"))
    assert 'drawn again as cut: "front"' in note_of(drawing.read_bytes())
    # The facing's notch is on the piece too.
    assert len(lines_of(drawing.read_bytes(), "cut front")) == len(once) + 1
    again = effect(folder, "refit", drawing)
    assert lines_of(again, "cut front") == lines_of(drawing.read_bytes(), "cut front")
    assert "cut front: unchanged" in note_of(again)


def test_no_line_takes_the_name_of_a_note(folder: Path, drawing: Path) -> None:
    done = run(folder, "scallop", drawing, "--id=neck", "--width=9", "--name=note of scallopkit")
    assert done.stdout == b""
    assert "is what a note of ours is called" in done.stderr.decode()


def test_messages_name_effects_and_no_commands(folder: Path, drawing: Path) -> None:
    done = run(folder, "refit", drawing)
    message = done.stderr.decode()
    assert "the effect Scallops" in message
    assert "`" not in message
    alone = run(folder, "match", drawing, "--id=neck").stderr.decode()
    assert alone.startswith("1 edge is selected: select the two")


def test_messages_call_fields_by_their_labels(folder: Path, drawing: Path) -> None:
    labels = {
        str(element.get("gui-text")).rstrip(":")
        for manifest in MANIFESTS
        for element in etree.parse(manifest).iter(f"{NAMESPACE}param")
    }
    named = [label for text in FIELDS.values() for label in re.findall('"([^"]+)"', text)]
    assert len(named) == 8
    assert set(named) <= labels
    assert "At corners on the way" in labels
    select = ("--id=neck", *FRONT)
    eased = run(folder, "match", drawing, *select, "--take-up=ease").stderr.decode()
    assert 'give a greater share of ease (by the cloth under "What is eased")' in eased
    pleated = run(folder, "match", drawing, *select, "--take-up=knife").stderr.decode()
    assert 'mm, as in "How many pleats or darts" 3, or how deep they are with depth' in pleated
    assert {"On the edge lies", "Each side of a lap, beyond its centre line"} <= labels
    lap = run(folder, "sew", drawing, *FRONT, "--id=neck", "--join=lap", "--lap=0").stderr.decode()
    assert 'of their lap, in "Each side of a lap, beyond its centre line". Nothing' in lap
    whole = run(folder, "sew", drawing, "--id=front", "--id=neck").stderr.decode()
    assert "which has no ends to join: select a stretch of it. Nothing" in whole
    middle = run(folder, "scallop", drawing, "--id=front", "--touch=middle", "--corner=wrap").stderr.decode()
    assert 'ask for a valley ("At corners on the way"), or for the valley ("On the edge lies").' in middle
    wave = run(folder, "scallop", drawing, "--id=front", "--profile=wave", "--corner=wrap").stderr.decode()
    assert 'take a round shape or the half circle, or a valley ("At corners on the way").' in wave


def test_a_legend_that_is_there_is_made_anew_and_none_is_added(folder: Path, drawing: Path) -> None:
    first = effect(folder, "scallop", drawing, *FRONT, "--width=36", "--depth=50")
    assert b"stitching line" not in first
    own = read_drawing(first, "d.svg")
    drawing.write_bytes(with_legend(own, first, True))
    legend = re.compile(rb">(hole of an eyelet[^<]*|stitching line)<")
    assert legend.findall(drawing.read_bytes()) == [b"stitching line"]
    row = effect(folder, "eyelets", drawing, "--id=front", "--size=e4", "--margin=2")
    assert sorted(legend.findall(row)) == [b"hole of an eyelet, or what stands for it", b"stitching line"]
    # What changes nothing else leaves it as it is, and a legend that is not wanted stays away.
    drawing.write_bytes(with_legend(own, first, False))
    assert not legend.findall(effect(folder, "eyelets", drawing, "--id=front", "--size=e4", "--margin=2"))
