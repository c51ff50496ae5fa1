"""Quantities, hours and cost, recomputed by hand."""

from __future__ import annotations

from typing import Any

import pytest

from scallopkit.document.estimate import MINUTES, PRICED, estimate, quantities, rates_of
from scallopkit.errors import RequestError


def report() -> dict[str, Any]:
    """Two runs, a facing on the fold, two pieces, a cord and a matched seam, in round numbers."""
    parts = {"eyelet": 0, "buttonhole": 0, "snap": 0, "button": 0}
    totals = {
        "scallops": 30,
        "clips": 39,
        "wedges": 60,
        "stitching_mm": 2000.0,
        "cord_mm": 0.0,
        "trim_mm": 0.0,
        "parts": parts,
    }
    facing = {
        "count": 1,
        "area_mm2": 20_000.0,
        "interlining": "net",
        "kind": "shaped",
        "length_mm": 400.0,
        "depth_mm": 50.0,
        "ends": ["fold", "seam"],
    }
    hem: dict[str, Any] = {
        "totals": totals,
        "clips": [{}] * 20,
        "wedges": [{}] * 30,
        "lacing": None,
        "joins": [{"sewn_mm": 800.0}, {"sewn_mm": 0.0}],
        "finish": {"cut_mm": 6.0},
        "facings": [facing],
    }
    laced: dict[str, Any] = {
        "totals": {
            **totals,
            "scallops": 0,
            "clips": 0,
            "wedges": 0,
            "stitching_mm": 0.0,
            "cord_mm": 1500.0,
            "parts": {**parts, "eyelet": 16},
        },
        "clips": [],
        "wedges": [],
        "lacing": {"path": "crossed"},
        "joins": [],
        "finish": None,
        "facings": [],
    }
    pieces = [
        {"cut": "cut 1 on the fold", "on_fold": True, "cut_area_mm2": 100_000.0, "darts_sewn_mm": [], "lining": None},
        {"cut": "cut 2, a pair", "on_fold": False, "cut_area_mm2": 150_000.0, "darts_sewn_mm": [180.0], "lining": None},
    ]
    return {
        "runs": [hem, laced],
        "pieces": pieces,
        "matches": [{"length_a_mm": 500.0}],
        "straps": [{"number": 2, "cut_length_mm": 800.0, "fold": "cord"}],
    }


def test_quantities_by_hand() -> None:
    found = quantities(report())
    assert found["scallop"] == 30
    # Of twenty clips that are drawn one lies on the fold; none of thirty wedges does.
    assert (found["clip"], found["wedge"]) == (39, 60)
    assert found["eyelet"] == 16
    assert found["piece"] == 1 + 2
    # Half a back twice, two fronts, half a facing twice.
    assert found["cloth"] == pytest.approx(2 * 0.1 + 2 * 0.15 + 2 * 0.02)
    assert found["interlining"] == pytest.approx(2 * 0.02)
    assert found["lining"] == 0.0
    # The lacing's cord, and two cords of their own.
    assert found["cord"] == pytest.approx(1.5 + 1.6)
    # The scalloped line, the matched edge, side seams, two darts; half a seam of the facing at each half's end.
    assert found["seam"] == pytest.approx(2.0 + 0.5 + 0.8 + 0.18 + 2 * 0.5 * 0.056)
    # An inch of lockstitch takes 2 + 2 T S inches, here 3, and 15 % over.
    assert found["thread"] == pytest.approx(found["seam"] * 3.0 * 1.15)
    # On the fold, so that there are two halves of it.
    assert found["tape"] == pytest.approx(2 * 0.4)
    assert (found["facing"], found["lacing"], found["binding"]) == (1, 1, 0)


def test_hours_and_cost_by_hand() -> None:
    minutes = dict.fromkeys(MINUTES, 0.0) | {"scallop": 2.0, "eyelet": 1.5, "seam": 6.0}
    found = estimate(report(), minutes, {"eyelet": 0.25, "cloth": 20.0, "hour": 30.0}, "EUR")
    assert found.hours == pytest.approx((30 * 2.0 + 16 * 1.5 + 3.536 * 6.0) / 60.0)
    assert found.price == pytest.approx(16 * 0.25 + 0.54 * 20.0 + found.hours * 30.0)
    assert {line.what for line in found.cost} == {"eyelet", "cloth", "hour"}
    assert sum(line.total for line in found.work) == pytest.approx(84.0 + 3.536 * 6.0)


def test_the_same_work_without_eyelets() -> None:
    minutes = dict.fromkeys(MINUTES, 0.0) | {"eyelet": 3.0}
    prices = {"eyelet": 0.5, "hour": 20.0}
    both = [estimate(report(), minutes, prices, without=left) for left in ((), ("eyelet",))]
    assert [one.hours for one in both] == pytest.approx([16 * 3.0 / 60.0, 0.0])
    assert both[0].price - both[1].price == pytest.approx(16 * 0.5 + 16 * 3.0 / 60.0 * 20.0)


@pytest.mark.parametrize(("without", "laced"), [(("eyelet",), 0.0), (("snap",), 1.0), ((), 1.0)])
def test_without_eyelets_nothing_is_laced(without: tuple[str, ...], laced: float) -> None:
    found = {name: value for name, value, _ in estimate(report(), {}, {}, without=without).quantities}
    # The two cords that are straps stay.
    assert found["cord"] == pytest.approx(1.5 * laced + 1.6)
    assert found.get("lacing", 0.0) == laced


def test_figures_are_read_by_their_names() -> None:
    assert rates_of(["scallop=2.5", "seam = 4,5"], MINUTES, "--minutes") == {"scallop": 2.5, "seam": 4.5}
    assert rates_of(["cloth=0"], PRICED, "--price") == {"cloth": 0.0}


@pytest.mark.parametrize("text", ["scallop", "sleeve=2", "scallop=-1", "scallop=two", "scallop="])
def test_figures_that_are_none(text: str) -> None:
    with pytest.raises(RequestError, match="--minutes"):
        rates_of([text], MINUTES, "--minutes")


@pytest.mark.parametrize(("fold", "name"), [("cord", "cord"), ("bias", "binding")])
def test_straps_that_are_bought_by_the_metre(fold: str, name: str) -> None:
    strap = {"number": 2, "cut_length_mm": 750.0, "fold": fold}
    found = quantities({"runs": [], "pieces": [], "matches": [], "straps": [strap]})
    assert {key: value for key, value in found.items() if value} == {name: 1.5}
