"""Every key of a TOML file is found on the line where it was written, and what is no TOML is refused with its line."""

from __future__ import annotations

import json
import random
import time
from dataclasses import dataclass, field
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from scallopkit.document.toml_lines import KeyPath, dotted, read_toml
from scallopkit.errors import RequestError

EVERYTHING = '''\
# a comment with = and [brackets]
title = "one"
a.b.c = 1
a.b."quoted \\u0041 # key" = 2
'single.dot' = 3
list = [
  # a comment, with ] in it
  "first",
  [ 1, 2 ], { x = 1, y.z = [ "]" ] },   # after

  "last",
]
text = """
[no.table]
no = "key" \\""" ""\\"
""""
raw = \'\'\'
# no comment \\
it\'s''\'\'\'
after = 1979-05-27 07:32:00

[plain] # here
key = true
[deep.er.est]
key = -inf
[[run]]
name = "hem"
  [run.scallop]
  width = "24mm"
  [[run.eyelet]]
  eyelet = 8
  [[run.eyelet]]
  eyelet = 10
[ "run" . 'notch' ]
at = "valleys"
[[run]]
name = "neck"
run.run = 1
[run.scallop]
width = """3\\
  0mm"""
depth = 1
[deep]
key = 0
'''

PLACES: list[tuple[KeyPath, int]] = [
    (("title",), 2),
    (("a",), 3),
    (("a", "b"), 3),
    (("a", "b", "c"), 3),
    (("a", "b", "quoted A # key"), 4),
    (("single.dot",), 5),
    (("list",), 6),
    (("list", 0), 8),
    (("list", 1), 9),
    (("list", 1, 1), 9),
    (("list", 2, "x"), 9),
    (("list", 2, "y", "z", 0), 9),
    (("list", 3), 11),
    (("text",), 13),
    (("raw",), 17),
    (("after",), 20),
    (("plain",), 22),
    (("plain", "key"), 23),
    (("deep", "er"), 24),
    (("deep", "er", "est", "key"), 25),
    (("run",), 26),
    (("run", 0), 26),
    (("run", 0, "name"), 27),
    (("run", 0, "scallop"), 28),
    (("run", 0, "scallop", "width"), 29),
    (("run", 0, "eyelet"), 30),
    (("run", 0, "eyelet", 0, "eyelet"), 31),
    (("run", 0, "eyelet", 1), 32),
    (("run", 0, "eyelet", 1, "eyelet"), 33),
    (("run", 0, "notch"), 34),
    (("run", 0, "notch", "at"), 35),
    (("run", 1), 36),
    (("run", 1, "name"), 37),
    (("run", 1, "run", "run"), 38),
    (("run", 1, "scallop", "width"), 40),
    (("run", 1, "scallop", "depth"), 42),
    # A header of its own counts for more than a place in a longer one.
    (("deep",), 43),
    (("deep", "key"), 44),
]


@pytest.mark.parametrize("ending", ["\n", "\r\n"])
@pytest.mark.parametrize("mark", ["", "\ufeff"])
def test_lines_of_all_kinds_of_keys(ending: str, mark: str) -> None:
    text = mark + EVERYTHING.replace("\n", ending)
    for given_text in (text, text.encode()):
        toml = read_toml(given_text, "a.toml")
        assert [(path, toml.line_of(path)) for path, _ in PLACES] == PLACES
        for path, _ in PLACES:
            toml.at(path)


@pytest.mark.parametrize(
    ("path", "line"),
    [
        ((), 1),
        (("nothing",), 1),
        (("plain", "nothing"), 22),
        (("run", 1, "edges", 4, "along"), 36),
        (("run", 1, "scallop", "nothing"), 39),
        (("run", 7, "name"), 26),
        (("list", 99), 6),
    ],
)
def test_what_is_not_there_has_the_line_of_what_is_around_it(path: KeyPath, line: int) -> None:
    assert read_toml(EVERYTHING, "a.toml").line_of(path) == line


