"""The schema and the reader say the same about job files, and every word of a recipe has its key."""

from __future__ import annotations

import json
from dataclasses import fields
from pathlib import Path
from typing import Any

import pytest

from scallopkit.construction.rules import RULES, Rule, shown
from scallopkit.document.job import read_job
from scallopkit.document.job_keys import TABLES, Key, Takes, as_toml
from scallopkit.document.job_schema import job_schema
from scallopkit.document.recipe import (
    EdgeWords,
    EyeletWords,
    FacingWords,
    FinishWords,
    JoinWords,
    LacingWords,
    MatchWords,
    NotchWords,
    PieceWords,
    ScallopWords,
    StrapWords,
    StretchWords,
    TemplateWords,
    TrimWords,
)
from scallopkit.document.toml_lines import read_toml
from scallopkit.errors import RequestError

from .test_job import WAISTCOAT, folder_with

SCHEMA = job_schema()


def table(kind: str) -> Any:  # noqa: ANN401  # JSON
    return SCHEMA if kind == "job" else SCHEMA["$defs"][kind]


def faults(value: Any, schema: Any, where: str = "") -> list[str]:  # noqa: ANN401  # JSON
    """What a value has against a schema, for the words of the language that ours uses."""
    if "$ref" in schema:
        return faults(value, SCHEMA["$defs"][schema["$ref"].removeprefix("#/$defs/")], where)
    if "anyOf" in schema:
        return [] if any(not faults(value, one, where) for one in schema["anyOf"]) else [f"{where}: none of several"]
    kinds = schema["type"] if isinstance(schema["type"], list) else [schema["type"]]
    is_kind = {
        "string": isinstance(value, str),
        "number": isinstance(value, int | float) and not isinstance(value, bool),
        "boolean": isinstance(value, bool),
        "array": isinstance(value, list),
        "object": isinstance(value, dict),
    }
    if not any(is_kind[kind] for kind in kinds):
        return [f"{where}: no {kinds}"]
    out = []
    if "enum" in schema and value not in schema["enum"]:
        out.append(f"{where}: no {schema['enum']}")
    if isinstance(value, str | list) and len(value) < schema.get("minLength", schema.get("minItems", 0)):
        out.append(f"{where}: too short")
    if isinstance(value, list):
        out += [fault for i, row in enumerate(value) for fault in faults(row, schema["items"], f"{where}[{i}]")]
    if isinstance(value, dict):
        known = schema.get("properties", {})
        out += [f"{where}: no {name}" for name in schema.get("required", []) if name not in value]
        for name, part in value.items():
            rest = schema["additionalProperties"]
            if name not in known and rest is False:
                out.append(f"{where}.{name}: unknown")
            else:
                out += faults(part, known.get(name, rest), f"{where}.{name}")
    return out


@pytest.mark.parametrize(
    ("kind", "words", "without"),
    [
        ("run", EdgeWords, {"along"}),
        ("defaults", EdgeWords, {"along"}),
        ("edge", StretchWords, set()),
        ("join", JoinWords, set()),
        ("scallop", ScallopWords, set()),
        ("eyelet", EyeletWords, set()),
        ("notch", NotchWords, set()),
        ("finish", FinishWords, set()),
        ("facing", FacingWords, set()),
        ("template", TemplateWords, set()),
        ("trim", TrimWords, set()),
        ("strap", StrapWords, {"wearer"}),
        ("match", MatchWords, set()),
        ("lacing", LacingWords, {"with_row"}),
        ("piece", PieceWords, set()),
        ("cut", PieceWords, {"piece", "side", "corner", "fold", "dart"}),
    ],
)
def test_every_word_of_a_recipe_has_its_key(kind: str, words: Any, without: set[str]) -> None:  # noqa: ANN401
    names = {f.name for f in fields(words)} - without
    others = {"name", "pattern", "edges", "joins", "flat", "scallop", "eyelet", "notch", "finish", "facing", "template"}
    others |= {"trim", "lacing"}
    own = {
        "run": others,
        "defaults": others,
        "piece": {"pattern"},
        "strap": {"pattern"},
        "match": {"pattern"},
        "lacing": {"with"},
    }.get(kind, set())
    assert set(TABLES[kind]) - own == names
    # A word that may be said several times takes a list.
    several = {f.name for f in fields(words) if f.default == ()} - without
    assert {name for name in names if TABLES[kind][name].takes in (Takes.TEXTS, Takes.HOLDS)} == several


