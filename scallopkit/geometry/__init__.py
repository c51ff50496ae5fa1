"""Curves, lengths, chords and offsets: numpy arrays in, numpy arrays out, and no word of cloth.

A curve is an array of cubic segments, shape (n, 4, 2), in millimetres, float64; each segment starts where
the one before it ends. A position on a curve is a segment number and a parameter t from 0 to 1, or a length
s from the start. y points down, as on a drawing; `left` is the left hand of someone who walks along the curve
on the drawing as seen, so the left of the direction (1, 0) is (0, -1). Angles are radians.
"""
