"""A need for which the catalogue has no part at all is told with the nearest, as it always was."""

from __future__ import annotations

from dataclasses import replace

from quoting.sizing.selecting.clashing import clash, lacking_of
from quoting.sizing.selecting.options import problem_of
from tests.quoting.sizing.selecting.small_catalogues import Case, case_at


def lacking(case: Case):
    return lacking_of(problem_of(case.brief, case.needs, case.market, case.steer), case.brief, case.needs)


def without(case: Case, kind: str) -> Case:
    catalogue = tuple(part for part in case.brief.catalogue if part.kind != kind)
    return replace(case, brief=case.brief.model_copy(update={"catalogue": catalogue}))


def test_nothing_is_told_where_every_group_has_an_option():
    case = case_at(0)
    problem = problem_of(case.brief, case.needs, case.market, case.steer)
    empty = set(problem.groups) - {group for option in problem.options for group in option.fills}

    assert (lacking(case) == ()) == (not empty)


def test_a_kind_that_is_not_there_at_all():
    case = without(case_at(0), "battery_monitor")

    (found,) = [one for one in lacking(case) if one.subject == "monitor"]

    assert (found.code, found.need.code) == ("none_of_kind", "monitoring")


def test_the_group_is_told_as_what_clashes_and_as_what_would_have_to_be_done_without():
    case = without(case_at(0), "battery_monitor")

    found = clash(problem_of(case.brief, case.needs, case.market, case.steer))

    assert "group:monitor" in [miss.code for miss in found.together]
    assert "group:monitor" in [miss.code for miss in found.change]


def test_the_nearest_is_named_where_all_are_of_another_voltage():
    """Every panel and battery there is; but inverters of the other voltage only."""
    case = next(case for case in map(case_at, range(60)) if case.needs.inverter is not None)
    other_v = 36 - case.brief.wishes.system_v
    turned = tuple(
        part.model_copy(update={"spec": {**part.spec, "nominal_v": other_v, "cutoff_v": 10.5 * other_v / 12}})
        if part.kind == "inverter"
        else part
        for part in case.brief.catalogue
    )
    case = replace(case, brief=case.brief.model_copy(update={"catalogue": turned}))

    (found,) = [one for one in lacking(case) if one.subject == "inverter"]

    assert found.code == "wrong_voltage"
    assert str(found.params["best"]).startswith("Model I")
