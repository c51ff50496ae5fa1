"""Free places on the sheet: nothing lies on anything else, and what is made again lies where it lay."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from lxml import etree

from scallopkit.demo_waistcoat import waistcoat
from scallopkit.document.beside import Box, Item, free_places, taken_by_others
from scallopkit.document.drawing import Drawing
from scallopkit.document.layer import replace_groups
from scallopkit.document.markup import SVG
from scallopkit.document.reader import read_drawing
from scallopkit.geometry import cubics

from ..drawings import NAMESPACES, UNITS, page

# What is left round outlines for their allowances, mm.
ROOM = 45.0

sizes = st.tuples(st.floats(1.0, 300.0), st.floats(1.0, 400.0))
corners = st.tuples(st.floats(-500.0, 900.0), st.floats(-500.0, 900.0))


def item(low: tuple[float, float], size: tuple[float, float]) -> Item:
    return Item(np.array(low), np.array(low) + np.array(size))


def box(low: tuple[float, float], size: tuple[float, float]) -> Box:
    return np.array(low), np.array(low) + np.array(size)


def moved(items: Sequence[Item], shifts: Sequence[np.ndarray]) -> list[Box]:
    return [(one.low + shift, one.high + shift) for one, shift in zip(items, shifts, strict=True)]


def apart(a: Box, b: Box) -> float:
    """The distance of two boxes across or down, whichever is more; negative where they overlap."""
    return float(np.maximum(a[0] - b[1], b[0] - a[1]).max())


def drawing(body: str, size: tuple[float, float] = (600.0, 500.0), unit: float = 1.0) -> Drawing:
    return read_drawing(page(body, unit, size).encode(), "a.svg")


@given(
    st.lists(st.tuples(corners, sizes), max_size=3),
    st.lists(st.tuples(corners, sizes), max_size=4),
    st.lists(st.tuples(corners, sizes), min_size=1, max_size=8),
    st.floats(0.0, 25.0),
)
def test_no_two_boxes_overlap(
    outlines: list[tuple[tuple[float, float], tuple[float, float]]],
    taken: list[tuple[tuple[float, float], tuple[float, float]]],
    wanted: list[tuple[tuple[float, float], tuple[float, float]]],
    margin: float,
) -> None:
    rects = "".join(
        f'<rect id="r{k}" x="{x!r}" y="{y!r}" width="{w!r}" height="{h!r}"/>'
        for k, ((x, y), (w, h)) in enumerate(outlines)
    )
    sheet, items = drawing(rects), [item(*one) for one in wanted]
    occupied = [box(*one) for one in taken]
    placed = moved(items, free_places(sheet, occupied, items, margin))
    cloth = [cubics.bounds(piece.curve) for piece in sheet.pattern.pieces]
    others = [*occupied, *((low - ROOM, high + ROOM) for low, high in cloth)]
    for k, one in enumerate(placed):
        for other in [*others, *placed[:k]]:
            assert apart(one, other) > margin - 1e-6
        within = (one[0] > margin - 1e-6).all() and (one[1] < np.array([600.0, 500.0]) - margin + 1e-6).all()
        assert within or one[0][0] > 600.0 + margin - 1e-6
    again = free_places(sheet, occupied, items, margin)
    assert np.array_equal(np.array(moved(items, again)), np.array(placed))


def test_the_page_is_filled_row_by_row_from_its_top_left() -> None:
    items = [item((-7.0, 3.0), (270.0, 100.0))] * 4
    shifts = free_places(drawing(""), [], items)
    assert [tuple(one[0]) for one in moved(items, shifts)] == [
        (10.0, 10.0),
        (290.0, 10.0),
        (10.0, 120.0),
        (290.0, 120.0),
    ]


def test_what_has_no_room_goes_to_the_right_in_columns() -> None:
    body = '<rect x="60" y="60" width="480" height="380"/>'
    items = [item((0.0, 0.0), (200.0, 180.0))] * 3 + [item((0.0, 0.0), (50.0, 700.0))]
    placed = moved(items, free_places(drawing(body), [], items))
    # Two of 180 mm and their margins go into 500 mm; what is higher than the page stands at its top.
    assert [tuple(one[0]) for one in placed] == [(610.0, 10.0), (610.0, 200.0), (820.0, 10.0), (1030.0, 10.0)]
    # An outline that goes out of the page pushes them farther.
    wide = drawing('<rect x="60" y="60" width="640" height="380"/>')
    assert free_places(wide, [], items[:1])[0].tolist() == [755.0, 10.0]


def test_a_page_without_a_size_has_no_inside() -> None:
    text = f'<svg {NAMESPACES} viewBox="0 0 600 500"><rect x="60" y="60" width="480" height="380"/></svg>'
    sheet = read_drawing(text.encode(), "a.svg")
    assert sheet.size_mm is None
    (shift,) = free_places(sheet, [], [item((0.0, 0.0), (20.0, 20.0))])
    (low, high), unit = cubics.bounds(sheet.pattern.pieces[0].curve), sheet.to_mm[0, 0]
    assert (high - low)[0] == pytest.approx(480.0 * unit)
    assert shift.tolist() == pytest.approx([high[0] + 55.0, low[1] - 45.0])


def with_group(sheet: Drawing, run: str, body: str) -> bytes:
    group = etree.fromstring(f'<g {NAMESPACES} data-run="{run}" data-recipe="{{}}">{body}</g>')
    return replace_groups(sheet.source, {run: group})


CARDS = (
    '<path data-role="facing" d="M 10,10 H 30 V 25 Z"/><path data-role="stitching" d="M 100,10 H 300"/>'
    '<g data-role="template" transform="translate(50 5)"><rect x="1" y="2" width="30" height="40"/>'
    '<text data-role="label" x="900" y="900">card</text></g>'
    '<circle data-role="lining" transform="rotate(45)" cx="0" cy="100" r="10"/>'
    '<path data-role="interlining" d="nonsense"/>'
)


@pytest.mark.parametrize("unit", UNITS)
def test_the_boxes_of_what_other_runs_have_drawn(unit: float) -> None:
    sheet = drawing("", unit=unit)
    data = with_group(read_drawing(with_group(sheet, "one", CARDS), "a.svg"), "two", CARDS)
    written = read_drawing(data, "a.svg")
    assert taken_by_others(written, ["one", "two"]) == []
    found = taken_by_others(written, ["two"])
    assert len(taken_by_others(written, [])) == 2 * len(found) == 6
    x = -100.0 / 2.0**0.5
    expected = [((10, 10), (30, 25)), ((51, 7), (81, 47)), ((x - 10, -x - 10), (x + 10, -x + 10))]
    for (low, high), (a, b) in zip(found, expected, strict=True):
        # Arcs are looked at to a thousandth of a mm.
        assert low == pytest.approx(np.array(a) * unit, abs=2e-3)
        assert high == pytest.approx(np.array(b) * unit, abs=2e-3)


def test_what_is_made_again_lies_where_it_lay() -> None:
    sheet = read_drawing(waistcoat().encode(), "waistcoat.svg")
    first, second = item((0.0, 0.0), (90.0, 60.0)), item((0.0, 0.0), (70.0, 80.0))
    places: list[list[float]] = []
    for name, one in (("a", first), ("b", second), ("a", first), ("b", second)):
        (shift,) = free_places(sheet, taken_by_others(sheet, [name]), [one])
        (x, y), (w, h) = one.low + shift, one.high - one.low
        body = f'<rect data-role="facing" x="{x}" y="{y}" width="{w}" height="{h}"/>'
        sheet = read_drawing(with_group(sheet, name, body), "waistcoat.svg")
        places.append(shift.tolist())
    assert places[:2] == places[2:]
    assert places[0] != places[1]
    assert SVG in sheet.source.decode()


# ---------------------------------------------------------------- what the maker has written


def boxes_of(body: str, unit: float = 1.0) -> list[Box]:
    return taken_by_others(drawing(body, unit=unit), [])


@pytest.mark.parametrize("unit", UNITS)
def test_a_text_takes_about_the_room_that_it_has(unit: float) -> None:
    """Letters of a plain sans-serif are under one em wide, and on the average over a third."""
    size, x, y = (value / unit for value in (10.0, 100.0, 200.0))
    ((low, high),) = boxes_of(f'<text x="{x}" y="{y}" font-size="{size}">cut on the bias</text>', unit)
    assert low == pytest.approx((100.0, 190.0))
    assert high[1] == pytest.approx(202.5)
    assert 15 * 10.0 / 3.0 < high[0] - low[0] < 15 * 10.0


def test_a_text_s_size_anchor_rows_and_place() -> None:
    plain = '<text x="100" y="50" font-size="10">abcd</text>'
    ((low, high),) = boxes_of(plain)
    width, height = (high - low).tolist()
    for anchor, before in (("start", 0.0), ("middle", 0.5), ("end", 1.0)):
        ((a, _),) = boxes_of(f'<g style="text-anchor:{anchor}">{plain}</g>')
        assert a[0] == pytest.approx(100.0 - before * width)
    rows = '<text font-size="10"><tspan x="100" y="50">ab</tspan><tspan x="100" dy="12">abcd</tspan></text>'
    ((a, b),) = boxes_of(rows)
    assert (a.tolist(), (b - a).tolist()) == ([100.0, 40.0], pytest.approx([width, 2.0 * height]))
    # The largest letters count, and what is not told is 16 px.
    ((a, b),) = boxes_of(
        '<g style="font-size:4px"><text x="9" y="9"><tspan style="font-size:10px">abcd</tspan></text></g>'
    )
    assert (b - a)[0] == pytest.approx(width)
    ((a, b),) = boxes_of('<text x="9" y="9" font-size="medium">abcd</text>')
    assert (b - a)[0] == pytest.approx(1.6 * width)
    # Turned by a quarter it is as high as it was long.
    ((a, b),) = boxes_of(f'<g transform="rotate(90) translate(0 -300)">{plain}</g>')
    assert (b - a).tolist() == pytest.approx([height, width])


@pytest.mark.parametrize(
    "body",
    [
        '<text x="9" y="9"> </text>',
        '<g display="none"><text x="9" y="9">hidden</text></g>',
        '<defs><text x="9" y="9">kept</text></defs>',
        '<text x="9" y="9" transform="nonsense">lost</text>',
        '<text x="9em" y="9">lost</text>',
    ],
)
def test_texts_that_take_no_room(body: str) -> None:
    assert boxes_of(body) == []


def test_nothing_is_laid_over_the_maker_s_text() -> None:
    """The first place of the page is free but for a note."""
    note = '<text x="12" y="30" font-size="12">Two of these, please, before Friday</text>'
    thing = item((0.0, 0.0), (150.0, 100.0))
    for body in ("", note):
        sheet = drawing(body)
        (placed,) = moved([thing], free_places(sheet, taken_by_others(sheet, []), [thing]))
        assert (placed[0].tolist() == [10.0, 10.0]) == (not body)
        assert all(apart(placed, box) > 10.0 - 1e-6 for box in boxes_of(body))
