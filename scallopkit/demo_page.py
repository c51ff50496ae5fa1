"""The demo on one page: every picture, and beside it the commands or the job file that made what it shows."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass
from html import escape

_STYLE = """
:root { color-scheme: light dark; --ink: #1a1a1a; --ground: #fff; --quiet: #555; --line: #999; --box: #f2f2f2; }
@media (prefers-color-scheme: dark) {
  :root { --ink: #eee; --ground: #16181a; --quiet: #bbb; --line: #777; --box: #24272a; } a { color: #9cc4ff; }
}
body { font: 1rem/1.5 sans-serif; color: var(--ink); background: var(--ground); max-width: 80rem; }
body { margin: 0 auto; padding: 1rem; }
h1 { font-size: 1.8rem; margin: 0 0 .5rem; } nav ul { columns: 14rem; padding-left: 1.2rem; }
h2 { font-size: 1.35rem; margin: 2.5rem 0 .5rem; border-bottom: 1px solid var(--line); }
figure { display: grid; grid-template-columns: minmax(0, 3fr) minmax(0, 2fr); gap: .3rem 1.2rem; margin: 1.2rem 0; }
figure { grid-template-rows: auto 1fr; align-items: start; }
figure img { display: block; max-width: 100%; max-height: 50rem; background: #fff; border: 1px solid var(--line); }
figcaption { grid-column: 1; color: var(--quiet); }
pre { grid-column: 2; grid-row: 1 / span 2; align-self: start; margin: 0; padding: .6rem .8rem; }
pre { background: var(--box); } pre span { white-space: nowrap; }
pre { font: .85rem/1.45 monospace; white-space: pre-wrap; overflow-wrap: anywhere; }
@media (max-width: 45rem) { figure { display: block; } pre { margin-top: .4rem; } }
@page { margin: 15mm; }
@media print {
  :root { color-scheme: light; --ink: #000; --ground: #fff; --quiet: #333; --line: #999; --box: #fff; }
  body { padding: 0; font-size: 10pt; } a { color: inherit; } nav { display: none; }
  figure { break-inside: avoid; } figure img { max-height: 17cm; } h2, h2 ~ p { break-after: avoid; }
  pre { border-left: 2px solid #999; font-size: 7.5pt; }
}
"""


@dataclass(frozen=True)
class Shown:
    """One picture with its own name as a file, what is seen on it, what to look at, and what it was made by."""

    file: str
    seen: str
    told: str
    by: str


@dataclass(frozen=True)
class Part:
    """One piece of work: its heading, what it is about, the files that go with it, and its pictures."""

    name: str
    title: str
    told: str
    files: tuple[str, ...]
    pictures: tuple[Shown, ...]


def demo_page(parts: Sequence[Part]) -> bytes:
    """The page as one HTML file beside its pictures: no script, and nothing asked of any other place."""
    links = "".join(f'<li><a href="#{part.name}">{escape(part.title)}</a></li>' for part in parts)
    head = (
        '<!DOCTYPE html>\n<html lang="en"><head><meta charset="utf-8">'
        '<meta name="viewport" content="width=device-width, initial-scale=1"><title>The Fernhouse Tea Room</title>\n'
        f"<style>{_STYLE}</style></head><body>\n<header><h1>The Fernhouse Tea Room</h1>\n"
        "<p>The linen and uniforms of a tea room in a botanical garden, trimmed by scallopkit. All measurements are "
        "invented. Beside each picture stands what made the drawing that it shows.</p>\n"
        f'<nav aria-label="Pieces of work"><ul>{links}</ul></nav></header>\n<main>'
    )
    return "\n".join([head, *(_section(part) for part in parts), "</main></body></html>", ""]).encode()


def _section(part: Part) -> str:
    files = ", ".join(f'<a href="{escape(file)}">{escape(file)}</a>' for file in part.files)
    figures = "\n".join(
        f'<figure><a href="{escape(one.file)}"><img src="{escape(one.file)}" alt="{escape(one.seen)}"></a>\n'
        f"<figcaption>{escape(one.told)}</figcaption>\n<pre><code>{_code(one.by)}</code></pre></figure>"
        for one in part.pictures
    )
    return (
        f'<section aria-labelledby="{part.name}"><h2 id="{part.name}">{escape(part.title)}</h2>\n'
        f"<p>{escape(part.told)}</p>\n{f'<p>Files: {files}</p>' if files else ''}\n{figures}\n</section>"
    )


def _code(text: str) -> str:
    """Commands and tables of a job file; no line ends within the name of an option."""
    return re.sub(r"(?<!\S)-[a-z-]+", r"<span>\g<0></span>", escape(text.strip()))
