"""The bridge for macros: requests in, answers out, the same lines as the library draws."""

from __future__ import annotations

import io
import json
import math
import re
import zipfile
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from lxml import etree
from typer.testing import CliRunner

from scallopkit import __version__
from scallopkit.cli import app
from scallopkit.document.path_data import read_path
from scallopkit.document.reader import read_drawing
from scallopkit.document.styles import LINES
from scallopkit.document.workshop import eyelets, notches, redrawn, scallop, with_runs
from scallopkit.editors import bridge
from scallopkit.editors.bridge import answer, served
from scallopkit.editors.shipped import extension_folder, libreoffice_files, libreoffice_package
from scallopkit.errors import RequestError

HEM = {"name": "hem", "closed": False, "curve": [[[0, 0], [60, 40], [120, 40], [180, 0]]]}
FLAP = {
    "name": "flap",
    "closed": True,
    "curve": [[[20, 60], [200, 60]], [[200, 60], [200, 120], [20, 120], [20, 60]]],
}
SHEET = """<svg xmlns="http://www.w3.org/2000/svg" width="200mm" height="200mm" viewBox="0 0 200 200">
<path id="hem" fill="none" stroke="black" d="M 0 0 C 60,40 120,40 180,0"/>
<path id="flap" fill="none" stroke="black" d="M 20 60 H 200 C 200 120 20 120 20 60 z"/></svg>"""
# Coordinates are written to a hundred thousandth of a mm on either way.
WRITTEN = 1e-5


def asked(task: str, **more: Any) -> dict[str, Any]:  # noqa: ANN401  # any JSON
    return answer({"bridge": 1, "task": task, "shapes": [HEM, FLAP], **more})


def paths(source: bytes, run: str, role: str) -> list[np.ndarray[Any, Any]]:
    every = etree.fromstring(source).iter("{http://www.w3.org/2000/svg}path")
    texts = [path.get("d") or "" for path in every if (path.get("data-run"), path.get("data-role")) == (run, role)]
    return [part.curve for text in texts for part in read_path(text, 1e-6).subpaths]


def curves(run: dict[str, Any], role: str) -> list[np.ndarray[Any, Any]]:
    return [np.array(line["curve"]) for line in run["lines"] if line["role"] == role]


def kept(made: dict[str, Any]) -> list[dict[str, str]]:
    return [{"name": run["name"], "recipe": run["recipe"]} for run in made["runs"]]


# ---------------------------------------------------------------- what is made


def test_scallops_are_those_of_the_library() -> None:
    made = asked("scallop", along=["hem", "flap"], words={"width": "12mm", "depth": "30%"})
    drawing = read_drawing(SHEET.encode(), "sheet.svg")
    runs = [scallop(drawing, edge, width="12mm", depth="30%") for edge in ("hem", "flap")]
    source = with_runs(drawing, runs)
    assert [run["name"] for run in made["runs"]] == ["hem", "flap"]
    for run, own in zip(made["runs"], runs, strict=True):
        (line,), (wanted,) = curves(run, "stitching"), paths(source, own.name, "stitching")
        assert line.shape == wanted.shape
        assert line == pytest.approx(wanted, abs=WRITTEN)
    assert [line["closed"] for run in made["runs"] for line in run["lines"]] == [False, True]
    assert made["tell"][1] == f"{runs[0].count:g} scallops, each {runs[0].widths[0]:.2f} mm wide"


def test_eyelets_and_notches_are_set_on_a_kept_run() -> None:
    first = asked("scallop", along="hem", words={"width": 18})
    second = asked("eyelets", on=["hem"], words={"eyelet": "3mm"}, runs=kept(first))
    third = asked("notches", on=["hem"], words={"at": "crests", "kind": "v"}, runs=kept(second))
    drawing = read_drawing(SHEET.encode(), "sheet.svg")
    drawing = redrawn(drawing, [scallop(drawing, "hem", width=18)])
    drawing = redrawn(drawing, [eyelets(drawing, run="hem", eyelet="3mm")])
    run = notches(drawing, run="hem", at="crests", kind="v")
    (made,) = third["runs"]
    wanted = run.eyelets[0].points.tolist()
    for x, y in wanted:
        assert min(math.hypot(x - hole["x"], y - hole["y"]) for hole in made["circles"]) <= 2.0 * WRITTEN
    lines = paths(with_runs(drawing, [run]), "hem", "notch")
    assert len(lines) == len(curves(made, "notch")) == len(wanted)
    for line, other in zip(curves(made, "notch"), lines, strict=True):
        assert line == pytest.approx(other, abs=WRITTEN)


