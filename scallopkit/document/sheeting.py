"""From a drawing to its make sheet: everything in it is made again, checked, counted and told."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from ..errors import RequestError
from .cloth_needed import ClothWords, cloths_needed
from .drawing import Drawing
from .estimate import MINUTES, PRICED, Estimate, estimate, rates_of
from .examining import examine
from .flat_picture import flat_picture
from .make_sheet import SheetWish, make_sheet
from .report import report_of
from .workshop import in_phase, recut, refit, rematched, strapped


@dataclass(frozen=True)
class MadeSheet:
    """A make sheet: the bytes of its HTML, and the figures that matter in a line."""

    data: bytes
    told: str


def sheet_of(
    drawing: Drawing,
    title: str = "",
    minutes: Sequence[str] = (),
    prices: Sequence[str] = (),
    currency: str = "",
    without: Sequence[str] = (),
    cloths: ClothWords | None = None,
) -> MadeSheet:
    """The make sheet of a drawing.

    Args:
        drawing: the drawing, with runs in it.
        title: its heading; else the drawing's name.
        minutes: NAME=NUMBER each, how long one takes.
        prices: NAME=NUMBER each, what one costs.
        currency: what prices are in.
        without: names of what a second estimate leaves out.
        cloths: how wide cloths are and how they lie, where all that is cut is to be laid on them.

    Raises:
        ScallopkitError: the drawing holds nothing of ours, something can't be made any more, or a word is refused.
    """
    rates, costs = rates_of(minutes, MINUTES, "--minutes"), rates_of(prices, PRICED, "--price")
    for name in without:
        if name not in MINUTES and name not in PRICED:
            raise RequestError(f"--without {name}: it can be {', '.join(dict.fromkeys([*MINUTES, *PRICED]))}")
    runs = [one.run for one in refit(drawing)]
    matches = rematched(drawing, runs)
    runs = in_phase(runs, matches)
    pieces, straps = recut(drawing, runs), strapped(drawing, runs)
    needed = cloths_needed(drawing, runs, pieces, straps, cloths) if cloths is not None else ()
    report = report_of(drawing, runs, (), pieces, straps, matches)
    first = estimate(report, rates, costs, currency)
    estimates = [("", first)]
    if without:
        less = estimate(report, rates, costs, currency, without)
        estimates = [("as drawn", first), (f"without {' and '.join(without)}", less)]
    flats = {run.name: flat_picture(run) for run in runs if run.laid.joints}
    found = [finding for finding in examine(drawing.source, drawing.name, {}) if not finding.ok]
    findings = [f"{one.run}: {one.message}" for one in found] or ["Everything is as promised, within its limits."]
    wish = SheetWish(title, flats, estimates, findings, needed)
    told = [
        *(_told(called, one) for called, one in estimates),
        *(line for one in needed for line in (one.told, *(f"{one.called}: {note}" for note in one.layout.unfit))),
    ]
    return MadeSheet(make_sheet(drawing, report, wish), "\n".join(told))


def _told(called: str, found: Estimate) -> str:
    cost = f", {found.price:.2f} {found.currency}".rstrip() if found.cost else ""
    return f"{called + ': ' if called else ''}{found.hours:.2f} hours{cost}"
