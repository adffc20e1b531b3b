"""Pages are sent compressed to who takes it, and plain to who doesn't."""

from __future__ import annotations

import gzip
import os
from pathlib import Path

import pytest
from fastapi import FastAPI
from fastapi.testclient import TestClient

from towscope.web.pages_files import Pages

PLAIN = b"const depth = 28;\n" * 200


@pytest.fixture
def client(tmp_path: Path) -> TestClient:
    (tmp_path / "a.js").write_bytes(PLAIN)
    (tmp_path / "a.js.gz").write_bytes(gzip.compress(PLAIN))
    (tmp_path / "a.js.br").write_bytes(b"brotli, for all this test knows")
    (tmp_path / "index.html").write_bytes(b"<p>hello</p>")
    app = FastAPI()
    app.mount("/", Pages(directory=tmp_path, html=True))
    return TestClient(app)


def ask(client: TestClient, taken: str, **more: str) -> tuple[int, str, bytes, str]:
    with client.stream("GET", "/a.js", headers={"accept-encoding": taken, **more}) as answer:
        body = b"".join(answer.iter_raw())
        assert not body or answer.headers["content-type"].startswith("text/javascript")
        return (
            answer.status_code,
            answer.headers.get("content-encoding", ""),
            body,
            answer.headers.get("etag", ""),
        )


def test_the_smallest_copy_that_is_taken(client: TestClient) -> None:
    assert ask(client, "gzip, deflate, br")[1] == "br"
    status, coding, body, _ = ask(client, "gzip, br;q=0")
    assert (status, coding, gzip.decompress(body)) == (200, "gzip", PLAIN)
    assert ask(client, "identity")[1:3] == ("", PLAIN)


def test_a_part_is_of_the_plain_file(client: TestClient) -> None:
    status, coding, body, _ = ask(client, "gzip, br", range="bytes=0-4")
    assert (status, coding, body) == (206, "", PLAIN[:5])


def test_what_the_browser_has_is_not_sent_again(client: TestClient) -> None:
    etag = ask(client, "gzip")[3]
    status, _, body, _ = ask(client, "gzip", **{"if-none-match": etag})
    assert (status, body) == (304, b"")
    # another coding is another thing
    assert ask(client, "identity", **{"if-none-match": etag})[0] == 200


def test_a_copy_left_over_from_an_earlier_build_is_not_sent(
    client: TestClient, tmp_path: Path
) -> None:
    for name in ("a.js.gz", "a.js.br"):
        os.utime(tmp_path / name, (1.0, 1.0))
    assert ask(client, "gzip, br")[1:3] == ("", PLAIN)


def test_what_has_no_copy_is_sent_as_it_is(client: TestClient) -> None:
    answer = client.get("/")
    assert answer.text == "<p>hello</p>"
    assert "content-encoding" not in answer.headers
