"""Forms of tables on their way in."""

from __future__ import annotations

from typing import Any

from django import forms
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from quoting.models import SheetImport
from quoting.services import sheet_files
from quoting.services.sheets import type_of

ENCODINGS = [
    ("utf-8", "UTF-8"),
    ("utf-16", "UTF-16"),
    ("windows-1252", gettext_lazy("Windows-1252 (western European)")),
]
DELIMITERS = [
    (",", gettext_lazy("comma ,")),
    (";", gettext_lazy("semicolon ;")),
    ("\t", gettext_lazy("tab")),
    ("|", gettext_lazy("bar |")),
]
DECIMALS = [
    ("either", gettext_lazy("either, where it is clear")),
    ("point", gettext_lazy("point: 1,234.5")),
    ("comma", gettext_lazy("comma: 1.234,5")),
]
TO = "to_"
"""Before the number of a column of the file."""


class UploadForm(forms.Form):
    """A table to bring in."""

    table = forms.FileField(
        label=gettext_lazy("File"),
        help_text=gettext_lazy("CSV or XLSX, at most 25 MB and 60,000 rows. The first row holds the heads."),
        widget=forms.FileInput(attrs={"accept": ".csv,.txt,.tsv,.xlsx"}),
        error_messages={
            "required": gettext_lazy("Choose a file first."),
            "missing": gettext_lazy("Choose a file first."),
        },
        allow_empty_file=True,
    )


def too_large_words(size: int) -> str:
    """Why a table was refused for its size."""
    return _("The file has {size} MB; a table may have at most {limit} MB. Part it in several.").format(
        size=round(size / (1024 * 1024), 1), limit=sheet_files.MAX_BYTES // (1024 * 1024)
    )


class ReadingForm(forms.Form):
    """How a file is read; only what its format leaves open."""

    sheet = forms.ChoiceField(label=gettext_lazy("Sheet of the workbook"))
    encoding = forms.ChoiceField(label=gettext_lazy("Encoding"), choices=ENCODINGS)
    delimiter = forms.ChoiceField(label=gettext_lazy("Between cells"), choices=DELIMITERS)
    decimal = forms.ChoiceField(label=gettext_lazy("Decimal sign"), choices=DECIMALS)

    def __init__(self, *args: Any, reading: dict[str, Any], sheet_names: list[str], **kwargs: Any) -> None:
        super().__init__(*args, **{**kwargs, "initial": reading})
        fields: dict[str, Any] = self.fields
        if reading.get("format") == "xlsx":
            del fields["encoding"], fields["delimiter"]
            fields["sheet"].choices = [(name, name) for name in sheet_names]
        else:
            del fields["sheet"]
            if not reading.get("encoding"):
                fields["encoding"].choices = [("", _("choose")), *ENCODINGS]
        for field in fields.values():
            field.error_messages["required"] = _("Choose one.")


class MatchForm(forms.Form):
    """One choice for each column of the file: where it goes, or that it stays out."""

    def __init__(self, *args: Any, sheet: SheetImport, user: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.columns = type_of(sheet).columns_for(user)
        choices = [("", _("leave out")), *((c.name, column_words(c)) for c in self.columns)]
        for number, head in enumerate(sheet.columns):
            self.fields[f"{TO}{number}"] = forms.ChoiceField(
                label=head or _("column without a head"),
                choices=choices,
                required=False,
                initial=sheet.mapping.get(str(number), ""),
            )

    def mapping(self) -> dict[str, str]:
        """What was chosen, as the service takes it; choices that make no sense are left out."""
        self.is_valid()
        return {name.removeprefix(TO): value for name, value in self.cleaned_data.items() if value}


def column_words(column: Any) -> str:
    """Label and unit of a column."""
    words = f"{column.label} ({column.unit})" if column.unit else str(column.label)
    return f"{words} *" if column.required else words


def missing_words(columns: Any, mapping: dict[str, str]) -> list[str]:
    """Labels of the columns that every new row must fill in and that no column of the file goes to."""
    return [str(c.label) for c in columns if c.required and c.name not in mapping.values()]


def sample_columns(sheet: SheetImport, rows: list[list[str]]) -> list[list[str]]:
    """The first cells of each column of the file."""
    return [[row[number] for row in rows if number < len(row)] for number in range(len(sheet.columns))]
