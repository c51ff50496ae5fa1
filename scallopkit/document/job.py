"""Job files: drawings, the runs on them and where the results go, written down once and made with one command."""

from __future__ import annotations

import copy
import os
import re
from collections.abc import Iterable, Iterator, Mapping, Set
from contextlib import contextmanager
from dataclasses import dataclass, field, replace
from pathlib import Path
from typing import Any, NoReturn, TypeVar

from ..construction.rules import THICKNESS
from ..errors import NameUnknownError, RequestError, ScallopkitError, counted
from .cloth_needed import shrinkage_of
from .finishing import FACED
from .flattening import bare_name
from .job_keys import EDGE_KEYS, TABLES, as_toml
from .job_outputs import JobCutter, JobOutputs, JobPaper, JobSheet, outputs_in
from .job_values import Given, given, given_in, refuse, refuse_no_file_name
from .join_words import checked_join, join_of
from .recipe import (
    EdgeWords,
    EyeletWords,
    FacingWords,
    FinishWords,
    JoinWords,
    LacingWords,
    MatchWords,
    NotchWords,
    PieceWords,
    Recipe,
    ScallopWords,
    StrapWords,
    StretchWords,
    TemplateWords,
    TrimWords,
)
from .sewability import limits_of
from .toml_lines import KeyPath, TomlTable, dotted, read_toml
from .units import parse_length

# Of these one follows from another, so that what a run says takes the place of the others' defaults.
_RIVALS = (("width", "count", "like"), ("depth", "radius"), ("spacing", "count", "level_with"))
# Words for eyelets along an edge, and for eyelets in scallops.
_ALONG_EDGE = ("spacing", "count", "ends", "inset", "step", "off", "level_with", "staggered")
_IN_SCALLOPS = ("every", "from_crest")
# Words that a row level with another's takes from that one, beside the rivals of level_with.
_SET_BY_LEVEL = ("ends", "step")
# Words for an allowance that is turned.
_OF_FACED = ("cut", "trim", "clip_short", "widest_wedge", "widest_gap")

# The tables that [defaults] may hold, in the order of `_Defaults`.
_DEFAULT_TABLES = ("scallop", "eyelet", "notch", "finish")
_OPTION = re.compile(r"--([a-z][a-z-]*[a-z])")
# Options whose keys have another name.
_KEYS_OF_OPTIONS = {"along": "edges", "join": "joins", "template": "strip", "template-body": "body"}
# How refusals speak of a key of a facing or a finish that they do not name.
_SPOKEN = {
    "turn of cloth": "turn",
    "can't go on over": "across",
    "at most": "longest",
    "give it the finish": "kind",
    "allowance": "seam",
    " deep": "depth",
}
_TABLE_OF = {JobPaper: "paper", JobCutter: "cutter", JobSheet: "sheet"}
_ALL_KEYS = {"run", *(name for keys in TABLES.values() for name in keys)}


@dataclass(frozen=True)
class Cloth:
    """The cloth of a job; empty texts where nothing is said."""

    name: str = ""
    width: str = ""
    thickness: str = ""
    lies: str = ""
    one_way: str = ""
    shrinkage: str = ""


@dataclass(frozen=True)
class JobTable:
    """One of the tables of a run by which something is put on it.

    Attributes:
        field: the field of the recipe that it fills, alone or as one of several.
        line: where it begins in the file.
        path: its name with dots, `run.facing`.
        given: every key of it, defaults too.
    """

    field: str
    line: int
    path: str
    given: tuple[Given, ...]

    def left_out(self, recipe: Recipe) -> Recipe:
        """The recipe without it, where it is the last of its field."""
        rows = getattr(recipe, self.field)
        less: dict[str, Any] = {self.field: rows[:-1] if isinstance(rows, tuple) else None}
        return replace(recipe, **less)


