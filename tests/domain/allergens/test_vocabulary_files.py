"""The allergen files hold together: sources, spellings, no word twice, and a fault is told by its place."""

import tomllib

import pytest

from service.domain.errors import LunchError, ReferenceFault
from service.domain.labels.phrases import phrase_tokens, plural, spelling_variants
from service.domain.labels.spelling import fold
from service.reference.allergens.models import LegalListsFile, OtherNamesFile, VocabularyFile
from service.reference.allergens.vocabulary import vocabulary
from service.reference.fault_words import fault_sentence
from service.reference.files import data_path, read_toml
from service.reference.labels.models import (
    DishesFile,
    ExemptFile,
    FalseFriendsFile,
    KnownWordsFile,
    LabelWordsFile,
    SpellingsFile,
    StatementsFile,
)
from service.reference.labels.words import LABEL_WORDS, label_words
from tests.refused import refused

MODELS = {
    "vocabulary": VocabularyFile,
    "spanish_names": OtherNamesFile,
    "legal_lists": LegalListsFile,
    "label_words": LabelWordsFile,
    "label_words_languages": LabelWordsFile,
    "label_words_foods": LabelWordsFile,
    "dishes": DishesFile,
    "known_words": KnownWordsFile,
    "false_friends": FalseFriendsFile,
    "statements": StatementsFile,
    "spellings": SpellingsFile,
    "exempt": ExemptFile,
}


def file(name):
    return read_toml(data_path(f"allergens/{name}.toml"), MODELS[name])


WORD_ROWS = [row for name in LABEL_WORDS for row in file(name).words]


def sources_of(value):
    """Every ``source`` anywhere in a file."""
    if isinstance(value, dict):
        for key, inner in value.items():
            if key == "source" and isinstance(inner, str):
                yield inner
            yield from sources_of(inner)
    elif isinstance(value, list):
        for inner in value:
            yield from sources_of(inner)


@pytest.mark.parametrize("name", MODELS)
def test_every_source_has_a_key_in_the_list_of_sources(name):
    known = tomllib.loads(data_path("sources.toml").read_text(encoding="utf-8"))["sources"]
    raw = tomllib.loads(data_path(f"allergens/{name}.toml").read_text(encoding="utf-8"))
    named = list(sources_of(raw))
    assert named
    for source in named:
        for part in source.split(";"):
            assert part.split()[0].rstrip(":") in known, source


def test_every_allergen_has_a_word_of_its_own():
    rows = (*file("label_words").words, *file("label_words_foods").words)
    meant = {id_ for row in rows if row.tier == "contains" for id_ in row.allergens}
    own = {one.id for one in vocabulary().allergens.values() if not (one.apart or one.content_of)}
    assert meant == own  # lactose is read as milk, gluten as cereals


def test_ids_in_the_word_files_are_those_of_the_vocabulary():
    rows = (*file("label_words").words, *file("label_words_foods").words)
    friends = file("false_friends").false_friend
    named = {id_ for row in rows for id_ in row.allergens}
    named |= {id_ for row in friends for id_ in (*row.looks_like, *row.allergens, *row.check)}
    assert named <= set(vocabulary().allergens)


def test_no_word_stands_twice_for_the_same_allergen_and_tier():
    seen = set()
    for row in WORD_ROWS:
        for word in row.words:
            for id_ in row.allergens:
                assert (id_, row.tier, word) not in seen
                seen.add((id_, row.tier, word))


def test_no_word_is_both_hard_and_open_for_one_allergen():
    tiers = {}
    for row in WORD_ROWS:
        for word in row.words:
            for id_ in row.allergens:
                assert tiers.setdefault((id_, word), row.tier) == row.tier


def test_words_are_written_as_the_reader_folds_them():
    for row in (
        *WORD_ROWS,
        *file("false_friends").false_friend,
    ):
        for word in row.words:
            assert fold(word) == (word, None)
            assert len(phrase_tokens(word)) <= 8


def test_dishes_are_written_as_the_reader_folds_them_and_name_known_allergens():
    for row in file("dishes").dish:
        assert set(row.usually) <= set(vocabulary().allergens)
        for name in (*row.names, *row.endings):
            assert fold(name) == (name, None)


