"""The form of a JSON Merge Patch of a record: all of its fields, each of which may be left out, or null to remove it."""

from functools import lru_cache
from types import UnionType
from typing import Any, Union, get_args, get_origin

from pydantic import BaseModel, ConfigDict, Field, create_model
from pydantic.fields import FieldInfo


class Patch(BaseModel):
    """What all forms of a patch share."""

    model_config = ConfigDict(extra="forbid", defer_build=True)


@lru_cache(maxsize=64)
def patch_of(model: type[BaseModel]) -> type[BaseModel]:
    """The form of a patch of a model; objects within it are patched field by field too, lists are replaced whole."""
    fields: Any = {
        name: (_kind(field) | None, Field(None, alias=field.alias, description=field.description))
        for name, field in model.model_fields.items()
    }
    words = f"Fields to change, null to remove one. {model.__doc__ or ''}".strip()
    made: type[BaseModel] = create_model(f"{model.__name__}Patch", __base__=Patch, __doc__=words, **fields)
    return made


def _kind(field: FieldInfo) -> Any:
    either = get_args(field.annotation) if get_origin(field.annotation) in (Union, UnionType) else (field.annotation,)
    for one in either:
        if isinstance(one, type) and issubclass(one, BaseModel):
            return patch_of(one)
    return field.rebuild_annotation()
