"""Customers with their yards and who may approve what."""

from fleet.models import Contact, Customer, Site
from shop.demo.book import Book

# number, name, phone, channel, cost of an hour's stop in cents, sites (name, region, gate, minutes), contacts (name, limit in cents)
CUSTOMERS = (
    (
        "C-00001",
        "Gut Wiesenbrook",
        "+00 555 0101",
        "phone",
        28_000,
        (("Home yard", "north", "Ring twice, dog is friendly", 20), ("Heath store", "north", "Key under the fuel tank lid", 35)),
        (("Dörte Wiesenbrook", 400_000), ("Hauke Lür", None)),
    ),
    (
        "C-00002",
        "Øvrelund Maskinlag",
        "+00 555 0102",
        "text",
        34_000,
        (("Øvrelund", "north", "Gate code on the order", 45),),
        (("Åse Øvrelund", 600_000), ("Njål Fossbakk", 80_000)),
    ),
    (
        "C-00003",
        "Ferme Brévaux-Langlais",
        "+00 555 0103",
        "mail",
        22_000,
        (("Les Aubrières", "south", "", 55),),
        (("Éloïse Brévaux", 250_000),),
    ),
    (
        "C-00004",
        "Żurawiec Rolnictwo",
        "+00 555 0104",
        "phone",
        25_000,
        (("Żurawiec", "east", "Low bridge, 3.6 m, come from the mill side", 70), ("Nowy Plon", "east", "", 80)),
        (("Łucja Żurawska", 300_000), ("Mścisław Gąsior", None)),
    ),
    (
        "C-00005",
        "Господарство Липодол",
        "+00 555 0105",
        "text",
        19_000,
        (("Липодол", "east", "", 95),),
        (("Оксана Липодольська", 200_000),),
    ),
    (
        "C-00006",
        "霧岬農産",
        "+00 555 0106",
        "mail",
        30_000,
        (("霧岬", "south", "Slippers in the office, please", 60),),
        (("霧島 碧", 350_000),),
    ),
    (
        "C-00007",
        "Harrowmere Contracting",
        "+00 555 0107",
        "phone",
        52_000,
        (("Harrowmere depot", "north", "Weighbridge first", 15), ("Sallowfield camp", "south", "Season only", 75)),
        (("Gwen Harrowmere", 1_000_000), ("Idris Pell", 150_000)),
    ),
    (
        "C-00008",
        "Κτήμα Αλμυρολίβαδο & Υιοί",
        "+00 555 0108",
        "post",
        17_000,
        (("Αλμυρολίβαδο", "south", "", 110),),
        (("Δανάη Αλμυρού", 150_000),),
    ),
)


def make_customers(book: Book) -> None:
    for number, name, phone, channel, stop, sites, contacts in CUSTOMERS:
        customer = Customer.objects.create(
            number=number,
            name=name,
            phone=phone,
            preferred_channel=channel,
            stop_cost_per_hour_cents=stop,
            agrees_to_photos=channel != "post",
            invoice_address=f"{name}\n{sites[0][0]}",
        )
        customer.yards = [
            Site.objects.create(customer=customer, name=site, region=region, gate_notes=gate, drive_minutes=minutes)
            for site, region, gate, minutes in sites
        ]
        customer.people = [
            Contact.objects.create(customer=customer, name=person, phone=phone, may_approve=limit is not None, approval_limit_cents=limit)
            for person, limit in contacts
        ]
        book.customers.append(customer)
