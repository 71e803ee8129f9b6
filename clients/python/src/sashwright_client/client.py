"""The calls of the service."""

import http.client
import json
import time
import urllib.error
import urllib.parse
import urllib.request
from collections.abc import Iterator, Mapping
from typing import Any, cast

from . import events as sse
from .problem import Late, Problem
from .types import BatchKit, BatchResult, BatchStatus, Health, Json, ScenarioVerdict

OPERATIONS = {
    "makePlan": ("POST", "/v1/plans"),
    "getPlan": ("GET", "/v1/plans/{id}"),
    "getSheet": ("GET", "/v1/plans/{id}/sheet"),
    "compareHoops": ("POST", "/v1/comparisons"),
    "explainPlan": ("POST", "/v1/explanations"),
    "findFits": ("POST", "/v1/fits"),
    "replan": ("POST", "/v1/replans"),
    "checkScenario": ("POST", "/v1/scenarios/check"),
    "makeBatch": ("POST", "/v1/batches"),
    "getBatch": ("GET", "/v1/batches/{id}"),
    "cancelBatch": ("DELETE", "/v1/batches/{id}"),
    "getResults": ("GET", "/v1/batches/{id}/results"),
    "getKits": ("GET", "/v1/batches/{id}/kits"),
    "getSummary": ("GET", "/v1/batches/{id}/summary"),
    "getEvents": ("GET", "/v1/batches/{id}/events"),
    "getBatchPlan": ("GET", "/v1/batches/{id}/plans/{number}"),
    "getBatchSheet": ("GET", "/v1/batches/{id}/plans/{number}/sheet"),
    "getBatchScenario": ("GET", "/v1/batches/{id}/plans/{number}/scenario"),
    "getHealth": ("GET", "/v1/health"),
    "getLive": ("GET", "/v1/health/live"),
    "getReady": ("GET", "/v1/health/ready"),
    "getMetrics": ("GET", "/metrics"),
    "getProblem": ("GET", "/problems/{name}"),
    "getOpenApi": ("GET", "/openapi.json"),
    "getDocs": ("GET", "/docs"),
}
"""What is called: the method and path of each operation of the interface, under its id."""

LONGEST_PAUSE = 30.0
"""Seconds between two looks at something that is not there yet, at most."""

Answer = http.client.HTTPResponse


