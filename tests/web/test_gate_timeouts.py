"""The gate on the wire: what no well-behaved client would send, over sockets of our own."""

from __future__ import annotations

import contextlib
import http.client
import socket
import ssl
import threading
import time
from collections.abc import Iterator
from pathlib import Path

import pytest
from tests.waiting import until
from tests.web.gated import SECRET, Boat, heard

from towscope.web.gate import limits, streams, timeouts


@pytest.fixture
def boat(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[Boat]:
    made = Boat(tmp_path, monkeypatch)
    yield made
    made.close()


@pytest.mark.parametrize(
    "path",
    [
        "/../secret.txt",
        "/..%2fsecret.txt",
        "/%2e%2e/secret.txt",
        "/assets/../../secret.txt",
        "/assets/..%5c..%5csecret.txt",
        "/assets/%252e%252e/%252e%252e/secret.txt",
        "//secret.txt",
        "/%00/../secret.txt",
        "/secret.txt%00.html",
        "/sessions/phones.json",
        "/pair/../secret.txt",
        "/pair/%2e%2e/%2e%2e/secret.txt",
    ],
)
def test_no_path_leads_out_of_the_pages(boat: Boat, path: str) -> None:
    answer = boat.say(boat.head(path))
    assert SECRET.encode() not in answer
    assert b" 404 " in answer.split(b"\r\n")[0], answer[:200]


def test_a_path_may_not_be_a_whole_address(boat: Boat) -> None:
    answer = boat.say(boat.head("http://evil.example/api/hello"))
    assert b'"version"' not in answer


def test_a_mark_that_goes_on_in_the_next_line_is_none(boat: Boat) -> None:
    answer = boat.say(boat.head("/api/write", "POST", "X-Towscope: 1\r\n folded\r\n"))
    assert answer.split()[1] in (b"400", b"403")  # RFC 9112 5.2 allows either reading


@pytest.mark.parametrize(
    "more",
    [
        "X: a\r\n\x00b: c\r\n",
        "Content-Length: 5\r\nContent-Length: 6\r\n",
        "Content-Length: 5\r\nTransfer-Encoding: chunked\r\n",
        "Transfer-Encoding: gzip, chunked\r\n",
        "Host: evil.example\r\n",
    ],
)
def test_heads_that_could_be_read_two_ways_are_refused(boat: Boat, more: str) -> None:
    # RFC 9112: 3.2 (two Hosts), 5 (field lines), 6.1 and 6.3 (two lengths): smuggling lives there
    answer = boat.say(boat.head("/api/write", "POST", f"X-Towscope: 1\r\n{more}"))
    assert answer.split(b"\r\n")[0].split()[1] in (b"400", b"421", b"501"), answer[:120]
    assert boat.app.state.written == []


def test_nothing_of_an_address_gets_into_a_head(boat: Boat) -> None:
    for target in ("/pair?code=%0d%0aX-Evil:%201", "/%0d%0aX-Evil:%201", "/api/%0d%0aX-Evil:1"):
        head = boat.say(boat.head(target)).partition(b"\r\n\r\n")[0]
        assert b"X-Evil" not in head and b"x-evil" not in head


def test_a_cookie_set_by_a_name_stays_one_line(boat: Boat) -> None:
    code = boat.app.state.gate.pairing.renew()
    body = f"code={code}&name=Ada%0d%0aX-Evil:%201"
    # as a phone would: by the boat's own name; over this line it comes from this machine, yet
    # names the network, so it is no local request
    answer = boat.say(
        "POST /pair HTTP/1.1\r\nHost: boat.local\r\nOrigin: http://boat.local\r\n"
        "Content-Type: application/x-www-form-urlencoded\r\nConnection: close\r\n"
        f"Content-Length: {len(body)}\r\n\r\n{body}"
    )
    head = answer.partition(b"\r\n\r\n")[0]
    assert b" 303 " in head and b"set-cookie: __Host-towscope=" in head
    assert b"X-Evil" not in head


def test_an_endless_body_is_cut_off(boat: Boat) -> None:
    head = boat.head("/api/write", "POST", "X-Towscope: 1\r\nTransfer-Encoding: chunked\r\n")
    piece = b"10000\r\n" + b"[" * 65_536 + b"\r\n"
    sent = 0
    with boat.line() as line:
        line.sendall(head.encode())
        with contextlib.suppress(ConnectionError, TimeoutError):
            for _ in range(64):
                line.sendall(piece)
                sent += 65_536
        answer = heard(line)
    assert answer.startswith(b"HTTP/1.1 413 "), (sent, answer[:100])
    assert boat.app.state.written == []


def test_a_slow_body_is_given_up(boat: Boat, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(limits, "PIECE_S", 0.4)
    head = boat.head("/api/write", "POST", "X-Towscope: 1\r\nContent-Length: 100\r\n")
    begun = time.monotonic()
    with boat.line() as line:
        line.sendall(head.encode() + b'{"a":')
        answer = heard(line, 3.0)
    assert answer.startswith(b"HTTP/1.1 408 ")
    assert time.monotonic() - begun < 2.0
    assert boat.app.state.written == []


def test_a_body_that_drips_is_given_up(boat: Boat, monkeypatch: pytest.MonkeyPatch) -> None:
    # never silent for long, but slower than the slowest that is waited for
    monkeypatch.setattr(limits, "GRACE_S", 0.4)
    head = boat.head("/api/write", "POST", "X-Towscope: 1\r\nContent-Length: 1000\r\n")
    begun = time.monotonic()
    with boat.line() as line, contextlib.suppress(ConnectionError):
        line.sendall(head.encode())
        for _ in range(30):
            line.sendall(b" ")
            line.settimeout(0.1)  # the answer, or the next drip
            with contextlib.suppress(TimeoutError):
                answer = line.recv(1000)
                break
    assert answer.startswith(b"HTTP/1.1 408 ")
    assert time.monotonic() - begun < 2.0


def test_who_dawdles_over_a_head_is_hung_up_on(boat: Boat, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(timeouts, "HEAD_S", 0.5)
    with boat.line() as silent, boat.line() as slow, boat.line() as second:
        second.sendall(boat.head(keep=True).encode())  # one whole request, then half of another
        assert b"200 OK" in heard(second, 0.3)
        second.sendall(b"GET /api/hello HT")
        begun = time.monotonic()
        slow.settimeout(0.05)
        ended = False
        while not ended and time.monotonic() - begun < 3.0:
            with contextlib.suppress(TimeoutError):
                try:
                    slow.sendall(b"x")
                    ended = slow.recv(10) == b""
                except ConnectionError:
                    ended = True
        assert ended and time.monotonic() - begun < 2.0
        for each in (silent, second):
            each.settimeout(2.0)
            assert each.recv(10) == b""


def test_lines_are_counted(boat: Boat) -> None:
    lines = [boat.line() for _ in range(timeouts.EACH + 20)]
    try:
        refused = 0
        for each in lines:
            each.settimeout(2.0)
            try:
                each.sendall(boat.head().encode())
                refused += each.recv(100) == b""
            except ConnectionError:
                refused += 1
        assert refused == 20
    finally:
        for each in lines:
            each.close()
    # and forgotten when they end
    until(lambda: b"200 OK" in boat.say(boat.head()), of="room for another line")


def test_streams_flow_at_once_and_are_counted(boat: Boat) -> None:
    held = []
    for _ in range(streams.EACH):
        line = boat.line()
        line.sendall(boat.head("/api/stream").encode())
        held.append(line)
    try:
        for line in held:
            line.settimeout(2.0)
            begun = time.monotonic()
            got = b""
            while b"data: 1\n" not in got:
                got += line.recv(4096)
            # each event comes when it happens, not when a buffer is full: 20 ms apart at the source
            assert time.monotonic() - begun < 1.0
            assert b"text/event-stream" in got
        flood = [boat.say(boat.head("/api/stream")) for _ in range(5)]
        assert all(each.startswith(b"HTTP/1.1 429 ") for each in flood)
        assert b"close some of them" in flood[0]
        assert b"200 OK" in boat.say(boat.head())  # the rest goes on
    finally:
        for line in held:
            line.close()

    def another() -> bool:
        with boat.line() as line:
            line.sendall(boat.head("/api/stream").encode())
            return line.recv(15) == b"HTTP/1.1 200 OK"

    until(another, of="room for another stream")


def test_a_stream_ends_whole_when_its_phone_is_put_ashore(boat: Boat) -> None:
    gate = boat.app.state.gate
    secret = gate.sessions.add("Ada")
    stays = gate.sessions.add("Tor")
    lines = []
    for each in (secret, stays):
        line = boat.line()
        line.sendall(
            "GET /api/stream HTTP/1.1\r\nHost: boat.local\r\n"
            f"Cookie: __Host-towscope={each}\r\n\r\n".encode()
        )
        assert line.recv(15) == b"HTTP/1.1 200 OK"
        lines.append(line)
    ada = next(each.id for each in gate.sessions.phones() if each.name == "Ada")
    assert gate.put_ashore(ada)
    assert heard(lines[0], 0.5).endswith(b"0\r\n\r\n")  # chunked coding's own end: RFC 9112 7.1
    lines[1].settimeout(1.0)
    assert lines[1].recv(10)
    for line in lines:
        line.close()


def test_a_client_that_leaves_in_the_middle_harms_nobody(boat: Boat) -> None:
    for _ in range(20):
        with boat.line() as line:
            line.sendall(boat.head("/api/write", "POST", "Content-Length: 99\r\n").encode() + b"{")
        with boat.line() as line:
            line.sendall(boat.head("/api/stream").encode())
    until(lambda: boat.app.state.gate.streams.count() == 0, of="the streams' end")
    assert b"200 OK" in boat.say(boat.head())


def test_assets_are_kept_and_the_page_is_asked_for_again(boat: Boat) -> None:
    line = http.client.HTTPConnection("127.0.0.1", boat.port)
    line.request("GET", "/assets/app-1234.js")
    answer = line.getresponse()
    answer.read()
    assert "immutable" in str(answer.headers["cache-control"])
    line.request("GET", "/")
    answer = line.getresponse()
    assert (answer.read(), answer.headers["cache-control"]) == (
        b"<!doctype html><title>app</title>",
        "no-cache",
    )


# -- the certificate -------------------------------------------------------------------------------


def handshake(certificate: object, authority: Path, name: str) -> None:
    """Shake hands as a phone does that trusts the authority."""
    from towscope.web.gate.certificate import Certificate

    assert isinstance(certificate, Certificate)
    client = ssl.create_default_context(cafile=str(authority))
    ours, theirs = socket.socketpair()
    done: list[Exception] = []

    def serve() -> None:
        try:
            with certificate.context().wrap_socket(theirs, server_side=True) as line:
                line.recv(1)
        except OSError as error:
            done.append(error)

    thread = threading.Thread(target=serve)
    thread.start()
    try:
        with client.wrap_socket(ours, server_hostname=name) as line:
            line.sendall(b"x")
    finally:
        thread.join(5.0)


def test_the_certificate_holds_for_the_boat_and_nobody_else(tmp_path: Path) -> None:
    # the handshake and its rules (RFC 5280, 6125) are OpenSSL's
    from towscope.web.gate.certificate import Certificate

    made = Certificate(tmp_path / "c")
    assert made.cover(["192.168.4.1", "boat.local", "203.0.113.9", "bank.example"])
    authority = tmp_path / "authority.pem"
    authority.write_bytes(made.authority_pem)
    for name in ("192.168.4.1", "127.0.0.1", "localhost", "boat.local"):
        handshake(made, authority, name)
    for name in ("192.168.4.2", "bank.example", "203.0.113.9"):
        with pytest.raises(ssl.SSLCertVerificationError):
            handshake(made, authority, name)
    for each in (tmp_path / "c").iterdir():
        assert each.stat().st_mode & 0o777 == 0o600, each
    assert (tmp_path / "c").stat().st_mode & 0o777 == 0o700


def test_a_stolen_authority_cannot_pose_as_a_bank(tmp_path: Path) -> None:
    # name constraints: RFC 5280 section 4.2.1.10, as OpenSSL enforces them
    import trustme

    from towscope.web.gate.certificate import Certificate

    made = Certificate(tmp_path / "c")
    made.cover([])
    thief = trustme.CA.from_pem(
        made.authority_pem, (tmp_path / "c" / "authority-key.pem").read_bytes()
    )
    for name in ("bank.example", "203.0.113.9"):
        server = tmp_path / "c" / "server.pem"
        server.write_bytes(thief.issue_cert(name).private_key_and_cert_chain_pem.bytes())
        posing = Certificate(tmp_path / "c")
        with pytest.raises(ssl.SSLCertVerificationError, match="permitted subtree violation"):
            handshake(posing, tmp_path / "c" / "authority.pem", name)


def test_a_new_address_makes_a_new_certificate_and_no_new_authority(tmp_path: Path) -> None:
    from towscope.web.gate.certificate import Certificate

    made = Certificate(tmp_path / "c")
    assert made.cover(["192.168.4.1"])
    context = made.context()
    before = made.authority_pem
    assert not made.cover(["192.168.4.1"])
    assert made.cover(["10.1.2.3"])
    assert made.context() is context  # the running server shows the new one at once
    authority = tmp_path / "c" / "authority.pem"
    handshake(made, authority, "10.1.2.3")
    with pytest.raises(ssl.SSLCertVerificationError):
        handshake(made, authority, "192.168.4.1")
    again = Certificate(tmp_path / "c")
    assert again.authority_pem == before and again.fingerprint == made.fingerprint
    assert not again.cover(["10.1.2.3"])


def test_a_certificate_near_its_end_or_of_another_authority_is_made_anew(tmp_path: Path) -> None:
    from datetime import UTC, datetime, timedelta

    import trustme

    from towscope.web.gate.certificate import RENEW_DAYS, Certificate

    made = Certificate(tmp_path / "c")
    made.cover(["192.168.4.1"])
    server = tmp_path / "c" / "server.pem"
    key = (tmp_path / "c" / "authority-key.pem").read_bytes()
    names = ("127.0.0.1", "192.168.4.1", "localhost")
    ends = datetime.now(UTC) + timedelta(days=RENEW_DAYS - 1)
    old = trustme.CA.from_pem(made.authority_pem, key).issue_cert(*names, not_after=ends)
    other = trustme.CA().issue_cert(*names)
    for bad in (
        old.private_key_and_cert_chain_pem.bytes(),
        other.private_key_and_cert_chain_pem.bytes(),
        b"",
        b"-----BEGIN CERTIFICATE-----\nrubbish\n-----END CERTIFICATE-----\n",
    ):
        server.write_bytes(bad)
        assert Certificate(tmp_path / "c").cover(["192.168.4.1"])


def test_a_damaged_authority_is_said_plainly(tmp_path: Path) -> None:
    from towscope.errors import InputError
    from towscope.web.gate.certificate import Certificate

    Certificate(tmp_path / "c")
    (tmp_path / "c" / "authority-key.pem").write_text("rubbish")
    with pytest.raises(InputError, match="remove the folder"):
        Certificate(tmp_path / "c").cover([])
    (tmp_path / "file").write_text("")
    with pytest.raises(InputError, match="cannot make"):
        Certificate(tmp_path / "file" / "c")
