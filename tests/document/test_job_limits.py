"""The limits of a job stay with the drawing that it makes: what `make` finds, `check` and `sheet` find after it."""

from __future__ import annotations

import json
from pathlib import Path

import pytest
from lxml import etree, html

from scallopkit.document.examining import examine, job_limits, limits_line
from scallopkit.document.finding import Finding
from scallopkit.document.making import make_job
from scallopkit.document.reader import read_drawing
from scallopkit.document.sheeting import sheet_of
from scallopkit.document.workshop import cut, eyelets, notches, read, redrawn, refit, save, with_runs
from scallopkit.errors import DrawingError

from ..drawings import LINE, page

JOB = """pattern = "a.svg"
output = "b.svg"
[[run]]
name = "hem"
edges = ["hem"]
[run.scallop]
width = "30mm"
[run.finish]
finish = "faced"
"""
LIMITS = """[cloth]
thickness = "5mm"
[limits]
turn-radius = "20mm"
stitches-a-scallop = 40
end-distance = 5
"""
KEPT = {"thickness": "5mm", "turn-radius": "20mm", "stitches-a-scallop": "40", "end-distance": "5"}
# A scallop of 30 mm, 12 mm deep, has a radius of 15.375 mm, and 5 mm of cloth want 20.
BROKEN = {"turn-radius", "stitches-a-scallop", "end-distance", "radius-to-thickness"}


def made(folder: Path, more: str = "", job: str = JOB) -> tuple[bool, bytes]:
    """Whether a job ends well, and the drawing that it writes."""
    (folder / "a.svg").write_text(page(LINE), encoding="utf-8")
    (folder / "j.toml").write_text(f"{job}{more}", encoding="utf-8")
    return make_job(folder / "j.toml").ok, (folder / "b.svg").read_bytes()


def broken(data: bytes) -> set[str]:
    """The rules that a drawing breaks by the limits that it keeps."""
    return {one.what for one in checked(data) if not one.ok}


def checked(data: bytes) -> tuple[Finding, ...]:
    return examine(data, "b.svg", job_limits(read_drawing(data, "b.svg")))


def test_what_a_job_breaks_is_broken_when_its_drawing_is_checked(tmp_path: Path) -> None:
    ok, data = made(tmp_path, LIMITS)
    assert not ok
    assert job_limits(read_drawing(data, "b.svg")) == KEPT
    assert broken(data) == BROKEN
    assert {one.what for one in examine(data, "b.svg", {}) if not one.ok} == set()


def test_all_that_is_written_differs_in_one_attribute(tmp_path: Path) -> None:
    (_, plain), (_, data) = made(tmp_path), made(tmp_path, LIMITS.replace('thickness = "5mm"', 'name = ""'))
    assert data != plain
    roots = [etree.fromstring(text) for text in (data, plain)]
    (layer,) = roots[0].iterfind(".//{*}g[@data-limits]")
    assert layer.get("id") == "scallopkit"
    del layer.attrib["data-limits"]
    assert etree.tostring(roots[0]) == etree.tostring(roots[1])


def test_a_later_job_without_limits_takes_them_away(tmp_path: Path) -> None:
    _, limited = made(tmp_path, LIMITS)
    (tmp_path / "limited.svg").write_bytes(limited)
    _, plain = made(tmp_path)
    ok, data = made(tmp_path, job=JOB.replace("a.svg", "limited.svg"))
    assert ok
    assert data == plain
    assert broken(data) == set()


def test_a_job_that_is_made_on_its_own_drawing_sets_its_own(tmp_path: Path) -> None:
    _, limited = made(tmp_path, LIMITS)
    (tmp_path / "limited.svg").write_bytes(limited)
    _, data = made(tmp_path, '[limits]\nturn-radius = "19mm"\n', job=JOB.replace("a.svg", "limited.svg"))
    assert job_limits(read_drawing(data, "b.svg")) == {"turn-radius": "19mm"}