@dataclass(frozen=True)
class JobRun:
    """One run of a job.

    Attributes:
        recipe: what is asked for.
        flat: where the picture of the run laid flat goes.
        line: where the run begins in the file.
        given: every key that the recipe comes from, defaults too, in the order in which a run is made.
        tables: what is put on its edges beside scallops, in that order.
    """

    recipe: Recipe
    flat: Path | None
    line: int
    given: tuple[Given, ...] = ()
    tables: tuple[JobTable, ...] = ()

    @property
    def without_tables(self) -> JobRun:
        """The same for a refusal that is not about them."""
        told = {id(one) for table in self.tables for one in table.given}
        return replace(self, given=tuple(one for one in self.given if id(one) not in told), tables=())


@dataclass(frozen=True)
class JobPiece:
    """One piece of a job as it is to be cut; `words.piece` is empty where all closed pieces are meant."""

    words: PieceWords
    line: int
    given: tuple[Given, ...] = ()


@dataclass(frozen=True)
class JobStrap:
    """One strap of a job."""

    words: StrapWords
    line: int
    given: tuple[Given, ...] = ()


@dataclass(frozen=True)
class JobMatch:
    """Two edges of a job that are sewn together."""

    words: MatchWords
    line: int
    given: tuple[Given, ...] = ()


@dataclass(frozen=True)
class JobPattern:
    """One drawing of a job.

    Attributes:
        file: the drawing.
        output: where the trimmed drawing goes.
        report: where the figures go.
        runs: its runs, in the file's order.
        line: where the drawing is named in the file.
        cut: how all its closed pieces are cut; None where only those in `pieces` are.
        pieces: pieces that are cut in their own ways.
        straps: straps that go with it.
        matches: its edges that are sewn together.
        outputs: what is written beside it.
    """

    file: Path
    output: Path
    report: Path | None
    runs: tuple[JobRun, ...]
    line: int = 1
    cut: JobPiece | None = None
    pieces: tuple[JobPiece, ...] = ()
    straps: tuple[JobStrap, ...] = ()
    matches: tuple[JobMatch, ...] = ()
    outputs: JobOutputs = field(default_factory=JobOutputs)


@dataclass(frozen=True)
class Job:
    """What a job file asks for.

    Attributes:
        name: the file's name.
        folder: the folder it lies in; all its file names start from there.
        patterns: its drawings.
        cloth: the cloth, where it is described.
        limits: limits of the rules of sewing, by their codes.
        wearer: who wears what is sewn; empty where it is not told.
        legend: whether the drawings get a legend and a test square; None leaves them as they are, else they do.
    """

    name: str
    folder: Path
    patterns: tuple[JobPattern, ...]
    cloth: Cloth | None = None
    limits: Mapping[str, str] = field(default_factory=dict)
    wearer: str = ""
    legend: bool | None = None


def read_job(path: str | Path) -> Job:
    """Read a job file.

    Raises:
        RequestError: it cannot be read, or something in it is refused; the text names the file, the line and the key.
    """
    place = Path(path)
    several = ("run", "pattern", "eyelet", "notch", "facing", "piece", "strap", "match")
    toml = read_toml(_bytes(place), place.name, several=several)
    top = given_in(toml, (), "job")
    folder = place.parent
    drawings = _drawings(toml, top, folder)
    cloth = _cloth(toml)
    wearer = str(top["wearer"].value) if "wearer" in top else ""
    legend = bool(top["legend"].value) if "legend" in top else None
    cut = _cut(toml, cloth)
    runs = _runs(toml, drawings, folder, wearer, cloth, {one.key: one for one in (cut.given if cut else ())})
    outputs = {
        name: outputs_in(toml, drawing.output, folder, several=len(drawings) > 1) for name, drawing in drawings.items()
    }
    places = [*_results(toml, drawings.values(), folder), *(one for each in outputs.values() for one in each.places)]
    _refuse_files_taken(toml, place, list(drawings.values()), places)
    pieces, straps = _pieces(toml, drawings, cut, cloth), _straps(toml, drawings, wearer)
    matches = _matches(toml, drawings)
    patterns = tuple(
        JobPattern(
            d.file,
            d.output,
            d.report,
            runs[name],
            d.line,
            cut,
            pieces[name],
            straps[name],
            matches[name],
            outputs[name],
        )
        for name, d in drawings.items()
    )
    told = _words(Cloth, cloth) if cloth else None
    return Job(place.name, folder, patterns, told, _limits(toml, cloth), wearer, legend)


