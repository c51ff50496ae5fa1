"""Files written whole or not at all."""

from __future__ import annotations

import contextlib
import errno
import os
import secrets
import stat
from collections.abc import Iterator, Mapping
from pathlib import Path

from ..errors import OutputError


def write_atomic(path: Path, data: bytes) -> None:
    """Write a file so that it holds either what it held before or all of `data`, even if the power fails.

    The mode of an existing file is kept, a symbolic link is followed, and what is no regular file (a pipe, a
    terminal) is written to directly.

    Raises:
        OutputError: the place cannot be written to; the file is as it was, and nothing is left beside it.
    """
    write_all_atomic({path: data})


def write_all_atomic(files: Mapping[Path, bytes]) -> None:
    """Write several files, or none of them: all are laid down beside their places before the first is put there.

    Raises:
        OutputError: one of them cannot be written, or two names lead to one file; all files are as they were.
    """
    places = {path: Path(os.path.realpath(path)) for path in files}
    if len(set(places.values())) < len(places):
        names = ", ".join(str(path) for path in places)
        raise OutputError(f"two of the results would go to the same file ({names}); give each a name of its own")
    staged: dict[Path, Path] = {}
    replaced: dict[Path, bytes | None] = {}
    try:
        for path, data in files.items():
            with writing(path):
                if _is_regular_or_new(path, places[path]):
                    staged[path] = _lay_down(places[path], data)
        for path, beside in staged.items():
            with writing(path):
                before = places[path].read_bytes() if len(files) > 1 and places[path].exists() else None
                beside.replace(places[path])
                replaced[places[path]] = before
        for path in files.keys() - staged.keys():
            with writing(path):
                places[path].write_bytes(files[path])
    except BaseException:
        _put_back(replaced)
        raise
    finally:
        for beside in staged.values():
            beside.unlink(missing_ok=True)


@contextlib.contextmanager
def writing(path: Path) -> Iterator[None]:
    """Turn the system's errors into one sentence about the file or folder that was asked for.

    Raises:
        OutputError: the place cannot be written to.
    """
    try:
        yield
    except OutputError:
        raise
    except OSError as error:
        raise OutputError(f"{path} cannot be written: {_reason(path, error)}") from error


def _is_regular_or_new(path: Path, place: Path) -> bool:
    if not place.exists():
        return True
    if place.is_dir():
        raise OutputError(f"{path} is a folder, not a file; give the name of a file in it")
    if not os.access(place, os.W_OK):
        raise PermissionError(errno.EACCES, "read-only", str(place))
    return place.is_file()


def _lay_down(place: Path, data: bytes) -> Path:
    """A finished file with the right mode beside its place, safe on the disk."""
    beside = place.parent / f".scallopkit-{secrets.token_hex(8)}.tmp"
    handle = os.open(beside, os.O_WRONLY | os.O_CREAT | os.O_EXCL | getattr(os, "O_BINARY", 0), 0o666)
    try:
        with open(handle, "wb") as file:  # noqa: PTH123 - a handle has no path
            file.write(data)
            file.flush()
            os.fsync(file.fileno())
        if place.exists():
            beside.chmod(stat.S_IMODE(place.stat().st_mode))
    except BaseException:
        beside.unlink(missing_ok=True)
        raise
    return beside


def _put_back(replaced: Mapping[Path, bytes | None]) -> None:
    """Undo the first files of several when a later one could not be put in its place."""
    for place, before in replaced.items():
        with contextlib.suppress(OSError):
            if before is None:
                place.unlink(missing_ok=True)
            else:
                _lay_down(place, before).replace(place)


def _reason(path: Path, error: OSError) -> str:
    if error.errno in (errno.ENOENT, errno.ENOTDIR):
        return f"there is no folder {path.parent}; make it first or choose another one"
    if error.errno in (errno.EACCES, errno.EPERM, errno.EROFS):
        protected_file = os.access(path, os.F_OK) and not os.access(path, os.W_OK)
        what = "file" if protected_file else f"folder {path.parent}"
        return f"the {what} is protected against writing; choose another place"
    if error.errno in (errno.ENOSPC, getattr(errno, "EDQUOT", errno.ENOSPC)):
        return "the disk is full; make room or choose another place"
    return f"{error.strerror or error}; choose another place"
