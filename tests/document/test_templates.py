"""Template cards as they are written beside the pattern: sizes to the last decimal, and writing that fits on them."""

from __future__ import annotations

import itertools
import math
import re

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st
from lxml import etree
from svgpathtools import Arc, CubicBezier, parse_path
from svgpathtools import Line as Straight

from scallopkit.construction.template import MOST_OFF
from scallopkit.document.beside import Item, free_places
from scallopkit.document.checking import check
from scallopkit.document.drawing import Drawing
from scallopkit.document.group import Pen, group_of
from scallopkit.document.layer import replace_groups
from scallopkit.document.lettering import text_extent
from scallopkit.document.path_data import read_path
from scallopkit.document.recipe import TemplateWords, Value
from scallopkit.document.runs import Run
from scallopkit.document.templates import (
    MadeTemplate,
    template_elements,
    template_entries,
    template_lines,
    templates_of,
)
from scallopkit.document.workshop import eyelets, scallop
from scallopkit.errors import RequestError
from scallopkit.geometry import cubics, motion
from scallopkit.geometry.cubics import Array
from scallopkit.trim.profiles import PROFILES, arc_radius

from ..drawings import BOX, INCH, LINE, ROUND, UNITS, path, read

WAVY = '<path id="hem" d="M 10,60 C 60,20 110,110 170,70 S 260,40 310,90"/>'
# What is promised of written coordinates, mm.
WRITTEN = 1e-4
SHIFT = np.array([17.3, 29.7])
# Letters are at least as high, mm.
LEAST_LETTERS = 2.5


def cards(body: str, strip: str = "", below: str = "", **words: Value) -> tuple[MadeTemplate, ...]:
    return templates_of(scallop(read(body), **words), TemplateWords(strip, below))[0]  # type: ignore[arg-type]  # words


def warned(body: str, strip: str = "", **words: Value) -> dict[str, str]:
    _, warnings = templates_of(scallop(read(body), **words), TemplateWords(strip))  # type: ignore[arg-type]  # words
    return {warning.code: warning.message for warning in warnings}


class Sheet:
    """The elements of one written card, back in mm."""

    def __init__(self, drawing: Drawing, run: Run, made: MadeTemplate, shift: Array = SHIFT) -> None:
        self.mm = float(np.hypot(*drawing.to_mm[:, 0]))
        self.to_mm = drawing.to_mm
        self.elements = template_elements(Pen(run, drawing), made, shift)
        self.outline, self.base, self.ticks, self.centres, self.text = self.elements
        self.shift = shift

    def curve(self, element: etree._Element) -> Array:
        data = read_path(element.get("d", ""), 1e-9 / self.mm)
        assert data.problem is None
        return motion.apply(self.to_mm, np.concatenate([sub.curve for sub in data.subpaths])) - self.shift

    def strokes(self, element: etree._Element) -> Array:
        """Straight strokes (k, 2, 2) in the card's frame."""
        return self.curve(element)[:, [0, 3]]

    def size(self) -> float:
        (size,) = re.findall(r"font-size:([\d.]+)px", self.text.get("style", ""))
        return float(size) * self.mm

    def boxes(self) -> list[shapely.Polygon]:
        """The room of each line of text, as large as in any plain sans-serif: 0.95 above its foot, 0.25 below."""
        out = []
        for row in self.text:
            x, y = motion.apply(self.to_mm, np.array([float(row.get("x", "")), float(row.get("y", ""))])) - self.shift
            half = 0.5 * text_extent([row.text or ""], self.size())[0]
            box = shapely.box(x - half, y - 0.95 * self.size(), x + half, y + 0.25 * self.size())
            turn = re.fullmatch(r"rotate\(90 ([\d.-]+) ([\d.-]+)\)", self.text.get("transform", ""))
            if turn:
                about = motion.apply(self.to_mm, np.array([float(turn[1]), float(turn[2])])) - self.shift
                # Clockwise as seen, y down.
                box = shapely.affinity.rotate(box, 90.0, origin=tuple(about))
            out.append(box)
        return out


