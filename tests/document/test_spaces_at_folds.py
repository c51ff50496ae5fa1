"""A space that a fold halves is drawn up to the fold, so that the opened line is unbroken."""

from __future__ import annotations

import pytest
from svgpathtools import parse_path

from scallopkit.document.checking import check
from scallopkit.document.workshop import scallop, with_runs

from ..drawings import LINE, QUARTER, read


@pytest.mark.parametrize("body", [LINE, QUARTER])
@pytest.mark.parametrize("touch", ["valley", "crest", "middle"])
@pytest.mark.parametrize("profile", ["arc", "point"])
@pytest.mark.parametrize(("start", "end"), [("fold:valley", ""), ("", "fold:valley"), ("fold:valley", "fold:valley")])
def test_the_line_goes_up_to_the_fold(body: str, touch: str, profile: str, start: str, end: str) -> None:
    drawing = read(body)
    along = "hem" if body == LINE else "quarter:c1..c2"
    words = {"touch": touch, "profile": profile, "start": start, "end": end}
    run = scallop(drawing, along, width=30, space=4, depth="25%", name="run", **words)
    data = with_runs(drawing, [run])
    assert [finding.message for finding in check(data, "a.svg") if not finding.ok] == []
    line = parse_path(data.decode().split('d="M')[-1].split('"')[0].join(["M", ""]))
    assert len(line.continuous_subpaths()) == 1
    # Either half of a space lies beside its fold, 2 mm of the straight edge.
    if body == LINE and touch == "valley":
        assert (line.start.real == pytest.approx(10.0, abs=2e-4)) or not start
        assert (line.end.real == pytest.approx(310.0, abs=2e-4)) or not end
        whole = sum(segment.length() for segment in line if abs(segment.length() - 2.0) < 2e-4)
        assert whole == pytest.approx(2.0 * (bool(start) + bool(end)), abs=1e-3)
