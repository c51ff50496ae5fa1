"""Our files in an editor's folder: written whole, taken away exactly, and nothing of anybody else's touched."""

from __future__ import annotations

import errno
import json
import os
import py_compile
import tempfile
from collections.abc import Callable, Mapping
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from scallopkit.editors.installing import LIST, OWN, install, look, refuse_loss, remove, state, with_list
from scallopkit.errors import OutputError, RequestError, ScallopkitError

FILES = {"scallop.inx": b"<x/>", "scallop.py": b"pass\n", "vendor/scallopkit/trim/fit.py": b"a = 1\n"}
NEWER = {"scallop.inx": b"<x/>", "eyelets.py": b"pass\n", "vendor/scallopkit/trim/fit.py": b"a = 2\n"}


def tree(folder: Path) -> dict[str, bytes | str]:
    """Everything in a folder: files with their bytes, links with where they lead, folders."""
    held: dict[str, bytes | str] = {}
    for path in sorted(folder.rglob("*")):
        name = path.relative_to(folder).as_posix()
        held[name] = str(path.readlink()) if path.is_symlink() else "folder" if path.is_dir() else path.read_bytes()
    return held


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    """An editor's folder, with somebody else's extension in it."""
    out = tmp_path / "extensions"
    (out / "theirs").mkdir(parents=True)
    (out / "theirs" / "a.py").write_text("theirs")
    (out / "b.inx").write_text("theirs too")
    return out


def test_what_is_written_is_the_files_and_their_list(folder: Path) -> None:
    before = tree(folder)
    install(folder, FILES, "0.1.0")
    now = tree(folder)
    files = {
        name.removeprefix(f"{OWN}/"): data for name, data in now.items() if name not in before and data != "folder"
    }
    files.pop(OWN, None)
    assert files == with_list(FILES, "0.1.0")
    held = json.loads((folder / OWN / LIST).read_text())
    assert held["version"] == "0.1.0"
    # sha256 of b"pass\n", as `sha256sum` gives it.
    assert held["files"]["scallop.py"] == "9f56e761d79bfdb34304a012586cb04d16b435ef6130091a97702e559260a2f2"
    assert before.items() <= now.items()


def test_install_install_again_and_remove_leave_the_folder_as_before(folder: Path) -> None:
    before = tree(folder)
    install(folder, FILES, "0.1.0")
    install(folder, FILES, "0.1.0")
    install(folder, NEWER, "0.2.0")
    assert set(tree(folder / OWN)) - {"vendor", "vendor/scallopkit", "vendor/scallopkit/trim"} == {*NEWER, LIST}
    assert remove(folder) == ()
    assert tree(folder) == before


def test_a_folder_that_was_not_there_is_made(tmp_path: Path) -> None:
    install(tmp_path / "profile" / "extensions", FILES, "0.1.0")
    remove(tmp_path / "profile" / "extensions")
    assert tree(tmp_path) == {"profile": "folder", "profile/extensions": "folder"}


def test_what_python_and_file_managers_leave_goes_too(folder: Path) -> None:
    before = tree(folder)
    for command in (lambda: install(folder, NEWER, "0.2.0"), lambda: remove(folder)):
        if not (folder / OWN).exists():
            install(folder, FILES, "0.1.0")
        for path in sorted((folder / OWN).rglob("*.py")):
            py_compile.compile(str(path), optimize=0)
            py_compile.compile(str(path), optimize=1)
        (folder / OWN / "vendor" / ".DS_Store").write_bytes(b"")
        assert state(look(folder), NEWER, "0.2.0").startswith("version 0.")
        command()
        assert not list(folder.rglob("__pycache__"))
    assert tree(folder) == before


# ---------------------------------------------------------------- what is not as written


Edit = Callable[[Path], None]


def changed_file(own: Path) -> None:
    (own / "scallop.py").write_text("mine")


def folder_for_file(own: Path) -> None:
    (own / "scallop.py").unlink()
    (own / "scallop.py").mkdir()
    (own / "scallop.py" / "notes.txt").write_text("mine")


def link_for_file(own: Path) -> None:
    (own.parent / "same.py").write_bytes(FILES["scallop.py"])
    (own / "scallop.py").unlink()
    (own / "scallop.py").symlink_to(own.parent / "same.py")


def link_for_folder(own: Path) -> None:
    """The same files, but elsewhere: nothing there may be deleted."""
    (own / "vendor").rename(own.parent / "elsewhere")
    (own / "vendor").symlink_to(own.parent / "elsewhere")


@pytest.mark.parametrize("change", [changed_file, folder_for_file, link_for_file, link_for_folder])
def test_what_was_changed_by_hand_is_refused_and_stays(change: Edit, folder: Path) -> None:
    install(folder, FILES, "0.1.0")
    change(folder / OWN)
    before = tree(folder)
    name = "vendor" if change is link_for_folder else "scallop.py"
    for command in (lambda: install(folder, NEWER, "0.2.0"), lambda: refuse_loss(folder), lambda: remove(folder)):
        with pytest.raises(RequestError, match=rf"{OWN} was changed by hand \({name}\): move that away, then "):
            command()
        assert tree(folder) == before
    assert state(look(folder), FILES, "0.1.0") == f"version 0.1.0, changed by hand: {name}"


