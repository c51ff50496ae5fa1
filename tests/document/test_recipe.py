"""Recipes go into a drawing and come out as they were, and damaged ones are refused in a sentence."""

from __future__ import annotations

import json
from dataclasses import fields, replace
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from scallopkit.construction.cautions import WEARERS
from scallopkit.document.recipe import (
    VERSION,
    EdgeWords,
    EyeletWords,
    NotchWords,
    Recipe,
    ScallopWords,
    from_text,
    to_text,
)
from scallopkit.errors import DrawingError

TEXTS = st.text(st.characters(codec="utf-8"), max_size=8)


def words(kind: type) -> st.SearchStrategy[Any]:
    """Any words of that class, each field given or left out."""
    several = st.lists(TEXTS, max_size=3).map(tuple)
    return st.builds(kind, **{f.name: several if f.name == "hold" else TEXTS for f in fields(kind)})


RECIPES = st.builds(
    Recipe,
    TEXTS,
    words(EdgeWords),
    st.none() | words(ScallopWords),
    st.lists(words(EyeletWords), max_size=2).map(tuple),
    st.lists(words(NotchWords), max_size=2).map(tuple),
    st.dictionaries(TEXTS, st.integers() | st.lists(st.floats(0.0, 1e6), max_size=3), max_size=3),
    wearer=st.sampled_from(["", *WEARERS]),
)


@given(RECIPES)
@settings(max_examples=100, deadline=None)
def test_comes_back_as_it_was(recipe: Recipe) -> None:
    again = from_text(to_text(recipe), "any")
    assert again == recipe
    # What was made is no part of the comparison of recipes, so it is compared by itself.
    assert again.made == recipe.made


@given(RECIPES)
@settings(max_examples=50, deadline=None)
def test_the_same_recipe_gives_the_same_text(recipe: Recipe) -> None:
    assert to_text(from_text(to_text(recipe), "any")) == to_text(recipe)


def test_what_was_left_at_its_default_is_not_written() -> None:
    text = to_text(Recipe("hem", EdgeWords(along="front"), ScallopWords(width="30mm")))
    assert json.loads(text) == {
        "version": VERSION,
        "name": "hem",
        "edge": {"along": "front"},
        "scallop": {"width": "30mm"},
    }


def test_every_word_is_written() -> None:
    recipe = Recipe(
        "n",
        EdgeWords(**{f.name: ("v",) if f.name == "hold" else f.name for f in fields(EdgeWords)}),  # type: ignore[arg-type]
        ScallopWords(**{f.name: f.name for f in fields(ScallopWords)}),
        (EyeletWords(**{f.name: f.name for f in fields(EyeletWords)}),),
        (NotchWords(**{f.name: f.name for f in fields(NotchWords)}),),
    )
    kept = json.loads(to_text(recipe))
    assert set(kept["edge"]) == {f.name for f in fields(EdgeWords)}
    assert set(kept["scallop"]) == {f.name for f in fields(ScallopWords)}
    assert set(kept["eyelets"][0]) == {f.name for f in fields(EyeletWords)}
    assert set(kept["notches"][0]) == {f.name for f in fields(NotchWords)}


def test_scallops_all_by_default_differ_from_no_scallops() -> None:
    plain = Recipe("hem", scallop=ScallopWords())
    assert from_text(to_text(plain), "hem") == plain
    assert from_text(to_text(replace(plain, scallop=None)), "hem").scallop is None


def test_words_of_a_small_later_change_are_passed_over() -> None:
    kept = {"version": VERSION, "name": "hem", "edge": {"along": "a", "mood": "gay"}, "mood": {"x": 1}}
    assert from_text(json.dumps(kept), "hem") == Recipe("hem", EdgeWords(along="a"))


def test_a_later_version_is_named_as_such() -> None:
    kept = {"version": VERSION + 1, "name": "hem", "edge": {}}
    with pytest.raises(DrawingError, match=r'the run "hem" was made by a later scallopkit; update it'):
        from_text(json.dumps(kept), "hem")


GOOD: dict[str, Any] = {"version": VERSION, "name": "hem", "edge": {"along": "a"}, "scallop": {"width": "30"}}

DAMAGE: list[dict[str, Any]] = [
    {"version": "1"},
    {"version": None},
    {"edge": []},
    {"edge": "front"},
    {"edge": {"along": ["a", "b"]}},
    {"edge": {"along": {"a": 1}}},
    {"edge": {"hold": "c1=crest"}},
    {"scallop": [1]},
    {"scallop": {"width": ["30"]}},
    {"scallop": {"width": None}},
    {"eyelets": {"eyelet": "8"}},
    {"eyelets": "8"},
    {"notches": [["at"]]},
    {"notches": [{"at": ["crests"]}]},
    {"made": [1]},
    {"wearer": "baby"},
    {"wearer": 3},
    {"wearer": None},
    {"wearer": ["adult"]},
]


@pytest.mark.parametrize(
    "text",
    [
        "",
        "{",
        "null",
        "5",
        "[]",
        '"hem"',
        "{}",
        "[" * 100_000,
        *(json.dumps({**GOOD, **change}) for change in DAMAGE),
        *(json.dumps({k: v for k, v in GOOD.items() if k != left_out}) for left_out in ("version", "name", "edge")),
    ],
)
def test_a_damaged_recipe_is_refused_and_its_run_named(text: str) -> None:
    with pytest.raises(
        DrawingError, match=r'the recipe of the run "hem" in the drawing is damaged; make that run anew'
    ):
        from_text(text, "hem")


def test_the_good_recipe_of_the_damaged_ones_is_read() -> None:
    assert from_text(json.dumps(GOOD), "hem") == Recipe("hem", EdgeWords(along="a"), ScallopWords(width="30"))
