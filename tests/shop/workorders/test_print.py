"""What is printed holds what was written, on any paper."""

import io

import pytest
from pypdf import PdfReader

from shop.workorders.actions import open_order


def text_of(answer) -> str:
    return "\n".join(page.extract_text() for page in PdfReader(io.BytesIO(answer.content)).pages)


@pytest.mark.parametrize("paper, size", [("A4", (595, 842)), ("Letter", (612, 792))])
def test_an_order_prints_with_its_machine_and_complaint(as_technician, office, floor, paper, size):
    order = open_order(by=office, machine=floor.machine, complaint="Slow <b>uphill</b> & hot")
    answer = as_technician.get(f"/orders/{order.pk}/order.pdf?paper={paper}")
    assert answer["Content-Type"] == "application/pdf"
    words = text_of(answer)
    for expected in ("W-00001", "HW180-00421", "Brinkholm Estate", "Slow <b>uphill</b> & hot", "page 1 of"):
        assert expected in words
    box = PdfReader(io.BytesIO(answer.content)).pages[0].mediabox
    assert (round(box.width), round(box.height)) == size
