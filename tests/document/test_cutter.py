"""Files for cutting machines, read back by the library of their format and by our own reader."""

from __future__ import annotations

import io
import math
from typing import Any

import ezdxf
import numpy as np
import pytest
from lxml import etree

from scallopkit.document.cutter import COLOURS, cutter, dashes_of
from scallopkit.document.drawing import Drawing
from scallopkit.document.drawn import drawn_lines, drawn_texts
from scallopkit.document.reader import read_drawing
from scallopkit.document.styles import ROLES
from scallopkit.document.workshop import cut, redrawn, scallop, with_runs
from scallopkit.errors import NameUnknownError, RequestError
from scallopkit.geometry.length import measure

SHEET = """<svg xmlns="http://www.w3.org/2000/svg" width="700mm" height="500mm" viewBox="0 0 1400 1000">
  <rect id="cloth" x="100" y="100" width="840" height="600" stroke="black"/>
  <path id="ring" stroke="black" d="M 1000 300 A 100 100 0 0 1 1200 300 A 100 100 0 0 1 1000 300 Z"/>
</svg>"""


@pytest.fixture(scope="module")
def sheet() -> Drawing:
    drawing = read_drawing(SHEET.encode(), "sheet.svg")
    run = scallop(drawing, "cloth:c0..c1", width=30, name="top", finish="faced")
    drawing = redrawn(drawing, [run])
    return read_drawing(with_runs(drawing, [], cut(drawing, "cloth", cloth="felt")), "sheet.svg")


def dxf(data: bytes) -> Any:  # noqa: ANN401  # the library's own kind
    library: Any = ezdxf
    return library.read(io.StringIO(data.decode("utf-8")))


@pytest.mark.parametrize("kind", ["polylines", "curves"])
def test_dxf_is_audited_without_an_error_and_as_long_as_the_drawing(sheet: Drawing, kind: str) -> None:
    document = dxf(cutter(sheet, ".dxf", kind=kind, within="0.0002mm"))
    assert not document.audit().errors
    assert document.header["$INSUNITS"] == 4
    own: dict[str, list[float]] = {}
    for line in drawn_lines(sheet):
        own.setdefault(line.role, []).append(measure(line.curve).length)
    found: dict[str, list[float]] = {}
    for entity in document.modelspace():
        if entity.dxftype() != "TEXT":
            found.setdefault(entity.dxf.layer, []).append(long(entity))
    assert found.keys() == own.keys()
    for role, lengths in own.items():
        # In the same order; long ones are measured to a millionth by the library's own steps.
        assert found[role] == pytest.approx(lengths, abs=0.01)


def long(entity: Any) -> float:  # noqa: ANN401  # the library's own kind
    """The length of an entity by small steps along it."""
    if entity.dxftype() == "LWPOLYLINE":
        points = np.array([(x, y) for x, y, *_ in entity.get_points()])
        points = np.concatenate([points, points[:1]]) if entity.closed else points
    else:
        tool = entity.construction_tool()
        points = np.array([(p.x, p.y) for p in tool.points(np.linspace(0.0, tool.max_t, 64 * round(tool.max_t) + 1))])
    return float(np.hypot(*np.diff(points, axis=0).T).sum())


def test_what_is_closed_stays_closed(sheet: Drawing) -> None:
    document = dxf(cutter(sheet, ".dxf"))
    outlines = [entity for entity in document.modelspace() if entity.dxf.layer in ("outline", "cutting")]
    assert len(outlines) == 3
    assert all(entity.closed for entity in outlines)


def test_a_circle_in_polylines_lies_within_the_tolerance(sheet: Drawing) -> None:
    for within in (0.05, 0.5):
        document = dxf(cutter(sheet, ".dxf", within=f"{within}mm", show=("outline",), pieces=("ring",)))
        (ring,) = document.modelspace()
        points = np.array([(x, y) for x, y, *_ in ring.get_points()])
        # A circle of 50 mm about (550, -150): upwards is up in DXF.
        middles = 0.5 * (points + np.roll(points, -1, axis=0))
        assert np.abs(np.hypot(*(points - (550.0, -150.0)).T) - 50.0).max() < 1e-5
        sag = 50.0 - np.hypot(*(middles - (550.0, -150.0)).T)
        assert 0.0 < sag.max() <= within
        # No more points than are needed: at most three times as many as the tightest polygon has.
        assert len(points) < 3.0 * math.pi / math.acos(1.0 - within / 50.0)


def test_layers_are_called_as_the_roles_and_have_a_colour_each(sheet: Drawing) -> None:
    document = dxf(cutter(sheet, ".dxf"))
    roles = {line.role for line in drawn_lines(sheet)} | {text.role for text in drawn_texts(sheet)}
    layers = {layer.dxf.name: layer for layer in document.layers}
    assert roles <= layers.keys()
    assert {f"#{layers[role].dxf.true_color:06X}" for role in roles} == {COLOURS[role] for role in roles}


def test_every_role_has_a_colour_of_its_own() -> None:
    assert set(COLOURS) >= set(ROLES)
    assert len(set(COLOURS.values())) == len(COLOURS)


def test_texts_come_along(sheet: Drawing) -> None:
    document = dxf(cutter(sheet, ".dxf"))
    words = {entity.dxf.text for entity in document.modelspace() if entity.dxftype() == "TEXT"}
    assert {"cloth", "felt"} <= words


def test_svg_has_a_group_a_role_in_mm(sheet: Drawing) -> None:
    data = cutter(sheet, ".svg")
    root = etree.fromstring(data)
    groups = {group.get("id"): group for group in root}
    assert set(groups) == {line.role for line in drawn_lines(sheet)} | {"label"}
    again = read_drawing(data, "cut.svg")
    lengths = sorted(measure(piece.curve).length for piece in again.pattern.pieces)
    assert lengths == pytest.approx(sorted(measure(line.curve).length for line in drawn_lines(sheet)), abs=0.01)
    assert groups["cutting"].get("stroke") == COLOURS["cutting"]


def test_polylines_in_svg(sheet: Drawing) -> None:
    data = cutter(sheet, ".svg", kind="polylines", show=("outline",)).decode()
    assert " C " not in data
    assert " L " in data


@pytest.mark.parametrize("ending", [".dxf", ".svg"])
def test_the_same_drawing_gives_the_same_bytes(sheet: Drawing, ending: str) -> None:
    assert cutter(sheet, ending) == cutter(sheet, ending)


@pytest.mark.parametrize(
    ("ending", "words", "error", "text"),
    [
        (".plt", {}, RequestError, r"ends in \.dxf or \.svg"),
        (".dxf", {"kind": "arcs"}, RequestError, "--lines can be polylines or curves"),
        (".dxf", {"within": "0mm"}, RequestError, "--within"),
        (".svg", {"show": ("lace",)}, NameUnknownError, "--show lace"),
        (".svg", {"show": ("stitching",), "pieces": ("ring",)}, RequestError, "nothing of the drawing is left"),
    ],
)
def test_what_is_refused(sheet: Drawing, ending: str, words: dict[str, Any], error: type[Exception], text: str) -> None:
    with pytest.raises(error, match=text):
        cutter(sheet, ending, **words)


def test_each_kind_of_line_has_dashes_of_its_own_and_what_is_cut_is_whole() -> None:
    found = [dashes_of(role) for role in COLOURS if role != "label"]
    assert len(set(found)) == len(found)
    assert dashes_of("cutting") == ()
    # Round the widest hole of an eyelet that is sold, and along any clip and notch, the first dash does not end.
    assert all(dashes_of(role)[0] > math.pi * 60.0 for role in ("eyelet", "clip", "notch"))
