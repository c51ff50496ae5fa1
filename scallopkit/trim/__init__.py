"""Scallops, eyelets and notches fitted to an edge."""
