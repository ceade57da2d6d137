"""Faults in words: what is wrong and what to do, in a language of the catalogue.

A fault is a message ``fault.<code>`` and has its remedy under ``remedy.<code>``, with the same values. A fault of the reference
data carries texts and is said as it is. A fault of the exchange itself (``ApiProblem``) is of no value in a place: its message is
a whole sentence.
"""

from typing import NamedTuple

from service.domain.errors import AnyFault, ReferenceFault
from service.domain.messages import Message
from service.reference.messages import say


class FaultWords(NamedTuple):
    """What is wrong with a value, without the value itself; and what to do."""

    problem: str
    remedy: str


def fault_words(fault: AnyFault, language: str | None = None) -> FaultWords:
    """A single fault in words.

    >>> from service.domain.errors import BadAmount
    >>> from service.domain.messages import message
    >>> fault_words(BadAmount(field="quantity", value=0, problem=message("fault.not-above-zero")))
    FaultWords(problem='is not an amount above zero', remedy='Give how many units there are, 0.001 at the least, or leave the item out.')
    """
    if isinstance(fault, ReferenceFault):
        return FaultWords(fault.text, fault.remedy)
    return problem_words(fault.problem, language)


def problem_words(problem: Message, language: str | None = None) -> FaultWords:
    """A message of the group ``fault`` in words, with its remedy."""
    remedy = Message(problem.code.replace("fault.", "remedy.", 1), problem.params)
    return FaultWords(say(problem, language), say(remedy, language))


def fault_sentences(fault: AnyFault, language: str | None = None) -> list[str]:
    """Place, value, problem and remedy of each fault, in a sentence of its own."""
    said = [(one.in_place(), fault_words(one, language)) for one in fault.faults()]
    return [f"{place} {problem}. {remedy}" for place, (problem, remedy) in said]


def fault_sentence(fault: AnyFault, language: str | None = None) -> str:
    """Place, value, problem and remedy in one line; several faults, each in a line of its own."""
    return "\n".join(fault_sentences(fault, language))
