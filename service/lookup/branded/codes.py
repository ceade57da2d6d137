"""The code under the bars of a packet, as a whole number: with or without zeros in front it means the same.

A wrong check digit is said and the code is looked up all the same: entries of the database have such codes too.
Source: GS1 General Specifications (check digit, numbers of 8, 12, 13 and 14 digits).
"""

import re
from typing import NamedTuple

from service.domain.errors import BadInput
from service.domain.messages import Message, message

MOST_DIGITS = 14
SHORT_DIGITS = 8
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


def written_out(given: str) -> int | None:
    """The whole code of a short one of 8 digits (UPC-E), which some scanners send as it is printed; None for any other.

    >>> written_out("04252614"), written_out("4006381333931")
    (42100005264, None)
    """
    digits = _BETWEEN_DIGITS.sub("", given)
    if len(digits) != SHORT_DIGITS or digits[0] not in "01":
        return None
    from biip import ParseError
    from biip.upc import Upc

    try:
        return int(Upc.parse(digits).as_upc_a())
    except ParseError:  # its check digit is that of a number of 8 digits
        return None


def code_notes(number: int) -> tuple[Message, ...]:
    """What is doubtful of a code: a wrong check digit."""
    digits = f"{number:0{MOST_DIGITS}}"
    last, right = digits[-1], check_digit(digits[:-1])
    return () if right == last else (message("branded-note.check-digit", last=last, right=right),)


def check_digit(payload: str) -> str:
    """The digit that comes after these: each weighs 3 or 1 in turn, from the right.

    Written out here, since importing the library that reads codes elsewhere takes longer than a whole look-up.

    >>> check_digit("400638133393")
    '1'
    """
    weighed = sum(int(digit) * (3 if place % 2 == 0 else 1) for place, digit in enumerate(reversed(payload)))
    return str(-weighed % 10)