def test_a_second_fit_starts_from_the_edge_and_keeps_what_lies_on_it() -> None:
    first = asked("scallop", along="hem", words={"width": 18})
    laid = asked("eyelets", on=["hem"], words={"eyelet": "3mm"}, runs=kept(first))
    other = asked("scallop", along="hem", words={"width": 22}, runs=kept(laid))
    assert [run["name"] for run in other["runs"]] == ["hem"]
    assert len(curves(other["runs"][0], "stitching")) == 1
    assert other["runs"][0]["circles"]
    assert not any(warning["code"] == "edge-taken" for warning in other["warnings"])


def test_refit_makes_kept_runs_again_on_edges_as_they_are_now() -> None:
    first = asked("scallop", along="hem", words={"width": 18})
    longer = {**HEM, "curve": [[[0, 0], [60, 40], [120, 40], [240, 0]]]}
    again = answer({"bridge": 1, "task": "refit", "shapes": [longer, FLAP], "runs": kept(first)})
    assert re.fullmatch(r"hem: edge 192\.56 to 2\d\d\.\d\d mm, count 11 to \d+, width .*", again["tell"][0])
    assert curves(again["runs"][0], "stitching")[0][-1, 3] == pytest.approx([240, 0], abs=WRITTEN)


def test_edges_go_by_marks_and_joins_make_one_run() -> None:
    marks = [{"name": "a", "x": 60, "y": 60.5}, {"name": "b", "x": 150, "y": 60}]
    made = asked("scallop", along="flap:a..b", marks=marks, words={"width": 9})
    line = curves(made["runs"][0], "stitching")[0]
    assert line[[0, -1], [0, 3]] == pytest.approx(np.array([[60, 60], [150, 60]]), abs=WRITTEN)
    parts = [{"name": f"p{k}", "curve": [[[k * 100, 150], [k * 100 + 90, 150]]]} for k in range(2)]
    joined = answer(
        {
            "bridge": 1,
            "task": "scallop",
            "shapes": parts,
            "along": ["p0", "p1"],
            "join": "seam:pass",
            "words": {"width": 12},
        }
    )
    assert [(run["name"], run["edges"]) for run in joined["runs"]] == [("p0 to p1", ["p0", "p1"])]


def test_a_selected_run_gets_other_scallops_on_the_same_edge() -> None:
    first = asked("scallop", along="hem", words={"width": 18, "name": "rim"})
    other = asked("scallop", on="rim", words={"count": 7}, runs=kept(first))
    assert [run["name"] for run in other["runs"]] == ["rim"]
    assert "7 scallops" in other["tell"][1]


def test_lines_have_the_look_of_the_library_s() -> None:
    made = asked("scallop", along="hem", words={"width": 18})
    (line,) = made["runs"][0]["lines"]
    style = LINES["stitching"]
    assert (line["colour"], line["width"], line["dashes"]) == (style.colour, style.width_mm, list(style.dashes_mm))


def test_cards_bring_texts_with_their_angle() -> None:
    made = asked("scallop", along="hem", page=[600, 600], words={"width": 18, "template": "2"})
    rows = [row for text in made["runs"][0]["texts"] for row in text["rows"]]
    assert any("strip of 2" in row["text"] or "2" in row["text"] for row in rows)
    assert all(0 <= row["x"] <= 600 and 0 <= row["y"] <= 600 for row in rows)


# ---------------------------------------------------------------- refusals