def strange_file(own: Path) -> None:
    (own / "vendor" / "notes.txt").write_text("mine")


def strange_folder(own: Path) -> None:
    (own / "mine").mkdir()


def strange_cache(own: Path) -> None:
    (own / "__pycache__").mkdir()
    (own / "__pycache__" / "other.cpython-311.pyc").write_bytes(b"")


def strange_link(own: Path) -> None:
    (own / "out").symlink_to(own.parent / "theirs")


def link_for_leaving(own: Path) -> None:
    """Named as what a file manager leaves, but it leads to somebody's file."""
    (own / ".DS_Store").symlink_to(own.parent / "theirs" / "a.py")


@pytest.mark.parametrize("add", [strange_file, strange_folder, strange_cache, strange_link, link_for_leaving])
def test_what_is_somebody_elses_stops_an_update_and_outlives_a_removal(add: Edit, folder: Path) -> None:
    install(folder, FILES, "0.1.0")
    ours = set(tree(folder / OWN))
    add(folder / OWN)
    before = tree(folder)
    theirs = set(tree(folder / OWN)) - ours
    with pytest.raises(RequestError, match=r"holds what scallopkit did not write \(.+\): move it away, then install"):
        install(folder, NEWER, "0.2.0")
    assert tree(folder) == before
    (left,) = remove(folder)
    assert left in theirs
    now = tree(folder)
    assert {f"{OWN}/{name}": before[f"{OWN}/{name}"] for name in theirs}.items() <= now.items()
    assert not any(f"{OWN}/{name}" in now for name in (*FILES, LIST))
    with pytest.raises(RequestError, match="was not written by scallopkit"):
        install(folder, NEWER, "0.2.0")


LISTS = [
    b"",
    b"{}",
    b"[1]",
    b"\xff",
    *(
        json.dumps({"written by": OWN, "version": "0.1.0", "files": {name: "0"}}).encode()
        for name in ("../theirs/a.py", "/etc/hosts", "a/../../b", "C:\\x", "..\\theirs\\a.py", "", ".")
    ),
    json.dumps({"written by": OWN, "version": 1, "files": {}}).encode(),
    json.dumps({"written by": OWN, "version": "1", "files": {"a": 1}}).encode(),
]


@pytest.mark.parametrize("text", LISTS, ids=range(len(LISTS)))
def test_a_list_that_is_none_of_ours_is_not_gone_by(text: bytes, folder: Path) -> None:
    install(folder, FILES, "0.1.0")
    (folder / OWN / LIST).write_bytes(text)
    before = tree(folder)
    for command in (lambda: install(folder, NEWER, "0.2.0"), lambda: remove(folder)):
        with pytest.raises(RequestError, match=f"was not written by scallopkit, or has lost its list {LIST}: "):
            command()
    assert tree(folder) == before
    assert state(look(folder), FILES, "0.1.0") == "a folder of that name that scallopkit did not write"


@pytest.mark.parametrize("kind", ["file", "link", "link for list"])
def test_what_stands_in_the_place_of_our_folder_or_list_is_left_alone(kind: str, folder: Path) -> None:
    if kind == "file":
        (folder / OWN).write_text("mine")
    elif kind == "link for list":
        install(folder, FILES, "0.1.0")
        (folder / OWN / LIST).rename(folder / LIST)
        (folder / OWN / LIST).symlink_to(folder / LIST)
    else:
        install(folder / "theirs", FILES, "0.1.0")
        (folder / OWN).symlink_to(folder / "theirs" / OWN)
    before = tree(folder)
    for command in (lambda: install(folder, NEWER, "0.2.0"), lambda: remove(folder)):
        with pytest.raises(RequestError, match="was not written by scallopkit"):
            command()
    assert tree(folder) == before


def test_nothing_to_remove_is_said(folder: Path) -> None:
    with pytest.raises(RequestError, match="there is nothing of scallopkit in "):
        remove(folder)


# ---------------------------------------------------------------- states


def test_how_a_copy_stands_is_told(folder: Path) -> None:
    assert state(look(folder), FILES, "0.1.0") == "not installed"
    install(folder, FILES, "0.1.0")
    assert state(look(folder), FILES, "0.1.0") == "version 0.1.0, current"
    assert state(look(folder), NEWER, "0.2.0") == "version 0.1.0, not that of this program (0.2.0): install again"
    assert state(look(folder), NEWER, "0.1.0") == "version 0.1.0, other files than this program (0.1.0): install again"
    (folder / OWN / "scallop.py").unlink()
    assert state(look(folder), FILES, "0.1.0") == "version 0.1.0, incomplete: install again"
    install(folder, FILES, "0.1.0")
    assert state(look(folder), FILES, "0.1.0") == "version 0.1.0, current"