class Client:
    """A service at a URL. Calls raise :class:`Problem` where there is no answer, and ``OSError`` where there is no service.

    :param url: where the service is, such as ``http://127.0.0.1:8080``
    :param key: the key that whoever runs the service gave out, where it asks for one
    :param timeout: seconds without a byte after which a call is given up
    """

    def __init__(self, url: str, key: str | None = None, timeout: float = 120) -> None:
        self._url = url.rstrip("/")
        self._key = key
        self._timeout = timeout

    # Plans, and questions about one scenario.

    def plan(
        self,
        scenario: Json,
        *,
        explain: bool = False,
        materials: bool = False,
        steps: bool = False,
        wait: int | None = None,
    ) -> Json:
        """The plan of a scenario.

        :param wait: seconds; a plan that takes longer raises :class:`Late`, and can be fetched with :meth:`plan_at`
        """
        told = {"explain": explain, "materials": materials, "steps": steps}
        headers = {} if wait is None else {"Prefer": f"wait={wait}"}
        answer = self._call("makePlan", document=scenario, query=_only_true(told), headers=headers)
        if answer.status == 202:
            raise Late(answer.headers["Location"], _seconds(answer.headers, 1))
        return _json(answer)

    def plan_at(self, place: str, patience: float = 3600) -> Json:
        """The plan at a place, once it is there; it is asked for again for so many seconds."""
        end = time.monotonic() + patience
        while True:
            answer = self._send("GET", place)
            if answer.status != 202:
                return _json(answer)
            pause = _seconds(answer.headers, 1)
            answer.close()
            if time.monotonic() + pause > end:
                raise Late(place, pause)
            time.sleep(pause)

    def sheet(self, place: str, media_type: str = "text/html") -> bytes:
        """A plan at a place as sheets: ``text/html``, ``application/pdf``, ``text/csv`` or ``text/plain``."""
        return _bytes(self._send("GET", f"{place}/sheet", headers={"Accept": media_type}))

    def check(self, scenario: Json) -> ScenarioVerdict:
        """Whether a scenario can be planned as it stands, without planning it."""
        return cast(ScenarioVerdict, _json(self._call("checkScenario", document=scenario)))

    def compare(self, scenario: Json, *, every_set: bool = False) -> Json:
        """What each set of hoops brings."""
        query = _only_true({"every_set": every_set})
        return _json(self._call("compareHoops", document=scenario, query=query))

    def explain(self, scenario: Json) -> Json:
        """What every plan needs, where there is room left, what one change would save."""
        return _json(self._call("explainPlan", document=scenario))

    def fits(self, scenario: Json) -> Json:
        """Widths with which the patterns become whole repeats."""
        return _json(self._call("findFits", document=scenario))

    def replan(self, scenario: Json, plan: Json, progress: Json, *, only_next: bool = False) -> Json:
        """What is left of a plan after some work."""
        document = {"scenario": scenario, "plan": plan, "progress": progress}
        return _json(self._call("replan", document=document, query=_only_true({"next": only_next})))

    # Runs of kits.

    def make_batch(self, batch: Json, key: str | None = None) -> BatchStatus:
        """Has a run of kits planned.

        :param key: an Idempotency-Key: the same batch sent again with it is the one that is there
        """
        headers = {} if key is None else {"Idempotency-Key": key}
        return cast(BatchStatus, _json(self._call("makeBatch", document=batch, headers=headers)))

    def batch(self, id: str) -> BatchStatus:
        """How far a batch is."""
        return cast(BatchStatus, _json(self._call("getBatch", id=id)))

    def cancel(self, id: str) -> BatchStatus:
        """Cancels what is not done of a batch."""
        return cast(BatchStatus, _json(self._call("cancelBatch", id=id)))

    def results(self, id: str, *, after: int = 0, plans: bool = False) -> Iterator[BatchResult]:
        """How plans of a batch ended, those that are there now, in the order in which they did.

        :param after: only those after this place
        :param plans: whether the plans themselves are in it, as ``document``
        """
        query: dict[str, str] = {"after": str(after), **_only_true({"plans": plans})}
        yield from cast(Iterator[BatchResult], self._lines("getResults", id, query))

    def kits(self, id: str, *, after: int = 0) -> Iterator[BatchKit]:
        """The kits of a batch, each once for each of its hoop sets."""
        yield from cast(Iterator[BatchKit], self._lines("getKits", id, {"after": str(after)}))

    def summary(self, id: str) -> Json:
        """What a finished batch adds up to: totals, what cannot be made, the order list."""
        return _json(self._call("getSummary", id=id))

    def wait(self, id: str, patience: float = 86_400) -> BatchStatus:
        """How a batch is once it is finished or cancelled, or once so many seconds are over."""
        end = time.monotonic() + patience
        while True:
            answer = self._call("getBatch", id=id)
            pause = min(_seconds(answer.headers, 2), LONGEST_PAUSE)
            status = cast(BatchStatus, _json(answer))
            if status["state"] in ("finished", "cancelled") or time.monotonic() + pause > end:
                return status
            time.sleep(pause)

    def events(self, id: str, *, after: int = 0) -> Iterator[sse.Event]:
        """What happens to a batch, as it happens, to its end. A stream that breaks off is taken up again where it was.

        :param after: only results after this place
        """
        last = str(after)
        while True:
            ended = False
            headers = {"Last-Event-ID": last, "Accept": "text/event-stream"}
            try:
                with self._call("getEvents", id=id, headers=headers) as answer:
                    for event in sse.read(answer):
                        last = event.id or last
                        yield event
                        ended = event.name == "status" and event.document["state"] in ("finished", "cancelled")
            except (http.client.HTTPException, OSError):
                ended = False
            except Problem as problem:
                if problem.retry_after is None:
                    raise
                time.sleep(min(problem.retry_after, LONGEST_PAUSE))
            if ended:
                return
            time.sleep(1)

    def batch_plan(self, id: str, number: int) -> Json:
        """A plan of a batch."""
        return _json(self._call("getBatchPlan", id=id, number=str(number)))

    def batch_sheet(self, id: str, number: int, media_type: str = "text/html") -> bytes:
        """A plan of a batch as sheets."""
        headers = {"Accept": media_type}
        return _bytes(self._call("getBatchSheet", id=id, number=str(number), headers=headers))

    def batch_scenario(self, id: str, number: int) -> Json:
        """What a plan of a batch was made for."""
        return _json(self._call("getBatchScenario", id=id, number=str(number)))

    # The service itself.

    def health(self) -> Health:
        """How the service is."""
        return cast(Health, _json(self._call("getHealth")))

    def is_live(self) -> bool:
        """Whether it answers at all."""
        return _is_success(lambda: self._call("getLive"))

    def is_ready(self) -> bool:
        """Whether it takes up work."""
        return _is_success(lambda: self._call("getReady"))

    def metrics(self) -> str:
        """What it counts (OpenMetrics 1.0)."""
        return _bytes(self._call("getMetrics")).decode()

    def about_problem(self, name: str) -> str:
        """What a kind of problem is, in words."""
        return _bytes(self._call("getProblem", name=name)).decode()

    def openapi(self) -> Json:
        """The whole interface (OpenAPI 3.1)."""
        return _json(self._call("getOpenApi"))

    def docs(self) -> str:
        """The same as a page to read."""
        return _bytes(self._call("getDocs")).decode()

    def _lines(self, operation: str, id: str, query: Mapping[str, str]) -> Iterator[Json]:
        headers = {"Accept": "application/x-ndjson"}
        with self._call(operation, id=id, query=query, headers=headers) as answer:
            for line in answer:
                yield json.loads(line)

    def _call(
        self,
        operation: str,
        *,
        document: Json | None = None,
        query: Mapping[str, str] | None = None,
        headers: Mapping[str, str] | None = None,
        **parts: str,
    ) -> Answer:
        method, path = OPERATIONS[operation]
        quoted = {name: urllib.parse.quote(part, safe="") for name, part in parts.items()}
        path = path.format(**quoted)
        if query:
            path = f"{path}?{urllib.parse.urlencode(query)}"
        return self._send(method, path, document, headers)

    def _send(
        self,
        method: str,
        path: str,
        document: Json | None = None,
        headers: Mapping[str, str] | None = None,
    ) -> Answer:
        body = None if document is None else json.dumps(document).encode()
        request = urllib.request.Request(self._url + path, data=body, method=method, headers=dict(headers or {}))
        if body is not None:
            request.add_header("Content-Type", "application/json")
        if self._key is not None:
            request.add_header("Authorization", f"Bearer {self._key}")
        try:
            return cast(Answer, urllib.request.urlopen(request, timeout=self._timeout))
        except urllib.error.HTTPError as error:
            with error:
                raise _problem(error) from None


def _problem(error: urllib.error.HTTPError) -> Problem:
    retry_after = _seconds(error.headers, -1)
    try:
        document = json.loads(error.read())
    except ValueError:
        # What stands between may answer in words of its own.
        document = {"title": error.reason, "status": error.code}
    return Problem(document, None if retry_after < 0 else retry_after)


def _seconds(headers: Any, default: float) -> float:
    told = headers.get("Retry-After", "")
    return float(told) if told.isdigit() else default


def _only_true(told: Mapping[str, bool]) -> dict[str, str]:
    return {name: "true" for name, value in told.items() if value}


def _bytes(answer: Answer) -> bytes:
    with answer:
        return answer.read()


def _json(answer: Answer) -> Json:
    return cast(Json, json.loads(_bytes(answer)))


def _is_success(call: Any) -> bool:
    try:
        call().close()
    except (Problem, OSError):
        return False
    return True
