"""Lengths and angles as text, read to mm and radians or refused in a sentence that says what would do."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from scallopkit.document.units import Sign, parse_angle, parse_length, parse_share, svg_length
from scallopkit.errors import DrawingError, RequestError


@pytest.mark.parametrize(
    ("text", "mm"),
    [
        ("30mm", 30.0),
        ("3 cm", 30.0),
        ("3,5cm", 35.0),
        (" 3.5 CM ", 35.0),
        ("1.25in", 31.75),
        ("1 1/4in", 31.75),
        ("1-1/4 in", 31.75),
        ("1/4 in", 6.35),
        ("-1/4in", -6.35),
        ("-1 1/4in", -31.75),
        ("5/8inch", 15.875),
        ("2inches", 50.8),
        ("30", 30.0),
        ("-3", -3.0),
        (".5", 0.5),
        ("5.", 5.0),
        ("1e1", 10.0),
        ("2m", 2000.0),
        ("72pt", 25.4),
        ("6pc", 25.4),
        ("96px", 25.4),
        ("101.6Q", 25.4),
    ],
)
def test_lengths_of_the_command_line(text: str, mm: float) -> None:
    assert parse_length(text) == pytest.approx(mm, rel=1e-15)


@pytest.mark.parametrize(
    "text",
    [
        "",
        " ",
        "mm",
        "cm",
        "3 0",
        "30 mm mm",
        "thirty",
        "3.5.2",
        "3,5,2",
        "30%",
        "30em",
        "1/0in",
        "1 1/in",
        "1e999",
        "nan",
        "inf",
    ],
)
def test_what_is_no_length_is_refused_with_the_ways_to_write_one(text: str) -> None:
    with pytest.raises(RequestError) as caught:
        parse_length(text, "the width")
    message = str(caught.value)
    assert message.startswith("the width ")
    assert repr(text) in message
    assert "30mm" in message


def test_a_fraction_needs_its_unit() -> None:
    with pytest.raises(RequestError, match=r"1/4in for inches"):
        parse_length("1/4")


@pytest.mark.parametrize(
    ("sign", "good", "bad"),
    [("positive", ["1"], ["0", "-1"]), ("not-negative", ["0", "1"], ["-1"]), ("any", ["-1", "0", "1"], [])],
)
def test_signs_that_are_refused(sign: Sign, good: list[str], bad: list[str]) -> None:
    for text in good:
        assert parse_length(text, sign=sign) == float(text)
        assert parse_share(f"{text}%", sign=sign) == float(text) / 100.0
        assert parse_angle(text, sign=sign) == math.radians(float(text))
    for text in bad:
        with pytest.raises(RequestError, match="must"):
            parse_length(text, sign=sign)
        with pytest.raises(RequestError, match="must"):
            parse_share(f"{text}%", sign=sign)
        with pytest.raises(RequestError, match="must"):
            parse_angle(text, sign=sign)


def test_shares() -> None:
    assert parse_share("40%") == 0.4
    assert parse_share("12,5 %") == 0.125
    for text in ("40", "", "%", "40mm", "1e999%"):
        with pytest.raises(RequestError, match="like 40%"):
            parse_share(text)


@pytest.mark.parametrize(
    ("text", "degrees"),
    [("30", 30.0), ("30deg", 30.0), ("30°", 30.0), ("-7,5", -7.5), ("0.25turn", 90.0), ("100grad", 90.0)],
)
def test_angles(text: str, degrees: float) -> None:
    assert parse_angle(text) == pytest.approx(math.radians(degrees), rel=1e-15)
    assert parse_angle(f"{math.radians(degrees)}rad") == pytest.approx(math.radians(degrees), rel=1e-15)


@pytest.mark.parametrize("text", ["", "deg", "30mm", "30 30", "1e999"])
def test_what_is_no_angle_is_refused(text: str) -> None:
    with pytest.raises(RequestError, match="in degrees"):
        parse_angle(text)


@given(st.floats(-1e6, 1e6))
def test_what_is_printed_is_read_back(value: float) -> None:
    assert parse_length(f"{value!r}") == value
    assert parse_length(f"{value!r}".replace(".", ",") + " cm") == value * 10.0
    assert svg_length(f"{value!r} mm").mm == value


@pytest.mark.parametrize(
    ("text", "mm", "px"),
    [
        ("1in", 25.4, 96.0),
        ("2.54cm", 25.4, 96.0),
        ("25,4 mm", 25.4, 96.0),
        ("96", 25.4, 96.0),
        ("96PX", 25.4, 96.0),
        ("72pt", 25.4, 96.0),
        ("6pc", 25.4, 96.0),
        ("101.6q", 25.4, 96.0),
        ("+1e2mm", 100.0, 100.0 / 25.4 * 96.0),
    ],
)
def test_lengths_of_attributes(text: str, mm: float, px: float) -> None:
    assert svg_length(text).mm == pytest.approx(mm, rel=1e-15)
    assert svg_length(text).user(1000.0) == pytest.approx(px, rel=1e-15)


def test_shares_of_a_viewport() -> None:
    assert svg_length("25%").user(300.0) == 75.0
    with pytest.raises(DrawingError, match="mm"):
        assert svg_length("25%").mm


@pytest.mark.parametrize("text", ["", "wide", "3em", "50vw", "3mm 4mm", "1e999", "calc(1px)"])
def test_what_is_no_length_of_fixed_size_is_refused(text: str) -> None:
    with pytest.raises(DrawingError, match="mm"):
        svg_length(text)