def sheet(body: str, strip: str = "", unit: float = 1.0, **words: Value) -> Sheet:
    drawing = read(body, unit)
    run = scallop(drawing, **words)  # type: ignore[arg-type]  # words
    return Sheet(drawing, run, templates_of(run, TemplateWords(strip))[0][0])


def assert_legible(card: Sheet, made: MadeTemplate) -> None:
    """All of the writing lies on the card, on none of its lines, and no line of it on another."""
    outline = shapely.Polygon(cubics.flatten(card.curve(card.outline), 1e-3))
    assert outline.is_valid
    boxes = card.boxes()
    marks = [card.strokes(e) for e in (card.base, card.ticks, card.centres)]
    drawn = shapely.MultiLineString([stroke.tolist() for stroke in np.concatenate(marks)])
    room = shapely.box(*made.writing.box.ravel()).buffer(0.1 * made.writing.size)
    for box in boxes:
        assert outline.contains(box)
        assert room.contains(box)
        assert not drawn.intersects(box)
    for a, b in itertools.pairwise(boxes):
        assert a.intersection(b).area < 1e-9
    # The ticks and the centre lines can be seen where they lie on the card.
    for stroke in np.concatenate(marks[1:]):
        assert outline.covers(shapely.LineString(stroke.mean(axis=0) + 0.98 * (stroke - stroke.mean(axis=0))))
    low, high = np.reshape(outline.bounds, (2, 2))
    assert np.array([low, high]) == pytest.approx(np.array([made.low, made.high]), abs=2e-3)


# --- outlines -------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("unit", UNITS)
@pytest.mark.parametrize(("depth", "width"), [("40%", 27), ("50%", 30), ("15%", 30)])
def test_an_arc_is_written_as_an_arc_of_its_width_and_radius(unit: float, depth: str, width: float) -> None:
    line = f'<path id="hem" d="M {10 / unit!r},{20 / unit!r} h {297.0 / unit!r}"/>'
    card = sheet(line, "3", unit, width=width, depth=depth)
    path = parse_path(card.outline.get("d"))
    arcs, sides = path[:6], path[6:]
    assert all(isinstance(arc, Arc) for arc in arcs)
    assert all(isinstance(side, Straight) for side in sides)
    wide = 297.0 / round(297.0 / width)
    deep = float(depth[:-1]) / 100.0 * wide
    for arc in arcs:
        assert arc.radius.real * unit == pytest.approx(arc_radius(wide, deep), abs=WRITTEN)
    for k in range(3):
        a, b = arcs[2 * k].start, arcs[2 * k + 1].end
        assert abs(b - a) * unit == pytest.approx(wide, abs=WRITTEN)
        assert (b - a).imag == 0.0
        crest = arcs[2 * k].end
        assert abs(crest - 0.5 * (a + b)) * unit == pytest.approx(deep, abs=WRITTEN)
        # Upright: y points down.
        assert crest.imag < a.imag
    assert path.isclosed()
    # The written arcs bulge: r² (theta - sin theta) / 2 each, the area of a circular segment.
    theta = 4.0 * math.atan(2.0 * deep / wide)
    segment = 0.5 * arc_radius(wide, deep) ** 2 * (theta - math.sin(theta))
    outline = card.curve(card.outline)
    wanted = 3.0 * (segment + wide * cubics.bounds(outline)[1, 1])
    assert cubics.area(outline) == pytest.approx(wanted, abs=WRITTEN * 3.0 * wide)


def test_an_arc_of_more_than_half_a_circle_overhangs_its_card() -> None:
    (made,) = cards(LINE, space="12mm", width=27, depth="70%")
    card = sheet(LINE, space="12mm", width=27, depth="70%")
    radius = arc_radius(made.template.width, made.template.depth)
    low, high = cubics.bounds(card.curve(card.outline))
    assert made.low == pytest.approx(low, abs=WRITTEN)
    assert made.high == pytest.approx(high, abs=WRITTEN)
    assert low[0] == pytest.approx(0.5 * made.template.width - radius, abs=WRITTEN)
    assert_legible(card, made)


