"""Makes the gallery anew: drawings, what the commands make of them, pictures, the commands, the schema of jobs.

Run it from anywhere: python gallery/make.py
"""

from __future__ import annotations

from pathlib import Path

from scallopkit.demo import SCENES, run_demo
from scallopkit.document.making import write_schema

HERE = Path(__file__).parent


def main() -> None:
    """Draws and trims every scene here, and lists the commands that did it."""
    print(run_demo(HERE))
    lines = [f"scallopkit {command}" for scene in SCENES for command in scene.commands]
    (HERE / "commands.txt").write_text("\n".join(lines) + "\n", encoding="utf-8")
    write_schema(HERE / "job.schema.json")


if __name__ == "__main__":
    main()
