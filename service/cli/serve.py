"""Start the server: loopback by default, a public address only with an access key."""

from pydantic import ValidationError

from service.domain.errors import BadInput
from service.settings import Settings


def run_server(host: str | None, port: int | None) -> None:
    """Serve until stopped; ``BadInput`` where the settings would expose the service without a key."""
    given = {name: value for name, value in (("host", host), ("port", port)) if value is not None}
    try:
        chosen = Settings(**given)
    except ValidationError as fault:
        error = fault.errors()[0]
        place = "/".join(str(part) for part in error["loc"])
        hidden = not place or place == "access_key"  # a fault of all settings together would show the key
        raise BadInput(
            pointer=place or "settings",
            value=(host or "as given") if hidden else str(error["input"]),
            problem="cannot be used",
            remedy=str(error["msg"]).removeprefix("Value error, ") + ".",
        ) from fault
    import uvicorn

    from service.api.app import create_app

    print(f"Packed-lunch check at http://{chosen.host}:{chosen.port} - documentation at /docs, stop with Ctrl+C")
    uvicorn.run(
        create_app(chosen),
        host=chosen.host,
        port=chosen.port,
        log_level=chosen.log_level,
        access_log=False,
        server_header=False,
    )
