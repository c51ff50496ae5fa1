"""Where editors look for extensions, on every system, by what is said of the machine; no editor is needed."""

from __future__ import annotations

import io
import json
import sys
import zipfile
from collections.abc import Mapping, Sequence
from pathlib import Path

import pytest

from scallopkit.editors import shipped
from scallopkit.editors.hosts import Around, Found, answer, bridge, choose, find, host_called, hosts, usual_folder
from scallopkit.errors import RequestError

INKSCAPE = host_called("inkscape")
VERSION = "Inkscape 1.2.2 (b0a8486541, 2022-12-01)\n"
MAC = "/Applications/Inkscape.app/Contents/MacOS/inkscape"


def around(
    home: Path,
    system: str = "linux",
    environment: Mapping[str, str] | None = None,
    told: Mapping[str, str] | None = None,
) -> Around:
    """A machine whose programs answer the given command lines, and no others."""

    def ask(command: Sequence[str]) -> str:
        return (told or {}).get(" ".join(command), "")

    return Around(system, environment or {}, home, ask)


def folders(found: Sequence[Found]) -> list[tuple[str, Path, str]]:
    return [(one.build, one.folder, one.version) for one in found]


USUAL = [
    ("linux", ".config/inkscape", "Linux"),
    ("linux", ".var/app/org.inkscape.Inkscape/config/inkscape", "Flatpak"),
    ("linux", "snap/inkscape/current/.config/inkscape", "Snap"),
    ("freebsd14", ".config/inkscape", "Linux"),
    ("win32", "AppData/Roaming/inkscape", "Windows"),
    ("darwin", "Library/Application Support/org.inkscape.Inkscape/config/inkscape", "macOS"),
]


@pytest.mark.parametrize(("system", "profile", "build"), USUAL)
def test_the_usual_folders_are_found_without_the_program(system: str, profile: str, build: str, tmp_path: Path) -> None:
    (tmp_path / profile).mkdir(parents=True)
    machine = around(tmp_path, system)
    assert folders(find(INKSCAPE, machine)) == [(build, tmp_path / profile / "extensions", "")]
    # On other systems the same folder says nothing.
    other = {"linux": "win32", "freebsd14": "win32"}.get(system, "linux")
    assert find(INKSCAPE, around(tmp_path, other)) == []


@pytest.mark.parametrize(
    ("system", "variable", "within"),
    [
        ("linux", "XDG_CONFIG_HOME", "inkscape"),
        ("win32", "APPDATA", "inkscape"),
        *((system, "INKSCAPE_PROFILE_DIR", "") for system in ("linux", "win32", "darwin")),
    ],
)
def test_variables_move_the_folder(system: str, variable: str, within: str, tmp_path: Path) -> None:
    place = tmp_path / "else where" / within
    place.mkdir(parents=True)
    machine = around(tmp_path, system, {variable: str(tmp_path / "else where")})
    assert [one.folder for one in find(INKSCAPE, machine)] == [place / "extensions"]


@pytest.mark.parametrize(
    ("system", "program"),
    [("linux", "inkscape"), ("win32", "inkscape"), ("darwin", "inkscape"), ("darwin", MAC)],
)
def test_what_the_editor_itself_says_comes_first(system: str, program: str, tmp_path: Path) -> None:
    told = {
        f"{program} --version": f"a warning of 9.9.9\n{VERSION}",
        f"{program} --user-data-directory": f"a warning\n{tmp_path / 'own'}\n\n",
    }
    (tmp_path / "own").mkdir()
    (tmp_path / ".config/inkscape").mkdir(parents=True)
    (found,) = find(INKSCAPE, around(tmp_path, system, told=told))
    assert (found.folder, found.version, found.named) == (tmp_path / "own" / "extensions", "1.2.2", True)


def test_a_folder_whose_name_got_garbled_is_not_believed(tmp_path: Path) -> None:
    """Else the effects would go where no editor looks."""
    (tmp_path / ".config/inkscape").mkdir(parents=True)
    told = {"inkscape --version": VERSION, "inkscape --user-data-directory": str(tmp_path / "M\ufffdller")}
    (found,) = find(INKSCAPE, around(tmp_path, told=told))
    assert (found.folder, found.named) == (tmp_path / ".config/inkscape/extensions", False)


def test_the_windows_program_is_asked_where_it_is_installed(tmp_path: Path) -> None:
    program = tmp_path / "Programs" / "Inkscape" / "bin" / "inkscape.com"
    machine = around(tmp_path, "win32", {"PROGRAMFILES": str(tmp_path / "Programs")}, {f"{program} --version": VERSION})
    # It has never been started: there is no profile yet, and it does not tell one.
    (found,) = find(INKSCAPE, machine)
    assert (found.folder, found.version) == (tmp_path / "AppData" / "Roaming" / "inkscape" / "extensions", "1.2.2")