@pytest.mark.parametrize(
    ("request_", "text"),
    [
        (3, "A request is one JSON object"),
        ({"bridge": 2, "task": "scallop"}, "speaks version 1 of the bridge and was asked in version 2"),
        ({"task": "scallop"}, "was asked in version None"),
        ({"bridge": 1, "task": "knit"}, "There is no task 'knit': ask for scallop"),
        ({"bridge": 1, "task": "scallop", "shape": []}, "A request has no 'shape'"),
        ({"bridge": 1, "task": "scallop", "along": "hem"}, "holds no outline"),
        ({"bridge": 1, "task": "scallop", "shapes": [HEM]}, "No edge is named"),
        ({"bridge": 1, "task": "scallop", "shapes": [HEM, HEM], "along": "hem"}, 'called "hem": give each its own'),
        ({"bridge": 1, "task": "scallop", "shapes": [{**HEM, "name": " "}]}, "A shape is called ' '"),
        ({"bridge": 1, "task": "scallop", "shapes": [{**HEM, "name": "a\u0001"}]}, "A shape is called"),
        ({"bridge": 1, "task": "scallop", "shapes": [{**HEM, "closed": 1}]}, "says 1 for closed"),
        ({"bridge": 1, "task": "scallop", "shapes": [{**HEM, "curve": []}]}, '"hem" has no curve'),
        (
            {"bridge": 1, "task": "scallop", "shapes": [{**HEM, "curve": [[[0, 0], [1, "x"]]]}]},
            "Segment 1 of the shape",
        ),
        ({"bridge": 1, "task": "scallop", "shapes": [{**HEM, "curve": [[[0, 0], [1e9, 0]]]}]}, "can't be read"),
        (
            {"bridge": 1, "task": "scallop", "shapes": [{**HEM, "curve": [[[0, 0], [9, 0]], [[10, 0], [20, 0]]]}]},
            'Segment 2 of the shape "hem" does not begin where the one before it ends',
        ),
        (
            {"bridge": 1, "task": "scallop", "shapes": [HEM], "along": "hem", "words": {"drawing": 1}},
            "no word of a task",
        ),
        ({"bridge": 1, "task": "scallop", "shapes": [HEM], "along": "hem", "words": {"widt": 1}}, "no option widt"),
        ({"bridge": 1, "task": "scallop", "shapes": [HEM], "along": "hem", "words": {"name": 3}}, "send a text"),
        ({"bridge": 1, "task": "scallop", "shapes": [HEM], "along": "hem", "words": {"width": {}}}, "can't be used"),
        (
            {"bridge": 1, "task": "scallop", "shapes": [HEM], "along": "hem", "words": {"width": 900}},
            "shorter than one",
        ),
        ({"bridge": 1, "task": "notches", "shapes": [HEM], "along": "hem", "join": "seam"}, "leave join out"),
        ({"bridge": 1, "task": "refit", "shapes": [HEM]}, "holds no run to make again"),
        ({"bridge": 1, "task": "refit", "runs": [{"name": "a", "recipe": "{"}]}, 'recipe of the run "a"'),
        ({"bridge": 1, "task": "refit", "runs": [{"name": "a", "recipe": 3}]}, 'recipe of "a" is no text'),
    ],
)
def test_a_refusal_is_one_sentence(request_: object, text: str) -> None:
    out = answer(request_)
    assert set(out) == {"bridge", "scallopkit", "error"}
    assert text in out["error"]
    assert "\n" not in out["error"]
    assert out["error"].endswith(".")


