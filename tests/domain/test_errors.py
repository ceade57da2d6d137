"""An error says place, value, problem and remedy, alone or together with others."""

import pytest

from service.domain.errors import (
    BadAmount,
    LunchError,
    ManyFaults,
    OutsideDates,
    ReferenceFault,
    UnknownName,
    raise_all,
)
from service.domain.messages import message
from service.reference.fault_words import fault_sentence, fault_words


def bad(pointer: str = "/quantity") -> BadAmount:
    return BadAmount(pointer=pointer, value=0, problem=message("fault.not-above-zero"))


def test_one_sentence_with_everything() -> None:
    assert fault_sentence(bad()).startswith("/quantity: 0 is not an amount above zero. Give how many units there are")
    assert bad().slug == "bad-amount"


def test_a_long_value_is_cut() -> None:
    long = OutsideDates(pointer="/on", value="x" * 500, problem=message("fault.no-day"))
    assert len(str(long)) < 200
    assert "..." in str(long)


def test_a_place_seen_from_further_out() -> None:
    moved = bad().under("/lunch/items/3")
    assert moved.pointer == "/lunch/items/3/quantity"
    assert str(moved).startswith("/lunch/items/3/quantity: ")


def test_near_names_come_first_then_what_is_known() -> None:
    known = message("help.it-has", names=["slice", "g"])
    with_near = UnknownName(pointer="/unit", value="slise", kind=message("kind.food"), near=["slice"], known=known)
    assert fault_words(with_near).remedy == "Did you mean slice? It has: slice, g."
    of_nothing = UnknownName(pointer="", value="x", kind=message("kind.food"))
    assert fault_words(of_nothing).remedy == "Give a known food."
    assert fault_sentence(of_nothing) == "/: 'x' is not a known food. Give a known food."


def test_a_fault_carries_its_code_and_values() -> None:
    heavy = BadAmount(field="quantity", value="9 kg", problem=message("fault.too-heavy", kg=9, most=5))
    assert (heavy.slug, heavy.code, heavy.params) == ("bad-amount", "too-heavy", {"kg": 9, "most": 5})
    assert str(heavy) == "/quantity: '9 kg' too-heavy(kg=9, most=5)"  # for a log
    assert fault_words(heavy).remedy == "Give at most 5 kg; check quantity and unit."


def test_a_fault_of_the_reference_data_is_said_without_the_catalogue() -> None:
    wrong = ReferenceFault(pointer="foods.csv", value="aple", problem="is not a food", remedy="Correct its name.")
    assert (wrong.code, wrong.params, fault_words(wrong)) == (
        "reference-fault",
        {},
        ("is not a food", "Correct its name."),
    )
    assert str(wrong) == fault_sentence(wrong) == "foods.csv: 'aple' is not a food. Correct its name."


def test_nothing_one_or_many() -> None:
    raise_all([])
    with pytest.raises(BadAmount):
        raise_all([bad()])
    with pytest.raises(ManyFaults) as caught:
        raise_all([bad("/a"), bad("/b")])
    assert [one.pointer for one in caught.value.faults()] == ["/a", "/b"]
    assert str(caught.value).count("\n") == 1
    caught.value.under("/lunch")
    assert [one.pointer for one in caught.value.faults()] == ["/lunch/a", "/lunch/b"]


def test_every_error_is_a_lunch_error_with_its_own_slug() -> None:
    kinds = list(LunchError.__subclasses__())
    slugs = {kind.slug for kind in kinds}
    assert len(slugs) == len(kinds)
    assert all(slug == slug.lower() and " " not in slug for slug in slugs)
