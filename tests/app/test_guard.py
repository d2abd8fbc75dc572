"""Only this computer's own page is answered: Host, Origin, key, cookie, size, kind, files."""

import re
from urllib.parse import quote

import pytest

from clearing.app.guard import LARGEST_BODY
from tests.app.page import here
from tests.app.talking import Talk, spot, square


@pytest.fixture(scope="module")
def talk(tmp_path_factory):
    """Give a page's talk with the server of an empty folder."""
    folder = tmp_path_factory.mktemp("place")
    with here(folder) as address:
        talk = Talk(address)
        talk.address = address
        yield talk


def test_a_key_opens_once(talk):
    """The key of the address moved into the cookie; it opens no second window."""
    used = talk.address.split("?")[1]
    status, _, content = talk.ask("GET", f"/?{used}", Cookie="")
    assert status == 403
    assert b"was used already" in content


@pytest.mark.parametrize("host", ["evil.example", "127.0.0.1", "127.0.0.1:1", "[::1]", ""])
def test_another_host_is_not_answered(talk, host):
    """A name that was made to point here (rebinding) gets nothing."""
    assert talk.ask("GET", "/state", Host=host or "evil.example")[0] == 421


@pytest.mark.parametrize("origin", ["http://evil.example", "null", "https://127.0.0.1"])
def test_another_pages_request_is_not_answered(talk, origin):
    """A request that another page sends is refused, to read and to write."""
    assert talk.ask("POST", "/stroke", {}, Origin=origin)[0] == 403
    assert talk.ask("GET", "/state", Origin=origin)[0] == 403


def test_a_change_without_an_origin_is_not_answered(talk):
    """A change says which page it comes from."""
    assert talk.ask("POST", "/stroke", {}, Origin="")[0] == 403


@pytest.mark.parametrize("path", ["/", "/state", "/own/main.js", "/out/map.html", "/news"])
def test_nothing_without_the_cookie(talk, path):
    """Without the cookie no piece of the page, no land, no plan."""
    assert talk.ask("GET", path, Cookie="")[0] == 403
    assert talk.ask("GET", path, Cookie="clearing-1=x")[0] == 403


def test_the_cookie_is_no_scripts_and_no_other_pages(talk):
    """HttpOnly and same-site strict; the address keeps no key."""
    key = talk.get("/news")  # the page lives
    assert key["pages"] == 1
    status, headers, _ = talk.ask("GET", "/?key=wrong")
    assert status == 200
    assert "set-cookie" not in headers


def test_a_large_body_is_refused(talk):
    """More than the bound is not read to its end."""
    body = b'{"op": "' + b"x" * LARGEST_BODY + b'"}'
    assert talk.ask("POST", "/stroke", body)[0] == 413


@pytest.mark.parametrize("body", [b"", b"[]", b"{", b"\xff\xfe", b"[" * 100_000, b'"x"'])
def test_what_is_no_json_object_is_refused(talk, body):
    """A body that is no JSON object is named, not stumbled over."""
    assert talk.ask("POST", "/stroke", body)[0] == 400


def test_a_form_is_refused(talk):
    """Only JSON is taken, which a form of another page cannot send."""
    sent = talk.ask("POST", "/stroke", b"a=b", Content_Type="application/x-www-form-urlencoded")
    assert sent[0] == 415


@pytest.mark.parametrize("name", ["../property.toml", "..%2Fproperty.toml", "plan.json", "%2e%2e"])
def test_only_the_map_and_the_work_plan_are_handed_out(talk, name):
    """No other file of the folder leaves by this way."""
    assert talk.ask("GET", f"/out/{name}")[0] in (404, 405)
    assert talk.ask("GET", f"/own/{name}")[0] in (404, 405)


def test_every_answer_carries_the_policy(talk):
    """Nothing from outside may run or be fetched, and no address is told to others."""
    _, headers, _ = talk.ask("GET", "/")
    assert "default-src 'none'" in headers["content-security-policy"]
    assert "script-src 'self'" in headers["content-security-policy"]
    assert headers["referrer-policy"] == "no-referrer"
    assert headers["x-content-type-options"] == "nosniff"
    assert headers["cache-control"] == "no-store"


