"""Forms of customers and contacts."""

from __future__ import annotations

from typing import Any

from django import forms

from fitouts.models import Contact, Customer


class CustomerForm(forms.ModelForm):
    class Meta:
        model = Customer
        fields = ["kind", "name", "phone", "email", "business_no", "address", "notes"]
        widgets = {
            "address": forms.Textarea(attrs={"rows": 3, "autocomplete": "off"}),
            "notes": forms.Textarea(attrs={"rows": 4}),
        }

    def clean_name(self) -> Any:
        return " ".join(self.cleaned_data["name"].split())


class ContactForm(forms.ModelForm):
    class Meta:
        model = Contact
        fields = ["name", "job_title", "phone", "email"]
