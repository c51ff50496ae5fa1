"""The macro in a real LibreOffice Draw without a window: the library's lines, one step of undo, no other change."""

from __future__ import annotations

import json
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

from scallopkit.editors.hosts import host_called

from .office_runs import by_command, listening, missing, nodes, path_of, played, python_with_the_library, same_line

SESSION = Path(__file__).with_name("draw_session.py")
NECK = [[20, 40], [40, 100], [120, 100], [140, 40]]
MISSING = missing()


@pytest.fixture(scope="module")
def found(tmp_path_factory: pytest.TempPathFactory) -> Iterator[dict[str, Any]]:
    """What a session in the office has found: it draws, fits, undoes and saves, in a profile of its own."""
    folder = tmp_path_factory.mktemp("office")
    own = folder / "profile" / "user" / "Scripts" / "python" / "scallopkit"
    # Laid out as `editors install` does.
    for name, data in host_called("libreoffice").files().items():
        (own / name).parent.mkdir(parents=True, exist_ok=True)
        (own / name).write_bytes(data)
    (own / "bridge.json").write_text(json.dumps({"python": str(python_with_the_library(folder))}))
    with listening(folder / "profile", "--headless") as pipe:
        yield played(SESSION, own, pipe, folder) | {"folder": str(folder)}


def no_notes(shapes: list[dict[str, Any]]) -> list[dict[str, Any]]:
    return [{**shape, "note": ""} for shape in shapes]


