"""The HTTP service: the answers of the library over HTTP, bounds, refusals, reloading. The shop is invented.

References: problem details are RFC 9457's, the description is checked as OpenAPI 3.1 by schemathesis, which also
generates requests from it (general-purpose tools).
"""

from __future__ import annotations

import asyncio
import json
import logging
import os
import signal
import socket
import subprocess
import sys
import time
import urllib.request
from concurrent.futures import ThreadPoolExecutor

import pytest
import schemathesis
from hypothesis import HealthCheck, settings
from schemathesis.specs.openapi.checks import positive_data_acceptance
from starlette.testclient import TestClient

from tests.support import ROOT, injury, pack_text, repair_case
from tirerules import decision_to_json, load, lock_to_json, protocol
from tirerules.record.brief import decision_to_brief
from tirerules.record.words import vocabulary_to_json
from tirerules.serve import Settings, application
from tirerules.serve.holding import Held, Holder
from tirerules.serve.routes import LOCK, ROUTES

CASES = [
    repair_case(),
    repair_case(injuries=injury(diameter="8 mm")),
    repair_case(tire={"tread_depth": None}),
    repair_case(activity="used-tire-sale", injuries=[]),
]
HOST = {"Host": "localhost"}


def client(load_=load, places=(), **changes) -> TestClient:
    app = application(load_, Settings(**changes), places)
    return TestClient(app, base_url="http://localhost", raise_server_exceptions=False, client=("127.0.0.1", 5000))


@pytest.fixture(scope="module")
def service():
    with client() as opened:
        yield opened


def refused(answer, status):
    """Return a refusal, once it has the form of RFC 9457."""
    said = answer.json()
    assert answer.headers["content-type"] == "application/problem+json"
    assert (answer.status_code, said["status"], said["type"]) == (status, status, "about:blank")
    assert said["title"]
    return said


# --- answers ----------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("case", CASES)
def test_a_case_is_answered_as_the_library_answers_it(service, case):
    decision = load().decide(case)
    forms = {
        None: decision_to_json(decision),
        "whole": decision_to_json(decision),
        "brief": decision_to_brief(decision),
        "further": decision_to_json(decision, further=True),
    }
    for form, expected in forms.items():
        answer = service.post("/decide", json=case, params={} if form is None else {"answer": form})
        assert (answer.status_code, answer.json()) == (200, expected)
        assert answer.headers[LOCK] == Held(load()).sha256
    limits = service.post("/limits", json=case).json()
    assert limits == {key: forms["whole"][key] for key in ("limits", "limits_method")}
    asked = service.post("/questions", json=case).json()
    assert asked == {key: forms["whole"][key] for key in ("verdict", "questions")}


@pytest.mark.parametrize("form", ["whole", "brief", "further"])
def test_a_record_is_replayed(service, form):
    said = service.post("/decide", json=CASES[1], params={"answer": form}).json()
    assert service.post("/replay", json=said).json()["same"] is True
    said["verdict"] = "within-limits"
    assert service.post("/replay", json=said).json()["intact"] is False


def test_lines_are_answered_one_by_one(service):
    lines = [json.dumps({"id": number, "case": case, "answer": "brief"}) for number, case in enumerate(CASES)]
    answer = service.post("/lines", content="\n".join([*lines, "{", ""]))
    found = [json.loads(line) for line in answer.text.splitlines()]
    assert [each["id"] for each in found[:4]] == [0, 1, 2, 3]
    assert [each["decision"] for each in found[:4]] == [decision_to_brief(load().decide(case)) for case in CASES]
    assert found[4]["error"]["line"] == 5


def test_what_it_knows_is_told(service):
    assert service.get("/facts").json() == vocabulary_to_json()
    packs = service.get("/packs").json()
    assert packs == {"lock": Held(load()).sha256, "packs": lock_to_json(load().lock)}
    assert {each["code"] for each in service.get("/coverage").json()["cells"]} >= {"US-SC", "CA-QC"}
    assert service.get("/health").json() == {"status": "up"}
    assert service.get("/ready").json()["ready"] is True


def test_the_page_for_people_has_no_script_and_names_every_route(service):
    page = service.get("/docs")
    assert all(each.path in page.text and each.summary in page.text for each in ROUTES)
    assert "<script" not in page.text
    assert "default-src 'none'" in page.headers["content-security-policy"]


# --- refusals ---------------------------------------------------------------------------------------------------------


