"""Forms of one task that is due: put it off, approve that, lengthen its interval."""

from django import forms

from fleet.models import Contact
from shop.checked_fields import DayField
from shop.figure_fields import FigureField
from shop.forms_base import ActForm
from shop.models import Deferral

MOST_DAYS_OFF = 2 * 366  # a deferral or a longer interval beyond that is a slip of the year, a shop rule


class DeferralForm(ActForm):
    reason = forms.ChoiceField(choices=Deferral.Reason, label="Reason")
    words = forms.CharField(max_length=300, label="Why, in words", help_text="Who said what; it is printed with the task")
    until_h = FigureField(label="New limit, life hours", places=1, least=0, most=999_999, help_text="Overdue again at these hours")
    until_on = DayField(ahead_days=MOST_DAYS_OFF, label="New limit, date", help_text="or on this day, whichever comes first")
    risk_seen = forms.BooleanField(
        label="The risk above was read to whoever decides", error_messages={"required": "Read the risk sentence first, then tick this box."}
    )


class ApprovalForm(ActForm):
    contact = forms.ModelChoiceField(
        Contact.objects.none(), required=False, label="Approved by", empty_label="me, in my own name",
        help_text="Choose a person at the customer if they approved it; the office may keep that",
    )  # fmt: skip

    def __init__(self, *args, customer, **kwargs):
        super().__init__(*args, **kwargs)
        self.fields["contact"].queryset = Contact.objects.filter(customer=customer, may_approve=True, is_retired=False)


class ExtensionForm(ActForm):
    share = FigureField(label="Longer by, per cent", places=1, least=1, most=25)
    expires_on = DayField(ahead_days=MOST_DAYS_OFF, label="Holds until")
    reason = forms.CharField(max_length=300, label="Why, in words")
    restriction_low = forms.BooleanField(required=False, label="The filter restriction was seen low on warm oil")
    warranty_clause = forms.BooleanField(required=False, label="A warranty term fixes this interval")
