"""What a check found, as figures for programs and as a table for people."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import asdict, dataclass
from typing import Any

from .numbers import decimal
from .tables import table

# Smaller figures are gaps.
_VANISHES = 0.1


@dataclass(frozen=True)
class Finding:
    """One thing that was checked.

    Attributes:
        run: the run's name.
        what: the check: recipe, edges, lines, gap, fold, square, on edge, length, whole, equal, alike, twice or cut; or
            the code of a rule of sewing.
        where: the join, edge or piece.
        value: what was found, None where nothing is to be measured.
        limit: how much it may be; for a number of things how many there should be.
        unit: mm, deg, %, or empty for numbers of things.
        ok: whether it is within its limit.
        message: what it means, and what to do where it is not.
    """

    run: str
    what: str
    where: str
    value: float | None
    limit: float | None
    unit: str
    ok: bool
    message: str


def check_entry(findings: Sequence[Finding]) -> dict[str, Any]:
    """The findings as figures for programs."""
    return {"ok": all(finding.ok for finding in findings), "findings": [asdict(finding) for finding in findings]}


def check_tables(findings: Sequence[Finding], terminal: bool) -> str:
    """The findings as a table, and below it a sentence for each that is broken."""
    rows = [
        (f.run, f.what, f.where, _amount(f.value, f.unit), _amount(f.limit, f.unit), "ok" if f.ok else "broken")
        for f in findings
    ]
    broken = [f"{f.run}: {f.message}" for f in findings if not f.ok]
    head = table(("run", "check", "where", "found", "limit", ""), rows, terminal=terminal)
    blank = "\n\n" if terminal and broken else "\n"
    return blank.join([head, "\n".join(broken)]) if broken else head


def _amount(value: float | None, unit: str) -> str:
    if value is None:
        return ""
    # What is read off a ruler needs fewer digits than what must vanish.
    return f"{decimal(value, 6 if abs(value) < _VANISHES else 3)} {unit}".strip()
