"""JSON Merge Patch (RFC 7396): a partial edit that looks like what it edits."""

from typing import Any


def merge_patch(target: Any, patch: Any) -> Any:
    """The target as the patch wants it; neither is changed. The function ``MergePatch`` of RFC 7396 section 2.

    A field of the patch replaces the target's, null deletes it, an object goes into it field by field, and anything
    that is not an object (a list too) replaces the whole.

    >>> merge_patch({"a": 1, "b": {"c": 2}}, {"a": None, "b": {"d": 3}})
    {'b': {'c': 2, 'd': 3}}
    """
    if not isinstance(patch, dict):
        return patch
    merged = dict(target) if isinstance(target, dict) else {}
    for name, value in patch.items():
        if value is None:
            merged.pop(name, None)
        else:
            merged[name] = merge_patch(merged.get(name), value)
    return merged
