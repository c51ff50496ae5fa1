"""What a piece of work takes: quantities to buy, hours by rates, and cost by prices; all from its report."""

from __future__ import annotations

import re
from collections.abc import Collection, Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from ..construction.stitching import thread_length
from ..errors import RequestError

# Minutes for one of each; guesses, no source: time a few and set your own.
MINUTES: dict[str, float] = {
    "scallop": 2.0,
    "clip": 0.15,
    "wedge": 0.25,
    "eyelet": 1.5,
    "buttonhole": 4.0,
    "snap": 1.0,
    "button": 3.0,
    "seam": 6.0,
    "facing": 10.0,
    "piece": 8.0,
    "trim": 6.0,
    "lacing": 5.0,
}
# What one of each is: of seams and trims a metre.
_EACH = {"seam": "m", "trim": "m"}
# What can have a price, and what it is bought by.
PRICED: dict[str, str] = {
    "cloth": "m²",
    "lining": "m²",
    "interlining": "m²",
    "eyelet": "piece",
    "buttonhole": "piece",
    "snap": "piece",
    "button": "piece",
    "cord": "m",
    "trim": "m",
    "binding": "m",
    "tape": "m",
    "thread": "m",
    "hour": "h",
}
# Which seams are counted, for people.
SEAMS_COUNTED = (
    "Seams are the scalloped lines, matched edges, darts, the seams that a run crosses (up to their next corner) and "
    "those of facings; seams that no run and no match tells of, those of linings and straps, and hems are not in them."
)
_NUMBER = re.compile(r"\d+([.,]\d+)?")
# Of lockstitch: how thick the cloth is where nothing is said, mm, and the stitch, mm; common practice, no source.
_THICK, _STITCH = 1.0, 2.0


@dataclass(frozen=True)
class Line:
    """One line of an estimate: what, how much of it in which unit, for each so much, and all together."""

    what: str
    quantity: float
    unit: str
    each: float
    total: float


@dataclass(frozen=True)
class Estimate:
    """Quantities by name in their units, the work in minutes, and the cost; costs without a price are left out.

    Attributes:
        quantities: what there is of each, with its unit.
        work: minutes.
        cost: in `currency`.
        currency: its name, as it was given.
    """

    quantities: tuple[tuple[str, float, str], ...]
    work: tuple[Line, ...]
    cost: tuple[Line, ...]
    currency: str

    @property
    def hours(self) -> float:
        """The work in hours."""
        return sum(line.total for line in self.work) / 60.0

    @property
    def price(self) -> float:
        """The cost of all that has a price."""
        return sum(line.total for line in self.cost)


def rates_of(texts: Sequence[str], known: Mapping[str, object], option: str) -> dict[str, float]:
    """The figures of NAME=NUMBER each.

    Raises:
        RequestError: a name is none of those known, or a figure is no number of at least 0.
    """
    out = {}
    for text in texts:
        name, equals, figure = (part.strip() for part in text.partition("="))
        if not equals or name not in known:
            raise RequestError(f"{option} {text!r}: write NAME=NUMBER, with one of {', '.join(known)}")
        out[name] = figure_of(figure, f"{option} {name}")
    return out


def figure_of(text: str, what: str) -> float:
    """A number of at least 0, with a point or a comma; `what` begins the sentence if it is none.

    Raises:
        RequestError: it is none.
    """
    if not _NUMBER.fullmatch(text):
        raise RequestError(f"{what} takes a number of at least 0, like 2 or 0.5, not {text!r}")
    return float(text.replace(",", "."))


def checked_without(names: Sequence[str], option: str) -> None:
    """Refuses names of what an estimate can't leave out.

    Raises:
        RequestError: one is neither work nor bought.
    """
    for name in names:
        known = [one for one in dict.fromkeys([*MINUTES, *PRICED]) if one != "hour"]
        if name not in known:
            raise RequestError(f"{option} {name}: it can be {', '.join(known)}")


