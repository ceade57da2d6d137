"""The form of a JSON Merge Patch of a record: all of its fields, each of which may be left out; null removes one that may be missing."""

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
    """The form of a patch of a model; objects within it are patched field by field too, lists are replaced whole.

    What a record needs cannot be removed, so null is not offered for it.
    """
    fields: Any = {name: _in_patch(field) for name, field in model.model_fields.items()}
    words = f"Fields to change, null to remove one. {model.__doc__ or ''}".strip()
    made: type[BaseModel] = create_model(f"{model.__name__}Patch", __base__=Patch, __doc__=words, **fields)
    return made


def _in_patch(field: FieldInfo) -> tuple[Any, FieldInfo]:
    about: dict[str, Any] = {"alias": field.alias, "description": field.description}
    if field.is_required():
        return _kind(field), Field(None, **about, json_schema_extra=_without_default)
    return _kind(field) | None, Field(None, **about)


def _without_default(schema: dict[str, Any]) -> None:
    del schema["default"]


def _kind(field: FieldInfo) -> Any:
    either = get_args(field.annotation) if get_origin(field.annotation) in (Union, UnionType) else (field.annotation,)
    for one in either:
        if isinstance(one, type) and issubclass(one, BaseModel):
            return patch_of(one)
    return field.rebuild_annotation()
