"""The bar on a terminal: only there, only after a second, and gone from what is written elsewhere."""

from __future__ import annotations

import contextlib
import io
import os
import pty
import subprocess
import sys
import time
from pathlib import Path

import pytest

from scallopkit import progress as module
from scallopkit.demo import SCENES
from scallopkit.progress import progress, working


class Terminal(io.StringIO):
    def isatty(self) -> bool:
        return True


def steps(monkeypatch: pytest.MonkeyPatch, stream: io.StringIO, seconds: float) -> str:
    """What is shown of three steps, of which the second comes after so many seconds."""
    clock = iter([0.0, 0.0, seconds, seconds, seconds])
    monkeypatch.setattr(time, "perf_counter", lambda: next(clock, seconds))
    monkeypatch.setattr(sys, "stderr", stream)
    with progress("work") as step:
        for k, what in enumerate(("first", "second", "third", "")):
            step(k, 3, what)
    return stream.getvalue()


def test_work_of_more_than_a_second_shows_a_bar(monkeypatch: pytest.MonkeyPatch) -> None:
    shown = steps(monkeypatch, Terminal(), 1.5)
    assert "work" in shown
    assert "second" in shown
    assert "100%" in shown
    assert "first" not in shown
    assert shown.endswith(("\n", "\x1b[?25h"))


def test_quick_work_shows_none(monkeypatch: pytest.MonkeyPatch) -> None:
    assert steps(monkeypatch, Terminal(), 0.5) == ""


def test_nothing_is_shown_but_on_a_terminal(monkeypatch: pytest.MonkeyPatch) -> None:
    assert steps(monkeypatch, io.StringIO(), 10.0) == ""


def test_a_refusal_ends_the_bar(monkeypatch: pytest.MonkeyPatch) -> None:
    stream = Terminal()
    monkeypatch.setattr(module, "_PATIENCE", 0.0)
    monkeypatch.setattr(sys, "stderr", stream)
    with contextlib.suppress(ValueError), progress("work") as step:
        step(0, 3, "first")
        raise ValueError
    assert "first" in stream.getvalue()
    # The cursor is there again, on a line of its own.
    assert stream.getvalue().endswith(("\n", "\n\x1b[?25h"))


def test_a_job_on_a_terminal(tmp_path: Path) -> None:
    scene = next(one for one in SCENES if one.name == "waistcoat")
    (tmp_path / "waistcoat.svg").write_text(scene.draw, encoding="utf-8")
    (tmp_path / "waistcoat.toml").write_text(scene.job, encoding="utf-8")
    command = [sys.executable, "-m", "scallopkit", "make", str(tmp_path / "waistcoat.toml")]
    ours, theirs = pty.openpty()
    with subprocess.Popen(command, stdout=subprocess.PIPE, stderr=theirs) as process:
        os.close(theirs)
        assert process.stdout is not None
        told = process.stdout.read().decode()
        shown = b""
        # How a terminal of Linux tells that the other end is closed.
        with contextlib.suppress(OSError):
            while part := os.read(ours, 4096):
                shown += part
    os.close(ours)
    assert process.returncode == 0
    assert b"waistcoat.toml  [" in shown
    assert told.startswith("wrote ")
    assert "\x1b" not in told
    assert "\r" not in told


def test_work_whose_end_nobody_can_tell_shows_that_it_goes_on(monkeypatch: pytest.MonkeyPatch) -> None:
    """And for how long; once it is done nothing of that is left on the line."""
    stream = Terminal()
    monkeypatch.setattr(module, "_PATIENCE", 0.01)
    monkeypatch.setattr(module, "_BEAT", 0.005)
    monkeypatch.setattr(sys, "stderr", stream)
    with working("hem.svg"):
        end = time.monotonic() + 5.0
        while stream.getvalue().count("hem.svg") < 3 and time.monotonic() < end:
            time.sleep(0.005)
    shown = stream.getvalue()
    assert len({part for part in shown.split("\r") if "hem.svg" in part}) >= 3
    assert " s" in shown
    assert shown.endswith("\r\x1b[2K")


@pytest.mark.parametrize("stream", [Terminal(), io.StringIO()])
def test_a_second_of_it_shows_nothing(monkeypatch: pytest.MonkeyPatch, stream: io.StringIO) -> None:
    monkeypatch.setattr(module, "_PATIENCE", 5.0 if stream.isatty() else 0.0)
    monkeypatch.setattr(sys, "stderr", stream)
    with working("hem.svg"):
        time.sleep(0.02)
    assert stream.getvalue() == ""
