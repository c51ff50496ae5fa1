"""What our groups keep in the document, so that a second fit starts from the edge and takes the place of the first."""

from __future__ import annotations

import json

# Our layer, and the key by which a group's description is known for ours.
LAYER = "scallopkit"
# The key by which a group is known that an undo has hidden.
HIDDEN = "undone"
GROUP = "com.sun.star.drawing.GroupShape"


def kept_in(shape: object) -> dict:
    """What a group of ours keeps; nothing for any other shape.

    It has `run` and `recipe`; `edges`, the names of the lines that it lies on; `names`, for lines without a name of
    their own by what they are known again; `marks`, the names of the small shapes that it goes by; and `asked`, what
    the dialogues held.
    """
    if shape.ShapeType != GROUP or LAYER not in shape.Description:
        return {}
    try:
        kept = json.loads(shape.Description)
    except ValueError:
        return {}
    return kept if isinstance(kept, dict) and kept.get(LAYER) == 1 and "recipe" in kept else {}


def keep(group: object, kept: dict) -> None:
    """Writes into a group of ours what it is to keep."""
    group.Name = f"{LAYER}: {kept['run']}"
    group.Description = json.dumps({LAYER: 1, **kept}, ensure_ascii=False)


def our_groups(page: object) -> dict:
    """Our groups on a page by the names of their runs; of copies the first, and none that an undo has hidden."""
    found: dict = {}
    for k in range(page.Count):
        shape = page.getByIndex(k)
        kept = kept_in(shape)
        if kept and not kept.get(HIDDEN):
            found.setdefault(kept["run"], shape)
    return found
