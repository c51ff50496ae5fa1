"""Tables line up on a terminal and stay machine-readable in a pipe."""

from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from scallopkit.document.tables import table, width

HEADERS = ("edge", "count", "width")
ROWS = [("hem", 13, 29.125), ("neck line", 7.5, None), ("top", 100, 30.0)]


def test_on_a_terminal() -> None:
    assert table(HEADERS, ROWS, terminal=True).split("\n") == [
        "edge       count   width",
        "---------  -----  ------",
        "hem           13  29.125",
        "neck line    7.5",
        "top          100      30",
    ]


def test_in_a_pipe() -> None:
    assert table(HEADERS, ROWS, terminal=False) == "edge\tcount\twidth\nhem\t13\t29.125\nneck line\t7.5\t\ntop\t100\t30"


def test_numbers_with_units_stand_to_the_right_and_mixed_columns_to_the_left() -> None:
    lines = table(("a", "b"), [("5 mm", "5"), ("-12,25 mm", "c5"), ("40%", "")], terminal=True).split("\n")
    assert lines[2:] == ["     5 mm  5", "-12,25 mm  c5", "      40%"]


@pytest.mark.parametrize(
    ("text", "columns"),
    [("", 0), ("hem", 3), ("Ärmel", 5), ("A\u0308rmel", 5), ("袖", 2), ("ｶﾞ", 2), ("Ａ", 2), ("a\u200bb", 2), ("✂", 1)],
)
def test_width_of_wide_and_combining_characters(text: str, columns: int) -> None:
    # East Asian width of UAX 11: wide and fullwidth 2, halfwidth and neutral 1.
    assert width(text) == columns


def test_wide_names_line_up() -> None:
    lines = table(("piece", "n"), [("袖口", 1), ("hem", 2)], terminal=True).split("\n")
    assert lines[2:] == ["袖口   1", "hem    2"]


def test_codes_that_steer_a_terminal_do_not_get_through() -> None:
    for terminal in (True, False):
        text = table(("piece",), [("a\x1b[31m\tb\r\nc\u2028d",)], terminal=terminal)
        assert text.split("\n")[-1] == "a [31m b  c d"


def test_table_without_rows() -> None:
    assert table(HEADERS, [], terminal=True) == "edge  count  width\n----  -----  -----"
    assert table(HEADERS, [], terminal=False) == "edge\tcount\twidth"


@given(st.lists(st.tuples(st.text(max_size=8), st.integers(-999, 999), st.text(max_size=8)), max_size=5))
@settings(max_examples=150, deadline=None)
def test_every_line_has_its_columns_at_the_same_place(rows: list[tuple[str, int, str]]) -> None:
    lines = table(HEADERS, rows, terminal=True).split("\n")
    assert len(lines) == len(rows) + 2
    rule = lines[1].split("  ")
    assert all(width(line) <= width(lines[1]) for line in lines)
    for line, (_, number, _) in zip(lines[2:], rows, strict=True):
        # The number ends where its column ends.
        head, seen = "", 0
        for character in line:
            if seen >= len(rule[0]) + 2 + len(rule[1]):
                break
            head, seen = head + character, seen + width(character)
        assert head.endswith(f" {number}")
    assert len({line.count("\t") for line in table(HEADERS, rows, terminal=False).split("\n")}) == 1
