"""The picture of a run laid flat: what is on it lies where it will be sewn, and all of it can be read."""

from __future__ import annotations

import itertools
import math
import re
import subprocess
import sys
from collections.abc import Callable
from functools import cache

import numpy as np
import numpy.typing as npt
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from lxml import etree

from scallopkit.demo_waistcoat import ARMHOLE, ARMHOLE_JOINS, HEM, HEM_JOINS, waistcoat
from scallopkit.document.drawing import Drawing
from scallopkit.document.flat_picture import flat_picture
from scallopkit.document.markup import INKSCAPE, SVG
from scallopkit.document.picture import cropped, to_png
from scallopkit.document.reader import read_drawing
from scallopkit.document.recipe import JoinWords, Recipe, ScallopWords, StretchWords
from scallopkit.document.runs import Run, make_run
from scallopkit.document.styles import LAID_FLAT, LINES, LineStyle
from scallopkit.document.workshop import eyelets, notches, redrawn, scallop
from scallopkit.geometry import motion
from scallopkit.geometry.cubics import Array
from scallopkit.geometry.length import measure
from scallopkit.geometry.nearest import nearest
from scallopkit.trim.eyelets import EyeletSize
from scallopkit.trim.scallops import valleys

from ..drawings import BOX, LINE, QUARTER, ROUND, marks, read
from .test_picture import pixels
from .test_styles import contrast_to_white, luminance

LABEL = f"{{{INKSCAPE}}}label"
# Coordinates of the picture have four decimals, the scallops five.
WRITTEN = 2e-4


@cache
def drawing() -> Drawing:
    return read_drawing(waistcoat().encode(), "waistcoat.svg")


@cache
def hem() -> Run:
    return scallop(drawing(), HEM, join=HEM_JOINS, width="24mm", depth="35%", start="fold", name="hem")


@cache
def armhole() -> Run:
    words = {"width": "20mm", "depth": "30%", "touch": "crest", "name": "armhole"}
    return scallop(drawing(), ARMHOLE, join=ARMHOLE_JOINS, **words)


def panels(count: int, width: float = 130.0, lean: float = 0.0) -> str:
    """Panels side by side, c2..c3 their lower edges, which are narrower or wider than the upper ones."""
    return "".join(
        f'<path id="panel{k + 1}" d="M {x - lean},20 H {x + width + lean} L {x + width},180 H {x} Z"/>'
        for k, x in enumerate(50.0 + k * (width + 60.0) for k in range(count))
    )


def sewn(count: int, *joins: str, name: str = "straight", lean: float = 0.0, width: float = 130.0, **words: str) -> Run:
    edges = [f"panel{k + 1}:c2..c3" for k in range(count)]
    return scallop(read(panels(count, width, lean)), edges, join=joins, name=name, **{"width": "26mm", **words})


@cache
def straight() -> Run:
    return sewn(5, "seam:pass", "seam", "butt", "seam:gap:8mm")


@cache
def lapped() -> Run:
    recipe = Recipe(
        "lapped",
        scallop=ScallopWords(width="25mm"),
        edges=(StretchWords("panel1:c2..c3"), StretchWords("panel2:c2..c3")),
        joins=(JoinWords("lap", width="20mm"),),
    )
    return make_run(read(panels(2, 200.0)), recipe)


@cache
def cloth() -> Run:
    return scallop(read(QUARTER), "quarter:c1..c2", width=40, start="fold", end="fold", name="cloth")


@cache
def circle() -> Run:
    return scallop(read(ROUND), width=30, name="circle")


@cache
def box() -> Run:
    return scallop(read(BOX), "box", width=29, depth="33.33333%", corner="wrap", name="box")


@cache
def trimmed() -> Run:
    """A valance with a crest held at its middle, eyelets and notches."""
    page = read(BOX + marks(middle=(160.0, 220.0)))
    page = redrawn(page, [scallop(page, "box:c2..c3", width=60, hold=["middle=crest"], name="valance")])
    page = redrawn(page, [eyelets(page, run="valance", eyelet=8)])
    return notches(page, run="valance", at="valleys")


