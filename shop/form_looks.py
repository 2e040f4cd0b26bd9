"""How a form field is drawn, everywhere the same."""

from django.forms.renderers import TemplatesSetting


class ShopFormRenderer(TemplatesSetting):
    field_template_name = "shop/_field.html"
