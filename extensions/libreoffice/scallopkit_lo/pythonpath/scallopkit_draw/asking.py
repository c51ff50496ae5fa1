"""The dialogues, built of the host's own controls: a column of fields a heading, with OK and Cancel below."""

from __future__ import annotations

import re
from dataclasses import dataclass

import uno

_ROW, _COLUMN, _MARGIN = 16, 220, 6
# More than ever stands in a field.
_ALL = 1000
_LABEL, _FIELD, _UNIT = 94, 40, 70
# Figures without a unit, fractions and decimal commas among them; anything else is left for the library to read.
_FIGURES = re.compile(r"[\d\s.,/]+")
_NOTHING = re.compile(r"[0\s.,]*")
UNITS = (("mm", "mm"), ("cm", "cm"), ("in", "inches"))
DEPTHS = (("%", "% of the width"), *UNITS)


@dataclass
class Number:
    """A number as it is typed, with a unit where there are any; 0 stands for: not given.

    The host's own field for numbers drops what it does not know: of 1/2 it makes 12, of 22,5 nothing. So this is one
    for text, which the library reads as it reads the command line.
    """

    name: str
    label: str
    value: float
    units: tuple = ()

    def put(self, box: _Box, text: str | None) -> None:
        """Places the field, with what it held before where that is told."""
        typed, unit = self._filled(text)
        box.add("Edit", self.name, _FIELD if self.units else _FIELD + _UNIT + 2, Text=typed)
        if self.units:
            box.choice(f"{self.name} unit", self.units, unit, _UNIT, _FIELD + 2)

    def _filled(self, text: str | None) -> tuple[str, str]:
        """The figures and the unit that stand there at first: those of last time, else the usual ones."""
        usual = self.units[0][0] if self.units else ""
        if text is None:
            return f"{self.value:g}", usual
        unit = next((unit for unit, _ in self.units if text.endswith(unit)), "")
        figures = text[: len(text) - len(unit)].strip()
        return (figures or "0", unit) if unit and _FIGURES.fullmatch(figures) else (text or "0", usual)

    def read(self, box: _Box) -> str:
        """What was typed, with the unit beside it unless another was typed too."""
        text = box.typed(self.name)
        if _NOTHING.fullmatch(text):
            return ""
        return text + box.chosen(f"{self.name} unit", self.units) if self.units and _FIGURES.fullmatch(text) else text


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
        return box.typed(self.name)


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
        self._texts: list = []
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
        self._texts += [name] if kind == "Edit" else []
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
        return options[self._dialogue.getControl(name).getPeer().getSelectedItemPos()][0]

    def typed(self, name: str) -> str:
        """What stands in a field on the screen; a screen reader's changes never come to the field's model."""
        return self._dialogue.getControl(name).getPeer().getText().strip()

    def shown(self, parent: object) -> object:
        """The dialogue over its parent window, ready to be run."""
        dialogue = self._make("com.sun.star.awt.UnoControlDialog", self._context)
        dialogue.setModel(self._model)
        dialogue.createPeer(self._make("com.sun.star.awt.Toolkit", self._context), parent)
        self._dialogue = dialogue
        for name in self._texts:
            # Else what is typed at once goes in front of what stands there.
            dialogue.getControl(name).setSelection(uno.createUnoStruct("com.sun.star.awt.Selection", 0, _ALL))
        return dialogue

    def _at(self, name: str, kind: str, place: tuple, **properties: object) -> None:
        control = self._model.createInstance(f"com.sun.star.awt.UnoControl{kind}Model")
        control.PositionX, control.PositionY, control.Width, control.Height = place
        for key, value in properties.items():
            setattr(control, key, value)
        self._model.insertByName(name, control)
