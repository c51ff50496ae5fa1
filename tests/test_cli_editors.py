"""`scallopkit editors`: what it finds, writes, refuses and takes away, in a home of its own."""

from __future__ import annotations

import json
import shlex
import sys
import zipfile
from collections.abc import Callable
from pathlib import Path

import pytest
import typer

from scallopkit import __version__
from scallopkit.cli import main
from scallopkit.cli_editors import app
from scallopkit.editors.installing import LIST, OWN

COMMANDS = typer.main.get_command(app).commands  # type: ignore[attr-defined]  # a group of commands
Ended = tuple[int, str, str]
Runner = Callable[[str], Ended]


@pytest.fixture
def run(tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]) -> Runner:
    """Runs a command line where the person's own folder is empty and no editor answers."""
    (tmp_path / "work").mkdir()
    monkeypatch.chdir(tmp_path / "work")
    for variable in ("HOME", "USERPROFILE"):
        monkeypatch.setenv(variable, str(tmp_path))
    for variable in ("XDG_CONFIG_HOME", "APPDATA", "INKSCAPE_PROFILE_DIR"):
        monkeypatch.delenv(variable, raising=False)
    monkeypatch.setattr("scallopkit.editors.hosts.answer", lambda command: "")
    monkeypatch.setattr(sys, "platform", "linux")

    def command(line: str) -> Ended:
        monkeypatch.setattr(sys, "argv", ["scallopkit", *shlex.split(line)])
        with pytest.raises(SystemExit) as ended:
            main()
        said = capsys.readouterr()
        code = ended.value.code
        return code if isinstance(code, int) else int(code is not None), said.out, said.err

    return command


@pytest.fixture
def extensions(tmp_path: Path) -> Path:
    """Where an editor looks that was started once, and left its profile."""
    folder = tmp_path / ".config" / "inkscape" / "extensions"
    folder.mkdir(parents=True)
    return folder


def test_without_an_editor_it_says_what_to_do(run: Runner) -> None:
    status, out, err = run("editors list")
    assert (status, err) == (0, "")
    assert "Inkscape\tnot found" in out
    status, out, err = run("editors install inkscape")
    assert (status, out) == (2, "")
    assert err == (
        "scallopkit: Inkscape was not found: start it once and close it, or say with --dir where it looks for "
        "extensions\n"
    )


def test_installed_listed_and_removed(run: Runner, extensions: Path) -> None:
    assert f"Inkscape\tunknown\t{extensions}\tnot installed" in run("editors list")[1]
    status, out, err = run("editors install inkscape")
    count = sum(path.is_file() for path in extensions.rglob("*"))
    assert (status, err) == (0, "")
    assert out == (
        f"wrote {count} files to {extensions / OWN}\nClose Inkscape if it is open, and start it again: the effects "
        "are in the menu Extensions > Scallopkit.\n"
    )
    assert (extensions / OWN / LIST).exists()
    assert (extensions / OWN / "vendor" / "scallopkit" / "__init__.py").exists()
    assert f"Inkscape\tunknown\t{extensions}\tversion {__version__}, current" in run("editors list")[1]
    assert run("editors install inkscape")[0] == 0
    assert run("editors remove inkscape") == (0, f"took the effects out of {extensions}\n", "")
    assert list(extensions.iterdir()) == []
    status, out, err = run("editors remove inkscape")
    assert (status, out) == (2, "")
    assert f"there is nothing of scallopkit in {extensions}" in err


def test_what_the_effects_need_is_all_that_they_bring(run: Runner, extensions: Path) -> None:
    run("editors install inkscape")
    brought = {path.name for path in (extensions / OWN / "vendor" / "scallopkit").iterdir()}
    assert not brought & {"cli.py", "cli_editors.py", "demo.py", "extensions", "__main__.py"}
    assert {"editors", "document", "geometry"} <= brought


def test_a_dry_run_tells_and_writes_nothing(run: Runner, extensions: Path) -> None:
    status, out, _ = run("editors install inkscape --dry-run")
    first, *names = out.splitlines()
    assert status == 0
    assert list(extensions.iterdir()) == []
    assert first == f"would write {len(names)} files to {extensions / OWN}:"
    run("editors install inkscape")
    own = extensions / OWN
    assert set(names) == {path.relative_to(own).as_posix() for path in own.rglob("*") if path.is_file()}
    (own / "scallop.py").write_text("mine")
    assert run("editors install inkscape --dry-run")[0] == 2


def test_a_change_by_hand_is_refused_in_one_sentence_and_kept(run: Runner, extensions: Path) -> None:
    run("editors install inkscape")
    (extensions / OWN / "scallop.py").write_text("mine")
    assert "changed by hand: scallop.py" in run("editors list")[1]
    for command in ("install", "remove"):
        status, out, err = run(f"editors {command} inkscape")
        assert (status, out) == (2, "")
        assert err == (
            f"scallopkit: {extensions / OWN} was changed by hand (scallop.py): move that away, then {command} again\n"
        )
    assert (extensions / OWN / "scallop.py").read_text() == "mine"
    assert (extensions / OWN / "scallop.inx").exists()


def test_somebody_elses_file_stays_and_is_named(run: Runner, extensions: Path) -> None:
    run("editors install inkscape")
    (extensions / OWN / "notes.txt").write_text("mine")
    assert "(notes.txt): move it away, then install" in run("editors install inkscape")[2]
    status, out, _ = run("editors remove inkscape")
    assert status == 0
    assert out.endswith(f"left in {extensions / OWN}, since scallopkit did not write it: notes.txt\n")
    assert [path.name for path in (extensions / OWN).iterdir()] == ["notes.txt"]


