"""What is said to people, as a code and its values; the words are in a catalogue, one a language.

The domain decides what is said and makes messages. The sentence is made where the reply is made
(``service/reference/messages.py``), so that another language is another catalogue and a program can act
on the code and the values without reading English.
"""

from collections.abc import Mapping, Sequence
from typing import Any, NamedTuple, TypeAlias, Union

Value: TypeAlias = Union[str, float, int, "Message", Sequence["Value"], None]
"""A number, a text, a list of these, or another message. Amounts are rounded as they are to be read; a day
is a text YYYY-MM-DD."""


class Message(NamedTuple):
    """A stable code, and the values that its text needs by name."""

    code: str
    params: Mapping[str, Value]


def message_of(plain: Mapping[str, Any]) -> Message:
    """The message that a reply shows as ``code`` and ``params``: the other way from ``service.reference.messages.json_of``.

    >>> message_of({"code": "finding.met", "params": {"wanted": {"code": "wanted.any", "params": {}}}})
    Message(code='finding.met', params={'wanted': Message(code='wanted.any', params={})})
    """
    return Message(plain["code"], {name: _value_of(one) for name, one in plain["params"].items()})


def _value_of(plain: Any) -> Value:
    if isinstance(plain, Mapping):
        return message_of(plain)
    return [_value_of(one) for one in plain] if isinstance(plain, list | tuple) else plain


def message(code: str, /, **params: Value) -> Message:
    """Make a message: ``message("finding.met", label="Energy", amount=560, unit="kcal")``.

    ``code`` is written out in full at each call, so that a test can hold all calls against the catalogue.
    """
    return Message(code, params)
