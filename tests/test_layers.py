"""Each layer uses only those before it, and no work loads what it does not need."""

from __future__ import annotations

import ast
import json
import subprocess
import sys
from pathlib import Path

import pytest

import scallopkit

ROOT = Path(scallopkit.__file__).parent
# What a module of each layer may use of the package, and of other people's libraries.
BELOW = {
    "errors": set(),
    "geometry": {"errors"},
    "pattern": {"errors", "geometry"},
    "trim": {"errors", "geometry", "pattern"},
    "construction": {"errors", "geometry", "pattern", "trim"},
    "document": {"__init__", "errors", "geometry", "pattern", "trim", "construction"},
    "editors": {"__init__", "errors", "geometry", "pattern", "trim", "construction", "document"},
    "cli_editors": {"__init__", "errors", "document", "editors"},
    "progress": set(),
    "cli": {
        *("__init__", "errors", "geometry", "pattern", "trim", "construction", "document", "editors"),
        *("cli_editors", "demo", "progress"),
    },
    "demo": {
        *("__init__", "errors", "geometry", "pattern", "trim", "construction", "document"),
        *("cli", "demo_apron", "demo_captions", "demo_felt", "demo_page", "demo_waistcoat"),
        *("cli", "demo_apron", "demo_waistcoat", "progress"),
    },
    "demo_apron": set(),
    "demo_captions": set(),
    "demo_felt": set(),
    "demo_page": set(),
    "demo_waistcoat": {"errors", "geometry", "document"},
    "__main__": {"cli"},
    # Names of the package that load their modules when used.
    "__init__": {"errors", "geometry", "pattern", "trim", "construction", "document"},
}
LIBRARIES = {
    "errors": set(),
    "geometry": {"numpy"},
    "pattern": {"numpy"},
    "trim": {"numpy"},
    "construction": {"numpy"},
    "document": {"numpy", "lxml"},
    "editors": {"numpy", "lxml"},
    "cli_editors": {"typer"},
    "progress": {"typer"},
    "cli": {"typer"},
    "demo": set(),
    "demo_apron": set(),
    "demo_captions": set(),
    "demo_felt": set(),
    "demo_page": set(),
    "demo_waistcoat": {"numpy"},
    "__main__": set(),
    "__init__": set(),
}
# Libraries that only these modules know, and load only inside a function.
LATE = {
    "document/paths.py": {"svgpathtools"},
    "document/picture.py": {"resvg_py"},
    "document/pdf.py": {"reportlab"},
    "document/sheet_pdf.py": {"reportlab"},
    "document/cutter.py": {"ezdxf"},
    # TOML came into the standard library with Python 3.11.
    "document/toml_lines.py": {"tomli", "tomllib"},
}

# In an installed package the editors' scripts lie beside the modules; they stand alone, and have tests of their own.
SCRIPTS = "extensions/"
PLACES = sorted(path.relative_to(ROOT).as_posix() for path in ROOT.rglob("*.py"))
MODULES = [place for place in PLACES if not place.startswith(SCRIPTS)]


def layer_of(module: str) -> str:
    return module.partition("/")[0].removesuffix(".py")


def faults(module: str, text: str) -> list[str]:
    """Every import of a module (its path in the package) that its layer does not allow."""
    layer, tree = layer_of(module), ast.parse(text)
    parents = {child: node for node in ast.walk(tree) for child in ast.iter_child_nodes(node)}
    found = []
    for node in ast.walk(tree):
        if isinstance(node, ast.ImportFrom) and node.level:
            above = [target for target in _targets(module, node) if layer_of(target) not in BELOW[layer] | {layer}]
            found += [f"{module}:{node.lineno} uses {target} of a higher layer" for target in above]
        elif isinstance(node, ast.Import | ast.ImportFrom):
            names = [node.module or ""] if isinstance(node, ast.ImportFrom) else [alias.name for alias in node.names]
            for name in {name.partition(".")[0] for name in names}:
                late = name in LATE.get(module, set()) and not _at_load(node, parents)
                if name not in LIBRARIES[layer] | set(sys.stdlib_module_names) and not late:
                    found.append(f"{module}:{node.lineno} loads {name}")
    return found


def _targets(module: str, node: ast.ImportFrom) -> list[str]:
    """The modules a relative import takes from, as paths in the package without their ending."""
    here = module.split("/")[:-1]
    base = here[: len(here) - (node.level - 1)] if node.level <= len(here) + 1 else ["outside"]
    base = base + (node.module.split(".") if node.module else [])
    # A name that is no module, such as the version, is the package's own.
    names = [
        alias.name if (ROOT / f"{alias.name}.py").exists() or (ROOT / alias.name).is_dir() else "__init__"
        for alias in node.names
    ]
    return ["/".join(base)] if base else names


