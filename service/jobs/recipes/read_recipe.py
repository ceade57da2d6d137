"""Bring in a recipe: its lines are read, matched to foods and weighed; what is doubtful is asked.

What is settled becomes the request that POST /v1/recipes takes, so that a dish that was brought in is judged like any other. Stores nothing
and fetches nothing.
"""

from typing import Any

from service.domain.errors import BadInput, Faults, at
from service.domain.foods.food import Food
from service.domain.messages import Message, message
from service.domain.recipes.lines import read_line
from service.domain.recipes.pages import documents_in_page
from service.domain.recipes.saved_recipe import LONGEST_LINE, MOST_LINES, SavedRecipe, saved_recipe_in
from service.jobs.recipes.matching import FoodsAtHand, candidates_of, food_meant, foods_of_the_tables
from service.jobs.recipes.reply import reading_reply
from service.jobs.recipes.requests import LineAnswer, RecipeReadingRequest
from service.jobs.recipes.settled import ABOUT_FOOD, LineState, SettledLine
from service.jobs.recipes.weights import Weight, weight_of
from service.reference.recipes.words import vocabulary


def read_recipe(
    asked: RecipeReadingRequest, foods: FoodsAtHand | None = None, usual_country: str | None = None
) -> dict[str, Any]:
    """Read a recipe; each line comes with its reading, its candidates, and what is to be answered.

    ``foods``: where foods are looked for, the tables if left out. ``usual_country``: where the
    household is: it counts for cups where the request names no country, and for eggs always, since they are bought there.

    Raises ``BadInput`` where there is no recipe or no line, or an answer is for a line that is not there.

    >>> found = read_recipe(RecipeReadingRequest(text="200 g olive oil"))
    >>> found["dish"]["ingredients"]
    [{'food': 'olive-oil', 'grams': 200.0}]
    """
    at_hand = foods or foods_of_the_tables()
    country = asked.country or usual_country
    recipe = _recipe_of(asked)
    answers = _answers(asked, len(recipe.lines))
    lines: list[SettledLine] = []
    faults = Faults()
    for place, text in enumerate(recipe.lines):
        in_answers, answer = answers.get(place, (0, None))
        with faults.at("answers", in_answers):
            lines.append(_settled(text, country, usual_country, at_hand, answer))
    faults.raise_all()
    return reading_reply(asked, recipe, lines, country)


def _recipe_of(asked: RecipeReadingRequest) -> SavedRecipe:
    if asked.text is not None:
        return _pasted(asked.text)
    field, broken = ("html", 0) if asked.html is not None else ("document", 0)
    document: object = asked.document
    if asked.html is not None:
        document, broken = documents_in_page(asked.html)
    found = saved_recipe_in(document)
    if found is None:
        with at(field):
            raise BadInput(value="", problem=message("fault.recipe-not-there"))
    if not found.lines:
        with at(field):
            raise BadInput(value=found.name, problem=message("fault.recipe-without-lines"))
    if broken:
        noted = message("recipe-note.blocks-broken", n=broken)
        return SavedRecipe(
            **{name: getattr(found, name) for name in found.__slots__} | {"notes": (noted, *found.notes)}
        )
    return found


def _pasted(text: str) -> SavedRecipe:
    """The lines that are not empty; too many or too long ones are refused."""
    lines = [line.strip() for line in text.splitlines() if line.strip()]
    with at("text"):
        if not lines:
            raise BadInput(value="", problem=message("fault.recipe-text-empty"))
        if len(lines) > MOST_LINES:
            raise BadInput(value=len(lines), problem=message("fault.recipe-lines-many", most=MOST_LINES))
        for line in lines:
            if len(line) > LONGEST_LINE:
                raise BadInput(value=line[:40], problem=message("fault.recipe-line-long", most=LONGEST_LINE))
    return SavedRecipe("", tuple(lines))


def _answers(asked: RecipeReadingRequest, count: int) -> dict[int, tuple[int, LineAnswer]]:
    """Each line's answer with its place among the answers."""
    faults, found = Faults(), dict[int, tuple[int, LineAnswer]]()
    for place, answer in enumerate(asked.answers):
        with faults.at("answers", place, "line"):
            if answer.line >= count:
                raise BadInput(value=answer.line, problem=message("fault.recipe-line-not-there", last=count - 1))
            if answer.line in found:
                raise BadInput(value=answer.line, problem=message("fault.recipe-line-twice"))
            found[answer.line] = place, answer
    faults.raise_all()
    return found


def _which_food(words: str, some_are_near: bool) -> Message:
    return message("doubt.which-food", food=words) if some_are_near else message("doubt.no-such-food", food=words)


def _settled(
    text: str, country: str | None, eggs_from: str | None, foods: FoodsAtHand, answer: LineAnswer | None
) -> SettledLine:
    """One line, with its answer if there is one."""
    reading = read_line(text, vocabulary(), country)
    heading = any(one.code == "doubt.heading" for one in reading.doubts)
    left_out = answer.leave_out if answer is not None else False
    if left_out or (heading and (answer is None or (answer.food is None and answer.words is None))):
        return SettledLine(reading, LineState.LEFT_OUT, (), None, None, None, reading.doubts if heading else ())
    other_words = answer.words if answer is not None else None
    words = other_words or reading.food
    candidates = tuple(candidates_of(words, foods)) if words else ()
    doubts = list(reading.doubts)
    food: Food | None = None
    if answer is not None and answer.food is not None:
        with at("food"):
            food = foods.food(answer.food)
        doubts = [one for one in doubts if one.code not in ABOUT_FOOD]
    elif words and (other_words is not None or not any(one.code in ABOUT_FOOD for one in doubts)):
        doubts = [one for one in doubts if one.code not in ABOUT_FOOD]
        meant = food_meant(candidates)
        if meant is not None:
            food = foods.food(meant.id)
        else:
            doubts.append(_which_food(words, bool(candidates)))
    grams: float | None = None
    how: Message | None = None
    if answer is not None and answer.grams is not None:
        grams, how = answer.grams, message("weighed.answer")
        doubts = [one for one in doubts if one.code in ABOUT_FOOD]
    elif food is not None and all(one.code in ABOUT_FOOD for one in doubts):
        weighed = weight_of(reading, food, country, eggs_from)
        if isinstance(weighed, Weight):
            grams, how = weighed.mg / 1000, weighed.how
        else:
            doubts.append(weighed)
    state = LineState.ASK if doubts else LineState.READ
    return SettledLine(reading, state, candidates, food, grams, how, tuple(doubts))
