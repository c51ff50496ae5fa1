"""The make sheet: one page of HTML with pictures, what to cut, what to buy, the order of work, hours and cost."""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from html import escape
from typing import Any

import numpy as np

from ..geometry import cubics
from .cloth_needed import ClothNeeded
from .cloth_picture import cloth_picture
from .drawing import Drawing
from .drawn import MARK, START, Drawn, DrawnLine, DrawnText, drawn
from .estimate import SEAMS_COUNTED, Estimate
from .numbers import decimal, path_text
from .order_of_work import order_of_work
from .styles import LineStyle, cleared

# Round a picture, mm, and decimals of a mm in it.
_ROUND, _PLACES = 8.0, 2
# Roles of lines that something is cut along.
_CUT = ("cutting", "facing", "lining")
_STYLE = """
:root { color-scheme: light; }
body { font: 11pt/1.45 sans-serif; color: #111; background: #fff; }
body { margin: 2rem auto; max-width: 60rem; padding: 0 1rem; }
h1 { font-size: 1.6rem; margin: 0 0 .3rem; }
h2 { font-size: 1.15rem; margin: 2rem 0 .5rem; border-bottom: 1px solid #111; }
table { border-collapse: collapse; width: 100%; margin: .5rem 0 1rem; } caption { text-align: left; font-weight: bold; }
th, td { text-align: left; padding: .2rem .6rem .2rem 0; border-bottom: 1px solid #999; vertical-align: top; }
td.n, th.n { text-align: right; font-variant-numeric: tabular-nums; } tfoot td { font-weight: bold; }
ol li { margin: .35rem 0; } .box { border: 2px solid #111; padding: .6rem 1rem; margin: .5rem 0; }
figure { margin: .5rem 0 1rem; } figure svg { width: 100%; height: auto; max-height: 20cm; border: 1px solid #999; }
.pieces { display: flex; flex-wrap: wrap; gap: .8rem; align-items: end; }
.pieces figure { flex: 1 1 30%; max-width: 32%; margin: 0; } .pieces svg { max-height: 7cm; }
figcaption { font-size: .9em; } p.small { font-size: .9em; }
@page { size: A4; margin: 15mm; }
@media print { body { margin: 0; max-width: none; font-size: 9.5pt; } section { break-inside: auto; }
  table, figure, .box { break-inside: avoid; } h2 { break-after: avoid; } }
"""


@dataclass(frozen=True, eq=False)
class SheetWish:
    """What goes on a make sheet beside its drawing and its report.

    Attributes:
        title: its heading; else the drawing's name.
        flats: pictures of runs laid flat, by their names, as SVG.
        estimates: one, or two to be compared, each with what it is called.
        findings: what `check` has found, line by line.
        cloths: how much is needed of each cloth.
        everything: all lines and texts of the drawing, where they were read before.
    """

    title: str
    flats: Mapping[str, bytes]
    estimates: Sequence[tuple[str, Estimate]]
    findings: Sequence[str] = ()
    cloths: Sequence[ClothNeeded] = ()
    everything: Drawn | None = None


def make_sheet(drawing: Drawing, report: Mapping[str, Any], wish: SheetWish) -> bytes:
    """The sheet as one HTML file that needs nothing else.

    Args:
        drawing: the drawing with everything in it.
        report: the report on it.
        wish: what else there is.
    """
    title, everything = wish.title or drawing.name, wish.everything or drawn(drawing)
    parts = [
        f"<header><h1>{escape(title)}</h1><p>{escape(_in_short(report))}</p></header><main>",
        _section("The pattern", [_whole(everything)]),
        *_cautions(report),
        _section("To cut", [*_cut_list(report, wish.cloths), _cut_pieces(everything, report)]),
        _section("Scallops and other lines", list(_runs(report, wish.flats))),
        _section("To buy", list(_to_buy(wish.estimates, wish.cloths))),
        *([_section("Cloth to buy", list(_cloths(wish.cloths)))] if wish.cloths else []),
        _section("Order of work", [_numbered(order_of_work(report))]),
        _section("Checks", list(_checks(report, wish.findings))),
        _section("Hours and cost", list(_hours(wish.estimates))),
        "</main>",
    ]
    head = (
        '<!DOCTYPE html>\n<html lang="en"><head><meta charset="utf-8">'
        f'<meta name="viewport" content="width=device-width"><title>{escape(title)}</title>'
        f"<style>{_STYLE}</style></head><body>"
    )
    return "\n".join([head, *parts, "</body></html>", ""]).encode("utf-8")


