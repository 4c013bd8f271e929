"""The look that a person chose, kept in their own folder so that every page takes it when it wakes up."""

from __future__ import annotations

import json

from gaslab.refit.folder import FileFault, read_json, user_data_folder, write_whole
from gaslab.show import palette

NAME = "look.json"


def keep(key: str) -> None:
    """Keep a look by its key for pages that wake up later. Raises OSError."""
    write_whole(user_data_folder() / NAME, json.dumps({"look": key}))


def take() -> palette.Look:
    """Take the kept look into use. Without one, or with one that cannot be read, the look stays as it is."""
    try:
        key = str(read_json(user_data_folder() / NAME).get("look"))
    except (OSError, FileFault):  # a look is a matter of taste: the page still works in the usual one
        return palette.current()
    return palette.use(key) if key in palette.LOOKS else palette.current()
