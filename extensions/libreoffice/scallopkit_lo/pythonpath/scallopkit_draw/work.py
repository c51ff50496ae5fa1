"""The commands, without their dialogues: what is selected to the library, its lines to the page."""

from __future__ import annotations

from .calling import ask
from .keeping import kept_in, our_groups
from .reading import page_size
from .refusing import Refusal
from .selecting import Selected, marks_for, page_of, selected, used_names
from .undoing import put

TITLES = {"scallop": "Scallops", "eyelets": "Eyelets", "notches": "Notches", "refit": "Fit all again"}


def do(document: object, task: str, words: dict, on_scallops: bool = False, asked: dict = {}) -> list:  # noqa: B006  # read only
    """One command on what is selected; gives what there is to say, line by line.

    Args:
        document: the drawing.
        task: scallop, eyelets, notches or refit.
        words: the options of the command, with underscores.
        on_scallops: eyelets and notches go on the scallops that lie on a selected line, not on the line itself.
        asked: what the dialogue held, to be kept with the run.

    Raises:
        Refusal: it can't be done, and nothing was changed.
    """
    groups = our_groups(document.CurrentController.CurrentPage)
    kept = {name: kept_in(group) for name, group in groups.items()}
    if task == "refit":
        if not groups:
            raise Refusal("There are no scallops, eyelets or notches of ours on this page yet.")
        found = page_of(document, kept, groups)
    else:
        found = selected(document, kept, groups)
        if on_scallops:
            _to_scallops(found)
        if found.start:
            words = {**words, "start_at": found.start}
    answer = ask(_request(found, task, words))
    made = [(run, _to_keep(found, task, run, asked)) for run in answer["runs"]]
    put(document, found.page, TITLES[task], [groups[run["name"]] for run, _ in made if run["name"] in groups], made)
    return answer["tell"]


def before(document: object, task: str) -> dict:
    """What the dialogue held when what is selected was fitted last.

    Raises:
        Refusal: nothing is selected that can be used.
    """
    groups = our_groups(document.CurrentController.CurrentPage)
    kept = {name: kept_in(group) for name, group in groups.items()}
    found = selected(document, kept, groups)
    mine = [one for name, one in kept.items() if name in found.runs or set(one["edges"]) & set(found.edges)]
    return next((one["asked"][task] for one in mine if task in one.get("asked", {})), {})


def _request(found: Selected, task: str, words: dict) -> dict:
    return {
        "bridge": 1,
        "task": task,
        "shapes": [sent for line in found.lines for sent in line.sent],
        "marks": marks_for(found),
        "page": page_size(found.page),
        "along": found.edges,
        "on": found.runs,
        "words": words,
        "runs": [{"name": name, "recipe": one["recipe"]} for name, one in found.kept.items()],
    }


def _to_scallops(found: Selected) -> None:
    """Means the runs that lie on the selected lines, in place of the lines.

    Raises:
        Refusal: there are none on one of them.
    """
    for edge in found.edges:
        name = edge.partition(":")[0]
        there = [run for run, one in found.kept.items() if name in one["edges"] and '"scallop"' in one["recipe"]]
        if not there:
            raise Refusal(f'There are no scallops on "{edge}" yet: fit them first, or go along the edge.')
        found.runs += [run for run in there if run not in found.runs]
    found.edges = []


def _to_keep(found: Selected, task: str, run: dict, asked: dict) -> dict:
    """What the group of a run keeps in the document."""
    former = found.kept.get(run["name"], {})
    told = {**former.get("asked", {}), **({task: asked} if asked else {})}
    names = {sent["name"] for line in found.lines for sent in line.sent}
    marks = [mark["name"] for mark in marks_for(found) if mark["name"] in run["recipe"]]
    return {
        "run": run["name"],
        "recipe": run["recipe"],
        "edges": [edge for edge in run["edges"] if edge in names],
        "names": used_names(found.lines, run["edges"]),
        "marks": marks,
        "asked": told,
    }
