"""A run as a group of the drawing."""

from __future__ import annotations

import re
from collections.abc import Collection, Iterator
from dataclasses import replace
from functools import partial
from typing import TYPE_CHECKING

import numpy as np
from lxml import etree

from ..geometry.cubics import Array, lines
from ..geometry.motion import apply, compose
from ..pattern.laying import true_lines
from .drawing import Drawing
from .ink import Ink
from .kept import kept_pieces
from .lines import stitching_text
from .markup import INKSCAPE, SVG
from .numbers import lines_texts, path_text
from .recipe import to_text
from .runs import Run
from .sheet import parts_at, to_sheet
from .sheet_places import Places, notes_beside, places_of

if TYPE_CHECKING:
    from .bought_trims import MadeTrim


def group_of(
    run: Run, drawing: Drawing, places: Places | None = None, cut: Collection[str] | None = None
) -> etree._Element:
    """The SVG group that shows a run; it carries its recipe, so that the run can be made again.

    Args:
        run: the run.
        drawing: its drawing.
        places: where its facings, cards, lacing and cautions lie; found for this run alone where they are not given.
        cut: the names of the pieces that are drawn as they are cut, whose groups have its notches on the cutting
            line; those that the drawing holds where they are not given.
    """
    pen = Pen(run, drawing)
    group = empty_group(run.name, to_text(replace(run.recipe, made=made(run))))
    if run.scallops is not None:
        group.extend(_stitching(pen))
        # Of a finished edge the cutting line is that of its piece, caps included.
        group.extend(_caps(pen) if run.finish is None else _clips(pen))
    group.extend(_true_lines(pen))
    if run.eyelets:
        group.extend(_rows(pen))
    if run.sewn_notches:
        group.extend(_notches(pen, kept_pieces(drawing.source).keys() if cut is None else cut))
    if run.trim is not None:
        group.extend(_bought_trim(pen, run.trim))
    if run.lacing is not None:
        group.extend(_channels(pen))
    if run.facings or run.templates or run.lacing is not None or notes_beside(run):
        group.extend(_beside(pen, places or places_of(drawing, [run])[run.name]))
    return group


def empty_group(name: str, recipe: str) -> etree._Element:
    """A group of our layer with nothing in it yet."""
    group = etree.Element(f"{{{SVG}}}g", nsmap={"svg": SVG, "inkscape": INKSCAPE})
    group.set("id", "scallopkit-" + (re.sub(r"[^\w.-]+", "-", name).strip("-") or "run"))
    group.set(f"{{{INKSCAPE}}}label", name)
    group.set("data-run", name)
    group.set("data-recipe", recipe)
    return group


def _stitching(pen: Pen) -> list[etree._Element]:
    """The trimmed line of each part; two halves of one piece are drawn once."""
    run, out = pen.run, []
    for share, part in zip(run.shares, run.laid.parts, strict=True):
        if part.copy_of is None:
            text = stitching_text(run.line, share, partial(pen.from_flat, share.part))
            if text:
                out.append(pen.path("stitching", text, share.part))
    return out


def _caps(pen: Pen) -> list[etree._Element]:
    """What darts need at a cutting line."""
    return [
        pen.path("cutting", path_text(pen.in_units(made.cap.curve), pen.places), made.joint)
        for made in pen.run.caps
        if made.cap is not None
    ]


def _clips(pen: Pen) -> list[etree._Element]:
    """What is snipped, and notched out, before the edge is turned."""
    made = pen.run.finish.clipping if pen.run.finish is not None else None
    if made is None:
        return []
    rows = [("clip", np.stack([clip.start, clip.point])) for clip in made.clips]
    rows += [("wedge", np.stack([wedge.mouth[0], wedge.tip, wedge.mouth[1]])) for wedge in made.wedges]
    sides = np.array([*(clip.point for clip in made.clips), *(wedge.middle for wedge in made.wedges)]).reshape(-1, 2)
    s = np.array([*(clip.s for clip in made.clips), *(wedge.s for wedge in made.wedges)])
    parts, turns = parts_at(pen.run, sides, s)
    places = list(zip(parts.tolist(), turns.tolist(), strict=True))
    maps = {place: compose(pen.from_mm, to_sheet(pen.run.laid, *place)) for place in set(places)}
    drawn = [k for k, (part, _) in enumerate(places) if pen.run.laid.parts[part].copy_of is None]
    texts = lines_texts([apply(maps[places[k]], rows[k][1]) for k in drawn], pen.places)
    return [pen.path(rows[k][0], text, places[k][0]) for k, text in zip(drawn, texts, strict=True)]


