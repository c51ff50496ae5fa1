"""Drawings in and out: the only layer that knows SVG."""