def on_pages(sheet: bytes, size: str) -> bytes:
    """The sheet with the size of pages on which a browser prints it, as CSS calls it."""
    return sheet.replace(b"@page { size: A4;", f"@page {{ size: {size};".encode(), 1)


def _in_short(report: Mapping[str, Any]) -> str:
    scallops = sum(run["totals"]["scallops"] for run in report["runs"])
    eyelets = sum(run["totals"]["eyelets"] for run in report["runs"])
    told = [f"{scallops:g} scallops"] if scallops else []
    told += [f"{eyelets:g} eyelets"] if eyelets else []
    told += [f"{len(report['pieces'])} pieces of the pattern"] if report["pieces"] else []
    return ", ".join(told) or "Nothing is trimmed yet."


def _section(title: str, parts: Sequence[str]) -> str:
    name = re.sub(r"[^a-z]+", "-", title.lower()).strip("-")
    inner = "\n".join(part for part in parts if part) or "<p>None.</p>"
    return f'<section aria-labelledby="{name}"><h2 id="{name}">{escape(title)}</h2>\n{inner}\n</section>'


def _table(caption: str, heads: Sequence[str], rows: Sequence[Sequence[str]], foot: Sequence[str] = ()) -> str:
    """A table; columns whose cells are numbers stand to the right."""
    if not rows:
        return ""
    right = [all(re.fullmatch(r"[-+]?[\d.,]+", row[k] or "0") for row in rows) for k in range(len(heads))]

    def cells(row: Sequence[str], tag: str) -> str:
        kinds = [' class="n"' if number else "" for number in right]
        scope = ' scope="col"' if tag == "th" else ""
        return "".join(f"<{tag}{kind}{scope}>{escape(cell)}</{tag}>" for kind, cell in zip(kinds, row, strict=True))

    body = "".join(f"<tr>{cells(row, 'td')}</tr>" for row in rows)
    end = f"<tfoot><tr>{cells(foot, 'td')}</tr></tfoot>" if foot else ""
    head = f"<thead><tr>{cells(heads, 'th')}</tr></thead>"
    return f"<table><caption>{escape(caption)}</caption>{head}<tbody>{body}</tbody>{end}</table>"


def _numbered(steps: Sequence[str]) -> str:
    return f"<ol>{''.join(f'<li>{escape(step)}</li>' for step in steps)}</ol>" if steps else ""


# ---------------------------------------------------------------- pictures


def _whole(everything: Drawn) -> str:
    """The whole drawing, small."""
    if not everything.lines:
        return ""
    picture = _picture(everything.lines, everything.texts, "The pattern with everything on it")
    caption = "Not to scale; <code>paper</code> prints it at full size."
    return f"<figure>{picture}<figcaption>{caption}</figcaption></figure>"


def _cut_pieces(everything: Drawn, report: Mapping[str, Any]) -> str:
    """Each piece that is cut, with all that is on it, side by side; the pattern's own come first."""
    cut = dict.fromkeys(line.piece for line in everything.lines if line.role in _CUT and line.piece)
    names = dict.fromkeys([*(one["name"] for one in report["pieces"] if one["name"] in cut), *cut])
    out = []
    for name in names:
        lines = [line for line in everything.lines if line.piece == name]
        texts = [text for text in everything.texts if text.piece == name and text.role != MARK]
        picture = _picture(lines, texts, f"{escape(name)} as it is cut")
        out.append(f"<figure>{picture}<figcaption>{escape(name)}</figcaption></figure>")
    return f'<div class="pieces">{"".join(out)}</div>' if out else ""