@cache
def skirt() -> Run:
    """A sector of a ring, closed to a cone."""
    arc = "M 38.6,51.4 L 192.8,235.2 A 300 300 0 0 1 -192.8,235.2 L -38.6,51.4 A 60 60 0 0 0 38.6,51.4 Z"
    page = read(f'<path id="skirt" transform="translate(300,20)" d="{arc}"/>')
    return scallop(page, ["skirt:c1..c2"], join=["seam"], width=40, name="skirt")


@cache
def passed() -> Run:
    """A loop of two over whose joins scallops pass; it begins at a mark in the middle of the first."""
    one = "M 0,0 L 40,-150 H 160 L 200,0 Q 100,60 0,0 Z"
    body = f'<path id="front" d="{one}"/><path id="back" transform="translate(300,0)" d="{one}"/>'
    page = read(f'<g transform="translate(50,200)">{body}{marks(cf=(100.0, 30.0))}</g>')
    joins = ["seam:pass", "seam:pass"]
    words = {"width": 24, "depth": "37%", "hold": ["cf=valley"], "name": "passed"}
    return scallop(page, ["front:c0..c3", "back:c0..c3"], join=joins, **words)  # type: ignore[arg-type]  # words of all kinds


@cache
def lacing() -> Run:
    return eyelets(read(LINE), "hem", eyelet=6, spacing="40mm", name="lacing")


SCENES = [hem, armhole, straight, lapped, cloth, circle, box, trimmed, skirt, passed, lacing]


@cache
def pictured(run: Run) -> bytes:
    return flat_picture(run)


@cache
def root_of(run: Run) -> etree._Element:
    """The picture as elements, to look at only: they are made once."""
    return etree.fromstring(pictured(run))


def told(element: etree._Element, key: str) -> str:
    """An attribute that is surely there."""
    value = element.get(key)
    assert value is not None
    return str(value)


def drawn_in(root: etree._Element) -> list[etree._Element]:
    """Everything that has a role."""
    return [element for element in root.iter(f"{{{SVG}}}*") if element.get("data-role")]


def in_legend(element: etree._Element) -> bool:
    group = element.getparent()
    return group is not None and group.get(LABEL) == "legend"


def of_role(run: Run, role: str, legend: bool = False) -> list[etree._Element]:
    """The elements of a role, by themselves or those that explain it."""
    every = drawn_in(root_of(run))
    return [e for e in every if e.get("data-role") == role and in_legend(e) is legend]


def lines_of(text: etree._Element) -> list[str]:
    return [str(span.text) for span in text]


def style_of(element: etree._Element) -> dict[str, str]:
    return dict(rule.split(":", 1) for rule in told(element, "style").split(";"))


def texts(run: Run) -> list[str]:
    return [" / ".join(lines_of(text)) for text in root_of(run).iter(f"{{{SVG}}}text")]


def seen(run: Run, label: str) -> Array:
    """The curve of the element with that label, in the flat frame."""
    return next(piece.curve for piece in read_back(run).pattern.pieces if label in piece.names)


@cache
def read_back(run: Run) -> Drawing:
    """The picture as a drawing of its own; its page begins at its corner, the flat frame elsewhere."""
    return read_drawing(pictured(run), "picture.svg")


def in_flat_frame(run: Run, label: str) -> Array:
    return motion.apply(motion.inverse(read_back(run).to_mm), seen(run, label))


# --- the document ---------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("scene", SCENES)
def test_it_is_at_full_size_in_one_layer(scene: Callable[[], Run]) -> None:
    root = root_of(scene())
    _, _, width, height = map(float, told(root, "viewBox").split())
    assert (root.get("width"), root.get("height")) == (f"{width:g}mm", f"{height:g}mm")
    title, layer = root
    assert etree.QName(title).localname == "title"
    assert layer.get(f"{{{INKSCAPE}}}groupmode") == "layer"
    assert layer.get(LABEL) == f"{scene().name}, laid flat"
    # The group is none of the layer that holds runs, so no program of ours takes it for a run.
    assert not [e for e in root.iter() if e.get("data-run") or e.get("data-recipe") or e.get("id") == "scallopkit"]


