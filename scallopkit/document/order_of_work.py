"""The order of work, derived from how edges are joined, faced, pierced and matched; common practice, no source."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from typing import Any

from ..errors import counted

# What is there so often is told in a word.
_TWICE = 2


def order_of_work(report: Mapping[str, Any]) -> list[str]:
    """The steps in order, each a sentence, for everything in a report.

    Cloth is shrunk before it is cut. Seams and darts that an edge goes over are closed, pressed open and trimmed before
    its facing or another edge is sewn on, so that the stitching line runs through; seams that scallops stop short of
    are closed once the edge is turned, and what pierces the cloth comes last.
    """
    runs = report["runs"]
    steps = [*_before_cutting(report), *_cut(report)]
    steps += [step for one in report["pieces"] for step in _darts(one)]
    closed: set[str] = set()
    for run in runs:
        steps += _closed(run, closed)
    steps += [step for match in report["matches"] for step in _matched(match)]
    for run in runs:
        steps += [*_lined_before(run, report["pieces"]), *_finished(run), *_closed_after(run), *_trimmed(run)]
    steps += [step for run in runs for step in _pierced(run)]
    steps += [step for one in report["pieces"] for step in _lined(one, runs)]
    steps += [f"Make the {one['name']}." for one in report["straps"]]
    return steps


def _before_cutting(report: Mapping[str, Any]) -> Iterator[str]:
    """What is seen to while the cloth is still whole."""
    parts = [name for run in report["runs"] for name, number in run["totals"]["parts"].items() if number]
    tests = [f"{part}s" for part in dict.fromkeys(parts)] + ["stitches"] * _sewn(report)
    tested = f"; test {_listed(tests)} on a scrap" if tests else ""
    yield f"Wash or steam the cloth before you cut, if it will be washed{tested}."
    if any(run["count"] for run in report["runs"]):
        yield (
            "Only if a scalloped edge is a hem that hangs at a slant to the grain: leave cloth beyond its scallops "
            "when you cut, close its seams, let it hang a day, and mark the scallops and cut them then: cloth on the "
            "bias grows."
        )


def _sewn(report: Mapping[str, Any]) -> bool:
    """Whether anything is sewn at all."""
    if report["matches"] or any(one["darts"] or one["lining"] for one in report["pieces"]):
        return True
    return any(
        run["totals"]["stitching_mm"]
        or run["facings"]
        or run["trim"]
        or any(join["kind"] in ("seam", "dart") for join in run["joins"])
        for run in report["runs"]
    )


def _listed(words: Sequence[str]) -> str:
    return " and ".join([", ".join(words[:-1]), words[-1]]) if len(words) > 1 else "".join(words)


def _cut(report: Mapping[str, Any]) -> Iterator[str]:
    if report["pieces"]:
        told = [f"{one['name']} ({one['cut']})" if one["cut"] else one["name"] for one in report["pieces"]]
        told += [f"{one['name']} lining ({one['cut']})" for one in report["pieces"] if one["lining"]]
        for run in report["runs"]:
            told += [f"{one['name']} ({one['cut']})" for one in run["facings"]]
            told += [f"the interlining of {one['name']}" for one in run["facings"] if one["interlining"]]
            under = run["lacing"]["underlay"] if run["lacing"] else None
            told += [f"{under['name']} ({under['count']})"] if under else []
        yield f"Cut {', '.join(told)}; snip the notches, and mark valleys and dots that are inside."


def _darts(piece: Mapping[str, Any]) -> Iterator[str]:
    """The darts that lie in a piece's own seams."""
    for dart, ends in zip(piece["darts"], piece["dart_seams"], strict=True):
        which = f"in the seam from {ends[0]} to {ends[1]}" if ends else f"with its point at {dart}"
        yield f"{piece['name']}: close the dart {which} and press it, before the seam that it lies in is closed."


