"""The make sheet in a real browser: what it asks for, how it prints, and whether all can read it."""

from __future__ import annotations

import io
import itertools
import json
import os
import shutil
import subprocess
import sys
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import pytest
from lxml import html
from pypdf import PdfReader
from typer.testing import CliRunner

from scallopkit.cli import app

CHROMIUM = next(filter(None, map(shutil.which, ("chromium", "chromium-browser", "google-chrome"))), None)


def unable() -> str:
    """Why the browser can't be run here, or an empty text."""
    if CHROMIUM is None:
        return "Chromium is not on this system"
    if sys.platform != "win32":
        import resource

        if resource.getrlimit(resource.RLIMIT_AS)[0] != resource.RLIM_INFINITY:
            return (
                "Chromium does not start where address space is limited (ulimit -v): it reserves far more than it uses"
            )
    return ""


pytestmark = [pytest.mark.host, pytest.mark.skipif(bool(unable()), reason=unable())]
GALLERY = Path(__file__).parents[2] / "gallery"
MM = 25.4 / 72.0
# The sheet's margins on paper, mm, and the size of its body text there, pt, as its style states them.
MARGIN, BODY = 15.0, 9.5
# As wide as there is room between the margins of A4, in CSS pixels of 1/96 in (https://www.w3.org/TR/css-values-4/).
ROOM = 180.0 / 25.4 * 96.0

# Of each element with a text of its own: its colour, all backgrounds up to the page's, and where its right end lies.
PROBE = """<script>addEventListener('load', () => {
  const texts = [];
  for (const one of document.body.querySelectorAll('*')) {
    const own = [...one.childNodes].filter(node => node.nodeType === 3 && node.data.trim());
    if (!own.length || one.tagName === 'SCRIPT' || one.tagName === 'STYLE') continue;
    const drawn = one.closest('svg') !== null, grounds = [];
    for (let up = one; up; up = up.parentElement) grounds.push(getComputedStyle(up).backgroundColor);
    const style = getComputedStyle(one), range = document.createRange();
    range.selectNodeContents(one);
    texts.push({text: own[0].data.trim(), tag: one.tagName, drawn, colour: drawn ? style.fill : style.color, grounds,
                opacity: style.opacity, right: range.getBoundingClientRect().right});
  }
  const told = document.createElement('pre');
  told.id = 'told';
  told.textContent = JSON.stringify({texts, wide: document.documentElement.scrollWidth, room: innerWidth,
    asked: performance.getEntriesByType('resource').map(one => one.name)});
  document.body.append(told);
});</script>"""
# What must not pass: it asks for a picture, is too wide for its paper, and has grey letters.
BAD = f"""<!DOCTYPE html><html lang="en"><head><style>@page {{ size: A4; margin: 15mm; }} body {{ font-size: 9.5pt; }}
</style></head><body><img alt="" src="http://asked.invalid/x.png"><p style="color:#999">grey</p>
<p style="white-space:nowrap">{"wide " * 60}</p></body></html>"""


@dataclass(frozen=True)
class Seen:
    """What the browser gives of a page.

    Attributes:
        page: its tree.
        sheets: width and height of its pages on paper, mm.
        words: each text on paper with where it begins, mm from the left, and its size in pt.
        asked: addresses that the page asked for.
        found: what the probe found in it.
    """

    page: Any
    sheets: list[list[float]]
    words: list[tuple[str, float, float]]
    asked: list[str]
    found: dict[str, Any]


def chromium(folder: Path, page: Path, *arguments: str) -> str:
    command = [
        *(str(CHROMIUM), "--headless=new", "--no-sandbox", f"--user-data-dir={folder / 'profile'}"),
        *("--no-first-run", "--disable-background-networking", "--disable-component-update", "--disable-sync"),
        "--host-resolver-rules=MAP * ~NOTFOUND",
        *arguments,
        page.as_uri(),
    ]
    environment = {**os.environ, "HOME": str(folder), "XDG_CACHE_HOME": str(folder), "XDG_CONFIG_HOME": str(folder)}
    done = subprocess.run(command, capture_output=True, text=True, check=False, timeout=60, env=environment)
    assert done.returncode == 0, done.stderr
    return done.stdout


