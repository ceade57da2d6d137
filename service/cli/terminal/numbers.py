"""Commands that take a number without an option in front of it. A negative one is refused with its name, value and remedy."""

import re
from typing import Any

from typer.core import TyperArgument, TyperCommand

from service.cli.terminal.faults import report_faults
from service.domain.errors import BadInput
from service.domain.messages import message

NEGATIVE = re.compile(r"-\d*[.,]?\d+")


class TakesNumber(TyperCommand):
    """A command whose last argument is a number. Without this, ``-1`` is taken for an option that there is not."""

    def parse_args(self, ctx: Any, args: list[str]) -> list[str]:
        """The arguments as usual; ``BadInput``, reported with exit code 2, for a negative number that belongs to no option."""
        own = args[: args.index("--")] if "--" in args else args
        for before, word in zip(["", *own], own, strict=False):
            if NEGATIVE.fullmatch(word) and not before.startswith("--"):
                with report_faults("--json" in own):
                    raise BadInput(pointer=self._number(), value=word, problem=message("fault.negative-number"))
        return super().parse_args(ctx, args)

    def _number(self) -> str:
        """The name of the last argument, which is the number, as the help shows it."""
        last = [one for one in self.params if isinstance(one, TyperArgument)][-1]
        return str(last.metavar or last.name).strip("[]")
