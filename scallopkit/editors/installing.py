"""Our files in an editor's folder: put there, looked at and taken away, with nothing else touched.

They lie in one folder of their own, with a list of what was written and its checksums. What differs from the list was
changed by hand, what is not on it is somebody else's, and neither is ever overwritten or deleted.
"""

from __future__ import annotations

import contextlib
import hashlib
import json
import os
import re
import secrets
import shutil
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path, PurePosixPath

from ..document.atomic import writing
from ..errors import OutputError, RequestError

# The one folder that is ours within the editor's, and in it the list of what was written.
OWN = "scallopkit"
LIST = "written.json"
# What file managers leave wherever someone looked.
_LEAVINGS = frozenset({".DS_Store", "Thumbs.db", "desktop.ini"})
_CACHES = "__pycache__"


@dataclass(frozen=True)
class Copy:
    """What lies in the folder that should be ours.

    Attributes:
        version: the library's, by the list; an empty text if there is no list that can be read.
        files: checksums by place, by the list.
        changed: places on the list where something else lies now.
        missing: places on the list where nothing lies.
        strange: what is not on the list.
        leavings: what Python and file managers left between our files.
    """

    version: str
    files: Mapping[str, str]
    changed: tuple[str, ...] = ()
    missing: tuple[str, ...] = ()
    strange: tuple[str, ...] = ()
    leavings: tuple[str, ...] = ()


def with_list(files: Mapping[str, bytes], version: str) -> dict[str, bytes]:
    """Files by their places, and the list of them."""
    sums = {name: _checksum(data) for name, data in sorted(files.items())}
    text = json.dumps({"written by": OWN, "version": version, "files": sums}, indent=1)
    return {**files, LIST: f"{text}\n".encode()}


def look(folder: Path) -> Copy | None:
    """What lies in our folder within an editor's; None if there is none.

    Raises:
        OutputError: it can't be read.
    """
    own = folder / OWN
    if not os.path.lexists(own):
        return None
    listed = None if own.is_symlink() or not own.is_dir() else _read_list(own / LIST)
    if listed is None:
        return Copy("", {}, strange=(OWN,))
    version, files = listed
    try:
        return _compared(own, version, files)
    except OSError as error:
        raise OutputError(f"{own} can't be read ({error.strerror}): make it readable, and try again") from None


def state(copy: Copy | None, files: Mapping[str, bytes], version: str) -> str:
    """How a copy stands to the files that this library would write, in a few words."""
    if copy is None:
        return "not installed"
    if not copy.version:
        return "a folder of that name that scallopkit did not write"
    if copy.changed:
        return f"version {copy.version}, changed by hand: {_some(copy.changed)}"
    if copy.missing:
        return f"version {copy.version}, incomplete: install again"
    if copy.files != {name: _checksum(data) for name, data in files.items()}:
        other = "other files than" if copy.version == version else "not that of"
        return f"version {copy.version}, {other} this program ({version}): install again"
    return f"version {copy.version}, current"


def refuse_loss(folder: Path) -> None:
    """Refuses to write where something of somebody else's would be lost.

    Raises:
        RequestError: a file was changed by hand, or is not ours; the text says what to do.
    """
    copy, own = look(folder), folder / OWN
    if copy is None:
        return
    if not copy.version:
        raise RequestError(
            f"{own} was not written by scallopkit, or has lost its list {LIST}: move it away, then install"
        )
    _refuse_changed(own, copy, "install")
    if copy.strange:
        raise RequestError(
            f"{own} holds what scallopkit did not write ({_some(copy.strange)}): move it away, then install"
        )


def install(folder: Path, files: Mapping[str, bytes], version: str) -> None:
    """Puts files into our folder within an editor's, in the place of an older copy; all of them, or none.

    Raises:
        RequestError: something there was changed by hand, or is not ours.
        OutputError: the place can't be written to; it is as it was.
    """
    refuse_loss(folder)
    own, before = folder / OWN, look(folder)
    mark = secrets.token_hex(8)
    new, old = (folder / f".{OWN}-{mark}.{end}" for end in ("new", "old"))
    with writing(own), _undone(folder, new):
        folder.mkdir(parents=True, exist_ok=True)
        _lay_down(new, with_list(files, version))
        if before is not None:
            own.rename(old)
        try:
            new.rename(own)
        except BaseException:
            if before is not None:
                old.rename(own)
            raise
    if before is not None:
        try:
            _take_away(old, before)
        except OSError:
            raise OutputError(
                f"{own} is up to date, but the copy before it could not be deleted: close the editor, and delete {old}"
            ) from None


def remove(folder: Path) -> tuple[str, ...]:
    """Takes away exactly what was written, and gives the places of what is not ours, which stays.

    Raises:
        RequestError: there is nothing of ours, or something was changed by hand; nothing was taken away.
        OutputError: a file can't be deleted.
    """
    copy, own = look(folder), folder / OWN
    if copy is None:
        raise RequestError(f"there is nothing of scallopkit in {folder}: `scallopkit editors list` tells where it is")
    if not copy.version:
        raise RequestError(
            f"{own} was not written by scallopkit, or has lost its list {LIST}: delete it yourself, if nobody needs it"
        )
    _refuse_changed(own, copy, "remove")
    try:
        _take_away(own, copy)
    except OSError as error:
        raise OutputError(
            f"{error.filename or own} can't be deleted ({error.strerror}): close the editor, and remove again"
        ) from None
    return copy.strange


