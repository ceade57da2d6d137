"""A request's foods become domain foods; searching for foods."""
