"""An assessor's own question that passes every check, to be broken in one place at a time."""

from gaslab.show.panels.desk_own import EXAMPLE as GOOD


def changed(old: str, new: str) -> str:
    """Return the good question with one change, which must change something."""
    assert GOOD.count(old) >= 1, old
    return GOOD.replace(old, new, 1)
