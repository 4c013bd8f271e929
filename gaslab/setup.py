"""Put data/ inside the wheel, so that an installed course carries its tables.

The tables live beside this package in the checkout, where people edit them; an editable
install reads them there. Only a built wheel gets a copy, as gaslab/data.
"""

import shutil
from pathlib import Path

from setuptools import setup
from setuptools.command.build_py import build_py


class BuildWithData(build_py):
    """Puts a copy of data/ into a built wheel."""

    def run(self) -> None:
        """Build as usual, then copy the data beside the modules."""
        super().run()
        if not self.editable_mode:
            beside = Path(__file__).resolve().parent.parent / "data"
            shutil.copytree(beside, Path(self.build_lib) / "gaslab" / "data", dirs_exist_ok=True)


setup(cmdclass={"build_py": BuildWithData})
