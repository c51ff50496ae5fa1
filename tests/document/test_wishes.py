"""Every word of the maker understood, and every word that can't be refused with what to write instead."""

from __future__ import annotations

import math

import numpy as np
import pytest

from scallopkit.document.recipe import EdgeWords, ScallopWords
from scallopkit.document.wishes import (
    DEFAULT_DEPTH,
    SIDES,
    STEPS,
    allowances_of,
    holds_of,
    one_of,
    sharpest_of,
    wish_of,
)
from scallopkit.errors import NameUnknownError, RequestError
from scallopkit.geometry.cubics import lines
from scallopkit.pattern.joins import FOLD
from scallopkit.pattern.piece import Pattern
from scallopkit.trim.course import CREST, VALLEY, Weights, Wish
from scallopkit.trim.holds import GAP, PASS, End
from scallopkit.trim.profiles import PROFILES

from ..shapes import circle, pattern, piece

LENGTH = 300.0
TENT = piece("tent", lines([(0, 0), (5, -6), (10, 0)]), closed=False)
NOTHING = pattern(TENT, piece("ring", circle(5.0)))


def wish(there: Pattern = NOTHING, /, **words: str) -> Wish:
    return wish_of(ScallopWords(**words), there, LENGTH)


# --- holds ----------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("text", "end"),
    [
        ("", End(VALLEY)),
        ("valley", End(VALLEY)),
        ("crest", End(CREST)),
        ("gap:15mm", End(GAP, gap=15.0)),
        ("gap:1,5cm", End(GAP, gap=15.0)),
        ("gap:1 1/4in", End(GAP, gap=31.75)),
        ("fold", End(FOLD, CREST)),
        ("fold:crest", End(FOLD, CREST)),
        ("fold:valley", End(FOLD, VALLEY)),
        ("fold:pass", End(FOLD, PASS)),
    ],
)
def test_holds_at_ends(text: str, end: End) -> None:
    assert holds_of(EdgeWords(start=text)).start == end
    assert holds_of(EdgeWords(end=text)).end == end
    # The other end is left at its default.
    assert holds_of(EdgeWords(start=text)).end == End(VALLEY)


@pytest.mark.parametrize(
    "text",
    ["top", "Valley", "valley:5mm", "crest:x", "fold:gap", "fold:15mm", "gap:", "gap", "gap:x", "gap:0", "gap:-2mm"],
)
def test_what_no_end_can_do(text: str) -> None:
    for option in ("--start", "--end"):
        with pytest.raises(RequestError, match=option):
            holds_of(EdgeWords(**{option[2:]: text}))  # type: ignore[arg-type]  # start and end are texts


def test_a_gap_without_a_length_takes_the_allowance_beside() -> None:
    holds = holds_of(EdgeWords(start="gap", hold=("m=gap",), allowance="12mm, 7mm"))
    assert holds.start == End(GAP, gap=12.0)
    assert holds.marks == {"m": End(GAP, gap=12.0)}


@pytest.mark.parametrize(
    ("text", "name", "end"),
    [
        ("side=valley", "side", End(VALLEY)),
        ("side=crest", "side", End(CREST)),
        ("side=pass", "side", End(PASS)),
        ("c1=gap:15mm", "c1", End(GAP, gap=15.0)),
        ("a=b=crest", "a=b", End(CREST)),
        ("centre front=crest", "centre front", End(CREST)),
    ],
)
def test_holds_at_marks(text: str, name: str, end: End) -> None:
    assert holds_of(EdgeWords(hold=(text, "z=pass"))).marks == {name: end, "z": End(PASS)}


@pytest.mark.parametrize(
    "text", ["", "side", "side=", "=crest", "side=top", "side=fold", "side=crest:2", "side=gap", "side=gap:0mm"]
)
def test_what_no_mark_can_hold(text: str) -> None:
    with pytest.raises(RequestError, match="--hold"):
        holds_of(EdgeWords(hold=(text,)))


@pytest.mark.parametrize(("text", "corner"), [("", "hold"), ("hold", "hold"), ("wrap", "wrap"), ("pass", "pass")])
def test_corners(text: str, corner: str) -> None:
    assert holds_of(EdgeWords(corner=text)).corner == corner


def test_an_unknown_choice_is_told_the_choices() -> None:
    with pytest.raises(RequestError, match=r"^--corner can be hold, wrap or pass, not 'round'$"):
        holds_of(EdgeWords(corner="round"))


def test_the_choice_of_none_is_not_listed() -> None:
    """A first choice that is empty means that nothing was asked; it is no word to offer."""
    assert one_of("", ("", *SIDES), "--side") == ""
    with pytest.raises(RequestError, match=r"^--side can be outward, inward, left or right, not 'up'$"):
        one_of("up", ("", *SIDES), "--side")


