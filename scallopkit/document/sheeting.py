"""From a drawing to its make sheet: everything in it is made again, checked, counted and told."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from typing import TYPE_CHECKING, Any

from ..errors import RequestError
from ..pattern.piece import Warn
from .cloth_needed import ClothNeeded, ClothWords, areas_to_buy, cloths_needed
from .drawing import Drawing
from .drawn import Drawn
from .estimate import MINUTES, PRICED, Estimate, checked_without, estimate, rates_of
from .examining import examine, job_limits, limits_line
from .finding import Finding, broken_words
from .flat_picture import flat_picture
from .make_sheet import SheetWish, make_sheet, on_pages
from .page_sizes import SHEET_PAGES
from .pdf import letters_missing
from .report import report_of
from .workshop import in_phase, recut, refit, rematched, strapped

# The files that a make sheet can be.
ENDINGS = (".html", ".htm", ".pdf")

if TYPE_CHECKING:
    from .runs import Run


@dataclass(frozen=True)
class SheetWords:
    """What is wanted of a make sheet.

    Attributes:
        title: its heading; else the drawing's name.
        minutes, prices: for one of each, by the names in MINUTES and PRICED.
        currency: what prices are in.
        without: names of what a second estimate leaves out.
    """

    title: str = ""
    minutes: Mapping[str, float] = field(default_factory=dict)
    prices: Mapping[str, float] = field(default_factory=dict)
    currency: str = ""
    without: Sequence[str] = ()


@dataclass(frozen=True)
class MadeSheet:
    """A make sheet: the bytes of its HTML, and the figures that matter in a line."""

    data: bytes
    told: str

    def as_file(self, ending: str, page: str = "") -> tuple[bytes, list[Warn]]:
        """The sheet as a file of that ending, .pdf or .html, on pages of a size; with what there is to mind.

        Raises:
            ScallopkitError: no make sheet ends so, or has pages of that size.
        """
        size = page or SHEET_PAGES[0]
        if size not in SHEET_PAGES:
            raise RequestError(f"--page of a make sheet can be {' or '.join(SHEET_PAGES)}, not {size!r}")
        if ending.lower() in ENDINGS[:2]:
            return on_pages(self.data, size), []
        if ending.lower() != ENDINGS[2]:
            raise RequestError(f"a make sheet ends in {' or '.join(ENDINGS)}, not in {ending or 'nothing'!r}")
        # Loaded only where it is wanted.
        from .sheet_pdf import sheet_pdf

        data, unknown = sheet_pdf(self.data, size)
        return data, letters_missing(unknown)


def sheet_of(
    drawing: Drawing,
    title: str = "",
    minutes: Sequence[str] = (),
    prices: Sequence[str] = (),
    currency: str = "",
    without: Sequence[str] = (),
    cloths: ClothWords | None = None,
) -> MadeSheet:
    """The make sheet of a drawing, checked against the limits of the job that made it.

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
    checked_without(without, "--without")
    runs = [one.run for one in refit(drawing)]
    matches = rematched(drawing, runs)
    runs = in_phase(runs, matches)
    pieces, straps = recut(drawing, runs), strapped(drawing, runs)
    report = report_of(drawing, runs, (), pieces, straps, matches)
    needed = cloths_needed(drawing, runs, pieces, straps, cloths) if cloths is not None else ()
    limits = job_limits(drawing)
    findings = examine(drawing.source, drawing.name, limits)
    words = SheetWords(title, rates, costs, currency, without)
    made = sheet_from(drawing, report, runs, findings, words, cloths=needed)
    line = limits_line(limits, {})
    return replace(made, told=f"{made.told}\n{line}") if line else made


def sheet_from(
    drawing: Drawing,
    report: Mapping[str, Any],
    runs: Sequence[Run],
    findings: Sequence[Finding],
    words: SheetWords,
    pictures: Mapping[str, bytes] | None = None,
    everything: Drawn | None = None,
    cloths: Sequence[ClothNeeded] = (),
) -> MadeSheet:
    """The make sheet of a drawing whose runs, report and findings are there already.

    Args:
        drawing: the drawing.
        report: the report on it.
        runs: the runs on it.
        findings: what was found when it was checked.
        words: what is wanted.
        pictures: those of runs laid flat that were made before, as SVG, by the runs' names.
        everything: all lines and texts of the drawing, where they were read before.
        cloths: how much is needed of each cloth.
    """
    bought = areas_to_buy(cloths)
    first = estimate(report, words.minutes, words.prices, words.currency, (), bought)
    estimates = [("", first)]
    if words.without:
        less = estimate(report, words.minutes, words.prices, words.currency, words.without, bought)
        estimates = [("as drawn", first), (f"without {' and '.join(words.without)}", less)]
    flats = {run.name: (pictures or {}).get(run.name) or flat_picture(run) for run in runs if run.laid.joints}
    found = [f"{one.run}: {'; '.join(broken_words(one))}" for one in findings if not one.ok]
    told = found or ["Everything is as promised, within its limits."]
    wish = SheetWish(words.title, flats, estimates, told, cloths, everything)
    lines = [
        *(_told(called, one) for called, one in estimates),
        *(line for one in cloths for line in one.lines),
    ]
    return MadeSheet(make_sheet(drawing, report, wish), "\n".join(lines))


def _told(called: str, found: Estimate) -> str:
    cost = f", {found.price:.2f} {found.currency}".rstrip() if found.cost else ""
    return f"{called + ': ' if called else ''}{found.hours:.2f} hours{cost}"