def _picture(lines: Sequence[DrawnLine], texts: Sequence[DrawnText], label: str) -> str:
    """Lines and texts as they lie on the drawing, read out as one picture."""
    low, high = cubics.bounds(np.concatenate([line.curve for line in lines])) + np.array([[-_ROUND], [_ROUND]])
    x, y, width, height = (decimal(float(v), 1) for v in (*low, *(high - low)))
    out = [f'<svg viewBox="{x} {y} {width} {height}" role="img" aria-label="{label}">']
    least = 0.001 * float((high - low).max())
    for line in lines:
        look = replace(line.look, width_mm=max(line.look.width_mm, least))
        # The cutting line runs along folds too, and would fill the gaps between their dashes.
        out += [_line(line, one) for one in ((cleared(look), look) if line.role == "fold" else (look,))]
    for text in texts:
        anchor = f' text-anchor="{text.anchor}"' * (text.anchor != START)
        for words, place in text.rows:
            a, b, size = (decimal(float(v), 2) for v in (*place, text.size))
            turn = f' transform="rotate({decimal(float(np.degrees(text.angle)), 1)} {a} {b})"' * bool(text.angle)
            out.append(f'<text x="{a}" y="{b}" font-size="{size}"{anchor}{turn}>{escape(words)}</text>')
    return "".join([*out, "</svg>"])


def _line(line: DrawnLine, look: LineStyle) -> str:
    dashes = f' stroke-dasharray="{",".join(decimal(d, 2) for d in look.dashes_mm)}"' * bool(look.dashes_mm)
    path, wide = path_text(line.curve, _PLACES, line.closed), decimal(look.width_mm, 2)
    return f'<path d="{path}" fill="none" stroke="{escape(look.colour)}" stroke-width="{wide}"{dashes}/>'


def _inline(svg: bytes, label: str) -> str:
    """An SVG file as part of a page: as wide as there is room, read out as one picture.

    It loses its declaration, and its ids, since several of them stand on one page and nothing in them refers to one.
    """
    text = re.sub(r"^.*?(?=<svg)", "", svg.decode("utf-8"), flags=re.DOTALL)
    text = re.sub(r'^(<svg[^>]*?) width="[^"]*" height="[^"]*"', r"\1", text, count=1)
    text = re.sub(r' id="[^"]*"', "", text)
    return text.replace("<svg", f'<svg role="img" aria-label="{label}"', 1)


# ---------------------------------------------------------------- what there is


def _cautions(report: Mapping[str, Any]) -> Iterator[str]:
    told = dict.fromkeys(
        [
            *(caution for run in report["runs"] for caution in run["cautions"]),
            *(caution for match in report["matches"] for caution in match["cautions"]),
            *(caution for strap in report["straps"] for caution in strap.get("cautions", ())),
        ]
    )
    if told:
        yield _section("Cautions", [f'<p class="box">{escape(text)}</p>' for text in told])


def _cut_list(report: Mapping[str, Any], laid: Sequence[ClothNeeded]) -> Iterator[str]:
    cloths = {shape.name: one.called for one in laid for shape in one.layout.placed}
    rows = [(one["name"], one["cut"], one["cloth"] or "") for one in report["pieces"]]
    rows += [
        (f"{one['name']} lining", one["cut"], one["lining"]["cloth"] or "lining")
        for one in report["pieces"]
        if one["lining"]
    ]
    for run in report["runs"]:
        for facing in run["facings"]:
            lined = f", interlining {facing['interlining']}" if facing["interlining"] else ""
            how = f"{facing['cut']}, {facing['kind']}, {facing['depth_mm']:g} mm deep{lined}"
            rows.append((facing["name"], how, facing["cloth"] or ""))
        under = run["lacing"]["underlay"] if run["lacing"] else None
        if under:
            size = f"{under['cut_width_mm']:.0f} by {under['cut_length_mm']:.0f} mm"
            rows.append((under["name"], f"cut {under['count']}, {size}", ""))
    yield _table("Pieces", ("piece", "how", "cloth"), [(name, how, cloths.get(name, own)) for name, how, own in rows])
    straps = [
        (one["name"], str(one["fold"]), f"{one['number']:g}", f"{one['cut_length_mm']:.0f}", _mm(one["cut_width_mm"]))
        for one in report["straps"]
    ]
    yield _table("Straps, bands and cords", ("name", "made", "number", "cut mm", "wide mm"), straps)


def _mm(value: float | None) -> str:
    return "" if not value else f"{value:.0f}"


