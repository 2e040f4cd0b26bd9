"""What has been made so far, for the nouns that come after."""

from dataclasses import dataclass, field
from typing import Any

from shop.demo.times import Span


@dataclass
class Book:
    span: Span
    users: dict[str, Any] = field(default_factory=dict)
    technicians: dict[str, Any] = field(default_factory=dict)
    skills: dict[str, Any] = field(default_factory=dict)
    fluids: dict[str, Any] = field(default_factory=dict)
    additives: dict[str, dict[str, float]] = field(default_factory=dict)
    tasks: dict[str, Any] = field(default_factory=dict)
    customers: list[Any] = field(default_factory=list)
    models: dict[str, Any] = field(default_factory=dict)
    documents: dict[str, Any] = field(default_factory=dict)
    instruments: dict[str, Any] = field(default_factory=dict)
    machines: dict[str, Any] = field(default_factory=dict)
    uses: dict[str, Any] = field(default_factory=dict)  # machine number -> hours through the years
    units: dict[str, Any] = field(default_factory=dict)
    stays: list[Any] = field(default_factory=list)  # where each unit was fitted, from which hours on
    calls: dict[str, list[Any]] = field(default_factory=dict)  # machine number -> visits in order
    ledgers: dict[str, list[Any]] = field(default_factory=dict)  # machine number -> fills in order
    parts: dict[str, Any] = field(default_factory=dict)
    tests: list[Any] = field(default_factory=list)
