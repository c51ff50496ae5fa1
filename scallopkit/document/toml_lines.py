"""TOML together with the line on which each key stands, so that a refusal can say where.

The text is read by the standard reader; a second walk over the same text, which then is known to be well formed, only
notes lines. https://toml.io/en/v1.0.0
"""

from __future__ import annotations

import json
import re
import sys
from collections.abc import Collection, Mapping
from dataclasses import dataclass, field
from typing import Any

from ..errors import RequestError

KeyPath = tuple[str | int, ...]

_PLACE = re.compile(r"(.*) \(at (?:line (\d+), column \d+|end of document)\)", re.DOTALL)
_MANY_DIGITS = re.compile(r"[0-9_]{1000}")
_BARE_KEY = re.compile(r"[A-Za-z0-9_-]+")
_KEY = re.compile(r"""[A-Za-z0-9_-]+|"(?:[^"\\\n]|\\.)*"|'[^'\n]*'""")
_TEXT = re.compile(
    r'''"""(?:[^\\]|\\.)*?""""{0,2}|'{3}.*?'{3}'{0,2}|"(?:[^"\\\n]|\\.)*"|'[^'\n]*\'''',
    re.DOTALL,
)
_PLAIN = re.compile(r"""[^,\]}#\n"'][^,\]}#\n]*""")
_BLANKS = re.compile(r"(?:[ \t\n]|#[^\n]*)*")

_QUOTES = 'put texts and lengths in quotes, like "15mm"'
_COMMAS = "put commas between its entries, each text in quotes, and ] after the last"
_ENDS = "a text is not closed: put the same quotes before and after it"
_BACKSLASH = "a backslash in double quotes starts an escape: write / between folders, or put the text in single quotes"
# What the standard reader says, by its first words, and how a maker is told the same.
_SAID = {
    "Expected newline or end of document": f"something is left over after the value; {_QUOTES}",
    "Invalid value": f"a value is missing or cannot be read; {_QUOTES}",
    "Unclosed array": f"a list is not closed: {_COMMAS}",
    "Unclosed inline table": "a table in braces is not closed: put commas between its keys and } after the last",
    "Illegal character '\\n'": _ENDS,
    "Illegal character": "a control character stands here; delete it and write the line anew",
    "Unterminated string": _ENDS,
    "Expected \"'": _ENDS,
    "Expected '='": 'there is no = after the key: write key = "value"',
    "Invalid statement": 'this is no key = "value", no [table] and no # comment',
    "Invalid initial character for a key part": "a key is missing: name it with letters, digits, - or _ (a table in "
    "braces stays on one line, with no comma before })",
    "Expected ']'": "the table's name is not closed: write [name] on a line of its own",
    'Expected "]]"': "the table's name is not closed: write [[name]] on a line of its own",
    "Expected ']]'": "the table's name is not closed: write [[name]] on a line of its own",
    "Unescaped": _BACKSLASH,
    "Invalid hex value": _BACKSLASH,
    "Escaped character": _BACKSLASH,
    "Cannot mutate": "this adds to a list or a table in braces, which is whole as it stands; write it all in one place",
    "Cannot overwrite": "this key is given a second time; keep one of them",
    "Cannot declare": "this table is given a second time; keep one of them",
    "Cannot redefine": "this table is given a second time; keep one of them",
    "Exceeds the limit": "a number has more digits than anyone can measure; write a shorter one",
    "Duplicate": "this key is given a second time; keep one of them",
}
_TWICE = ("Cannot overwrite", "Cannot declare", "Cannot redefine", "Duplicate")


@dataclass(frozen=True, eq=False)
class TomlTable:
    """What a TOML file holds.

    Attributes:
        name: the file's name, for messages.
        data: its tables, as the standard reader gives them.
        lines: on which line each key, table and entry of a list begins, from 1.
    """

    name: str
    data: dict[str, Any]
    lines: Mapping[KeyPath, int]

    def line_of(self, path: KeyPath) -> int:
        """The line of a key, or of the nearest table or list around it that stands in the file; else 1.

        Args:
            path: names of keys, and numbers of entries of lists from 0, from the outermost on.
        """
        for size in range(len(path), 0, -1):
            if path[:size] in self.lines:
                return self.lines[path[:size]]
        return 1

    def where(self, path: KeyPath) -> str:
        """Where a key stands, for the beginning of a message: `job.toml, line 12, run.scallop.width`."""
        name = dotted(path)
        return f"{self.name}, line {self.line_of(path)}" + (f", {name}" if name else "")

    def at(self, path: KeyPath) -> Any:  # noqa: ANN401  # whatever stands there
        """The value at a path.

        Raises:
            KeyError, IndexError: there is none.
        """
        value: Any = self.data
        for step in path:
            value = value[step]
        return value