def test_several_are_listed_each_with_its_version(tmp_path: Path) -> None:
    flatpak = tmp_path / ".var/app/org.inkscape.Inkscape/config/inkscape"
    native = tmp_path / ".config/inkscape"
    flatpak.mkdir(parents=True)
    native.mkdir(parents=True)
    told = {"inkscape --version": VERSION, "flatpak run org.inkscape.Inkscape --version": "Inkscape 1.4 (x)\n"}
    found = find(INKSCAPE, around(tmp_path, told=told))
    assert folders(found) == [("Linux", native / "extensions", "1.2.2"), ("Flatpak", flatpak / "extensions", "1.4")]
    with pytest.raises(RequestError, match=r"more than once \(Linux: .*; Flatpak: .*\): say with --dir"):
        choose(INKSCAPE, found)
    asked = find(INKSCAPE, around(tmp_path, told={**told, "inkscape --user-data-directory": f"{native}\n"}))
    assert choose(INKSCAPE, asked).folder == native / "extensions"
    assert choose(INKSCAPE, found[1:]).build == "Flatpak"


def test_a_folder_reached_in_two_ways_counts_once(tmp_path: Path) -> None:
    (tmp_path / "snap/inkscape/42/.config/inkscape").mkdir(parents=True)
    (tmp_path / "snap/inkscape/current").symlink_to("42")
    named = tmp_path / "snap/inkscape/42/.config/inkscape"
    told = {"inkscape --version": VERSION, "inkscape --user-data-directory": str(named)}
    assert [one.named for one in find(INKSCAPE, around(tmp_path, told=told))] == [True]


def test_none_is_found_and_said_so(tmp_path: Path) -> None:
    assert find(INKSCAPE, around(tmp_path)) == []
    with pytest.raises(RequestError, match="Inkscape was not found: start it once and close it, or say with --dir"):
        choose(INKSCAPE, [])


def test_folders_are_written_as_people_of_the_system_write_them() -> None:
    written = {build.name: usual_folder(INKSCAPE, build) for build in INKSCAPE.builds}
    assert written["Windows"] == r"%APPDATA%\inkscape\extensions"
    assert written["Linux"] == "~/.config/inkscape/extensions"


# ---------------------------------------------------------------- what is asked


@pytest.mark.parametrize(
    ("code", "said"),
    [("print('yes')", "yes"), ("print('no'); raise SystemExit(3)", ""), ("import time; time.sleep(9)", "")],
)
def test_a_program_that_fails_or_hangs_is_no_answer(code: str, said: str, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("scallopkit.editors.hosts._PATIENCE", 0.5)
    assert answer([sys.executable, "-c", code]).strip() == said


def test_a_program_that_is_not_there_is_no_answer(tmp_path: Path) -> None:
    assert answer([str(tmp_path / "none"), "--version"]) == ""


# ---------------------------------------------------------------- another editor


def test_an_editor_is_known_once_there_are_files_for_it(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    monkeypatch.delattr(shipped, "libreoffice_files", raising=False)
    assert [host.name for host in hosts()] == ["inkscape"]
    with pytest.raises(RequestError, match=r'no files for an editor "libreoffice": say inkscape$'):
        host_called("libreoffice")
    monkeypatch.setattr(
        shipped, "libreoffice_files", lambda: {"scallopkit_lo/macro.py": b"pass\n", "menu.xcu": b""}, raising=False
    )
    office = host_called("LibreOffice")
    # Its own Python can't run the library, so it is told which one can: the one that runs this.
    files = office.files()
    package = zipfile.ZipFile(io.BytesIO(files.pop("scallopkit.oxt")))
    assert files == {"macro.py": b"pass\n", "bridge.json": bridge(sys.executable)}
    # The menu comes with a package that lies beside the macro, and that knows the same Python.
    assert sorted(package.namelist()) == ["menu.xcu", "scallopkit_lo/bridge.json", "scallopkit_lo/macro.py"]
    assert json.loads(package.read("scallopkit_lo/bridge.json")) == {"python": sys.executable}
    assert json.loads(bridge(r"C:\Program Files\ü\python.exe")) == {"python": r"C:\Program Files\ü\python.exe"}
    machine = around(tmp_path, told={"soffice --version": "LibreOffice 7.4.7.2 40(Build:2)\n\n"})
    (found,) = find(office, machine)
    assert (found.folder, found.version) == (tmp_path / ".config/libreoffice/4/user/Scripts/python", "7.4.7.2")