def test_a_fault_of_our_own_writes_a_report_and_says_where(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("tempfile.tempdir", str(tmp_path))
    monkeypatch.setattr(bridge, "read_request", lambda request: 1 / 0)
    out = answer({"bridge": 1, "task": "scallop", "along": "tell-tale"})
    (report,) = tmp_path.glob("scallopkit-fault-*.txt")
    assert str(report) in out["error"]
    assert "Traceback" not in out["error"]
    text = report.read_text(encoding="utf-8")
    assert "ZeroDivisionError" in text
    assert "tell-tale" in text


# ---------------------------------------------------------------- the command


def test_the_command_answers_in_ascii_and_with_status_nought() -> None:
    ended = CliRunner().invoke(app, ["bridge"], input=json.dumps({"bridge": 1, "task": "scallop", "along": "Säume"}))
    assert ended.exit_code == 0
    assert ended.output.isascii()
    assert "error" in json.loads(ended.output)
    version = CliRunner().invoke(app, ["bridge"], input='\ufeff{"bridge": 1, "task": "version"}')
    assert json.loads(version.output)["tell"] == [f"scallopkit {__version__}"]


@pytest.mark.parametrize("data", [b"", b"x", b"{", b"\xff\xfe", b"[" * 100_000])
def test_what_is_no_json_is_refused(data: bytes) -> None:
    with pytest.raises(RequestError, match=r"^what came in on stdin is no JSON"):
        served(data)


def test_the_readme_s_request_is_answered(tmp_path: Path) -> None:
    text = (Path(__file__).parents[2] / "README.md").read_text(encoding="utf-8")
    (request,) = re.findall(r"```json\n(.*?)```", text, re.DOTALL)
    out = json.loads(served(request.encode()))
    assert [run["name"] for run in out["runs"]] == ["hem"]
    assert len(curves(out["runs"][0], "stitching")) == 1


# ---------------------------------------------------------------- whatever comes in

NUMBER = st.floats(-300.0, 300.0) | st.integers(-300, 300)
POINT = st.lists(NUMBER, min_size=2, max_size=2)
SEGMENT = st.lists(POINT, min_size=2, max_size=2) | st.lists(POINT, min_size=4, max_size=4)
JSON = st.recursive(
    st.none() | st.booleans() | st.floats(allow_nan=False) | st.text(max_size=5),
    lambda inner: st.lists(inner, max_size=3) | st.dictionaries(st.text(max_size=5), inner, max_size=3),
    max_leaves=6,
)


@st.composite
def outlines(draw: st.DrawFn) -> list[Any]:
    """Segments that follow each other."""
    out: list[Any] = []
    for segment in draw(st.lists(SEGMENT, min_size=1, max_size=5)):
        out.append([out[-1][-1] if out else segment[0], *segment[1:]])
    return out


@settings(max_examples=12, deadline=None)
@given(outlines(), st.booleans(), st.floats(5.0, 60.0))
def test_any_shape_gets_scallops_on_it_or_one_sentence(curve: list[Any], closed: bool, width: float) -> None:
    shape = {"name": "a", "closed": closed, "curve": curve}
    out = answer({"bridge": 1, "task": "scallop", "shapes": [shape], "along": "a", "words": {"width": width}})
    json.dumps(out, allow_nan=False)
    assert "a fault" not in out.get("error", "").lower()
    assert ("error" in out) != ("runs" in out)


@settings(max_examples=60, deadline=None)
@given(
    st.sampled_from(["shapes", "marks", "page", "along", "join", "on", "words", "runs", "task", "bridge", "more"]), JSON
)
def test_any_value_anywhere_is_answered(key: str, value: object) -> None:
    request = {"bridge": 1, "task": "scallop", "shapes": [HEM], "along": "hem", "words": {"width": 18}, key: value}
    out = answer(request)
    json.dumps(out, allow_nan=False)
    assert "a fault" not in out.get("error", "").lower()


# ---------------------------------------------------------------- the package for Draw


def test_the_package_holds_the_macro_and_the_interpreter_s_path() -> None:
    data = libreoffice_package("/opt/pythön/bin/python")
    assert data == libreoffice_package("/opt/pythön/bin/python")
    package = zipfile.ZipFile(io.BytesIO(data))
    assert package.testzip() is None
    assert json.loads(package.read("scallopkit_lo/bridge.json")) == {"python": "/opt/pythön/bin/python"}
    assert set(package.namelist()) == {*libreoffice_files(), "scallopkit_lo/bridge.json"}
    assert "META-INF/manifest.xml" in package.namelist()
    assert not any("__pycache__" in name for name in package.namelist())


def test_the_package_s_xml_is_sound_and_names_what_is_there() -> None:
    files = libreoffice_files()
    for name, data in files.items():
        if name.endswith((".xml", ".xcu")):
            etree.fromstring(data)
    description = etree.fromstring(files["description.xml"])
    (version,) = description.iter("{*}version")
    assert version.get("value") == __version__
    for entry in etree.fromstring(files["META-INF/manifest.xml"]).iter("{*}file-entry"):
        path = entry.get("{*}full-path") or next(
            str(v) for k, v in entry.attrib.items() if str(k).endswith("full-path")
        )
        assert any(name == path or name.startswith(f"{path}/") for name in files)
    macro = files["scallopkit_lo/tools.py"].decode()
    urls = re.findall(r"tools\.py\$(\w+)\?language=Python", files["Addons.xcu"].decode())
    assert urls == ["scallops", "eyelets", "notches", "fit_all_again"]
    for name in urls:
        assert f"def {name}(" in macro


def test_the_macro_needs_the_standard_library_and_the_host_only() -> None:
    folder = extension_folder("libreoffice")
    for path in sorted(folder.rglob("*.py")):
        for line in path.read_text(encoding="utf-8").splitlines():
            found = re.match(r"(?:from|import) ([\w.]+)", line)
            top = found[1].split(".")[0] if found else ""
            # Relative imports have no name before their dot.
            allowed = {"", "__future__", "uno", "unohelper", "com", "scallopkit_draw", "collections", "contextlib"}
            stdlib = {"dataclasses", "hashlib", "json", "os", "pathlib", "platform", "re", "secrets", "subprocess"}
            assert top in allowed | stdlib | {"sys", "tempfile", "traceback"}, f"{path.name}: {line}"
