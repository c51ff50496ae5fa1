"""What the tests in editors share."""

from __future__ import annotations

from pathlib import Path

import pytest

from .inkscape_runs import write_effects


@pytest.fixture(scope="session")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The folder with our effects as Inkscape holds it, with nothing else of ours on the way."""
    return write_effects(tmp_path_factory.mktemp("extensions") / "scallopkit")
