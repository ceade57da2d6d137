"""The packed-lunch check service."""

import gc

__version__ = "0.1.0"

# Modules and reference data are 150,000 objects that stay. At Python's own 700 they were looked through a few hundred
# times while they loaded: a fifth of the time to the first answer. Garbage in circles is rare here, so it can wait.
gc.set_threshold(200_000)
