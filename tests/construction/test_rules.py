"""Rules of sewing: figures on, just within and just beyond their limits, and what is said of them."""

from __future__ import annotations

import dataclasses
import math
import re

import pytest

from scallopkit.construction.rules import (
    DEGREES,
    MM,
    NUMBER,
    PERCENT,
    RULES,
    Rule,
    fits_cylinder,
    judged,
    layers_at_join,
    near,
    shown,
)
from scallopkit.trim.profiles import arc_radius

EVERY = pytest.mark.parametrize("rule", RULES.values(), ids=str)


@EVERY
def test_every_rule_says_what_it_is_why_and_where_it_comes_from(rule: Rule) -> None:
    assert RULES[rule.code] is rule
    assert re.fullmatch(r"[a-z]+(-[a-z]+)+", rule.code)
    assert rule.unit in (MM, DEGREES, PERCENT, NUMBER)
    assert math.isfinite(rule.limit)
    assert rule.limit >= 0.0
    for words in (rule.what, rule.reason, rule.cure, rule.source):
        # Parts of one sentence.
        assert words.strip() == words != ""
        assert not words.endswith(".")


def test_a_limit_without_a_published_source_says_so() -> None:
    published = {code for code, rule in RULES.items() if "no source" not in rule.source}
    # What a zip needs is for its maker to say.
    assert published == {"trimmed-allowance", "end-distance", "small-parts"}
    # "Apparel", g-wonlinetextbooks (2012), pp. 451-452: trimmed to 1/8 to 1/4 in.
    assert RULES["trimmed-allowance"].limit <= 25.4 / 8.0


@EVERY
def test_a_figure_on_its_limit_keeps_it_and_one_beyond_breaks_it(rule: Rule) -> None:
    inward = 1e-6 if rule.at_least else -1e-6
    assert judged(rule.code, rule.limit, {}).ok
    assert judged(rule.code, rule.limit + inward, {}).ok
    assert not judged(rule.code, rule.limit - inward, {}).ok
    # Rounding in the last digits breaks nothing.
    assert judged(rule.code, rule.limit * (1.0 - math.copysign(1e-14, inward)), {}).ok


@EVERY
def test_a_limit_that_is_set_takes_the_place_of_the_rules_own(rule: Rule) -> None:
    set_at = rule.limit + 5.0
    inward = 0.5 if rule.at_least else -0.5
    within, beyond = (judged(rule.code, set_at + way, {rule.code: set_at}) for way in (inward, -inward))
    assert (within.limit, within.ok, beyond.ok) == (set_at, True, False)
    # A limit of another rule changes nothing.
    other = next(code for code in RULES if code != rule.code)
    assert judged(rule.code, rule.limit, {other: 1e9}).limit == rule.limit


@EVERY
def test_a_limit_tells_where_it_comes_from_and_one_that_was_set_what_is_usual(rule: Rule) -> None:
    assert judged(rule.code, rule.limit, {}).source == rule.source
    assert judged(rule.code, rule.limit, {rule.code: rule.limit}).source == rule.source
    own = judged(rule.code, rule.limit, {rule.code: rule.limit + 5.0}).source
    usual = f"at {'least' if rule.at_least else 'most'} {shown(rule.limit, rule.unit)}"
    assert own == f"your own; the usual limit is {usual}: {rule.source}"


@EVERY
def test_what_is_said_holds_figure_limit_and_where_it_is_broken_reason_and_cure(rule: Rule) -> None:
    inward = 2.25 if rule.at_least else -2.25
    good, bad = (judged(rule.code, rule.limit + 5.0 + way, {rule.code: rule.limit + 5.0}) for way in (inward, -inward))
    bound = "at least" if rule.at_least else "at most"
    for found in (good, bad):
        assert found.text.startswith(f"{rule.what} is {shown(found.value, rule.unit)}; ")
        assert f"{bound} {shown(found.limit, rule.unit)}" in found.text
        assert "\n" not in found.text
        assert ". " not in found.text
    assert rule.cure not in good.text
    assert bad.text.endswith(f", because {rule.reason}: {rule.cure}")


def test_another_cure_and_how_a_figure_was_counted_can_be_told() -> None:
    found = judged("seam-layers", 10.0, {}, cure="leave the facing out there", counted="3 and 2, all double")
    assert found.text.startswith(f"{RULES['seam-layers'].what} is 10 (3 and 2, all double); the limit is at most 8, ")
    assert found.text.endswith(": leave the facing out there")