def test_what_is_wrong_is_told_with_place_and_cure(service):
    said = refused(service.post("/decide", json=repair_case(tire={"class": "car"})), 422)
    assert said["problems"][0]["path"] == "tire.class"
    assert "passenger" in said["problems"][0]["hint"]
    refused(service.post("/decide", json=repair_case(jurisdictions=["US-XX"])), 422)
    refused(service.post("/decide", content="{", headers={"Content-Type": "application/json"}), 400)
    refused(service.post("/decide", content=b"\xff", headers={"Content-Type": "application/json"}), 400)
    refused(service.post("/decide", content="{}", headers={"Content-Type": "text/plain"}), 415)
    refused(service.post("/decide?answer=short", json=CASES[0]), 400)
    refused(service.post("/replay", json={}), 422)
    refused(service.get("/nothing"), 404)
    assert refused(service.get("/decide"), 405)["title"]
    unknown = decision_to_json(load().decide(CASES[0]))
    unknown["packs"]["US"]["sha256"] = "0" * 64
    assert service.post("/replay", json=unknown).status_code in (200, 409)


def test_a_body_is_bounded():
    with client(most_bytes=2_000) as small:
        refused(small.post("/decide", content=b" " * 2_001, headers={"Content-Type": "application/json"}), 413)
        refused(small.post("/lines", content=iter([b" " * 1_500] * 2)), 413)
        assert small.post("/decide", json=CASES[0]).status_code == 200


def test_a_small_body_that_would_take_long_is_refused(service):
    """Each pair of repairs is judged, so that many in a small body would keep everybody waiting."""
    case = repair_case(injuries=injury(clock="3:00") * 25, earlier_repairs=[])
    for path in ("/decide", "/limits", "/questions"):
        assert "injuries" in refused(service.post(path, json=case), 422)["detail"]
    for message in (case, {"id": 1, "case": case}):
        (line,) = service.post("/lines", content=json.dumps(message)).text.splitlines()
        assert json.loads(line)["error"]["problems"][0]["code"] == "case-count"
    record = {**decision_to_json(load().decide(CASES[0])), "case": case}
    assert service.post("/replay", json=record).status_code == 422


def test_it_is_called_by_its_own_names_alone(service):
    assert service.get("/health", headers={"Host": "elsewhere.example"}).status_code == 400
    assert service.get("/health", headers={"Host": "127.0.0.1:8765"}).status_code == 200


def test_pages_elsewhere_read_nothing_unless_they_are_named(service):
    origin = {"Origin": "https://shop.example"}
    assert "access-control-allow-origin" not in service.post("/decide", json=CASES[0], headers=origin).headers
    with client(origins=("https://shop.example",)) as opened:
        allowed = opened.post("/decide", json=CASES[0], headers=origin).headers
        assert allowed["access-control-allow-origin"] == "https://shop.example"
        other = opened.post("/decide", json=CASES[0], headers={"Origin": "https://other.example"}).headers
        assert "access-control-allow-origin" not in other


async def call(app, path: str, body: bytes = b"", kind: str = "application/json") -> list[dict]:
    """Send one request to an ASGI application, and return the messages of its answer."""
    sent: list[dict] = []
    headers = [(b"host", b"localhost"), (b"content-type", kind.encode())]
    scope = {"type": "http", "asgi": {"version": "3.0"}, "http_version": "1.1", "method": "POST", "path": path}
    scope |= {"query_string": b"", "headers": headers, "client": ("127.0.0.1", 1), "raw_path": path.encode()}

    async def receive() -> dict:
        await asyncio.sleep(0.05)
        return {"type": "http.request", "body": body, "more_body": False}

    async def send(message: dict) -> None:
        sent.append(message)

    await app({**scope, "server": ("localhost", 80), "scheme": "http", "root_path": ""}, receive, send)
    return sent


def test_more_requests_than_it_may_work_on_are_put_off():
    app = application(load, Settings(most_requests=2))
    body = json.dumps(CASES[0]).encode()

    async def many() -> list[int]:
        found = await asyncio.gather(*(call(app, "/decide", body) for _ in range(5)))
        return sorted(each[0]["status"] for each in found)

    assert asyncio.run(many()) == [200, 200, 503, 503, 503]
    assert asyncio.run(many()) == [200, 200, 503, 503, 503]  # what was put off is forgotten


def test_a_request_that_takes_too_long_is_ended():
    app = application(load, Settings(most_seconds=0.01))
    assert asyncio.run(call(app, "/decide", json.dumps(CASES[0]).encode()))[0]["status"] == 504


def test_a_defect_is_answered_without_a_traceback(service, monkeypatch):
    monkeypatch.setattr(protocol, "text_of", lambda *given: 1 / 0)
    said = refused(service.post("/decide", json=CASES[0]), 500)
    assert "ZeroDivision" not in json.dumps(said)


def test_nothing_of_a_case_is_logged_unless_it_is_asked_for(caplog):
    caplog.set_level(logging.DEBUG)
    with client() as opened:
        opened.post(
            "/decide",
            json=repair_case(repair_unit={"method": "one-piece", "rated_angle": "30 deg", "document": "sheet 77"}),
        )
    assert "sheet 77" not in caplog.text
    with client(log_cases=True) as opened:
        opened.post(
            "/decide",
            json=repair_case(repair_unit={"method": "one-piece", "rated_angle": "30 deg", "document": "sheet 77"}),
        )
    assert "sheet 77" in caplog.text


