"""What a job writes beside its drawings: pages of paper, a file for machines, and a make sheet with its prices."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from pathlib import Path
from typing import NoReturn

from ..errors import RequestError
from .cutter import FORMATS
from .estimate import MINUTES, PRICED, checked_without, figure_of
from .job_keys import CURRENCY, as_toml
from .job_values import Given, given_in, refuse
from .paper import PaperWish
from .toml_lines import KeyPath, TomlTable

_PDF = (".pdf",)
_SHEETS = (".html", ".htm", ".pdf")
# Keys that only a make sheet goes by.
_OF_SHEETS = ("prices", "minutes")


@dataclass(frozen=True)
class JobPaper:
    """The pages of a drawing: where they go, what is wanted on them, and whether the day is written there."""

    file: Path
    wish: PaperWish
    dated: bool
    line: int
    given: tuple[Given, ...] = ()


@dataclass(frozen=True)
class JobCutter:
    """The file for machines of a drawing; texts as `cutter` takes them."""

    file: Path
    kind: str
    within: str
    show: tuple[str, ...]
    hide: tuple[str, ...]
    pieces: tuple[str, ...]
    line: int
    given: tuple[Given, ...] = ()


@dataclass(frozen=True)
class JobSheet:
    """The make sheet of a drawing.

    Attributes:
        files: where it goes; each is HTML or a PDF by its ending.
        title: its heading; else the drawing's name.
        without: what a second estimate leaves out.
        minutes, prices: for one of each, by their names.
        currency: what prices are in.
        page: the size of the pages of a PDF.
    """

    files: tuple[Path, ...]
    title: str
    without: tuple[str, ...]
    minutes: Mapping[str, float]
    prices: Mapping[str, float]
    currency: str
    page: str
    line: int
    given: tuple[Given, ...] = ()


@dataclass(frozen=True)
class JobOutputs:
    """All that is written beside one drawing, with the places in the job file where the files are named."""

    paper: JobPaper | None = None
    cutter: JobCutter | None = None
    sheet: JobSheet | None = None
    places: tuple[tuple[Path, KeyPath], ...] = field(default=())


def outputs_in(toml: TomlTable, drawing: Path, folder: Path, several: bool) -> JobOutputs:
    """What is to be written beside a drawing.

    Args:
        toml: the job file.
        drawing: where the trimmed drawing goes; files without a name of their own are called by it.
        folder: the folder of the job file.
        several: whether the job has several drawings, which can't all be written to one file.

    Raises:
        RequestError: a key or a value is refused; the text names its line.
    """
    for name in _OF_SHEETS:
        if name in toml.data and "sheet" not in toml.data:
            refuse(toml, (name,), "is for the make sheet only: write [sheet] too, or leave this out")
    paper, cutter, sheet = (_table(toml, name, several) for name in ("paper", "cutter", "sheet"))
    made = (
        None if paper is None else _paper(toml, paper, drawing, folder),
        None if cutter is None else _cutter(toml, cutter, drawing, folder),
        None if sheet is None else _sheet(toml, sheet, drawing, folder),
    )
    return JobOutputs(*made, tuple(_places(*made)))


def _places(paper: JobPaper | None, cutter: JobCutter | None, sheet: JobSheet | None) -> Iterator[tuple[Path, KeyPath]]:
    """Every file, and where it is named."""

    def place(table: str, key: str, given: tuple[Given, ...]) -> KeyPath:
        return (table, key) if any(one.key == key for one in given) else (table,)

    if paper is not None:
        yield paper.file, place("paper", "output", paper.given)
    if cutter is not None:
        yield cutter.file, place("cutter", "output", cutter.given)
    if sheet is not None:
        for file, key in zip(sheet.files, ("output", "pdf"), strict=False):
            yield file, place("sheet", key, sheet.given)


def _table(toml: TomlTable, name: str, several: bool) -> dict[str, Given] | None:
    """What a table gives, None where there is no such table."""
    if name not in toml.data:
        return None
    words = given_in(toml, (name,), name)
    for key in ("output", "pdf"):
        if several and key in words:
            refuse(toml, (name, key), "goes with one drawing; leave it out, and each drawing's is called as that is")
    return words


def _file(
    toml: TomlTable, path: KeyPath, words: dict[str, Given], usual: Path, folder: Path, endings: tuple[str, ...]
) -> Path:
    """The file that a key names, with one of the endings there are; else the usual one."""
    key = str(path[-1])
    if key not in words:
        return usual
    name = str(words[key].value)
    if Path(name).suffix.lower() not in endings:
        refuse(toml, path, f"takes the name of a file that ends in {' or '.join(endings)}, not {as_toml(name)}")
    return folder / name


def _text(words: dict[str, Given], key: str, usual: str = "") -> str:
    return str(words[key].value) if key in words else usual


def _texts(words: dict[str, Given], key: str) -> tuple[str, ...]:
    return words[key].texts if key in words else ()


def _paper(toml: TomlTable, words: dict[str, Given], drawing: Path, folder: Path) -> JobPaper:
    usual = PaperWish()
    wish = PaperWish(
        _text(words, "page", usual.page),
        _text(words, "way", usual.way),
        _text(words, "margin"),
        _text(words, "overlap"),
        _texts(words, "show"),
        _texts(words, "hide"),
        _texts(words, "piece"),
        bool(_text(words, "black")),
        _text(words, "weight", usual.weight),
        _text(words, "title"),
        arrange=bool(_text(words, "arrange")),
    )
    file = _file(toml, ("paper", "output"), words, drawing.with_suffix(".pdf"), folder, _PDF)
    return JobPaper(file, wish, bool(_text(words, "dated")), toml.line_of(("paper",)), tuple(words.values()))


def _cutter(toml: TomlTable, words: dict[str, Given], drawing: Path, folder: Path) -> JobCutter:
    ending = f".{_text(words, 'as', 'dxf')}"
    # Never the drawing itself, which may be called by the same name.
    usual = drawing.with_suffix(ending) if ending == ".dxf" else drawing.with_name(f"{drawing.stem}-cutter{ending}")
    file = _file(toml, ("cutter", "output"), words, usual, folder, FORMATS)
    if "as" in words and file.suffix.lower() != ending:
        refuse(toml, ("cutter", "as"), f"does not go with the file {file.name}: give that another ending")
    return JobCutter(
        file,
        _text(words, "lines"),
        _text(words, "within"),
        _texts(words, "show"),
        _texts(words, "hide"),
        _texts(words, "piece"),
        toml.line_of(("cutter",)),
        tuple(words.values()),
    )


def _sheet(toml: TomlTable, words: dict[str, Given], drawing: Path, folder: Path) -> JobSheet:
    usual = drawing.with_name(f"{drawing.stem}-sheet.html")
    files = [_file(toml, ("sheet", "output"), words, usual, folder, _SHEETS)]
    if "pdf" in words:
        files.append(_file(toml, ("sheet", "pdf"), words, usual, folder, _PDF))
    without = _texts(words, "without")
    try:
        checked_without(without, "names")
    except RequestError as error:
        _refuse(toml, ("sheet", "without"), error)
    prices = given_in(toml, ("prices",), "prices") if "prices" in toml.data else {}
    currency = str(prices.pop(CURRENCY).value) if CURRENCY in prices else ""
    minutes = given_in(toml, ("minutes",), "minutes") if "minutes" in toml.data else {}
    return JobSheet(
        tuple(files),
        _text(words, "title"),
        without,
        _figures(toml, "minutes", minutes, MINUTES),
        _figures(toml, "prices", prices, PRICED),
        currency,
        _text(words, "page"),
        toml.line_of(("sheet",)),
        tuple(words.values()),
    )


def _figures(toml: TomlTable, table: str, words: dict[str, Given], known: Mapping[str, object]) -> dict[str, float]:
    """The figures of a table, in the order of those known."""
    out = {}
    for name in known:
        if name in words:
            try:
                out[name] = figure_of(str(words[name].value), "it")
            except RequestError as error:
                _refuse(toml, (table, name), error)
    return out


def _refuse(toml: TomlTable, path: KeyPath, error: RequestError) -> NoReturn:
    refuse(toml, path, str(error))
