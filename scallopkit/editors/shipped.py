"""The files that go into an editor: its own scripts and manifests, and the library that they need."""

from __future__ import annotations

import io
import json
import zipfile
from pathlib import Path

from ..errors import OutputError

_PACKAGE = Path(__file__).resolve().parents[1]
# In the library these serve the command line alone.
_LEFT_OUT = frozenset(
    {
        *("cli.py", "cli_editors.py", "__main__.py", "demo.py"),
        *(f"demo_{name}.py" for name in ("apron", "captions", "felt", "page", "waistcoat")),
        *(f"editors/{name}.py" for name in ("hosts", "installing", "packing", "shipped")),
    }
)


def extension_folder(host: str) -> Path:
    """Where an editor's scripts and manifests lie: in the installed package, or beside it in a working copy.

    Raises:
        OutputError: they are in neither place.
    """
    for folder in (_PACKAGE / "extensions" / host, _PACKAGE.parent / "extensions" / host):
        if folder.is_dir():
            return folder
    raise OutputError(f"this copy of scallopkit has no files for {host}: install the package again")


def inkscape_files() -> dict[str, bytes]:
    """All files of the effects for Inkscape, by their places in the one folder that holds them."""
    own = {path.name: path.read_bytes() for path in sorted(extension_folder("inkscape").iterdir()) if path.is_file()}
    return own | {f"vendor/scallopkit/{name}": data for name, data in library_files().items()}


def libreoffice_files() -> dict[str, bytes]:
    """All files of the macro for Draw, by their places in its package.

    What is under `scallopkit_lo/` works as well in the user's folder `Scripts/python`, without the menu.
    """
    folder = extension_folder("libreoffice")
    every = [path for path in sorted(folder.rglob("*")) if path.is_file() and "__pycache__" not in path.parts]
    return {path.relative_to(folder).as_posix(): path.read_bytes() for path in every}


def bridge_config(python: str) -> dict[str, bytes]:
    """The file that tells the macro which Python has the library, by its place beside the macro."""
    return {"scallopkit_lo/bridge.json": json.dumps({"python": python}).encode("ascii") + b"\n"}


def libreoffice_package(python: str = "") -> bytes:
    """The package for Draw (`scallopkit.oxt`, a zip); equal files give equal bytes.

    Args:
        python: the Python that has the library; without it the macro looks for `bridge.json` in the user's folder
            `Scripts/python/scallopkit`.
    """
    files = libreoffice_files() | (bridge_config(python) if python else {})
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as package:
        for name, data in sorted(files.items()):
            entry = zipfile.ZipInfo(name, (1980, 1, 1, 0, 0, 0))
            entry.compress_type, entry.create_system, entry.external_attr = zipfile.ZIP_DEFLATED, 3, 0o644 << 16
            package.writestr(entry, data)
    return out.getvalue()


def library_files() -> dict[str, bytes]:
    """The library without its command line, by the places of its files in the package."""
    every = {path.relative_to(_PACKAGE).as_posix(): path for path in sorted(_PACKAGE.rglob("*.py"))}
    return {
        name: path.read_bytes()
        for name, path in every.items()
        if name not in _LEFT_OUT and not name.startswith("extensions/")
    }
