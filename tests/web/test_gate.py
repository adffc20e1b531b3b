"""The gate, tried as an attacker would: other pages, other names, guessed and stolen codes."""

from __future__ import annotations

import json
import stat
from itertools import pairwise
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from starlette.types import ASGIApp
from tests import loops
from tests.web.gated import BOAT, LAPTOP, MARK, PHONES, gated, laptop, pair, phone

from towscope.web.gate import upload_paths
from towscope.web.gate.auth import COOKIE
from towscope.web.gate.limits import BODY_BYTES, Bucket, RequestLimits
from towscope.web.gate.pairing import (
    ALPHABET,
    FREE_TRIES,
    LASTS_S,
    LENGTH,
    MOST_WRONG,
    Pairing,
    spaced,
)
from towscope.web.gate.sessions import LASTS_S as PHONE_LASTS_S
from towscope.web.gate.sessions import MOST, Sessions


class Clock:
    def __init__(self) -> None:
        self.now = 1000.0

    def __call__(self) -> float:
        return self.now


# -- which host, which page ------------------------------------------------------------------------


@pytest.mark.parametrize(
    "host",
    [
        "evil.example",  # its name answered with 127.0.0.1: DNS rebinding
        "evil.example:8642",
        "127.0.0.1.evil.example",
        "localhost.evil.example",
        "127.0.0.1:8642@evil.example",
        "[::1",
        "[::1]x",
        "127.0.0.1:port",
        "",
        "192.168.4.1",  # without --lan the boat's own address is nobody's
    ],
)
def test_another_host_is_refused(
    host: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    _, gate = gated(tmp_path, monkeypatch, lan=False)
    answer = laptop(gate).get("/api/hello", headers={"Host": host})
    assert answer.status_code == 421
    assert "address that the boat shows" in answer.json()["error"]


@pytest.mark.parametrize("host", ["127.0.0.1:8642", "localhost", "LOCALHOST:9000", "[::1]:8642"])
def test_this_machine_is_known_by_its_names(
    host: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    _, gate = gated(tmp_path, monkeypatch, lan=False)
    assert laptop(gate).get("/api/hello", headers={"Host": host}).status_code == 200


@pytest.mark.parametrize(
    "headers",
    [
        {"Origin": "https://evil.example"},
        {"Origin": "null"},  # a sandboxed frame
        {"Origin": "http://127.0.0.1:3000"},  # another program's page on this machine
        {"Origin": "https://127.0.0.1:8642"},  # the same host by another scheme
        {"Origin": f"{LAPTOP}.evil.example"},
        {"Sec-Fetch-Site": "cross-site"},
        {"Sec-Fetch-Site": "same-site"},
        {"Sec-Fetch-Site": "none"},
        {"Origin": LAPTOP, "Sec-Fetch-Site": "cross-site"},
    ],
)
def test_a_write_from_another_page_is_refused(
    headers: dict[str, str], tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    app, gate = gated(tmp_path, monkeypatch, lan=False)
    answer = laptop(gate).post("/api/write", json={"a": 1}, headers={**MARK, **headers})
    assert answer.status_code == 403
    assert app.state.written == []


def test_a_write_needs_the_mark_that_no_other_page_can_add(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    app, gate = gated(tmp_path, monkeypatch, lan=False)
    own = {"Origin": LAPTOP, "Sec-Fetch-Site": "same-origin"}
    without = laptop(gate).post("/api/write", json={"a": 1}, headers=own)
    assert without.status_code == 403
    assert "X-Towscope" in without.json()["error"]
    # a form needs no leave from the other side, and its body can be made to look like JSON
    form = laptop(gate).post("/api/write", data={'{"a": "': '"}'}, headers={"Origin": LAPTOP})
    assert form.status_code == 403
    assert app.state.written == []
    assert (
        laptop(gate).post("/api/write", json={"a": 1}, headers={**own, **MARK}).status_code == 200
    )


def test_no_leave_is_given_to_another_page(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    _, gate = gated(tmp_path, monkeypatch, lan=False)
    asked = {
        "Origin": "https://evil.example",
        "Access-Control-Request-Method": "POST",
        "Access-Control-Request-Headers": "x-towscope",
    }
    answer = laptop(gate).options("/api/write", headers=asked)
    assert answer.status_code == 403
    assert not [name for name in answer.headers if name.startswith("access-control")]


@pytest.mark.parametrize("headers", [{"Sec-Fetch-Site": "cross-site"}, {"Origin": "null"}])
def test_the_api_is_not_read_into_another_page(
    headers: dict[str, str], tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    _, gate = gated(tmp_path, monkeypatch, lan=False)
    assert laptop(gate).get("/api/hello", headers=headers).status_code == 403


@pytest.mark.parametrize("method", ["TRACE", "CONNECT", "PROPFIND", "get"])
def test_odd_methods_are_refused(
    method: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    _, gate = gated(tmp_path, monkeypatch, lan=False)
    scope = {
        "type": "http", "method": method, "path": "/api/hello", "query_string": b"",
        "headers": [(b"host", b"127.0.0.1")], "client": ("127.0.0.1", 1), "scheme": "http",
    }  # fmt: skip
    assert _raw(gate, scope) == 405


def test_two_host_headers_are_none(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    _, gate = gated(tmp_path, monkeypatch, lan=False)
    scope = {
        "type": "http", "method": "GET", "path": "/api/hello", "query_string": b"",
        "headers": [(b"host", b"127.0.0.1"), (b"host", b"evil.example")],
        "client": ("127.0.0.1", 1), "scheme": "http",
    }  # fmt: skip
    assert _raw(gate, scope) == 421


def _raw(app: ASGIApp, scope: dict[str, object]) -> int:
    statuses: list[int] = []

    async def receive() -> dict[str, object]:
        return {"type": "http.request", "body": b"", "more_body": False}

    async def send(message: dict[str, object]) -> None:
        if message["type"] == "http.response.start":
            statuses.append(int(str(message["status"])))

    loops.run(lambda: app(scope, receive, send))  # type: ignore[arg-type,return-value]
    return statuses[0]


@given(
    host=st.binary(max_size=40) | st.sampled_from([b"127.0.0.1", b"192.168.4.1", b"boat.local"]),
    cookie=st.binary(max_size=80) | st.binary(max_size=60).map(lambda b: b"__Host-towscope=" + b),
    path=st.text(max_size=30).map(lambda text: "/" + text) | st.just("/pair"),
    query=st.binary(max_size=40),
    peer=st.sampled_from(["127.0.0.1", "192.168.4.20", "::1", "fe80::1%eth0", "?", ""]),
)
@settings(max_examples=150, suppress_health_check=[HealthCheck.function_scoped_fixture])
def test_no_bytes_bring_the_gate_down_or_a_stranger_in(
    host: bytes, cookie: bytes, path: str, query: bytes, peer: str, gate_of_strangers: ASGIApp
) -> None:
    scope = {
        "type": "http", "method": "GET", "path": path, "query_string": query, "scheme": "https",
        "headers": [(b"host", host), (b"cookie", cookie)], "client": (peer, 1),
    }  # fmt: skip
    local = peer in ("127.0.0.1", "::1") and host.strip().lower().split(b":")[0] in (
        b"127.0.0.1", b"localhost", b"[",
    )  # fmt: skip
    open_to_all = path in ("/pair", "/pair/pair.css", "/pair/boat.crt")
    refused = _raw(gate_of_strangers, scope) in (303, 401, 404, 421)
    assert refused or local or open_to_all


@pytest.fixture
def gate_of_strangers(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> ASGIApp:
    return gated(tmp_path, monkeypatch)[1]


def test_every_answer_carries_the_headers(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    # names and values: W3C CSP3, Fetch (nosniff, CORP), HTML (COOP), RFC 6797 (transport)
    _, gate = gated(tmp_path, monkeypatch)
    answers = [
        laptop(gate).get("/api/hello"),
        laptop(gate).get("/api/none"),
        laptop(gate).get("/api/hello", headers={"Host": "evil.example"}),
        laptop(gate).post("/api/write", json={}),
        phone(gate).get("/api/hello"),
        phone(gate).get("/pair"),
    ]
    assert [each.status_code for each in answers] == [200, 404, 421, 403, 401, 200]
    for each in answers:
        policy = dict(
            part.split(" ", 1) for part in each.headers["content-security-policy"].split("; ")
        )
        assert policy["default-src"] == "'self'"
        assert policy["script-src"] == "'self' 'wasm-unsafe-eval'"
        assert policy["frame-ancestors"] == policy["object-src"] == policy["base-uri"] == "'none'"
        assert policy["worker-src"] == "'self' blob:"
        assert "'unsafe-eval'" not in str(policy)
        assert each.headers["x-content-type-options"] == "nosniff"
        assert each.headers["referrer-policy"] == "same-origin"
        assert "geolocation=(self)" in each.headers["permissions-policy"]
        assert each.headers["cross-origin-opener-policy"] == "same-origin"
        assert each.headers["cross-origin-resource-policy"] == "same-origin"
        assert "strict-transport-security" not in each.headers  # addresses and this machine: never
    assert laptop(gate).get("/api/hello").headers["cache-control"] == "no-store"
    named = phone(gate).get("/pair", headers={"Host": "boat.local:8643"})
    assert named.headers["strict-transport-security"] == "max-age=86400"


# -- the code --------------------------------------------------------------------------------------


def test_a_phone_is_let_in_by_the_code_and_stays(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    app, gate = gated(tmp_path, monkeypatch)
    ada = phone(gate)
    assert ada.get("/api/hello").status_code == 401
    page = ada.get("/", headers={"Accept": "text/html"})
    assert (page.status_code, page.headers["location"]) == (303, "/pair")
    assert "this phone is not paired" in ada.get("/api/hello").json()["error"]
    assert pair(app, ada).status_code == 303
    assert ada.get("/api/hello").status_code == 200
    assert ada.post("/api/write", json={"a": 1}, headers=MARK).status_code == 200
    # the app starts again: the phone is still aboard
    _, again = gated(tmp_path, monkeypatch)
    back = phone(again)
    back.cookies.update(ada.cookies)
    assert back.get("/api/hello").status_code == 200


def test_the_cookie_can_be_neither_read_nor_sent_elsewhere(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    # RFC 6265bis: the __Host- prefix demands Secure, Path=/ and no Domain
    app, gate = gated(tmp_path, monkeypatch)
    told = pair(app, phone(gate)).headers["set-cookie"]
    name, _, value = told.split("; ")[0].partition("=")
    parts = {part.lower() for part in told.split("; ")[1:]}
    assert name == COOKIE and name.startswith("__Host-")
    assert {"path=/", "secure", "httponly", "samesite=strict"} <= parts
    assert not any(part.startswith("domain") for part in parts)
    assert len(value) >= 43  # 256 bits
    kept = tmp_path / "sessions" / "phones.json"
    assert value not in kept.read_text()
    assert stat.S_IMODE(kept.stat().st_mode) == 0o600


def test_a_code_lets_one_phone_in(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    app, gate = gated(tmp_path, monkeypatch)
    code = app.state.gate.pairing.renew()
    form = {"data": {"code": code}, "headers": {"Origin": PHONES}}
    assert phone(gate).post("/pair", **form).status_code == 303  # type: ignore[arg-type]
    replayed = phone(gate, "192.168.4.66").post("/pair", **form)  # type: ignore[arg-type]
    assert replayed.status_code == 403
    assert "set-cookie" not in replayed.headers
    assert "No code is good" in replayed.text


def test_a_code_is_typed_as_people_type(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    app, gate = gated(tmp_path, monkeypatch)
    typed = f" {spaced(app.state.gate.pairing.renew()).lower()} "
    answer = phone(gate).post("/pair", data={"code": typed}, headers={"Origin": PHONES})
    assert answer.status_code == 303


def test_guessing_is_slowed_and_then_ended(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    app, gate = gated(tmp_path, monkeypatch)
    told: list[str] = []
    app.state.gate.tell = told.append
    code = app.state.gate.pairing.renew()
    wrong = {"data": {"code": "222222" if code != "222222" else "333333"}}
    origin = {"Origin": PHONES}
    thief = phone(gate, "192.168.4.66")
    statuses = [thief.post("/pair", headers=origin, **wrong).status_code for _ in range(6)]  # type: ignore[arg-type]
    assert statuses == [403, 403, 403, 429, 429, 429]
    # even the right code does not help him while he waits: he learns nothing from it
    late = thief.post("/pair", data={"code": code}, headers=origin)
    assert late.status_code == 429 and int(late.headers["retry-after"]) >= 5
    # Ada, elsewhere, is not kept waiting by it
    assert phone(gate).post("/pair", data={"code": code}, headers=origin).status_code == 303
    # from many addresses at once: after some tries the code is dead, the right one too
    code = app.state.gate.pairing.renew()
    for last in range(100, 100 + MOST_WRONG):
        phone(gate, f"192.168.4.{last}").post("/pair", data={"code": "?"}, headers=origin)
    late = phone(gate, "192.168.4.99").post("/pair", data={"code": code}, headers=origin)
    assert late.status_code == 403
    assert app.state.gate.pairing.current() == ("", 0.0)
    assert any("trying to get in" in line for line in told)


def test_waits_grow_and_a_code_ends() -> None:
    clock = Clock()
    pairing = Pairing(clock)
    assert pairing.attempt("a", "").how == "over"  # no code, an empty try: not let in
    waits = []
    for _ in range(12):
        code = pairing.renew()
        tried = pairing.attempt("a", "WRONG")
        waits.append(tried.wait_s)
        assert tried.how == "wrong"
        clock.now += tried.wait_s
    assert waits[:FREE_TRIES] == [0.0, 0.0, 5.0]
    assert all(later == min(2 * sooner, 900.0) for sooner, later in pairwise(waits[2:]))
    assert len(code) == LENGTH >= 6
    assert not set(code) & set("01ILOSZUV")  # nothing that is read for another
    clock.now += 7200.0  # he has gone away: his tries are forgotten
    code = pairing.renew()
    assert pairing.attempt("a", "WRONG").wait_s == 0.0
    clock.now += LASTS_S - 0.1
    assert pairing.current()[0] == code
    clock.now += 0.2
    assert pairing.current() == ("", 0.0)
    assert pairing.attempt("b", code).how == "over"


def test_a_guess_is_one_in_hundreds_of_millions() -> None:
    # an attacker has MOST_WRONG tries at each code; NIST SP 800-63B 5.2.2 allows 100 at one secret
    assert MOST_WRONG <= 100
    assert MOST_WRONG / len(ALPHABET) ** LENGTH < 1e-6
    assert len(set(ALPHABET)) == len(ALPHABET)


@pytest.mark.parametrize("text", ["", "é" * 6, "\x00" * 6, "A" * 100_000, "💣", "‮ABC"])
def test_odd_codes_are_wrong(text: str) -> None:
    pairing = Pairing()
    pairing.renew()
    assert pairing.attempt("a", text).how == "wrong"


def test_the_pairing_form_is_taken_from_the_apps_own_page_only(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    app, gate = gated(tmp_path, monkeypatch)
    code = app.state.gate.pairing.renew()
    for headers in ({}, {"Origin": "https://evil.example"}, {"Sec-Fetch-Site": "cross-site"}):
        answer = phone(gate).post("/pair", data={"code": code}, headers=headers)
        assert answer.status_code == 403
    assert app.state.gate.pairing.current()[0] == code


def test_what_a_phone_may_not_do(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    app, gate = gated(tmp_path, monkeypatch)
    ada, tor = phone(gate), phone(gate, "192.168.4.21")
    pair(app, ada, "Ada")
    pair(app, tor, "Tor")
    app.state.gate.pairing.renew()
    told = ada.get("/api/pairing").json()
    assert told["code"] is None and told["local"] is False
    assert [each["name"] for each in told["phones"]] == ["Ada"]  # itself only
    everyone = laptop(gate).get("/api/pairing").json()
    assert {each["name"] for each in everyone["phones"]} == {"Ada", "Tor"}
    assert everyone["code"] and everyone["addresses"][0] == f"{PHONES}/"
    tors = next(each["id"] for each in everyone["phones"] if each["name"] == "Tor")
    assert ada.delete(f"/api/pairing/{tors}", headers=MARK).status_code == 409
    assert ada.post("/api/pairing/code", headers=MARK).status_code == 409
    for path in ("/pair/code", "/pair/remove"):
        assert ada.post(path, data={"id": tors}, headers={"Origin": PHONES}).status_code == 404
    assert tor.get("/api/hello").status_code == 200
    # a phone that says it is this machine is not
    sly = ada.get(
        "/api/pairing", headers={"Host": "127.0.0.1:8643", "X-Forwarded-For": "127.0.0.1"}
    )
    assert sly.json()["code"] is None


def test_a_phone_is_put_ashore(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    app, gate = gated(tmp_path, monkeypatch)
    ada = phone(gate)
    pair(app, ada, "<b>Ada</b>\nSet-Cookie: x=y")
    page = laptop(gate).get("/pair").text
    assert "&lt;b&gt;Ada" in page and "<b>Ada" not in page
    known = laptop(gate).get("/api/pairing").json()["phones"][0]["id"]
    gone = laptop(gate).post("/pair/remove", data={"id": known}, headers={"Origin": LAPTOP})
    assert gone.status_code == 303
    assert ada.get("/api/hello").status_code == 401


def test_a_made_up_cookie_is_nobodys(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    app, gate = gated(tmp_path, monkeypatch)
    pair(app, phone(gate))
    kept = json.loads((tmp_path / "sessions" / "phones.json").read_text())["phones"][0]
    for value in ("", "x", kept["secret_hash"], kept["id"], "a" * 100_000, '"', "é"):
        headers = {"Cookie": f"{COOKIE}={value}".encode("latin-1", "replace")}
        assert phone(gate).get("/api/hello", headers=headers).status_code == 401  # type: ignore[arg-type]


def test_phones_age_and_the_list_ends(tmp_path: Path) -> None:
    clock = Clock()
    sessions = Sessions(tmp_path / "phones.json", clock)
    first = sessions.add("first")
    for n in range(MOST):
        clock.now += 1.0
        last = sessions.add(f"phone {n}")
    assert sessions.find(first) is None  # not seen for longest: gone
    assert len(sessions.phones()) == MOST
    clock.now += PHONE_LASTS_S - 10.0
    assert sessions.find(last) is not None
    clock.now += PHONE_LASTS_S - 10.0  # it was seen: its time began anew
    assert sessions.find(last) is not None
    clock.now += PHONE_LASTS_S + 10.0
    assert sessions.find(last) is None


@pytest.mark.parametrize("text", ["", "{", "[]", '{"phones": [{"id": 1}]}', "\x00"])
def test_a_damaged_list_means_pairing_again(text: str, tmp_path: Path) -> None:
    file = tmp_path / "phones.json"
    file.write_text(text)
    sessions = Sessions(file)
    assert sessions.phones() == []
    secret = sessions.add("Ada")
    assert Sessions(file).find(secret) is not None


def test_the_join_page_shows_no_more_of_an_address_than_a_code(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    _, gate = gated(tmp_path, monkeypatch)
    assert 'value="ABCD23"' in phone(gate).get("/pair?code=abcd23").text
    for bad in ('"><script>alert(1)</script>', "ABCD2", "ABCD230", "ABCDO1", "%0d%0aX: y"):
        text = phone(gate).get("/pair", params={"code": bad}).text
        assert 'value=""' in text and "<script" not in text and "alert" not in text


def test_without_lan_nobody_is_let_in_and_the_page_says_how(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    _, gate = gated(tmp_path, monkeypatch, lan=False)
    assert "towscope serve --lan" in laptop(gate).get("/pair").text
    # behind a proxy on this machine the peer is 127.0.0.1, but the host is another
    assert laptop(gate).get("/", headers={"Host": f"{BOAT}:8642"}).status_code == 421
    # from another machine, though it names this one: not let in, and no code to be had
    assert phone(gate).get("/api/hello", headers={"Host": "127.0.0.1"}).status_code == 401


# -- how much --------------------------------------------------------------------------------------


def test_a_body_too_large_is_refused_before_it_is_read(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    app, gate = gated(tmp_path, monkeypatch, lan=False)
    told = laptop(gate).post("/api/write", content=b"x" * (BODY_BYTES + 1), headers=MARK)
    assert told.status_code == 413
    assert told.json() == {"error": "too large to take; expected at most 2 MB"}

    def pieces() -> object:  # chunked: no length is told
        for _ in range(30):
            yield b"[" * 100_000

    counted = laptop(gate).post("/api/write", content=pieces(), headers=MARK)  # type: ignore[arg-type]
    assert counted.status_code == 413
    assert counted.json() == {"error": "too large to take; expected at most 2 MB"}
    assert app.state.written == []


def test_files_may_be_larger_where_files_are_taken(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    app, gate = gated(tmp_path, monkeypatch, lan=False)
    assert upload_paths(app.openapi()) == ["/api/lakes/{name}/soundings"]
    data = b"x" * (BODY_BYTES + 1)
    client = laptop(gate)
    taken = client.post("/api/lakes/long-slate/soundings", content=data, headers=MARK)
    assert taken.json() == {"name": "long-slate", "size": len(data)}
    # saying that a write is a file does not make it one
    kinds = {**MARK, "Content-Type": "multipart/form-data; boundary=x"}
    assert client.post("/api/write", content=data, headers=kinds).status_code == 413

    def pieces() -> object:
        for _ in range(51):
            yield b"x" * 1_000_000

    assert client.post(
        "/api/lakes/long-slate/soundings", content=pieces(), headers=MARK  # type: ignore[arg-type]
    ).status_code == 413  # fmt: skip


@pytest.mark.parametrize("length", ["-1", "1e3", "0x10", "9" * 30, "²"])
def test_odd_lengths_are_refused(
    length: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    _, gate = gated(tmp_path, monkeypatch, lan=False)
    scope = {
        "type": "http", "method": "POST", "path": "/api/write", "query_string": b"",
        "headers": [
            (b"host", b"127.0.0.1"), (b"x-towscope", b"1"),
            (b"content-length", length.encode("latin-1")),
        ],
        "client": ("127.0.0.1", 1), "scheme": "http",
    }  # fmt: skip
    assert _raw(gate, scope) in (400, 413)


def test_too_many_writes_wait(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    app, _ = gated(tmp_path, monkeypatch, lan=False)
    clock = Clock()
    client = laptop(RequestLimits(app, bucket=Bucket(rate_s=2.0, at_once=10.0, clock=clock)))
    statuses = [client.post("/api/write", json={"n": n}).status_code for n in range(15)]
    assert statuses == [200] * 10 + [429] * 5
    answer = client.post("/api/write", json={})
    assert answer.status_code == 429 and int(answer.headers["retry-after"]) >= 1
    assert answer.json()["error"].startswith("too many changes at once; wait ")
    assert len(app.state.written) == 10  # what was refused was not done
    assert client.get("/api/hello").status_code == 200  # to look is free
    clock.now += 1.0
    assert client.post("/api/write", json={}).status_code == 200


def test_the_bucket_fills_again() -> None:
    clock = Clock()
    bucket = Bucket(rate_s=10.0, at_once=5.0, clock=clock)
    assert [bucket.wait("a") for _ in range(5)] == [0.0] * 5
    assert bucket.wait("a") == pytest.approx(0.1)
    assert bucket.wait("b") == 0.0
    clock.now += 0.1
    assert bucket.wait("a") == 0.0
    clock.now += 1000.0
    assert sum(bucket.wait("a") == 0.0 for _ in range(20)) == 5
    for n in range(5000):  # addresses are forgotten, not hoarded
        bucket.wait(str(n))
    assert len(bucket._left) <= 1024
