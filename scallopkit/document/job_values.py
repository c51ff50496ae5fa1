"""The tables of a job file: each key known, each value of a kind that it takes, and turned into its text."""

from __future__ import annotations

import datetime
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any, NoReturn

from ..errors import RequestError
from .job_keys import TABLES, Key, Takes, as_toml
from .recipe import as_text
from .toml_lines import KeyPath, TomlTable, dotted

_MOST = 1e12
_NESTED = (Takes.TABLE, Takes.TABLES, Takes.ROWS, Takes.DRAWINGS)


@dataclass(frozen=True)
class Given:
    """A key that the file gives.

    Attributes:
        key: its name.
        value: what it says, as the command line would have it.
        line: where it stands.
        path: the same as a name with dots, `run.scallop.width`.
    """

    key: str
    value: str | tuple[str, ...]
    line: int
    path: str

    @property
    def texts(self) -> tuple[str, ...]:
        """The value as texts, one or several."""
        return (self.value,) if isinstance(self.value, str) else self.value


def refuse(toml: TomlTable, path: KeyPath, why: str) -> NoReturn:
    """Refuses what stands at a path.

    Raises:
        RequestError: always; the file, the line and the key, then `why`.
    """
    raise RequestError(f"{toml.where(path)}: {why}")


def given_in(toml: TomlTable, path: KeyPath, kind: str) -> dict[str, Given]:
    """What a table gives, without the tables in it.

    Args:
        toml: the file.
        path: where the table stands.
        kind: which keys it has, a name in `TABLES`.

    Raises:
        RequestError: a key is unknown or missing, or a value is of another kind than it takes.
    """
    table, keys = toml.at(path), TABLES[kind]
    for name in table:
        if name not in keys:
            refuse(toml, (*path, name), _unknown(name, kind, path))
    for name, key in keys.items():
        if key.required and name not in table:
            refuse(toml, (*path, name), f"is missing; write {_as_written(name, key)}")
        if name in table and key.takes in _NESTED:
            _refuse_other_tables(toml, (*path, name), key)
    plain = {name: table[name] for name, key in keys.items() if name in table and key.takes not in _NESTED}
    return {name: given(toml, (*path, name), _worded(toml, (*path, name), keys[name])) for name in plain}


def given(toml: TomlTable, path: KeyPath, value: str | tuple[str, ...]) -> Given:
    """A value together with where it stands."""
    return Given(_name(path), value, toml.line_of(path), dotted(path))


def _worded(toml: TomlTable, path: KeyPath, key: Key) -> str | tuple[str, ...]:
    """The value at a path as the command line would have it."""
    value = toml.at(path)
    if key.takes is Takes.HOLDS and isinstance(value, dict):
        for mark in value:
            if not isinstance(value[mark], str):
                _refuse_kind(toml, (*path, mark), key)
        return tuple(f"{mark}={hold}" for mark, hold in value.items())
    for place in _single_values(path, value, key):
        if not _is_taken(toml.at(place), key):
            _refuse_kind(toml, place, key)
    if key.words and value not in key.words:
        # A list of words that hold commas can only be told apart in quotes.
        words = [as_toml(word) if any("," in one for one in key.words) else word for word in key.words]
        refuse(toml, path, f"can be {', '.join(words[:-1])} or {words[-1]}, not {as_toml(value)}")
    if key.takes is Takes.FILE:
        refuse_no_file_name(toml, path, value)
    if key.takes is Takes.SWITCH:
        # Not wanted is the same as not given.
        return as_text(value, several=False) if value else ""
    return as_text(value, several=key.takes in (Takes.TEXTS, Takes.HOLDS))


def _single_values(path: KeyPath, value: object, key: Key) -> list[KeyPath]:
    """Where the single values of a key stand: its entries, if it takes a list and has one."""
    if isinstance(value, list) and value and key.takes in (Takes.VALUES, Takes.TEXTS, Takes.NAMES, Takes.HOLDS):
        return [(*path, i) for i in range(len(value))]
    return [path]


def _is_taken(value: object, key: Key) -> bool:
    if key.takes is Takes.SWITCH:
        return isinstance(value, bool)
    if isinstance(value, str):
        return True
    number = isinstance(value, int | float) and not isinstance(value, bool)
    return number and key.takes in (Takes.VALUE, Takes.VALUES) and _is_measure(value)


def _is_measure(value: Any) -> bool:  # noqa: ANN401  # a whole number may be too long for a float
    return bool(abs(value) <= _MOST)


