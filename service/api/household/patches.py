"""The form of a JSON Merge Patch of a record: all of its fields, each of which may be left out, or null to take it out."""

from functools import lru_cache
from typing import Any, get_args

from pydantic import BaseModel, ConfigDict, Field, create_model
from pydantic.fields import FieldInfo


class Patch(BaseModel):
    """What all forms of a patch share."""

    model_config = ConfigDict(extra="forbid")


@lru_cache(maxsize=64)
def patch_of(model: type[BaseModel]) -> type[BaseModel]:
    """The form of a patch of a model; objects within it are patched field by field too, lists are replaced whole."""
    fields: Any = {
        name: (_kind(field) | None, Field(None, alias=field.alias, description=field.description))
        for name, field in model.model_fields.items()
    }
    words = f"Fields to change, null to take one out. {model.__doc__ or ''}".strip()
    made: type[BaseModel] = create_model(f"{model.__name__}Patch", __base__=Patch, __doc__=words, **fields)
    return made


def _kind(field: FieldInfo) -> Any:
    for one in (field.annotation, *get_args(field.annotation)):
        if isinstance(one, type) and issubclass(one, BaseModel):
            return patch_of(one)
    return field.rebuild_annotation()
