"""Lines of different roles can be told apart without colour, and each stands out from white paper."""

from __future__ import annotations

import itertools
import re

import pytest

from scallopkit.document.styles import LINES, ROLES, TEXTS, style_of
from scallopkit.errors import NameUnknownError

CONTRACT = """
    stitching cutting clip wedge eyelet notch facing lining interlining fold grain true-line pleat cord patch
    template placement label
"""


def luminance(colour: str) -> float:
    """Relative luminance, WCAG 2.2: https://www.w3.org/TR/WCAG22/#dfn-relative-luminance."""
    parts = [int(colour[i : i + 2], 16) / 255.0 for i in (1, 3, 5)]
    linear = [c / 12.92 if c <= 0.04045 else ((c + 0.055) / 1.055) ** 2.4 for c in parts]
    return 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2]


def contrast_to_white(colour: str) -> float:
    """https://www.w3.org/TR/WCAG22/#dfn-contrast-ratio."""
    return 1.05 / (luminance(colour) + 0.05)


def test_every_role_of_the_contract_has_a_style() -> None:
    assert sorted(ROLES) == sorted(CONTRACT.split())


def test_contrast_of_known_colours() -> None:
    # WCAG's ends of the scale, and #767676, widely named as the lightest grey with 4.5 to 1 (value from memory).
    assert contrast_to_white("#000000") == pytest.approx(21.0)
    assert contrast_to_white("#ffffff") == pytest.approx(1.0)
    assert contrast_to_white("#767676") == pytest.approx(4.54, abs=0.01)


@pytest.mark.parametrize("role", list(LINES))
def test_lines_stand_out_from_white(role: str) -> None:
    # WCAG 2.2, success criterion 1.4.11 (non-text contrast): 3 to 1.
    assert contrast_to_white(LINES[role].colour) >= 3.0


@pytest.mark.parametrize("role", list(TEXTS))
def test_texts_stand_out_from_white(role: str) -> None:
    # WCAG 2.2, success criterion 1.4.3 (text): 4.5 to 1.
    assert contrast_to_white(TEXTS[role].colour) >= 4.5


@pytest.mark.parametrize(("one", "other"), list(itertools.combinations(LINES, 2)))
def test_lines_differ_without_colour(one: str, other: str) -> None:
    """Told apart by the number of dashes in a period, by a period half as long again, or by a step of width.

    1.4 is the step of line widths in technical drawing (ISO 128; from memory).
    """
    a, b = LINES[one], LINES[other]
    periods = sorted((sum(a.dashes_mm), sum(b.dashes_mm)))
    widths = sorted((a.width_mm, b.width_mm))
    rhythm = len(a.dashes_mm) != len(b.dashes_mm)
    assert rhythm or periods[1] >= 1.5 * periods[0] > 0.0 or widths[1] >= 1.399 * widths[0]


@pytest.mark.parametrize("role", list(LINES))
def test_dashes_come_in_pairs_and_can_be_seen(role: str) -> None:
    line = LINES[role]
    assert len(line.dashes_mm) % 2 == 0
    assert all(part >= 0.5 for part in line.dashes_mm)
    # A gap narrower than the line closes up in print.
    assert all(gap >= 0.9 * line.width_mm for gap in line.dashes_mm[1::2])


@pytest.mark.parametrize("unit_mm", [1.0, 25.4 / 96.0, 10.0, 0.01])
@pytest.mark.parametrize("role", ROLES)
def test_style_has_the_same_size_in_every_unit(role: str, unit_mm: float) -> None:
    text = style_of(role, unit_mm)
    rules = dict(rule.split(":") for rule in text.split(";"))
    if role in TEXTS:
        sizes, wanted = [rules["font-size"].removesuffix("px")], [TEXTS[role].size_mm]
    else:
        sizes, wanted = [rules["stroke-width"]], [LINES[role].width_mm]
        assert rules["fill"] == "none"
        if LINES[role].dashes_mm:
            sizes += rules["stroke-dasharray"].split(",")
            wanted += LINES[role].dashes_mm
        else:
            assert rules["stroke-dasharray"] == "none"
    # Four decimals of the user unit.
    assert [float(size) * unit_mm for size in sizes] == pytest.approx(wanted, abs=0.5e-4 * unit_mm)
    assert not re.search(r"e[-+]\d|nan|inf", text)


def test_unknown_role_is_named_with_those_that_exist() -> None:
    with pytest.raises(NameUnknownError, match=r"'hem'.*stitching"):
        style_of("hem", 1.0)
