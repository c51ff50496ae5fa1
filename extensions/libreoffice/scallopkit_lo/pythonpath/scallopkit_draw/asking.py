"""The dialogues, built of the host's own controls: a column of fields a heading, with OK and Cancel below."""

from __future__ import annotations

import re
from dataclasses import dataclass

_ROW, _COLUMN, _MARGIN = 16, 220, 6
_LABEL, _FIELD, _UNIT = 94, 40, 70
_LENGTH = re.compile(r"([\d.]+)(mm|cm|in|%)?")
UNITS = (("mm", "mm"), ("cm", "cm"), ("in", "inches"))
DEPTHS = (("%", "% of the width"), *UNITS)


@dataclass
class Number:
    """A number of so many digits after the point, with a unit where there are any; 0 stands for: not given."""

    name: str
    label: str
    value: float
    units: tuple = ()
    digits: int = 2

    def put(self, box: _Box, text: str | None) -> None:
        """Places the field, with what it held before where that is told."""
        value, unit = self._filled(text)
        wide = _FIELD if self.units else _FIELD + _UNIT
        bounds = {"ValueMin": 0.0, "ValueMax": 5000.0, "DecimalAccuracy": self.digits}
        box.add("NumericField", self.name, wide, Value=value, Spin=True, **bounds)
        if self.units:
            box.choice(f"{self.name} unit", self.units, unit, _UNIT, _FIELD + 2)

    def _filled(self, text: str | None) -> tuple[float, str]:
        """The number and the unit that stand there at first: those of last time, else the usual ones."""
        found = _LENGTH.fullmatch(text or "0")
        usual = self.units[0][0] if self.units else ""
        if text is None or found is None:
            return self.value, usual
        return float(found[1]), found[2] or usual

    def read(self, box: _Box) -> str:
        """What it holds, as a text with its unit."""
        value = f"{box.control(self.name).Value:g}"
        return "" if value == "0" else value + (box.chosen(f"{self.name} unit", self.units) if self.units else "")


@dataclass
class Choice:
    """One of several things, each a word and what is shown for it."""

    name: str
    label: str
    options: tuple

    def put(self, box: _Box, text: str | None) -> None:
        """Places the field."""
        box.choice(self.name, self.options, text or self.options[0][0], _FIELD + _UNIT + 2, 0)

    def read(self, box: _Box) -> str:
        """The word that is chosen."""
        return box.chosen(self.name, self.options)


@dataclass
class Text:
    """A line of text."""

    name: str
    label: str

    def put(self, box: _Box, text: str | None) -> None:
        """Places the field."""
        box.add("Edit", self.name, _FIELD + _UNIT + 2, Text=text or "")

    def read(self, box: _Box) -> str:
        """What was typed."""
        return box.control(self.name).Text.strip()


def asked(context: object, parent: object, title: str, columns: list, before: dict) -> dict:
    """What was filled in, by the names of the fields; nothing where it was cancelled.

    Args:
        context: the host's context.
        parent: the window that the dialogue stands over.
        title: what stands above it.
        columns: pairs of a heading and its fields.
        before: what the fields held last.
    """
    box = _Box(context, title, columns, before)
    dialogue = box.shown(parent)
    try:
        if dialogue.execute() != 1:
            return {}
        return {one.name: one.read(box) for _, fields in columns for one in fields}
    finally:
        dialogue.dispose()


class _Box:
    """A dialogue that is being built."""

    def __init__(self, context: object, title: str, columns: list, before: dict) -> None:
        self._make = context.ServiceManager.createInstanceWithContext
        self._context = context
        self._model = self._make("com.sun.star.awt.UnoControlDialogModel", context)
        self._dialogue: object = None
        rows = max(len(fields) for _, fields in columns)
        self._model.PositionX = self._model.PositionY = 60
        self._model.Title, self._model.Moveable, self._model.Closeable = title, True, True
        self._model.Width = len(columns) * (_COLUMN + _MARGIN) + _MARGIN
        self._model.Height = (rows + 2) * _ROW + 4 * _MARGIN
        for k, (heading, fields) in enumerate(columns):
            left, height = _MARGIN + k * (_COLUMN + _MARGIN), (rows + 1) * _ROW
            self._at(f"column {k}", "GroupBox", (left, _MARGIN, _COLUMN, height), Label=heading)
            for i, one in enumerate(fields):
                self._x, self._y = left + _MARGIN + _LABEL, _MARGIN + 12 + i * _ROW
                place = (left + _MARGIN, self._y + 2, _LABEL - 2, 10)
                self._at(f"{one.name} label", "FixedText", place, Label=one.label)
                one.put(self, before.get(one.name))
        bottom = (rows + 1) * _ROW + 2 * _MARGIN
        for k, (name, kind) in enumerate((("OK", 1), ("Cancel", 2))):
            place = (self._model.Width - (2 - k) * (50 + _MARGIN), bottom, 50, 14)
            self._at(name, "Button", place, Label=name, PushButtonType=kind, DefaultButton=kind == 1)

    def add(self, kind: str, name: str, width: int, shift: int = 0, **properties: object) -> None:
        """A control in the row that is being filled."""
        self._at(name, kind, (self._x + shift, self._y, width, 12), **properties)

    def choice(self, name: str, options: tuple, word: str, width: int, shift: int) -> None:
        """A list to choose from, with the option of that word chosen."""
        words = [option for option, _ in options]
        place = words.index(word) if word in words else 0
        items = tuple(shown for _, shown in options)
        self.add(
            "ListBox", name, width, shift, StringItemList=items, SelectedItems=(place,), Dropdown=True, LineCount=8
        )

    def chosen(self, name: str, options: tuple) -> str:
        """The word of the option that is chosen."""
        return options[self.control(name).SelectedItems[0]][0]

    def control(self, name: str) -> object:
        """The model of a control."""
        return self._model.getByName(name)

    def shown(self, parent: object) -> object:
        """The dialogue over its parent window, ready to be run."""
        dialogue = self._make("com.sun.star.awt.UnoControlDialog", self._context)
        dialogue.setModel(self._model)
        dialogue.createPeer(self._make("com.sun.star.awt.Toolkit", self._context), parent)
        return dialogue

    def _at(self, name: str, kind: str, place: tuple, **properties: object) -> None:
        control = self._model.createInstance(f"com.sun.star.awt.UnoControl{kind}Model")
        control.PositionX, control.PositionY, control.Width, control.Height = place
        for key, value in properties.items():
            setattr(control, key, value)
        self._model.insertByName(name, control)
