"""How messages and tables are worded, wherever they are written."""

from __future__ import annotations


def counted(n: float, one: str, many: str = "") -> str:
    """A number with what it counts: "1 valley", "2 valleys", "2.5 scallops"; `many` where it takes more than an s."""
    return f"{n:g} {one if n == 1 else many or f'{one}s'}"