# --- packs that change ------------------------------------------------------------------------------------------------

LIMIT = (
    "- id: small\n  says: The invented shop stops at {size}.\n  activity: [repair]\n"
    "  limit: {{fact: injury.diameter, at-most: {size}}}\n  source: text\n"
)


def written(folder, size):
    (folder / "invented-shop.yaml").write_text(pack_text(LIMIT.format(size=size)), encoding="utf-8")


def test_packs_are_read_again_and_each_answer_names_its_lock(tmp_path):
    written(tmp_path, "5 mm")
    with client(lambda: load(tmp_path), (str(tmp_path),)) as opened:
        before = opened.post("/decide", json=CASES[0])
        written(tmp_path, "2 mm")
        assert opened.post("/decide", json=CASES[0]).headers[LOCK] == before.headers[LOCK]
        again = opened.post("/reload").json()
        assert again["was"] == before.headers[LOCK]
        after = opened.post("/decide", json=CASES[0])
        assert after.headers[LOCK] == again["lock"] != before.headers[LOCK]
        assert (before.json()["verdict"], after.json()["verdict"]) == ("within-limits", "outside-limits")
        (tmp_path / "invented-shop.yaml").write_text("pack: [", encoding="utf-8")
        assert opened.post("/reload").status_code in (400, 422)
        assert opened.post("/decide", json=CASES[0]).headers[LOCK] == again["lock"]


def test_packs_are_read_again_at_the_word_of_this_machine_alone():
    app = application(load)
    with TestClient(app, base_url="http://localhost", client=("192.0.2.7", 5000)) as opened:
        refused(opened.post("/reload"), 403)


def test_changed_files_are_seen_and_broken_ones_leave_the_old(tmp_path, monkeypatch):
    monkeypatch.setattr("tirerules.serve.holding._LOOK", 0.01)
    written(tmp_path, "5 mm")

    async def watched() -> list[str]:
        holder = Holder(lambda: load(tmp_path), (str(tmp_path),))
        task, seen = asyncio.create_task(holder.watch()), [holder.held.sha256]
        for text in (pack_text(LIMIT.format(size="2 mm")), "pack: ["):
            (tmp_path / "invented-shop.yaml").write_text(text, encoding="utf-8")
            await asyncio.sleep(1.0)
            seen.append(holder.held.sha256)
        task.cancel()
        return seen

    first, second, third = asyncio.run(watched())
    assert first != second == third


# --- generated requests -----------------------------------------------------------------------------------------------


@schemathesis.serializer("application/x-ndjson")
def lines(context, value):
    return (value if isinstance(value, str) else json.dumps(value)).encode("utf-8", "surrogatepass")


described = schemathesis.openapi.from_asgi("/openapi.json", application(load, Settings(hosts=("*",))))


def generated(examples: int):
    @described.parametrize()
    @settings(max_examples=examples, deadline=None, suppress_health_check=list(HealthCheck))
    def test(case):
        # A case may fit the schema and still not be decided: a repair without an injury, a size without a unit.
        case.call_and_validate(excluded_checks=[positive_data_acceptance])

    return test


test_generated_requests_are_answered_as_described = generated(10)
#: Of each of the five routes that take a body; the others take nothing that could vary much.
test_twenty_thousand_generated_requests = pytest.mark.long(generated(5_000))


# --- the command ------------------------------------------------------------------------------------------------------


def test_the_command_listens_on_this_machine_answers_and_stops_gracefully(tmp_path):
    with socket.socket() as free:
        free.bind(("127.0.0.1", 0))
        port = free.getsockname()[1]
    environment = {**os.environ, "PYTHONPATH": str(ROOT), "TIRERULES_CACHE": str(tmp_path)}
    command = [sys.executable, "-m", "tirerules", "serve", "--port", str(port)]
    with subprocess.Popen(command, env=environment, stderr=subprocess.PIPE, text=True) as running:
        try:
            address = f"http://127.0.0.1:{port}"
            for _ in range(100):
                try:
                    with urllib.request.urlopen(f"{address}/ready", timeout=5) as answer:
                        assert json.load(answer)["ready"]
                    break
                except OSError:
                    time.sleep(0.1)
            asked = urllib.request.Request(
                f"{address}/decide?answer=brief", json.dumps(CASES[0]).encode(), {"Content-Type": "application/json"}
            )

            def ask(_: int) -> str:
                with urllib.request.urlopen(asked, timeout=30) as answer:
                    return json.load(answer)["digest"]

            with ThreadPoolExecutor(8) as pool:
                waiting = [pool.submit(ask, number) for number in range(40)]
                digests = {each.result() for each in waiting}
            assert digests == {decision_to_brief(load().decide(CASES[0]))["digest"]}
        finally:
            running.send_signal(signal.SIGTERM)
            _, said = running.communicate(timeout=30)
        assert running.returncode in (0, -signal.SIGTERM)
        assert "Traceback" not in said