@pytest.mark.parametrize("kind", TABLES)
def test_the_schema_has_the_keys_of_the_reader(kind: str) -> None:
    assert list(table(kind)["properties"]) == list(TABLES[kind])
    assert table(kind)["additionalProperties"] is False
    assert table(kind).get("required", []) == [name for name, key in TABLES[kind].items() if key.required]
    for name, key in TABLES[kind].items():
        shape = table(kind)["properties"][name]
        assert shape["description"] == key.what
        assert key.what.endswith(".")
        assert shape.get("enum", []) == list(key.words)


def test_every_table_can_be_reached() -> None:
    assert set(TABLES) == {"job"} | {key.of for keys in TABLES.values() for key in keys.values() if key.of}
    assert set(SCHEMA["$defs"]) == set(TABLES) - {"job"}


def test_the_schema_is_json_of_its_draft() -> None:
    assert json.loads(json.dumps(SCHEMA)) == SCHEMA
    assert SCHEMA["$schema"] == "https://json-schema.org/draft/2020-12/schema"
    # A list handed out twice is not shared: who changes one schema changes no other.
    job_schema()["$defs"].clear()
    assert job_schema() == SCHEMA


@pytest.mark.parametrize("rule", RULES.values(), ids=str)
def test_a_limit_tells_the_usual_one_its_reason_and_its_source(rule: Rule) -> None:
    told = SCHEMA["$defs"]["limits"]["properties"][rule.code]["description"]
    usual = f"usually at {'least' if rule.at_least else 'most'} {shown(rule.limit, rule.unit)}"
    for words in (rule.what[1:], usual, rule.reason, rule.source):
        assert words in told


def test_the_schema_takes_a_good_job() -> None:
    assert faults(read_toml(WAISTCOAT, "a.toml").data, SCHEMA) == []


@pytest.mark.parametrize(
    ("line", "fault"),
    [
        ('pattern = "waistcoat.svg"', "pattern = 3"),
        ('output = "out.svg"', 'outputs = "out.svg"'),
        ("count = 12", "count = true"),
        ("count = 12", "cuont = 12"),
        ("weights = [2, 1]", "weights = []"),
        ("same_width = true", 'same_width = "true"'),
        ("same_width = true", 'touch = "hill"'),
        ('joins = ["dart", "seam:valley"', "joins = [3"),
        ('kind = "dart"', 'kind = "dirt"'),
        ('{ along = "front:hem-side..dart-out"', "{"),
        ('"c 1" = "crest"', "c1 = 3"),
        ('[[run.notch]]\nat = "valleys"', '[run.notch]\nat = "valleys"'),
        ("[cloth]", "[cut]\ncorners = 'turned'\n[cloth]"),
        ("[cloth]", "[cut]\nside = 'front:c1..c2=20mm'\n[cloth]"),
        ("[cloth]", "[[piece]]\nnumber = 2\n[cloth]"),
        ("[cloth]", "[[piece]]\npiece = 'front'\nside = { c1 = 20 }\n[cloth]"),
        ("[cloth]", "[piece]\npiece = 'front'\n[cloth]"),
        ("[defaults.notch]", "[defaults.finish]\nfinish = 'sewn'\n[defaults.notch]"),
        ("[[run.notch]]", "[run.finish]\ntrim = true\n[[run.notch]]"),
        ("[[run.notch]]", "[[run.finish]]\ntrim = 5\n[[run.notch]]"),
        ("[cloth]", "[paper]\nblack = 'yes'\n[cloth]"),
        ("[cloth]", "[cutter]\nas = 'png'\n[cloth]"),
        ("[cloth]", "[sheet]\n[prices]\nbutter = 3\n[cloth]"),
    ],
)
def test_schema_and_reader_refuse_the_same(tmp_path: Path, line: str, fault: str) -> None:
    assert line in WAISTCOAT
    text = WAISTCOAT.replace(line, fault, 1).replace("{,", "{")
    assert faults(read_toml(text, "a.toml").data, SCHEMA) != []
    with pytest.raises(RequestError):
        read_job(folder_with(tmp_path, text))