# ---------------------------------------------------------------- failures of the system

FAILURES = [(errno.EACCES, "protected against writing"), (errno.ENOSPC, "the disk is full"), (errno.EIO, "choose")]
# Whether an older copy is there, and which call fails: a file is written, or a folder is moved to its place.
CALLS = [
    *((there, "write_bytes", nth) for there in (False, True) for nth in (1, 2, 4)),
    *((False, "rename", 1), (True, "rename", 1), (True, "rename", 2)),
]


@pytest.mark.parametrize(("number", "text"), FAILURES)
@pytest.mark.parametrize(("there", "name", "nth"), CALLS)
def test_a_failure_on_the_way_leaves_everything_as_it_was(
    number: int, text: str, there: bool, name: str, nth: int, folder: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    if there:
        install(folder, FILES, "0.1.0")
    before, own, calls = tree(folder), getattr(Path, name), []

    def stand_in(self: Path, *arguments: bytes | Path) -> object:
        calls.append(self)
        if len(calls) == nth:
            raise OSError(number, os.strerror(number), str(self))
        return own(self, *arguments)

    monkeypatch.setattr(Path, name, stand_in)
    with pytest.raises(OutputError, match=text):
        install(folder, NEWER, "0.2.0")
    monkeypatch.undo()
    assert tree(folder) == before


def test_folders_made_on_the_way_go_again_after_a_failure(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    def full(self: Path, data: bytes) -> int:
        raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC), str(self))

    monkeypatch.setattr(Path, "write_bytes", full)
    with pytest.raises(OutputError, match="the disk is full"):
        install(tmp_path / "profile" / "extensions", FILES, "0.1.0")
    assert tree(tmp_path) == {}


@pytest.mark.skipif(not hasattr(os, "geteuid") or os.geteuid() == 0, reason="root may write everywhere")
def test_a_folder_protected_against_writing_is_one_sentence(folder: Path) -> None:
    folder.chmod(0o555)
    with pytest.raises(OutputError, match="protected against writing"):
        install(folder, FILES, "0.1.0")
    folder.chmod(0o755)
    assert not (folder / OWN).exists()


def test_a_file_held_open_is_told_and_the_removal_can_be_repeated(
    folder: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    before = tree(folder)
    install(folder, FILES, "0.1.0")
    unlink = Path.unlink

    def held(self: Path, missing_ok: bool = False) -> None:
        if self.name == "fit.py":
            raise PermissionError(errno.EACCES, "held open by another program", str(self))
        unlink(self, missing_ok=missing_ok)

    monkeypatch.setattr(Path, "unlink", held)
    with pytest.raises(OutputError, match=r"fit\.py can't be deleted .*: close the editor, and remove again"):
        remove(folder)
    with pytest.raises(OutputError, match=r"is up to date, but the copy before it could not be deleted"):
        install(folder, NEWER, "0.2.0")
    monkeypatch.undo()
    remove(folder)
    (left,) = set(tree(folder)) - set(before) - {name for name in tree(folder) if "/" in name}
    assert left.endswith(".old")


# ---------------------------------------------------------------- any edits

NAMES = [
    *FILES,
    LIST,
    "notes.txt",
    "vendor/notes.txt",
    "mine/deep/a.py",
    "__pycache__/scallop.cpython-311.pyc",
    "vendor/x",
]
EDITS = st.dictionaries(st.sampled_from(NAMES), st.sampled_from([None, b"mine", b"pass\n", "folder"]), max_size=4)


@given(EDITS, st.booleans())
def test_whatever_was_edited_only_what_we_wrote_is_lost(edits: Mapping[str, bytes | str | None], again: bool) -> None:
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        install(folder, FILES, "0.1.0")
        written = tree(folder)
        for place, edit in edits.items():
            path = folder / OWN / place
            if edit is None or edit == "folder":
                path.unlink(missing_ok=True)
            path.parent.mkdir(parents=True, exist_ok=True)
            if edit == "folder":
                path.mkdir()
            elif isinstance(edit, bytes):
                path.write_bytes(edit)
        before = tree(folder)
        try:
            install(folder, NEWER, "0.2.0") if again else remove(folder)
        except ScallopkitError:
            assert tree(folder) == before
            return
        now = tree(folder)
        caches = {name for name in before if name.startswith(f"{OWN}/__pycache__")}
        lost = {name for name in before if now.get(name) != before[name]} - caches
        # All that is gone or replaced was as we had written it.
        assert all(before[name] == written.get(name) or before[name] == "folder" for name in lost)
        if not again:
            assert not any(now.get(f"{OWN}/{name}") == data for name, data in FILES.items() if name not in edits)
        else:
            assert {name.removeprefix(f"{OWN}/") for name, data in now.items() if data != "folder"} == {*NEWER, LIST}
