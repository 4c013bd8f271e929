"""The course's own commands: they make the environment, find a browser, run the tests and copy the course.

They run on the Python that is on the machine, before anything is installed, so they import the standard
library and each other only. `stick` and `draw_page` run inside the environment and may import what is there.
"""
