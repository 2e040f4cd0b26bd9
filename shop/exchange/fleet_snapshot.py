"""Hours that machines send: a fleet snapshot with the field names of ISO/TS 15143-3, as XML or JSON, whatever the case of its letters."""

from __future__ import annotations

import io
import json
import re
from dataclasses import dataclass
from xml.etree.ElementTree import ParseError

from defusedxml.common import DefusedXmlException
from defusedxml.ElementTree import iterparse

from calcs.thousands import grouped
from shop.exchange.limits import DEEPEST, LONGEST_CELL, MOST_BYTES, MOST_MACHINES
from shop.refusals import Refused

HEADER, HOURS = "equipmentheader", "cumulativeoperatinghours"
NAMES = {"oemname": "maker", "model": "model", "equipmentid": "equipment_id", "serialnumber": "serial", "pin": "pin"}
DURATION = re.compile(
    r"P(?:(\d{1,6})D)?(?:T(?:(\d{1,9}(?:\.\d{1,9})?)H)?(?:(\d{1,9}(?:\.\d{1,9})?)M)?(?:(\d{1,9}(?:\.\d{1,9})?)S)?)?", re.IGNORECASE
)


@dataclass(frozen=True)
class SentHours:
    """What one machine sent, as it stands in the file."""

    place: int
    at: str = ""
    hour: str = ""
    maker: str = ""
    model: str = ""
    equipment_id: str = ""
    serial: str = ""
    pin: str = ""


def read_snapshot(body: bytes) -> list[SentHours]:
    """Return what every machine of a snapshot sent."""
    if len(body) > MOST_BYTES:
        raise Refused(f"The file has {len(body) / 1048576:.1f} MB; up to {MOST_BYTES // 1048576} MB are read.")
    start = body.lstrip(b"\xef\xbb\xbf\xff\xfe\x00 \t\r\n")[:1]
    found = _from_json(body) if start in (b"{", b"[") else _from_xml(body)
    if not found:
        raise Refused("No machine was found in the file: Equipment with EquipmentHeader and CumulativeOperatingHours is looked for.")
    return found


def _from_xml(body: bytes) -> list[SentHours]:
    try:
        return _machines_of(iterparse(io.BytesIO(body), events=("start", "end"), forbid_dtd=True))
    except DefusedXmlException as trouble:
        raise Refused("The file defines entities or a document type of its own, which is never needed: it is not read.") from trouble
    except (ParseError, ValueError, LookupError) as trouble:
        raise Refused(f"The file is not whole XML ({str(trouble)[:80]}): fetch it anew.") from trouble


def _machines_of(events) -> list[SentHours]:
    """Walk through the elements, keeping one machine at a time."""
    found, path = [], []
    told: dict[str, str] = {}
    for event, element in events:
        name = element.tag.rsplit("}", 1)[-1].lower() if isinstance(element.tag, str) else ""
        if event == "start":
            path.append(name)
            if len(path) > DEEPEST:
                raise Refused(f"The file is nested more than {DEEPEST} deep: it is not read.")
            told = {} if name == "equipment" else told
            continue
        path.pop()
        _note(told, name, path, element)
        if name == "equipment":
            found.append(_sent(len(found) + 1, told))
        element.clear()
    return found


def _note(told: dict, name: str, path: list[str], element) -> None:
    above = path[-1] if path else ""
    if above == HEADER and name in NAMES:
        told[NAMES[name]] = element.text or ""
    elif name == "hour" and above == HOURS:
        told["hour"] = element.text or ""
    elif name == HOURS:
        told["at"] = next((value for key, value in element.attrib.items() if key.lower() == "datetime"), "")


def _from_json(body: bytes) -> list[SentHours]:
    try:
        told = json.loads(body, parse_float=str, parse_int=str, parse_constant=str)
        return [_of_object(place, each) for place, each in enumerate(_equipment(told), start=1)]
    except (ValueError, RecursionError) as trouble:
        raise Refused("The file is not whole JSON: fetch it anew.") from trouble


def _equipment(told) -> list:
    """Return the list of machines, wherever in the first levels it stands."""
    for _ in range(4):
        if isinstance(told, list):
            return told
        if not isinstance(told, dict):
            return []
        keys = {str(key).lower(): value for key, value in told.items()}
        told = keys.get("equipment", keys.get("fleet", keys.get("value")))
    return []


def _of_object(place: int, each) -> SentHours:
    keys = _small(each)
    header, hours = _small(keys.get(HEADER)), _small(keys.get(HOURS))
    told = {own: _text(header.get(name, keys.get(name))) for name, own in NAMES.items()}
    return _sent(place, told | {"at": _text(hours.get("datetime")), "hour": _text(hours.get("hour"))})


def _small(each) -> dict:
    return {str(key).lower(): value for key, value in each.items()} if isinstance(each, dict) else {}


def _text(value) -> str:
    return value if isinstance(value, str) else ""


def _sent(place: int, told: dict[str, str]) -> SentHours:
    if place > MOST_MACHINES:
        raise Refused(f"The file names more than {grouped(MOST_MACHINES)} machines: split it.")
    return SentHours(place, **{name: _plain(text) for name, text in told.items()})


def _plain(text: str) -> str:
    """Return a text without what is no text; one that is too long is no name of anything."""
    return "".join(sign for sign in text if sign.isprintable()).strip()[:LONGEST_CELL]


def hours_of_duration(text: str) -> float | None:
    """Return the hours of an ISO 8601 duration such as PT3533H6M; None where the text is none."""
    found = DURATION.fullmatch(text.strip())
    if not found or not any(found.groups()):
        return None
    days, hours, minutes, seconds = (float(part or 0) for part in found.groups())
    return days * 24 + hours + minutes / 60 + seconds / 3600
