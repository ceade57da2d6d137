"""The code under the bars of a packet, as a whole number: with or without zeros in front it means the same.

A wrong check digit is said and the code is looked up all the same: entries of the database have such codes too.
Source: GS1 General Specifications (check digit, numbers of 8, 12, 13 and 14 digits).
"""

import re
from typing import NamedTuple

from service.domain.errors import BadInput
from service.domain.messages import Message, message

MOST_DIGITS = 14
_BETWEEN_DIGITS = re.compile(r"[\s\-]+")


class PacketCode(NamedTuple):
    """A code with what is doubtful of it. ``number``: as a whole number, which fills 14 digits with zeros in front."""

    number: int
    notes: tuple[Message, ...] = ()

    @property
    def gtin(self) -> str:
        """The code in 14 digits."""
        return f"{self.number:0{MOST_DIGITS}}"


def packet_code(given: str, pointer: str = "") -> PacketCode:
    """Read a code as it was typed or scanned; spaces and hyphens do not count.

    Raises ``BadInput`` for what is not digits only, for more than 14 of them, and for zeros only. ``pointer``: what names it in a fault.

    >>> packet_code("4006381333931").gtin, packet_code("0 4006381-333931").gtin
    ('04006381333931', '04006381333931')
    >>> [one.code for one in packet_code("4006381333932").notes]
    ['branded-note.check-digit']
    """
    digits = _BETWEEN_DIGITS.sub("", given)
    if not (digits.isascii() and digits.isdecimal()):
        raise BadInput(pointer=pointer, value=given, problem=message("fault.code-not-digits"))
    if len(digits) > MOST_DIGITS:
        raise BadInput(pointer=pointer, value=given, problem=message("fault.code-too-long", most=MOST_DIGITS))
    if int(digits) == 0:
        raise BadInput(pointer=pointer, value=given, problem=message("fault.code-only-zeros"))
    number = int(digits)
    return PacketCode(number, code_notes(number))


def code_notes(number: int) -> tuple[Message, ...]:
    """What is doubtful of a code: a wrong check digit."""
    from biip.checksums import gs1_standard_check_digit

    digits = f"{number:0{MOST_DIGITS}}"
    right = gs1_standard_check_digit(digits[:-1])
    if right == int(digits[-1]):
        return ()
    return (message("branded-note.check-digit", last=digits[-1], right=str(right)),)
