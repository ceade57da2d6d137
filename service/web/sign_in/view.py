"""What the sign-in page shows."""

from dataclasses import dataclass


@dataclass(frozen=True)
class SignInView:
    """The context of ``sign_in/sign_in.html``. ``link``: the secret of the link that was opened; ``fault``: code of what is wrong."""

    link: str = ""
    fault: str = ""
