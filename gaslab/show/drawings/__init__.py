"""Drawings: pure functions that take numbers and return one SVG text each."""
