"""The templates of the messages in one language: from a code and its values to a sentence.

A catalogue is ``reference_data/messages/<language>.toml``. A template is text with fields in braces, as in
``str.format``; what follows the colon says how the value is written:

=====================  ==========================================================================
``{names}``            a text; a number; a day; another message; a list as "a, b and c"
``{names:or}``         a list as "a, b or c"
``{names:each}``       a list whose parts are separated by semicolons
``{ids:commas}``       a list whose parts are separated by commas
``{names:space}``      a list of sentences, one after another
``{label:first}``      with a capital first letter
``{words:quoted}``     a text as it was written, whatever the language
``{on:date}``          a day as "Monday 30 November"
``{on:year}``          a day as "30 November 2026"
``{on:weekday}``       a day as "Monday"
``{days:dates}``       a list of days, as ``date`` writes them; ``weekdays`` likewise
``{kind:word milk}``   the entry ``milk.<value>``, or the value itself where there is none
``{kinds:words milk}`` a list of these
``{amount:in unit}``   a number in the unit named by another value, by the entry ``unit.<unit>`` or ``measure.<unit>``
``{n:measured unit}``  so much of a household measure as a person says it: "2 slices", "half a cup", "1½ cups"
``{n:measure unit}``   the word of the household measure alone, as it goes with the number
``{n:number}``         a number with halves, thirds and quarters as they are written by hand
``{total:money currency}``  minor units of the currency named by another value, with as many ``digits``
``{n:one=day|other=days}``  the form of a word that goes with a number
=====================  ==========================================================================

A value that is a word of the reference data (the name of an allergen, the form of a food, the label of a target) is
written as the language has it in ``reference_data/messages/words/<language>.toml``; one without an entry stays as it is.
"""

import re
import string
from collections.abc import Callable, Mapping
from datetime import date
from fractions import Fraction
from functools import lru_cache
from typing import Literal

from service.domain.errors import ReferenceFault, raise_all
from service.domain.messages import Message, Value
from service.reference.files import FileModel

Params = Mapping[str, Value]
Part = Callable[[Params], str]
Template = tuple[str, tuple[Part, ...]]
"""A text with ``%s`` for each field, and what writes the fields."""

PLURALS: dict[str, Callable[[float], str]] = {
    "only_other": lambda _number: "other",
    "one_is_1": lambda number: "one" if number == 1 else "other",
    "one_is_below_2": lambda number: "one" if 0 <= number < 2 else "other",
}
"""Which form of a word goes with a number. Source: Unicode CLDR plural rules (Japanese; English; French)."""
FORMS = ("one", "other")
TURNS = re.compile(
    "[\u061c\u200e\u200f\u202a-\u202e\u2066-\u2069\u0590-\u08ff\ufb1d-\ufdff\ufe70-\ufeff\U00010800-\U00010fff]"
)
"""Marks that turn the direction of writing, and letters that are written from right to left."""
ENDS = re.compile("[\u2066-\u2069]")
PLACES = 6
FRACTIONS = {0.25: "¼", 0.333: "⅓", 0.5: "½", 0.667: "⅔", 0.75: "¾"}
"""Parts of one thing as they are written by hand, to a thousandth."""
PARTS_OF_MEASURES = {"half": Fraction(1, 2), "third": Fraction(1, 3), "quarter": Fraction(1, 4)}
"""How a household measure begins that is a part of another one: "half cup"."""
NUMBERS = (float, int)
"""As a tuple, since ``isinstance`` takes three times as long with ``float | int``."""


class Writing(FileModel):
    """How a language writes numbers, lists and days."""

    plurals: Literal["only_other", "one_is_1", "one_is_below_2"]
    decimal_sign: str
    thousands_sign: str
    thousands_from: int = 4
    """How many digits a whole number has at least to be grouped (CLDR: 3 + minimumGroupingDigits)."""
    comma: str
    semicolon: str
    last_and: str
    last_or: str
    date: str
    """With {weekday}, {day} and {month}."""
    year: str
    """With {day}, {month} and {year}."""


class MessagesFile(FileModel):
    """One catalogue: the language, how it writes, and its templates, in groups that are the first part of a code."""

    language: str
    writing: Writing
    messages: dict[str, dict[str, str]]


