"""The form of every secret that this service makes: of access keys, of sign-in links, of devices."""

import re

SECRET = re.compile(r"[A-Za-z0-9_-]{43}", re.ASCII)
"""32 random bytes in base64url (RFC 4648 section 5) without padding."""


def has_form_of_secret(text: str) -> bool:
    """Whether something could be one of them; what could not is never looked for."""
    return SECRET.fullmatch(text) is not None