# --- allowances -----------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("text", "beside", "own"),
    [
        ("", 0.0, 0.0),
        ("15mm", 15.0, 15.0),
        ("15", 15.0, 15.0),
        ("0", 0.0, 0.0),
        ("1,5cm", 15.0, 15.0),
        ("5/8in", 15.875, 15.875),
        ("15mm, 0mm", 15.0, 0.0),
        ("15mm,0mm", 15.0, 0.0),
        ("15MM,0MM", 15.0, 0.0),
        ("15mm ,0mm", 15.0, 0.0),
        ("15, 0", 15.0, 0.0),
        ("15;0", 15.0, 0.0),
        ("15mm;7,5mm", 15.0, 7.5),
        ("1,5cm,7,5mm", 15.0, 7.5),
        ("1,5cm, 7,5mm", 15.0, 7.5),
        ("1,5, 7,5", 1.5, 7.5),
        (" 15mm , 0mm ", 15.0, 0.0),
    ],
)
def test_allowances(text: str, beside: float, own: float) -> None:
    assert allowances_of(EdgeWords(allowance=text)) == pytest.approx((beside, own), abs=1e-12)


@pytest.mark.parametrize("text", ["wide", "-1mm", "15mm, -1mm", "1mm, 2mm, 3mm", "1;2;3", "15mm,", "nan", "1e999mm"])
def test_what_is_no_allowance(text: str) -> None:
    with pytest.raises(RequestError, match="--allowance"):
        allowances_of(EdgeWords(allowance=text))


# --- scallops -------------------------------------------------------------------------------------------------------


def test_defaults() -> None:
    got = wish(width="30mm")
    assert (got.shape.profile, got.shape.rule, got.shape.value) == ("arc", "share", DEFAULT_DEPTH)
    assert (got.width, got.count, got.least, got.most) == (30.0, None, 0.0, math.inf)
    assert (got.weights, got.space, got.along, got.touch) == (Weights(), 0.0, False, VALLEY)


@pytest.mark.parametrize("option", ["width", "min_width", "max_width", "radius", "space"])
def test_lengths(option: str) -> None:
    field = {"min_width": "least", "max_width": "most"}.get(option, option)
    words = {"width": "30", option: "2,5 cm"}
    if option == "radius":
        assert wish(**words).shape.value == pytest.approx((25.0 - math.sqrt(625.0 - 225.0)) / 30.0, abs=1e-12)
    else:
        assert getattr(wish(**words), field) == pytest.approx(25.0, abs=1e-12)
    for bad in ("wide", "nan", "1e999", "-3mm", *(("0",) if option != "space" else ())):
        with pytest.raises(RequestError, match="--" + option.replace("_", "-")):
            wish(**{"width": "30", option: bad})


def test_no_space_is_a_space() -> None:
    assert wish(width="30", space="0").space == 0.0


@pytest.mark.parametrize(
    ("text", "count"), [("12", 12.0), ("1", 1.0), ("7.5", 7.5), ("7,5", 7.5), ("12.0", 12.0), (" 9 ", 9.0)]
)
def test_counts(text: str, count: float) -> None:
    assert wish(count=text).count == count


@pytest.mark.parametrize("text", ["few", "0", "-3", "7.25", "nan", "inf", "1e9", "12mm", "1/2"])
def test_what_is_no_count(text: str) -> None:
    with pytest.raises(RequestError, match="--count"):
        wish(count=text)


@pytest.mark.parametrize(
    ("text", "weights"),
    [
        ("2,1", Weights((2.0, 1.0))),
        ("2, 1", Weights((2.0, 1.0))),
        ("2 1 1", Weights((2.0, 1.0, 1.0))),
        ("2;1", Weights((2.0, 1.0))),
        ("1.5,1", Weights((1.5, 1.0))),
        ("3", Weights((3.0,))),
        ("1..2", Weights((1.0,), 2.0)),
        ("1.5..2.5", Weights((1.5,), 2.5)),
        ("2..1", Weights((2.0,), 1.0)),
    ],
)
def test_weights(text: str, weights: Weights) -> None:
    assert wish(width="30", weights=text).weights == weights


@pytest.mark.parametrize(
    "text", ["big", "0", "-1,2", "1,0.001", "200", "1..", "..2", "1..2..3", "1,,x", "nan", "1..nan", ","]
)
def test_what_are_no_weights(text: str) -> None:
    with pytest.raises(RequestError, match="--weights"):
        wish(width="30", weights=text)


# --- shapes ---------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("depth", "share"), [("40%", 0.4), ("33,3 %", 0.333), ("12mm", 0.4), ("1,2cm", 0.4), ("500%", 5.0)]
)
def test_a_depth_is_a_share_or_a_length_at_the_width_aimed_at(depth: str, share: float) -> None:
    got = wish(width="30mm", depth=depth, profile="wave").shape
    assert got.rule == "share"
    assert got.value == pytest.approx(share, abs=1e-12)
    assert got.depth(15.0) == pytest.approx(15.0 * share, abs=1e-12)


@pytest.mark.parametrize("depth", ["deep", "0", "0%", "-5mm", "-10%", "nan%", "151mm", "501%", "1e308"])
def test_what_is_no_depth(depth: str) -> None:
    with pytest.raises(RequestError, match="--depth"):
        wish(width="30mm", depth=depth, profile="wave")