def _runs(report: Mapping[str, Any], flats: Mapping[str, bytes]) -> Iterator[str]:
    for run in report["runs"]:
        name = escape(run["name"])
        totals = run["totals"]
        told = [f"{run['length_mm']:.1f} mm along the edge"]
        told += [f"{run['count']:g} scallops, {totals['scallops']:g} in all"] if run["count"] else []
        told += [f"{totals['clips']:g} clips"] if totals["clips"] else []
        told += [f"{totals['eyelets']:g} eyelets"] if totals["eyelets"] else []
        trim = run["trim"]
        told += [f"a trim of {trim['count']:g} repeats of {trim['repeat_mm']:g} mm"] if trim else []
        yield f"<h3>{name}</h3><p>{escape('; '.join(told))}.</p>"
        spans = [
            (one["from"], one["to"], f"{one['count']:g}", f"{one['width_mm']:.2f}", f"{one['length_mm']:.1f}")
            for one in run["spans"]
        ]
        yield _table("Spans", ("from", "to", "scallops", "width mm", "length mm"), spans)
        yield _table("Scallops", ("numbers", "width mm", "depth mm", "radius mm", "on"), _sizes(run["scallops"]))
        yield _table("Holes", ("what", "number", "opening mm", "hole to cut mm", "apart mm"), _holes(run["eyelets"]))
        stitches = [
            (f"{len(one['scallops'])}", f"{one['stitches']}", f"{one['length_mm']:.2f}")
            for one in (run["finish"]["stitches"] if run["finish"] else ())
        ]
        yield _table("Stitches", ("scallops", "stitches round each", "stitch mm"), stitches)
        if run["name"] in flats:
            caption = f"{name} as it will lie once sewn"
            picture = _inline(flats[run["name"]], caption)
            yield f"<figure>{picture}<figcaption>{caption}</figcaption></figure>"


def _sizes(scallops: Sequence[Mapping[str, Any]]) -> list[tuple[str, ...]]:
    """Scallops of one size that follow each other on the same pieces, in a row each."""
    rows: list[tuple[list[int], tuple[str, ...]]] = []
    for one in scallops:
        radius = "" if one["radius_mm"] is None else f"{one['radius_mm']:.2f}"
        pieces = " and ".join(one["pieces"]) + (", round a corner" if one["corner"] else "")
        size = f"{one['width_mm']:.2f}", f"{one['depth_mm']:.2f}", radius, pieces
        if rows and rows[-1][1] == size:
            rows[-1][0].append(one["index"])
        else:
            rows.append(([one["index"]], size))
    return [(f"{n[0]} to {n[-1]}" if len(n) > 1 else f"{n[0]}", *size) for n, size in rows]


def _holes(eyelets: Sequence[Mapping[str, Any]]) -> list[tuple[str, ...]]:
    """Eyelets and what stands for them of one size, in a row each."""
    rows: dict[tuple[str, str, str], list[float]] = {}
    for one in eyelets:
        sizes = (_mm_of(one["opening_mm"]), _mm_of(one["slit_mm"] or one["hole_mm"]))
        rows.setdefault((str(one["part"]), *sizes), []).append(one["s_mm"])
    return [(part, f"{len(s)}", opening, cut, _apart(s)) for (part, opening, cut), s in rows.items()]


def _mm_of(value: float | None) -> str:
    return "" if value is None else f"{value:g}"


def _apart(s: Sequence[float]) -> str:
    """How far neighbours are apart along the edge, from the least to the most."""
    if len(s) < 2:
        return ""
    steps = [f"{step:.1f}" for step in np.diff(np.sort(s))]
    low, high = min(steps, key=float), max(steps, key=float)
    return low if low == high else f"{low} to {high}"


def _to_buy(estimates: Sequence[tuple[str, Estimate]], laid: Sequence[ClothNeeded]) -> Iterator[str]:
    for called, found in estimates:
        rows = [(_called(name), _amount(value), unit) for name, value, unit in found.quantities if name in _BOUGHT]
        yield _table(f"Quantities, as sewn{called and f': {called}'}", ("what", "how much", "unit"), rows)
    cloth = (
        "Cloth is what is to be bought of it, as below, without linings and interlinings, which stand by themselves; "
        "bindings are cut from it"
        if laid
        else "Cloth is the area of the cut pieces, without the waste between them and without shrinkage"
    )
    cloth += "; nothing of what does not fit on it is counted" * any(one.layout.unfit for one in laid)
    sewn = any(name == "thread" for _, found in estimates for name, _, _ in found.quantities)
    thread = "; thread is lockstitch on 1 mm of cloth with 15 % over" if sewn else ""
    yield f'<p class="small">{cloth}{thread}.</p>'


