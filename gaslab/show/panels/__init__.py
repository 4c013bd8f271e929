"""Panels: controls and a picture that move together."""