# What is made of a job, and can be refused.
JobPart = JobRun | JobTable | JobPiece | JobStrap | JobMatch | JobPaper | JobCutter | JobSheet


def explained(job: Job, made: JobPart, error: ScallopkitError) -> ScallopkitError:
    """A refusal that arose while a run or a piece was made, told with the file, the line and the key it is about.

    Options of the command line in its text become the names of keys.

    Args:
        job: the job.
        made: what was being made, or the table of a run that is refused.
        error: the refusal.
    """
    text = str(error)
    about = _about(made.given, text, isinstance(error, NameUnknownError))
    if about is None and isinstance(made, JobTable):
        keys = [key for phrase, key in _SPOKEN.items() if phrase in text]
        about = next((one for key in keys for one in made.given if one.key == key), None)
    if about is not None:
        where = f"line {about.line}, {about.path}"
    elif isinstance(made, JobTable):
        where = f"line {made.line}, {made.path}"
    elif isinstance(made, JobRun):
        where = f"line {made.line}, run" + (f' "{made.recipe.name}"' if made.recipe.name else "")
    elif isinstance(made, JobStrap):
        where = f'line {made.line}, strap "{made.words.name}"'
    elif isinstance(made, JobMatch):
        where = f'line {made.line}, match "{made.words.a}" to "{made.words.b}"'
    elif isinstance(made, JobPaper | JobCutter | JobSheet):
        where = f"line {made.line}, {_TABLE_OF[type(made)]}"
    else:
        where = f"line {made.line}, piece" + (f' "{made.words.piece}"' if made.words.piece else "")
    told = copy.copy(error)
    # A strap lies along one edge only, whose key is called so.
    text = text.replace("--along", "along") if isinstance(made, JobStrap) else text
    told.args = (f"{job.name}, {where}: {_OPTION.sub(_as_key, text)}",)
    return told


def _about(given: tuple[Given, ...], text: str, unknown_name: bool) -> Given | None:
    """The key that a refusal is about: the first option named that is given, or an edge named."""
    for option in _OPTION.findall(text):
        key = _key_of(option)
        found = [one for one in given if one.key == key]
        # Of several keys of that name the one whose value is told.
        told = [one for one in found if any(value and value in text for value in one.texts)]
        if found:
            return (told or found)[0]
    edges = [one for one in given if one.key == "edges"]
    if not unknown_name or not edges:
        return None
    names = set(re.findall(r'"([^"]+)"', text.partition(";")[0]))
    shared = [len(names & set(re.split(r":|\.\.", str(one.value)))) for one in edges]
    return edges[shared.index(max(shared))] if max(shared) else None


def _key_of(option: str) -> str:
    return _KEYS_OF_OPTIONS.get(option, option.replace("-", "_"))


def _as_key(match: re.Match[str]) -> str:
    key = _key_of(match[1])
    return key if key in _ALL_KEYS else match[0]


def _bytes(place: Path) -> bytes:
    try:
        return place.read_bytes()
    except (OSError, ValueError) as error:
        reason = getattr(error, "strerror", None) or error
        raise RequestError(f"{place} cannot be read ({reason}); check the name and the folder") from None


# ---------------------------------------------------------------- drawings and files


@dataclass(frozen=True)
class _Drawing:
    """A drawing as the file names it.

    Attributes:
        name: the file's name as written.
        path: where in the job file it is named.
        output_path, report_path: where its results are named; the drawing's own path where they are not.
    """

    name: str
    file: Path
    output: Path
    report: Path | None
    line: int
    path: KeyPath
    output_path: KeyPath
    report_path: KeyPath


def _drawings(toml: TomlTable, top: dict[str, Given], folder: Path) -> dict[str, _Drawing]:
    """The drawings by their names as written."""
    value = toml.data["pattern"]
    if isinstance(value, str):
        return {value: _drawing(toml, value, ("pattern",), (), top, folder)}
    for name in ("output", "report"):
        if name in top:
            refuse(toml, (name,), f"goes with one drawing; below each [[pattern]] give its own {name}")
    out: dict[str, _Drawing] = {}
    for i in range(len(value)):
        table: KeyPath = ("pattern", i)
        own = given_in(toml, table, "pattern")
        name = str(own["file"].value)
        drawing = _drawing(toml, name, (*table, "file"), table, own, folder)
        for other in out.values():
            if _place(other.file) == _place(drawing.file):
                refuse(toml, drawing.path, f"the drawing is named before, in line {other.line}; keep one of them")
        out[name] = drawing
    return out