@pytest.mark.parametrize("profile", sorted(set(PROFILES) - {"arc", "half-circle"}))
def test_other_profiles_are_written_as_cubics(profile: str) -> None:
    (made,) = cards(LINE, "2", width=30, depth="30%", profile=profile)
    card = sheet(LINE, "2", width=30, depth="30%", profile=profile)
    path = parse_path(card.outline.get("d"))
    assert {type(part) for part in path} <= {CubicBezier, Straight}
    assert card.curve(card.outline)[:, [0, 3]] == pytest.approx(made.template.outline[:, [0, 3]], abs=WRITTEN)
    assert f"profile {profile}" in made.writing.lines
    assert_legible(card, made)


def test_the_whole_length_of_the_card_is_there_where_scallops_stand_apart() -> None:
    """Five of 21 mm and 4 mm between them on 121 mm; a space follows the last of a strip, too."""
    line = '<path id="hem" d="M 10,20 h 121"/>'
    (made,) = cards(line, "3", count=5, space="4mm")
    card = sheet(line, "3", count=5, space="4mm")
    path = parse_path(card.outline.get("d"))
    assert [type(part) for part in path[:9]] == [Arc, Arc, Straight] * 3
    assert [part.length() for part in path[2:9:3]] == pytest.approx([4.0, 4.0, 4.0], abs=WRITTEN)
    wanted = [0.0, 21.0, 25.0, 46.0, 50.0, 71.0, 75.0]
    assert card.strokes(card.ticks)[:, 0] == pytest.approx(np.array([(x, 0.0) for x in wanted]), abs=WRITTEN)
    assert card.strokes(card.base)[0] == pytest.approx(np.array([(0.0, 0.0), (75.0, 0.0)]), abs=WRITTEN)
    assert "4 mm apart" in " ".join(made.writing.lines)
    assert_legible(card, made)


# --- marks ----------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("unit", UNITS)
def test_ticks_and_centre_lines_stand_at_multiples_of_the_width(unit: float) -> None:
    line = f'<path id="hem" d="M 0,0 h {300.0 / unit!r}"/>'
    card = sheet(line, "4", unit, width=30)
    ticks, centres = card.strokes(card.ticks), card.strokes(card.centres)
    assert ticks[:, 0] == pytest.approx(np.array([(30.0 * k, 0.0) for k in range(5)]), abs=WRITTEN)
    # Those at the sides lean inward, away from the outline.
    assert (ticks[:, 1] - ticks[:, 0])[:, 0] == pytest.approx([3.0, 0.0, 0.0, 0.0, -3.0], abs=WRITTEN)
    assert (ticks[:, 1, 1] > 2.9).all()
    wanted = np.array([[(15.0 + 30.0 * k, -12.0), (15.0 + 30.0 * k, 15.0)] for k in range(4)])
    assert centres == pytest.approx(wanted, abs=WRITTEN)
    assert card.strokes(card.base) == pytest.approx(np.array([[(0.0, 0.0), (120.0, 0.0)]]), abs=WRITTEN)


def test_a_corners_card_has_the_two_edges_for_base_lines() -> None:
    drawing = read(BOX)
    run = scallop(drawing, width=30, corner="wrap")
    made, warnings = templates_of(run, TemplateWords("4"))
    assert [one.template.corner for one in made] == [False, True, False]
    # A corner stands alone, and nobody wants to be told.
    assert not warnings
    card = Sheet(drawing, run, made[1])
    base = card.strokes(card.base)
    assert base[0, 1] == pytest.approx(base[1, 0], abs=WRITTEN)
    rise = np.diff(base, axis=1)[:, 0]
    assert np.degrees(np.arctan2(rise[:, 1], rise[:, 0])) == pytest.approx([-45.0, 45.0], abs=0.01)
    assert made[1].writing.lines[0] == "box card 2"
    assert "corner scallops" in " ".join(made[1].writing.lines)
    for one in made:
        assert_legible(Sheet(drawing, run, one), one)