def _lined_before(run: Mapping[str, Any], pieces: Sequence[Mapping[str, Any]]) -> Iterator[str]:
    """A lining that ends at no facing of the run lies under its edge before that is finished."""
    names = [one["name"] for one in pieces if one["lining"] and _lies_on(run, one["name"])]
    if names and not _faced_inside(run):
        told = "linings of" if len(names) > 1 else "lining of"
        sides = "right" if run["finish"] is None or run["finish"]["kind"] == "faced" else "wrong"
        yield (
            f"{run['name']}: lay the {told} {' and '.join(names)}, sewn together as the cloth, on it along the edge, "
            f"{sides} sides together, and baste: it is cut as the cloth there, and finished with it."
        )


def _lined(piece: Mapping[str, Any], runs: Sequence[Mapping[str, Any]]) -> Iterator[str]:
    if not piece["lining"]:
        return
    name, on_it = piece["name"], [run for run in runs if _lies_on(run, piece["name"])]
    together = "" if any(not _faced_inside(run) for run in on_it) else "sew its lining together as the piece, then "
    if any(_faced_inside(run) for run in on_it):
        yield f"{name}: {together or 'sew its lining '}to the inner edges of facings; hem it elsewhere."
    elif together:
        yield f"{name}: sew its lining together as the piece, and hem it."


def _lies_on(run: Mapping[str, Any], piece: str) -> bool:
    return any(piece in one["pieces"] for one in run["scallops"])


def _faced_inside(run: Mapping[str, Any]) -> bool:
    """Whether a lining is sewn to the inner edge of the run's facing."""
    return any(one["kind"] != "band" for one in run["facings"])


def _matched(match: Mapping[str, Any]) -> Iterator[str]:
    for one in match["stretches"]:
        how = one.get("take_up") or one.get("how")
        if how and how not in ("none", "edit"):
            yield f"{match['name']}: lay in what is over between {one['from']} and {one['to']} ({how}), and baste."
    yield f"{match['name']}: pin notch to notch, single to single and double to double, and sew."


def _closed(run: Mapping[str, Any], closed: set[str]) -> Iterator[str]:
    """What is closed before anything is sewn along the edge; `closed` names the other ends of seams that are so."""
    name = run["name"]
    for join in sorted(run["joins"], key=lambda join: join["kind"] != "dart"):
        pressed = f", press it toward {join['pressed_to']}" if join.get("pressed_to") else ""
        if join["kind"] == "dart":
            piece, (first, last) = join["pieces"][0], join["ends"]
            legs = f"between {first} and {last}" if first != last else f"at {first}"
            yield f"{piece}: close the dart {legs} ({name}){pressed}, before anything is sewn along the edge."
        elif join["kind"] == "seam" and not _stops_short(join) and join["at"] not in closed:
            other = join["other_end"]
            closed |= {other} if other else set()
            where = f"from {join['at']} to {other}" if other else f"at {join['at']}"
            yield (
                f"{name}: close the seam {where}, press it open, and trim it within the depth of the scallops, so that "
                "the stitching line runs through."
            )


def _closed_after(run: Mapping[str, Any]) -> Iterator[str]:
    """What is closed once the edge is finished."""
    for join in run["joins"]:
        if join["kind"] == "seam" and _stops_short(join):
            yield f"{run['name']}: close the seam at {join['at']} only now: the scallops stop short of it."


def _stops_short(join: Mapping[str, Any]) -> bool:
    return str(join["hold"]).startswith("gap")


def _finished(run: Mapping[str, Any]) -> Iterator[str]:
    """How the edge is finished."""
    name, finish = run["name"], run["finish"]
    if finish is None:
        yield from _unfinished(run)
        return
    kind = finish["kind"]
    if kind == "faced":
        yield from _faced(run, name, finish)
    elif kind == "bound":
        yield f"{name}: bind the edge; stretch the binding open at every valley, or mitre it there."
    elif kind == "stitched":
        yield f"{name}: sew a close stitch over the line, then trim outside it."
    else:
        yield f"{name}: cut on the line; nothing is turned."


