"""Template cards: the row's own line on a card that closes, holds together and says what it is for."""

from __future__ import annotations

import math

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st

from scallopkit.construction.template import ALIKE, MOST_OFF, Template, templates
from scallopkit.errors import RequestError
from scallopkit.geometry import cubics
from scallopkit.geometry.cubics import Array
from scallopkit.geometry.nearest import nearest
from scallopkit.trim.course import WRAP, Stop, Weights, Wish
from scallopkit.trim.fit import fit
from scallopkit.trim.profiles import PROFILES, own_motif
from scallopkit.trim.row import WHOLE
from scallopkit.trim.scallops import Scallops, scallops
from scallopkit.trim.shape import Shape

from ..shapes import circle, course, crest_ends, rectangle, valley_ends, wavy_lines

# What the written lines round off, and what a flattened line lies off its curve.
EXACT = 1e-6
# Its crest lies left of the middle.
LEANING = own_motif(np.array([[(0, 0), (0, 5), (1, 6), (3, 6)], [(3, 6), (6, 6), (8, 2), (10, 0)]], float), "leaning")


def straight(length: float, shape: Shape, side: int = 1, **wish: object) -> Scallops:
    return row_on(cubics.lines([(0, 0), (length, 0)]), shape, side, **wish)  # type: ignore[arg-type]


def row_on(curve: Array, shape: Shape, side: int = 1, loop: bool = False, **wish: object) -> Scallops:
    c = course(curve, loop, side)
    return scallops(fit(c, valley_ends(c), Wish(shape, **wish)).row, shape, side)  # type: ignore[arg-type]


def polygon(card: Template, accuracy: float = 1e-4) -> shapely.Polygon:
    return shapely.Polygon(cubics.flatten(card.outline, accuracy))


def segment_area(width: float, depth: float) -> float:
    """r² (theta - sin theta) / 2: area of a circular segment, Machinery's Handbook, 31st edition, p. 79."""
    r = (width * width / 4.0 + depth * depth) / (2.0 * depth)
    theta = 4.0 * math.atan(2.0 * depth / width)
    return 0.5 * r * r * (theta - math.sin(theta))


def assert_closed(card: Template) -> None:
    assert np.array_equal(card.outline[1:, 0], card.outline[:-1, 3])
    assert np.array_equal(card.outline[0, 0], card.outline[-1, 3])
    assert polygon(card).is_valid
    # Clockwise as seen.
    assert cubics.area(card.outline) > 0.0


# --- one card ---------------------------------------------------------------------------------------------------------


def test_a_segment_of_chord_21_and_height_6() -> None:
    """89.254148: matheass.eu, E210, circular segment of chord 21 and height 6."""
    (card,) = templates(straight(105.0, Shape("arc", "depth", 6.0), count=5))
    assert cubics.area(card.outline) == pytest.approx(89.254148 + 21.0 * 30.0, abs=1e-6)
    assert card.scallops == (1, 2, 3, 4, 5)
    assert card.title == ("scallops 1-5", "21 mm wide, 6 mm deep")
    assert not card.corner


@settings(max_examples=40)
@given(
    st.sampled_from(sorted(PROFILES)),
    st.floats(5.0, 120.0),
    st.floats(0.1, 0.5),
    st.sampled_from([0.0, 4.0]),
    st.integers(1, 6),
    st.floats(5.0, 60.0),
    st.sampled_from([1, -1]),
)
def test_a_strip_is_its_body_and_so_many_scallops(
    profile: str, width: float, share: float, space: float, strip: int, body: float, side: int
) -> None:
    made = straight(7 * width + 6 * space, Shape(profile, "share", share), side, count=7, space=space)
    (card,) = templates(made, space, strip, body)
    assert card.count == strip
    assert_closed(card)
    pitch = width + space
    motif = made.shape.motif(width).curve * width
    one = abs(cubics.area(np.concatenate([motif, cubics.lines([(width, 0), (0, 0)])])))
    assert cubics.area(card.outline) == pytest.approx(strip * (one + pitch * body), rel=1e-9)
    if profile == "arc":
        assert one == pytest.approx(segment_area(width, share * width), rel=1e-7)
    assert card.valleys[:, 1].tolist() == [0.0] * len(card.valleys)
    starts = np.arange(strip + 1) * pitch
    wanted = np.sort(np.concatenate([starts, starts[:-1] + width])) if space else starts
    assert card.valleys[:, 0] == pytest.approx(wanted, rel=1e-9)
    assert nearest(card.outline, card.valleys).distance.max() < EXACT
    assert card.base[0].tolist() == [[0.0, 0.0], [pytest.approx(strip * pitch), 0.0]]
    # The card reaches from the crests to the body's end and no farther.
    assert cubics.bounds(card.outline)[:, 1] == pytest.approx((-card.depth, body), rel=1e-6)
    assert card.centres[:, 0, 0] == pytest.approx(starts[:-1] + 0.5 * width)
    assert nearest(card.outline, card.centres[:, 0]).distance.max() < EXACT
    assert (card.centres[:, 1, 1] > 0.0).all()
    assert all(polygon(card).contains(shapely.Point(x, y)) for x, y in card.centres[:, 1])
    assert card.off < EXACT