@pytest.mark.host
@pytest.mark.skipif(bool(MISSING), reason=MISSING)
class TestDraw:
    def test_scallops_are_those_of_the_command_line(self, found: dict[str, Any], tmp_path: Path) -> None:
        (group,) = [shape for shape in found["fitting"]["once"] if shape["name"] == "scallopkit: neck"]
        shape = path_of("neck", [[100 * x for x in point] for point in NECK], [False, True, True, False])
        wanted = by_command(tmp_path, shape, "--along", "neck", "--width", "9mm", "--depth", "40%")
        (line,), (curve,) = group["within"], wanted["neck"]
        same_line(line, curve)
        assert found["fitting"]["said"][0].startswith(
            "neck: 160.6 mm along the edge as sewn\n18 scallops, each 8.92 mm"
        )

    def test_outlines_in_a_turned_group_are_read_where_they_lie(self, found: dict[str, Any], tmp_path: Path) -> None:
        scene = found["groups"]
        lines = {name: (shape["points"][0], shape["flags"][0]) for name, shape in scene["lines"].items()}
        # The group was turned by 15 degrees.
        assert lines["strap"][0][0] != [3000, 16000]
        for name, (points, flags) in lines.items():
            wanted = by_command(tmp_path, path_of(name, points, flags), "--along", name, "--width", "9mm")
            (group,) = [shape for shape in scene["ours"] if shape["name"] == f"scallopkit: {name}"]
            line = next(shape for shape in group["within"] if "points" in shape)
            same_line(line, wanted[name][0])
        assert {shape["name"] for shape in scene["ours"]} == {
            *("scallopkit: cuff", "scallopkit: strap", "scallopkit: cuff notches", "scallopkit: strap notches")
        }
        assert sum(shape["kind"] == "EllipseShape" for shape in scene["ours"][0]["within"]) == 32
        assert [shape["points"] for shape in scene["group"]["within"]] == [
            one["points"] for one in scene["lines"].values()
        ]

    def test_a_second_run_replaces_the_first_and_starts_from_the_edge(
        self, found: dict[str, Any], tmp_path: Path
    ) -> None:
        (group,) = [shape for shape in found["fitting"]["twice"] if shape["name"].startswith("scallopkit: ")]
        shape = path_of("neck", [[100 * x for x in point] for point in NECK], [False, True, True, False])
        wanted = by_command(tmp_path, shape, "--along", "neck", "--width", "11mm")
        same_line(group["within"][0], wanted["neck"][0])
        assert found["fitting"]["said"][2] == "neck: unchanged"
        recipe = json.loads(json.loads(group["note"])["recipe"])
        assert recipe["scallop"] == {"width": "11mm"}

    def test_the_maker_s_own_shapes_stay_as_they_are(self, found: dict[str, Any]) -> None:
        scene = found["fitting"]
        assert scene["once"][:2] == scene["twice"][:2] == scene["thrice"][:2] == scene["before"]
        assert all(shape["layer"] == "layout" for shape in scene["before"])

    def test_one_step_back_takes_all_away_and_one_on_brings_it_back(self, found: dict[str, Any]) -> None:
        scene = found["undoing"]
        assert len(scene["done"][0]) == len(scene["before"][0]) + 1
        assert scene["undone"] == scene["before"]
        assert scene["redone"] == scene["done"]

    def test_many_steps_back_and_on_end_where_they_began(self, found: dict[str, Any]) -> None:
        scene = found["fitting"]
        assert scene["titles"][:3] == ["Fit all again", "Scallops", "Scallops"]
        assert no_notes(scene["walk"][0]) == no_notes(scene["twice"])
        assert scene["walk"][-1] == scene["thrice"]
        for shapes in scene["walk"]:
            assert shapes[:2] == scene["before"]

    def test_the_layer_is_seen_and_printed(self, found: dict[str, Any]) -> None:
        scene = found["fitting"]
        assert "scallopkit" not in scene["layers before"]
        assert scene["layers"]["scallopkit"] == [True, True, False]
        (group,) = [shape for shape in scene["thrice"] if shape["name"].startswith("scallopkit: ")]
        assert {shape["layer"] for shape in (group, *group["within"])} == {"scallopkit"}
        # Blue, half a millimetre, dashed, not filled.
        assert group["within"][0]["style"] == [0x0072B2, 50, "DASH", "NONE"]

    def test_an_edge_between_two_small_shapes(self, found: dict[str, Any]) -> None:
        (line,) = found["edges"]["first"][0]["within"]
        assert nodes(line["points"][0], line["flags"][0])[[0, -1]].tolist() == [[40, 20], [130, 20]]

    def test_everything_is_fitted_again_on_lines_as_they_are_now(self, found: dict[str, Any]) -> None:
        said = found["edges"]["said"][2].splitlines()
        assert said[0].startswith("front:from here..to here: edge 90.00 to 100.00 mm, count 10 to 11")
        # Of two lines without names the one that was made longer is known by what is left.
        assert said[1:] == ["curve 1: unchanged", "curve 2: edge 80.00 to 120.00 mm, count 8 to 12"]
        assert [shape["name"] for shape in found["edges"]["theirs"]] == ["front", "from here", "to here", "", ""]

    @pytest.mark.parametrize(
        ("case", "text"),
        [
            ("nothing", "No line is selected: select a line or an outline, and try again."),
            (
                "rectangle",
                '"pocket" is no line with points: convert it to a curve first (Shape > Convert > To Curve), and select '
                "it again.",
            ),
            (
                "too wide",
                "The edge is 120 mm long, shorter than one scallop of 900 mm: ask for a width of at most 120 mm.",
            ),
            ("no scallops", 'There are no scallops on "hem" yet: fit them first, or go along the edge.'),
            ("nothing of ours", "There are no scallops, eyelets or notches of ours on this page yet."),
        ],
    )
    def test_a_refusal_is_one_sentence_and_changes_nothing(self, found: dict[str, Any], case: str, text: str) -> None:
        assert found["refusals"][case] == f"{text} Nothing was changed."
        assert found["refusals"]["shapes"] == 2
        assert not any("callop" in title for title in found["refusals"]["steps"])

    def test_a_fault_writes_a_report_and_says_where(self, found: dict[str, Any]) -> None:
        said = found["refusals"]["a fault"]
        (report,) = Path(found["folder"]).glob("scallopkit-fault-*.txt")
        assert str(report) in said
        assert "Traceback" not in said
        assert "TypeError" in report.read_text()

    def test_the_office_runs_the_macro_itself(self, found: dict[str, Any]) -> None:
        assert found["script"]["said"].startswith("hem: 120.0 mm along the edge as sewn\n13 scallops")
        assert found["script"]["counts"] == [2, 1, 2]
