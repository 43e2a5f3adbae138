"""Does the first page answer? Asked as a browser does, redirects followed."""

from __future__ import annotations

import http.client
from contextlib import closing
from urllib.parse import urljoin, urlsplit

MOST_REDIRECTS = 5
ANSWER_WITHIN_S = 10.0
REDIRECTS = frozenset({301, 302, 303, 307, 308})


def first_page_answers(host: str, port: int, name: str) -> bool:
    """Whether the first page of the site answers 200 now.

    host: where the site listens. name: the host name that the site expects in the request.
    """
    path = "/"
    for _ in range(MOST_REDIRECTS):
        try:
            with closing(http.client.HTTPConnection(host, port, timeout=ANSWER_WITHIN_S)) as connection:
                connection.request("GET", path, headers={"Host": f"{name}:{port}", "Accept": "text/html"})
                answer = connection.getresponse()
                answer.read()
        except (OSError, http.client.HTTPException):
            return False
        if answer.status not in REDIRECTS:
            return answer.status == 200
        found = urlsplit(urljoin(path, answer.headers.get("Location", "/")))
        path = found.path + (f"?{found.query}" if found.query else "")
    return False
