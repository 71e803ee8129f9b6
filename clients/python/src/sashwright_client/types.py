"""The documents that this package looks into. A test compares each with its schema in the service's OpenAPI document."""

from typing import Any, NotRequired, TypedDict

Json = dict[str, Any]
"""Any other document."""


class Fault(TypedDict):
    """A fault of a document: where (JSON Pointer, RFC 6901), what was seen, what would mend it."""

    pointer: str
    code: str
    message: str
    mend: str


class ObjectiveEntry(TypedDict):
    """A term of the goal: its value, and what no valid plan can beat."""

    term: str
    value: float
    bound: float
    proven: bool


class ScenarioVerdict(TypedDict):
    """Whether a scenario can be planned as it stands."""

    valid: bool
    faults: list[Fault]
    strips: NotRequired[int | None]


class PlanCounts(TypedDict):
    """How many of the different plans of a batch are there."""

    asked: int
    ended: int
    planned: int


class UnderwayPlan(TypedDict):
    """A plan that is being made."""

    number: int
    objective: list[ObjectiveEntry]


class BatchLinks(TypedDict):
    """Where the parts of a batch are."""

    results: str
    kits: str
    summary: str
    events: str


class BatchStatus(TypedDict):
    """How far a batch is; ``state`` is waiting, running, adding_up, finished or cancelled."""

    format: int
    id: str
    name: str
    state: str
    share_across_kits: bool
    kits: int
    copies: int
    plans: PlanCounts
    underway: list[UnderwayPlan]
    accepted: str
    closed: NotRequired[str | None]
    expires: NotRequired[str | None]
    links: BatchLinks


class BatchResult(TypedDict):
    """How one of the different plans of a batch ended; figures are those of one copy."""

    place: int
    number: int
    copies: int
    status: str
    objective: NotRequired[list[ObjectiveEntry]]
    hoopings: NotRequired[int]
    joints: NotRequired[int]
    hands_on_minutes: NotRequired[float | None]
    machine_minutes: NotRequired[float | None]
    unplanned: NotRequired[int]
    faults: NotRequired[list[Fault]]
    plan: NotRequired[str | None]
    scenario: str
    document: NotRequired[Json | None]


class BatchKit(TypedDict):
    """A kit of a batch with one of its hoop sets, and the number of its plan."""

    number: int
    kit: str
    hoop_set: NotRequired[str | None]
    copies: int
    labels: NotRequired[dict[str, str]]
    plan: int
    status: NotRequired[str | None]


class Health(TypedDict):
    """How the service is."""

    status: str
    version: str
    build: str
    solving: int
    waiting: int
    kept: Json
    accepted: Json
