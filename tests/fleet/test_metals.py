from datetime import UTC, datetime, timedelta

import numpy as np
import pytest
from django.utils import timezone

from fleet.metal_series import as_readings, metal_rates, usual_rates
from fleet.metals import review_metals, review_metals_of
from fleet.models import FluidFill, LabValue, Machine, MetalGroup, MetalState, OilSample, UnitEvent
from tests.wear_fleet import put_unit

BEGUN = datetime(2023, 3, 1, 9, tzinfo=UTC)
SYSTEM_L, CHANGED_L, EVERY_H = 45.0, 40.5, 500.0
CARRY = 1 - CHANGED_L / SYSTEM_L


def day(life_h: float) -> datetime:
    return BEGUN + timedelta(days=life_h / 2)


def put_machine(floor, number: int) -> Machine:
    return put_unit(floor, number, with_machine=True).installations.get().machine


def put_sample(machine, life_h: float, oil_h: float, **metals) -> OilSample:
    """`metals` are figures, or text as the laboratory typed it."""
    sample = OilSample.objects.create(
        label=f"S-{OilSample.objects.count():05d}", machine=machine, drawn_at=day(life_h), life_h=life_h, oil_h=oil_h
    )
    for item, figure in metals.items():
        is_below = isinstance(figure, str)
        told = {"typed": figure, "value": None} if is_below else {"typed": f"{figure:.2f}", "value": figure}
        LabValue.objects.create(sample=sample, item=item, unit="ppm", is_below_limit=is_below, **told)
    return sample


def live(floor, machine, rate_at, samples: int, seed: int, noise: float = 0.05) -> None:
    """Run a machine: oil changed every 500 h to nine tenths, a sample every 250 h, metal made at `rate_at(life_h)` ppm an hour."""
    dice, ppm = np.random.default_rng(seed), 0.0
    FluidFill.objects.create(machine=machine, kind="first_fill", product=floor.oil, filled_at=day(0), life_h=0, fill_l=SYSTEM_L)
    for place in range(1, samples + 1):
        life_h = 250.0 * place
        ppm += 250.0 * rate_at(life_h - 125)
        put_sample(machine, life_h, 250.0 if place % 2 else EVERY_H, Fe=ppm * dice.normal(1, noise))
        if place % 2 == 0:
            at = day(life_h) + timedelta(hours=2)
            FluidFill.objects.create(
                machine=machine, kind="change", product=floor.oil, filled_at=at, life_h=life_h, fill_l=CHANGED_L, drained_l=CHANGED_L
            )
            ppm *= CARRY


@pytest.fixture
def machines(floor):
    """Twelve machines; the first makes iron faster and faster."""
    made = [put_machine(floor, 100 + number) for number in range(12)]
    for number, machine in enumerate(made):
        live(floor, machine, lambda h, grows=number == 0: 0.02 * (1 + (0.6 * h / 1000 if grows else 0)), 10, number)
    return made


def test_the_rate_is_found_through_changes_of_oil(machines):
    rows = metal_rates(machines[3].pk)
    assert len(rows) == 10
    assert rows.rate.to_numpy() == pytest.approx(2.0, rel=0.25)
    assert rows.rate.mean() == pytest.approx(2.0, rel=0.06)
    assert rows.carry.unique() == pytest.approx(CARRY)


def test_a_top_up_that_thins_the_metal_is_given_back(floor):
    with_it, without = put_machine(floor, 100), put_machine(floor, 101)
    for machine in (with_it, without):
        FluidFill.objects.create(machine=machine, kind="first_fill", product=floor.oil, filled_at=day(0), life_h=0, fill_l=SYSTEM_L)
        put_sample(machine, 400, 400, Fe=8.0)
    FluidFill.objects.create(machine=with_it, kind="top_up", product=floor.oil, filled_at=day(200), life_h=200, fill_l=9)
    assert metal_rates(without.pk).rate.item() == pytest.approx(2.0)
    assert metal_rates(with_it.pk).rate.item() == pytest.approx(2.0 * 0.2 / (1 - np.exp(-0.2)), rel=1e-6)  # balance of a stirred vessel


def test_what_lies_below_the_limit_of_the_laboratory_is_counted_as_half_and_doubted(floor):
    machine = put_machine(floor, 100)
    FluidFill.objects.create(machine=machine, kind="first_fill", product=floor.oil, filled_at=day(0), life_h=0, fill_l=SYSTEM_L)
    put_sample(machine, 400, 400, Fe=4.0, Cu="<8", Sn="ND")
    rows = metal_rates(machine.pk).set_index("metal")
    assert rows.ppm.to_dict() == {"Fe": 4.0, "Cu": 4.0}
    assert rows.rate.Cu == rows.rate.Fe
    assert rows.doubt.Cu > 2 * rows.doubt.Fe


def test_oil_that_is_too_young_tells_no_rate(floor):
    machine = put_machine(floor, 100)
    FluidFill.objects.create(machine=machine, kind="first_fill", product=floor.oil, filled_at=day(0), life_h=0, fill_l=SYSTEM_L)
    put_sample(machine, 20, 20, Fe=2.0)
    assert metal_rates(machine.pk).rate.isna().all()


def test_the_machine_that_makes_ever_more_iron_is_told_and_no_other(machines):
    review_metals(timezone.now())
    rising = MetalState.objects.rising()
    assert [state.machine for state in rising] == [machines[0]]
    assert rising[0].alarm == "critical"
    assert rising[0].level_ratio > 1.8
    assert all(state.rises is (state.machine_id == machines[0].pk) for state in MetalState.objects.all())


def test_the_same_answer_twice_and_for_one_machine_alone(machines):
    names = ["machine", "metal", "samples", "state", "alarm", "rate", "level_ratio", "p_wearing"]
    review_metals(timezone.now())
    first = list(MetalState.objects.values_list(*names))
    review_metals(timezone.now())
    assert list(MetalState.objects.values_list(*names)) == first
    review_metals_of(machines[0], timezone.now())
    again = list(MetalState.objects.values_list(*names))
    assert [row[:5] for row in again] == [row[:5] for row in first]
    assert [row[6] for row in again] == pytest.approx([row[6] for row in first], rel=1e-6)


def test_a_new_sample_updates_its_machine_alone(machines):
    review_metals(timezone.now())
    put_sample(machines[5], 3000, 500, Fe=60.0)
    review_metals_of(machines[5], timezone.now())
    assert MetalState.objects.get(machine=machines[5]).samples == 11
    assert MetalState.objects.count() == 12


def test_a_drive_rebuilt_or_exchanged_starts_its_metals_anew(machines):
    stay = machines[0].installations.get()
    UnitEvent.objects.create(unit=stay.unit, kind="rebuilt", happened_on=day(2100).date(), component_h=2100)
    rows = metal_rates(machines[0].pk)
    assert rows.epoch.nunique() == 2
    assert rows[rows.epoch == 1].since_h.min() == 0
    review_metals(timezone.now())
    assert MetalState.objects.get(machine=machines[0]).samples == int((rows.epoch == 1).sum())


def test_fewer_than_three_machines_make_no_usual_rate(floor):
    for number in range(2):
        live(floor, put_machine(floor, 100 + number), lambda h: 0.02, 6, number)
    rows = metal_rates()
    assert as_readings(rows, usual_rates(rows)).empty
    assert review_metals(timezone.now()) == 0
    assert not MetalGroup.objects.exists()


def test_without_samples_nothing_is_said(floor):
    assert review_metals(timezone.now()) == 0
    assert review_metals_of(floor.machine, timezone.now()) == 0