def test_where_names_file_line_and_key() -> None:
    toml = read_toml(EVERYTHING, "waistcoat.toml")
    assert toml.where(("run", 0, "eyelet", 1, "eyelet")) == "waistcoat.toml, line 33, run.eyelet.eyelet"
    assert toml.where(("a", "b", "quoted A # key")) == 'waistcoat.toml, line 4, a.b."quoted A # key"'
    assert toml.where(()) == "waistcoat.toml, line 1"
    assert dotted(("run", 3, "")) == 'run.""'


# --- refusals -------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("a = 1\nb = 24mm\n", "line 2: something is left over after the value; put texts and lengths in quotes"),
        ("a = 1\n\nb = \n", "line 3: a value is missing or cannot be read"),
        ("a = “x”\n", "line 1: a value is missing or cannot be read"),
        ("a = 'x\nb = 1\n", "line 1: a text is not closed: put the same quotes"),
        ('a = 1\nb = "x', "line 2: a text is not closed"),
        ('a = 1\nb = """x\n\n\n', "line 2: a text is not closed"),
        ("a = 1\nb = '''x\n\n\n", "line 2: a text is not closed"),
        ("a = 1\nb = [1 2]\n", "line 2: a list is not closed: put commas"),
        ("a = 1\nb = [\n 1,\n\n", "line 2: the list begun in line 2 is not closed: put commas"),
        ("a = 1\nb = [\n 1,\nc = 2\n", "line 4: the list begun in line 2 is not closed: put commas"),
        ("a = 1\nb = [\n 1\nc = 2\n", "line 4: the list begun in line 2 is not closed: put commas"),
        ("a = { b = 1 c = 2 }\n", "line 1: a table in braces is not closed"),
        ("a = 1\nb\n", "line 2: there is no = after the key"),
        ("a = 1\n= 2\n", 'line 2: this is no key = "value"'),
        ("\n[a\n", "line 2: the table's name is not closed: write [name]"),
        ("\n[[a]\n", "line 2: the table's name is not closed: write [[name]]"),
        ('a = 1\nb = "C:\\Users"\n', "line 2: a backslash in double quotes starts an escape"),
        ('"a\\qb" = 1\n', "line 1: a backslash in double quotes starts an escape"),
        ('a = 1\nb = "x\x01y"\n', "line 2: a control character stands here"),
        ("a = { b = 1 }\na.c = 2\n", "line 2: this adds to a list or a table in braces"),
        ("a = [1]\n[[a]]\n", "line 2: this adds to a list or a table in braces"),
        (f"a = 1\nb = {'9' * 5000}\nc = 3\n", "line 2: a number has more digits than anyone can measure"),
        (f"a = {'[' * 100_000}\n", "lists or tables lie too deep in each other"),
        (b'a = 1\nb = "\xff"\n', "line 2: this is not UTF-8; save the file as UTF-8"),
        ("a = 1\n".encode("utf-16"), "line 1: this is not UTF-8; save the file as UTF-8"),
    ],
)
def test_what_is_no_toml_is_refused_with_its_line(text: str | bytes, said: str) -> None:
    with pytest.raises(RequestError) as caught:
        read_toml(text, "waistcoat.toml")
    assert str(caught.value).startswith(f"waistcoat.toml{', ' if said.startswith('line') else ': '}{said}")
    assert "\n" not in str(caught.value)