def test_other_commands_leave_them_as_they_are(tmp_path: Path) -> None:
    _, data = made(tmp_path, LIMITS)
    drawing = read_drawing(data, "b.svg")
    row = redrawn(drawing, [eyelets(drawing, run="hem", eyelet="4mm", margin="2mm")])
    marked = redrawn(row, [notches(row, run="hem", at="start")])
    again = with_runs(marked, [one.run for one in refit(marked)])
    save(read_drawing(again, "b.svg"), [], tmp_path / "c.svg", legend=False)
    last = read(tmp_path / "c.svg")
    assert len(last.source) != len(data)
    assert job_limits(last) == KEPT


def test_pieces_as_they_are_cut_leave_them_too(tmp_path: Path) -> None:
    box = '<rect id="box" x="60" y="60" width="300" height="200"/>'
    (tmp_path / "a.svg").write_text(page(box), encoding="utf-8")
    (tmp_path / "j.toml").write_text(JOB.replace('["hem"]', '["box:c3..c2"]') + LIMITS, encoding="utf-8")
    make_job(tmp_path / "j.toml")
    drawing = read(tmp_path / "b.svg")
    assert job_limits(read_drawing(with_runs(drawing, [], cut(drawing)), "b.svg")) == KEPT


def test_which_limits_are_the_jobs_is_told_in_a_line() -> None:
    told = "limits as the drawing's job has set them: thickness 5mm, turn-radius 20mm"
    kept = {"thickness": "5mm", "turn-radius": "20mm"}
    assert limits_line(kept, {}) == told
    assert limits_line(kept, {"turn-radius": "5mm"}) == told.removesuffix(", turn-radius 20mm")
    assert limits_line(kept, kept) == limits_line({}, {"turn-radius": "5mm"}) == ""


def test_the_make_sheet_holds_them_too(tmp_path: Path) -> None:
    _, data = made(tmp_path, f"{LIMITS}[sheet]\n")
    sheet = sheet_of(read_drawing(data, "b.svg"))
    assert sheet.data == (tmp_path / "b-sheet.html").read_bytes()
    checks = html.fromstring(sheet.data).find(".//section[@aria-labelledby='checks']/ul")
    assert checks is not None
    assert len(checks) == len(BROKEN)
    words = ", ".join(f"{code} {text}" for code, text in KEPT.items())
    assert sheet.told.split("\n")[-1] == f"limits as the drawing's job has set them: {words}"
    _, plain = made(tmp_path)
    assert "limits" not in sheet_of(read_drawing(plain, "b.svg")).told


@pytest.mark.parametrize(
    "text",
    [
        "",
        "20mm",
        "[]",
        "{}",
        '{"limits":["turn-radius"]}',
        '{"limits":{"no-such-rule":"5mm"}}',
        '{"limits":{"turn-radius":"wide"}}',
        '{"limits":{"turn-radius":null}}',
        "[" * 100_000,
    ],
)
def test_limits_that_can_t_be_read_are_told_in_a_sentence(tmp_path: Path, text: str) -> None:
    _, data = made(tmp_path, LIMITS)
    root = etree.fromstring(data)
    (layer,) = root.iterfind(".//{*}g[@data-limits]")
    layer.set("data-limits", text)
    drawing = read_drawing(etree.tostring(root), "b.svg")
    said = r"^the limits that b\.svg keeps of its job can't be read: run `make` again, or delete .*data-limits.*$"
    with pytest.raises(DrawingError, match=said):
        job_limits(drawing)
    with pytest.raises(DrawingError, match=said):
        sheet_of(drawing)
    # Whoever goes on with the drawing is not hindered.
    assert refit(drawing)


def test_they_are_kept_as_the_job_has_them(tmp_path: Path) -> None:
    _, data = made(tmp_path, LIMITS)
    (layer,) = etree.fromstring(data).iterfind(".//{*}g[@data-limits]")
    assert json.loads(layer.get("data-limits", ""))["limits"] == KEPT
