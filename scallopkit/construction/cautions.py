"""Cautions: what can hurt the one who wears what is sewn, by what is planned on it and by who that is.

A caution names what can happen and where it is ruled. It says nothing of whether a garment conforms.
"""

from __future__ import annotations

from ..errors import RequestError

ADULT, UNDER_3, UNDER_7, TO_14 = "adult", "child, under 3", "child, under 7", "child, 7 to 14"
# All that can be said of who wears it.
WEARERS = (ADULT, UNDER_3, UNDER_7, TO_14)

_NICKEL = (
    "Metal parts that touch the skin for long, eyelets too, can release nickel: ask the supplier for parts within the "
    "release limits of REACH Annex XVII, entry 27, where it applies."
)
_SMALL_PARTS = (
    "{what} can come off, and be swallowed or choke a small child: pull hard at each before wearing and after washing. "
    "Those that fit through a cylinder 31.75 mm (1.25 in) wide count as small in 16 CFR 1501, which exempts children's "
    "clothing with its buttons and lace holders (1501.3(d)); what has come off can choke all the same."
)
_CATCHES = (
    "Cords and drawstrings can catch or tighten: keep loose ends off machines, wheels and chains (common practice, no "
    "source)."
)
_CHILDS_CORD = "Cords and drawstrings can catch, tighten and strangle. {ages} (EN 14682:2014, a revision is under way)."
_AGES = {
    "": (
        "For children under 7 there should be no cord in the hood, head or neck area and no tie behind the neck, from "
        "7 to 14 no free ends there"
    ),
    UNDER_7: "For children under 7 there should be no cord in the hood, head or neck area and no tie behind the neck",
    TO_14: "For children from 7 to 14 there should be no free ends in the hood, head or neck area",
}
_DRAWSTRINGS = (
    "In the US 16 CFR 1120 (2011, after ASTM F1816) is about drawstrings on children's upper outerwear: none at the "
    "hood and neck in sizes 2T to 12; at the waist and bottom, in sizes 2T to 16, no more than 75 mm (3 in) outside "
    "the channel at its full width, nothing at the free ends, and a single string bar-tacked. A laced opening can "
    "count as a drawstring."
)
_WINDOW = (
    "Cords at a window can strangle a small child: leave no loop or free end within reach, and see 16 CFR 1260 (custom "
    "window coverings, from 2023, after ANSI/WCMA A100.1-2018) where it applies."
)
_CLOSING = "Local rules and licensed testing decide; nothing here claims that anything conforms."


def cautions(
    *,
    eyelets: bool = False,
    metal: bool = False,
    small_parts: bool = False,
    cord: bool = False,
    window: bool = False,
    wearer: str = "",
) -> tuple[str, ...]:
    """The cautions about what is planned, as texts that name their sources; the last one closes with who decides.

    Args:
        eyelets: metal eyelets; a cord through them is told of as `cord`.
        metal: other metal parts that may touch the skin.
        small_parts: other parts set into the cloth, such as buttons and snaps.
        cord: cords and drawstrings, however they are held.
        window: cords that hang at a window.
        wearer: one of WEARERS. Empty where it is not told: cautions about cords are of a general form then; small parts
            are told of where a child wears them.

    Raises:
        RequestError: there is no such wearer.
    """
    checked_wearer(wearer, "the wearer")
    out = [_NICKEL] if eyelets or metal else []
    if (eyelets or small_parts) and of_loose_parts(wearer):
        out.append(_SMALL_PARTS.format(what="Eyelets" if eyelets and not small_parts else "Parts set into the cloth"))
    if cord:
        out += _about_cords(wearer)
    if window:
        out.append(_WINDOW)
    return (*out[:-1], f"{out[-1]} {_CLOSING}") if out else ()


def of_loose_parts(wearer: str) -> bool:
    """Whether parts that can come off are told of, by who wears them: one of WEARERS, or empty."""
    return wearer not in ("", ADULT)


def _about_cords(wearer: str) -> list[str]:
    if wearer == ADULT:
        return [_CATCHES]
    # Who is under 3 is under 7.
    ages = _AGES[UNDER_7 if wearer == UNDER_3 else wearer]
    return [_CHILDS_CORD.format(ages=ages), _DRAWSTRINGS]


def checked_wearer(text: str, option: str) -> str:
    """Who wears it, as one of WEARERS; empty where it is not told.

    Raises:
        RequestError: there is no such wearer; the text lists those there are.
    """
    if text and text not in WEARERS:
        quoted = [f'"{wearer}"' for wearer in WEARERS]
        raise RequestError(f'{option} can be {", ".join(quoted[:-1])} or {quoted[-1]}, not "{text}"')
    return text
