"""Laws of the label reader, tried on statements put together at random and on any text at all."""

from collections import Counter
from collections.abc import Sequence

import pytest
from hypothesis import example, given
from hypothesis import strategies as st

from service.domain.labels.evidence import LabelReading
from service.domain.labels.reader import MOST_PLACES, read_label
from service.reference.allergens.vocabulary import vocabulary
from service.reference.labels.words import label_words
from tests.builders import related_to
from tests.strategies import LAW

pytestmark = pytest.mark.property

WORDS_OF_LABELS = """
milk egg wheat flour soy soybean soybeans oil palm lecithin starch corn rice coconut almond cocoa butter cream cheese
peanut nuts nut tree shellfish fish sugar salt water chocolate free from no not without contains may contain traces of
and or & with made in a factory that also processes 2% less than enriched modified food vegetable malt barley malted
oats non dairy gluten whey powder milik soybeanoil mi lk whe at 220 preservative e322 vegan lactose-free fat buttermilk
custard mustard squash butternut eggplant ingredients ingredient does shared equipment on natural flavor caramel color
noix œuf crème sulphites hydrolysed bread crumbs pasta noodles worcestershire sauce added the
"""
WORDS = WORDS_OF_LABELS.split()
PHRASES_OF_LABELS = """
may be present, may occur, are handled, used elsewhere, in the same factory, packed in a bakery, cannot guarantee, not, no,
free from, nut free, dairy free, gluten and dairy free, neither, nor, may contain, made in our kitchen with, contains,
ingredients, milk, nuts, sugar, beef udon, and
"""
PHRASES = [phrase.strip() for phrase in PHRASES_OF_LABELS.split(",")]
"""What turns the words around it, as wholes: put together of single words they hardly come up."""
MARKS = [" ", " ", " ", " ", ", ", ", ", " (", ") ", "), ", " [", "] ", ". ", "; ", ": ", "-", "/", "\n", "* ", ".", ""]


@st.composite
def statements(draw: st.DrawFn, words: Sequence[str] = WORDS) -> str:
    """Words of labels, or phrases of them, and what separates them, in any order."""
    pieces = draw(st.lists(st.tuples(st.sampled_from(words), st.sampled_from(MARKS)), max_size=25))
    return "".join(word + mark for word, mark in pieces)


def read(ingredients: str | None, **fields: str) -> LabelReading:
    return read_label(label_words(), ingredients, **fields)


def named(reading: LabelReading) -> set[tuple[str, str]]:
    return {(row.allergen, row.tier) for row in reading.evidence}


@LAW
@given(statements(), statements())
@example("flour (", "rice")
@example("chocolate (sugar", "salt, milk")
@example("coconut", "milk")
@example("may contain egg", "milk")
@example("free from egg", "milk")
@example("egg and", "milk free")
@example("milk ", "milk\nbread ")
@example("contain),", "traces-powder made, gluten")
def test_a_sentence_takes_nothing_from_another(one: str, other: str) -> None:
    together = read(one + ". " + other)
    assert named(read(one)) | named(read(other)) <= named(together)


@LAW
@given(statements())
def test_case_changes_nothing(text: str) -> None:
    assert named(read(text.upper())) == named(read(text.lower())) == named(read(text))


@LAW
@given(
    st.one_of(
        st.text(), st.text(alphabet="milk wheat(),.;:-/&éœﬁ\u00ad\u200b\n½²İß"), statements(), statements(PHRASES)
    )
)
@example("\ud800 milk")
@example("may be present: ")
@example("İ\u0307 egg \u0345")
def test_any_text_is_read_and_places_hold_the_words(text: str) -> None:
    for fields in ({}, {"contains": text, "precaution": text}):
        for row in read(text, **fields).evidence:
            assert text[row.start : row.end] == row.words
            assert 0 <= row.start < row.end <= len(text)
            assert row.allergen in vocabulary().allergens
            assert row.reason
            assert row.tier in ("contains", "may_contain", "check_label")


@LAW
@given(statements())
def test_reading_twice_gives_the_same(text: str) -> None:
    assert read(text) == read(text)


@LAW
@given(statements(), st.sampled_from(["milk", "egg", "wheat flour", "soy lecithin", "peanuts", "shrimp"]))
def test_a_last_sentence_with_an_allergen_is_always_found(text: str, allergen: str) -> None:
    alone = {row.allergen for row in read(allergen).evidence if row.tier == "contains"}
    assert alone <= read(f"{text}. {allergen}").contains


