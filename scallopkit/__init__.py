"""Fits whole scallops, eyelets and notches to the edges of sewing patterns."""

__version__ = "0.1.0"