def test_on_the_whole_row_at_once_the_strip_is_the_drawn_line() -> None:
    """Laid from the first valley on, the strip covers the line of the row, its spaces too."""
    made = straight(137.0, Shape("arc", "share", 0.4), count=5, space=3.0)
    (card,) = templates(made, 3.0, 5)
    drawn = np.concatenate([cubics.flatten(line, 1e-2) for line in made.curves()])
    assert nearest(card.outline, drawn).distance.max() < EXACT
    assert card.title == ("scallops 1-5", "25 mm wide, 10 mm deep, 3 mm apart", "strip of 5")


def rigid(made: Scallops, i: int) -> tuple[Array, Array]:
    """The motion that lays scallop i on its card: a turn only, no mirroring."""
    along = (made.row.end[i] - made.row.start[i]) / made.row.width[i]
    right = along if made.side > 0 else -along
    return np.stack([right, -made.axis[i]], axis=1), made.row.start[i] if made.side > 0 else made.row.end[i]


@pytest.mark.parametrize("side", [1, -1])
@pytest.mark.parametrize("profile", [*sorted(set(PROFILES) - {"wave"}), "own"])
@settings(max_examples=4)
@given(wavy_lines())
def test_one_card_traces_every_scallop_of_a_curved_edge(profile: str, side: int, curve: Array) -> None:
    """Turned onto its base line as seen, each lies on the upper edge of the card: motifs that lean, too."""
    shape = Shape("", "share", 0.5, LEANING) if profile == "own" else Shape(profile, "share", 0.4)
    made = row_on(curve, shape, side, width=15.0)
    (card,) = templates(made)
    for i, line in enumerate(made.curves()):
        turn, origin = rigid(made, i)
        assert np.linalg.det(turn) == pytest.approx(1.0)
        laid = (cubics.flatten(line, 0.1) - origin) @ turn
        assert nearest(card.outline, laid).distance.max() < EXACT
        crest = (made.crest[i] - origin) @ turn
        assert card.centres[0, 0] == pytest.approx(crest, abs=EXACT)


# --- what they serve --------------------------------------------------------------------------------------------------


def test_big_and_small_ones_have_a_card_each() -> None:
    made = straight(300.0, Shape("arc", "share", 0.4), count=8, weights=Weights((1.0, 2.0)))
    cards = templates(made, strip=3)
    assert [card.scallops for card in cards] == [(1, 3, 5, 7), (2, 4, 6, 8)]
    assert [card.width for card in cards] == pytest.approx([25.0, 50.0])
    # No two of a size stand side by side, so a strip would trace nothing.
    assert [card.count for card in cards] == [1, 1]
    assert cards[1].title == ("scallops 2, 4, 6, 8", "50 mm wide, 20 mm deep")


@given(st.floats(1.0, 2.0), st.integers(3, 40), st.floats(20.0, 60.0))
def test_growing_ones_share_a_card_up_to_a_pencil_line(grow: float, count: int, width: float) -> None:
    made = straight(count * width, Shape("arc", "share", 0.4), count=count, weights=Weights((1.0,), grow))
    cards = templates(made)
    assert sorted(n for card in cards for n in card.scallops) == list(range(1, count + 1))
    for card in cards:
        widths = made.row.width[np.array(card.scallops) - 1]
        assert np.ptp(widths) <= ALIKE
        assert np.abs(widths - card.width).max() <= ALIKE
    # Two cards could not have been one.
    narrowest = np.sort([made.row.width[np.array(card.scallops) - 1].min() for card in cards])
    assert (np.diff(narrowest) > ALIKE).all()