def _drawing(
    toml: TomlTable, name: str, path: KeyPath, table: KeyPath, own: dict[str, Given], folder: Path
) -> _Drawing:
    refuse_no_file_name(toml, path, name)
    file = folder / name
    if not file.is_file():
        refuse(toml, path, f"there is no file {as_toml(name)} in {_shown(folder)}; {_svg_files(file.parent)}")
    output = folder / str(own["output"].value) if "output" in own else folder / f"{file.stem}-scalloped.svg"
    report = folder / str(own["report"].value) if "report" in own else None
    output_path = (*table, "output") if "output" in own else path
    return _Drawing(name, file, output, report, toml.line_of(path), path, output_path, (*table, "report"))


def _shown(folder: Path) -> str:
    return "this folder" if folder == Path() else str(folder)


def _svg_files(folder: Path) -> str:
    try:
        there = sorted(one.name for one in folder.iterdir() if one.suffix.lower() in (".svg", ".svgz"))
    except OSError:
        return f"there is no folder {folder}"
    if not there:
        return "no drawing (.svg) lies there"
    return "there are " + ", ".join(there[:20]) + (f" and {len(there) - 20} more" if len(there) > 20 else "")


def _drawing_of(toml: TomlTable, path: KeyPath, own: dict[str, Given], drawings: dict[str, _Drawing]) -> str:
    """The name of the drawing that a run is on."""
    names = ", ".join(as_toml(name) for name in drawings)
    if "pattern" in own:
        name = str(own["pattern"].value)
        if name not in drawings:
            refuse(toml, (*path, "pattern"), f"no drawing of this job is called {as_toml(name)}; there are {names}")
        return name
    if len(drawings) > 1:
        refuse(toml, (*path, "pattern"), f"is missing, since the job has several drawings; give one of {names}")
    return next(iter(drawings))


def _refuse_files_taken(
    toml: TomlTable, job: Path, drawings: list[_Drawing], results: list[tuple[Path, KeyPath]]
) -> None:
    """Refuses results that would overwrite the job, a drawing or each other."""
    kept = {_place(job): "the job file itself"}
    kept |= {_place(drawing.file): f"the drawing {as_toml(drawing.name)} itself" for drawing in drawings}
    taken: dict[object, str] = {}
    for file, path in results:
        place = _place(file)
        if place in kept:
            refuse(toml, path, f"the result would overwrite {kept[place]}: give it another name")
        if place in taken:
            refuse(toml, path, f"{file.name} takes another result already ({taken[place]}); give each its own name")
        taken[place] = f"line {toml.line_of(path)}"


def _results(toml: TomlTable, drawings: Iterable[_Drawing], folder: Path) -> Iterator[tuple[Path, KeyPath]]:
    """The drawings that the job writes, their reports and pictures, and where they are named."""
    for drawing in drawings:
        yield drawing.output, drawing.output_path
        if drawing.report is not None:
            yield drawing.report, drawing.report_path
    for i, run in enumerate(toml.data["run"]):
        if "flat" in run:
            yield folder / run["flat"], ("run", i, "flat")


def _place(path: Path) -> object:
    """What is the same for two names of one file."""
    try:
        found = path.stat()
    except OSError:
        return os.path.normcase(os.path.realpath(path))
    return found.st_dev, found.st_ino


# ---------------------------------------------------------------- runs


@dataclass(frozen=True)
class _Defaults:
    """What all runs take unless they say otherwise."""

    edge: dict[str, Given] = field(default_factory=dict)
    scallop: dict[str, Given] = field(default_factory=dict)
    eyelet: dict[str, Given] = field(default_factory=dict)
    notch: dict[str, Given] = field(default_factory=dict)
    finish: dict[str, Given] = field(default_factory=dict)