@pytest.mark.parametrize(
    ("words", "aim"),
    [
        ({"width": "20"}, 20.0),
        ({"count": "12"}, 25.0),
        ({"min_width": "20", "max_width": "24"}, 22.0),
        ({"min_width": "20"}, 20.0),
    ],
)
def test_what_a_depth_in_mm_is_a_share_of(words: dict[str, str], aim: float) -> None:
    assert wish(depth="8mm", **words).shape.value == pytest.approx(8.0 / aim, abs=1e-12)


def test_a_kept_depth_stays_when_the_width_changes() -> None:
    got = wish(width="30mm", depth="12mm", keep="depth").shape
    assert [got.depth(w) for w in (20.0, 30.0, 40.0)] == pytest.approx([12.0] * 3, abs=1e-12)


def test_a_kept_radius_stays_when_the_width_changes() -> None:
    kept = wish(width="30mm", radius="25mm", keep="depth").shape
    shaped = wish(width="30mm", radius="25mm").shape
    assert kept.depth(30.0) == pytest.approx(5.0, abs=1e-12)
    assert shaped.depth(30.0) == pytest.approx(5.0, abs=1e-12)
    assert kept.depth(40.0) == pytest.approx(10.0, abs=1e-12)
    assert shaped.depth(40.0) == pytest.approx(5.0 * 40.0 / 30.0, abs=1e-12)


@pytest.mark.parametrize("profile", sorted(PROFILES))
def test_profiles(profile: str) -> None:
    assert wish(width="30", profile=profile).shape.profile == profile


def test_the_profiles_are_those_that_the_help_names() -> None:
    assert set(PROFILES) == {"arc", "half-circle", "pointed-arch", "double-curve", "wave", "point"}


@pytest.mark.parametrize(
    ("words", "said"),
    [
        ({"profile": "round"}, "--profile can be arc, .*motif:PIECE.*not 'round'"),
        ({"keep": "width"}, "--keep can be shape or depth"),
        ({"step": "arc"}, "--step can be chord or along"),
        ({"touch": "top"}, "--touch can be valley, crest or middle"),
        ({"depth": "5mm", "radius": "20mm"}, "a --depth or a --radius, not both"),
        ({"radius": "20mm", "profile": "wave"}, "--radius goes with the profile arc"),
        ({"radius": "20mm", "profile": "wave", "keep": "depth"}, "--radius goes with the profile arc"),
        ({"radius": "14mm"}, "at least half the width, 15 mm"),
        ({"radius": "20mm", "profile": "motif:tent"}, "--radius goes with the profile arc"),
    ],
)
def test_what_no_scallop_can_be(words: dict[str, str], said: str) -> None:
    with pytest.raises(RequestError, match=said):
        wish(width="30mm", **words)


def test_steps_and_touches() -> None:
    assert [wish(width="30", step=step).along for step in ("", *STEPS)] == [False, False, True]
    assert [wish(width="30", touch=touch).touch for touch in ("", "valley", "crest", "middle")] == [
        VALLEY,
        VALLEY,
        CREST,
        "middle",
    ]


# --- a motif of the maker's own -------------------------------------------------------------------------------------


def test_a_motif_keeps_its_own_depth() -> None:
    got = wish(width="30mm", profile="motif:tent").shape
    assert got.own is not None
    assert got.depth(30.0) == pytest.approx(18.0, abs=1e-9)
    # Its top lies in the middle, 0.6 of the width above the base.
    top = got.own.curve.reshape(-1, 2)[np.argmax(got.own.curve.reshape(-1, 2)[:, 1])]
    assert top == pytest.approx((0.5, 0.6), abs=1e-9)


def test_a_motif_takes_a_depth() -> None:
    assert wish(width="30mm", profile="motif:tent", depth="50%").shape.depth(30.0) == pytest.approx(15.0, abs=1e-9)
    kept = wish(width="30mm", profile="motif:tent", depth="9mm", keep="depth").shape
    assert [kept.depth(w) for w in (20.0, 30.0)] == pytest.approx([9.0, 9.0], abs=1e-9)


def test_a_motif_must_be_there_and_open() -> None:
    with pytest.raises(NameUnknownError, match='no piece is called "lace"; this drawing has "tent", "ring"'):
        wish(width="30mm", profile="motif:lace")
    with pytest.raises(RequestError, match='the motif "ring" is closed: draw it as an open line'):
        wish(width="30mm", profile="motif:ring")
    with pytest.raises(NameUnknownError):
        wish(width="30mm", profile="motif:")


# --- sharp valleys --------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("text", "degrees"), [("", 15.0), ("20", 20.0), ("20deg", 20.0), ("0", 0.0), ("0.5rad", 28.6478897565)]
)
def test_sharpest(text: str, degrees: float) -> None:
    assert math.degrees(sharpest_of(ScallopWords(sharpest=text))) == pytest.approx(degrees, abs=1e-9)


@pytest.mark.parametrize("text", ["sharp", "-5", "5mm", "nan"])
def test_what_is_no_angle(text: str) -> None:
    with pytest.raises(RequestError, match="--sharpest"):
        sharpest_of(ScallopWords(sharpest=text))