class Catalogue:
    """The templates of one language, made ready; ``words``: what it calls things of the reference data, by the English.

    Raises ``ReferenceFault`` (or several) for a template that cannot be read.
    """

    def __init__(self, file: MessagesFile, words: Mapping[str, str] | None = None) -> None:
        self.language = file.language
        self.writing = file.writing
        self.words = words or {}
        self.texts = {
            f"{group}.{name}": text for group, entries in file.messages.items() for name, text in entries.items()
        }
        self._plural = PLURALS[file.writing.plurals]
        signs = (file.writing.thousands_sign, file.writing.decimal_sign)
        self._signs = None if signs == (",", ".") else str.maketrans(dict(zip(",.", signs, strict=True)))
        self._days = {"date": file.writing.date, "year": file.writing.year, "weekday": "{weekday}"}
        self._templates: dict[str, Template] = {}
        self._units: dict[str, Template] = {}
        faults = []
        for code, text in self.texts.items():
            try:
                self._templates[code] = self._made_ready(text, {})
            except ValueError as fault:
                faults.append(
                    ReferenceFault(
                        pointer=f"messages/{self.language}.toml#/{code}",
                        value=text,
                        problem=f"is not a template: {fault}",
                        remedy="See service/reference/message_templates.py for what a field may ask for.",
                    )
                )
        raise_all(faults)

    def say(self, message: Message) -> str:
        """The sentence of a message. Raises ``KeyError`` for a code or a value that is not there."""
        pattern, parts = self._templates[message.code]
        params = message.params
        return pattern % tuple([part(params) for part in parts])

    def with_known(self, code: str, known: Params) -> Part:
        """What writes the sentence of a code from the values that are not known yet, for messages that differ in these only."""
        pattern, parts = self._made_ready(self.texts[code], known)
        return lambda params: pattern % tuple([part(params) for part in parts])

    def _made_ready(self, text: str, known: Params) -> Template:
        """The template of a text; fields whose values are known are written already."""
        pattern = ""
        parts: list[Part] = []
        for literal, name, spec, conversion in string.Formatter().parse(text):
            pattern += _escaped(literal)
            if name is None:
                continue
            if conversion or not name.isidentifier():
                raise ValueError(f"{name!r} is not the name of a value")
            part, needed = self._part(name, spec or ""), _needed(name, spec or "")
            if needed <= known.keys():
                pattern += _escaped(part(known))
            elif needed - known.keys() == {name} and (spec or "").startswith("in "):
                of_unit, parts_of_unit = self._in_unit(str(known[(spec or "").partition(" ")[2]]), name)
                pattern += of_unit
                parts += parts_of_unit
            else:
                pattern += "%s"
                parts.append(part)
        return pattern, tuple(parts)

    def _part(self, name: str, spec: str) -> Part:
        kind, _space, other = spec.partition(" ")
        if not spec:
            return lambda params: self._shown(params[name])
        if spec in ("or", "each", "space"):
            writing = self.writing
            ends = {
                "or": (writing.comma, writing.last_or),
                "each": (writing.semicolon, writing.semicolon),
                "space": (" ", " "),
            }
            return lambda params: self._listed(params[name], *ends[spec])
        if spec == "quoted":
            return lambda params: str(params[name])
        if spec == "commas":
            return lambda params: self.writing.comma.join(map(self._shown, params[name]))  # type: ignore[arg-type]
        if spec == "first":
            return lambda params: _capital(self._shown(params[name]))
        if spec in self._days:
            template = self._days[spec]
            return lambda params: self._day(params[name], template)
        if spec.removesuffix("s") in self._days:
            several = self._days[spec.removesuffix("s")]
            return lambda params: self._shown([self._day(on, several) for on in params[name]])  # type: ignore[union-attr]
        if kind == "word" and other:
            return lambda params: self._word(other, str(params[name]))
        if kind == "words" and other:
            return lambda params: self._shown([self._word(other, str(one)) for one in params[name]])  # type: ignore[union-attr]
        if kind == "money" and other:
            return lambda params: f"{self._money(params[name], params['digits'])} {params[other]}"
        if kind == "in" and other:
            return lambda params: self._amount(params[name], str(params[other]))
        if kind == "measured" and other:
            return lambda params: self.measured(params[name], str(params[other]))  # type: ignore[arg-type]
        if kind == "measure" and other:
            return lambda params: self.measure(params[name], str(params[other]))  # type: ignore[arg-type]
        if spec == "number":
            return lambda params: self.by_hand(params[name])  # type: ignore[arg-type]
        if "=" in spec:
            forms = dict(form.split("=", 1) for form in spec.split("|"))
            if tuple(forms) not in (FORMS, FORMS[1:]):
                raise ValueError(f"{spec!r} is not one=...|other=...")
            return lambda params: forms.get(self._plural(float(params[name])), forms["other"])  # type: ignore[arg-type]
        raise ValueError(f"{spec!r} is not a way to write a value")

    def _shown(self, value: Value) -> str:
        if isinstance(value, str):
            word = self.words.get(value, value)
            return word if word.isascii() else kept_apart(word)
        if isinstance(value, NUMBERS):
            return self._number(value)
        if isinstance(value, Message):
            return self.say(value)
        return self._listed(value, self.writing.comma, self.writing.last_and)

    def _number(self, value: float) -> str:
        return self._written(_in_digits(value))

    def _money(self, minor: Value, digits: Value) -> str:
        return self._written(f"{int(minor) / 10 ** int(digits):,.{digits}f}")  # type: ignore[arg-type]

    def _written(self, text: str) -> str:
        """A number that English writes so."""
        if self._signs is None:
            return text
        whole = text.partition(".")[0].lstrip("-").replace(",", "")
        return (text if len(whole) >= self.writing.thousands_from else text.replace(",", "")).translate(self._signs)

    def _listed(self, values: Value, between: str, last: str) -> str:
        """A list in words; names that hold a comma are separated by semicolons."""
        texts = [self._shown(one) for one in values]  # type: ignore[union-attr]
        if len(texts) == 1:
            return texts[0]
        if between == self.writing.comma and any("," in text for text in texts):
            between, last = self.writing.semicolon, self.writing.semicolon.rstrip() + last
        return last.join(part for part in (between.join(texts[:-1]), *texts[-1:]) if part)

    def _word(self, group: str, value: str) -> str:
        return self.texts.get(f"{group}.{value}") or self.words.get(value, value)

    def _amount(self, value: Value, unit: str) -> str:
        if unit not in self._units:
            if self._text_of_unit(unit) is None:
                return f"{self._shown(value)} {unit}"
            self._units[unit] = self._in_unit(unit, "n")
        pattern, parts = self._units[unit]
        params = {"n": value}
        return pattern % tuple([part(params) for part in parts])

    def _in_unit(self, unit: str, name: str) -> Template:
        """An amount in a unit; ``name``: of its value."""
        text = self._text_of_unit(unit)
        if text is None:
            return f"%s {_escaped(unit)}", (self._part(name, ""),)
        return self._made_ready(text.replace("{n}", f"{{{name}}}").replace("{n:", f"{{{name}:"), {})

    def _text_of_unit(self, unit: str) -> str | None:
        """How an amount in a unit, or in a household measure, is written; None where it is written as it is."""
        measure = self.texts.get(f"measure.{unit}")
        return self.texts.get(f"unit.{unit}", None if measure is None else f"{{n}} {measure}")

    def measured(self, quantity: float, unit: str) -> str:
        """So much of a household measure, as a person says it.

        >>> from service.reference.messages import catalogue
        >>> catalogue().measured(0.5, "cup"), catalogue().measured(3, "half cup"), catalogue().measured(2, "large egg")
        ('half a cup', '1½ cups', '2 large eggs')
        """
        first, _space, rest = unit.partition(" ")
        part = PARTS_OF_MEASURES.get(first)
        if part is not None and f"measure.{rest}" in self.texts:
            return self.measured(float(Fraction(quantity).limit_denominator(1000) * part), rest)
        if quantity == 0.5 and f"half.{unit}" in self.texts:
            return self.texts[f"half.{unit}"]
        return f"{self.by_hand(quantity)} {self.measure(quantity, unit)}"

    def measure(self, quantity: float, unit: str) -> str:
        """The word of a household measure as it goes with a number; one without a word stays as it is.

        >>> from service.reference.messages import catalogue
        >>> [catalogue().measure(n, "slice") for n in (0, 0.5, 1, 2)]
        ['slices', 'slice', 'slice', 'slices']
        """
        code = f"measure.{unit}"
        return self.say(Message(code, {"n": max(1, quantity) if quantity else 0})) if code in self.texts else unit

    def by_hand(self, quantity: float) -> str:
        """A number with halves, thirds and quarters as they are written by hand.

        >>> from service.reference.messages import catalogue
        >>> catalogue().by_hand(1.5), catalogue().by_hand(0.2)
        ('1½', '0.2')
        """
        whole, part = divmod(quantity, 1)
        sign = FRACTIONS.get(round(part, 3))
        return self._number(quantity) if sign is None else f"{self._number(int(whole)) if whole else ''}{sign}"

    def _day(self, value: Value, template: str) -> str:
        day = date.fromisoformat(str(value))
        weekday, month = self.texts[f"weekday.{day.isoweekday()}"], self.texts[f"month.{day.month}"]
        return template.format(weekday=weekday, day=day.day, month=month, year=day.year)