def _defaults(toml: TomlTable) -> _Defaults:
    table = toml.data.get("defaults")
    if table is None:
        return _Defaults()
    edge = given_in(toml, ("defaults",), "defaults")
    parts = (given_in(toml, ("defaults", k), k) if k in table else {} for k in _DEFAULT_TABLES)
    return _Defaults(edge, *parts)


def _runs(
    toml: TomlTable,
    drawings: dict[str, _Drawing],
    folder: Path,
    wearer: str,
    cloth: dict[str, Given],
    cut: dict[str, Given],
) -> dict[str, tuple[JobRun, ...]]:
    """The runs on each drawing, in the file's order, each with who wears it."""
    defaults = _defaults(toml)
    out: dict[str, dict[str, JobRun]] = {name: {} for name in drawings}
    for i in range(len(toml.data["run"])):
        path: KeyPath = ("run", i)
        own = given_in(toml, path, "run")
        there = out[_drawing_of(toml, path, own, drawings)]
        made = _run(toml, path, own, defaults, folder, cloth, cut)
        run = replace(made, recipe=replace(made.recipe, wearer=wearer))
        name = _name(run.recipe)
        if name in there:
            _refuse_name_taken(toml, path, run, there[name])
        there[name] = run
    for name, drawing in drawings.items():
        if not out[name]:
            cure = f"give a run pattern = {as_toml(name)}, or leave it out"
            refuse(toml, drawing.path, f"no run is on this drawing: {cure}")
    return {name: tuple(there.values()) for name, there in out.items()}


def _run(
    toml: TomlTable,
    path: KeyPath,
    own: dict[str, Given],
    defaults: _Defaults,
    folder: Path,
    cloth: dict[str, Given],
    cut: dict[str, Given],
) -> JobRun:
    table = toml.at(path)
    if not {"scallop", "eyelet", "notch", "trim", "true_up", "flat"} & set(table):
        puts = "[run.scallop], [[run.eyelet]], [[run.notch]] or [run.trim]"
        refuse(toml, path, f"puts nothing on its edges; write {puts} below it")
    stretches = _stretches(toml, path)
    joins = _joins(toml, path, len(stretches))
    edge = _merged(defaults.edge, {name: one for name, one in own.items() if name in EDGE_KEYS})
    if len(stretches) == 1 and not joins:
        edge |= stretches[0]
        stretches = []
    # Eyelets in scallops and eyelets along an edge take different words; a default stands for those that take it.
    idle = _ALONG_EDGE if "scallop" in table else _IN_SCALLOPS
    fitting = {name: one for name, one in defaults.eyelet.items() if name not in idle}
    scallop = [_merged(defaults.scallop, row) for row in _rows(toml, path, "scallop")]
    eyelets = [_eyelets(fitting, row, cloth) for row in _rows(toml, path, "eyelet")]
    notches = [_merged(defaults.notch, row) for row in _rows(toml, path, "notch")]
    finish = [_finish(defaults.finish, row) for row in _rows(toml, path, "finish")]
    if not finish and defaults.finish and scallop:
        finish = [defaults.finish]
    faced = {bare_name(str(row["along"].value)).partition(":")[0] for row in (edge, *stretches) if "along" in row}
    usual = {key: one for key, one in (_of_cloth(cloth) | cut).items() if key not in _told_of(toml, faced)}
    facings = [_facing(row, cloth, usual) for row in _rows(toml, path, "facing")]
    template, trim = _rows(toml, path, "template"), _rows(toml, path, "trim")
    lacing = [_laced(row, cut if "allowance" not in edge else {}) for row in _rows(toml, path, "lacing")]
    recipe = Recipe(
        str(own["name"].value) if "name" in own else "",
        _words(EdgeWords, edge),
        _words(ScallopWords, scallop[0]) if scallop else None,
        tuple(_words(EyeletWords, row) for row in eyelets),
        tuple(_words(NotchWords, row) for row in notches),
        edges=tuple(_words(StretchWords, row) for row in stretches),
        joins=tuple(join for join, _ in joins),
        finish=_words(FinishWords, finish[0]) if finish else None,
        facings=tuple(_words(FacingWords, row) for row in facings),
        template=_words(TemplateWords, template[0]) if template else None,
        trim=_words(TrimWords, trim[0]) if trim else None,
        lacing=_lacing(lacing[0]) if lacing else None,
    )
    flat = folder / str(own["flat"].value) if "flat" in own else None
    named = {"name": own["name"]} if "name" in own else {}
    tables = (named, edge, *stretches, *(words for _, words in joins), *scallop, *eyelets, *notches)
    tables = (*tables, *finish, *facings, *template, *trim, *lacing)
    given = tuple(one for words in tables for one in words.values())
    put_on = (
        *_tables(toml, path, "eyelet", "eyelets", eyelets),
        *_tables(toml, path, "notch", "notches", notches),
        *_tables(toml, path if "finish" in table or not finish else ("defaults",), "finish", "finish", finish),
        *_tables(toml, path, "facing", "facings", facings),
        *_tables(toml, path, "template", "template", template),
        *_tables(toml, path, "trim", "trim", trim),
        *_tables(toml, path, "lacing", "lacing", lacing),
    )
    return JobRun(recipe, flat, toml.line_of(path), given, put_on)


