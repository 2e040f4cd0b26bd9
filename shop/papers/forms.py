"""Uploading papers."""

from django import forms

from shop.forms_base import ActForm
from shop.models import Paper

ENDINGS = ".jpg,.jpeg,.png,.webp,.pdf,.csv,.xlsx,.txt"


class SeveralFiles(forms.ClearableFileInput):
    allow_multiple_selected = True


class FilesField(forms.FileField):
    """One file or several."""

    def __init__(self, **kwargs):
        super().__init__(widget=SeveralFiles(attrs={"accept": ENDINGS}), max_length=None, **kwargs)

    def clean(self, data, initial=None):
        given = data if isinstance(data, (list, tuple)) else [data] if data else []
        if not given and self.required:
            raise forms.ValidationError("Pick at least one file.")
        return given


class PaperForm(ActForm):
    files = FilesField(label="Photos or papers", help_text="jpg, png, webp, pdf, csv, xlsx or txt, up to 10 MB each")
    kind = forms.ChoiceField(label="What it is", choices=Paper.Kind)
    caption = forms.CharField(label="What it shows", max_length=200, required=False)