# --- writing --------------------------------------------------------------------------------------------------------


def test_a_card_says_what_it_is_for() -> None:
    (made,) = cards(LINE, "3", width=27)
    # (27.2727² / 4 + 10.9091²) / (2 · 10.9091) = 13.977: radius of a circular segment.
    assert made.writing.lines == (
        "hem card 1",
        "scallops 1-11",
        "27.27 mm wide, 10.91 mm deep",
        "strip of 3",
        "profile arc, radius 13.98 mm",
    )
    assert not made.writing.turned


@pytest.mark.parametrize("unit", UNITS)
def test_letters_are_as_high_in_any_unit(unit: float) -> None:
    line = f'<path id="hem" d="M 0,0 h {300.0 / unit!r}"/>'
    card = sheet(line, "4", unit, width=30)
    # Sizes are written to four places.
    assert card.size() == pytest.approx(3.5, abs=unit * 1e-4)
    assert len(card.text) == 5
    feet = [float(row.get("y", "")) * unit for row in card.text]
    assert np.diff(feet) == pytest.approx([1.25 * 3.5] * 4, abs=WRITTEN)


@pytest.mark.parametrize("width", [5.0, 10.0, 12.0, 15.0, 16.0, 20.0])
def test_small_cards_are_long_enough_for_their_writing(width: float) -> None:
    drawing = read('<path id="hem" d="M 0,0 H 240"/>')
    run = scallop(drawing, width=width)
    (made,), warnings = templates_of(run, TemplateWords())
    card = Sheet(drawing, run, made)
    assert not warnings
    assert card.size() >= LEAST_LETTERS - 1e-4
    assert made.high[1] > 30.0
    assert_legible(card, made)
    text = " ".join(row.text or "" for row in card.text)
    assert f"{width:g} mm wide," in text
    assert f"scallops 1-{240 / width:.0f}" in text


def test_writing_stands_upright_where_its_words_fit() -> None:
    assert [cards(LINE, width=width)[0].writing.turned for width in (12, 20, 30)] == [True, False, False]
    assert cards(LINE, width=30)[0].writing.size < cards(LINE, "3", width=30)[0].writing.size


def test_a_long_name_is_broken_to_fit() -> None:
    (made,) = cards(LINE, width=30, name="thehemofthefrontandtheback")
    assert not made.writing.turned
    assert made.writing.lines[:2] == ("thehemofthefront", "andtheback card 1")


def test_a_card_is_as_long_as_asked_where_that_is_enough() -> None:
    assert cards(LINE, "4", "60mm", width=30)[0].high[1] == pytest.approx(60.0)
    (short,) = cards(LINE, "4", "1mm", width=30)
    assert short.high[1] > 5.0 * LEAST_LETTERS
    assert short.template.centres[0, 1, 1] == pytest.approx(0.5)


words_of_names = st.text("abcW wm,:.é-", min_size=1, max_size=60).filter(lambda s: s.strip())


@settings(max_examples=60, deadline=None)
@given(
    st.floats(4.0, 80.0),
    st.sampled_from(sorted(PROFILES)),
    st.floats(0.1, 0.5),
    st.integers(1, 6),
    st.sampled_from([0.0, 3.0]),
    st.floats(2.0, 60.0),
    words_of_names,
    st.sampled_from([1.0, INCH]),
)
def test_writing_lies_on_the_card_and_on_no_line_of_it(
    width: float, profile: str, share: float, strip: int, space: float, below: float, name: str, unit: float
) -> None:
    drawing = read(f'<path id="hem" d="M 0,0 h {400.0 / unit!r}"/>', unit)
    run = scallop(drawing, width=width, profile=profile, depth=f"{100 * share}%", space=space, name=name.strip())
    made, _ = templates_of(run, TemplateWords(str(strip), f"{below}mm"))
    for one in made:
        card = Sheet(drawing, run, one)
        assert_legible(card, one)
        assert card.size() >= LEAST_LETTERS - 3e-3


