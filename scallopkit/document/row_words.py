"""The maker's words for a row of eyelets, buttonholes, snaps or buttons turned into sizes and figures."""

from __future__ import annotations

from dataclasses import dataclass, replace

from ..errors import RequestError
from ..trim.eyelet_sizes import NAMED, named_size
from ..trim.eyelets import MARGIN, EyeletSize, Size, eyelet_size
from ..trim.fastenings import ACROSS, ALONG, BUTTON, BUTTONHOLE, EYELET, PARTS, SNAP, buttonhole, round_part
from .recipe import EyeletWords
from .units import Sign, parse_length
from .wishes import one_of, whole_number, yes

# What leaves a row where it falls, seams or not.
NOT_MOVED = "none"
LIES = (ALONG, ACROSS)
# The words that belong to each part alone.
_MEASURES = ("barrel", "barrel_length", "flange", "hole")
_OF_EYELETS = ("eyelet", *_MEASURES, "layers", "cord", "passes")
_OF_BUTTONHOLES = ("button_thickness", "bulky", "lies")
_OF_PARTS = {
    EYELET: _OF_EYELETS,
    BUTTONHOLE: ("button", *_OF_BUTTONHOLES),
    SNAP: ("snap",),
    BUTTON: ("button",),
}


@dataclass(frozen=True)
class Setting:
    """What is told of the cloth and the cord that an eyelet is set for; None where nothing is.

    Attributes:
        layers: how many layers of cloth there are, allowances left out.
        thickness: of one layer, mm.
        cord: its thickest part, mm.
        passes: how often it goes through.
    """

    layers: int | None
    thickness: float | None
    cord: float | None
    passes: int


def size_of(words: EyeletWords) -> Size:
    """What stands in the row.

    Raises:
        RequestError, NameUnknownError: a size is missing, can't be read, or belongs to another part.
    """
    part = one_of(words.part, PARTS, "--part")
    _refuse_others(words, part)
    if part == EYELET:
        return _eyelet(words)
    if part == SNAP:
        return round_part(SNAP, _needed(words.snap, "--snap", "snaps", "12mm, their diameter"))
    button = _needed(words.button, "--button", "buttons", "18mm, their diameter")
    if part == BUTTON:
        return round_part(BUTTON, button)
    thickness = given(words.button_thickness, "--button-thickness", "positive")
    return buttonhole(button, thickness, yes(words.bulky, "--bulky"), one_of(words.lies, LIES, "--lies"))


def _refuse_others(words: EyeletWords, part: str) -> None:
    """Refuses words that belong to other parts."""
    for name in dict.fromkeys(name for names in _OF_PARTS.values() for name in names):
        if getattr(words, name) and name not in _OF_PARTS[part]:
            those = [other for other in PARTS if name in _OF_PARTS[other]]
            owners = " or ".join(f"--part {other}" for other in those)
            raise RequestError(
                f"{option_of(name)} goes with {owners}, not with --part {part}: leave out one of the two"
            )


def _eyelet(words: EyeletWords) -> EyeletSize:
    text = words.eyelet.strip()
    if not text:
        raise RequestError("say how large the eyelets are: --eyelet 8mm, their clear opening, or a name such as e8")
    measures = [given(getattr(words, name), option_of(name), "positive") for name in _MEASURES]
    if not text[0].isalpha():
        return eyelet_size(parse_length(text, "--eyelet", "positive"), *measures)
    if text not in NAMED:
        raise RequestError(
            f"--eyelet {text!r} cannot be read: give a clear opening, such as 8mm, or one of {', '.join(NAMED)}"
        )
    usual = named_size(text)
    asked = {name: value for name, value in zip(_MEASURES, measures, strict=True) if value is not None}
    return replace(usual, **asked, assumed=tuple(name for name in usual.assumed if name not in asked))


def setting_of(words: EyeletWords) -> Setting:
    """What is told of cloth and cord.

    Raises:
        RequestError: a value can't be read, or lacks what it goes with.
    """
    thickness = given(words.cloth_thickness, "--cloth-thickness", "positive")
    layers = whole_number(words.layers, "--layers")
    if layers is not None and thickness is None:
        raise RequestError("--layers needs to know how thick a layer is: give --cloth-thickness, such as 0.5mm")
    cord, passes = given(words.cord, "--cord", "positive"), whole_number(words.passes, "--passes")
    if passes is not None and cord is None:
        raise RequestError("--passes needs to know how thick the cord is: give --cord, such as 3mm")
    return Setting(layers, thickness, cord, passes or 1)


def margin_of(words: EyeletWords) -> float:
    """The cloth that is left round each part, mm."""
    return MARGIN if not words.margin else parse_length(words.margin, "--margin", "not-negative")


def off_of(words: EyeletWords, margin: float) -> float | None:
    """How far from seams and darts the parts keep, mm; None where they stay as they fall."""
    if words.off.strip() == NOT_MOVED:
        return None
    return margin if not words.off else parse_length(words.off, "--off", "not-negative")


def _needed(text: str, option: str, what: str, example: str) -> float:
    if not text:
        raise RequestError(f"say how large the {what} are: {option} {example}")
    return parse_length(text, option, "positive")


def given(text: str, option: str, sign: Sign) -> float | None:
    """A length in mm; None for an empty text."""
    return parse_length(text, option, sign) if text else None


def option_of(name: str) -> str:
    """The option of the command line for a word."""
    return f"--{name.replace('_', '-')}"


def refuse_given(words: EyeletWords, names: tuple[str, ...], why: str) -> None:
    """Refuses words that do not go with the rest.

    Raises:
        RequestError: one of them is given.
    """
    for name in names:
        if getattr(words, name):
            raise RequestError(f"{option_of(name)} {why}")