@pytest.mark.parametrize("scene", SCENES)
def test_the_same_run_gives_the_same_bytes(scene: Callable[[], Run]) -> None:
    assert flat_picture(scene()) == pictured(scene())


@pytest.mark.parametrize("scene", [one for one in SCENES if one is not passed])
def test_it_reads_back_as_named_shapes_without_a_warning(scene: Callable[[], Run]) -> None:
    pattern = read_back(scene()).pattern
    assert pattern.warnings == ()
    names = [piece.name for piece in pattern.pieces]
    assert len(names) == len(set(names))
    assert not [name for name in names if re.fullmatch(r"(path|circle)-\d+", name)]
    assert {skipped.what.partition(" ")[0] for skipped in pattern.skipped} == {"text"}


def test_its_modules_are_loaded_when_one_is_asked_for_only() -> None:
    code = "import sys, scallopkit.cli, scallopkit.document.workshop; print(*sys.modules)"
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, check=True, text=True, timeout=60)
    assert "scallopkit.document.workshop" in done.stdout
    assert not [name for name in done.stdout.split() if "flat_" in name or "lettering" in name]


def test_names_are_written_as_they_are() -> None:
    run = sewn(2, "seam", name='a < b & "c"\n\td')
    (title,) = root_of(run).findall(f"{{{SVG}}}title")
    assert title.text == 'a < b & "c"\n\td, laid flat as sewn'
    assert any(text.startswith('a < b & "c" d: 260.00 mm') for text in texts(run))


def test_a_long_name_is_cut_short() -> None:
    (title,) = [text for text in texts(sewn(2, "seam", name="long " * 30)) if "laid flat" in text]
    assert title.startswith("long " * 7)
    assert "…: 260.00 mm" in title


# --- what lies where ------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("scene", [one for one in SCENES if one is not lacing])
def test_the_scallops_are_one_line_on_the_edge_as_laid(scene: Callable[[], Run]) -> None:
    run = scene()
    (line,) = of_role(run, "stitching")
    # Only a gap breaks it.
    assert told(line, "d").count("M") == 1 + sum(stop.gap > 0.0 for stop in run.stops)
    assert run.scallops is not None
    points = valleys(run.scallops.row, run.course.measured.closing)[0]
    drawn = np.concatenate(
        [in_flat_frame(run, name) for name in (f"scallops {run.name}", *_further(run, f"scallops {run.name}"))]
    )
    if run is passed():
        # Its course begins at the mark, and goes on into the next turn.
        points = np.concatenate([points, motion.apply(run.laid.turned(-1), points)])
        away = nearest(drawn, points).distance
        assert (away < WRITTEN).sum() == run.count
    else:
        assert nearest(drawn, points).distance.max() < WRITTEN


def _further(run: Run, name: str) -> list[str]:
    return [n for piece in read_back(run).pattern.pieces for n in piece.names if n.startswith(f"{name}.")]


@pytest.mark.parametrize("scene", [hem, armhole, circle, skirt, cloth])
def test_each_scallop_is_two_arcs(scene: Callable[[], Run]) -> None:
    (line,) = of_role(scene(), "stitching")
    assert told(line, "d").count("A") == 2 * scene().count


@pytest.mark.parametrize("scene", SCENES)
def test_the_edges_are_as_long_as_the_run(scene: Callable[[], Run]) -> None:
    run = scene()
    labels = [told(e, LABEL) for e in of_role(run, "edge") if told(e, LABEL).startswith("edge ")]
    assert len(labels) == len(run.laid.parts)
    length = sum(measure(seen(run, label)).length for label in labels)
    assert length == pytest.approx(run.laid.parts[-1].end, abs=WRITTEN * 10)


