"""`python -m isohume.outlets.site.live.server HOST PORT`, started by the supervisor."""

from __future__ import annotations

import os
import sys

import uvicorn

from isohume.outlets.serve.lifeline import follow_supervisor
from isohume.outlets.site.live.asgi import Live
from isohume.outlets.site.live.session import site_of


def main(host: str, port: int) -> None:
    """Serve streams until SIGTERM."""
    follow_supervisor()
    uvicorn.run(
        Live(os.environ, site_of),
        host=host,
        port=port,
        lifespan="on",
        log_level="warning",
        access_log=False,
        server_header=False,
        timeout_graceful_shutdown=1,  # streams have no end of their own
        loop="asyncio",
        http="h11",
        ws="none",
    )


if __name__ == "__main__":
    main(sys.argv[1], int(sys.argv[2]))