def text_with(kind: str, name: str, key: Key) -> str:
    """A job that gives one key its example."""
    line = f"{name} = {as_toml(key.example)}\n"
    end = "[run.scallop]\n"
    if kind == "pattern":
        return f"[[pattern]]\n{'' if name == 'file' else FILE}{line}[[run]]\n{end}"
    if kind in ("edge", "join"):
        own = {"edge": ["along = 'a'\n", "kind = 'seam'\n"], "join": ["along = 'a'\n", join_kind(name)]}[kind]
        rows = {"edge": own[0], "join": own[1]}
        rows[kind] = line if key.required else rows[kind] + line
        tables = f"[[run.edges]]\n{rows['edge']}[[run.edges]]\nalong = 'b'\n[[run.joins]]\n{rows['join']}"
        return f"{HEAD}[[run]]\n{tables}{end}"
    if kind == "run":
        joins = {"joins": 'edges = ["a", "b"]\n', "edges": 'joins = ["seam"]\n'}.get(name, "")
        return f"{HEAD}[[run]]\n{joins}{line}{end}"
    if kind == "job":
        return f"{HEAD if name != 'pattern' else ''}{line}[[run]]\n{end}"
    if kind == "piece":
        piece = "" if name == "piece" else "piece = 'front'\n"
        return f"{HEAD}[[run]]\n{end}[[piece]]\n{piece}{line}"
    if kind == "strap":
        strap = "" if name == "name" else "name = 'ties'\n"
        return f"{HEAD}[[run]]\n{end}[[strap]]\n{strap}{line}"
    if kind == "match":
        sides = "".join(f"{side} = 'hem'\n" for side in "ab" if side != name)
        return f"{HEAD}[[run]]\n{end}[[match]]\n{sides}{line}"
    if kind in ("prices", "minutes"):
        return f"{HEAD}[sheet]\n[{kind}]\n{line}[[run]]\n{end}"
    if kind == "cloth":
        width = 'width = "1400mm"\n' if name in ("lies", "one_way", "shrinkage") else ""
        return f"{HEAD}[cloth]\n{width}{line}[[run]]\n{end}"
    if TABLES["job"].get(kind) is not None:
        return f"{HEAD}[{kind}]\n{line}[[run]]\n{end}"
    header = f"[[run.{kind}]]" if TABLES["run"][kind].takes is Takes.TABLES else f"[run.{kind}]"
    return f"{HEAD}[[run]]\n" + (f"{header}\n{line}" if kind == "scallop" else f"{end}{header}\n{line}")


HEAD = 'pattern = "waistcoat.svg"\n'
FILE = 'file = "waistcoat.svg"\n'


def join_kind(name: str) -> str:
    return f"kind = '{'lap' if name == 'width' else 'dart'}'\n"


@pytest.mark.parametrize(
    ("kind", "name"), [(kind, name) for kind in TABLES for name, key in TABLES[kind].items() if key.example is not None]
)
def test_every_example_is_taken_by_reader_and_schema(tmp_path: Path, kind: str, name: str) -> None:
    assert table(kind)["properties"][name]["examples"] == [TABLES[kind][name].example]
    text = text_with(kind, name, TABLES[kind][name])
    assert faults(read_toml(text, "a.toml").data, SCHEMA) == []
    read_job(folder_with(tmp_path, text))


def test_all_but_tables_have_an_example() -> None:
    for keys in TABLES.values():
        for key in keys.values():
            assert (key.example is None) == (key.takes in (Takes.TABLE, Takes.TABLES))


def test_the_gallery_s_schema_is_the_one_of_the_code() -> None:
    gallery = Path(__file__).parent.parent.parent / "gallery"
    assert json.loads((gallery / "job.schema.json").read_text(encoding="utf-8")) == job_schema()
