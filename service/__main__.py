"""``python -m service`` is the same as ``packed-lunch``."""

from service.cli.main import main

main()