def _true_lines(pen: Pen) -> list[etree._Element]:
    """What would make each join true, on either piece beside it."""
    laid, out = pen.run.laid, []
    for part, curve in true_lines(laid):
        if laid.parts[part].copy_of is None:
            out.append(pen.path("true-line", path_text(pen.in_units(curve), pen.places), part))
    return out


def _rows(pen: Pen) -> list[etree._Element]:
    # Loaded only where there are any.
    from .row_figures import row_elements

    return [element for placed in pen.run.eyelets for element in row_elements(pen, placed)]


def _notches(pen: Pen, cut: Collection[str]) -> Iterator[etree._Element]:
    """The notches on pieces that are not drawn as they are cut."""
    parts = pen.run.laid.parts
    for notch in pen.run.sewn_notches:
        if parts[notch.part].edge.piece.name not in cut:
            yield pen.line("notch", lines(notch.line), parts[notch.part].edge.piece.name)


def _bought_trim(pen: Pen, placed: MadeTrim) -> Iterator[etree._Element]:
    # Loaded only where there is one.
    from .bought_trims import trim_elements

    return trim_elements(pen, placed)


def _channels(pen: Pen) -> list[etree._Element]:
    """Where channels for bones are stitched."""
    lines = pen.run.lacing.channels if pen.run.lacing is not None else ()
    return [pen.sewn(line, piece, "channel") for piece, line in lines]


def _beside(pen: Pen, places: Places) -> Iterator[etree._Element]:
    """Facings, cards, lacings and cautions, each as a group of its own, so that it can be moved as one."""
    # Loaded only where there are any.
    from .facings import facing_elements
    from .templates import template_elements

    for facing, shift in zip(pen.run.facings, places.facings, strict=True):
        yield _together(facing.name, facing_elements(pen, facing, shift))
    for card, shift in zip(pen.run.templates, places.templates, strict=True):
        yield _together(card.name, template_elements(pen, card, shift))
    if pen.run.lacing is not None:
        from .lacing import lacing_groups

        for name, elements, role in lacing_groups(pen, pen.run.lacing, places.lacing):
            group = _together(name, elements)
            if role:
                group.attrib.update({"data-role": role, "data-run": pen.name, "data-piece": name})
            yield group
    if places.notes:
        from .caution_notes import note_element

        for note, shift in zip(notes_beside(pen.run), places.notes, strict=True):
            yield _together(note.name, [note_element(pen, note.lines, shift, note.name)])


def _together(name: str, elements: list[etree._Element]) -> etree._Element:
    group = etree.Element(f"{{{SVG}}}g")
    group.set(f"{{{INKSCAPE}}}label", name)
    group.extend(elements)
    return group


def made(run: Run) -> dict[str, object]:
    """What a later `refit` compares with: count, widths and length."""
    return {
        "count": run.count,
        "widths_mm": [round(w, 6) for w in run.widths],
        "length_mm": round(run.course.measured.length, 6),
    }


class Pen(Ink):
    """Draws the elements of one run."""

    def __init__(self, run: Run, drawing: Drawing) -> None:
        super().__init__(run.name, drawing)
        self.run = run

    def from_flat(self, part: int, turn: int) -> Array:
        """The map from the flat frame, where elements are `turn` turns of a loop further on, to user units."""
        return compose(self.from_mm, to_sheet(self.run.laid, part, -turn))

    def path(self, role: str, d: str, part: int) -> etree._Element:
        """A path of that role on the piece of a part."""
        return self.drawn(role, d, self._piece(part))

    def circle(self, role: str, centre: Array, radius: float, part: int) -> etree._Element:
        """A circle of that role on the piece of a part; centre on the sheet and radius in mm."""
        return self.ring(role, centre, radius, self._piece(part))

    def _piece(self, part: int) -> str:
        return self.run.laid.parts[part].edge.piece.name