NAN = float("nan")
WRONG = {
    "no shape": {"layer": "blocks"},
    "a line for a block": {"layer": "blocks", "shape": {"type": "LineString",
                                                        "coordinates": [[-84, 38], [-84.1, 38]]}},
    "off the globe": {"layer": "plots", "shape": {"type": "Point", "coordinates": [200, 38]}},
    "no numbers": {"layer": "plots", "shape": {"type": "Point", "coordinates": ["a", None]}},
    "not a number": {"layer": "plots", "shape": {"type": "Point", "coordinates": [NAN, 3]}},
    "another layer": {"layer": "sqlite_master", "shape": square(0, 0)},
    "another column": {"layer": "blocks", "shape": square(0, 0), "own": {"geom": "x"}},
    "no such goal": {"layer": "blocks", "shape": square(0, 0), "own": {"goal": "meadow"}},
    "no such tree": {"layer": "keep_trees", "shape": {"type": "Point", "coordinates": [-84, 38]},
                     "own": {"species": "wite_oak"}},
    "no shape at all": "blocks",
    "an endless text": {"layer": "blocks", "shape": square(0, 0), "own": {"notes": "x" * 9000}},
    "too many corners": {"layer": "features", "own": {"kind": "fence"}, "shape": {
        "type": "LineString", "coordinates": [[-84 + n * 1e-7, 38] for n in range(30_000)]}},
}  # fmt: skip


@pytest.mark.parametrize("case", WRONG)
def test_a_wrong_stroke_is_refused_with_a_sentence_and_changes_nothing(talk, case):
    """Each is named in words, and the land is as it was."""
    before = talk.get("/state")["rows"]
    status, answer = talk.stroke(do="put", items=[WRONG[case]])
    assert status == 422, answer
    assert len(answer["problems"][0]) > 15
    assert talk.get("/state")["rows"] == before


@pytest.mark.parametrize(
    "what",
    [{"do": "fly"}, {"do": "undo"}, {"do": "redo"}, {"do": "join", "uids": [["x", 1]]},
     {"do": "remove", "uids": "all"}, {"do": "split", "uid": "x"}, {"do": "as_drawn", "stroke": 9},
     {"do": "bring_back", "version": "../../land.gpkg"}, {"do": "put", "items": []},
     {"do": "tally", "plot": "7", "stem": {"species": "white_oak", "size": "wrist"}, "by": 1},
     {"do": "tally", "plot": "7", "stem": 5, "by": "many"}, {"do": ["put"]}],
    ids=lambda what: str(what)[:40],
)  # fmt: skip
def test_a_stroke_that_cannot_be_is_refused_with_a_sentence(talk, what):
    """Strokes on nothing, of no kind, or out of the folder get words, never a fault."""
    status, answer = talk.stroke(**what)
    assert status in (409, 422), answer
    assert answer["problems"]


def test_a_mere_look_spends_no_key(tmp_path):
    """HEAD on the address (a preview, a link check) leaves the key for the window."""
    with here(tmp_path) as address:
        host, _, key = address.removeprefix("http://").partition("/?key=")
        talk = Talk.__new__(Talk)
        talk.host = host
        assert talk.ask("HEAD", f"/?key={key}")[0] == 403
        assert Talk(address).get("/state")["rows"] == []


@pytest.mark.parametrize(
    "ask",
    [
        {"do": "put", "items": 5},
        {"do": "put", "items": {"layer": "blocks"}},
        {"do": "put", "items": [{"layer": "blocks", "shape": square(0, 0), "own": [1]}]},
        {"do": "put", "items": [{"layer": [], "shape": {}, "own": {}}]},
        {"do": "put", "items": [{"layer": "blocks", "shape": square(0, 0),
                                 "own": {"name": "x" * 3000}}]},
        {"do": "put", "items": [{"layer": "keep_trees", "shape": spot(-84.5, 38.0),
                                 "own": {"dbh_in": "9" * 1999}}]},
        {"do": "remove", "uids": 5},
        {"do": "join", "uids": {"a": 1}},
        {"do": "as_drawn", "stroke": [1]},
        {"do": "tally", "plot": 5, "stem": 5, "by": 1},
        {"do": "tally", "plot": "1", "stem": {}, "by": True},
    ],
)  # fmt: skip
def test_a_stroke_of_another_form_is_refused_in_words(talk, ask):
    """No failing of the program and none of its own words: a refusal that says what is needed."""
    status, answer = talk.stroke(**ask)
    assert status == 422
    assert not re.search(r"\b(object|attribute|int|str|list indices)\b", answer["problems"][0])


@pytest.mark.parametrize("revision", ["\u00b2", "9" * 5000, "-1", "x", ""])
def test_a_revision_that_is_no_number_counts_as_none(talk, revision):
    """Superscripts and endless digits of an address are taken as nought."""
    assert talk.ask("GET", f"/news?page=one&revision={quote(revision)}")[0] == 200


def test_half_a_sign_is_no_text(talk):
    """A lone surrogate can be kept in no file; it is refused before anything is done."""
    body = b'{"op": "1", "do": "put", "words": "\\ud800", "items": []}'
    status, _, content = talk.ask("POST", "/stroke", body)
    assert (status, content) == (400, b'{"problems":["this is no JSON"]}')


def test_pins_of_another_form_are_refused_in_words(talk):
    """Pins that are no list, and a place that cannot be read, are no failing of the program."""
    assert talk.ask("POST", "/pins", {"pins": 5})[0] == 422
    assert talk.ask("POST", "/place", {"text": "nowhere"})[0] == 422