def test_cloth_is_as_deep_as_asked_and_reaches_to_the_scallops() -> None:
    run = straight()
    (first,) = [piece.curve for piece in read_back(run).pattern.pieces if piece.name == "panel1"]
    low, high = first.reshape(-1, 2).min(axis=0), first.reshape(-1, 2).max(axis=0)
    assert run.scallops is not None
    # 2.5 widths, which are more than 60 mm.
    depth = max(60.0, 2.5 * float(run.scallops.row.width.max()))
    assert high[1] - low[1] == pytest.approx(depth + float(run.scallops.depth.max()), abs=0.01)
    assert high[0] - low[0] == pytest.approx(130.0, abs=0.01)


@pytest.mark.parametrize("scene", [one for one in SCENES if one is not lacing])
def test_the_cloth_ends_at_the_scallops(scene: Callable[[], Run]) -> None:
    run = scene()
    cloth_edges = np.concatenate([in_flat_frame(run, told(e, LABEL)) for e in of_role(run, "cloth")])
    nodes = in_flat_frame(run, f"scallops {run.name}")[:, 3]
    assert nearest(cloth_edges, nodes).distance.max() < WRITTEN


def test_cloth_that_the_scallops_take_away_is_not_shown() -> None:
    run = armhole()
    assert run.scallops is not None
    back = in_flat_frame(run, "back")
    points = valleys(run.scallops.row, run.course.measured.closing)[0]
    # Valleys lie inside the drawn edge, and on the cloth's own.
    assert nearest(run.laid.line.curve, points).distance.min() > 4.0
    assert (nearest(back, points).distance < WRITTEN).sum() >= 12


def test_a_gusset_too_narrow_for_the_band_is_shown_as_far_as_it_goes() -> None:
    body = panels(2, 120.0) + '<path id="wedge" d="M 600,104.2 L 630,180 H 570 Z"/>'
    edges = ["panel1:c2..c3", "wedge:c1..c2", "panel2:c2..c3"]
    joins = ["butt", "butt"]
    run = scallop(read(body), edges, join=joins, width=20, name="gusset")
    wedge = seen(run, "wedge")
    assert 20.0 < np.ptp(wedge[..., 1]) < 85.0


def test_neighbours_differ_in_grey_round_a_loop_too() -> None:
    body = "".join(
        f'<path id="q{k}" transform="translate({20 + 320 * k},20)" d="M 0,0 H 300 A 300 300 0 0 1 0,300 Z"/>'
        for k in range(4)
    )
    run = scallop(read(body), [f"q{k}:c1..c2" for k in range(4)], join=["seam:pass"] * 4, width=50, name="round")
    fills = [style_of(e)["fill"] for e in of_role(run, "cloth")]
    assert all(a != b for a, b in itertools.pairwise([*fills, fills[0]]))
    # It closes flat: there is nothing to show of its next turn, and the closing join is named once.
    assert of_role(run, "beyond") == []
    assert sum("closes the loop" in text for text in texts(run)) == 1


# --- joints ---------------------------------------------------------------------------------------------------------


def test_every_kind_of_join_has_its_line_and_its_name() -> None:
    assert len(of_role(straight(), "seam")) == 3
    assert len(of_role(straight(), "butt")) == 1
    assert len(of_role(hem(), "dart")) == 2
    assert len(of_role(hem(), "seam")) == len(of_role(hem(), "fold")) == 1
    assert len(of_role(lapped(), "lap")) == 1
    assert len(of_role(armhole(), "seam")) == 3
    said = texts(hem())
    assert "fold / hem-fold / mirror image beyond" in said
    assert sum(text.startswith("dart / dart-") for text in said) == 2
    assert "lap / panel1:c3/panel2:c2 / 20 mm on each side" in texts(lapped())
    assert sum(text == "seam / underarm / closes the loop" for text in texts(armhole())) == 2


