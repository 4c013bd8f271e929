"""gaslab: the numbers behind a kitchen refit on natural gas, for training only.

The rooms of the house, from the ground up: `units` and `tables`; `physics`;
`refit` (the job); `learn` (questions); `assess` (papers and marking); and
`show`, which may look at all of them and is looked at by none.
"""

__version__ = "1.0.0"
