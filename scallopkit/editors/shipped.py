"""The files that go into an editor: its own scripts and manifests, and the library that they need."""

from __future__ import annotations

from pathlib import Path

from ..errors import OutputError

_PACKAGE = Path(__file__).resolve().parents[1]
# In the library these serve the command line alone.
_LEFT_OUT = frozenset(
    {
        *("cli.py", "cli_editors.py", "__main__.py", "demo.py", "demo_apron.py", "demo_waistcoat.py"),
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


def library_files() -> dict[str, bytes]:
    """The library without its command line, by the places of its files in the package."""
    every = {path.relative_to(_PACKAGE).as_posix(): path for path in sorted(_PACKAGE.rglob("*.py"))}
    return {
        name: path.read_bytes()
        for name, path in every.items()
        if name not in _LEFT_OUT and not name.startswith("extensions/")
    }
