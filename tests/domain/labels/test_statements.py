"""Denials, warnings, declarations, places: how the words around an allergen's name change what it means."""

import pytest

from tests.domain.labels.label_reading import everything, hard, reading, said, to_check, warned


class TestDenial:
    @pytest.mark.parametrize(
        "text",
        [
            "free from milk, egg and nuts",
            "Free from: milk, eggs, soy.",
            "free from preservatives, milk or egg.",
            "contains no peanuts",
            "does not contain egg or milk",
            "doesn't contain sesame",
            "no added milk",
            "without nuts",
            "egg-free",
            "milk free",
            "gluten and dairy free",
            "peanut/tree nut free",
            "non-dairy",
            "lactic acid (not from milk)",
            "*ingredient not in regular mozzarella cheese",
            "no nuts, milk or egg",
            "does not contain any of the 9 major allergens: milk, eggs, fish, soy",
            "free of the top 8 allergens (milk, egg, wheat)",
            "made in a facility that does not process peanuts",
            "made in a peanut and tree nut free facility",
        ],
    )
    def test_a_denial_raises_nothing(self, text):
        assert everything(text) == set()

    @pytest.mark.parametrize(
        ("text", "found"),
        [
            ("milk free range eggs", {"milk", "egg"}),
            ("milk* *free range eggs", {"milk", "egg"}),
            ("wheat free flowing salt", {"wheat"}),
            ("milk and butter free run eggs", {"milk", "egg"}),
        ],
    )
    def test_free_that_belongs_to_the_next_words_denies_nothing(self, text, found):
        assert hard(text) == found

    @pytest.mark.parametrize(
        ("text", "found"),
        [
            ("contains no egg. milk", {"milk"}),
            ("free from nuts, milk powder, sugar", {"milk"}),
            ("free from nuts, milk, sugar", {"milk"}),
            ("no egg, milk powder", {"milk"}),
            ("no milk and egg whites", {"egg"}),
            ("egg-free noodles (wheat flour, egg)", {"wheat", "egg"}),
            ("(free from nuts), milk", {"milk"}),
            ("with or without almonds", {"almond"}),
            ("yellow no 5 milk", {"milk"}),
            ("cage free eggs", {"egg"}),
            ("fat free milk", {"milk"}),
            ("nonfat milk", {"milk"}),
            ("non-GMO soy protein", {"soy"}),
            ("no more than 2% milk", {"milk"}),
            ("no added, milk", {"milk"}),
            ("egg and. milk free", {"egg"}),
            ("no mozzarella cheese, milk powder", {"milk"}),
            ("no nuts, milk, egg", {"milk", "egg"}),
            ("without egg, milk", {"milk"}),
            ("no msg except that in soy sauce", {"soy"}),
        ],
    )
    def test_a_denial_clears_nothing_else(self, text, found):
        assert hard(text) == found


