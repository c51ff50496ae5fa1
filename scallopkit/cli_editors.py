"""The command line for vector editors: which are there, and our effects put in, taken away, or packed for others."""

from __future__ import annotations

import sys
from pathlib import Path
from typing import Annotated

import typer

from . import __version__
from .errors import RequestError

app = typer.Typer(
    help="Put the effects into your vector editor, or take them away.\n\nExample: scallopkit editors list",
    no_args_is_help=True,
    rich_markup_mode=None,
)

Editor = Annotated[
    str, typer.Argument(metavar="EDITOR", help="inkscape, or another that `list` shows.", show_default=False)
]
Folder = Annotated[
    Path | None,
    typer.Option(
        "--dir",
        metavar="FOLDER",
        help="Where the editor looks for extensions, if it is not found, or there are several of it.",
        show_default=False,
    ),
]


@app.command("list")
def list_() -> None:
    """Tell which editors are there, where they look for extensions, and whether our effects in them are current.

    Example: scallopkit editors list
    """
    from .document.tables import table
    from .editors.hosts import find, here, hosts
    from .editors.installing import look, state

    rows = []
    for host in hosts():
        found = find(host, here())
        for one in found:
            title = host.title if one is found[0] else f"{host.title} ({one.build})"
            told = state(look(one.folder), host.files(), __version__)
            told += "; with the menu" if host.has_menu(one.folder) else ""
            rows.append((title, one.version or "unknown", str(one.folder), told))
        if not found:
            rows.append((host.title, "not found", "", ""))
    typer.echo(table(("editor", "version", "folder", "effects"), rows, terminal=sys.stdout.isatty()))


@app.command()
def install(
    editor: Editor,
    given: Folder = None,
    dry_run: Annotated[bool, typer.Option("--dry-run", help="Only tell what would be written.")] = False,
) -> None:
    """Put the effects into an editor, in a folder of their own; an older copy is replaced.

    Example: scallopkit editors install inkscape
    """
    from .editors.hosts import choose, find, here, host_called
    from .editors.installing import OWN, refuse_loss, with_list
    from .editors.installing import install as put

    host = host_called(editor)
    folder = _checked(given) if given is not None else choose(host, find(host, here())).folder
    files = host.files()
    if dry_run:
        refuse_loss(folder)
        names = sorted(with_list(files, __version__))
        typer.echo("\n".join([f"would write {len(names)} files to {folder / OWN}:", *names]))
        return
    put(folder, files, __version__)
    typer.echo(f"wrote {len(files) + 1} files to {folder / OWN}\n{host.after.format(own=folder / OWN)}")


@app.command()
def remove(
    editor: Editor,
    given: Folder = None,
) -> None:
    """Take the effects away from an editor: what was written, and nothing else.

    Example: scallopkit editors remove inkscape
    """
    from .editors.hosts import choose, find, here, host_called
    from .editors.installing import OWN, look
    from .editors.installing import remove as take_away

    host = host_called(editor)
    if given is not None:
        folder = _checked(given)
    else:
        found = find(host, here())
        holding = [one for one in found if look(one.folder) is not None]
        folder = choose(host, holding or found).folder
    left = take_away(folder)
    typer.echo(f"took the effects out of {folder}")
    if host.has_menu(folder):
        typer.echo(host.menu_gone)
    if left:
        typer.echo(f"left in {folder / OWN}, since scallopkit did not write it: {', '.join(left)}")


@app.command()
def pack(
    host: Annotated[str, typer.Argument(metavar="EDITOR", help="inkscape or libreoffice.")] = "inkscape",
    output: Annotated[
        Path | None,
        typer.Option(
            "--output",
            "-o",
            metavar="FILE",
            help="Where it is written; else scallopkit-for-inkscape.zip or scallopkit.oxt.",
            show_default=False,
        ),
    ] = None,
) -> None:
    """Write one file: a zip for Inkscape on all systems, or an extension for LibreOffice Draw on this machine.

    Example: scallopkit editors pack -o scallopkit-for-inkscape.zip
    """
    from .document.atomic import write_atomic
    from .editors.hosts import PACKAGE, host_called
    from .editors.packing import packed
    from .editors.shipped import libreoffice_package

    wanted = host_called(host)
    if wanted.bridged:
        target = output or Path(PACKAGE)
        if target.name != PACKAGE:
            raise RequestError(f"--output {target} must be called {PACKAGE}: its menu goes by that name")
        write_atomic(target, libreoffice_package(sys.executable))
        typer.echo(f"wrote {target}: open it with LibreOffice, which then has a menu Scallopkit in Draw")
        return
    target = output or Path("scallopkit-for-inkscape.zip")
    write_atomic(target, packed(wanted, __version__))
    typer.echo(f"wrote {target}")


def _checked(folder: Path) -> Path:
    """A folder that was named, which must be there, and be the editor's, not ours within it."""
    from .editors.installing import LIST, OWN

    if not folder.is_dir():
        raise RequestError(f"--dir {folder} is no folder: give the one where the editor looks for extensions")
    if folder.resolve().name == OWN and (folder / LIST).exists():
        raise RequestError(f"--dir {folder} is the folder of scallopkit itself: give the one that it lies in")
    return folder
