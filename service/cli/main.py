"""The command line: ``packed-lunch``. One file a command; the file of a command's name has its options and what it prints.

Every file imports a job only when its command runs, so that ``packed-lunch foods`` does not wait for what ``serve`` needs.

Exit codes: 0 fine; 1 something to change, to read on a label or to avoid; 2 bad input or settings; 70 a fault of ours.
"""

import os
import sys

import typer

from service.cli.branded import branded
from service.cli.bulk import bulk
from service.cli.check import check
from service.cli.foods import foods
from service.cli.household.avoids import avoids
from service.cli.household.care import install_care
from service.cli.household.demo import demo
from service.cli.household.devices import devices
from service.cli.household.packets import packets
from service.cli.household.retention import install_retention
from service.cli.household.stock import stock
from service.cli.offer import offer
from service.cli.plan.calendar import calendar
from service.cli.plan.design import design
from service.cli.plan.enough import enough
from service.cli.plan.labels import labels
from service.cli.plan.plan import plan
from service.cli.plan.prep import prep
from service.cli.plan.shopping import shopping
from service.cli.recipe import recipe
from service.cli.screen import screen
from service.cli.serve import serve
from service.cli.standards import standards
from service.cli.week import week

app = typer.Typer(
    name="packed-lunch",
    help=(
        "Check packed school lunches: energy, nutrients and food groups by age, allergens per child, choking forms, "
        "cold holding. Exit codes: 0 fine, 1 something to change or avoid, 2 bad input."
    ),
    no_args_is_help=True,
    add_completion=False,
    pretty_exceptions_enable=False,
    rich_markup_mode=None,
)
for command in (
    demo,
    check,
    screen,
    offer,
    enough,
    design,
    plan,
    shopping,
    prep,
    labels,
    calendar,
    week,
    bulk,
    foods,
    standards,
):
    app.command()(command)
install_care(app)
install_retention(app)
app.add_typer(recipe, name="recipe")
app.add_typer(avoids, name="avoids")
app.add_typer(packets, name="packets")
app.add_typer(stock, name="stock")
app.add_typer(branded, name="branded")
app.add_typer(devices, name="devices")
app.command()(serve)


FAULT_OF_OURS = 70
"""As BSD's sysexits.h has it: an internal fault of the program."""
TRACEBACKS = "PACKED_LUNCH_TRACEBACKS"


def main() -> None:
    """Run the command line; of a fault of ours the kind and the lines of code are told, never its words.

    These may hold what was stored or typed. Developers see them with the setting ``tracebacks``; it is read here as it stands,
    since settings that cannot be used may be the very fault.
    """
    try:
        app()
    except Exception as fault:
        if os.environ.get(TRACEBACKS, "").lower() in ("1", "true", "yes", "on"):
            raise
        from service.cli.terminal.faults import report_unexpected

        report_unexpected(fault)
        sys.exit(FAULT_OF_OURS)
