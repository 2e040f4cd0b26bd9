"""A kept order as it lies in the record: plain words, but for the long workings, which are folded small; and back again."""

import base64
import json
import zlib

BLANK = {  # what an order kept by an earlier edition may lack
    "supersedes": "", "intake": [], "failure": [], "others": [], "quote": [], "quote_sum": "", "findings": [], "deferred": [], "approvals": [],
    "release": [], "warranty": [], "next_due": [], "released_h": "", "tests": {}, "total": "",
}  # fmt: skip


def frozen_of(kept: dict) -> dict:
    """Return a kept order as it is put into the record."""
    tests = kept["tests"]
    if not tests.get("working"):
        return kept
    small = base64.b64encode(zlib.compress(json.dumps(tests["working"]).encode(), 9)).decode()
    return kept | {"tests": {**tests, "working": [], "working_folded": small}}


def kept_of(frozen: dict) -> dict:
    """Return a kept order from the record, with nothing missing."""
    kept = BLANK | frozen
    folded = kept["tests"].get("working_folded")
    if not folded:
        return kept
    tests = {name: words for name, words in kept["tests"].items() if name != "working_folded"}
    return kept | {"tests": tests | {"working": json.loads(zlib.decompress(base64.b64decode(folded)))}}
