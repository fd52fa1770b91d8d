"""The audit of the pinned packages, against a list of advisories that the test answers for.

What is asked and answered are OSV's own shapes (google.github.io/osv.dev, "POST /v1/querybatch" and
"GET /v1/vulns").
"""

import json
import os
import re
import subprocess
import sys
from contextlib import contextmanager
from http.server import BaseHTTPRequestHandler, HTTPServer
from pathlib import Path
from threading import Thread

ROOT = Path(__file__).parents[1]
MOMENT = "2026-01-01T00:00:00Z"


@contextmanager
def advisories(wrong: str):
    """A list that knows something against the package called ``wrong``; what it was asked."""
    asked: list[dict] = []
    affected = {
        "package": {"ecosystem": "PyPI", "name": wrong},
        "ranges": [{"type": "ECOSYSTEM", "events": [{"introduced": "0"}, {"fixed": "999"}]}],
    }
    known = {"id": "OSV-1", "summary": "It lets anybody in.", "affected": [affected]}
    known |= {"modified": MOMENT, "published": MOMENT}

    class Desk(BaseHTTPRequestHandler):
        def do_POST(self):
            queries = json.loads(self.rfile.read(int(self.headers["Content-Length"])))["queries"]
            asked.extend(queries)
            vulns = {"vulns": [{"id": "OSV-1", "modified": MOMENT}]}
            self.tell(
                {"results": [vulns if it["package"]["name"] == wrong else {} for it in queries]}
            )

        def do_GET(self):
            self.tell(known)

        def tell(self, facts):
            answer = json.dumps(facts).encode()
            self.send_response(200)
            self.send_header("Content-Type", "application/json")
            self.send_header("Content-Length", str(len(answer)))
            self.end_headers()
            self.wfile.write(answer)

        def log_message(self, *args):
            pass

    with HTTPServer(("127.0.0.1", 0), Desk) as server:
        Thread(target=server.serve_forever, daemon=True).start()
        yield f"http://127.0.0.1:{server.server_port}", asked
        server.shutdown()


def audit(address: str) -> tuple[int, str]:
    command = [sys.executable, ROOT / ".ci" / "audit.py", "--service-url", address]
    env = {**os.environ, "UV_HTTP_RETRIES": "0"}
    done = subprocess.run(command, capture_output=True, text=True, check=False, env=env)
    return done.returncode, done.stdout


def test_a_known_vulnerability_fails_and_is_named():
    with advisories("django") as (address, _asked):
        code, words = audit(address)
    assert code == 1
    assert re.search(r"django \S+ has 1 known vulnerability", words)
    assert "It lets anybody in." in words
    assert "Fixed in: 999" in words


def test_every_pin_is_asked_about():
    """Each line of the locks that names a package, whatever follows it."""
    with advisories("") as (address, asked):
        code, words = audit(address)
    lines = "".join((ROOT / name).read_text() for name in ("requirements-dev.txt", ".ci/uv.txt"))
    lines += (ROOT / "requirements.txt").read_text()
    pinned = {
        tuple(re.sub(r"\[.*\]", "", line.split(" ")[0]).split("=="))
        for line in lines.splitlines()
        if line[:1].isalnum()
    }
    assert {(it["package"]["name"], it["version"]) for it in asked} == pinned
    assert (code, words) == (
        0,
        f"Audit: nothing is known against the {len(pinned)} pinned packages.\n",
    )


def test_a_list_that_does_not_answer_is_said_and_stops_nothing():
    with advisories("") as (address, _asked):
        pass
    code, words = audit(address)
    assert code == 0
    assert words.startswith("Audit: NOT DONE.")