def _tables(
    toml: TomlTable, path: KeyPath, key: str, field: str, rows: Iterable[dict[str, Given]]
) -> Iterator[JobTable]:
    """The tables of one kind below a path, with what they say."""
    for place, words in zip(_entries(toml, (*path, key)), rows, strict=True):
        yield JobTable(field, toml.line_of(place), dotted(place), tuple(words.values()))


def _told_of(toml: TomlTable, pieces: Set[str]) -> set[str]:
    """The keys that tables of single pieces give for any of these."""
    rows = [given_in(toml, row, "piece") for row in _entries(toml, ("piece",))]
    return {key for row in rows if str(row["piece"].value) in pieces for key in row}


def _facing(own: dict[str, Given], cloth: dict[str, Given], usual: dict[str, Given]) -> dict[str, Given]:
    """What a run says of a facing, cut from its pieces' cloth; straight ones are no longer than that is wide.

    `usual` is what is said of all pieces, unless a piece of the run says otherwise: then the piece as it is cut tells.
    """
    # Loaded only where there are facings.
    from .facings import SHAPED

    straight = "kind" in own and own["kind"].value != SHAPED
    told = {key: usual[key] for key in ("cloth", "size") if key in usual}
    return told | ({"longest": replace(cloth["width"], key="longest")} if straight and "width" in cloth else {}) | own


def _eyelets(defaults: dict[str, Given], own: dict[str, Given], cloth: dict[str, Given]) -> dict[str, Given]:
    """What a run says of a row, with the defaults that fit it and the thickness of the cloth."""
    idle = _SET_BY_LEVEL if "level_with" in own else ()
    thick = {"cloth_thickness": replace(cloth["thickness"], key="cloth_thickness")} if "thickness" in cloth else {}
    return thick | _merged({name: one for name, one in defaults.items() if name not in idle}, own)


def _laced(own: dict[str, Given], cut: dict[str, Given]) -> dict[str, Given]:
    """What a run says of its lacing; an underlay behind two rows has the allowance of the pieces."""
    known = "with" in own and "allowance" in cut
    return ({"underlay_allowance": replace(cut["allowance"], key="underlay_allowance")} if known else {}) | own


def _finish(defaults: dict[str, Given], own: dict[str, Given]) -> dict[str, Given]:
    """What a run says of its finish; where it says another kind, defaults about an allowance stand only for faced."""
    idle = _OF_FACED if "finish" in own and own["finish"].value != FACED else ()
    return _merged({name: one for name, one in defaults.items() if name not in idle}, own)


def _cut(toml: TomlTable, cloth: dict[str, Given]) -> JobPiece | None:
    """How all closed pieces are cut."""
    if "cut" not in toml.data:
        return None
    words = _of_cloth(cloth) | given_in(toml, ("cut",), "cut")
    return JobPiece(_words(PieceWords, words), toml.line_of(("cut",)), tuple(words.values()))


def _of_cloth(cloth: dict[str, Given]) -> dict[str, Given]:
    """What is written on pieces that do not tell their cloth."""
    return {"cloth": replace(cloth["name"], key="cloth")} if "name" in cloth else {}


