"""Run by the system's Python beside a real office: draws, fits, undoes, and prints what it found as JSON.

Arguments: the folder that holds the macro, the name of the pipe on which the office listens, and a folder to save in.
"""

from __future__ import annotations

import importlib
import json
import sys
import time
from collections.abc import Sequence
from contextlib import suppress
from pathlib import Path
from typing import Any

# Only the system's Python has it.
uno: Any = importlib.import_module("uno")

_KINDS = {2: ["NORMAL"], 4: ["CONTROL", "CONTROL", "NORMAL"]}


def connected(pipe: str) -> Any:  # noqa: ANN401  # the host's own objects
    """The office's context, as soon as it answers."""
    local = uno.getComponentContext()
    resolver = local.ServiceManager.createInstanceWithContext("com.sun.star.bridge.UnoUrlResolver", local)
    end = time.monotonic() + 40.0
    context = None
    while context is None and time.monotonic() < end:
        # It is still starting until it answers.
        with suppress(Exception):
            context = resolver.resolve(f"uno:pipe,name={pipe};urp;StarOffice.ComponentContext")
        time.sleep(0.05)
    return context


class Sheet:
    """A document of the host with what the tests draw on it."""

    def __init__(self, context: Any) -> None:  # noqa: ANN401  # the host's own objects
        desktop = context.ServiceManager.createInstanceWithContext("com.sun.star.frame.Desktop", context)
        self.context, self.desktop = context, desktop
        self.doc = desktop.loadComponentFromURL("private:factory/sdraw", "_blank", 0, ())
        self.page = self.doc.DrawPages.getByIndex(0)

    def new(self, kind: str, within: Any = None) -> Any:  # noqa: ANN401  # the host's own objects
        shape = self.doc.createInstance(f"com.sun.star.drawing.{kind}Shape")
        (self.page if within is None else within).add(shape)
        return shape

    def line(self, name: str, closed: bool, segments: Sequence[Sequence[tuple[int, int]]], within: Any = None) -> Any:  # noqa: ANN401  # the host's own objects
        """A line of segments in hundredths of a mm, of two or four points each."""
        shape = self.new("ClosedBezier" if closed else "OpenBezier", within)
        places = [segments[0][0], *(point for segment in segments for point in segment[1:])]
        flags = ["NORMAL", *(flag for segment in segments for flag in _KINDS[len(segment)])]
        coordinates = uno.createUnoStruct("com.sun.star.drawing.PolyPolygonBezierCoords")
        coordinates.Coordinates = (tuple(uno.createUnoStruct("com.sun.star.awt.Point", x, y) for x, y in places),)
        coordinates.Flags = (tuple(uno.Enum("com.sun.star.drawing.PolygonFlags", flag) for flag in flags),)
        shape.PolyPolygonBezier = coordinates
        shape.Name = name
        return shape

    def small(self, kind: str, name: str, x: int, y: int, size: int) -> Any:  # noqa: ANN401  # the host's own objects
        shape = self.new(kind)
        shape.Position = uno.createUnoStruct("com.sun.star.awt.Point", x - size // 2, y - size // 2)
        shape.Size = uno.createUnoStruct("com.sun.star.awt.Size", size, size)
        shape.Name = name
        return shape

    def select(self, *shapes: Any) -> None:  # noqa: ANN401  # the host's own objects
        chosen = self.context.ServiceManager.createInstanceWithContext(
            "com.sun.star.drawing.ShapeCollection", self.context
        )
        for shape in shapes:
            chosen.add(shape)
        self.doc.CurrentController.select(chosen)
        # Asked from outside while it is busy, the office may tell of new shapes that they have no size and no name yet.
        end = time.monotonic() + 5.0
        while shapes and time.monotonic() < end:
            found = self.doc.CurrentController.getSelection()
            there = [found.getByIndex(k).Size for k in range(found.Count)] if found is not None else []
            if len(there) == len(shapes) and all(size.Width + size.Height > 0 for size in there):
                break
            time.sleep(0.05)

    def shapes(self) -> list[dict[str, Any]]:
        """All shapes of the page, groups with what is in them."""
        return [told(self.page.getByIndex(k)) for k in range(self.page.Count)]

    def ours(self) -> list[dict[str, Any]]:
        return [shape for shape in self.shapes() if shape["name"].startswith("scallopkit: ")]

    def theirs(self) -> list[dict[str, Any]]:
        return [shape for shape in self.shapes() if not shape["name"].startswith("scallopkit: ")]

    def layers(self) -> dict[str, list[bool]]:
        layers = [self.doc.LayerManager.getByName(name) for name in self.doc.LayerManager.ElementNames]
        return {layer.Name: [layer.IsVisible, layer.IsPrintable, layer.IsLocked] for layer in layers}


def told(shape: Any) -> dict[str, Any]:  # noqa: ANN401  # the host's own objects
    """A shape as plain data."""
    at, size = shape.Position, shape.Size
    out: dict[str, Any] = {
        "kind": shape.ShapeType.rpartition(".")[2],
        "name": shape.Name,
        "layer": shape.LayerName,
        "box": [at.X, at.Y, size.Width, size.Height],
        "note": shape.Description,
    }
    if hasattr(shape, "Count"):
        out["within"] = [told(shape.getByIndex(k)) for k in range(shape.Count)]
    elif hasattr(shape, "PolyPolygonBezier"):
        points = shape.PolyPolygonBezier
        out["points"] = [[[p.X, p.Y] for p in part] for part in points.Coordinates]
        out["flags"] = [[flag.value == "CONTROL" for flag in part] for part in points.Flags]
        out["style"] = [shape.LineColor, shape.LineWidth, shape.LineStyle.value, shape.FillStyle.value]
    return out


# ---------------------------------------------------------------- the scenes


def fitting(sheet: Sheet, tools: Any, folder: Path) -> dict[str, Any]:  # noqa: ANN401  # the macro
    """A line fitted, fitted again, undone and redone."""
    neck = sheet.line("neck", False, [[(2000, 4000), (4000, 10000), (12000, 10000), (14000, 4000)]])
    sheet.line(
        "", True, [[(3000, 14000), (9000, 14000)], [(9000, 14000), (9000, 18000)], [(9000, 18000), (3000, 14000)]]
    )
    before, layers = sheet.shapes(), sheet.layers()
    sheet.select(neck)
    first = tools.scallop_with(sheet.doc, {"width": "9mm", "depth": "40%"})
    once = sheet.shapes()
    second = tools.scallop_with(sheet.doc, {"width": "11mm"})
    twice = sheet.shapes()
    again = tools.fit_all_again_on(sheet.doc)
    manager = sheet.doc.UndoManager
    titles = [*manager.getAllUndoActionTitles()]
    walk = []
    for step in "uuurrr":
        (manager.undo if step == "u" else manager.redo)()
        walk.append(sheet.shapes())
    thrice = sheet.shapes()
    url = uno.systemPathToFileUrl(str(folder / "fitted.odg"))
    sheet.doc.storeToURL(url, ())
    return {
        "before": before,
        "layers before": layers,
        "said": [first, second, again],
        "once": once,
        "twice": twice,
        "thrice": thrice,
        "titles": titles,
        "walk": walk,
        "layers": sheet.layers(),
    }


def undoing(sheet: Sheet, tools: Any, folder: Path) -> dict[str, Any]:  # noqa: ANN401  # the macro
    """One step back takes all away, one step on brings it back."""
    neck = sheet.line("neck", False, [[(2000, 4000), (4000, 10000), (12000, 10000), (14000, 4000)]])
    before, layers = sheet.shapes(), sheet.layers()
    sheet.select(neck)
    tools.scallop_with(sheet.doc, {"width": "9mm"})
    done = sheet.shapes()
    sheet.doc.UndoManager.undo()
    undone, layers_undone = sheet.shapes(), sheet.layers()
    sheet.doc.UndoManager.redo()
    return {
        "before": [before, layers],
        "done": [done, sheet.layers()],
        "undone": [undone, layers_undone],
        "redone": [sheet.shapes(), sheet.layers()],
    }


def groups(sheet: Sheet, tools: Any, folder: Path) -> dict[str, Any]:  # noqa: ANN401  # the macro
    """A closed outline and a line in a rotated group, with eyelets and notches."""
    group = sheet.new("Group")
    sheet.line(
        "cuff",
        True,
        [[(3000, 14000), (3000, 11000), (9000, 11000), (9000, 14000)], [(9000, 14000), (3000, 14000)]],
        group,
    )
    sheet.line("strap", False, [[(3000, 16000), (9000, 17000)]], group)
    group.Name, group.RotateAngle = "sleeve", 1500
    points = {shape["name"]: shape for shape in told(group)["within"]}
    sheet.select(group)
    said = [tools.scallop_with(sheet.doc, {"width": "9mm"})]
    said.append(tools.eyelets_with(sheet.doc, {"eyelet": "2mm", "margin": "1mm", "where": "scallops"}))
    said.append(tools.notches_with(sheet.doc, {"at": "parts:3"}))
    return {"lines": points, "said": said, "ours": sheet.ours(), "group": told(group)}


def edges(sheet: Sheet, tools: Any, folder: Path) -> dict[str, Any]:  # noqa: ANN401  # the macro
    """An edge between two small shapes; lines without names; edges that were moved."""
    front = sheet.line(
        "front", True, [[(2000, 2000), (14000, 2000)], [(14000, 2000), (14000, 12000)], [(14000, 12000), (2000, 2000)]]
    )
    marks = [sheet.small("Ellipse", "from here", 4000, 2000, 200), sheet.small("Ellipse", "to here", 13000, 2000, 200)]
    plain = [sheet.line("", False, [[(2000, 15000 + 2000 * k), (9000 + 1000 * k, 15000 + 2000 * k)]]) for k in range(2)]
    sheet.select(front, *marks)
    said = [tools.scallop_with(sheet.doc, {"width": "9mm"})]
    sheet.select(*plain)
    said.append(tools.scallop_with(sheet.doc, {"width": "10mm"}))
    first = sheet.ours()
    # One of the lines without a name becomes longer, and the marked edge too.
    plain[1].Size = uno.createUnoStruct("com.sun.star.awt.Size", 12000, plain[1].Size.Height)
    marks[0].Position = uno.createUnoStruct("com.sun.star.awt.Point", 2900, 1900)
    said.append(tools.fit_all_again_on(sheet.doc))
    return {"said": said, "first": first, "then": sheet.ours(), "theirs": sheet.theirs()}


def refusals(sheet: Sheet, tools: Any, folder: Path) -> dict[str, Any]:  # noqa: ANN401  # the macro
    """What can't be meant."""
    out = {}
    sheet.select()
    out["nothing"] = tools.scallop_with(sheet.doc, {"width": "9mm"})
    sheet.select(sheet.small("Rectangle", "pocket", 8000, 8000, 4000))
    out["rectangle"] = tools.scallop_with(sheet.doc, {"width": "9mm"})
    sheet.select(sheet.line("hem", False, [[(2000, 4000), (14000, 4000)]]))
    out["too wide"] = tools.scallop_with(sheet.doc, {"width": "900mm"})
    out["no scallops"] = tools.eyelets_with(sheet.doc, {"eyelet": "2mm", "where": "scallops"})
    out["nothing of ours"] = tools.fit_all_again_on(sheet.doc)
    out["a fault"] = tools.scallop_with(sheet.doc, 3)
    out["shapes"] = len(sheet.shapes())
    out["steps"] = [*sheet.doc.UndoManager.getAllUndoActionTitles()]
    return out


def script(sheet: Sheet, _: Any, folder: Path) -> dict[str, Any]:  # noqa: ANN401  # the macro
    """The macro run by the office itself, from the user's own folder of macros."""
    sheet.select(sheet.line("hem", False, [[(2000, 4000), (14000, 4000)]]))
    place = "scallopkit|tools.py$scallop_with?language=Python&location=user"
    found = sheet.doc.getScriptProvider().getScript(f"vnd.sun.star.script:{place}")
    said = found.invoke((sheet.doc, json.dumps({"width": "9mm"})), (), ())[0]
    undone = len(sheet.shapes())
    sheet.doc.UndoManager.undo()
    left = len(sheet.shapes())
    sheet.doc.UndoManager.redo()
    return {"said": said, "counts": [undone, left, len(sheet.shapes())]}


def main() -> None:
    """Plays all scenes, each in a document of its own, and ends the office."""
    macro, pipe, folder = Path(sys.argv[1]), sys.argv[2], Path(sys.argv[3])
    sys.path[:0] = [str(macro), str(macro / "pythonpath")]
    tools = importlib.import_module("tools")

    context = connected(pipe)
    found: dict[str, Any] = {}
    sheet = None
    try:
        for scene in (fitting, undoing, groups, edges, refusals, script):
            sheet = Sheet(context)
            found[scene.__name__] = scene(sheet, tools, folder)
            sheet.doc.close(True)
    finally:
        if sheet is not None:
            sheet.desktop.terminate()
    sys.stdout.write(json.dumps(found))


if __name__ == "__main__":
    main()
