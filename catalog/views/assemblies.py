"""Pages of assemblies: what goes together, in versions, with its quantities and price for counts to try."""

from __future__ import annotations

from typing import Any

from django.contrib import messages
from django.core.exceptions import ValidationError
from django.db.models import Prefetch
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect
from django.utils.translation import gettext as _
from django.views.generic import TemplateView, View

from catalog import services_assemblies as services
from catalog.assemblies import ONE_OF_EACH, LineChange, count, differences, retired_in
from catalog.assembly_prices import prices_of
from catalog.filters import AssemblyFilter
from catalog.forms_assemblies import AssemblyForm, TrialForm
from catalog.models import Assembly, AssemblyVersion
from catalog.queries import people_by_id
from catalog.queries_assemblies import assemblies_for, newest_of, whole_lines
from catalog.rules import can_see_money
from catalog.tables_assemblies import AssemblyTable, RowSum
from catalog.views.base import Editor, ListPage, RecordPage, state_changes


class AssemblyList(ListPage):
    section = "assembly"
    rows = staticmethod(assemblies_for)
    filterset_class = AssemblyFilter
    table_class = AssemblyTable
    template_name = "catalog/assembly_list.html"

    def get_table(self, **kwargs: Any) -> Any:
        """The table, with what the rows of this page come to for one of everything that is counted."""
        table = super().get_table(**kwargs)
        newest = newest_of([row.record for row in table.paginated_rows])
        counted = {pk: count(version.lines.all(), ONE_OF_EACH) for pk, version in newest.items()}
        prices = prices_of(list(counted.values())) if can_see_money(self.request.user) else []
        amounts = dict(zip(counted, prices, strict=True)) if prices else {}
        table.sums = {
            pk: RowSum(
                line_count=len(newest[pk].lines.all()),
                mass_kg=sum(c.mass_kg for c in lines),
                amount=amounts[pk].amount if pk in amounts else None,
                has_retired=bool(retired_in(newest[pk].lines.all())),
            )
            for pk, lines in counted.items()
        }
        return table


class AssemblyDetail(RecordPage):
    """Lines of the newest version, or of ``?version=``, with the rest of the versions and a trial."""

    section = "assembly"
    rows = staticmethod(assemblies_for)
    template_name = "catalog/assembly_detail.html"
    context_object_name = "assembly"

    def get_context_data(self, **kwargs: Any) -> dict[str, Any]:
        versions = versions_of(self.object)
        version = self._version(versions)
        lines = list(version.lines.all())
        context = {
            "version": version,
            "lines": lines,
            "retired": retired_in(lines),
            "versions": _version_rows(versions),
            "is_newest": version == versions[0],
        }
        return super().get_context_data(**{**context, **self._trial(lines), **kwargs})

    def _version(self, versions: list[AssemblyVersion]) -> AssemblyVersion:
        wanted = self.request.GET.get("version", "")
        found = next((v for v in versions if str(v.number) == wanted), None) if wanted else versions[0]
        if found is None:
            raise Http404
        return found

    def _trial(self, lines: list[Any]) -> dict[str, Any]:
        asked = {line.per for line in lines}
        form = TrialForm(self.request.GET if "try" in self.request.GET else None, asked=sorted(asked))
        counted = count(lines, ONE_OF_EACH | form.counts())
        prices = prices_of([counted]) if can_see_money(self.request.user) else []
        price = prices[0] if prices else None
        return {
            "trial": form,
            "counted": list(zip(counted, price.lines, strict=True)) if price else [(c, None) for c in counted],
            "price": price,
            "mass_kg": sum(c.mass_kg for c in counted),
            "minutes": sum(c.minutes for c in counted),
        }


def versions_of(assembly: Assembly) -> list[AssemblyVersion]:
    """Versions of an assembly with their whole lines, the newest first."""
    return list(assembly.versions.prefetch_related(Prefetch("lines", whole_lines())))


def _version_rows(versions: list[AssemblyVersion]) -> list[tuple[AssemblyVersion, str, list[LineChange]]]:
    """Each version with who made it and what differs from the one before."""
    people = people_by_id({v.made_by_id for v in versions})
    rows = []
    for i, version in enumerate(versions):
        before = list(versions[i + 1].lines.all()) if i + 1 < len(versions) else None
        changes = [] if before is None else differences(before, list(version.lines.all()))
        rows.append((version, people.get(version.made_by_id, ""), changes))
    return rows


class AssemblyAdd(Editor, TemplateView):
    """The form of a new assembly; rows come and go by buttons, and nothing typed is lost."""

    section = "assembly"
    template_name = "catalog/assembly_form.html"
    record: Assembly | None = None

    def newest(self) -> AssemblyVersion | None:
        return versions_of(self.record)[0] if self.record else None

    def get(self, request: HttpRequest, *args: Any, **kwargs: Any) -> HttpResponse:
        return self._show(AssemblyForm(record=self.record, newest=self.newest()))

    def post(self, request: HttpRequest, *args: Any, **kwargs: Any) -> HttpResponse:
        form = AssemblyForm(request.POST, record=self.record, newest=None)
        again = form.acted(request.POST.get("act", ""))
        if again is not None:
            return self._show(again)
        saved = form.save(by=request.user) if form.is_valid() else None
        if saved is None:
            return self._show(form, status=422)
        words = _("%(name)s is saved as version %(number)d.")
        messages.success(request, words % {"name": saved.assembly.name, "number": saved.number})
        return redirect("catalog:assembly_detail", pk=saved.assembly_id)

    def _show(self, form: AssemblyForm, status: int = 200) -> HttpResponse:
        return self.render_to_response(self.get_context_data(form=form, record=self.record), status=status)


class AssemblyEdit(AssemblyAdd):
    """The next version of an assembly."""

    def dispatch(self, request: HttpRequest, *args: Any, **kwargs: Any) -> Any:
        if request.user.is_authenticated:
            self.record = get_object_or_404(assemblies_for(request.user), pk=kwargs["pk"])
        return super().dispatch(request, *args, **kwargs)


class AssemblyCopy(Editor, View):
    def post(self, request: HttpRequest, pk: int) -> HttpResponse:
        assembly = get_object_or_404(assemblies_for(request.user), pk=pk)
        try:
            copy = services.copy_assembly(assembly, by=request.user)
        except ValidationError as refused:
            messages.error(request, " ".join(refused.messages))
            return redirect("catalog:assembly_detail", pk=pk)
        messages.success(request, _("%(name)s is a copy; change what differs.") % {"name": copy})
        return redirect("catalog:assembly_edit", pk=copy.pk)


AssemblyRetire, AssemblyRestore = state_changes("assembly", assemblies_for)