def dotted(path: KeyPath) -> str:
    """A path as its keys with dots between them, without the numbers of entries."""
    names = [step for step in path if isinstance(step, str)]
    return ".".join(n if _BARE_KEY.fullmatch(n) else json.dumps(n, ensure_ascii=False) for n in names)


def read_toml(text: str | bytes, name: str, several: Collection[str] = ()) -> TomlTable:
    """Read a TOML file.

    Args:
        text: what the file holds; bytes are UTF-8, a byte order mark is passed over.
        name: its name, for messages.
        several: names of tables that may be there more than once, for a word on how that is written.

    Raises:
        RequestError: it is not UTF-8, no TOML, or gives a key twice; the text names the line.
    """
    plain = (_decoded(text, name) if isinstance(text, bytes) else text.removeprefix("\ufeff")).replace("\r\n", "\n")
    try:
        data = _loads(plain)
    except RecursionError:
        raise RequestError(f"{name}: lists or tables lie too deep in each other; take some apart") from None
    except ValueError as error:
        raise RequestError(_told(plain, name, str(error), several)) from None
    walk = _Walk(plain)
    walk.file()
    return TomlTable(name, data, walk.lines)


def _loads(text: str) -> dict[str, Any]:
    # The reader is part of Python from 3.11 on.
    if sys.version_info >= (3, 11):
        import tomllib
    else:
        import tomli as tomllib
    return tomllib.loads(text)


def _decoded(data: bytes, name: str) -> str:
    try:
        return data.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        line = data.count(b"\n", 0, error.start) + 1
        raise RequestError(f"{name}, line {line}: this is not UTF-8; save the file as UTF-8 in your editor") from None


def _told(text: str, name: str, said: str, several: Collection[str]) -> str:
    """What the standard reader said, with the line on which the fault began and what to do."""
    match = _PLACE.fullmatch(said)
    words = match[1] if match else said
    last = text.count("\n") + (not text.endswith("\n"))
    line = int(match[2]) if match and match[2] else max(last, 1)
    if match is None and (digits := _MANY_DIGITS.search(text)):
        line = text.count("\n", 0, digits.start()) + 1
    walk = _Walk("\n".join(text.split("\n")[:line]))
    try:
        walk.file()
    except _GivenTwiceError as twice:
        if words.startswith(_TWICE):
            key = dotted(twice.path)
            cure = f", or write [[{key}]] for each" if twice.table and twice.path[-1] in several else ""
            return f"{name}, line {twice.line}, {key}: {twice}{cure}"
    except (ValueError, RecursionError):
        # What was walked until then says what is open.
        pass
    if match and not match[2]:
        # What is open at the end of the file was opened by the last key.
        line = walk.key_line
    if walk.open_lists and words.startswith(("Invalid value", "Unclosed array")):
        since = walk.open_lists[0]
        return f"{name}, line {line}: the list begun in line {since} is not closed: {_COMMAS}"
    told = next((cure for start, cure in _SAID.items() if words.startswith(start)), words[:1].lower() + words[1:])
    return f"{name}, line {line}: {told}"


class _LostError(ValueError):
    """The text is no TOML where the walk stands."""


class _GivenTwiceError(ValueError):
    """A key or table that was given before."""

    def __init__(self, path: KeyPath, first: int, line: int, table: bool) -> None:
        super().__init__(f"this is given a second time (first in line {first}); keep one of them")
        self.path, self.line, self.table = path, line, table


