"""What a check found, as figures for programs and as tables for people."""

from __future__ import annotations

import textwrap
from collections.abc import Mapping, Sequence
from dataclasses import asdict, dataclass
from typing import Any

from ..construction.rules import RULES, Judged, bound, near
from ..errors import counted
from .numbers import decimal
from .tables import table

# Columns that a sentence takes on a terminal.
_WIDE = 79
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
        reason: of a rule of sewing why there is a limit, as what follows "because"; else empty.
        source: of a rule of sewing where its limit comes from; else empty.
    """

    run: str
    what: str
    where: str
    value: float | None
    limit: float | None
    unit: str
    ok: bool
    message: str
    reason: str = ""
    source: str = ""

    @classmethod
    def of_rule(cls, run: str, where: str, found: Judged) -> Finding:
        """What a rule of sewing says of a run."""
        rule, value, limit = found.rule, found.value, found.limit
        return cls(run, rule.code, where, value, limit, rule.unit, found.ok, found.text, rule.reason, found.source)


def check_entry(findings: Sequence[Finding]) -> dict[str, Any]:
    """The findings as figures for programs."""
    return {"ok": all(finding.ok for finding in findings), "findings": [asdict(finding) for finding in findings]}


def check_tables(findings: Sequence[Finding], terminal: bool) -> str:
    """The findings as a table, below it a sentence for each that is broken, and the reasons of the limits kept."""
    rows = _rows(findings, {True: "ok", False: "broken"}, terminal)
    return _parted([rows, _broken(findings, terminal), _kept(findings, terminal)], terminal)


def broken_words(finding: Finding) -> list[str]:
    """What is said of a finding that is broken: what it means and, of a rule of sewing, where its limit comes from."""
    source = [f"source of the limit of {finding.what}: {finding.source}"] if finding.source else []
    return [finding.message, *source]


def check_summary(findings: Sequence[Finding], terminal: bool) -> str:
    """A line for each run, below them what is broken or, of the rules of sewing, near its limit."""
    runs = dict.fromkeys(finding.run for finding in findings)
    lines = [_counted(run, [finding for finding in findings if finding.run == run]) for run in runs]
    told = [finding for finding in findings if not finding.ok or _is_near(finding)]
    rows = _rows(told, {True: "near its limit", False: "broken"}, terminal) if told else ""
    return _parted(["\n".join(lines), rows, _broken(findings, terminal)], terminal)


def _counted(run: str, findings: Sequence[Finding]) -> str:
    broken = sum(not finding.ok for finding in findings)
    return f"{run}: {counted(len(findings), 'finding')}, {f'{broken} broken' if broken else 'all as promised'}"


def _is_near(finding: Finding) -> bool:
    if finding.what not in RULES or finding.value is None or finding.limit is None:
        return False
    return near(RULES[finding.what], finding.value, finding.limit)


def _rows(findings: Sequence[Finding], states: Mapping[bool, str], terminal: bool) -> str:
    rows = [
        (f.run, f.what, f.where, _amount(f.value, f.unit), _amount(f.limit, f.unit), states[f.ok]) for f in findings
    ]
    return table(("run", "check", "where", "found", "limit", ""), rows, terminal=terminal)


def _broken(findings: Sequence[Finding], terminal: bool) -> str:
    broken = [finding for finding in findings if not finding.ok]
    return told_lines([f"{one.run}: {words}" for one in broken for words in broken_words(one)], terminal)


def _kept(findings: Sequence[Finding], terminal: bool) -> str:
    """The limit of each rule of sewing that is kept everywhere, its reason and where it comes from, once a rule."""
    broken = {finding.what for finding in findings if not finding.ok}
    rules = {finding.what: finding for finding in findings if finding.source and finding.what not in broken}
    return told_lines([_limit_line(finding) for finding in rules.values()], terminal)


def _limit_line(finding: Finding) -> str:
    limit = "" if finding.limit is None else bound(RULES[finding.what], finding.limit)
    return f"{finding.what}: {limit}, because {finding.reason}; source of the limit: {finding.source}"


def told_lines(texts: Sequence[str], terminal: bool) -> str:
    """Texts as lines; on a terminal wrapped, so that no word is parted."""
    if not terminal:
        return "\n".join(texts)
    return "\n".join(
        textwrap.fill(text, _WIDE, subsequent_indent="  ", break_long_words=False, break_on_hyphens=False)
        for text in texts
    )


def _parted(parts: Sequence[str], terminal: bool) -> str:
    return ("\n\n" if terminal else "\n").join(part for part in parts if part)


def _amount(value: float | None, unit: str) -> str:
    if value is None:
        return ""
    # What is read off a ruler needs fewer digits than what must vanish.
    return f"{decimal(value, 6 if abs(value) < _VANISHES else 3)} {unit}".strip()