def _at_load(node: ast.AST, parents: dict[ast.AST, ast.AST]) -> bool:
    """Whether an import runs when its module is loaded: neither in a function nor for the type checker only."""
    while node in parents:
        node = parents[node]
        if isinstance(node, ast.FunctionDef | ast.AsyncFunctionDef):
            return False
        if isinstance(node, ast.If) and ast.unparse(node.test) == "TYPE_CHECKING":
            return False
    return True


@pytest.mark.parametrize("module", MODULES)
def test_a_module_uses_only_the_layers_before_its_own(module: str) -> None:
    assert faults(module, (ROOT / module).read_text(encoding="utf-8")) == []


def test_every_module_belongs_to_a_layer() -> None:
    assert {layer_of(module) for module in MODULES} <= set(BELOW)
    assert set(BELOW) == set(LIBRARIES)


@pytest.mark.parametrize(
    ("module", "text"),
    [
        ("geometry/cubics.py", "from ..pattern.piece import Piece"),
        ("geometry/cubics.py", "from ..document import reader"),
        ("geometry/cubics.py", "import lxml"),
        ("geometry/cubics.py", "def f():\n    import scipy.integrate"),
        ("pattern/edge.py", "if TYPE_CHECKING:\n    from ..trim.course import Course"),
        ("trim/fit.py", "from ..construction.clips import clips"),
        ("trim/fit.py", "from .. import cli"),
        ("document/reader.py", "from scallopkit.pattern.piece import Piece"),
        ("document/reader.py", "from ..cli import app"),
        ("document/reader.py", "import typer"),
        ("document/paths.py", "from svgpathtools import Path"),
        ("cli.py", "import numpy as np"),
        ("errors.py", "from .geometry import cubics"),
    ],
)
def test_what_is_not_allowed_is_found(module: str, text: str) -> None:
    assert len(faults(module, text)) == 1


# --- in a process of its own ----------------------------------------------------------------------------------------

JOB = """
import json, sys
from scallopkit.document.workshop import eyelets, notches, read, redrawn, refit, report_text, scallop, with_runs
drawing = read(sys.argv[1])
drawing = redrawn(drawing, [scallop(drawing, "box:c0..c1", width=46, allowance="10mm", depth="50%", name="top")])
drawing = redrawn(drawing, [eyelets(drawing, run="top", eyelet=8, margin=2)])
drawing = redrawn(drawing, [notches(drawing, run="top", at="crests")])
runs = [one.run for one in refit(drawing)]
data = with_runs(drawing, runs)
assert data.count(b'role="eyelet"') == data.count(b'role="notch"') == runs[0].count == 6
report_text(drawing, runs)
print(json.dumps(sorted(sys.modules)))
"""
HEAVY = {"scipy", "svgpathtools", "typer", "click", "shapely", "resvg_py", "pydantic", "rich", "hypothesis", "pytest"}


def loaded(code: str, *words: str) -> set[str]:
    """The top-level modules that a fresh process has loaded after the code."""
    done = subprocess.run([sys.executable, "-c", code, *words], capture_output=True, check=False, timeout=60)
    assert done.returncode == 0, done.stderr.decode()
    return {name.partition(".")[0] for name in json.loads(done.stdout)}


def test_a_whole_job_loads_numpy_and_lxml_only(tmp_path: Path) -> None:
    (tmp_path / "a.svg").write_text(
        '<svg xmlns="http://www.w3.org/2000/svg" width="400mm" height="300mm" viewBox="0 0 400 300">'
        '<rect id="box" x="10" y="30" width="296" height="200"/></svg>'
    )
    modules = loaded(JOB, str(tmp_path / "a.svg"))
    assert modules & HEAVY == set()
    assert {"numpy", "lxml", "scallopkit"} <= modules


@pytest.mark.parametrize(
    ("module", "without"),
    [
        ("scallopkit", HEAVY | {"numpy", "lxml"}),
        ("scallopkit.cli", (HEAVY - {"typer", "click"}) | {"numpy", "lxml"}),
        ("scallopkit.geometry.cubics", HEAVY | {"lxml"}),
        ("scallopkit.trim.fit", HEAVY | {"lxml"}),
        ("scallopkit.document.workshop", HEAVY),
        ("scallopkit.document.picture", HEAVY),
        ("scallopkit.document.paths", HEAVY),
    ],
)
def test_what_a_module_loads(module: str, without: set[str]) -> None:
    modules = loaded(f"import json, sys, {module}; print(json.dumps(sorted(sys.modules)))")
    assert modules & without == set()
    assert "scallopkit" in modules


def test_what_is_loaded_is_seen() -> None:
    assert "svgpathtools" in loaded("import json, sys, svgpathtools; print(json.dumps(sorted(sys.modules)))")
