"""Promise: a code means the same with and without zeros in front; what cannot be one is refused; a wrong check digit is said.

Outside check: ``biip``, a library of GS1 codes.
"""

import numpy as np
import pyarrow as pa
import pytest
from biip import ParseError
from biip.gtin import Gtin
from hypothesis import given
from hypothesis import strategies as st

from service.domain.errors import BadInput
from service.lookup.branded.codes import packet_code, written_out
from service.lookup.branded.versions import code_numbers
from tests.refused import refused


@pytest.mark.parametrize("written", ["4006381333931", "04006381333931", "0 4006381 333931", "4006381-333931"])
def test_zeros_spaces_and_hyphens_do_not_count(written: str) -> None:
    code = packet_code(written)
    assert (code.gtin, code.notes) == ("04006381333931", ())


def test_zeros_that_were_lost_come_back() -> None:
    """A table program makes a number of ``00012345678905``."""
    assert packet_code("12345678905") == packet_code("00012345678905")


@pytest.mark.property
@given(st.integers(10**7, 10**14 - 1))
def test_the_check_digit_is_that_of_the_library(number: int) -> None:
    try:
        Gtin.parse(f"{number:014}")
        right = True
    except ParseError:
        right = False
    assert (packet_code(str(number)).notes == ()) is right


@pytest.mark.parametrize(
    ("written", "why"),
    [
        ("", "not a code of digits only"),
        ("40063813E3931", "not a code of digits only"),
        ("٤٠٠٦٣٨١٣٣٣٩٣١", "not a code of digits only"),
        ("000000000000", "zeros only"),
        ("140063813339312", "more than 14 digits"),
    ],
)
def test_what_cannot_be_a_code_is_refused(written: str, why: str) -> None:
    with refused(BadInput, match=why):
        packet_code(written)


def test_codes_of_an_archive_are_read_alike() -> None:
    written = ["4006381333931", "04006381333931", " 4006381-333931 ", "", "000", "140063813339312", "40063813E3931"]
    assert code_numbers(pa.array(written)).tolist() == [4006381333931] * 3 + [0] * 4
    assert code_numbers(pa.array(written)).dtype == np.int64


def test_a_short_code_stands_for_a_whole_one() -> None:
    """The example of the library's documentation for UPC-E."""
    assert written_out("04252614") == 42100005264
    assert written_out("94252614") is None
    assert written_out("4006381333931") is None