def _unfinished(run: Mapping[str, Any]) -> Iterator[str]:
    """An edge of which it is not told how it is finished."""
    bands = [one["name"] for one in run["facings"] if one["kind"] == "band"]
    if bands:
        yield f"{run['name']}: bind the edge with {_listed(bands)}."
    elif run["count"]:
        yield (
            f"{run['name']}: finish the scallops along their line as you have chosen, faced, bound, stitched or cut "
            "raw: no finish is told here."
        )


def _faced(run: Mapping[str, Any], name: str, finish: Mapping[str, Any]) -> Iterator[str]:
    facings = run["facings"]
    if not facings:
        yield f"{name}: lay its facing on, right sides together; none is drawn here, so cut one by the edge."
    else:
        stiff = [one["name"] for one in facings if one["interlining"]]
        if stiff:
            yield f"{name}: lay the interlining on the wrong side of {' and '.join(stiff)}, or fuse it on."
        if any(one["stay_tape_mm"] for one in facings):
            where = "along the valleys" if run["count"] else "along the edge"
            yield (
                f"{name}: lay stay tape flat {where} on the wrong side, without stretching either, and baste it, so "
                "that it is caught in the seam."
            )
        seamed = [one["name"] for one in facings if "seam" in one["ends"]]
        first = f"close the seams of {' and '.join(dict.fromkeys(seamed))}, neaten" if seamed else "neaten"
        yield f"{name}: {first} the inner edge of the facing, and lay it on, right sides together."
    stitches = finish["stitches"]
    if stitches:
        each = ", ".join(f"{one['stitches']} of {one['length_mm']:.2f} mm" for one in stitches)
        yield f"{name}: sew round the scallops ({each} each), with one stitch across every valley."
    trims = ", ".join(f"{one['layer']} to {one['allowance_mm']:g} mm" for one in finish["grading"])
    clips, wedges = len(run["clips"]), len(run["wedges"])
    if clips or wedges:
        yield (
            f"{name}: trim the layers ({trims}), snip {counted(clips, 'clip')} to just short of the stitches, and take "
            f"out {counted(wedges, 'wedge')}{_doubled(run)}."
        )
    yield f"{name}: turn it, push every scallop out with a blunt point, and press it from inside."


def _doubled(run: Mapping[str, Any]) -> str:
    """How often what is drawn is there as sewn, where folds or pairs make it more than once."""
    times = round(run["totals"]["edge_mm"] / run["length_mm"]) if run["length_mm"] else 1
    how = "twice" if times == _TWICE else f"{times} times"
    return f", on what is drawn; {how} that once folds are opened and pairs are cut" if times > 1 else ""


def _trimmed(run: Mapping[str, Any]) -> Iterator[str]:
    """The bought trim of a run."""
    trim = run["trim"]
    if trim:
        many = f"{counted(trim['count'], 'repeat')} of {trim['repeat_mm']:g} mm"
        yield f"{run['name']}: pin the bought trim to its marks, repeat by repeat ({many}), and sew it on."


def _pierced(run: Mapping[str, Any]) -> Iterator[str]:
    parts = [(name, number) for name, number in run["totals"]["parts"].items() if number]
    faced = run["finish"] is not None and run["finish"]["kind"] == "faced"
    when = "after the edge is turned and pressed" if faced else "once the edge is finished"
    for part, number in parts:
        yield f"{run['name']}: set {counted(number, part)}, through all layers, {when}."
    if run["lacing"]:
        laced = run["lacing"]
        under = laced["underlay"]
        if under:
            each = "each opening" if under["count"] > 1 else "the opening"
            yield (
                f"{run['name']}: neaten {under['name']}, lay it behind {each}, and sew it to one side only, clear of "
                "the eyelets."
            )
        yield f"{run['name']}: lace it {laced['path']}; cut the cord {laced['cut_mm']:.0f} mm long in all."
