"""The same job under the system's own Python, with its numpy and lxml, as a vector editor would run it."""

from __future__ import annotations

import os
import re
import subprocess
import sys
from pathlib import Path

import numpy as np
import pytest

import scallopkit

SYSTEM = Path("/usr/bin/python3")
REPOSITORY = Path(scallopkit.__file__).parents[1]
# Different numpy builds add and multiply in different orders, which shows in the last digits only.
SAME = 1e-5

DRAWING = """<?xml version="1.0" encoding="UTF-8"?>
<svg xmlns="http://www.w3.org/2000/svg" width="400mm" height="400mm" viewBox="0 0 400 400">
  <path id="front" d="M 30,350 C 20,250 60,120 100,40 L 218,72 C 196,150 186,246 266,292
    L 250,328 C 180,346 104,364 30,350 Z"/>
  <circle id="cuff" cx="320" cy="120" r="50"/>
  <g id="marks"><circle id="hem-front" cx="30" cy="350" r="1"/><circle id="hem-side" cx="250" cy="328" r="1"/></g>
</svg>
"""

JOB = """
import sys
from scallopkit.document.workshop import eyelets, notches, read, redrawn, report_text, scallop, with_runs
d = read(sys.argv[1])
hem = dict(width=36, depth="45%", allowance="10mm", name="hem")
cuff = dict(width=20, profile="wave", touch="crest")
d = redrawn(d, [scallop(d, "front:hem-front..hem-side", **hem), scallop(d, "cuff", **cuff)])
d = redrawn(d, [eyelets(d, run="hem", eyelet=4, margin=2)])
run = notches(d, run="hem", at="crests", kind="v")
sys.stdout.buffer.write(with_runs(d, [run]) + report_text(d, [run]).encode())
"""


def missing(python: Path) -> str:
    """Why this Python cannot do the job, or an empty text."""
    if not python.exists():
        return f"there is no {python}"
    ask = "import sys, numpy, lxml.etree; assert sys.version_info >= (3, 10); print(numpy.__version__)"
    done = subprocess.run([python, "-c", ask], capture_output=True, text=True, check=False, env=_clean(), timeout=60)
    return done.stderr.strip().splitlines()[-1] if done.returncode else ""


def _clean() -> dict[str, str]:
    """The environment without what this Python would lend to the other."""
    env = {key: value for key, value in os.environ.items() if not key.startswith(("PYTHON", "VIRTUAL_ENV"))}
    return {**env, "PYTHONDONTWRITEBYTECODE": "1", "PYTHONPATH": str(REPOSITORY)}


def done_by(python: Path | str, drawing: Path) -> str:
    done = subprocess.run([python, "-c", JOB, drawing], capture_output=True, check=False, env=_clean(), timeout=120)
    assert done.returncode == 0, done.stderr.decode()
    return done.stdout.decode()


def figures(text: str) -> tuple[str, list[float]]:
    """A text with its numbers taken out, and the numbers."""
    number = re.compile(r"-?\d+(?:\.\d+)?(?:e-?\d+)?")
    return number.sub("#", text), [float(value) for value in number.findall(text)]


@pytest.mark.host
def test_the_system_s_python_does_the_same(tmp_path: Path) -> None:
    why = missing(SYSTEM)
    if why:
        pytest.skip(f"the system's Python can't do the job: {why}")
    (tmp_path / "a.svg").write_text(DRAWING)
    here, there = (done_by(python, tmp_path / "a.svg") for python in (sys.executable, SYSTEM))
    assert here.count('data-role="stitching"') == 2
    (words_here, numbers_here), (words_there, numbers_there) = figures(here), figures(there)
    assert words_here == words_there
    assert np.array(numbers_here) == pytest.approx(np.array(numbers_there), abs=SAME, rel=1e-12)


def test_what_differs_is_seen() -> None:
    assert figures("M 1.5,2e-3 L 3") == ("M #,# L #", [1.5, 0.002, 3.0])
    assert figures("M 1.5,2 L 3")[1] != pytest.approx(figures("M 1.5,2.00002 L 3")[1], abs=SAME, rel=1e-12)
