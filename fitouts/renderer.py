"""Forms come out through the workshop's own components."""

from django.forms.renderers import TemplatesSetting


class PageRenderer(TemplatesSetting):
    form_template_name = "components/form.html"
    field_template_name = "components/field.html"
