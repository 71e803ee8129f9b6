"""Answers that are no success."""

from .types import Fault, Json


class Problem(Exception):
    """A problem document (RFC 9457): why there is no answer."""

    def __init__(self, document: Json, retry_after: float | None = None) -> None:
        self.type: str = document.get("type", "about:blank")
        self.title: str = document.get("title", "")
        self.status: int = document.get("status", 0)
        self.detail: str = document.get("detail", "")
        self.faults: list[Fault] = document.get("faults", [])
        self.retry_after = retry_after
        """Seconds after which another try may do, where the service says so."""
        faults = "".join(f"\n  {fault['pointer'] or 'the document'}: {fault['message']} {fault['mend']}" for fault in self.faults)
        super().__init__(f"{self.title} ({self.status}). {self.detail}{faults}")

    @property
    def name(self) -> str:
        """The last part of the type, such as ``queue-full``."""
        return self.type.rsplit("/", 1)[-1]


class Late(Exception):
    """A plan that takes longer than was waited for. It is made all the same: fetch it from its place later."""

    def __init__(self, place: str, retry_after: float) -> None:
        self.place = place
        self.retry_after = retry_after
        super().__init__(f"The plan will be at {place}.")
