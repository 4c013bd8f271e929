"""Runs the examples in a module's docstrings."""

import doctest


def doctest_failures(module) -> int:
    """Return how many examples of a module fail; a module without any counts as one failure."""
    result = doctest.testmod(module)
    return result.failed if result.attempted else 1
