"""The beginning of a line of ingredients: its amount and unit, what a pack holds, and where the food begins."""

from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction

from service.domain.recipes.quantities import Measured, Quantity, measured_at, past_stop, quantity_at, unit_at
from service.domain.recipes.tokens import DASHES, SLASHES, Token, token_at
from service.domain.recipes.vocabulary import Unit, Vocabulary

BULLETS = frozenset("-–—•*·▢☐□◦‣▪")
TIMES = frozenset({"x", "×", "*"})
LENGTHS = frozenset({"inch", "inches", "in", "cm", "mm", '"', "”"})
PACKED_BY = frozenset({"ml", "cl", "dl", "l", "fl oz", "pint", "quart"})
"""Volumes that packs are sold by; a cup is none."""


@dataclass(slots=True)
class Opening:
    """What stands before the food; ``end``: the character where the food begins."""

    amount: Fraction | None = None
    amount_to: Fraction | None = None
    sure: bool = True
    unit: Unit | None = None
    pack: Measured | None = None
    beside: Measured | None = None
    plus: Measured | None = None
    size: str = ""
    heaped: bool = False
    length: bool = False
    preparation: str = ""
    amount_span: tuple[int, int] | None = None
    unit_span: tuple[int, int] | None = None
    end: int = 0


def opening_of(text: str, tokens: Sequence[Token], words: Vocabulary, country: str | None) -> Opening:
    """Read the beginning of a line; what is not there stays empty."""
    found = Opening()
    reader = _Reader(text, tokens, words, country, found)
    reader.read()
    place = reader.place
    found.end = tokens[place].start if place < len(tokens) else len(text)
    return found