def seen(folder: Path, page: str) -> Seen:
    plain, probed = folder / "sheet.html", folder / "probed.html"
    plain.write_text(page, encoding="utf-8")
    probed.write_text(page.replace("</body>", f"{PROBE}</body>"), encoding="utf-8")
    log, pdf = folder / "net.json", folder / "sheet.pdf"
    chromium(folder, plain, f"--log-net-log={log}", f"--print-to-pdf={pdf}", "--no-pdf-header-footer")
    # As wide as on paper, and without the margin that a window has there.
    narrow = f"--window-size={round(ROOM)},1000"
    dumped = html.fromstring(chromium(folder, probed, narrow, "--hide-scrollbars", "--dump-dom"))
    found = json.loads(str(dumped.findtext(".//pre[@id='told']")))
    printed = PdfReader(io.BytesIO(pdf.read_bytes()))
    sheets = [[float(side) * MM for side in one.mediabox[2:]] for one in printed.pages]
    return Seen(html.fromstring(page), sheets, words(printed), asked(log), found)


def asked(log: Path) -> list[str]:
    """Addresses that the page itself asked for: the browser's own requests come from no page."""
    events = [event.get("params", {}) for event in json.loads(log.read_text(encoding="utf-8"))["events"]]
    own = [one for one in events if "url" in one and one.get("initiator", "not an origin") != "not an origin"]
    return [one["url"] for one in own if not one["url"].startswith("file:")]


def luminance(rgb: Sequence[float]) -> float:
    """Relative luminance: W3C, WCAG 2.1, https://www.w3.org/TR/WCAG21/#dfn-relative-luminance."""
    parts = [value / 255.0 for value in rgb]
    linear = [value / 12.92 if value <= 0.03928 else ((value + 0.055) / 1.055) ** 2.4 for value in parts]
    return 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2]


def contrast(one: Sequence[float], other: Sequence[float]) -> float:
    """Contrast ratio: W3C, WCAG 2.1, https://www.w3.org/TR/WCAG21/#dfn-contrast-ratio."""
    light, dark = sorted((luminance(one), luminance(other)), reverse=True)
    return (light + 0.05) / (dark + 0.05)


def colour(text: str) -> tuple[list[float], float]:
    """Red, green, blue and opacity of a computed colour, rgb(…) or rgba(…)."""
    values = [float(value) for value in text[text.index("(") + 1 : -1].split(",")]
    return values[:3], values[3] if len(values) == 4 else 1.0


def hard_to_read(found: dict[str, Any]) -> list[str]:
    """Texts below 4.5 to 1: W3C, WCAG 2.1, 1.4.3, https://www.w3.org/TR/WCAG21/#contrast-minimum."""
    out = []
    for text in found["texts"]:
        (ink, solid), grounds = colour(text["colour"]), [colour(ground) for ground in text["grounds"]]
        ground = next((rgb for rgb, opaque in grounds if opaque == 1.0), [255.0] * 3)
        # Nothing half transparent lies between, which this could not judge.
        assert solid == 1.0
        assert float(text["opacity"]) == 1.0
        assert {opaque for _, opaque in grounds} <= {0.0, 1.0}
        if contrast(ink, ground) < 4.5:
            out.append(text["text"])
    return out


def too_wide(found: dict[str, Any]) -> list[str]:
    # Half a pixel for rounding of the window's width.
    return [text["text"] for text in found["texts"] if text["right"] > found["room"] + 0.5]


def words(pdf: PdfReader) -> list[tuple[str, float, float]]:
    out: list[tuple[str, float, float]] = []

    def take(text: str, cm: list[float], tm: list[float], _font: object, size: float) -> None:
        if text.strip():
            out.append((text.strip(), (tm[4] * cm[0] + tm[5] * cm[2] + cm[4]) * MM, abs(size * tm[3] * cm[3])))

    for page in pdf.pages:
        page.extract_text(visitor_text=take)
    return out


