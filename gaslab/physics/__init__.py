"""Numbers in, numbers out: SI floats, with no limit, no wording and no widget."""