def _refuse_kind(toml: TomlTable, path: KeyPath, key: Key) -> NoReturn:
    name, value = _name(path), toml.at(path)
    if key.takes is Takes.HOLDS and name != "hold":
        refuse(toml, path, f'takes a text in quotes, as in {name} = "crest", not {_called(value)}')
    refuse(toml, path, f"takes {key.takes.value}, as in {_as_written(name, key)}, not {_called(value)}")


def refuse_no_file_name(toml: TomlTable, path: KeyPath, value: str) -> None:
    """Refuses a text that can't be a file's name.

    Raises:
        RequestError: it can't.
    """
    if not value.strip() or value == "-" or any(ord(letter) < 32 for letter in value):
        refuse(toml, path, f"takes the name of a file, not {as_toml(value)}")


def _refuse_other_tables(toml: TomlTable, path: KeyPath, key: Key) -> None:
    """Refuses what is not the table, or the list of tables or texts, that a key takes."""
    value, header = toml.at(path), dotted(path)
    if key.takes in (Takes.ROWS, Takes.DRAWINGS) and isinstance(value, str):
        return
    if key.takes is Takes.TABLE:
        if not isinstance(value, dict):
            refuse(toml, path, f"takes one table: write [{header}] and its keys below, not {_called(value)}")
        return
    kinds: tuple[type, ...]
    if key.takes is Takes.ROWS:
        kinds, how = (str, dict), f"{key.takes.value}, as in {_as_written(_name(path), key)}"
    else:
        kinds, how = (dict,), f"tables: write [[{header}]] and its keys below, once for each"
    if not isinstance(value, list) or not value:
        refuse(toml, path, f"takes {how}, not {_called(value)}")
    for i, row in enumerate(value):
        if not isinstance(row, kinds):
            refuse(toml, (*path, i), f"takes {how}, not {_called(row)}")


def _name(path: KeyPath) -> str:
    """The innermost key of a path."""
    return next(step for step in reversed(path) if isinstance(step, str))


def _called(value: object) -> str:
    """What a value is, for messages."""
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, str):
        return f"the text {as_toml(value)}"
    if isinstance(value, int | float):
        return f"the number {value}" if _is_measure(value) else "a number beyond all measure"
    if isinstance(value, datetime.date | datetime.time):
        return "a date or time"
    if isinstance(value, Mapping):
        return "a table"
    return "a list" if value else "an empty list"


def _as_written(name: str, key: Key) -> str:
    if key.takes is Takes.TABLE:
        return f"[{name}]"
    if key.takes is Takes.TABLES:
        return f"[[{name}]]"
    return f"{name} = {as_toml(key.example)}"


def _unknown(name: str, kind: str, path: KeyPath) -> str:
    """Why a key is refused: the one that was meant perhaps, and those that there are."""
    # Loaded only to word a refusal.
    from difflib import get_close_matches

    keys = TABLES[kind]
    near = get_close_matches(name.lower().replace("-", "_"), keys, 1, 0.7)
    home = _home(name, path)
    hint = f" (it goes {home})" if home else f" (did you mean {near[0]}?)" if near else ""
    return f"there is no such key{hint}; there are {', '.join(sorted(keys))}"


def _home(name: str, path: KeyPath) -> str:
    """Where a key belongs that stands in another table than its own; empty for a key that no table has."""
    in_defaults = path[:1] == ("defaults",)
    headers = {"run": "right below [[run]]", "scallop": "below [run.scallop]"}
    headers |= {"eyelet": "below [[run.eyelet]]", "notch": "below [[run.notch]]", "finish": "below [run.finish]"}
    if in_defaults:
        headers = {kind: f"below [defaults.{kind}]" for kind in ("scallop", "eyelet", "notch", "finish")} | {
            "run": headers["run"]
        }
    headers |= {"facing": "below [[run.facing]]", "template": "below [run.template]"}
    headers |= {"lacing": "below [run.lacing]"}
    headers |= {"job": "at the top of the file", "pattern": "below [[pattern]]", "edge": "into the entry of edges"}
    headers |= {"cut": "below [cut]", "piece": "below [[piece]]", "match": "below [[match]]"}
    headers |= {kind: f"below [{kind}]" for kind in ("paper", "cutter", "sheet", "prices", "minutes")}
    return next((header for kind, header in headers.items() if name in TABLES[kind]), "")