@pytest.mark.parametrize(("scene", "label", "k"), [(hem, "dart dart-in/dart-out", 0), (armhole, "seam shoulder", 0)])
def test_a_joints_line_is_that_of_the_seam_as_laid(scene: Callable[[], Run], label: str, k: int) -> None:
    joint = scene().laid.joints[k]
    line = in_flat_frame(scene(), label)
    assert np.allclose(line[0, 0], joint.point, atol=WRITTEN)
    leaving = line[0, 1] - line[0, 0]
    assert leaving / np.hypot(*leaving) == pytest.approx(joint.along, abs=1e-3)


def test_a_lap_has_both_free_edges() -> None:
    run = lapped()
    middle = in_flat_frame(run, "lap panel1:c3/panel2:c2")[0, 0, 0]
    sides = [in_flat_frame(run, label)[0, 0, 0] - middle for label in ("side of panel1 (2)", "side of panel2")]
    assert sorted(np.abs(sides)) == pytest.approx([20.0, 20.0], abs=WRITTEN)
    assert sides[0] * sides[1] < 0.0


def test_a_join_that_is_not_true_says_so_and_gets_its_smooth_line() -> None:
    joint = hem().laid.joints[1]
    turn, dip = abs(math.degrees(joint.true.angle)), joint.true.dip
    assert f"seam / hem-side / turns {turn:.1f}°, / dips by {dip:.2f} mm" in texts(hem())
    assert len(of_role(hem(), "true-line")) == 2
    smooth = scallop(
        drawing(), HEM, join=HEM_JOINS, width="24mm", depth="35%", start="fold", name="smooth", true_up=True
    )
    assert of_role(smooth, "true-line") == []
    assert f"seam / hem-side / turns {turn:.1f}°, / smoothed here" in texts(smooth)
    assert of_role(straight(), "true-line") == []


# --- what goes on ---------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(("scene", "folds"), [(hem, 1), (cloth, 2)])
def test_beyond_a_fold_its_mirror_image_is_shown(scene: Callable[[], Run], folds: int) -> None:
    run = scene()
    assert len(of_role(run, "beyond")) == 2 * folds
    for i, fold in enumerate(fold for fold in run.laid.folds if fold is not None):
        label = "scallops beyond the fold" + (f" ({i + 1})" if i else "")
        image = in_flat_frame(run, label)
        back = motion.apply(motion.mirrored(fold.point, fold.along), image)
        drawn = in_flat_frame(run, f"scallops {run.name}")
        assert nearest(drawn, back[:, 3]).distance.max() < WRITTEN
        assert nearest(image, drawn[-1:, 3] if i else drawn[:1, 0]).distance.max() < WRITTEN
        # Beyond it, not on the run's own side.
        own, beyond = ((curve.reshape(-1, 2).mean(axis=0) - fold.point) @ fold.square for curve in (drawn, image))
        assert own * beyond < 0.0


@pytest.mark.parametrize("scene", [armhole, skirt, passed])
def test_a_loop_goes_on_as_it_began(scene: Callable[[], Run]) -> None:
    run = scene()
    again = in_flat_frame(run, "scallops of the next turn")
    first = motion.apply(motion.inverse(run.laid.closing), again)
    drawn = in_flat_frame(run, f"scallops {run.name}")
    assert nearest(drawn, first[:, 3]).distance.max() < WRITTEN
    assert again[0, 0] == pytest.approx(drawn[-1, 3], abs=WRITTEN)
    assert first[0, 0] == pytest.approx(drawn[0, 0], abs=WRITTEN)


@pytest.mark.parametrize("scene", [circle, box, straight])
def test_what_ends_where_it_began_or_at_a_free_end_has_nothing_beyond(scene: Callable[[], Run]) -> None:
    assert of_role(scene(), "beyond") == []


