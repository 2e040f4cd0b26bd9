"""Work orders: from the call to the release, with lines, moves, approvals and hours of work. Money is in whole cents."""

from decimal import ROUND_HALF_UP

from django.conf import settings
from django.db import models
from django.db.models import F, Q

from fleet.models import Contact, Customer, DriveUnit, Failure, Machine
from fleet.models.base import Recorded, Versioned
from shop.models.parts import Part
from shop.models.service import ServiceTask
from shop.models.visits import Finding


class WorkOrderQuerySet(models.QuerySet):
    def open(self):
        return self.exclude(state__in=WorkOrder.ENDED)

    def of(self, machine):
        return self.filter(machine=machine)


class WorkOrder(Versioned, Recorded):
    class State(models.TextChoices):
        TAKEN_IN = "taken_in", "Taken in"
        DIAGNOSING = "diagnosing", "Diagnosing"
        WAITING_APPROVAL = "waiting_approval", "Waiting for approval"
        WAITING_PARTS = "waiting_parts", "Waiting for parts"
        IN_WORK = "in_work", "In work"
        FINAL_TEST = "final_test", "Final test"
        RELEASED = "released", "Released"
        COLLECTED = "collected", "Collected"
        CANCELLED = "cancelled", "Cancelled"

    class Fitness(models.TextChoices):
        YES = "yes", "Safe to work"
        RESTRICTED = "restricted", "Restricted"
        NO = "no", "Not to be used"

    ENDED = (State.RELEASED, State.COLLECTED, State.CANCELLED)

    number = models.CharField(max_length=20, unique=True)
    state = models.CharField(max_length=18, choices=State, default=State.TAKEN_IN)
    customer = models.ForeignKey(Customer, models.PROTECT, related_name="orders")
    machine = models.ForeignKey(Machine, models.PROTECT, related_name="orders")
    unit = models.ForeignKey(DriveUnit, models.PROTECT, null=True, blank=True, related_name="orders")
    taken_in_at = models.DateTimeField()
    caller = models.CharField("who called and how to reach them", max_length=160, blank=True)
    intake = models.JSONField("answers of the intake", default=dict, blank=True)
    life_h = models.DecimalField("machine life hours at intake", max_digits=9, decimal_places=1, null=True, blank=True)
    complaint = models.TextField(blank=True)
    symptom = models.CharField(max_length=20, choices=Failure.Mode, blank=True)
    cause = models.TextField(blank=True)
    correction = models.TextField(blank=True)
    promised_on = models.DateField(null=True, blank=True)
    is_warranty = models.BooleanField(default=False)
    comeback_of = models.ForeignKey("self", models.PROTECT, null=True, blank=True, related_name="comebacks")
    comeback_answer = models.CharField(max_length=200, blank=True)
    failure = models.ForeignKey(Failure, models.PROTECT, null=True, blank=True, related_name="orders")
    fitness = models.CharField("safe to work", max_length=12, choices=Fitness, blank=True)
    test_waiver = models.CharField("no final test, because", max_length=200, blank=True)
    waived_by = models.ForeignKey(settings.AUTH_USER_MODEL, models.PROTECT, null=True, blank=True, related_name="+")
    cautions_seen_by = models.ForeignKey(settings.AUTH_USER_MODEL, models.PROTECT, null=True, blank=True, related_name="+")
    cautions_seen_at = models.DateTimeField(null=True, blank=True)
    released_at = models.DateTimeField(null=True, blank=True)
    released_by = models.ForeignKey(settings.AUTH_USER_MODEL, models.PROTECT, null=True, blank=True, related_name="+")
    frozen = models.JSONField("what was printed at release", null=True, blank=True)
    supersedes = models.OneToOneField("self", models.PROTECT, null=True, blank=True, related_name="superseded_by")
    supersede_reason = models.CharField(max_length=300, blank=True)

    objects = WorkOrderQuerySet.as_manager()

    class Meta:
        ordering = ["-taken_in_at", "-pk"]
        constraints = [
            models.CheckConstraint(
                name="released_order_is_complete",
                condition=~Q(state__in=["released", "collected"])
                | (Q(released_at__isnull=False, released_by__isnull=False) & ~Q(cause="") & ~Q(correction="") & ~Q(fitness="")),
            ),
            models.CheckConstraint(name="superseding_order_says_why", condition=Q(supersedes=None) | ~Q(supersede_reason="")),
        ]

    def __str__(self):
        return self.number

    @property
    def has_ended(self) -> bool:
        return self.state in self.ENDED


class OrderMove(Recorded):
    """The order went from one state to another: who, when, why."""

    order = models.ForeignKey(WorkOrder, models.PROTECT, related_name="moves")
    from_state = models.CharField(max_length=18, blank=True)
    to_state = models.CharField(max_length=18)
    reason = models.CharField(max_length=200, blank=True)

    class Meta:
        ordering = ["pk"]

    def __str__(self):
        return f"{self.order} to {self.to_state}"