def test_a_card_too_narrow_for_letters_is_told() -> None:
    drawing = read(LINE)
    run = scallop(drawing, width=3)
    (made,), (warning,) = templates_of(run, TemplateWords())
    assert (warning.code, warning.piece) == ("narrow-card", "hem")
    assert "hem card 1 is only 3.0 mm wide" in warning.message
    assert_legible(Sheet(drawing, run, made), made)
    assert not warned(LINE, "8", width=3)


def test_a_long_list_of_scallops_is_cut_short_on_the_card_only() -> None:
    drawing = read(LINE)
    run = scallop(drawing, count=60, weights="2,1")
    made, _ = templates_of(run, TemplateWords())
    text = " ".join(made[0].writing.lines)
    assert "scallops 1, 3, 5, 7 … 59" in text.replace("\n", " ")
    assert template_entries(drawing, made[0], SHIFT)["scallops"] == list(range(1, 61, 2))
    assert_legible(Sheet(drawing, run, made[0]), made[0])


def test_a_motif_that_leans_says_which_side_is_up() -> None:
    leaning = '<path id="own" d="M 400,400 L 405,388 L 415,396 L 420,400"/>'
    even = '<path id="own" d="M 400,400 L 410,388 L 420,400"/>'
    texts = [
        " ".join(cards(LINE + own, along="hem", width=30, profile="motif:own")[0].writing.lines)
        for own in (leaning, even)
    ]
    assert ["motif own" in text for text in texts] == [True, True]
    assert ["this side up" in text for text in texts] == [True, False]


def test_a_motif_that_dips_under_its_base_line_has_its_writing_below() -> None:
    drawing = read(LINE + '<path id="own" d="M 400,400 L 404,412 L 410,380 L 416,412 L 420,400"/>')
    run = scallop(drawing, "hem", width=30, profile="motif:own")
    (made,), _ = templates_of(run, TemplateWords("3", "20mm"))
    assert_legible(Sheet(drawing, run, made), made)


# --- what is made, and told -----------------------------------------------------------------------------------------


def test_each_width_has_a_card() -> None:
    made = cards(LINE, count=8, weights="2,1")
    assert [one.name for one in made] == ["hem card 1", "hem card 2"]
    assert [one.template.width for one in made] == pytest.approx([50.0, 25.0])
    assert [one.template.scallops for one in made] == [(1, 3, 5, 7), (2, 4, 6, 8)]
    assert template_lines(made[1])[0].startswith(
        "hem card 2: scallops 2, 4, 6, 8; 25 mm wide, 10 mm deep; a card of 25"
    )


def test_the_report_tells_where_the_card_lies() -> None:
    drawing = read(f'<path id="hem" d="M 0,0 h {300 / INCH!r}"/>', INCH)
    run = scallop(drawing, width=30)
    (made,), _ = templates_of(run, TemplateWords("2"))
    entry = template_entries(drawing, made, SHIFT)
    assert entry == {
        "name": "hem card 1",
        "width_mm": pytest.approx(30.0),
        "depth_mm": pytest.approx(12.0),
        "count": 2,
        "scallops": list(range(1, 11)),
        "x": pytest.approx(SHIFT[0] / INCH, abs=1e-6),
        "y": pytest.approx(SHIFT[1] / INCH, abs=1e-6),
    }
    start = parse_path(Sheet(drawing, run, made).outline.get("d")).start
    assert (start.real, start.imag) == pytest.approx((entry["x"], entry["y"]), abs=1e-5)


