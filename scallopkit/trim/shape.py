"""The shape asked for: a profile, and how deep it is at a given width."""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import lru_cache

from .profiles import PROFILES, Motif, arc_depth


@dataclass(frozen=True)
class Shape:
    """How a scallop of any width looks.

    Attributes:
        profile: a name from PROFILES, or "" for the maker's own motif.
        rule: what stays the same from width to width: "share" (depth over width), "depth" or "radius" (in mm).
        value: that share, depth or radius.
        motif: the maker's own motif, at its own depth.
    """

    profile: str
    rule: str
    value: float
    own: Motif | None = None

    def depth(self, width: float) -> float:
        """Height of the crest over the base line in mm."""
        if self.profile == "half-circle":
            return 0.5 * width
        if self.rule == "share":
            return self.value * width
        return self.value if self.rule == "depth" else arc_depth(width, self.value)

    def depth_slope(self, width: float) -> float:
        """How much the depth grows for each mm of width."""
        step = 1e-4 * width
        return (self.depth(width + step) - self.depth(width - step)) / (2.0 * step)

    def motif(self, width: float) -> Motif:
        """The scallop of that width, drawn at width 1."""
        share = self.depth(width) / width
        if self.own is not None:
            return _scaled(self.own, share)
        # Widths of one span agree to 1e-9; they share one motif.
        return _drawn(self.profile, round(share, 10))


@lru_cache(maxsize=4096)
def _drawn(profile: str, share: float) -> Motif:
    return PROFILES[profile](share)


def _scaled(motif: Motif, share: float) -> Motif:
    curve = motif.curve * [1.0, share / motif.depth]
    return replace(motif, curve=curve, depth=share)