class OrderLine(Versioned):
    class Kind(models.TextChoices):
        TASK = "task", "Task"
        LABOUR = "labour", "Labour"
        PART = "part", "Part"
        SUBLET = "sublet", "Work elsewhere"
        TRAVEL = "travel", "Travel"

    class State(models.TextChoices):
        OPEN = "open", "Open"
        DONE = "done", "Done"
        NOT_DONE = "not_done", "Not done, because"

    class Urgency(models.TextChoices):
        NOW = "now", "Now"
        BEFORE_SEASON = "before_season", "Before season"
        CAN_WAIT = "can_wait", "Can wait"

    order = models.ForeignKey(WorkOrder, models.PROTECT, related_name="lines")
    position = models.PositiveSmallIntegerField(default=1)
    kind = models.CharField(max_length=8, choices=Kind, default=Kind.TASK)
    words = models.CharField(max_length=300)
    task = models.ForeignKey(ServiceTask, models.PROTECT, null=True, blank=True, related_name="order_lines")
    unit = models.ForeignKey(DriveUnit, models.PROTECT, null=True, blank=True, related_name="order_lines")
    finding = models.ForeignKey(Finding, models.PROTECT, null=True, blank=True, related_name="order_lines")
    part = models.ForeignKey(Part, models.PROTECT, null=True, blank=True, related_name="order_lines")
    quantity = models.DecimalField(max_digits=9, decimal_places=2, default=1)
    price_each_cents = models.PositiveBigIntegerField("price each", default=0)
    urgency = models.CharField(max_length=14, choices=Urgency, default=Urgency.NOW)
    evidence = models.CharField(max_length=400, blank=True)
    is_approved = models.BooleanField(null=True, blank=True)
    is_forced = models.BooleanField("may not be struck out", default=False)
    state = models.CharField(max_length=8, choices=State, default=State.OPEN)
    why_not = models.CharField(max_length=200, blank=True)
    waived_by = models.ForeignKey(settings.AUTH_USER_MODEL, models.PROTECT, null=True, blank=True, related_name="+")

    class Meta:
        ordering = ["order_id", "position", "pk"]
        constraints = [
            models.CheckConstraint(name="order_line_quantity_above_zero", condition=Q(quantity__gt=0)),
            models.CheckConstraint(name="line_not_done_says_why", condition=~Q(state="not_done") | ~Q(why_not="")),
            models.CheckConstraint(
                name="forced_line_waived_by_name", condition=Q(is_forced=False) | ~Q(state="not_done") | Q(waived_by__isnull=False)
            ),
        ]

    def __str__(self):
        return self.words

    @property
    def total_cents(self) -> int:
        return int((self.quantity * self.price_each_cents).quantize(1, ROUND_HALF_UP))


class Approval(Recorded):
    """What was approved, by whom, in which words, up to which sum; frozen as given."""

    class Channel(models.TextChoices):
        PHONE = "phone", "Phone"
        TEXT = "text", "Text message"
        MAIL = "mail", "E-mail"
        PERSON = "person", "In person"

    order = models.ForeignKey(WorkOrder, models.PROTECT, related_name="approvals")
    contact = models.ForeignKey(Contact, models.PROTECT, related_name="approvals")
    given_at = models.DateTimeField()
    channel = models.CharField(max_length=8, choices=Channel)
    words = models.TextField("exact words")
    limit_cents = models.PositiveBigIntegerField()
    lines = models.JSONField(default=list)

    class Meta:
        ordering = ["order_id", "given_at", "pk"]

    def __str__(self):
        return f"{self.contact} approved {self.order}"


class LabourEntry(Recorded):
    class Kind(models.TextChoices):
        DIAGNOSE = "diagnose", "Diagnosing"
        REPAIR = "repair", "Repair"
        TEST = "test", "Testing"
        TRAVEL = "travel", "Travel"
        WAIT_PARTS = "wait_parts", "Waiting for parts"
        WAIT_CUSTOMER = "wait_customer", "Waiting for the customer"
        REWORK = "rework", "Rework"

    order = models.ForeignKey(WorkOrder, models.PROTECT, related_name="labour")
    technician = models.ForeignKey("shop.Technician", models.PROTECT, related_name="labour")
    kind = models.CharField(max_length=14, choices=Kind)
    started_at = models.DateTimeField()
    ended_at = models.DateTimeField(null=True, blank=True)
    by_hand = models.BooleanField(default=False)
    note = models.CharField(max_length=200, blank=True)

    class Meta:
        ordering = ["order_id", "started_at", "pk"]
        constraints = [
            models.CheckConstraint(name="labour_ends_after_it_begins", condition=Q(ended_at=None) | Q(ended_at__gte=F("started_at"))),
            models.UniqueConstraint(fields=["technician"], condition=Q(ended_at=None), name="one_clock_running_per_person"),
        ]

    def __str__(self):
        return f"{self.technician} {self.kind} on {self.order}"

    @property
    def work_h(self):
        return (self.ended_at - self.started_at).total_seconds() / 3600 if self.ended_at else None
