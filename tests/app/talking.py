"""Talk to the drawing page's server as its page does, without a browser."""

import http.client
import json
import uuid
from typing import Any

from tests.app.page import Page


class Talk:
    """A page without a screen: the cookie, strokes, questions."""

    def __init__(self, address: str) -> None:
        self.host, _, key = address.removeprefix("http://").partition("/?key=")
        status, headers, _ = self.ask("GET", f"/?key={key}")
        assert status == 303, status
        self.cookie = headers["set-cookie"].split(";")[0]

    @classmethod
    def of(cls, page: Page) -> "Talk":
        """Return the talk of a page that is open in a browser."""
        talk = cls.__new__(cls)
        talk.host = page.origin.removeprefix("http://")
        [cookie] = [
            c for c in page.driver.get_cookies() if c["name"].endswith(talk.host.split(":")[1])
        ]
        talk.cookie = f"{cookie['name']}={cookie['value']}"
        return talk

    def ask(
        self, how: str, path: str, body: Any = None, **headers: str
    ) -> tuple[int, dict[str, str], bytes]:
        """Return status, headers and content of an answer."""
        line = http.client.HTTPConnection(self.host, timeout=30)
        own = {"Cookie": getattr(self, "cookie", "")}
        if how == "POST":
            own |= {"Origin": f"http://{self.host}", "Content-Type": "application/json"}
        raw = body if isinstance(body, bytes) or body is None else json.dumps(body).encode()
        own |= {name.replace("_", "-"): text for name, text in headers.items()}
        line.request(how, path, raw, {name: text for name, text in own.items() if text})
        answer = line.getresponse()
        content = answer.read()
        told = {name.lower(): text for name, text in answer.getheaders()}
        line.close()
        return answer.status, told, content

    def get(self, path: str) -> Any:
        """Return what the server knows."""
        status, _, content = self.ask("GET", path)
        assert status == 200, content
        return json.loads(content)

    def stroke(self, **what: Any) -> tuple[int, Any]:
        """Return status and answer of a stroke."""
        sent = {"op": uuid.uuid4().hex, "page": "talk"} | what
        status, _, content = self.ask("POST", "/stroke", sent)
        return status, json.loads(content)

    def put(self, **item: Any) -> dict[str, Any]:
        """Return the row of a shape that was put."""
        status, answer = self.stroke(do="put", items=[item])
        assert status == 200, answer
        return answer["rows"][0]


def ring(*corners: tuple[float, float]) -> dict[str, Any]:
    """Return a polygon of corners in degrees."""
    return {"type": "Polygon", "coordinates": [[*map(list, corners), list(corners[0])]]}


def spot(lng: float, lat: float) -> dict[str, Any]:
    """Return a point in degrees."""
    return {"type": "Point", "coordinates": [lng, lat]}


def square(column: int, row: int, side: float = 0.001) -> dict[str, Any]:
    """Return one of the squares of a field of squares that touch."""
    west, south = -84.5 + column * side, 38.0 + row * side
    return ring((west, south), (west + side, south), (west + side, south + side),
                (west, south + side))  # fmt: skip
