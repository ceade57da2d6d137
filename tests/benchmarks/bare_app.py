"""The yardstick: a bare FastAPI route that reads the same body and returns a ready reply of the same size."""

import os
from pathlib import Path

from fastapi import FastAPI, Request, Response

app = FastAPI()
READY = Path(os.environ["BENCHMARK_REPLY"]).read_bytes() if "BENCHMARK_REPLY" in os.environ else b"{}"


@app.post("/v1/lunch-checks")
async def ready_reply(request: Request) -> Response:
    """Read the body, return the ready reply."""
    await request.body()
    return Response(READY, media_type="application/json")
