"""Numbers as people type them. What each stands for is common practice, no source."""

import pytest

from service.web.forms.numbers import figure, number_of


@pytest.mark.parametrize(
    ("typed", "language", "meant"),
    [
        ("3.10", "en", "3.10"),
        ("3,10", "en", "3.10"),
        ("3,10", "es", "3.10"),
        ("1,360", "en", "1360"),
        ("1.360", "es", "1360"),
        ("1,360", "es", "1.360"),
        ("0,125", "en", "0.125"),
        ("1,234,567", "en", "1234567"),
        ("1.250,50", "en", "1250.50"),
        ("1 250,50", "es", "1250.50"),
    ],
)
def test_a_comma_or_a_point_is_read_as_it_is_meant(typed: str, language: str, meant: str) -> None:
    assert str(number_of(typed, language)) == meant


@pytest.mark.parametrize("typed", ["", "three", "3.1.2,5,1", "-3", "1e3", "3 g", "NaN", "9" * 40])
def test_anything_else_is_no_number(typed: str) -> None:
    assert number_of(typed, "en") is None


@pytest.mark.parametrize("language", ["en", "es"])
@pytest.mark.parametrize("value", [0.0, 0.125, 1.5, 12.625, 201.601, 1360.0, 1360.255, 12345.678, 0.333, 100.001])
def test_a_number_in_a_field_is_read_back_as_it_was(value: float, language: str) -> None:
    """Also with three decimals, where Spanish writes thousands with a point."""
    assert float(number_of(figure(value), language) or 0) == value
