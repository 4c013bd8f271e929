"""The course's own commands. Run with the Python that is on the machine; needs nothing installed.

    python3 gaslab/course.py open        make the environment if need be, and open the course
    python3 gaslab/course.py test        make it if need be, find or fetch a browser, and pass the tests
    python3 gaslab/course.py check       format, lint and types
    python3 gaslab/course.py stamp       run every notebook anew and store its plain-text results
    python3 gaslab/course.py long        the long run: everything that takes too long for every day
    python3 gaslab/course.py bench       speed, side by side, as a table
    python3 gaslab/course.py stick F     a folder F for a classroom with no internet

On Windows write: py gaslab\\course.py open
With --system at the end, open, test and long also install what the system lacks (Debian and Ubuntu).
"""

import os
import sys

# An old Python must get as far as the sentence that says so: this file keeps to what Python 3.6 can read.
OLDEST = (3, 11)


def main(arguments: list) -> int:
    """Carry out one command; return 0 when all went well."""
    if sys.version_info < OLDEST:
        print(
            "\nThis course needs Python {}.{} or newer. This is Python {}.{}.\n"
            "Install a newer one, then run the same command with it.".format(*OLDEST, *sys.version_info[:2]),
            file=sys.stderr,
        )
        return 1
    here = os.path.dirname(os.path.abspath(__file__))
    # Python puts this file's own folder first; the package gaslab is found one folder higher.
    sys.path[:] = [os.path.dirname(here)] + [place for place in sys.path if place != here]
    from gaslab.commands import command_line

    return command_line.main(arguments, __doc__)


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
