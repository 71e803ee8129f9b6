"""Calls the sashwright planning service: plans, questions about them, and runs of kits.

>>> client = Client("http://127.0.0.1:8080")
>>> plan = client.plan(scenario)                # doctest: +SKIP
>>> batch = client.make_batch(kits, key="monday")   # doctest: +SKIP
>>> for result in client.results(batch["id"]): ...  # doctest: +SKIP

It needs nothing but Python. Documents are as the service's ``/openapi.json`` describes them; those that this package looks into have types
here (``types.py``), all others are ``Json``.
"""

from .client import OPERATIONS, Client
from .events import Event
from .problem import Late, Problem
from .types import (
    BatchKit,
    BatchResult,
    BatchStatus,
    Fault,
    Health,
    Json,
    ObjectiveEntry,
    ScenarioVerdict,
)

__all__ = [
    "OPERATIONS",
    "BatchKit",
    "BatchResult",
    "BatchStatus",
    "Client",
    "Event",
    "Fault",
    "Health",
    "Json",
    "Late",
    "ObjectiveEntry",
    "Problem",
    "ScenarioVerdict",
]