def test_a_radius_that_stays_makes_depths_differ_where_widths_hardly_do() -> None:
    """Next to the half circle: 19.98 and 20 mm wide with a radius of 10 mm are 9.55 and 10 mm deep."""
    made = straight(199.9, Shape("arc", "radius", 10.0), count=10, weights=Weights((1.0, 19.98 / 20.0)))
    assert np.ptp(made.row.width) < ALIKE
    assert [card.scallops for card in templates(made)] == [(1, 3, 5, 7, 9), (2, 4, 6, 8, 10)]


def test_halves_are_traced_with_a_whole_ones_card() -> None:
    c = course(cubics.lines([(0, 0), (100, 0)]))
    shape = Shape("arc", "share", 0.4)
    made = scallops(fit(c, crest_ends(c), Wish(shape, count=5)).row, shape, 1)
    (card,) = templates(made, strip=9)
    assert card.scallops == (1, 2, 3, 4, 5, 6)
    assert card.title == ("scallops 1-6", "20 mm wide, 8 mm deep", "strip of 4", "half only: 1, 6")
    # The strip is no longer than the whole ones in a row.
    assert card.count == int((made.row.part == WHOLE).sum()) == 4


def test_a_row_with_a_gap_has_strips_for_its_stretches() -> None:
    c = course(cubics.lines([(0, 0), (200, 0)]))
    shape = Shape("arc", "share", 0.4)
    stops = (valley_ends(c)[0], Stop("slit", 120.0, "valley", gap=20.0), valley_ends(c)[1])
    made = scallops(fit(c, stops, Wish(shape, width=20.0)).row, shape, 1)
    (card,) = templates(made, strip=9)
    assert (len(made), card.count) == (8, 5)


# --- bends and corners ------------------------------------------------------------------------------------------------


@given(st.floats(80.0, 3000.0), st.integers(1, 5), st.sampled_from([1, -1]))
def test_on_a_curved_edge_a_strip_is_off_by_the_rise_of_its_arc(radius: float, half_strip: int, side: int) -> None:
    """Valleys of an even strip: the middle one stands R (1 - cos(k phi / 2)) over the line through the ends."""
    strip, count = 2 * half_strip, max(20, round(radius / 4.0))
    made = row_on(circle(radius), Shape("arc", "share", 0.3), side, loop=True, count=count)
    (card,) = templates(made, strip=strip)
    turn = 2.0 * math.pi / count
    rise = radius * (1.0 - math.cos(0.5 * strip * turn))
    lag = 0.5 * strip * card.width - radius * math.sin(0.5 * strip * turn)
    assert card.off == pytest.approx(max(rise, lag), rel=1e-4)
    assert card.bends == (card.off > MOST_OFF)
    assert not templates(made)[0].bends


def test_deep_ones_on_a_bulging_edge_get_single_cards() -> None:
    """Arcs of more than half a circle overhang their valleys: side by side on a straight card they would overlap."""
    shape = Shape("arc", "share", 0.6)
    made = row_on(circle(40.0), shape, loop=True, count=9)
    (card,) = templates(made, strip=3)
    assert card.count == 1
    assert_closed(card)
    r = made.radius[0]
    assert cubics.bounds(card.outline)[0, 0] == pytest.approx(0.5 * card.width - r, rel=1e-6)
    # They overhang by 2 r - w together: a space of more leaves room.
    room = 2.0 * r - card.width
    for space, count in ((1.01 * room, 3), (0.99 * room, 1)):
        spaced = straight(5 * card.width + 4 * space, shape, count=5, space=space)
        (one,) = templates(spaced, space, strip=3)
        assert one.count == count
        assert_closed(one)


def test_a_wave_on_a_bent_edge_is_off_its_card() -> None:
    """Handles of 0.1817 w turn by half the bend; a cubic follows its inner handle by 4/9 at most."""
    shape = Shape("wave", "share", 0.3)
    made = row_on(circle(60.0), shape, loop=True, count=13)
    (card,) = templates(made)
    moved = 4.0 / 9.0 * 2.0 * math.sin(math.pi / 26.0) * (0.5 - 1.0 / math.pi) * card.width
    assert 0.9 * moved < card.off <= moved * (1.0 + 1e-9)
    assert card.bends == (card.off > MOST_OFF)
    assert templates(straight(300.0, shape, count=10))[0].off < EXACT


