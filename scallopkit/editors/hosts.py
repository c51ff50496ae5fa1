"""The editors that we have files for, and the folders where each looks for them.

An editor is asked first, then the usual folders of Linux, macOS, Windows, Flatpak and Snap are looked at. What Inkscape
1.2 and LibreOffice 7.4 answer on Linux was tried. The other folders are as told in public, the other programs from
memory; neither was tried.
"""

from __future__ import annotations

import json
import os
import re
import subprocess
import sys
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path

from ..errors import RequestError
from . import shipped

# In a package that brings a menu, the folder of the macro.
_MACRO = "scallopkit_lo/"
# What that package is called; its menu goes by the name.
PACKAGE = "scallopkit.oxt"
# An editor that gives no answer for so many seconds is not waited for.
_PATIENCE = 20.0

Ask = Callable[[Sequence[str]], str]


@dataclass(frozen=True)
class Around:
    """What a search for editors goes by.

    Attributes:
        system: the system, as `sys.platform` names it.
        environment: its variables.
        home: the person's own folder.
        ask: runs a command and gives what it prints; an empty text where there is none.
    """

    system: str
    environment: Mapping[str, str]
    home: Path
    ask: Ask


@dataclass(frozen=True)
class Build:
    """One way in which an editor comes: its name, where it runs, its profile folder, and what may start it.

    `~`, `~/.config` and names between percent signs stand for what they are on each machine.
    """

    name: str
    system: str
    profile: str
    programs: tuple[tuple[str, ...], ...]


@dataclass(frozen=True)
class Host:
    """An editor.

    Attributes:
        name: in commands and in our own folders.
        title: as it calls itself.
        inside: the folder within its profile where it looks for extensions.
        builds: the ways in which it comes; of those of one system the first is the plain one.
        profile_option: with it the program tells its profile folder; an empty text if it has none.
        profile_variable: the environment variable that moves the profile; an empty text if it has none.
        bridged: its own Python can't run the library, so that it must be told which one can.
        after: what to do once the files are there; `{own}` stands for the folder that holds them.
        menu: the editor's own copy of the package with our menu, seen from the folder of its extensions; an empty text
            where the files alone make the menu.
        menu_gone: what to do, once the files are gone, where there is such a copy.
    """

    name: str
    title: str
    inside: str
    builds: tuple[Build, ...]
    profile_option: str
    profile_variable: str
    bridged: bool
    after: str
    menu: str = ""
    menu_gone: str = ""

    def has_menu(self, folder: Path) -> bool:
        """Whether the editor has a copy of its own of the package with our menu."""
        return bool(self.menu) and any(folder.glob(self.menu))

    def files(self) -> dict[str, bytes]:
        """All files that go into the editor, by their places in the one folder that holds them."""
        files: dict[str, bytes] = getattr(shipped, f"{self.name}_files")()
        if not self.bridged:
            return files
        # The macro, and beside it the package, which makes the menu once the editor has taken it in.
        own = {name.removeprefix(_MACRO): data for name, data in files.items() if name.startswith(_MACRO)}
        package: bytes = getattr(shipped, f"{self.name}_package")(sys.executable)
        return own | {"bridge.json": bridge(sys.executable), PACKAGE: package}


@dataclass(frozen=True)
class Found:
    """An editor that is there: how it came, the folder of its extensions, its version, whether it named the folder."""

    host: Host
    build: str
    folder: Path
    version: str
    named: bool


_INKSCAPE = Host(
    "inkscape",
    "Inkscape",
    "extensions",
    (
        Build("Linux", "linux", "~/.config/inkscape", (("inkscape",),)),
        Build(
            "Flatpak",
            "linux",
            "~/.var/app/org.inkscape.Inkscape/config/inkscape",
            (("flatpak", "run", "org.inkscape.Inkscape"),),
        ),
        Build("Snap", "linux", "~/snap/inkscape/current/.config/inkscape", (("snap", "run", "inkscape"),)),
        Build(
            "Windows", "win32", r"%APPDATA%\inkscape", (("inkscape",), (r"%PROGRAMFILES%\Inkscape\bin\inkscape.com",))
        ),
        Build(
            "macOS",
            "darwin",
            "~/Library/Application Support/org.inkscape.Inkscape/config/inkscape",
            (("inkscape",), ("/Applications/Inkscape.app/Contents/MacOS/inkscape",)),
        ),
    ),
    "--user-data-directory",
    "INKSCAPE_PROFILE_DIR",
    False,
    "Close Inkscape if it is open, and start it again: the effects are in the menu Extensions > Scallopkit.",
)
_LIBREOFFICE = Host(
    "libreoffice",
    "LibreOffice",
    "Scripts/python",
    (
        Build("Linux", "linux", "~/.config/libreoffice/4/user", (("soffice",), ("libreoffice",))),
        Build(
            "Flatpak",
            "linux",
            "~/.var/app/org.libreoffice.LibreOffice/config/libreoffice/4/user",
            (("flatpak", "run", "org.libreoffice.LibreOffice"),),
        ),
        Build(
            "Windows",
            "win32",
            r"%APPDATA%\LibreOffice\4\user",
            (("soffice",), (r"%PROGRAMFILES%\LibreOffice\program\soffice.com",)),
        ),
        Build(
            "macOS",
            "darwin",
            "~/Library/Application Support/LibreOffice/4/user",
            (("soffice",), ("/Applications/LibreOffice.app/Contents/MacOS/soffice",)),
        ),
    ),
    "",
    "",
    True,
    (
        "For the menu Scallopkit in Draw, open {own}/scallopkit.oxt with LibreOffice once, as by a double click, and "
        "start it again. Without the menu the commands are under Tools > Macros > Run Macro, in My Macros > scallopkit "
        "> tools."
    ),
    "../../uno_packages/cache/uno_packages/*/scallopkit.oxt",
    "LibreOffice still has the menu: take Scallopkit out under Tools > Extension Manager (or Tools > Extensions).",
)


