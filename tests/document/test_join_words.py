"""Joins as they are written, and every slip told with what there is."""

from __future__ import annotations

import pytest

from scallopkit.document.join_words import HOLDS, checked_join, join_of, with_laps
from scallopkit.document.recipe import JoinWords
from scallopkit.errors import RequestError
from scallopkit.pattern.joins import KINDS


@pytest.mark.parametrize("kind", KINDS)
@pytest.mark.parametrize("hold", ["", "valley", "crest", "pass", "gap:8mm", "gap:1 1/4in", "gap:1,5cm", "gap: 8"])
def test_every_kind_with_every_hold(kind: str, hold: str) -> None:
    assert join_of(f"{kind}:{hold}" if hold else kind) == JoinWords(kind, hold)


def test_the_kinds_are_those_of_the_trade_words() -> None:
    assert KINDS == ("seam", "dart", "fold", "lap", "butt")
    assert HOLDS == ("valley", "crest", "pass", "gap")


def test_blanks_around_do_not_count() -> None:
    assert join_of(" dart : pass ") == JoinWords("dart", "pass")


@pytest.mark.parametrize(
    ("text", "said"),
    [
        (
            "seem",
            "--join can be seam, dart, fold, lap or butt, alone or with a hold as in dart:valley, not 'seem'",
        ),
        ("", "--join can be seam, dart, fold, lap or butt, alone or with a hold as in dart:valley, not ''"),
        ("Seam", "--join can be seam, dart, fold, lap or butt, alone or with a hold as in dart:valley, not 'Seam'"),
        (":valley", "--join can be seam, dart, fold, lap or butt, alone or with a hold as in dart:valley, not ''"),
        ("seam:", "--join 'seam:' ends in a colon: write valley, crest, pass or gap:8mm after it, or leave it out"),
        ("seam:hill", "the hold of --join can be valley, crest, pass or gap:8mm, not 'hill'"),
        ("seam:valley:8mm", "the hold of --join can be valley, crest, pass or gap:8mm, not 'valley:8mm'"),
        ("seam:valley:", "the hold of --join can be valley, crest, pass or gap:8mm, not 'valley:'"),
        ("seam:gap", "the hold of --join needs the gap's length, as in gap:8mm"),
        ("seam:gap:", "the hold of --join needs the gap's length, as in gap:8mm"),
        ("seam:gap:0mm", "--join gap '0mm' must be more than zero"),
        ("seam:gap:wide", "--join gap 'wide' cannot be read; write it like 30mm, 3 cm, 1.25in or 1 1/4in"),
    ],
)
def test_a_slip_is_told_with_what_there_is(text: str, said: str) -> None:
    with pytest.raises(RequestError) as caught:
        join_of(text)
    assert str(caught.value).startswith(said)


@pytest.mark.parametrize(
    ("words", "kind"),
    [
        (JoinWords(width="18mm"), "lap"),
        (JoinWords(apex="tip"), "dart"),
        (JoinWords(legs=("leg-1", "leg-2")), "dart"),
        (JoinWords(press="centre"), "dart"),
    ],
)
def test_words_go_with_their_kind_only(words: JoinWords, kind: str) -> None:
    word = next(name for name in ("width", "apex", "legs", "press") if getattr(words, name))
    for other in KINDS:
        joined = JoinWords(other, "", words.width, words.apex, words.legs, words.press)
        if other == kind:
            assert checked_join(joined) is joined
        else:
            with pytest.raises(RequestError, match=f"^a join {other}: {word} goes with a {kind} only; leave it out$"):
                checked_join(joined, "a join")


def test_every_lap_without_a_width_gets_it_and_no_other_join() -> None:
    joins = [JoinWords("seam"), JoinWords("lap", "valley"), JoinWords("lap", width="20mm"), JoinWords("lap")]
    assert with_laps(joins, "1.5cm") == (
        JoinWords("seam"),
        JoinWords("lap", "valley", width="1.5cm"),
        JoinWords("lap", width="20mm"),
        JoinWords("lap", width="1.5cm"),
    )
    assert with_laps(joins, "") == tuple(joins)


@pytest.mark.parametrize(
    ("kinds", "width", "said"),
    [
        (("seam", "dart"), "15mm", "--lap 15mm goes with a join of the kind lap: write --join lap, or leave --lap out"),
        ((), "15mm", "--lap 15mm goes with a join of the kind lap"),
        (("lap",), "wide", "--lap 'wide' cannot be read; write it like 30mm"),
        (("lap",), "0mm", "--lap '0mm' must be more than zero"),
        (("lap",), "-5", "--lap '-5' must be more than zero"),
    ],
)
def test_a_width_that_no_lap_can_have_is_refused(kinds: tuple[str, ...], width: str, said: str) -> None:
    with pytest.raises(RequestError) as caught:
        with_laps([JoinWords(kind) for kind in kinds], width)
    assert str(caught.value).startswith(said)
