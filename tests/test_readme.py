"""What the README shows is run: its Python example, and the command lines it names."""

from __future__ import annotations

import re
import shlex
from pathlib import Path

import pytest
from typer.testing import CliRunner

from scallopkit.cli import app
from scallopkit.demo import WAISTCOAT_JOB, front, napkin
from scallopkit.demo_waistcoat import waistcoat
from scallopkit.document.making import make_job

README = Path(__file__).parent.parent / "README.md"


def test_the_first_python_example_runs(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    (tmp_path / "napkin.svg").write_text(napkin(), encoding="utf-8")
    monkeypatch.chdir(tmp_path)
    example = re.findall(r"```python\n(.*?)```", README.read_text(encoding="utf-8"), re.DOTALL)[0]
    exec(compile(example, "README.md", "exec"), {})  # noqa: S102  # our own example
    assert capsys.readouterr().out.startswith("56 scallops of 29.")
    assert (tmp_path / "napkin-scalloped.svg").exists()
    assert (tmp_path / "napkin.json").exists()


def test_the_commands_shown_do_what_is_shown(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    (tmp_path / "front.svg").write_text(front(), encoding="utf-8")
    (tmp_path / "waistcoat.svg").write_text(waistcoat(), encoding="utf-8")
    (tmp_path / "waistcoat.toml").write_text(WAISTCOAT_JOB, encoding="utf-8")
    monkeypatch.chdir(tmp_path)
    text = README.read_text(encoding="utf-8")
    every = [line for line in text.splitlines() if line.startswith("scallopkit ")]
    commands = [line for line in every if re.search("front|waistcoat", line)]
    assert len(commands) == 19
    printed = ""
    for command in commands:
        ended = CliRunner().invoke(app, shlex.split(command)[1:])
        assert ended.exit_code == 0, ended.output
        printed += ended.output
    shown = re.findall(r"```text\n(.*?)```", text, re.DOTALL)[0]
    for line in shown.splitlines():
        # In a terminal columns are set apart by blanks and ruled; here, in a pipe, by tabs.
        assert set(line) <= {"-", " "} or "\t".join(re.split(r"\s{2,}", line.strip())) in printed, line


def test_the_job_file_shown_can_be_made(tmp_path: Path) -> None:
    (tmp_path / "waistcoat.svg").write_text(waistcoat(), encoding="utf-8")
    (job,) = re.findall(r"```toml\n(.*?)```", README.read_text(encoding="utf-8"), re.DOTALL)
    (tmp_path / "job.toml").write_text(job, encoding="utf-8")
    made = make_job(tmp_path / "job.toml")
    assert made.ok
    names = {path.name for path in tmp_path.iterdir()}
    assert {"waistcoat-scalloped.svg", "waistcoat.json", "waistcoat-hem-flat.svg"} <= names


def test_every_warning_code_is_in_the_readmes_table() -> None:
    source = Path(__file__).parent.parent / "scallopkit"
    codes = set()
    for path in source.rglob("*.py"):
        text = path.read_text(encoding="utf-8")
        codes |= set(re.findall(r'\b_?[Ww]arn(?:ing)?\(\s*"([a-z]+(?:-[a-z]+)+)"', text))
        codes |= set(re.findall(r'code="([a-z]+(?:-[a-z]+)+)"', text))
    assert len(codes) > 10
    told = set(re.findall(r"`([a-z]+(?:-[a-z]+)+)`", README.read_text(encoding="utf-8")))
    assert codes - told == set()
