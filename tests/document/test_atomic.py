"""Files are written whole or not at all, and nothing is left beside them."""

from __future__ import annotations

import errno
import os
import stat
from pathlib import Path

import pytest

from scallopkit.document.atomic import write_all_atomic, write_atomic
from scallopkit.errors import OutputError


def names(folder: Path) -> list[str]:
    return sorted(path.name for path in folder.iterdir())


def test_new_file_and_replaced_file(tmp_path: Path) -> None:
    target = tmp_path / "out.svg"
    write_atomic(target, b"one")
    write_atomic(target, b"two, longer")
    assert target.read_bytes() == b"two, longer"
    assert names(tmp_path) == ["out.svg"]


def test_mode_is_kept_and_a_new_file_gets_the_usual_one(tmp_path: Path) -> None:
    plain, target = tmp_path / "plain", tmp_path / "out.svg"
    plain.write_bytes(b"")
    write_atomic(target, b"one")
    assert stat.S_IMODE(target.stat().st_mode) == stat.S_IMODE(plain.stat().st_mode)
    target.chmod(0o640)
    write_atomic(target, b"two")
    assert stat.S_IMODE(target.stat().st_mode) == 0o640


def test_symbolic_link_is_followed(tmp_path: Path) -> None:
    (tmp_path / "far").mkdir()
    real, link = tmp_path / "far" / "real.svg", tmp_path / "link.svg"
    real.write_bytes(b"one")
    link.symlink_to(real)
    write_atomic(link, b"two")
    assert link.is_symlink()
    assert real.read_bytes() == b"two"
    assert names(tmp_path) == ["far", "link.svg"]


def test_folder_of_the_working_directory(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(tmp_path)
    write_atomic(Path("out.svg"), b"one")
    assert (tmp_path / "out.svg").read_bytes() == b"one"


@pytest.mark.skipif(not hasattr(os, "mkfifo"), reason="the system has no named pipes")
def test_what_is_no_regular_file_is_written_to_and_stays(tmp_path: Path) -> None:
    pipe = tmp_path / "pipe"
    os.mkfifo(pipe)
    reader = os.open(pipe, os.O_RDONLY | os.O_NONBLOCK)
    try:
        write_atomic(pipe, b"through")
        assert os.read(reader, 100) == b"through"
    finally:
        os.close(reader)
    assert stat.S_ISFIFO(pipe.stat().st_mode)


def test_missing_folder_and_folder_as_target(tmp_path: Path) -> None:
    with pytest.raises(OutputError, match=r"there is no folder .*nowhere"):
        write_atomic(tmp_path / "nowhere" / "out.svg", b"")
    (tmp_path / "file").write_bytes(b"")
    with pytest.raises(OutputError, match="there is no folder"):
        write_atomic(tmp_path / "file" / "out.svg", b"")
    with pytest.raises(OutputError, match="is a folder, not a file"):
        write_atomic(tmp_path, b"")
    assert names(tmp_path) == ["file"]


@pytest.mark.parametrize(
    ("number", "words"),
    [
        (errno.EACCES, "protected against writing"),
        (errno.EROFS, "protected against writing"),
        (errno.ENOSPC, "the disk is full"),
        (errno.EIO, "choose another place"),
    ],
)
@pytest.mark.parametrize("call", ["open", "fsync"])
def test_errors_of_the_system_are_one_sentence(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, number: int, words: str, call: str
) -> None:
    target = tmp_path / "out.svg"
    target.write_bytes(b"before")

    def fail(*_: object) -> int:
        raise OSError(number, os.strerror(number))

    monkeypatch.setattr(os, call, fail)
    with pytest.raises(OutputError, match=words) as caught:
        write_atomic(target, b"after")
    assert str(target) in str(caught.value)
    assert "\n" not in str(caught.value)
    monkeypatch.undo()
    assert target.read_bytes() == b"before"
    assert names(tmp_path) == ["out.svg"]


@pytest.mark.skipif(not hasattr(os, "geteuid") or os.geteuid() == 0, reason="root may write everywhere")
def test_protected_folder_and_file(tmp_path: Path) -> None:
    target = tmp_path / "out.svg"
    target.write_bytes(b"before")
    target.chmod(0o444)
    with pytest.raises(OutputError, match="the file is protected"):
        write_atomic(target, b"after")
    for mode in (0o555, 0o000):
        tmp_path.chmod(mode)
        with pytest.raises(OutputError, match=r"the folder .* is protected"):
            write_atomic(tmp_path / "new.svg", b"after")
    tmp_path.chmod(0o755)


def test_several_files_or_none(tmp_path: Path) -> None:
    a, b = tmp_path / "a", tmp_path / "b"
    a.write_bytes(b"old")
    with pytest.raises(OutputError, match="there is no folder"):
        write_all_atomic({a: b"1", b: b"2", tmp_path / "nowhere" / "c": b"3"})
    assert names(tmp_path) == ["a"]
    assert a.read_bytes() == b"old"
    write_all_atomic({a: b"1", b: b"2"})
    assert (a.read_bytes(), b.read_bytes()) == (b"1", b"2")


def test_the_first_files_come_back_when_a_later_one_cannot_take_its_place(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    a, b, c = (tmp_path / name for name in "abc")
    a.write_bytes(b"old")
    real = Path.replace

    def replace(self: Path, target: Path) -> Path:
        if target == c:
            raise PermissionError(errno.EACCES, "held open by another program")
        return real(self, target)

    monkeypatch.setattr(Path, "replace", replace)
    with pytest.raises(OutputError, match="c cannot be written"):
        write_all_atomic({a: b"1", b: b"2", c: b"3"})
    assert names(tmp_path) == ["a"]
    assert a.read_bytes() == b"old"


def test_two_names_of_one_file_are_refused(tmp_path: Path) -> None:
    a, link = tmp_path / "a", tmp_path / "link"
    a.write_bytes(b"old")
    link.symlink_to(a)
    with pytest.raises(OutputError, match="same file"):
        write_all_atomic({a: b"1", link: b"2"})
    assert a.read_bytes() == b"old"
