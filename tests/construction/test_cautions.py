"""Cautions: what is told of what is planned, to whom it is told, and that nothing is told without its source."""

from __future__ import annotations

import itertools
import re

import pytest

from scallopkit.construction.cautions import ADULT, TO_14, UNDER_3, UNDER_7, WEARERS, cautions, checked_wearer
from scallopkit.errors import RequestError

PLANNED = ("eyelets", "metal", "small_parts", "cord", "window")
EVERY = [
    (dict(zip(PLANNED, given, strict=True)), wearer)
    for given in itertools.product((False, True), repeat=len(PLANNED))
    for wearer in ("", *WEARERS)
]
SOURCE = re.compile(r"REACH Annex XVII, entry 27|16 CFR \d{4}|EN 14682:2014|common practice, no source")
CLOSING = "Local rules and licensed testing decide; nothing here claims that anything conforms."


def told(wearer: str = "", **planned: bool) -> str:
    return "\n".join(cautions(wearer=wearer, **planned))


@pytest.mark.parametrize(("planned", "wearer"), EVERY)
def test_each_caution_names_its_source_and_the_last_tells_who_decides(planned: dict[str, bool], wearer: str) -> None:
    texts = cautions(**planned, wearer=wearer)
    assert bool(texts) == (
        any(planned.values()) and (wearer not in ("", ADULT) or set(_given(planned)) != {"small_parts"})
    )
    assert len(set(texts)) == len(texts)
    for text in texts:
        assert SOURCE.search(text)
        assert "\n" not in text
        # No claim on a garment, whatever stands before it.
        assert not re.search(r"\b(compl(y|ies|iant)|safe|approved|certified)\b|conforms to", text)
    assert [text.endswith(CLOSING) for text in texts] == [False] * (len(texts) - 1) + [True] * bool(texts)


def _given(planned: dict[str, bool]) -> list[str]:
    return [name for name, wanted in planned.items() if wanted]


@pytest.mark.parametrize(
    ("wearer", "under_7", "to_14"),
    [("", True, True), (UNDER_3, True, False), (UNDER_7, True, False), (TO_14, False, True), (ADULT, False, False)],
)
def test_cords_on_childrens_clothes_go_by_age(wearer: str, under_7: bool, to_14: bool) -> None:
    # tukes.fi, "Cords and drawstrings", after EN 14682:2014: under 7 no cord in the hood, head or neck area and no tie
    # behind the neck; from 7 to 14 no free ends there. prEN 14682:2023 is under way (din.de).
    text = told(wearer, cord=True)
    assert ("no cord in the hood, head or neck area and no tie behind the neck" in text) is under_7
    assert ("no free ends" in text) is to_14
    assert ("EN 14682:2014, a revision is under way" in text) is (under_7 or to_14)
    assert text.count("EN 14682") == text.count("a revision is under way")


@pytest.mark.parametrize("wearer", ["", UNDER_3, UNDER_7, TO_14])
def test_drawstrings_on_childrens_upper_outerwear(wearer: str) -> None:
    # 16 CFR 1120.3(b), 76 FR 42502 (2011-07-19): its sizes and lengths; it goes by ASTM F1816-97.
    text = told(wearer, cord=True)
    for words in ("children's upper outerwear", "2T to 12", "2T to 16", "75 mm (3 in)", "16 CFR 1120", "ASTM F1816"):
        assert words in text
    assert "laced opening" in text
    assert "1120" not in told(ADULT, cord=True)


@pytest.mark.parametrize("wearer", ["", *WEARERS])
def test_eyelets_are_no_cord_until_one_is_planned(wearer: str) -> None:
    alone, laced = told(wearer, eyelets=True), told(wearer, eyelets=True, cord=True)
    assert not re.search("cord|drawstring|strangle|EN 14682|1120", alone)
    assert "Cords and drawstrings can catch" in laced
    assert told(wearer, cord=True) in laced


def test_metal_on_the_skin_is_a_matter_of_release() -> None:
    # REACH, Annex XVII, entry 27: limits of release a week, rivets and metal marks in garments among the parts.
    for planned in ({"eyelets": True}, {"metal": True}):
        for wearer in ("", *WEARERS):
            assert "within the release limits of REACH Annex XVII, entry 27" in told(wearer, **planned)
    assert "nickel" not in told(small_parts=True, cord=True, window=True)


@pytest.mark.parametrize("planned", ["eyelets", "small_parts"])
def test_small_parts_are_not_said_to_be_forbidden_on_childrens_clothes(planned: str) -> None:
    # 16 CFR 1501: the cylinder is 1.25 in wide; 1501.3(d) exempts children's clothing, its buttons and lace holders.
    for wearer in (UNDER_3, UNDER_7, TO_14):
        text = told(wearer, **{planned: True})
        assert "31.75 mm (1.25 in)" in text
        assert "exempts children's clothing with its buttons and lace holders (1501.3(d))" in text
        assert "what has come off can choke all the same" in text
    assert 1.25 * 25.4 == 31.75
    for wearer in ("", ADULT):
        assert "1501" not in told(wearer, **{planned: True})
    assert "1501" not in told(cord=True, metal=True, window=True)


def test_cords_at_a_window() -> None:
    # 16 CFR 1260, custom window coverings, from 2023-05-30, by ANSI/WCMA A100.1-2018.
    for wearer in ("", *WEARERS):
        assert "16 CFR 1260 (custom window coverings, from 2023, after ANSI/WCMA A100.1-2018)" in told(
            wearer, window=True
        )
    assert "window" not in told(cord=True, eyelets=True)


@pytest.mark.parametrize("text", ["baby", "child", "Adult", "child, under 3 ", "child,under 3"])
def test_who_wears_it_is_one_of_a_short_list(text: str) -> None:
    listed = '"adult", "child, under 3", "child, under 7" or "child, 7 to 14"'
    with pytest.raises(RequestError, match=re.escape(f'--wearer can be {listed}, not "{text}"')):
        checked_wearer(text, "--wearer")
    with pytest.raises(RequestError, match="the wearer can be"):
        cautions(wearer=text)
    for wearer in ("", *WEARERS):
        assert checked_wearer(wearer, "--wearer") == wearer
