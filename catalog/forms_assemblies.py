"""The form of an assembly: its name, and rows that come and go without a script."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from typing import Any

from django import forms
from django.core.exceptions import NON_FIELD_ERRORS, ValidationError
from django.forms.utils import ErrorDict
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from catalog.assemblies import COUNTED
from catalog.form_fields import QuantityField
from catalog.models import Assembly, AssemblyLine, AssemblyVersion, LabourOperation
from catalog.queries_assemblies import Thing, Things
from catalog.services_assemblies import MOST_EACH, MOST_LINES, LinesRefused, LineValues, save_assembly

NEW_ROWS = 3
NEW_EACH = "1"
"""What stands in a row that nobody has touched yet."""
ACT = re.compile(r"(remove|up|down)-(\d{1,3})")


class LineForm(forms.Form):
    """One row. What is typed is looked up in ``things``; an empty row is no row."""

    what = forms.CharField(
        label=gettext_lazy("Component or labour"),
        max_length=120,
        required=False,
        widget=forms.TextInput(attrs={"list": "things", "autocomplete": "off"}),
    )
    fixed = QuantityField(label=gettext_lazy("Always"), minimum=0, maximum=MOST_EACH, required=False)
    each = QuantityField(label=gettext_lazy("For each"), minimum=0, maximum=MOST_EACH, required=False)
    per = forms.ChoiceField(label=gettext_lazy("of these"), choices=AssemblyLine.Per.choices)
    round_up = forms.BooleanField(label=gettext_lazy("Whole ones only"), required=False)

    def __init__(self, *args: Any, things: Things, **kwargs: Any) -> None:
        self.things = things
        super().__init__(*args, **kwargs)

    def unchecked(self) -> None:
        """Show the entries without judging them."""
        self._errors = ErrorDict()

    @property
    def is_empty(self) -> bool:
        typed = {n: str(self.data.get(self.add_prefix(n), "")).strip() for n in ("what", "fixed", "each")}
        return not typed["what"] and not typed["fixed"] and typed["each"] in ("", NEW_EACH)

    def clean_what(self) -> Thing | None:
        if self.is_empty:
            return None
        thing, why_not = self.things.find(self.cleaned_data["what"].replace("\0", ""))
        if thing is None:
            raise forms.ValidationError(why_not)
        return thing

    def line(self) -> LineValues:
        """The row as the service takes it; what is left empty counts as 0."""
        values = dict(self.cleaned_data)
        thing = values.pop("what")
        is_labour = isinstance(thing, LabourOperation)
        return LineValues(
            component=None if is_labour else thing,
            labour=thing if is_labour else None,
            fixed=values["fixed"] or 0.0,
            each=values["each"] or 0.0,
            per=values["per"],
            round_up=values["round_up"],
        )


class AssemblyForm(forms.Form):
    """Name and rows. ``data`` holds ``rows``, how many there are, and ``seen``, the version they were made from."""

    name = forms.CharField(label=gettext_lazy("Name"), max_length=120)
    what_for = forms.CharField(label=gettext_lazy("What it is for"), max_length=200, required=False)
    why = forms.CharField(label=gettext_lazy("What changed"), max_length=200, required=False)
    notes = forms.CharField(
        label=gettext_lazy("Notes"), max_length=2000, required=False, widget=forms.Textarea(attrs={"rows": 3})
    )

    def __init__(
        self, data: Mapping[str, Any] | None = None, *, record: Assembly | None = None, newest: AssemblyVersion | None
    ) -> None:
        self.record, self.things = record, Things()
        self.seen = newest.number if newest else 0
        initial = {n: getattr(record, n) for n in ("name", "what_for", "notes")} if record else {}
        super().__init__(data, initial=initial)
        if record is None:
            del self.fields["why"]
        if data is None:
            self.rows = self._saved_rows(newest)
        else:
            self.seen = _number(data.get("seen")) or 0
            self.rows = [self._row(i, data) for i in range(min(_number(data.get("rows")) or 0, MOST_LINES + NEW_ROWS))]

    def _row(self, number: int, data: Mapping[str, Any] | None = None, **initial: Any) -> LineForm:
        return LineForm(data, prefix=f"row{number}", things=self.things, initial=initial or None)

    def _saved_rows(self, newest: AssemblyVersion | None) -> list[LineForm]:
        lines: Sequence[AssemblyLine] = list(newest.lines.all()) if newest else []
        rows = [
            self._row(i, what=self.things.typed(x.what), fixed=x.fixed, each=x.each, per=x.per, round_up=x.round_up)
            for i, x in enumerate(lines)
        ]
        spare = 1 if lines else NEW_ROWS
        return rows + [self._row(len(rows) + i, each=1.0, round_up=True) for i in range(spare)]

    def acted(self, act: str) -> AssemblyForm | None:
        """The same entries with a row more, one less or two changed about; ``None`` when ``act`` is to save."""
        typed = [_typed(row) for row in self.rows]
        found = ACT.fullmatch(act)
        if act == "add":
            if len(typed) < MOST_LINES:
                typed.append({"each": NEW_EACH, "round_up": "on", "per": AssemblyLine.Per.ASSEMBLY})
        elif found and int(found[2]) < len(typed):
            _move(typed, found[1], int(found[2]))
        else:
            return None
        data = {name: self.data.get(name, "") for name in ("name", "what_for", "why", "notes")}
        data |= {"rows": str(len(typed)), "seen": str(self.seen)}
        for i, entries in enumerate(typed):
            data |= {f"row{i}-{name}": text for name, text in entries.items()}
        again = AssemblyForm(data, record=self.record, newest=None)
        again.unchecked()
        return again

    def unchecked(self) -> None:
        """Show the entries without judging them: nothing was asked to be saved."""
        self._errors = ErrorDict()
        for row in self.rows:
            row.unchecked()

    def is_valid(self) -> bool:
        fine = super().is_valid()
        checked = [row.is_valid() for row in self.rows if not row.is_empty]
        return fine and all(checked)

    def save(self, *, by: Any) -> AssemblyVersion | None:
        """Save it as the next version; ``None`` when it was refused, with the reasons in their places."""
        filled = [row for row in self.rows if not row.is_empty]
        values = {name: self.cleaned_data[name] for name in ("name", "what_for", "notes")}
        try:
            return save_assembly(
                values,
                [row.line() for row in filled],
                by=by,
                assembly=self.record,
                why=self.cleaned_data.get("why", ""),
                seen=self.seen if self.record else None,
            )
        except LinesRefused as refused:
            for number, words in refused.of_line.items():
                filled[number].add_error("what", words)
        except ValidationError as refused:
            self._take(refused)
        return None

    def _take(self, refused: ValidationError) -> None:
        if not hasattr(refused, "error_dict"):
            self.add_error(None, refused)
            return
        for name, errors in refused.error_dict.items():
            self.add_error(name if name in self.fields else None, errors if name != NON_FIELD_ERRORS else list(errors))

    @property
    def wrong(self) -> list[tuple[str, str, str]]:
        """What is wrong, in the order of the page: id of the entry, its label, the sentence."""
        if not self.is_bound:
            return []
        found = [("", "", str(e)) for e in self.non_field_errors()]
        found += [(f.id_for_label, str(f.label), str(f.errors[0])) for f in self.visible_fields() if f.errors]
        for number, row in enumerate(self.rows, start=1):
            if row.is_empty:
                continue
            for f in row.visible_fields():
                if f.errors:
                    label = _("Line %(n)d, %(field)s") % {"n": number, "field": f.label}
                    found.append((f.id_for_label, label, str(f.errors[0])))
        return found


class TrialForm(forms.Form):
    """Counts to try an assembly with."""

    assembly = QuantityField(
        label=AssemblyLine.Per.ASSEMBLY.label, minimum=1, maximum=500, whole=True, required=False, initial=1
    )

    def __init__(self, data: Mapping[str, Any] | None, *, asked: Sequence[str]) -> None:
        super().__init__(data)
        labels = dict(AssemblyLine.Per.choices)
        for per in [p for p in COUNTED if p in asked]:
            whole = per != AssemblyLine.Per.METRE
            self.fields[per] = QuantityField(
                label=labels[per],
                minimum=0,
                maximum=10000,
                whole=whole,
                unit="" if whole else "m",
                required=False,
                initial=1,
            )

    def counts(self) -> dict[str, float]:
        """What was typed, 1 for each left empty; a wrong entry counts as 1 too, and says what is wrong."""
        self.is_valid()
        values = getattr(self, "cleaned_data", {})
        return {name: 1.0 if values.get(name) is None else float(values[name]) for name in self.fields}


def _typed(row: LineForm) -> dict[str, str]:
    """Entries of a row as they were typed; a tick that is off is not there."""
    return {n: str(row.data[row.add_prefix(n)]) for n in row.fields if row.add_prefix(n) in row.data}


def _move(rows: list[dict[str, str]], how: str, number: int) -> None:
    if how == "remove":
        del rows[number]
        return
    other = number - 1 if how == "up" else number + 1
    if 0 <= other < len(rows):
        rows[number], rows[other] = rows[other], rows[number]


def _number(text: Any) -> int | None:
    return int(text) if isinstance(text, str) and text.isascii() and text.isdigit() and len(text) <= 6 else None