class TestWarning:
    @pytest.mark.parametrize(
        "text",
        [
            "May contain milk.",
            "may also contain milk",
            "MAY CONTAIN TRACES OF MILK",
            "traces of milk",
            "Made in a factory that also handles milk.",
            "made in a kitchen where milk is used",
            "Produced in a facility which processes milk",
            "Packed in a place that handles milk",
            "produced on equipment that also processes milk",
            "Produced on shared equipment with milk",
            "manufactured on lines that process milk",
            "packed in our bakery with milk",
            "Not suitable for people with milk allergy",
        ],
    )
    def test_a_warning_is_its_own_tier(self, text):
        assert hard(text) == set()
        assert warned(text) == {"milk"}

    @pytest.mark.parametrize(
        ("text", "found", "warning"),
        [
            ("wheat flour. May contain milk. Egg.", {"wheat", "egg"}, {"milk"}),
            ("sugar (may contain nuts), wheat", {"wheat"}, {"tree_nut"}),
            ("sugar [may contain milk, egg], wheat", {"wheat"}, {"milk", "egg"}),
            ("may contain milk; wheat flour, sugar", {"wheat"}, {"milk"}),
            ("may contain milk; egg whites", {"egg"}, {"milk"}),
            ("sugar (may contain nuts; milk); wheat; egg", {"wheat", "egg"}, {"tree_nut", "milk"}),
            ("May contain milk, egg. Contains: soy", {"soy"}, {"milk", "egg"}),
            ("may contain egg contains: wheat", {"wheat"}, {"egg"}),
            ("MAY CONTAIN EGG. CONTAINS 2% OR LESS OF: WHEY", {"milk"}, {"egg"}),
            ("may contain tree nuts cookies: wheat flour, egg", {"wheat", "egg"}, {"tree_nut"}),
            ("may contain milk ingredients: wheat", {"wheat"}, {"milk"}),
            ("may contain 2.5% milk", set(), {"milk"}),
            ("made in a U.S. facility that processes milk, egg. soy", {"soy"}, {"milk", "egg"}),
            ("sesame. may contain milk", {"sesame"}, {"milk"}),
        ],
    )
    def test_a_warning_ends_with_its_sentence_or_bracket(self, text, found, warning):
        assert hard(text) == found
        assert warned(text) == warning

    @pytest.mark.parametrize(
        ("text", "warning"),
        [
            ("MAY CONTAIN TREE NUTS; PEANUTS", {"tree_nut", "peanut"}),
            ("may contain milk; soy and eggs.", {"milk", "soy", "egg"}),
            ("May contain: • peanuts • milk • soy", {"peanut", "milk", "soy"}),
            ("May contain:\n- peanuts\n- milk", {"peanut", "milk"}),
            ("MAY CONTAIN PEANUTS / MILK", {"peanut", "milk"}),
            ("may contain peanuts | milk", {"peanut", "milk"}),
            ("<p>may contain</p><ul><li>peanuts</li><li>milk</li></ul>", {"peanut", "milk"}),
        ],
    )
    def test_a_warning_goes_on_over_a_list_of_nothing_but_names(self, text, warning):
        assert hard(text) == set()
        assert warned(text) == warning

    def test_the_reason_says_that_it_is_a_warning(self):
        (row,) = reading("may contain milk").evidence
        assert "warning" in said(row.reason)

    def test_a_warning_inside_a_relative_clause_goes_on(self):
        assert warned("made in a factory that handles food that contains milk") == {"milk"}

    def test_contains_traces_of_is_no_warning(self):
        assert hard("contains traces of milk") == {"milk"}


class TestDeclaration:
    def test_a_declaration_in_the_statement_counts(self):
        assert hard("sugar, natural flavour. Contains: milk, soy.") == {"milk", "soy"}

    @pytest.mark.parametrize("words", ["CONTAINS 2% OR LESS OF", "CONTAINS LESS THAN 2% OF"])
    def test_contains_two_percent_is_no_statement_of_allergens(self, words):
        assert hard(f"WATER, {words}: SALT, EGG WHITES, SUGAR") == {"egg"}

    def test_fields_are_read_apart(self):
        found = reading("rice flour", contains="Milk.", precaution="egg, sesame")
        assert found.contains == {"milk"}
        assert found.may_contain == {"egg", "sesame"}
        assert {row.field for row in found.evidence} == {"contains", "precaution"}

    def test_a_warning_in_the_contains_field_stays_a_warning(self):
        found = reading("rice", contains="Contains milk. May contain egg.")
        assert (found.contains, found.may_contain) == ({"milk"}, {"egg"})

    @pytest.mark.parametrize("nothing", [None, "", "   ", "\n\t"])
    def test_no_text_is_no_answer(self, nothing):
        found = reading(nothing, contains="milk")
        assert not found.has_ingredients
        assert found.contains == {"milk"}

    def test_text_is_an_answer_even_when_nothing_is_found(self):
        assert reading("water").has_ingredients
        assert reading("water").evidence == ()


class TestPlaces:
    def test_places_are_those_of_the_text_as_given(self):
        text = "Sugar (LACTOSE), ﬁne Œufs, crème\u00a0fraîche"
        found = {row.words: (row.start, row.end) for row in reading(text).evidence}
        assert found == {"LACTOSE": (7, 14), "Œufs": (21, 25), "crème\u00a0fraîche": (27, 40)}
        assert all(text[start:end] == words for words, (start, end) in found.items())

    def test_rows_stand_in_reading_order(self):
        starts = [row.start for row in reading("milk, egg, wheat flour, soy lecithin, milk").evidence]
        assert starts == sorted(starts)
        assert len(starts) == 5