def kept_apart(text: str) -> str:
    """A text whose direction of writing cannot turn around what stands next to it in a sentence.

    Source: Unicode Standard Annex 9, section 2.4: what stands between U+2068 and U+2069 is written by itself.

    >>> kept_apart("café"), kept_apart("\u202egnol")
    ('café', '\u2068\u202egnol\u2069')
    """
    if not TURNS.search(text):
        return text
    closed = ENDS.sub("", text)  # one that ends more than it began would end ours
    return f"\u2068{closed}\u2069"


@lru_cache(maxsize=8192)
def _in_digits(value: float) -> str:
    """A number as English writes it; remembered, since rounded amounts come again and again."""
    whole = int(value)
    return f"{whole:,}" if whole == value else f"{value:,.{PLACES}f}".rstrip("0")


def _escaped(text: str) -> str:
    return text.replace("%", "%%")


def _capital(text: str) -> str:
    return text[:1].upper() + text[1:]


def fields(text: str) -> frozenset[str]:
    """The names of the values that a template needs."""
    read = string.Formatter().parse(text)
    return frozenset().union(*(_needed(name, spec or "") for _literal, name, spec, _conv in read if name is not None))


def _needed(name: str, spec: str) -> set[str]:
    """The names of the values that a field needs."""
    kind, _space, other = spec.partition(" ")
    if kind == "money":
        return {name, other, "digits"}
    return {name, other} if kind in ("in", "measured", "measure") else {name}
