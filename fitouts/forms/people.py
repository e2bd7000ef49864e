"""Forms of accounts."""

from __future__ import annotations

from django import forms

from fitouts.models import User


class PersonForm(forms.ModelForm):
    """A new account. Its password is made by the server and shown once."""

    class Meta:
        model = User
        fields = ["username", "display_name", "role", "licence_no"]


class PersonChangeForm(forms.ModelForm):
    class Meta:
        model = User
        fields = ["display_name", "role", "licence_no"]