def estimate(
    report: Mapping[str, Any],
    minutes: Mapping[str, float],
    prices: Mapping[str, float],
    currency: str = "",
    without: Collection[str] = (),
    laid: Mapping[str, float] | None = None,
) -> Estimate:
    """Quantities, hours and cost of all that a report tells.

    Args:
        report: the report on a drawing.
        minutes: for one of each, in place of the guesses.
        prices: of one of each; what has none is counted, but costs nothing.
        currency: what prices are in.
        without: what is left out, to compare the same work with and without it.
        laid: square metres to buy of cloth, lining and interlining, of those that were laid; else it is the area of
            all that is cut from them.
    """
    found = quantities(report, without) | dict(laid or {})
    counted = {name: value for name, value in found.items() if name not in without}
    rates = {**MINUTES, **minutes}
    work = tuple(
        Line(name, counted[name], _EACH.get(name, ""), rates[name], counted[name] * rates[name])
        for name in rates
        if counted.get(name)
    )
    hours = sum(line.total for line in work) / 60.0
    bought = {**counted, "hour": hours}
    # Bindings that are laid on cloth are paid with it.
    paid = {"binding"} if laid else set()
    cost = tuple(
        Line(name, bought[name], PRICED[name], prices[name], bought[name] * prices[name])
        for name in PRICED
        if name in prices and bought.get(name) and name not in paid
    )
    listed = tuple((name, value, _unit(name)) for name, value in counted.items() if value)
    return Estimate(listed, work, cost, currency)


def quantities(report: Mapping[str, Any], without: Collection[str] = ()) -> dict[str, float]:
    """How much there is of everything, as sewn: numbers, metres, and of cloth square metres without waste.

    Where all that a run is laced through is among what is done `without`, it has no cord and no lacing.
    """
    runs, out = report["runs"], dict.fromkeys([*MINUTES, *PRICED], 0.0)
    del out["hour"]
    for run in runs:
        totals = run["totals"]
        out["scallop"] += totals["scallops"]
        out["clip"] += totals["clips"]
        out["wedge"] += totals["wedges"]
        for part, number in totals["parts"].items():
            out[part] += number
        out["trim"] += totals["trim_mm"] / 1000.0
        if run["lacing"] and any(number for part, number in totals["parts"].items() if part not in without):
            out["lacing"] += 1.0
            out["cord"] += totals["cord_mm"] / 1000.0
        for facing in run["facings"]:
            out["facing"] += facing["count"]
            area = facing["count"] * facing["area_mm2"] / 1e6 * _halves(facing)
            out["cloth"] += area
            out["interlining"] += area if facing["interlining"] else 0.0
            length = facing["count"] * facing["length_mm"] / 1000.0 * _halves(facing)
            out["binding" if facing["kind"] == "band" else "tape"] += length
    for piece in report["pieces"]:
        number = _number(piece)
        out["piece"] += number
        times = number * (2.0 if piece["on_fold"] else 1.0)
        out["cloth"] += times * piece["cut_area_mm2"] / 1e6
        out["lining"] += times * piece["lining"]["cut_area_mm2"] / 1e6 if piece["lining"] else 0.0
    sewn = sum(_seam_lengths(report))
    out["seam"] = sewn / 1000.0
    out["thread"] = thread_length(sewn, _THICK, _STITCH) / 1000.0
    for strap in report["straps"]:
        length = strap["number"] * strap["cut_length_mm"] / 1000.0
        out["cord"] += length if strap["fold"] == "cord" else 0.0
        out["binding"] += length if strap["fold"] == "bias" else 0.0
    return out


def _seam_lengths(report: Mapping[str, Any]) -> Iterator[float]:
    """All that is sewn and known, mm: see `SEAMS_COUNTED`."""
    for run in report["runs"]:
        yield run["totals"]["stitching_mm"]
        yield from (join["sewn_mm"] for join in run["joins"])
        cut = run["finish"]["cut_mm"] if run["finish"] else 0.0
        for facing in run["facings"]:
            # Two ends lie in each seam.
            ends = facing["ends"].count("seam") * facing["count"] * _halves(facing)
            yield 0.5 * ends * (facing["depth_mm"] + cut)
    yield from (mm for piece in report["pieces"] for mm in piece["darts_sewn_mm"])
    yield from (match["length_a_mm"] for match in report["matches"])


def _halves(facing: Mapping[str, Any]) -> float:
    return 2.0 if "fold" in facing["ends"] else 1.0


def _number(piece: Mapping[str, Any]) -> int:
    """How many are cut of a piece, one where nothing is said."""
    told = re.search(r"\d+", str(piece["cut"]))
    return int(told[0]) if told else 1


def _unit(name: str) -> str:
    unit = PRICED.get(name, _EACH.get(name, ""))
    return unit if unit in ("m²", "m") else ""
