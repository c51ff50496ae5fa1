"""Makes the gallery anew: the demo's drawings, what the commands make of them, their pictures and the commands.

Run it from anywhere: python gallery/make.py
"""

from __future__ import annotations

from pathlib import Path

from scallopkit.demo import SCENES, run_demo

HERE = Path(__file__).parent


def main() -> None:
    """Draws and trims every scene here, and lists the commands that did it."""
    print(run_demo(HERE))
    lines = [f"scallopkit {command}" for scene in SCENES for command in scene.commands]
    (HERE / "commands.txt").write_text("\n".join(lines) + "\n", encoding="utf-8")


if __name__ == "__main__":
    main()