def printed_size(page: Seen, beginning: str) -> float:
    return next(size for text, _, size in page.words if text.startswith(beginning))


@pytest.fixture(scope="module")
def sheet(tmp_path_factory: pytest.TempPathFactory) -> Seen:
    folder = tmp_path_factory.mktemp("sheet")
    shutil.copy(GALLERY / "waistcoat-scalloped.svg", folder)
    prices = ["--price", "eyelet=0.2", "--price", "cloth=18", "--price", "hour=20", "--currency", "EUR"]
    others = ["--minutes", "scallop=2.5", "--without", "eyelet", "-o", str(folder / "made.html")]
    made = CliRunner().invoke(app, ["sheet", str(folder / "waistcoat-scalloped.svg"), *prices, *others])
    assert made.exit_code == 0, made.output
    return seen(folder, (folder / "made.html").read_text(encoding="utf-8"))


@pytest.fixture(scope="module")
def bad(tmp_path_factory: pytest.TempPathFactory) -> Seen:
    return seen(tmp_path_factory.mktemp("bad"), BAD)


def test_it_asks_for_nothing(sheet: Seen, bad: Seen) -> None:
    assert bad.asked
    assert set(bad.asked) == {"http://asked.invalid/x.png"} == set(bad.found["asked"])
    assert sheet.asked == sheet.found["asked"] == []
    assert not list(sheet.page.iter("script"))


def test_it_prints_on_a4_at_its_own_size(sheet: Seen, bad: Seen) -> None:
    assert 1 < len(sheet.sheets) < 15
    for size in sheet.sheets:
        # ISO 216; the browser rounds to hundredths of an inch at most.
        assert size == pytest.approx([210.0, 297.0], abs=0.3)
    # What is too wide for its paper is printed smaller by the browser, or cut off.
    assert too_wide(bad.found)
    assert printed_size(bad, "wide") < 0.9 * BODY
    assert too_wide(sheet.found) == []
    assert sheet.found["wide"] <= sheet.found["room"]
    assert printed_size(sheet, "Wash or steam") == pytest.approx(BODY, abs=0.05)
    places = [place for _, place, _ in sheet.words]
    assert MARGIN - 0.1 <= min(places) < max(places) < 210.0 - MARGIN


def test_small_print_is_smaller_than_the_rest(sheet: Seen) -> None:
    assert printed_size(sheet, "Cloth is the area") < BODY
    assert printed_size(sheet, "hem as it will lie") < BODY


def test_all_texts_stand_out_from_their_ground(sheet: Seen, bad: Seen) -> None:
    # The formula's ends: black on white is 21 to 1, and a colour on itself 1 to 1.
    assert contrast((0, 0, 0), (255, 255, 255)) == pytest.approx(21.0)
    assert contrast((9, 9, 9), (9, 9, 9)) == 1.0
    assert hard_to_read(bad.found) == ["grey"]
    assert len(sheet.found["texts"]) > 100
    assert any(text["drawn"] for text in sheet.found["texts"])
    assert hard_to_read(sheet.found) == []


def test_what_a_screen_reader_steers_by(sheet: Seen) -> None:
    page = sheet.page
    assert page.get("lang") == "en"
    assert len(page.findall(".//main")) == len(page.findall(".//h1")) == 1
    levels = [int(heading.tag[1]) for heading in page.iter("h1", "h2", "h3", "h4")]
    assert levels[0] == 1
    assert all(after <= before + 1 for before, after in itertools.pairwise(levels))
    tables = list(page.iter("table"))
    assert len(tables) > 8
    for table in tables:
        assert table.findtext("caption")
        assert {cell.get("scope") for cell in table.iter("th")} == {"col"}
    pictures = list(page.iter("svg"))
    # The whole pattern, two pieces, three facings and an underlay, and two runs as sewn.
    assert len(pictures) == 9
    for picture in pictures:
        assert picture.get("role") == "img"
        assert len(picture.get("aria-label")) > 10
    names = [element.get("id") for element in page.iter() if element.get("id")]
    assert len(names) == len(set(names))
