"""One zip for all systems, for people who work without a terminal: our folder, and a page that says where to put it."""

from __future__ import annotations

import io
import stat
import zipfile
from collections.abc import Mapping
from html import escape

from .hosts import Build, Host, usual_folder
from .installing import OWN, with_list

PAGE = "READ ME FIRST.html"
# The first moment that a zip can tell. All files bear it, so that the same files give the same bytes.
_LONG_AGO = (1980, 1, 1, 0, 0, 0)
# What a file manager of each system goes by.
_WAYS = {
    "win32": "Open the Explorer, click into the line at the top that tells the folder, paste this, and press Enter.",
    "darwin": "In the Finder choose Go &gt; Go to Folder…, paste this, and press Return.",
    "linux": "In the file manager press Ctrl+L, paste this, and press Enter.",
}
_TEXT = """<!DOCTYPE html>
<html lang="en">
<head>
<meta charset="utf-8">
<meta name="viewport" content="width=device-width, initial-scale=1">
<title>scallopkit for {title}</title>
<style>
body {{ max-width: 46rem; margin: 2rem auto; padding: 0 1rem; font: 1.125rem/1.5 sans-serif; }}
body {{ color: #111; background: #fff; }}
li {{ margin: 1rem 0; }}
table {{ border-collapse: collapse; margin: 1rem 0; }}
th, td {{ border: 1px solid #555; padding: .4rem .6rem; text-align: left; vertical-align: top; }}
code {{ font-size: 1rem; overflow-wrap: anywhere; }}
</style>
</head>
<body>
<h1>scallopkit {version} for {title}</h1>
<p>It fits whole scallops to the edges of sewing patterns, inside {title}. No internet is needed, and nothing else but
{title} 1.2 or newer. On Debian and Ubuntu its Python needs the packages python3-numpy and python3-lxml.</p>
<ol>
<li><strong>Close {title}.</strong></li>
<li><strong>Find the folder</strong> where {title} looks for extensions. As a rule it is this one:
<table>
<thead><tr><th scope="col">system</th><th scope="col">folder</th><th scope="col">how to get there</th></tr></thead>
<tbody>
{rows}
</tbody>
</table>
If it is not there, open {title}: Edit &gt; Preferences &gt; System tells it under <em>User extensions</em>.
Close {title} again.</li>
<li><strong>Unpack this zip, and put the folder <code>{own}</code> into that folder.</strong> If an older folder
<code>{own}</code> is there, delete it first. In the end the file <code>{manifest}</code> must lie there as
<code>extensions/{own}/{manifest}</code>.</li>
<li><strong>Start {title}.</strong> The effects are in the menu Extensions &gt; Scallopkit.</li>
</ol>
<p><strong>To remove it,</strong> close {title} and delete the folder <code>{own}</code>.</p>
<p><strong>It is not in the menu?</strong> Mostly there is a folder <code>{own}</code> inside the folder
<code>{own}</code>: take the inner one out and put it in the place of the outer one.</p>
</body>
</html>
"""


def packed(host: Host, version: str) -> bytes:
    """A zip of all files that go into an editor, in our folder, and the page that says where to put it."""
    files = host.files()
    held = {f"{OWN}/{name}": data for name, data in with_list(files, version).items()}
    return _zipped(held | {PAGE: page(host, version, files).encode()})


def page(host: Host, version: str, files: Mapping[str, bytes]) -> str:
    """What to do, in four steps, as a page that needs nothing beside it."""
    manifest = min(name for name in files if name.endswith(".inx"))
    rows = "\n".join(_row(host, build) for build in sorted(host.builds, key=lambda one: list(_WAYS).index(one.system)))
    return _TEXT.format(title=host.title, version=escape(version), own=OWN, manifest=escape(manifest), rows=rows)


def _row(host: Host, build: Build) -> str:
    system = f"Linux, as a {build.name}" if build.name in ("Flatpak", "Snap") else build.name
    where = escape(usual_folder(host, build))
    return f'<tr><th scope="row">{system}</th><td><code>{where}</code></td><td>{_WAYS[build.system]}</td></tr>'


def _zipped(files: Mapping[str, bytes]) -> bytes:
    """A zip whose bytes go by nothing but the files: not by the system, the time, or the compressor's version."""
    held = io.BytesIO()
    with zipfile.ZipFile(held, "w", zipfile.ZIP_STORED) as archive:
        for name, data in sorted(files.items()):
            entry = zipfile.ZipInfo(name, _LONG_AGO)
            entry.create_system = 3  # Unix, whatever this runs on
            entry.external_attr = (stat.S_IFREG | 0o644) << 16
            archive.writestr(entry, data)
    return held.getvalue()