ITEMS = st.sampled_from(
    [
        "coconut",
        "milk",
        "sugar",
        "peanut",
        "butter",
        "almond",
        "cream",
        "rice",
        "flour",
        "soy",
        "salt",
        "apple",
        "sunflower",
        "cocoa",
        "cheese",
        "oat",
        "egg",
        "nut",
    ]
)


@LAW
@given(st.lists(ITEMS, min_size=1, max_size=8), st.sampled_from(["\n", "\r\n", "<br>", "\n\n", "\n- ", "\n* ", "\t"]))
def test_a_food_on_a_line_of_its_own_is_found_whatever_stands_around_it(items: list[str], mark: str) -> None:
    """One ingredient to a line: "coconut" and "milk" below each other are two foods."""
    assert frozenset().union(*(read(item).contains for item in items)) <= read(mark.join(items)).contains


@LAW
@given(st.lists(ITEMS, min_size=2, max_size=8))
def test_a_food_at_the_beginning_of_a_line_is_never_lost(items: list[str]) -> None:
    """A line break in a list with commas may be one that the text runs over: then it is at least to check."""
    found = read("water, salt, " + "\n".join(items) + ", pepper")
    assert frozenset().union(*(read(item).contains for item in items)) <= found.contains | found.check_label


@LAW
@given(statements())
@example("milk, traces: milk milk, milk ")
@example("nut), and (lactose-free")
@example("220 ")
def test_brackets_around_a_statement_change_nothing(text: str) -> None:
    flat = "".join(mark for mark in text if mark not in "()[]{}<>.")
    assert named(read(f"mix ({flat})")) == named(read(flat))


@LAW
@given(statements())
def test_in_the_warning_field_nothing_is_contained(text: str) -> None:
    assert read(None, precaution=text).contains == frozenset()
    assert not read(None, precaution=text).has_ingredients


CLAIMED = st.sampled_from(
    ["milk", "egg", "wheat", "soy", "peanuts", "tree nuts", "sesame", "fish", "mustard", "celery"]
)
TAGS = st.sampled_from(["<b>{}</b>", "<strong class='x'>{}</strong>", "_{}_", "**{}**", "{}\u200b", "{}*"])


@LAW
@given(st.lists(st.tuples(st.sampled_from(WORDS), st.sampled_from([" ", " ", ", ", ". "])), max_size=12), TAGS)
@example([("no", " "), ("milk", " ")], "_{}_")
@example([("no", " "), ("milk", " ")], "**{}**")
@example([("no", " "), ("milk", " ")], "{}*")
def test_mark_up_around_words_changes_nothing(pieces: list[tuple[str, str]], tag: str) -> None:
    plain = "".join(word + mark for word, mark in pieces)
    marked = "".join(tag.format(word) + mark for word, mark in pieces)
    assert named(read(marked)) == named(read(plain))


@LAW
@given(statements(), st.integers(1, 400))
def test_many_places_are_thinned_and_no_allergen_is_lost(text: str, times: int) -> None:
    once, often = read(text + ". "), read((text + ". ") * times)
    assert named(often) >= named(once)
    counts = Counter((row.allergen, row.tier) for row in often.evidence)
    assert max(counts.values(), default=0) <= MOST_PLACES
    assert len(often.evidence) + often.left_out >= len(once.evidence)


@LAW
@given(st.lists(CLAIMED, min_size=1, max_size=6), st.sampled_from(["; ", ", ", " | ", " \u2022 ", " / ", " and "]))
def test_a_list_of_names_after_a_warning_is_all_warning(names: list[str], mark: str) -> None:
    found = read("sugar. May contain " + mark.join(names))
    assert found.contains == frozenset()
    assert found.may_contain == frozenset().union(*(read(name).contains for name in names))


CLAIMS = st.sampled_from(["milk", "dairy", "egg", "wheat", "gluten", "soy", "peanut", "nut", "sesame", "fish"])
SHAPES = st.sampled_from(["{}-free", "{} free", "free from {}", "contains no {}", "does not contain {}", "no {}"])


@LAW
@given(CLAIMS, SHAPES, statements())
@example("milk", "{}-free", "no ")
@example("milk", "contains no {}", "maltlactose-free [not)")
@example("milk", "{}-free", "crumbs: milk, ")
def test_a_denial_neither_raises_nor_clears(claim: str, shape: str, text: str) -> None:
    before = f"{text}. " if text else ""
    assert named(read(f"{before}{shape.format(claim)}.")) == named(read(before))


@pytest.mark.parametrize("avoided", sorted(vocabulary().allergens))
def test_what_covers_an_allergen_covers_it_both_ways(avoided: str) -> None:
    for other in related_to(avoided):
        assert avoided in related_to(other)