def test_of_several_one_must_be_named_and_the_one_with_a_copy_is_removed(
    run: Runner, extensions: Path, tmp_path: Path
) -> None:
    flatpak = tmp_path / ".var/app/org.inkscape.Inkscape/config/inkscape/extensions"
    flatpak.mkdir(parents=True)
    status, _, err = run("editors install inkscape")
    assert status == 2
    assert f"Linux: {extensions}; Flatpak: {flatpak}" in err
    assert run(f"editors install inkscape --dir {flatpak}")[0] == 0
    listed = run("editors list")[1]
    assert f"Inkscape\tunknown\t{extensions}\tnot installed" in listed
    assert f"Inkscape (Flatpak)\tunknown\t{flatpak}\tversion {__version__}, current" in listed
    assert run("editors remove inkscape") == (0, f"took the effects out of {flatpak}\n", "")


@pytest.mark.parametrize(
    ("line", "text"),
    [
        ("install pencil", 'there are no files for an editor "pencil": say inkscape'),
        ("remove pencil", 'there are no files for an editor "pencil": say inkscape'),
        ("install inkscape --dir nowhere", "--dir nowhere is no folder: give the one where the editor looks for"),
        ("remove inkscape --dir nowhere", "--dir nowhere is no folder"),
        ("install inkscape --dir held/scallopkit", "is the folder of scallopkit itself: give the one that it lies in"),
        ("pack -o nowhere/a.zip", "there is no folder nowhere; make it first"),
    ],
)
def test_a_mistake_is_one_sentence(line: str, text: str, run: Runner) -> None:
    Path("held").mkdir()
    assert run("editors install inkscape --dir held")[0] == 0
    before = sorted(Path().rglob("*"))
    status, out, err = run(f"editors {line}")
    assert (status, out) == (2, "")
    assert text in err
    assert err.count("\n") == 1
    assert sorted(Path().rglob("*")) == before


def test_a_folder_can_be_named_on_any_system(run: Runner) -> None:
    Path("held").mkdir()
    assert run("editors install inkscape --dir held")[0] == 0
    assert Path("held", OWN, LIST).exists()
    assert run("editors remove inkscape --dir held") == (0, "took the effects out of held\n", "")
    assert list(Path("held").iterdir()) == []


def test_the_zip_is_written_twice_alike(run: Runner) -> None:
    assert run("editors pack") == (0, "wrote scallopkit-for-inkscape.zip\n", "")
    assert run("editors pack -o b.zip")[0] == 0
    assert Path("b.zip").read_bytes() == Path("scallopkit-for-inkscape.zip").read_bytes()
    with zipfile.ZipFile("b.zip") as archive:
        assert archive.testzip() is None
        assert {name.partition("/")[0] for name in archive.namelist()} == {"READ ME FIRST.html", OWN}


@pytest.mark.parametrize("command", COMMANDS)
def test_help_shows_an_example(command: str, run: Runner) -> None:
    status, out, err = run(f"editors {command} --help")
    assert (status, err) == (0, "")
    assert f"Example: scallopkit editors {command}" in " ".join(out.split())
    words = shlex.split((COMMANDS[command].help or "").split("Example: scallopkit editors ")[1])
    assert COMMANDS[command].make_context(command, words[1:]).args == []


def test_an_extension_for_draw_is_packed_and_a_macro_installed(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.chdir(tmp_path)
    (tmp_path / "macros").mkdir()
    for line in ("editors pack libreoffice", "editors install libreoffice --dir macros"):
        monkeypatch.setattr(sys, "argv", ["scallopkit", *line.split()])
        with pytest.raises(SystemExit) as ended:
            main()
        assert ended.value.code in (0, None)
    assert (tmp_path / "scallopkit.oxt").read_bytes()[:2] == b"PK"
    own = tmp_path / "macros" / "scallopkit"
    assert (own / "tools.py").exists()
    assert json.loads((own / "bridge.json").read_text()) == {"python": sys.executable}
    told = capsys.readouterr().out
    assert f"open {Path('macros/scallopkit')}/scallopkit.oxt with LibreOffice once" in told
    assert "Run Macro" in told
    assert (own / "scallopkit.oxt").read_bytes() == (tmp_path / "scallopkit.oxt").read_bytes()


def test_the_menu_that_the_office_keeps_is_told_of_and_left_alone(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    scripts = tmp_path / "user" / "Scripts" / "python"
    scripts.mkdir(parents=True)
    theirs = tmp_path / "user" / "uno_packages" / "cache" / "uno_packages" / "lu1.tmp_" / "scallopkit.oxt"
    told = []
    for menu in (False, True):
        if menu:
            theirs.mkdir(parents=True)
        for line in ("editors install libreoffice --dir", "editors remove libreoffice --dir"):
            monkeypatch.setattr(sys, "argv", ["scallopkit", *line.split(), str(scripts)])
            with pytest.raises(SystemExit) as ended:
                main()
            assert ended.value.code in (0, None)
            told.append(capsys.readouterr().out)
    assert "Extension Manager" not in told[1]
    assert told[3].endswith("take Scallopkit out under Tools > Extension Manager (or Tools > Extensions).\n")
    assert theirs.is_dir()
    assert list(scripts.iterdir()) == []
