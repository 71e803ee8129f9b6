"""Server-sent events (HTML Living Standard, section 9.2), as far as the service sends them."""

import json
from collections.abc import Iterable, Iterator
from dataclasses import dataclass

from .types import Json


@dataclass(frozen=True)
class Event:
    """What happened to a batch: ``result``, ``incumbent`` or ``status``, with its document."""

    name: str
    document: Json
    id: str | None = None
    """Of a result its place: the stream can be taken up after it."""


def read(lines: Iterable[bytes]) -> Iterator[Event]:
    """The events of a stream, as they come."""
    name, data, last = "message", [], None  # type: str, list[str], str | None
    for line in lines:
        text = line.decode().rstrip("\r\n")
        if not text:
            if data:
                yield Event(name, json.loads("\n".join(data)), last)
            name, data, last = "message", [], None
            continue
        field, _, value = text.partition(":")
        value = value.removeprefix(" ")
        if field == "event":
            name = value
        elif field == "data":
            data.append(value)
        elif field == "id":
            last = value
