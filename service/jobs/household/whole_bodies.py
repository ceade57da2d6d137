"""Bodies that were kept before fields were added, made whole: each field that they lack is what it is where it is left out.

The store asks this of every body that it reads, so that nobody else has to think of older records.
"""

from collections.abc import Callable, Iterator, Sequence
from copy import deepcopy
from functools import lru_cache
from typing import Annotated, Any, get_args, get_origin

from pydantic import BaseModel
from typing_extensions import TypeAliasType

Body = dict[str, Any]
Model = type[BaseModel]


@lru_cache
def whole_body(model: Model) -> Callable[[Body], Body]:
    """What makes the bodies of a model whole, with all that is within them."""
    defaults: Body = model.model_construct().model_dump(mode="json", by_alias=True, warnings=False)
    found = {_name(model, name): tuple(_models_in(field.annotation)) for name, field in model.model_fields.items()}
    inner = {name: models for name, models in found.items() if models}

    def whole(body: Body) -> Body:
        missing = {name: deepcopy(default) for name, default in defaults.items() if name not in body}
        within = {name: _whole_within(body[name], models) for name, models in inner.items() if name in body}
        return {**body, **within, **missing}

    return whole


def _whole_within(value: Any, models: Sequence[Model]) -> Any:
    if isinstance(value, list):
        return [_whole_within(one, models) for one in value]
    if not isinstance(value, dict):
        return value
    model = models[0] if len(models) == 1 else next((one for one in models if _may_be(value, one)), None)
    return value if model is None else whole_body(model)(value)


def _may_be(value: Body, model: Model) -> bool:
    """Whether a value has all that a model needs, and nothing that it does not know."""
    needed, known = _fields(model)
    return needed <= value.keys() <= known


@lru_cache
def _fields(model: Model) -> tuple[frozenset[str], frozenset[str]]:
    """The names of the fields of a model that have to be there, and those of all."""
    fields = {_name(model, name): field.is_required() for name, field in model.model_fields.items()}
    return frozenset(name for name, needed in fields.items() if needed), frozenset(fields)


def _name(model: Model, field: str) -> str:
    return model.model_fields[field].serialization_alias or field


def _models_in(annotation: Any) -> Iterator[Model]:
    """The models that a value of an annotation may be made of, lists and choices looked into."""
    if isinstance(annotation, TypeAliasType):
        yield from _models_in(annotation.__value__)
    elif isinstance(annotation, type) and issubclass(annotation, BaseModel):
        yield annotation
    elif get_origin(annotation) is Annotated:
        yield from _models_in(get_args(annotation)[0])
    elif get_origin(annotation) is not dict:
        for one in get_args(annotation):
            yield from _models_in(one)