class _Reader:
    """Walks along the tokens and notes what it reads."""

    def __init__(
        self, text: str, tokens: Sequence[Token], words: Vocabulary, country: str | None, found: Opening
    ) -> None:
        self.text, self.tokens, self.words, self.country, self.found = text, tokens, words, country, found
        self.place = 0

    def read(self) -> None:
        while self._now().text in BULLETS:
            self.place += 1
        self._part_of()
        before = self.place
        while self._now().low in self.words.about:
            self.place = past_stop(self.tokens, self.place + 1)
        quantity = None if self._is_vague() else quantity_at(self.tokens, self.place, self.words, self.country)
        if quantity is None:
            self.place = before
            return self._measure_without_number()
        self._take(quantity)
        if self._now().text == ",":  # "1, 14-oz can"
            self.place += measured_at(self.tokens, self.place + 1, self.words, self.country) is not None
        if self._length():
            return self._after_unit()
        if self._pack_before_container(quantity):
            return self._after_unit()
        self.place += self._now().low in TIMES  # "2 x large eggs"
        self._sizes()
        self._unit()
        return self._after_unit()

    def _is_vague(self) -> bool:
        """Whether "a few" or "several" stands here."""
        return self._now(self._now().low == "a").low in self.words.vague

    def _now(self, ahead: int = 0) -> Token:
        return token_at(self.tokens, self.place + ahead)

    def _take(self, quantity: Quantity) -> None:
        self.found.amount, self.found.amount_to, self.found.sure = quantity.low, quantity.high, quantity.sure
        self.found.amount_span = (self._now().start, self.tokens[quantity.end - 1].end)
        self.place = quantity.end

    def _part_of(self) -> None:
        """Read "juice of" or "finely grated zest of"."""
        ahead = 1 if self._now().low == "the" else 0
        first = ahead
        known = self.words.parts | self.words.manners | self.words.preparations | {"and"}
        while self._now(ahead).low in known:
            ahead += 1
        if ahead > first and self._now(ahead).low == "of" and self._now(ahead - 1).low in self.words.parts:
            self.found.preparation = self.text[self._now(first).start : self._now(ahead - 1).end]
            self.place += ahead + 1

    def _measure_without_number(self) -> None:
        """Read "pinch of salt", "small bunch of coriander" or "tin of tuna": one of it."""
        before = self.place
        if self._is_vague():
            self.place += 1 + (self._now().low == "a")
            self.place += self._now().low == "of"
            self._sizes()
            self._unit()
            self._after_unit()
            return
        self._sizes()
        unit = unit_at(self.tokens, self.place, self.words)
        if unit is not None and not unit[0].measures and (unit[0].kind == "loose" or self._of_at(unit[1])):
            self.found.amount = Fraction(1)
            self._take_unit(*unit)
            self._after_unit()
            return
        self.place, self.found.size, self.found.heaped = before, "", False

    def _of_at(self, place: int) -> bool:
        return token_at(self.tokens, place).low == "of"

    def _sizes(self) -> None:
        """Read "large", "heaped" or "good"."""
        seen: list[str] = [self.found.size] if self.found.size else []
        while self._now().low in self.words.sizes or self._now().low in self.words.heaped or self._is_good():
            self.found.heaped |= self._now().low in self.words.heaped
            seen.append(self._now().text)
            self.place += 1
        self.found.size = " ".join(seen)

    def _is_good(self) -> bool:
        return self._now().low == "good" and unit_at(self.tokens, self.place + 1, self.words) is not None

    def _unit(self) -> None:
        dash = self._now().text in DASHES
        unit = unit_at(self.tokens, self.place + dash, self.words)
        if unit is not None:
            self.place += dash
            self._take_unit(*unit)
            self.found.sure &= not (dash and unit[0].kind == "container")  # "4-pack"

    def _take_unit(self, unit: Unit, end: int) -> None:
        self.found.unit, self.found.unit_span = unit, (self._now().start, self.tokens[end - 1].end)
        if self.text[self.found.unit_span[0] : self.found.unit_span[1]].endswith("."):
            self.found.unit_span = (self.found.unit_span[0], self.found.unit_span[1] - 1)
        self.place = end

    def _length(self) -> bool:
        """Read "1-inch piece", "a 3 cm piece", "2 1-inch pieces": the length is a size of the piece."""
        start, ahead = self.place, 0
        if self._now().is_number:  # a number of pieces stands before it
            ahead = 1
        dash = self._now(ahead).text in DASHES
        if self._now(ahead + dash).low not in LENGTHS:
            return False
        behind = self.place + ahead + dash + 1
        while token_at(self.tokens, behind).low in self.words.sizes | {".", "-", "long"}:
            behind += 1
        unit = unit_at(self.tokens, behind, self.words)
        last = self._now(ahead + dash)
        if unit is None and last.low == "in":
            return False
        if unit is not None and unit[0].measures:
            return False
        if ahead:
            self.found.size = self.text[self._now().start : last.end]
        else:
            span = self.found.amount_span or (start, start)
            self.found.size = self.text[span[0] : last.end]
            self.found.amount, self.found.amount_to = Fraction(1), None
        self.place = behind
        if unit is None:
            self.found.length = True
        else:
            self._take_unit(*unit)
        return True

    def _pack_before_container(self, quantity: Quantity) -> bool:
        """Read "1 (14 oz) can", "2 x 400g tins", "1 8-oz package", "12 oz. package" or "1-14 oz can"."""
        if self._now().text in "([":
            return self._pack_in_brackets()
        ahead = self.place + (self._now().low in TIMES)
        pack = measured_at(self.tokens, ahead, self.words, self.country)
        if pack is not None and self._packs(pack[0]):
            self.found.pack, self.place = pack[0], pack[1]
            self._sizes()
            self._unit_of_pack()
            return True
        start = self.place
        unit = unit_at(self.tokens, self.place + (self._now().text in DASHES), self.words)
        if unit is None or not self._packs(Measured(quantity.low, unit[0])):
            return False
        self.place = unit[1]
        self._sizes()
        container = unit_at(self.tokens, self.place, self.words)
        if container is None or container[0].kind != "container":
            self.place, self.found.size = start, ""
            return False
        if quantity.high is not None:  # "1-14 oz can": one can, or a can of 1 to 14 ounces
            self.found.pack = Measured(quantity.high, unit[0])
            self.found.amount_to, self.found.sure = None, False
        else:
            self.found.pack = Measured(quantity.low, unit[0])
            self.found.amount, self.found.amount_span = Fraction(1), None
        self._take_unit(*container)
        return True

    def _unit_of_pack(self) -> None:
        unit = unit_at(self.tokens, self.place, self.words)
        if unit is not None and not unit[0].measures:
            self._take_unit(*unit)

    def _pack_in_brackets(self) -> bool:
        pack = measured_at(self.tokens, self.place + 1, self.words, self.country)
        if pack is None or not self._packs(pack[0]):
            return False
        behind = pack[1] + (token_at(self.tokens, pack[1]).low == "each")
        if token_at(self.tokens, behind).text not in (")", "]"):
            return False
        self.found.pack, self.place = pack[0], behind + 1
        self._sizes()
        self._unit_of_pack()
        return True

    def _packs(self, measured: Measured) -> bool:
        return measured.unit.kind == "mass" or measured.unit.id in PACKED_BY

    def _after_unit(self) -> None:
        """What follows the unit: the same in another measure, or what comes on top; then "of" and sizes."""
        if self.found.unit is not None and self.found.unit.kind == "container":
            while self._now().text in SLASHES and unit_at(self.tokens, self.place + 1, self.words) is not None:
                self.place += 2  # "tin/can"
        if self.found.unit is not None and self.found.unit.measures:
            self._other_measure()
            self._on_top()
            self._other_measure()
        elif self.found.unit is None:
            self._sizes()
        for word in (",", "each", "of", "the"):
            self.place += self._now().low == word

    def _other_measure(self) -> None:
        """Read "150 g/5oz", "1 cup (240 ml)" or "1 cup / 240 ml / 8 fl oz"."""
        sign = self._now().text
        if sign in SLASHES or sign == "|" or self._now().low == "or":
            other = measured_at(self.tokens, self.place + 1, self.words, self.country)
            if other is not None and other[0].unit.measures:
                self._note_beside(other[0])
                self.place = other[1]
                self._other_measure()
        elif sign in "([":
            other = measured_at(self.tokens, self.place + 1, self.words, self.country)
            while other is not None:
                close = token_at(self.tokens, other[1])
                if close.text in (")", "]"):
                    self._note_beside(other[0])
                    self.place = other[1] + 1
                    return
                if close.text not in SLASHES | {",", ";"} and close.low != "or":
                    return
                self._note_beside(other[0])
                other = measured_at(self.tokens, other[1] + 1, self.words, self.country)

    def _note_beside(self, measured: Measured) -> None:
        """The first is kept; one whose size is known in every country, sooner than another."""
        kept = self.found.beside
        if kept is None or (kept.unit.size(self.country) is None and measured.unit.size(self.country) is not None):
            self.found.beside = measured

    def _on_top(self) -> None:
        """Read "plus 2 tablespoons", "and 1 tsp", or "1 lb 2 oz"."""
        comma = self._now().text == ","
        sign = self._now(comma)
        joins = sign.low in ("plus", "and", "&") or sign.text == "+"
        more = (
            measured_at(self.tokens, self.place + comma + joins, self.words, self.country) if joins >= comma else None
        )
        unit = self.found.unit
        if more is None or unit is None or not more[0].unit.measures:
            return
        if joins or (unit.id, more[0].unit.id) in {("lb", "oz"), ("kg", "g"), ("l", "ml"), ("pint", "fl oz")}:
            self.found.plus, self.place = more