@dataclass(eq=False)
class _Walk:
    """Walks over a text that is known to be TOML, and notes the line of every key."""

    text: str
    lines: dict[KeyPath, int] = field(default_factory=dict)
    key_line: int = 1
    # The lines on which the lists begin that are not closed yet.
    open_lists: list[int] = field(default_factory=list)
    _pos: int = 0
    _line: int = 1
    _counted: int = 0
    # What was given as a value (False) or by a header of its own (True), rather than as part of a longer name.
    _given: dict[KeyPath, bool] = field(default_factory=dict)
    # How many entries each list of tables has so far.
    _entries: dict[KeyPath, int] = field(default_factory=dict)

    def file(self) -> None:
        """Walk to the end.

        Raises:
            _GivenTwiceError: a key or table was given before.
            _LostError: this is no TOML.
        """
        table: KeyPath = ()
        self._blanks()
        while self._pos < len(self.text):
            self.key_line = self._line_here()
            if self._took("[["):
                table = self._entry()
            elif self._took("["):
                table = self._table()
            else:
                self._pair(table)
            self._blanks()

    def _entry(self) -> KeyPath:
        """A header of an entry of a list of tables."""
        line = self._line_here()
        path = self._header()
        self._need("]]")
        if path in self._given:
            raise _GivenTwiceError(path, self.lines[path], line, table=self._given[path])
        number = self._entries[path] = self._entries.get(path, -1) + 1
        self.lines.setdefault(path, line)
        entry = (*path, number)
        self.lines[entry] = line
        return entry

    def _table(self) -> KeyPath:
        """A header of a table."""
        line = self._line_here()
        path = self._header()
        self._need("]")
        self._give(path, line, table=True)
        return path

    def _header(self) -> KeyPath:
        """The path of a header's names: through the newest entry wherever there is a list of tables."""
        path: KeyPath = ()
        *around, last = self._names()
        for name in around:
            path = (*path, name)
            self.lines.setdefault(path, self._line_here())
            if path in self._entries:
                path = (*path, self._entries[path])
        return (*path, last)

    def _pair(self, table: KeyPath) -> None:
        """A key with its value; a name with dots in it makes the tables on its way."""
        line = self._line_here()
        path = table
        names = self._names()
        for name in names[:-1]:
            path = (*path, name)
            self.lines.setdefault(path, line)
        path = (*path, names[-1])
        self._give(path, line, table=False)
        self._need("=")
        self._value(path)

    def _give(self, path: KeyPath, line: int, table: bool) -> None:
        if path in self._given or path in self._entries:
            raise _GivenTwiceError(path, self.lines[path], line, table and self._given.get(path, True))
        self._given[path] = table
        self.lines[path] = line

    def _value(self, path: KeyPath) -> None:
        self._blanks()
        if self._took("["):
            number = 0
            self.open_lists.append(self._line_here())
            while not self._took_after_blanks("]"):
                entry = (*path, number)
                self.lines[entry] = self._line_here()
                self._value(entry)
                self._took_after_blanks(",")
                number += 1
            self.open_lists.pop()
        elif self._took("{"):
            while not self._took_after_blanks("}"):
                self._pair(path)
                self._took_after_blanks(",")
        elif self._match(_TEXT) is None and self._match(_PLAIN) is None:
            raise _LostError

    def _names(self) -> list[str]:
        names = [self._name()]
        while self._took_after_blanks("."):
            names.append(self._name())
        return names

    def _name(self) -> str:
        self._blanks()
        found = self._match(_KEY)
        if found is None:
            raise _LostError
        if found[0] not in "\"'":
            return found
        return next(iter(_loads(f"{found} = 0")))

    def _match(self, pattern: re.Pattern[str]) -> str | None:
        found = pattern.match(self.text, self._pos)
        if found is None:
            return None
        self._pos = found.end()
        return found[0]

    def _took(self, sign: str) -> bool:
        taken = self.text.startswith(sign, self._pos)
        self._pos += len(sign) * taken
        return taken

    def _took_after_blanks(self, sign: str) -> bool:
        self._blanks()
        return self._took(sign)

    def _need(self, sign: str) -> None:
        if not self._took_after_blanks(sign):
            raise _LostError

    def _blanks(self) -> None:
        self._match(_BLANKS)

    def _line_here(self) -> int:
        self._line += self.text.count("\n", self._counted, self._pos)
        self._counted = self._pos
        return self._line