@pytest.mark.parametrize(("count", "long"), [(20, 6), (60, 30), (90, 17)])
def test_a_strip_on_a_curved_edge_is_told_with_one_that_fits(count: int, long: int) -> None:
    told = warned(ROUND, str(long), count=count)
    assert list(told) == ["strip-bends"]
    (strip,) = re.findall(r"--template (\d+)", told["strip-bends"])
    good, bent = (cards(ROUND, str(n), count=count)[0] for n in (int(strip), int(strip) + 1))
    assert good.template.off <= MOST_OFF < bent.template.off
    assert not warned(ROUND, strip, count=count)
    assert f"up to {bent.template.off:.2f} mm off its edge" in template_lines(bent)[0]
    assert "off its edge" not in template_lines(cards(LINE, "4", width=30)[0])[0]


def test_a_wave_round_a_tight_curve_is_told() -> None:
    told = warned('<circle id="round" cx="200" cy="200" r="40"/>', "1", count=9, profile="wave", depth="30%")
    assert "trace them from the drawing" in told["strip-bends"]


def test_a_strip_shorter_than_asked_is_told() -> None:
    told = warned(LINE, "4", count=10, weights="2,1")
    assert list(told) == ["short-strip"]
    assert "has 1 scallop instead of 4" in told["short-strip"]
    # All there are is all that can be had.
    assert not warned(LINE, "40", width=30)
    assert cards(LINE, "40", width=30)[0].template.count == 10
    assert not warned(LINE, "1", count=10, weights="2,1")


@pytest.mark.parametrize(("count", "told"), [(12, False), (13, True), (60, True)])
def test_many_cards_are_all_made_and_told(count: int, told: bool) -> None:
    wide = '<path id="hem" d="M 0,0 H 3000"/>'
    assert len(cards(wide, count=count, weights="1..3")) == count
    assert ("many-cards" in warned(wide, count=count, weights="1..3")) == told


def test_what_is_refused() -> None:
    with pytest.raises(RequestError, match='"hem" have 61 sizes'):
        cards('<path id="hem" d="M 0,0 H 3000"/>', count=61, weights="1..3")
    drawing = read(LINE)
    bare = eyelets(drawing, "hem", eyelet="8mm", count="5")
    with pytest.raises(RequestError, match=f'the run "{bare.name}" has no scallops to make template cards of'):
        templates_of(bare, TemplateWords())
    for words, said in (
        (("0", ""), "--template"),
        (("two", ""), "--template"),
        (("", "-3mm"), "--template-body"),
        (("", "x"), "--template-body"),
    ):
        with pytest.raises(RequestError, match=said):
            cards(LINE, *words, width=30)


# --- in the drawing -------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("unit", UNITS)
def test_a_drawing_with_cards_still_passes_its_check(unit: float) -> None:
    curve = np.array([[(10, 60), (60, 20), (110, 110), (170, 70)], [(170, 70), (230, 30), (260, 40), (310, 90)]])
    drawing = read(path(curve, unit=unit), unit)
    run = scallop(drawing, count=14, weights="2,1")
    made, _ = templates_of(run, TemplateWords())
    group, pen = group_of(run, drawing), Pen(run, drawing)
    places = free_places(drawing, [], [Item(one.low, one.high) for one in made])
    for one, shift in zip(made, places, strict=True):
        group.extend(template_elements(pen, one, shift))
    data = replace_groups(drawing.source, {run.name: group})
    assert all(finding.ok for finding in check(data, "a.svg"))
    found = [e for e in etree.fromstring(data).iter() if e.get("data-role") in ("template", "label")]
    assert [(e.get("data-run"), e.get("data-piece")) for e in found] == [
        ("hem", f"hem card {k}") for k in (1, 2) for _ in range(5)
    ]


def test_the_same_cards_are_the_same_text() -> None:
    first, second = ([etree.tostring(e) for e in sheet(WAVY, "2", width=16).elements] for _ in range(2))
    assert first == second
    assert not any(math.isnan(v) for v in cards(WAVY, "2", width=16)[0].high)
