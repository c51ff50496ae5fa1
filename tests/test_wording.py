"""Numbers with what they count."""

from __future__ import annotations

import pytest

from scallopkit.wording import counted


@pytest.mark.parametrize(
    ("n", "words", "told"),
    [
        (0, ("scallop",), "0 scallops"),
        (1, ("scallop",), "1 scallop"),
        (1.0, ("notch", "notches"), "1 notch"),
        (2, ("notch", "notches"), "2 notches"),
        (2.5, ("scallop",), "2.5 scallops"),
        (1, ("valley is", "valleys are"), "1 valley is"),
    ],
)
def test_one_is_no_plural(n: float, words: tuple[str, ...], told: str) -> None:
    assert counted(n, *words) == told
