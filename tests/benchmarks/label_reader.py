"""The label reader: statements a second of processor time, and whether its time grows in step with the text."""

import random
import time
from collections.abc import Iterator

from service.domain.labels.reader import read_label
from service.reference.labels.words import label_words
from tests.benchmarks.figure import Figure

STATEMENTS_A_SECOND = 10_000
LETTERS = 500
PARTS = (
    "enriched wheat flour (wheat flour, niacin, reduced iron, thiamin mononitrate, riboflavin, folic acid)",
    "water",
    "sugar",
    "vegetable oil (canola and/or soybean oil)",
    "whey protein concentrate",
    "contains 2% or less of: salt",
    "natural flavor",
    "soy lecithin",
    "baking powder (sodium acid pyrophosphate, baking soda, corn starch)",
    "tomato paste",
    "cheddar cheese (cultured milk, salt, enzymes)",
    "coconut milk",
    "spices",
    "garlic powder",
    "citric acid",
    "almonds",
    "egg whites",
    "xanthan gum",
    "barley malt extract",
    "cocoa butter",
    "modified corn starch",
    "ascorbic acid (vitamin C)",
    "annatto color",
    "brown rice syrup",
)
"""Invented statements are put together from these usual parts; for speed only."""


def statements(count: int) -> list[str]:
    """Made-up statements of about 500 letters, the same in every run."""
    pick = random.Random(7)  # noqa: S311 - no secret
    made = []
    for _ in range(count):
        text = ""
        while len(text) < LETTERS:
            text += ("" if not text else ", ") + pick.choice(PARTS)
        made.append(text[:LETTERS].upper() if pick.random() < 0.5 else text[:LETTERS])
    return made


HOSTILE = {
    "nested brackets": lambda size: "(" * (size // 2) + ")" * (size - size // 2),
    "one long word": lambda size: "m" * size,
    "contains may contain": lambda size: ("contains may contain " * (size // 21 + 1))[:size],
    "milk milk milk": lambda size: ("milk " * (size // 5 + 1))[:size],
    "commas and colons": lambda size: (",:.;(" * (size // 5 + 1))[:size],
    "warned lists": lambda size: ("may contain milk; egg; " * (size // 23 + 1))[:size],
    "broken lines": lambda size: ("mi-\nlk " * (size // 7 + 1))[:size],
    "tags": lambda size: ("<b>milk</b> " * (size // 12 + 1))[:size],
    "open brackets": lambda size: ("bread (" * (size // 7 + 1))[:size],
    "accents to fold": lambda size: ("é ß ﬁ ½ " * (size // 8 + 1))[:size],
}
SMALL, LARGE = 100_000, 1_000_000


def seconds(text: str, rounds: int = 3) -> float:
    """Least time to read a text."""
    words = label_words()
    best = float("inf")
    for _ in range(rounds):
        began = time.process_time()
        read_label(words, text)
        best = min(best, time.process_time() - began)
    return best


def figures() -> Iterator[Figure]:
    """Rate against the stated one; growth from 100 kB to 1 MB of hostile text against ten times."""
    made = statements(2000)
    words = label_words()
    for text in made[:200]:
        read_label(words, text)
    best = float("inf")
    for _ in range(15):
        began = time.process_time()
        for text in made:
            read_label(words, text)
        best = min(best, time.process_time() - began)
    rate = len(made) / best
    yield Figure("label reader: of 10,000 statements a second", rate / STATEMENTS_A_SECOND, 1.0, detail=f"{rate:.0f}/s")
    for name, text in HOSTILE.items():
        growth = seconds(text(LARGE)) / seconds(text(SMALL)) / (LARGE / SMALL)
        yield Figure(f"label reader: growth, {name}", growth, 1.6, at_most=True, detail="1 = in step with length")
