"""What the README shows is run: its Python example, and the command lines it names."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from scallopkit.demo import napkin

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
