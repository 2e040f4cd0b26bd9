"""How a figure was reached: each step names its law, the numbers put in, the result and the source.

A step is taken by calling a function of `calcs` through `Working.take`. The law, the units and the source are read from that function's own
docstring, so what is printed beside a figure can never drift from what was worked out, and no formula is written twice.
"""

from __future__ import annotations

import inspect
import re
from collections.abc import Callable
from dataclasses import dataclass, field
from functools import cache
from typing import Any

SECTION = re.compile(r"^(?P<title>[A-Z][a-z]+)\n-{3,}\n", re.MULTILINE)
ENTRY = re.compile(r"^\*{0,2}(?P<name>\w+)\s*:.*$", re.MULTILINE)
UNIT = re.compile(r"\[(?P<unit>[^\]]*)\]")


@dataclass(frozen=True)
class Given:
    """One number put into a law, with its unit."""

    name: str
    value: Any
    unit: str


@dataclass(frozen=True)
class Step:
    """One law applied once."""

    name: str
    law: str
    given: tuple[Given, ...]
    result: Any
    unit: str
    source: str


@dataclass(frozen=True)
class Paper:
    """What a docstring says of its function: the sentence, the law, the units, the source."""

    sentence: str
    law: str
    units: dict[str, str]
    result_unit: str
    source: str


@cache
def paper_of(function: Callable) -> Paper:
    """Return what the docstring of `function` says, taken apart.

    Parameters
    ----------
    function : callable
        A public function of `calcs` with the sections Law, Parameters, Returns and Source [-]

    Returns
    -------
    paper : Paper
        Its sentence, law, units by parameter, unit of the result and source [-]

    Examples
    --------
    >>> from calcs.working import paper_of
    >>> paper_of(paper_of).result_unit
    '-'

    Source
    ------
    Section headings after the numpydoc style guide; our own reading of them.
    """
    text = inspect.getdoc(function) or ""
    parts = SECTION.split(text)
    sections = {parts[i]: parts[i + 1].strip() for i in range(1, len(parts) - 1, 2)}
    result = UNIT.search(sections.get("Returns", ""))
    return Paper(
        sentence=parts[0].strip().split("\n\n")[0].replace("\n", " "),
        law=" ".join(sections.get("Law", "").split()),
        units=units_by_name(sections.get("Parameters", "")),
        result_unit=result["unit"] if result else "",
        source=" ".join(sections.get("Source", "").split()),
    )


def units_by_name(parameters: str) -> dict[str, str]:
    """Return the unit in brackets that follows each name of a Parameters section.

    Parameters
    ----------
    parameters : str
        Text of the section: `name : type`, then an indented line that ends in the unit in brackets [-]

    Returns
    -------
    units : dict
        Unit by parameter name [-]

    Examples
    --------
    >>> units_by_name("speed_rpm : float\\n    Shaft speed [rev/min]")
    {'speed_rpm': 'rev/min'}

    Source
    ------
    Our own reading of the numpydoc section form.
    """
    heads = list(ENTRY.finditer(parameters))
    ends = [head.start() for head in heads[1:]] + [len(parameters)]
    units = {}
    for head, end in zip(heads, ends, strict=False):
        found = UNIT.search(parameters, head.end(), end)
        units[head["name"]] = found["unit"] if found else ""
    return units


@dataclass
class Working:
    """The steps by which one figure was reached, in order."""

    steps: list[Step] = field(default_factory=list)

    def take(self, function: Callable, /, named: str = "", **given: Any) -> Any:
        """Call `function` with `given`, keep the step, return the result."""
        result = function(**given)
        paper = paper_of(function)
        numbers = tuple(Given(name, value, paper.units.get(name, "")) for name, value in given.items())
        name = named or paper.sentence.removeprefix("Return ").rstrip(".")
        self.steps.append(Step(name[:1].upper() + name[1:], paper.law, numbers, result, paper.result_unit, paper.source))
        return result

    def note(self, name: str, value: Any, unit: str, source: str) -> Any:
        """Keep a figure that was read from a record and not worked out, with where it stands; return it."""
        self.steps.append(Step(name, "", (), value, unit, source))
        return value

    def as_rows(self) -> list[dict]:
        """Return the steps as plain rows that JSON can hold, for the page, the paper and the stored record alike."""
        return [
            {
                "name": step.name,
                "law": step.law,
                "given": [{"name": g.name, "value": g.value, "unit": g.unit} for g in step.given],
                "result": step.result,
                "unit": step.unit,
                "source": step.source,
            }
            for step in self.steps
        ]