def _pieces(
    toml: TomlTable, drawings: dict[str, _Drawing], cut: JobPiece | None, cloth: dict[str, Given]
) -> dict[str, tuple[JobPiece, ...]]:
    """The pieces of each drawing that are cut in their own ways; what they leave open is as for all."""
    usual = _of_cloth(cloth) | {one.key: one for one in (cut.given if cut is not None else ())}
    out: dict[str, list[JobPiece]] = {name: [] for name in drawings}
    for row in _entries(toml, ("piece",)):
        own = given_in(toml, row, "piece")
        there = out[_drawing_of(toml, row, own, drawings)]
        words = usual | {name: one for name, one in own.items() if name != "pattern"}
        name = str(own["piece"].value)
        if any(other.words.piece == name for other in there):
            refuse(toml, (*row, "piece"), f"{as_toml(name)} is described before; put all of it into one table")
        there.append(JobPiece(_words(PieceWords, words), toml.line_of(row), tuple(words.values())))
    return {name: tuple(pieces) for name, pieces in out.items()}


def _straps(toml: TomlTable, drawings: dict[str, _Drawing], wearer: str) -> dict[str, tuple[JobStrap, ...]]:
    """The straps that go with each drawing."""
    out: dict[str, list[JobStrap]] = {name: [] for name in drawings}
    for row in _entries(toml, ("strap",)):
        own = given_in(toml, row, "strap")
        there = out[_drawing_of(toml, row, own, drawings)]
        words = _words(StrapWords, {name: one for name, one in own.items() if name != "pattern"})
        if any(other.words.name == words.name for other in there):
            refuse(toml, (*row, "name"), f"another strap is called {as_toml(words.name)}; rename one")
        there.append(JobStrap(replace(words, wearer=wearer), toml.line_of(row), tuple(own.values())))
    return {name: tuple(straps) for name, straps in out.items()}


def _matches(toml: TomlTable, drawings: dict[str, _Drawing]) -> dict[str, tuple[JobMatch, ...]]:
    """The edges of each drawing that are sewn together."""
    out: dict[str, list[JobMatch]] = {name: [] for name in drawings}
    for row in _entries(toml, ("match",)):
        own = given_in(toml, row, "match")
        there = out[_drawing_of(toml, row, own, drawings)]
        words = _words(MatchWords, {name: one for name, one in own.items() if name != "pattern"})
        if any((other.words.a, other.words.b) == (words.a, words.b) for other in there):
            refuse(toml, (*row, "a"), f"{as_toml(words.a)} and {as_toml(words.b)} are matched before; keep one of them")
        there.append(JobMatch(words, toml.line_of(row), tuple(own.values())))
    return {name: tuple(matches) for name, matches in out.items()}


def _stretches(toml: TomlTable, path: KeyPath) -> list[dict[str, Given]]:
    """The words of every edge of a run, by the names of `StretchWords`; none where the run names no edge."""
    out = []
    for row in _entries(toml, (*path, "edges")):
        value = toml.at(row)
        words = {"along": given(toml, row, value)} if isinstance(value, str) else given_in(toml, row, "edge")
        if not str(words["along"].value).strip():
            refuse(toml, row, "names no edge; write PIECE, PIECE:FROM..TO or PIECE:FROM..VIA..TO")
        out.append(words)
    return out


def _joins(toml: TomlTable, path: KeyPath, edges: int) -> list[tuple[JoinWords, dict[str, Given]]]:
    """The joins of a run, each with its words, which begin with the whole of it."""
    rows = _entries(toml, (*path, "joins"))
    if rows and not edges:
        refuse(toml, (*path, "joins"), "there are joins but no edges; name the edges too, in sewing order")
    if edges and len(rows) not in (edges - 1, edges):
        what = (
            f"{counted(edges, 'edge')} take {counted(edges - 1, 'join')}, or {edges} for a loop"
            if edges > 1
            else ("one edge takes no join, or one for a loop")
        )
        refuse(toml, (*path, "joins" if rows else "edges"), f"{what}; here are {len(rows) or 'none'}")
    return [_join(toml, row) for row in rows]