def test_a_figure_that_breaks_its_limit_does_not_read_like_it() -> None:
    found = judged("trimmed-allowance", 2.9996, {})
    assert "is 2.9996 mm; the limit is at least 3 mm" in found.text
    # A figure that keeps its limit is read at two places.
    assert "is 3 mm" in judged("trimmed-allowance", 3.0004, {}).text


def test_the_radius_of_a_scallop_16_mm_wide_and_6_mm_deep_is_8_and_a_third() -> None:
    # Segments of circles: c = 16, h = 6 give r = (c² + 4 h²) / 8 h = 25/3, Machinery's Handbook, 31st ed., p. 79.
    radius = arc_radius(16.0, 6.0)
    assert radius == pytest.approx(25.0 / 3.0, abs=1e-12)
    assert judged("turn-radius", radius, {"turn-radius": 25.0 / 3.0}).ok
    assert "is 8.33 mm" in judged("turn-radius", radius, {"turn-radius": 8.0}).text
    assert not judged("turn-radius", radius, {"turn-radius": 8.5}).ok


@pytest.mark.parametrize(
    ("pressed_open", "faced_over", "layers"), [(True, True, 6), (True, False, 8), (False, True, 8), (False, False, 10)]
)
def test_layers_of_a_turned_edge_at_a_join(pressed_open: bool, faced_over: bool, layers: int) -> None:
    # Away from joins four layers lie there: cloth, facing, and the allowances of both. A seam pressed open adds an
    # allowance to each of two of them, one pressed to a side two; a seam in the facing, pressed open, adds two more.
    assert layers_at_join(pressed_open, faced_over) == layers
    assert layers == 4 + 2 * (1 if pressed_open else 2) + 2 * (0 if faced_over else 1)


@pytest.mark.parametrize(
    ("code", "value", "limit", "is_near"),
    [
        ("turn-radius", 6.59, 6.0, True),
        ("turn-radius", 6.61, 6.0, False),
        ("turn-radius", 6.0, 6.0, True),
        ("turn-radius", 5.9, 6.0, False),  # broken, not near
        ("long-stitch", 2.71, 3.0, True),
        ("long-stitch", 2.69, 3.0, False),
        ("seam-layers", 8.0, 8.0, True),
        ("end-distance", 0.0, 0.0, False),  # nothing is a tenth of nothing
        ("small-parts", 0.0, 0.0, False),
    ],
)
def test_a_figure_within_a_tenth_of_its_limit_is_near_it(code: str, value: float, limit: float, is_near: bool) -> None:
    assert near(RULES[code], value, limit) is is_near


def test_small_parts_fit_through_a_cylinder_an_inch_and_a_quarter_wide() -> None:
    # 16 CFR 1501: the test cylinder is 1.25 in wide; 1501.3(d) exempts children's clothing.
    inch = 25.4
    assert fits_cylinder(1.25 * inch)
    assert not fits_cylinder(1.26 * inch)
    rule = RULES["small-parts"]
    assert (rule.limit, rule.at_least, rule.unit) == (0.0, False, NUMBER)
    assert "31.75 mm (1.25 in)" in rule.what
    for words in (rule.reason, rule.source):
        assert "1501.3(d)" in words
        assert "exempts children's clothing" in words
        assert "caution" in words
    assert "claims no conformity" in rule.reason
    assert "local rules and licensed testing decide" in rule.reason


def test_figures_are_shown_as_they_are_read() -> None:
    assert shown(8.0, MM) == "8 mm"
    assert shown(25.360767, DEGREES) == "25.36 degrees"
    assert shown(40.0, PERCENT) == "40%"
    assert shown(10.0, NUMBER) == "10"
    assert shown(-0.001, MM) == "0 mm"


def test_a_place_is_kept_and_rules_do_not_change() -> None:
    found = judged("turn-radius", 5.0, {}, piece="front", x=1.5, y=-2.0)
    assert (found.piece, found.x, found.y) == ("front", 1.5, -2.0)
    with pytest.raises(dataclasses.FrozenInstanceError):
        found.rule.limit = 1.0  # type: ignore[misc]
    with pytest.raises(TypeError):
        RULES["turn-radius"] = found.rule  # type: ignore[index]
