"""The gallery's page shows every picture that is there, and beside it what made it."""

from __future__ import annotations

from importlib.util import module_from_spec, spec_from_file_location
from pathlib import Path
from types import ModuleType
from typing import Any

import pytest
from lxml import html

from scallopkit.demo import PAGE, SCENES, page_parts
from scallopkit.demo_page import Part, demo_page

HERE = Path(__file__).parent.parent / "gallery"


def making() -> ModuleType:
    """The program that makes the gallery, which is no part of any package."""
    spec = spec_from_file_location("making_of_the_gallery", HERE / "make.py")
    assert spec is not None
    assert spec.loader is not None
    made = module_from_spec(spec)
    spec.loader.exec_module(made)
    return made


EDITORS: Part = making().EDITORS
ROOT: Any = html.fromstring((HERE / PAGE).read_bytes())


def words(text: str) -> str:
    return " ".join(text.split())


def test_it_names_every_picture_that_is_there_and_no_other() -> None:
    shown = [image.get("src") for image in ROOT.iter("img")]
    assert sorted(shown) == sorted(path.name for path in HERE.glob("*.png"))
    assert len(ROOT.findall(".//figure")) == len(shown)
    # A text in place of a picture says more than its name.
    assert all(len(str(image.get("alt"))) > 30 for image in ROOT.iter("img"))
    for link in ROOT.iter("a"):
        target = str(link.get("href"))
        assert target.startswith("#") or (HERE / target).is_file(), target


def test_every_command_that_was_run_and_every_job_file_is_on_it() -> None:
    shown = [words(code.text_content()) for code in ROOT.iter("code")]
    commands = (HERE / "commands.txt").read_text(encoding="utf-8").splitlines()
    assert len(commands) == sum(len(scene.commands) for scene in SCENES)
    for command in commands:
        assert any(command in text for text in shown), command
    jobs = sorted(HERE.glob("*.toml"))
    assert len(jobs) == 3
    for job in jobs:
        assert any(words(job.read_text(encoding="utf-8")) in text for text in shown), job.name


@pytest.mark.parametrize("part", [*page_parts(), EDITORS], ids=lambda part: part.name)
def test_beside_each_picture_stands_a_command(part: Part) -> None:
    section = ROOT.find(f".//section[@aria-labelledby='{part.name}']")
    for figure in section.iter("figure"):
        # More than the command alone where a job file says what is done.
        made_by = figure.find(".//code").text_content()
        assert made_by.startswith("scallopkit ")
        assert "make " not in made_by.splitlines()[0] or "[" in made_by


def test_it_needs_no_script_and_nothing_from_elsewhere() -> None:
    text = (HERE / PAGE).read_text(encoding="utf-8")
    assert not list(ROOT.iter("script", "link", "iframe"))
    assert "url(" not in text
    assert "//" not in text.replace("<!DOCTYPE html>", "")
    assert ROOT.get("lang") == "en"
    assert [heading.tag for heading in ROOT.iter("h1", "h2", "h3")] == ["h1"] + ["h2"] * (len(SCENES) + 1)


def test_the_page_is_the_one_that_is_made_now() -> None:
    assert (HERE / PAGE).read_bytes() == demo_page([*page_parts(), EDITORS])
    assert Path(HERE / "felt-close.png").is_file()