def _join(toml: TomlTable, path: KeyPath) -> tuple[JoinWords, dict[str, Given]]:
    value = toml.at(path)
    if isinstance(value, str):
        with _refused_at(toml, path):
            return join_of(value, "a join"), {"joins": given(toml, path, value)}
    words = given_in(toml, path, "join")
    kind = str(words["kind"].value)
    for name, one in words.items():
        # Each word by itself with the kind, so that the refusal can name it.
        with _refused_at(toml, (*path, name)):
            checked_join(_words(JoinWords, {"kind": words["kind"], name: one}), "a join")
    return _words(JoinWords, words), {"joins": given(toml, path, kind), **words}


@contextmanager
def _refused_at(toml: TomlTable, path: KeyPath) -> Iterator[None]:
    """A refusal within is told with its place."""
    try:
        yield
    except RequestError as error:
        refuse(toml, path, str(error))


def _entries(toml: TomlTable, path: KeyPath) -> list[KeyPath]:
    """Where the entries of a list stand; a single one may stand without brackets."""
    try:
        value = toml.at(path)
    except KeyError:
        return []
    return [(*path, i) for i in range(len(value))] if isinstance(value, list) else [path]


def _rows(toml: TomlTable, path: KeyPath, kind: str) -> list[dict[str, Given]]:
    return [given_in(toml, row, kind) for row in _entries(toml, (*path, kind))]


def _merged(defaults: dict[str, Given], own: dict[str, Given]) -> dict[str, Given]:
    """What a run says, and the defaults where it says nothing that takes their place."""
    settled = {name for rivals in _RIVALS if set(rivals) & set(own) for name in rivals}
    return {name: one for name, one in defaults.items() if name not in settled} | own


_Words = TypeVar("_Words")


def _words(kind: type[_Words], table: dict[str, Given]) -> _Words:
    return kind(**{name: one.value for name, one in table.items()})


def _lacing(table: dict[str, Given]) -> LacingWords:
    # `with` is a word of Python's own.
    return _words(LacingWords, {"with_row" if name == "with" else name: one for name, one in table.items()})


def _refuse_name_taken(toml: TomlTable, path: KeyPath, run: JobRun, other: JobRun) -> NoReturn:
    """Refuses a run whose name, or whose edges where it has none, another run of the drawing has."""
    if not run.recipe.name:
        refuse(toml, path, f"another run is on the same edge (line {other.line}); give each a name of its own")
    name = as_toml(run.recipe.name)
    refuse(toml, (*path, "name"), f"another run on this drawing is called {name} (line {other.line}); rename one")


def _name(recipe: Recipe) -> str:
    """What a run is called; else as its edges."""
    return recipe.name or " + ".join(stretch.along for stretch in recipe.stretches)


def _cloth(toml: TomlTable) -> dict[str, Given]:
    """What is said of the cloth, by its keys."""
    if "cloth" not in toml.data:
        return {}
    words = given_in(toml, ("cloth",), "cloth")
    for name in ("thickness", "width"):
        if name in words:
            with _refused_at(toml, ("cloth", name)):
                parse_length(str(words[name].value), f"the {name}", "positive")
    if "shrinkage" in words:
        with _refused_at(toml, ("cloth", "shrinkage")):
            shrinkage_of(str(words["shrinkage"].value), "the shrinkage")
    for name in ("lies", "one_way", "shrinkage"):
        if name in words and "width" not in words:
            refuse(toml, ("cloth", name), 'goes with a width: give width = "1400mm" too, or leave it out')
    return words


def _limits(toml: TomlTable, cloth: dict[str, Given]) -> dict[str, str]:
    """The limits of the rules of sewing; the cloth is as thick as it is said to be, unless they say otherwise."""
    usual = {THICKNESS: str(cloth["thickness"].value)} if "thickness" in cloth else {}
    if "limits" not in toml.data:
        return usual
    words = {code: str(one.value) for code, one in given_in(toml, ("limits",), "limits").items()}
    for code, text in words.items():
        with _refused_at(toml, ("limits", code)):
            limits_of({code: text})
    return usual | words