# --- holds and trims ------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("scene", "signs"),
    [
        (straight, {"valley": 3, "gap": 1, "pass": 2}),
        (hem, {"crest": 1, "valley": 2, "pass": 2}),
        (armhole, {"valley": 3}),
        (box, {"wrap": 4}),
        (trimmed, {"valley": 2, "crest": 1}),
        (passed, {"valley": 1, "pass": 3}),
        (lacing, {}),
    ],
)
def test_each_hold_has_its_sign_and_each_sign_its_meaning(scene: Callable[[], Run], signs: dict[str, int]) -> None:
    for kind in ("valley", "crest", "pass", "gap", "wrap"):
        assert len(of_role(scene(), kind)) == signs.get(kind, 0)
        assert len(of_role(scene(), kind, legend=True)) == (kind in signs)


@pytest.mark.parametrize(
    ("finish", "words"), [("raw", "line of the scallops, to cut on"), ("bound", "stitching line of the scallops")]
)
def test_the_line_of_the_scallops_is_told_as_what_it_is(finish: str, words: str) -> None:
    texts = ["".join(map(str, e.itertext())) for e in root_of(sewn(2, "seam", finish=finish)).iter(f"{{{SVG}}}text")]
    assert [text for text in texts if "of the scallops" in text] == [words]


def test_signs_of_holds_differ_without_colour() -> None:
    shapes = [
        (told(element, "d").count("L"), style_of(element)["fill"] == "#000000")
        for scene, kind in (
            (straight, "valley"),
            (straight, "gap"),
            (straight, "pass"),
            (trimmed, "crest"),
            (box, "wrap"),
        )
        for element in of_role(scene(), kind, legend=True)
    ]
    assert len(shapes) == len(set(shapes)) == 5


def test_eyelets_and_notches_are_shown() -> None:
    run = trimmed()
    holes, flanges = of_role(run, "eyelet"), of_role(run, "placement")
    assert len(holes) == len(flanges) == run.count == 5
    size = run.eyelets[0].size
    assert isinstance(size, EyeletSize)
    assert {float(told(hole, "r")) for hole in holes} == {0.5 * size.hole}
    assert {float(told(flange, "r")) for flange in flanges} == {0.5 * size.flange}
    centres = np.array([[float(told(hole, k)) for k in ("cx", "cy")] for hole in holes])
    assert centres == pytest.approx(run.eyelets[0].points, abs=WRITTEN)
    assert len(of_role(run, "notch")) == len(run.notches[0]) > 0


# --- figures --------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("scene", [one for one in SCENES if one is not lacing])
def test_each_span_says_its_count_width_and_length(scene: Callable[[], Run]) -> None:
    run = scene()
    assert run.fit is not None
    said = sorted(text for text in texts(run) if "span of" in text)
    wanted = sorted(
        f"{count:g} scallops, {width:.2f} mm wide / span of {span.length:.2f} mm"
        for span, count, width in zip(run.fit.spans, run.fit.counts, run.fit.widths, strict=True)
    )
    assert said == wanted


def test_sizes_in_turn_are_told_with_both_limits() -> None:
    run = scallop(read(BOX), "box:c2..c3", width=30, weights="1,2", name="turns")
    (said,) = [text for text in texts(run) if "span of" in text]
    assert said == "7 scallops, 30.00 to 60.00 mm wide / span of 300.00 mm"


def test_figures_of_a_short_span_are_set_in_short_lines() -> None:
    run = sewn(3, "seam", "seam", width=46.0)
    assert run.fit is not None
    assert sum(text.count(" / ") == 2 for text in texts(run) if "span of" in text) == 3


@pytest.mark.parametrize(
    ("scene", "first", "second"),
    [
        (hem, "hem: 379.95 mm, 15.5 scallops, laid flat as sewn", "opened at the fold: 31 scallops on 759.89 mm"),
        (cloth, "cloth: 471.24 mm, 12 scallops, laid flat as sewn", "opened at its folds: 48 scallops on 1884.96 mm"),
        (circle, "circle: 628.32 mm, 21 scallops, laid flat as sewn", None),
        (lacing, "lacing: 300.00 mm, 8 eyelets, laid flat as sewn", None),
    ],
)
def test_the_title_tells_the_whole(scene: Callable[[], Run], first: str, second: str | None) -> None:
    said = texts(scene())
    assert first in said
    assert [text for text in said if text.startswith("opened")] == ([second] if second else [])