def _cloths(cloths: Sequence[ClothNeeded]) -> Iterator[str]:
    rows = []
    for one in cloths:
        layout = one.layout
        row = (one.called, f"{layout.cloth.width:g}", layout.cloth.lies + (", one way" if layout.cloth.one_way else ""))
        used = (f"{np.ceil(layout.length):.0f}", f"{100.0 * one.shrinkage:g} %", f"{one.to_buy:.0f}", one.metres)
        rows.append((*row, *used, f"{100.0 * layout.efficiency:.0f} %"))
    heads = ("cloth", "mm wide", "laid", "used mm", "reserve", "to buy mm", "ask for", "of it cut")
    yield _table("Cloth by the length", heads, rows)
    yield (
        '<p class="small">A simple layout, no optimum: it never overlaps, but by hand pieces may be moved closer. The '
        "reserve is for shrinking: after so much of it is lost, what the layout takes is left; wash and measure a "
        "sample of your cloth. The width is what can be used between the selvages once the cloth is washed.</p>"
    )
    for one in cloths:
        if one.layout.placed:
            picture, numbers = cloth_picture(one.layout, one.called)
            told = ". ".join(
                [f"{one.called}, {one.layout.cloth.lies}, not to scale", *(["; ".join(numbers)] if numbers else [])]
            )
            yield f"<figure>{picture}<figcaption>{escape(told)}.</figcaption></figure>"
        if one.notes:
            yield f"<p>{escape(one.called)}:</p><ul>{''.join(f'<li>{escape(note)}.</li>' for note in one.notes)}</ul>"


_BOUGHT = (
    "cloth",
    "lining",
    "interlining",
    "eyelet",
    "buttonhole",
    "snap",
    "button",
    "cord",
    "trim",
    "binding",
    "tape",
    "thread",
)


def _called(name: str) -> str:
    return {"tape": "stay tape", "trim": "trim by the metre", "hour": "work"}.get(name, name)


def _amount(value: float) -> str:
    return f"{value:.2f}" if value != round(value) else f"{value:.0f}"


def _checks(report: Mapping[str, Any], findings: Sequence[str]) -> Iterator[str]:
    yield f"<ul>{''.join(f'<li>{escape(line)}</li>' for line in findings)}</ul>" if findings else ""
    told = list(dict.fromkeys(warning["message"] for warning in report["warnings"]))
    if told:
        yield f"<p>Mind:</p><ul>{''.join(f'<li>{escape(text)}</li>' for text in told)}</ul>"


def _hours(estimates: Sequence[tuple[str, Estimate]]) -> Iterator[str]:
    for called, found in estimates:
        rows = [
            (
                _called(line.what),
                f"{_amount(line.quantity)}{line.unit and ' ' + line.unit}",
                f"{line.each:.2f}",
                f"{line.total:.1f}",
            )
            for line in found.work
        ]
        foot = ("together", "", "", f"{60.0 * found.hours:.1f}")
        beside = called and f": {called}"
        yield _table(f"Minutes{beside}", ("what", "how much", "each", "minutes"), rows, foot)
        costs = [
            (_called(line.what), _amount(line.quantity), line.unit, f"{line.each:.2f}", f"{line.total:.2f}")
            for line in found.cost
        ]
        price = ("together", "", "", "", f"{found.price:.2f}")
        heads = ("what", "how much", "by the", "price", found.currency or "cost")
        yield _table(f"Cost{beside}", heads, costs, price)
        yield f"<p>{_amount(round(found.hours, 2))} hours{beside}.</p>"
    if any(name == "seam" for _, found in estimates for name, _, _ in found.quantities):
        yield f'<p class="small">{SEAMS_COUNTED}</p>'
    yield '<p class="small">Minutes are guesses unless you set your own: time a few of each with a watch.</p>'
    if len(estimates) == 2:
        (one, first), (other, second) = estimates
        rows = [
            ("hours", f"{first.hours:.2f}", f"{second.hours:.2f}", f"{second.hours - first.hours:+.2f}"),
        ]
        if first.cost or second.cost:
            rows.append(("cost", f"{first.price:.2f}", f"{second.price:.2f}", f"{second.price - first.price:+.2f}"))
        yield _table("Two ways compared", ("", one, other, "difference"), rows)