@pytest.mark.parametrize(
    ("text", "said"),
    [
        (
            "a = 1\nb = 2\n\na = [\n3,\n]\n",
            "line 4, a: this is given a second time (first in line 1); keep one of them",
        ),
        ("a = 1\n'a' = 1", "line 2, a: this is given a second time (first in line 1); keep one of them"),
        ("a = { b = 1,  b = 2 }\n", "line 1, a.b: this is given a second time (first in line 1); keep one of them"),
        ("[a]\nb = 1\n[c]\n[a]\n", "line 4, a: this is given a second time (first in line 1); keep one of them"),
        ("a = 1\n[a]\n", "line 2, a: this is given a second time (first in line 1); keep one of them"),
        (
            "[[run]]\n[run.scallop]\nx = 1\n\n[run.scallop]\n",
            "line 5, run.scallop: this is given a second time (first in line 2); keep one of them",
        ),
        (
            "[[run]]\n[run.scallop]\nx = 1\n[[run]]\n[run.scallop]\nx = 1\nx = 2\n",
            "line 7, run.scallop.x: this is given a second time (first in line 6); keep one of them",
        ),
        *(
            (
                f"{first}\nx = 1\n{second}\nx = 1\n",
                "line 3, run: this is given a second time (first in line 1); "
                "keep one of them, or write [[run]] for each",
            )
            for first, second in (("[run]", "[run]"), ("[[run]]", "[run]"), ("[run]", "[[run]]"))
        ),
    ],
)
def test_what_is_given_twice_is_refused_with_both_lines(text: str, said: str) -> None:
    with pytest.raises(RequestError) as caught:
        read_toml(text, "a.toml", several=("run",))
    assert str(caught.value) == f"a.toml, {said}"


@pytest.mark.parametrize("text", ["a.b = 1\n[a]\n", "a = 1\na.b = 2\n", "[a.b]\n[a]\nb = 1\n", "a.b = 1\na.b.c = 2\n"])
def test_what_is_given_twice_in_other_ways_is_refused_too(text: str) -> None:
    with pytest.raises(RequestError, match=r"^a\.toml, line [23](, a\.b)?: .*(a second time|adds to)"):
        read_toml(text, "a.toml")


@given(st.text(st.sampled_from("ab=.[]{},\"'#\\ \n1"), max_size=40))
@settings(max_examples=500)
def test_any_text_is_read_or_refused_in_a_sentence(text: str) -> None:
    try:
        toml = read_toml(text, "a.toml")
    except RequestError as error:
        told = str(error)
    else:
        told = "a.toml"
        assert set(toml.data) == {path[0] for path in toml.lines}
    assert told.startswith("a.toml")


# --- whatever is written --------------------------------------------------------------------------------------------

NAMES = ("width", "hem", "a-b", "7", "with.dot", "with blank", 'with "quotes"', "", "ä", "back\\slash", "#", "[x]")