def test_a_rule_of_100_mm_is_that_long() -> None:
    for scene in SCENES:
        rule = seen(scene(), "rule of 100 mm")
        assert np.ptp(rule[..., 0]) == pytest.approx(100.0, abs=WRITTEN)
    assert "100 mm at full size" in texts(hem())


def test_the_name_of_every_piece_is_on_it() -> None:
    assert {"back", "front"} <= set(texts(armhole()))
    half = '<path id="half" d="M 20,20 H 170 V 200 Q 90,230 20,180 Z"/>'
    run = scallop(read(half), ["half:c3..c2", "half:c2..c3"], join=["fold"], width=24, name="folded")
    assert {"half", "half, mirrored"} <= set(texts(run))


# --- legibility -----------------------------------------------------------------------------------------------------


def only(root: etree._Element, keep: Callable[[etree._Element], bool]) -> bytes:
    """The picture with those of its drawn elements only."""
    for element in list(root.iter(f"{{{SVG}}}path", f"{{{SVG}}}circle", f"{{{SVG}}}text")):
        group = element.getparent()
        if group is not None and not keep(element):
            group.remove(element)
    return etree.tostring(root)


def ink(svg: bytes, region: tuple[float, float, float, float], to_mm: Array) -> npt.NDArray[np.bool_]:
    """Where something dark is drawn in a region, 3 pixels to the mm."""
    png = to_png(cropped(svg, region, to_mm), round(3.0 * (region[2] - region[0])), "white")
    return np.asarray(pixels(png)[..., :3].min(axis=2) < 150)


@pytest.mark.parametrize("scene", SCENES)
def test_no_text_lies_on_another_or_on_a_line_or_off_the_page(scene: Callable[[], Run]) -> None:
    data, page = pictured(scene()), read_back(scene())
    assert page.size_mm is not None
    for i, (_, box) in enumerate(boxes(scene(), 1.1)):
        low, high = motion.apply(page.to_mm, box + np.array([[-1.0], [1.0]]) * 2.0)
        region = (float(low[0]), float(low[1]), float(high[0]), float(high[1]))
        root = etree.fromstring(data)
        text = list(root.iter(f"{{{SVG}}}text"))[i]
        own = ink(only(root, lambda e, text=text: e is text), region, page.to_mm)  # type: ignore[misc]  # bound now
        rows, columns = np.nonzero(own)
        if not len(rows):
            pytest.skip("this machine has no font to draw texts with")
        # All of it lies in the region.
        assert rows.min() > 0 < columns.min()
        assert rows.max() < own.shape[0] - 1
        assert columns.max() < own.shape[1] - 1
        at = low + np.array([[columns.min(), rows.min()], [columns.max(), rows.max()]]) / 3.0
        assert (at > 0.0).all()
        assert (at < page.size_mm).all()
        root = etree.fromstring(data)
        text = list(root.iter(f"{{{SVG}}}text"))[i]
        others = only(root, lambda e, text=text: e is not text and e.get("data-role") != "cloth")  # type: ignore[misc]
        around = ink(others, region, page.to_mm)[rows.min() : rows.max() + 1, columns.min() : columns.max() + 1]
        assert not around.any(), " / ".join(lines_of(text))