def hosts() -> list[Host]:
    """The editors that this copy of the library has files for: those with a function of their own in `shipped`."""
    return [host for host in (_INKSCAPE, _LIBREOFFICE) if hasattr(shipped, f"{host.name}_files")]


def host_called(name: str) -> Host:
    """The editor of that name.

    Raises:
        RequestError: there is none.
    """
    known = {host.name: host for host in hosts()}
    if name.lower() not in known:
        raise RequestError(f'there are no files for an editor "{name}": say {" or ".join(known)}')
    return known[name.lower()]


def bridge(python: str) -> bytes:
    """The file that tells an editor which Python has the library."""
    return (json.dumps({"python": python}, indent=1) + "\n").encode()


# ---------------------------------------------------------------- the search


def here() -> Around:
    """The machine that this runs on."""
    return Around(sys.platform, os.environ, Path.home(), answer)


def answer(command: Sequence[str]) -> str:
    """What a command prints; an empty text if there is no such program, it fails, or gives no answer in time."""
    try:
        done = subprocess.run(  # noqa: S603  # one of the programs listed above, without a shell
            command, stdin=subprocess.DEVNULL, capture_output=True, check=False, timeout=_PATIENCE
        )
    except (OSError, subprocess.TimeoutExpired):
        return ""
    return done.stdout.decode(errors="replace") if done.returncode == 0 else ""


def find(host: Host, around: Around) -> list[Found]:
    """All that is there of an editor, the plain one first; a folder that is reached in two ways counts once."""
    builds = [build for build in host.builds if build.system == _family(around.system)]
    looked = [_found(host, build, build is builds[0], around) for build in builds]
    found = [one for one in looked if one is not None]
    by_place = {os.path.realpath(one.folder): one for one in reversed(found)}
    return [one for one in found if by_place[os.path.realpath(one.folder)] is one]


def choose(host: Host, found: Sequence[Found]) -> Found:
    """The one that names its folder itself, else the only one.

    Raises:
        RequestError: there is none, or it is not clear which; the text says what to do.
    """
    likely = [one for one in found if one.named] or list(found)
    if len(likely) == 1:
        return likely[0]
    if likely:
        listed = "; ".join(f"{one.build}: {one.folder}" for one in likely)
        raise RequestError(f"{host.title} is there more than once ({listed}): say with --dir which folder is meant")
    raise RequestError(
        f"{host.title} was not found: start it once and close it, or say with --dir where it looks for extensions"
    )


def usual_folder(host: Host, build: Build) -> str:
    """Where an editor looks for extensions, as people write it."""
    mark = "\\" if build.system == "win32" else "/"
    return mark.join([build.profile, *host.inside.split("/")])


def _family(system: str) -> str:
    """Which of the systems we know this one is like; any other one than those two is taken for a Linux."""
    return system if system in ("win32", "darwin") else "linux"


def _found(host: Host, build: Build, plain: bool, around: Around) -> Found | None:
    """What there is of one build: the plain one is asked for its folder, the others have their usual one."""
    usual = _expanded(build.profile, around)
    if not plain and not usual.is_dir():
        # To start one of these costs seconds; they are asked only where there is a trace of them.
        return None
    program, version = _program(host, build, around)
    named = _named_profile(host, program, around) if plain else None
    moved = around.environment.get(host.profile_variable) if plain and host.profile_variable else None
    profile = named or (Path(moved) if moved else usual)
    if not version and not profile.is_dir():
        return None
    return Found(host, build.name, profile / host.inside, version, named is not None)


def _program(host: Host, build: Build, around: Around) -> tuple[Sequence[str], str]:
    """What starts a build, and the version that it tells; nothing where no program answers."""
    for words in build.programs:
        program = (str(_expanded(words[0], around)) if words[0].startswith("%") else words[0], *words[1:])
        # Warnings may stand before it.
        told = re.search(rf"^{host.title} (\d[\w.]*)", around.ask([*program, "--version"]), re.MULTILINE)
        if told:
            return program, told[1]
    return (), ""


def _named_profile(host: Host, program: Sequence[str], around: Around) -> Path | None:
    """The profile folder that the editor itself tells: the last line that is one.

    Editors make it when they are asked; what is no folder is a warning, or a name whose letters got lost on the way.
    """
    if not program or not host.profile_option:
        return None
    lines = around.ask([*program, host.profile_option]).splitlines()
    told = [Path(line.strip()) for line in lines if line.strip()]
    return next((path for path in reversed(told) if path.is_absolute() and path.is_dir()), None)


def _expanded(written: str, around: Around) -> Path:
    """A folder as people write it, on this machine."""
    environment, home = around.environment, around.home
    stand_for = {
        "~/.config": environment.get("XDG_CONFIG_HOME") or home / ".config",
        "%APPDATA%": environment.get("APPDATA") or home / "AppData" / "Roaming",
        "%PROGRAMFILES%": environment.get("PROGRAMFILES") or r"C:\Program Files",
        "~": home,
    }
    for start, place in stand_for.items():
        if written.startswith(start):
            return Path(place, *re.split(r"[\\/]", written.removeprefix(start))[1:])
    return Path(written)
