"""Answer the page: what is drawn, what is done to it, tiles, counts, and the plan."""

import functools
import logging
from collections.abc import Callable
from typing import Any

from starlette.applications import Starlette
from starlette.concurrency import run_in_threadpool
from starlette.requests import Request
from starlette.responses import FileResponse, JSONResponse, PlainTextResponse, Response
from starlette.routing import Route

from clearing.app.asked import Refused, Stale
from clearing.app.desk import Desk
from clearing.app.guard import Guard, Keys, NotTaken, TooLarge, body_of
from clearing.app.page import piece
from clearing.errors import InputError

_log = logging.getLogger(__name__)
A_DAY = "private, max-age=86400, immutable"
UNKNOWN = (
    "something went wrong in the program, and this was not kept; what was saved before is whole. "
    "The window where 'clearing draw' runs says more"
)
LONGEST_NUMBER = 18  # digits of a number in an address; own choice
HANDED_OUT = ("map.html", "workplan.pdf")  # of the folder out


def build(desk: Desk, port: int, keys: Keys) -> Guard:
    """Return the application that answers one page on one port.

    Parameters
    ----------
    desk : Desk
        The property's folder as it is worked on.
    port : int
        Where it listens.
    keys : Keys
        Key and cookie.

    References
    ----------
    own reasoning
    """
    reads = {
        "/state": lambda ask: desk.state(),
        "/around": lambda ask: desk.around(),
        "/known": lambda ask: desk.known(),
        "/planned": lambda ask: desk.planned(),
        "/earlier": lambda ask: desk.earlier(),
        "/news": lambda ask: desk.news(ask.query_params.get("page", ""), _number(ask, "revision")),
        "/log": lambda ask: desk.log(),
        "/tally": lambda ask: desk.tally(ask.query_params.get("plot", "")),
    }
    does = {
        "/stroke": desk.stroke, "/pins": desk.pins, "/plan": desk.plan, "/bye": desk.bye,
        "/place": desk.place_words, "/log/add": desk.log_add,
    }  # fmt: skip
    routes = [Route(path, _answer(_read(work)), methods=["GET"]) for path, work in reads.items()]
    routes += [Route(path, _answer(_do(work)), methods=["POST"]) for path, work in does.items()]
    routes += [
        Route("/", _piece, methods=["GET"]),
        Route("/own/{name}", _piece, methods=["GET"]),
        Route("/photo/{stamp}/{z:int}/{x:int}/{y:int}", _tile(desk, "tile"), methods=["GET"]),
        Route("/plain/{stamp}/{z:int}/{x:int}/{y:int}", _tile(desk, "plain"), methods=["GET"]),
        Route("/out/{name}", functools.partial(_handed_out, desk), methods=["GET"]),
    ]
    return Guard(Starlette(routes=routes), port, keys)


def _number(ask: Request, name: str) -> int:
    """Return a whole number of the address, else 0."""
    text = ask.query_params.get(name, "")
    return int(text) if text.isascii() and text.isdigit() and len(text) <= LONGEST_NUMBER else 0


def _read(work: Callable[[Request], Any]) -> Callable[[Request], Any]:
    """Return a route's work for a question: off the loop, so that tiles go on."""

    async def asked(ask: Request) -> Any:
        return await run_in_threadpool(work, ask)

    return asked


def _do(work: Callable[[dict[str, Any]], Any]) -> Callable[[Request], Any]:
    """Return a route's work for a change."""

    async def asked(ask: Request) -> Any:
        return await run_in_threadpool(work, await body_of(ask))

    return asked


def _answer(work: Callable[[Request], Any]) -> Callable[[Request], Any]:
    """Return a route: what it is refused for is said in words, and as a status."""

    async def route(ask: Request) -> Response:
        try:
            return JSONResponse(await work(ask))
        except InputError as found:
            return _said(found.problems, 422)
        except Stale as cause:
            return _said([str(cause)], 409)
        except Refused as cause:
            return _said([str(cause)], 422)
        except TooLarge as cause:
            return _said([str(cause)], 413)
        except OSError as cause:
            return _said([f"the folder cannot be written: {cause.strerror or cause}"], 507)
        except NotTaken as cause:
            return _said([str(cause)], 400)
        except Exception:
            _log.exception("a question or a stroke that the program could not answer")
            return _said([UNKNOWN], 500)

    return route


def _said(problems: list[str], status: int) -> JSONResponse:
    """Return problems as the page shows them."""
    return JSONResponse({"problems": problems}, status)


async def _piece(ask: Request) -> Response:
    """Return a piece of the page: itself, a style, a script."""
    found = await run_in_threadpool(piece, ask.path_params.get("name", "page.html"))
    if found is None:
        return PlainTextResponse("There is nothing of this name.", 404)
    return Response(found[0], media_type=found[1])


def _tile(desk: Desk, kind: str) -> Callable[[Request], Any]:
    """Return the route of one kind of tiles; 204 where the photo does not reach."""

    async def route(ask: Request) -> Response:
        where = [ask.path_params[name] for name in ("z", "x", "y")]
        picture = await run_in_threadpool(desk.photo_tile, kind, *where)
        headers = {"cache-control": A_DAY}
        if picture is None:
            return Response(status_code=204, headers=headers)
        return Response(picture, media_type="image/webp", headers=headers)

    return route


async def _handed_out(desk: Desk, ask: Request) -> Response:
    """Return the map or the work plan as they were written last."""
    name = ask.path_params["name"]
    path = desk.home / "out" / name
    if name not in HANDED_OUT or not path.is_file():
        return PlainTextResponse("There is no plan yet.", 404)
    return FileResponse(path)