def boxes(run: Run, em: float) -> list[tuple[str, Array]]:
    """Every text, with a box in which each letter is `em` of the text's size wide."""
    out = []
    for text in root_of(run).iter(f"{{{SVG}}}text"):
        style = style_of(text)
        size = float(style["font-size"].removesuffix("px"))
        spans = [(float(told(s, "x")), float(told(s, "y")), len(str(s.text))) for s in text]
        wide = em * size * max(n for _, _, n in spans)
        left = spans[0][0] - (0.5 * wide if style["text-anchor"] == "middle" else 0.0)
        out.append((lines_of(text)[0], np.array([[left, spans[0][1] - 0.7 * size], [left + wide, spans[-1][1]]])))
    return out


@settings(max_examples=15, deadline=None)
@given(
    count=st.integers(1, 6),
    width=st.floats(30.0, 200.0),
    lean=st.floats(-8.0, 30.0),
    hold=st.sampled_from(["valley", "pass", "gap:5mm"]),
)
def test_texts_of_any_row_of_panels_keep_apart(count: int, width: float, lean: float, hold: str) -> None:
    run = sewn(count, *[f"seam:{hold}"] * (count - 1), width=width, lean=lean, depth="20%", name="row")
    # Half a size is about what letters take on average: common practice, no source.
    for (one, a), (other, b) in itertools.combinations(boxes(run, 0.5), 2):
        assert not ((a[0] < b[1]) & (b[0] < a[1])).all(), f"{one} lies on {other}"
    assert read_back(run).pattern.warnings == ()


@pytest.mark.parametrize("scene", SCENES)
def test_texts_are_large_and_dark_enough(scene: Callable[[], Run]) -> None:
    root = root_of(scene())
    darkest = min(luminance(style_of(e)["fill"]) for e in drawn_in(root) if e.get("data-role") == "cloth")
    for text in root.iter(f"{{{SVG}}}text"):
        style = style_of(text)
        assert float(style["font-size"].removesuffix("px")) >= 4.0
        assert style["font-family"] == "sans-serif"
        # WCAG 2.2, success criterion 1.4.3: 4.5 to 1, on the darkest cloth.
        assert (darkest + 0.05) / (luminance(style["fill"]) + 0.05) >= 4.5


def test_texts_of_a_large_cloth_grow_with_it() -> None:
    page = read('<circle id="table" cx="900" cy="900" r="800"/>')
    root = root_of(scallop(page, width=80))
    sizes = {style_of(text)["font-size"] for text in root.iter(f"{{{SVG}}}text")}
    assert len(sizes) == 1
    assert 10.0 < float(sizes.pop().removesuffix("px")) < 20.0


DRAWN: dict[str, LineStyle] = {
    **LAID_FLAT,
    **{role: LINES[role] for role in ("stitching", "fold", "true-line", "eyelet", "placement", "notch")},
}


@pytest.mark.parametrize(("one", "other"), list(itertools.combinations(DRAWN, 2)))
def test_lines_of_the_picture_differ_without_colour(one: str, other: str) -> None:
    """As lines of a drawing do: by the number of dashes, by a period half as long again, or by a step of width."""
    a, b = DRAWN[one], DRAWN[other]
    periods = sorted((sum(a.dashes_mm), sum(b.dashes_mm)))
    widths = sorted((a.width_mm, b.width_mm))
    rhythm = len(a.dashes_mm) != len(b.dashes_mm)
    assert rhythm or periods[1] >= 1.5 * periods[0] > 0.0 or widths[1] >= 1.399 * widths[0]


@pytest.mark.parametrize("role", list(LAID_FLAT))
def test_lines_of_the_picture_stand_out(role: str) -> None:
    # WCAG 2.2, success criterion 1.4.11 (non-text contrast): 3 to 1.
    assert contrast_to_white(LAID_FLAT[role].colour) >= 3.0


@pytest.mark.parametrize("scene", SCENES)
def test_every_line_of_the_picture_is_explained(scene: Callable[[], Run]) -> None:
    every = drawn_in(root_of(scene()))
    roles = {told(e, "data-role") for e in every if not in_legend(e)} - {"cloth", "label", "measure"}
    assert roles == {told(e, "data-role") for e in every if in_legend(e)} - {"measure"}
