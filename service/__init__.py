"""The packed-lunch check service."""

import gc

__version__ = "0.1.0"

# Modules and reference data are many objects that stay. Python's own 700 has them looked through a few hundred times while
# they are made: a fifth of the time to the first answer.
gc.set_threshold(50_000)