class TestManyPlaces:
    def test_the_first_places_of_each_allergen_and_tier_are_kept_and_the_rest_counted(self):
        found = reading("milk, egg, " * 5_000 + "soy. May contain milk.")
        tiers = [(row.allergen, row.tier) for row in found.evidence]
        assert {of: tiers.count(of) for of in set(tiers)} == {
            ("milk", "contains"): 50,
            ("egg", "contains"): 50,
            ("soy", "contains"): 1,
            ("milk", "may_contain"): 1,
        }
        assert found.left_out == 2 * (5_000 - 50)
        assert [row.start for row in found.evidence] == sorted(row.start for row in found.evidence)

    def test_nothing_is_left_out_of_a_usual_label(self):
        assert reading("milk, egg, wheat flour, milk").left_out == 0


class TestSpelling:
    @pytest.mark.parametrize(
        ("text", "found"),
        [
            ("MiLk", {"milk"}),
            ("ＭＩＬＫ", {"milk"}),
            ("crème fraîche", {"milk"}),
            ("m\u00adilk", {"milk"}),
            ("yoghurt, sulphites, hydrolysed casein, flavour", {"milk", "sulphite"}),
            ("soy-lecithin", {"soy"}),
            ("wheat\nflour", {"wheat"}),
            ("MILK1, EGG2, 2%MILK", {"milk", "egg"}),
            ("milk*, egg†", {"milk", "egg"}),
            ("cow's milk", {"milk"}),
        ],
    )
    def test_folding(self, text, found):
        assert hard(text) == found

    @pytest.mark.parametrize(
        ("text", "found"),
        [
            ("WHEATFLOUR", {"wheat"}),
            ("SOYLECITHIN", {"soy"}),
            ("milkpowder", {"milk"}),
            ("saltmilkpowder", {"milk"}),
            ("PEANUTBUTTER", {"peanut"}),
            ("almondmilk", {"almond"}),
            ("cakeflour", {"wheat"}),
            ("eggwhites", {"egg"}),
            ("whe-\nat flour", {"wheat"}),
            ("MI-\nLK", {"milk"}),
            ("SO-\r\nY PROTEIN", {"soy"}),
            ("EG-\n GS", {"egg"}),
            ("SOY-\nLECITHIN", {"soy"}),
            ("NON-\nDAIRY", set()),
            ("COD-\nLIVER", {"cod"}),
            ("CHUNK LIGHTTUNA", {"tuna"}),
            ("mi lk", {"milk"}),
            ("CHEE SE", {"milk"}),
            ("SOYBE ANS", {"soy"}),
            ("egg plant", set()),
            ("coco nut", {"coconut"}),
        ],
    )
    def test_words_run_together_or_broken(self, text, found):
        assert hard(text) == found

    @pytest.mark.parametrize(
        ("text", "found"),
        [
            ("milik", {"milk"}),
            ("wehat flour", {"wheat"}),
            ("chedadr cheese", {"milk"}),
            ("mozarella", {"milk"}),
            ("soy lecithen", {"soy"}),
            ("casienate", {"milk"}),
            ("hazlenuts", {"hazelnut"}),
            ("coconut mlk", {"coconut"}),
        ],
    )
    def test_misspellings_that_can_mean_one_word_only(self, text, found):
        assert hard(text) == found

    @pytest.mark.parametrize(("text", "allergen"), [("semolira", "wheat"), ("salmun", "salmon"), ("cashaw", "cashew")])
    def test_other_near_misses_ask(self, text, allergen):
        assert allergen not in hard(text)
        assert allergen in to_check(text)

    @pytest.mark.parametrize(
        ("text", "allergen"),
        [
            ("cheesefurter", "milk"),
            ("zestytuna", "tuna"),
            ("soyzest", "soy"),
            ("zestyeggs", "egg"),
            ("zestmilk", "milk"),
        ],
    )
    def test_a_word_that_begins_or_ends_like_an_allergen_asks(self, text, allergen):
        assert allergen in to_check(text)
        assert allergen not in hard(text)

    def test_a_whole_statement_without_spaces_asks(self):
        assert {"milk", "wheat"} <= to_check("sugarxmilkpowderywheatflourzsaltqwaterwsunfloweroil")