# ---------------------------------------------------------------- looking


def _checksum(data: bytes) -> str:
    return hashlib.sha256(data).hexdigest()


def _read_list(path: Path) -> tuple[str, dict[str, str]] | None:
    """The version and the checksums of a list; None if it is none of ours, or names places outside its folder."""
    try:
        held = {} if path.is_symlink() else json.loads(path.read_bytes())
    except (OSError, ValueError):
        return None
    if not isinstance(held, dict):
        return None
    version, files = held.get("version"), held.get("files")
    if held.get("written by") != OWN or not isinstance(version, str) or not version or not isinstance(files, dict):
        return None
    whole = all(isinstance(value, str) and _is_inside(name) for name, value in files.items())
    return (version, files) if whole else None


def _is_inside(name: str) -> bool:
    """Whether a place is one in its folder, written in the one way in which we write it."""
    parts = PurePosixPath(name).parts
    return bool(parts) and "/".join(parts) == name and ".." not in parts and not re.search(r"[\\:]", name)


def _compared(own: Path, version: str, files: Mapping[str, str]) -> Copy:
    folders = {parent.as_posix() for name in files for parent in PurePosixPath(name).parents}
    there = [name for name in _entries(own, "", folders) if name != LIST]
    changed: list[str] = []
    strange: list[str] = []
    leavings: list[str] = []
    for name in there:
        place = name.rstrip("/")
        if name in files and _is_as_written(own / name, files[name]):
            continue
        if place in files or place in folders:
            changed.append(place)
        else:
            (leavings if _is_leaving(own, name, files) else strange).append(place)
    missing = sorted(set(files) - set(there) - set(changed))
    return Copy(version, files, tuple(changed), tuple(missing), tuple(strange), tuple(leavings))


def _entries(folder: Path, before: str, ours: set[str]) -> Iterator[str]:
    """The places of all that is in a folder; a folder that is none of ours is one place, with a stroke after it."""
    with os.scandir(folder) as found:
        entries = sorted(found, key=lambda entry: entry.name)
    for entry in entries:
        name = before + entry.name
        if entry.is_dir(follow_symlinks=False):
            if name in ours or entry.name == _CACHES:
                yield from _entries(Path(entry.path), f"{name}/", ours)
            else:
                yield f"{name}/"
        else:
            yield name


def _is_as_written(path: Path, checksum: str) -> bool:
    return not path.is_symlink() and path.is_file() and _checksum(path.read_bytes()) == checksum


def _is_leaving(own: Path, name: str, files: Mapping[str, str]) -> bool:
    """Whether a file was left by a file manager, or by Python when it ran one of ours."""
    place = PurePosixPath(name)
    if name.endswith("/") or (own / name).is_symlink():
        return False
    if place.name in _LEAVINGS:
        return True
    script = place.parent.parent / f"{place.name.partition('.')[0]}.py"
    return place.suffix == ".pyc" and place.parent.name == _CACHES and script.as_posix() in files


def _refuse_changed(own: Path, copy: Copy, command: str) -> None:
    if copy.changed:
        raise RequestError(f"{own} was changed by hand ({_some(copy.changed)}): move that away, then {command} again")


def _some(names: Sequence[str]) -> str:
    """The first few of many names."""
    return ", ".join(names[:3]) + (f" and {len(names) - 3} more" if len(names) > 3 else "")


# ---------------------------------------------------------------- writing


@contextlib.contextmanager
def _undone(folder: Path, new: Path) -> Iterator[None]:
    """After a failure, takes away what was laid down so far, and the folders that were made for it."""
    made = [parent for parent in (folder, *folder.parents) if not parent.exists()]
    try:
        yield
    except BaseException:
        shutil.rmtree(new, ignore_errors=True)
        for parent in made:
            with contextlib.suppress(OSError):
                parent.rmdir()
        raise


def _lay_down(new: Path, files: Mapping[str, bytes]) -> None:
    new.mkdir()
    for name, data in files.items():
        (new / name).parent.mkdir(parents=True, exist_ok=True)
        (new / name).write_bytes(data)


def _take_away(own: Path, copy: Copy) -> None:
    """Deletes what is on the list, what was left between, then the list, and all folders that are empty by that."""
    for name in (*copy.leavings, *copy.files, LIST):
        (own / name).unlink(missing_ok=True)
    folders = {parent for name in (*copy.files, LIST) for parent in PurePosixPath(name).parents}
    folders |= {parent / _CACHES for parent in folders}
    for parent in sorted(folders, key=lambda one: len(one.parts), reverse=True):
        with contextlib.suppress(OSError):  # somebody else's file lies in it
            (own / parent).rmdir()
