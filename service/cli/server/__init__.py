"""What the server that listens has besides uvicorn: limits of connections, and a bounded log."""