def test_a_dish_keeps_what_the_word_it_begins_with_means():
    """The stem "fisk" is fish: a dish "fiskpinnar" in the files must say so too, or it would hide it."""
    words = label_words()
    for row in file("dishes").dish:
        for name in row.names:
            begins = {flag.allergen for n in range(4, len(name)) for flag in words.stems.get(name[:n], ())}
            entry = words.first[name].entry if name in words.first else None
            if entry is not None and name not in ("smore", "smores", "aebleskiver"):
                assert begins <= {flag.allergen for flag in entry.flags}, name


def test_plain_words_are_no_words_for_an_allergen():
    plain = [word for row in file("false_friends").plain for word in row.words]
    assert not set(plain) & set(label_words().single)
    assert plain == sorted(set(plain))


def test_misspellings_are_not_right_words_too():
    spellings = file("spellings")
    right = set(label_words().single)
    for wrong_ones in spellings.misspellings.values():
        assert not set(wrong_ones) & right


@pytest.mark.parametrize(
    ("word", "variants"),
    [
        ("sulfite", {"sulfite", "sulphite"}),
        ("yogurt", {"yogurt", "yoghurt", "yogourt"}),
        ("hydrolyzed", {"hydrolyzed", "hydrolysed"}),
        ("color", {"color", "colour"}),
        ("flavoring", {"flavoring", "flavouring"}),
        ("milk", {"milk"}),
    ],
)
def test_regular_spellings(word, variants):
    assert set(spelling_variants(word)) == variants


@pytest.mark.parametrize(
    ("word", "more"),
    [("egg", "eggs"), ("anchovy", "anchovies"), ("finch", "finches"), ("whey", "wheys"), ("oats", None), ("220", None)],
)
def test_regular_plurals(word, more):
    assert plural(word) == more


@pytest.mark.parametrize(
    ("model", "text", "words_of_the_fault"),
    [
        (VocabularyFile, 'source = "s"\nstatus = "read"\nallergen = []\nseveral = []\nmore = 1', "more"),
        (VocabularyFile, 'source = "s"\nstatus = "sure"\nallergen = []\nseveral = []', "status"),
        (LabelWordsFile, '[[words]]\nallergens = "milk"\ntier = "contains"\nwords = "Milk"\nsource = "s"\nstatus = "read"', "words"),
        (LabelWordsFile, '[[words]]\nallergens = "milk"\ntier = "check_label"\nwords = "x"\nsource = "s"\nstatus = "read"', "reason"),
        (LabelWordsFile, '[[words]]\nallergens = "milk"\ntier = "perhaps"\nwords = "x"\nsource = "s"\nstatus = "read"', "tier"),
        (LegalListsFile, '[[row]]\njurisdiction = "US"\nfrom = 2020-01-01\nduty = "mandatory"\nlaw = "l"\nsource = "s"\nstatus = "read"', "same_as"),
        (LegalListsFile, '[[row]]\njurisdiction = "US"\nfrom = 2020-01-02\nuntil = 2020-01-01\nduty = "mandatory"\nallergens = "milk"\nlaw = "l"\nsource = "s"\nstatus = "read"', "until"),
        (FalseFriendsFile, '[[false_friend]]\nlooks_like = "milk"\nwords = "x"\ncheck = "milk"\nsource = "s"\nstatus = "read"', "reason"),
        (SpellingsFile, 'source = "s"\nstatus = "read"\n[misspellings]\nmilk = ""\n[broken]\nwords = "milk"\n[companions]\nwords = "x"', "milk"),
    ],
)  # fmt: skip
def test_a_mistake_in_a_file_is_told_by_its_place(tmp_path, model, text, words_of_the_fault):
    path = tmp_path / "file.toml"
    path.write_text(text, encoding="utf-8")
    with refused(LunchError, match=words_of_the_fault) as caught:
        read_toml(path, model)
    assert all(isinstance(fault, ReferenceFault) for fault in caught.value.faults())
    assert "file.toml" in fault_sentence(caught.value)