def framed(share: float, count: float) -> Scallops:
    c = course(rectangle(420.0, 420.0), loop=True)
    stops = tuple(Stop(f"c{i}", 420.0 * i, WRAP, turn=math.pi / 2.0) for i in range(4))
    shape = Shape("arc", "share", share)
    return scallops(fit(c, stops, Wish(shape, count=count)).row, shape, 1)


@pytest.mark.parametrize(("share", "beyond"), [(1.0 / 3.0, False), (0.08, True)])
def test_wrapped_corners_have_a_card_of_their_own(share: float, beyond: bool) -> None:
    made = framed(share, 56)
    corner, plain = sorted(templates(made, strip=4), key=lambda card: card.corner, reverse=True)
    assert corner.corner
    assert not plain.corner
    assert (len(corner.scallops), len(plain.scallops), corner.count) == (4, 52, 1)
    assert corner.title[0].startswith("corner scallops ")
    assert_closed(corner)
    h, w = share * plain.width, plain.width
    r = (w * w / 4.0 + h * h) / (2.0 * h)
    # Its chord is sqrt(2) (a + w / 2), a = r - h.
    assert corner.width == pytest.approx(math.sqrt(2.0) * (r - h + 0.5 * w), rel=1e-9)
    wanted = segment_area(corner.width, corner.depth) + 30.0 * corner.width
    assert cubics.area(corner.outline) == pytest.approx(wanted, rel=1e-9)
    # Both base lines lean by half a right angle; they end in the corner, or at the card's edge where it lies beyond.
    rise = corner.base[:, 1] - corner.base[:, 0]
    assert np.degrees(np.arctan2(rise[:, 1], rise[:, 0])) == pytest.approx([-45.0, 45.0])
    assert np.array_equal(corner.base[[0, 1], [0, 1]], corner.valleys)
    inner = corner.base[[0, 1], [1, 0]]
    top = np.array([0.5, -0.5]) * corner.width
    on_edge = nearest(corner.outline, inner).distance.max() < EXACT
    in_corner = np.abs(inner - top).max() < EXACT
    assert (on_edge, in_corner) == ((True, False) if beyond else (False, True))
    # The drawn arcs lie on it.
    lines = list(made.curves())
    for n in corner.scallops:
        turn, origin = rigid(made, n - 1)
        assert nearest(corner.outline, (cubics.flatten(lines[n - 1], 0.1) - origin) @ turn).distance.max() < EXACT


# --- what is refused --------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("asked", "text"),
    [
        ({"strip": 0}, "0 scallops has nothing to trace"),
        ({"body": 0.0}, "can't reach 0 mm"),
        ({"body": math.nan}, "can't reach nan mm"),
        ({"space": -1.0}, "can't stand -1 mm apart"),
    ],
)
def test_requests_that_make_no_card(asked: dict[str, float], text: str) -> None:
    with pytest.raises(RequestError, match=text):
        templates(straight(100.0, Shape("arc", "share", 0.4), count=5), **asked)  # type: ignore[arg-type]


def test_motifs_that_dip_below_their_base_line() -> None:
    """The body reaches below the lowest place; one that reaches out past its ends there can't be cut."""
    dipping = own_motif(cubics.lines([(0, 0), (2, 1), (5, -6), (8, 1), (10, 0)]), "dip")
    made = straight(50.0, Shape("", "share", dipping.depth, dipping), count=5)
    (card,) = templates(made, strip=5)
    assert card.count == 5
    assert_closed(card)
    assert cubics.bounds(card.outline)[1, 1] == pytest.approx(31.0)
    barbed = own_motif(cubics.lines([(0, 0), (-1, 1), (5, -6), (8, -2), (10, 0)]), "barbed")
    (card,) = templates(straight(50.0, Shape("", "share", barbed.depth, barbed), count=5), strip=5)
    assert card.count == 1
    assert_closed(card)
    curled = own_motif(cubics.lines([(0, 0), (1, -1), (1, 2), (-1, 2), (-1, -6), (8, -6), (10, 0)]), "curled")
    with pytest.raises(RequestError, match="no template can be cut"):
        templates(straight(50.0, Shape("", "share", curled.depth, curled), count=5))
