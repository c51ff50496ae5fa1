"""Pieces, marks, corners and edges: the pattern as a dressmaker speaks of it, without a word of SVG."""
