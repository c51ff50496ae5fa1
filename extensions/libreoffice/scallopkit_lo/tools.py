"""Scallops, eyelets and notches on what is selected in Draw: the commands of the menu."""

from __future__ import annotations

import json

import uno
from scallopkit_draw.asking import asked
from scallopkit_draw.fields import EYELETS, NOTCHES, SCALLOPS, eyelet_words, notch_words, scallop_words
from scallopkit_draw.refusing import UNCHANGED, Refusal, reported
from scallopkit_draw.work import TITLES, before, do


def scallops(*_: object) -> None:
    """Asks for scallops, and fits them to what is selected."""
    _command("scallop", SCALLOPS, scallop_words)


def eyelets(*_: object) -> None:
    """Asks for eyelets, and sets them on what is selected."""
    _command("eyelets", EYELETS, eyelet_words)


def notches(*_: object) -> None:
    """Asks for notches, and sets them on what is selected."""
    _command("notches", NOTCHES, notch_words)


def fit_all_again(*_: object) -> None:
    """Makes everything of ours on the page again, on the lines as they are now."""
    document = _document()
    _show(document, "Fit all again", fit_all_again_on(document))


def scallop_with(document: object, words: object) -> str:
    """Scallops on what is selected, without a dialogue; gives what there is to say.

    `words` are the options of the command with underscores, or their JSON text.
    """
    return _told(document, "scallop", words)


def eyelets_with(document: object, words: object) -> str:
    """Eyelets likewise; with `"where": "scallops"` on the scallops of the selected lines."""
    return _told(document, "eyelets", words)


def notches_with(document: object, words: object) -> str:
    """Notches likewise."""
    return _told(document, "notches", words)


def fit_all_again_on(document: object) -> str:
    """Everything of ours on the page again; gives what there is to say."""
    return _told(document, "refit", {})


def _command(task: str, columns: list, words_of: object) -> None:
    document = _document()
    filled: dict = {}
    try:
        window = document.CurrentController.Frame.ContainerWindow
        filled = asked(uno.getComponentContext(), window, TITLES[task], columns, before(document, task))
    except Refusal as refusal:
        _show(document, TITLES[task], f"{refusal} {UNCHANGED}")
    except Exception as error:  # whatever it is, no traceback reaches a user
        _show(document, TITLES[task], f"{reported(error)} {UNCHANGED}")
    if filled:
        words = {key: value for key, value in words_of(filled).items() if value}
        _show(document, TITLES[task], _told(document, task, {**words, "where": filled.get("where", "")}, filled))


def _told(document: object, task: str, words: object, filled: dict = {}) -> str:  # noqa: B006  # read only
    """Does the work and gives what there is to say about it, or why it was not done."""
    try:
        given = dict(json.loads(words) if isinstance(words, str) else words)
        where = given.pop("where", "")
        return "\n".join(do(document, task, given, on_scallops=where == "scallops", asked=filled))
    except Refusal as refusal:
        return f"{refusal} {UNCHANGED}"
    except Exception as error:  # whatever it is, no traceback reaches a user
        return reported(error)


def _document() -> object:
    context = uno.getComponentContext()
    return context.ServiceManager.createInstanceWithContext("com.sun.star.frame.Desktop", context).CurrentComponent


def _show(document: object, title: str, text: str) -> None:
    window = document.CurrentController.Frame.ContainerWindow
    kind = uno.Enum("com.sun.star.awt.MessageBoxType", "MESSAGEBOX")
    box = window.Toolkit.createMessageBox(window, kind, 1, title, text)
    box.execute()
    # Else it stays among the office's windows, unseen.
    box.dispose()


g_exportedScripts = (scallops, eyelets, notches, fit_all_again)  # noqa: N816  # the host looks for this name