@dataclass
class Written:
    """TOML text in the making, with the line on which each key was put."""

    rnd: random.Random
    text: str = ""
    lines: dict[KeyPath, int] = field(default_factory=dict)
    values: dict[KeyPath, Any] = field(default_factory=dict)

    def put(self, text: str) -> None:
        self.text += text

    def here(self, path: KeyPath) -> None:
        self.lines.setdefault(path, self.text.count("\n") + 1)

    def name(self, name: str) -> str:
        if name and name.isascii() and name.replace("-", "").isalnum() and self.rnd.random() < 0.6:
            return name
        if "'" not in name and self.rnd.random() < 0.5:
            return f"'{name}'"
        return json.dumps(name, ensure_ascii=self.rnd.random() < 0.5)

    def blank(self, lines: bool) -> None:
        choices = ["", " ", "\t"] + ["\n", "\r\n", ' # x = [1] "\n', "\n\n  "] * lines
        self.put(self.rnd.choice(choices))

    def names(self, most: int = 4) -> list[str]:
        return self.rnd.sample(NAMES, self.rnd.randint(1, most))

    def pair(self, table: KeyPath, names: list[str], deep: int, inline: bool) -> None:
        for i in range(len(names)):
            self.here((*table, *names[: i + 1]))
        self.put(" . ".join(map(self.name, names)))
        self.blank(lines=False)
        self.put("=")
        self.blank(lines=False)
        self.value((*table, *names), deep, inline)

    def value(self, path: KeyPath, deep: int, inline: bool) -> None:
        kind = self.rnd.choice(["one", "one", "many"] + ["list", "braces"] * (deep > 0))
        if kind == "list":
            self.put("[")
            size = self.rnd.randint(0, 3)
            for i in range(size):
                self.blank(lines=not inline)
                self.here((*path, i))
                self.value((*path, i), deep - 1, inline)
                self.blank(lines=not inline)
                if i < size - 1 or (self.rnd.random() < 0.5):
                    self.put(",")
            self.blank(lines=not inline)
            self.put("]")
        elif kind == "braces":
            self.put("{")
            for i, name in enumerate(self.names(3)):
                self.put("," if i else "")
                self.blank(lines=False)
                self.pair(path, [name], deep - 1, inline=True)
                self.blank(lines=False)
            self.put("}")
        elif kind == "many":
            text, value = self.rnd.choice(
                [
                    ('"""\n[a]\nb = 1 \\" ""x"""', '[a]\nb = 1 " ""x'),
                    ("'''\n\n# x\n''''", "\n# x\n'"),
                    ('"""x\\\n   y\n"""""', 'xy\n""'),
                    ('""""a"""""', '"a""'),
                ]
            )
            self.put(text)
            self.values[path] = value
        else:
            text, one = self.rnd.choice(
                [
                    ("1", 1),
                    ("-2.5e3", -2500.0),
                    ("true", True),
                    ('"#"', "#"),
                    ("'\\'", "\\"),
                    ('"\\""', '"'),
                    ("''", ""),
                ]
            )
            self.put(text)
            self.values[path] = one

    def pairs(self, table: KeyPath, names: list[str]) -> None:
        for name in names:
            self.blank(lines=True)
            more = self.rnd.sample(NAMES, 2) if self.rnd.random() < 0.3 else []
            self.pair(table, [name, *more], 2, inline=False)
            self.put(self.rnd.choice(["\n", " # = \n", "\r\n"]))

    def file(self) -> None:
        top = self.names()
        self.pairs((), top)
        for name in [name for name in NAMES if name not in top][: self.rnd.randint(0, 4)]:
            many = self.rnd.random() < 0.6
            for i in range(self.rnd.randint(1, 3) if many else 1):
                self.table((name,), (name, i) if many else (name,), [name], many)

    def table(self, path: KeyPath, inner: KeyPath, names: list[str], many: bool) -> None:
        self.blank(lines=True)
        self.here(path)
        self.here(inner)
        header = ".".join(map(self.name, names))
        self.put(f"[[{header}]]\n" if many else f"[ {header} ] # [x]\n")
        own = self.names()
        self.pairs(inner, own)
        if len(names) > 2:
            return
        for name in [name for name in NAMES if name not in own][: self.rnd.randint(0, 2)]:
            more = self.rnd.random() < 0.5
            for i in range(self.rnd.randint(1, 2) if more else 1):
                self.table((*inner, name), (*inner, name, i) if more else (*inner, name), [*names, name], more)


@given(st.integers(0, 2**64))
@settings(max_examples=500)
def test_every_key_is_found_where_it_was_written(seed: int) -> None:
    written = Written(random.Random(seed))  # noqa: S311  # no secret
    written.file()
    toml = read_toml(written.text, "a.toml")
    assert dict(toml.lines) == written.lines
    assert {path: toml.at(path) for path in written.values} == written.values


def test_long_files_take_time_in_proportion() -> None:
    row = '[[run]]\nname = "hem"\nedges = [\n  "a:b..c",\n  { along = "d", allowance = 3 },\n]\nx.y = """\n1"""\n\n\n'

    def seconds(rows: int) -> float:
        text = "".join(row.replace("hem", f"hem {i}") for i in range(rows))
        begin = time.perf_counter()
        toml = read_toml(text, "a.toml")
        took = time.perf_counter() - begin
        assert toml.line_of(("run", rows - 1, "edges", 1, "allowance")) == 10 * (rows - 1) + 5
        return took

    seconds(10)
    # 10,000 lines take some 0.2 s. Four times as many take four times as long; by the square it would be sixteen.
    assert min(seconds(1000) for _ in range(3)) < 2.0
    assert min(seconds(4000) for _ in range(2)) < 12.0 * min(seconds(1000) for _ in range(3))
