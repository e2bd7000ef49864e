"""Every address of the project and who may use it. Read by the permission tests and by the browser's walk.

A row says which rows of the database its address names, and what nobody, a technician, an estimator and a manager
are answered to GET and to a POST that says nothing. 302 for nobody leads to the sign-in page; 302 for somebody is a
deed done, or refused in words on the page it leads back to. 422 is a form shown again.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from django.urls import URLPattern, URLResolver, get_resolver, reverse

Answers = tuple[int, int, int, int]

READ: Answers = (302, 200, 200, 200)
OFFICE: Answers = (302, 403, 200, 200)
BOSS: Answers = (302, 403, 403, 200)
EVERYONE: Answers = (302, 302, 302, 302)
OFFICE_DOES: Answers = (302, 403, 302, 302)
BOSS_DOES: Answers = (302, 403, 403, 302)
AGAIN: Answers = (302, 422, 422, 422)
OFFICE_AGAIN: Answers = (302, 403, 422, 422)
NEVER: Answers = (405, 405, 405, 405)
NOT_SO: Answers = (302, 405, 405, 405)
OFFICE_NOT_SO: Answers = (302, 403, 405, 405)
GONE: Answers = (404, 404, 404, 404)


@dataclass(frozen=True, slots=True)
class Address:
    """One named address."""

    name: str
    rows: str
    """Names of the rows whose keys are its arguments."""
    get: Answers
    post: Answers
    kind: str = "page"
    """``page``, ``part`` of a page that stands alone too, ``file``, or ``deed`` (POST alone)."""

    def url(self, keys: dict[str, object]) -> str:
        return reverse(self.name, args=[keys[row] for row in self.rows.split()])


def _page(name: str, rows: str = "", get: Answers = READ, post: Answers = NOT_SO, kind: str = "page") -> Address:
    return Address(name, rows, get, post, kind)


def _deed(name: str, rows: str, post: Answers, get: Answers = NEVER) -> Address:
    return Address(name, rows, get, post, "deed")


def _records(section: str, *, copied: bool, key: str = "") -> list[Address]:
    key, name = key or section, f"catalog:{section}"
    deeds = ["retire", "restore", *(["copy"] if copied else [])]
    return [
        _page(f"{name}_list"),
        _page(f"{name}_detail", key),
        _page(f"{name}_edit", key, OFFICE, OFFICE_AGAIN),
        *(_deed(f"{name}_{deed}", key, OFFICE_DOES, OFFICE_NOT_SO) for deed in deeds),
    ]


CATALOG = [
    *_records("component", copied=True),
    _page("catalog:component_add", "", OFFICE, OFFICE_NOT_SO),
    _page("catalog:component_add_kind", "kind", OFFICE, OFFICE_AGAIN),
    *_records("appliance", copied=True),
    _page("catalog:appliance_add", "", OFFICE, OFFICE_NOT_SO),
    _page("catalog:appliance_add_way", "way", OFFICE, OFFICE_AGAIN),
    *_records("labour", copied=False),
    _page("catalog:labour_add", "", OFFICE, OFFICE_AGAIN),
    *_records("assembly", copied=True),
    _page("catalog:assembly_add", "", OFFICE, OFFICE_AGAIN),
    *_records("supplier", copied=False),
    _page("catalog:supplier_add", "", OFFICE, OFFICE_AGAIN),
    *_records("site", copied=False),
    _page("catalog:site_add", "", OFFICE, OFFICE_AGAIN),
    _page("place_estimate", "", OFFICE, OFFICE_AGAIN),
    _page("place_file", "", OFFICE, OFFICE_AGAIN),
]

DESK = [
    _page("find"),
    _page("find_suggest", kind="part"),
    _page("catalog:bulk_actions", "", OFFICE, OFFICE_NOT_SO),
    _page("catalog:bulk", "bulk_about", OFFICE, OFFICE_AGAIN),  # nothing picked
    _page("catalog:bulk_undo", "bulk_action", (302, 403, 200, 200), OFFICE_AGAIN),  # not looked at first
    _deed("catalog:filter_keep", "", AGAIN, NOT_SO),
    _deed("catalog:filter_rename", "saved_filter", (302, 404, 422, 404), NOT_SO),  # the estimator's own
    _deed("catalog:filter_remove", "saved_filter", (302, 404, 302, 404), NOT_SO),
]

PEOPLE_AND_VEHICLES = [
    _page("first_run", "", GONE, GONE),
    _page("sign_in", "", (200, 302, 302, 302), (200, 302, 302, 302)),
    _deed("sign_out", "", EVERYONE),
    _page("account", "", READ, READ),
    _page("customer_list"),
    _page("customer_add", "", OFFICE, OFFICE),
    _page("customer", "customer", READ, READ),
    _page("customer_edit", "customer", OFFICE, OFFICE),
    _deed("customer_retire", "customer", OFFICE_DOES),
    _page("contact_add", "customer", OFFICE, OFFICE),
    _page("contact_edit", "contact", OFFICE, OFFICE),
    _deed("contact_remove", "contact", OFFICE_DOES),
    _page("vehicle_add", "customer", OFFICE, OFFICE),
    _page("vehicle_list"),
    _page("vehicle", "vehicle", READ, READ),
    _page("vehicle_edit", "vehicle", OFFICE, OFFICE),
    _page("vehicle_survey", "vehicle", READ, EVERYONE),  # nothing in a survey is compulsory
    _deed("vehicle_retire", "vehicle", OFFICE_DOES),
    _page("position_add", "vehicle", READ, READ, "part"),
    _page("position_edit", "vehicle position", READ, READ, "part"),
    _deed("position_remove", "vehicle position", EVERYONE),
    _page("run_add", "vehicle", READ, READ, "part"),
    _page("run_edit", "vehicle run", READ, READ, "part"),
    _deed("run_remove", "vehicle run", EVERYONE),
    _deed("starter_set", "vehicle set", EVERYONE),
    _page("roof_add", "vehicle", READ, AGAIN),
    _page("roof_edit", "vehicle roof_area", READ, AGAIN),
    _deed("roof_remove", "vehicle roof_area", EVERYONE),
    _page("battery_space_add", "vehicle", READ, AGAIN),
    _page("battery_space_edit", "vehicle battery_space", READ, AGAIN),
    _deed("battery_space_remove", "vehicle battery_space", EVERYONE),
    _page("hitch_add", "vehicle", READ, READ),
    _page("hitch_edit", "vehicle hitch", READ, READ),
    _deed("hitch_part", "vehicle hitch", EVERYONE),
    _deed("photo_add", "vehicle", AGAIN),
    _page("photo", "photo", READ, NEVER, "file"),
    _deed("photo_remove", "photo", EVERYONE),
    _page("workshop", "", BOSS, BOSS),
    _page("workshop_money", "", BOSS, BOSS),
    _page("markups", "", BOSS, BOSS),
    _page("tax_add", "", BOSS, BOSS),
    _deed("tax_remove", "tax", BOSS_DOES),
    _page("instruments", "", BOSS, BOSS),
    _page("instrument_add", "", BOSS, BOSS),
    _page("instrument_edit", "instrument", BOSS, BOSS),
    _deed("instrument_retire", "instrument", BOSS_DOES),
    _page("people", "", BOSS, BOSS),
    _page("person_add", "", BOSS, BOSS),
    _page("person_edit", "person", BOSS, BOSS),
    _deed("person_switch", "person", BOSS_DOES),
    _deed("person_password", "person", BOSS),
]

JOBS = [
    _page("bench", "", READ, NEVER),
    _page("job_list"),
    _page("job_add", "", OFFICE, OFFICE_AGAIN),
    _page("component_names", "", READ, NEVER, "part"),
    _page("appliance_names", "", READ, NEVER, "part"),
    _page("vehicle_names", "", READ, NEVER, "part"),
    _page("job", "job", READ, NEVER),
    _page("job_changes", "job", READ, NEVER),
    _page("circuits", "job", READ, NEVER),
    _page("circuit_change", "job circuit", OFFICE, OFFICE_AGAIN),
    _deed("circuit_change_remove", "job circuit_changed", OFFICE_DOES),
    _page("existing", "job", READ, NEVER),
    _deed("existing_take_over", "job", EVERYONE),
    _page("existing_add", "job", READ, AGAIN),
    _page("existing_edit", "job lying", READ, AGAIN),
    _deed("existing_drop", "job lying", EVERYONE),
    _page("bill", "job", READ, NEVER),
    _page("bill_out", "job format", READ, NEVER, "file"),
    _page("plan", "job", READ, NEVER),
    _page("vehicle_plan", "vehicle", READ, AGAIN),
    _page("outputs", "job", READ, NEVER),
    _page("diagram", "job", READ, NEVER),
    _deed("output_move", "job", OFFICE_DOES),
    _deed("outputs_clear", "job", OFFICE_DOES),
    _deed("outputs_undo", "job", OFFICE_DOES),
    _page("sense_add", "job", OFFICE, OFFICE_AGAIN),
    _page("sense_edit", "job sense", OFFICE, OFFICE_AGAIN),
    _deed("sense_remove", "job sense", OFFICE_DOES),
    _page("outlook", "job", READ, NEVER),
    _page("what_if", "job", READ, NEVER),
    _page("offers", "job", OFFICE, NEVER),
    _page("offers_progress", "job", OFFICE_DOES, NEVER, "part"),  # by itself it leads to the page
    _deed("offers_ask", "job", OFFICE_DOES),
    _deed("offers_cancel", "job", OFFICE_DOES),
    _deed("offers_ease", "job", OFFICE_DOES),
    _deed("offers_let_go", "job", OFFICE_DOES),
    _deed("offers_quote", "job", OFFICE_DOES),
    _page("proposal", "proposal", OFFICE, NEVER),
    _deed("proposal_take", "proposal", OFFICE_DOES),
    _deed("proposal_drop", "proposal", OFFICE_DOES),
    _page("proposal_swap", "proposal role", OFFICE, OFFICE_AGAIN),
    _page("job_figure", "job figure", READ, NEVER),
    _page("job_edit", "job", OFFICE, OFFICE_AGAIN),
    _deed("job_move", "job", EVERYONE),
    _deed("package_keep", "job", OFFICE_DOES),
    _deed("job_kind", "job", OFFICE_DOES),
    _page("found_add", "job", READ, AGAIN),
    _deed("found_take_over", "job", EVERYONE),
    _page("found_edit", "job found_part", READ, AGAIN),
    _deed("found_remove", "job found_part", EVERYONE),
    _page("defect_add", "job", READ, AGAIN),
    _page("defect_edit", "job defect", READ, AGAIN),
    _deed("defect_remove", "job defect", EVERYONE),
    _page("defect_settle", "job defect", READ, AGAIN),
    _page("line_add", "job", OFFICE, OFFICE_AGAIN, "part"),
    _page("line_find", "job", OFFICE, NEVER, "part"),
    _deed("line_preview", "job", OFFICE),
    _deed("lines_copy", "job", OFFICE_DOES),
    _page("line_edit", "job line", OFFICE, OFFICE_AGAIN, "part"),
    _deed("line_remove", "job line", OFFICE_DOES),
    _deed("line_move", "job line", OFFICE_DOES),
    _page("stop_add", "job", OFFICE, OFFICE_AGAIN, "part"),
    _page("stop_edit", "job stop", OFFICE, OFFICE_AGAIN, "part"),
    _deed("stop_remove", "job stop", OFFICE_DOES),
    _deed("stop_move", "job stop", OFFICE_DOES),
    _deed("places_set", "job", EVERYONE),
    _deed("wishes_set", "job", OFFICE_AGAIN),
    _deed("component_wish", "job", OFFICE_DOES),
    _page("steering", "job", OFFICE, OFFICE_DOES),  # nothing in it is compulsory
    _deed("supplier_wish", "job", OFFICE_DOES),
    _deed("assembly_take", "job", OFFICE_AGAIN),
    _deed("assembly_use_edit", "job use", OFFICE_AGAIN),
    _deed("assembly_use_newest", "job use", OFFICE_DOES),
    _deed("assembly_use_remove", "job use", OFFICE_DOES),
    _page("package_list", "", READ, NEVER),
    _page("package_detail", "package", READ, NEVER),
    _deed("package_price", "package", OFFICE_DOES),
    _deed("package_retire", "package", OFFICE_DOES),
    _deed("package_restore", "package", OFFICE_DOES),
    _page("fleet_list", "", READ, NEVER),
    _page("fleet_new", "", OFFICE, OFFICE_AGAIN),
    _page("fleet", "fleet", READ, NEVER),
    _page("fleet_progress", "fleet", EVERYONE, NEVER, "part"),  # by itself it leads to the page
    _deed("fleet_stop", "fleet", OFFICE_DOES),
    _deed("fleet_go_on", "fleet", OFFICE_DOES),
    _page("fleet_out", "fleet format", READ, NEVER, "file"),
    _deed("job_work_out", "job", OFFICE_DOES),
    _deed("quote_draft", "job", OFFICE_DOES),
    _page("revision", "issued", OFFICE, NEVER),
    _deed("quote_terms", "draft", OFFICE_AGAIN),
    _deed("quote_line_add", "draft", OFFICE_AGAIN),
    _deed("quote_part_add", "draft", OFFICE_AGAIN),
    _deed("quote_work_add", "draft", OFFICE_AGAIN),
    _deed("quote_line_remove", "hand_line", OFFICE_DOES),
    _deed("quote_issue", "draft", OFFICE_DOES),
    _deed("quote_withdraw", "issued", OFFICE_DOES),
    _deed("quote_accept", "issued", OFFICE_AGAIN),
    _page("papers", "job", READ),
    _deed("paper_ask", "job", (302, 400, 400, 400), NOT_SO),  # no kind named
    _page("paper_open", "paper", kind="file"),
    _deed("paper_retry", "paper", EVERYONE, NOT_SO),
    _deed("paper_cancel", "paper", EVERYONE, NOT_SO),
    _page("build", "built", READ, NEVER),
    _deed("build_start", "job", EVERYONE),
    _deed("reading_take", "built", EVERYONE),
    _deed("commissioning", "built", EVERYONE),  # nothing in it is compulsory
    _deed("build_tested", "built", EVERYONE),
    _deed("deliver", "built", AGAIN),
    _deed("build_tick", "tick", EVERYONE),
    _deed("part_record", "part", EVERYONE),  # serial numbers come one by one
    _page("system", "system", READ, NEVER),
]

KEEPING = [
    _page("archives", "", BOSS, BOSS_DOES),
    _deed("archive_bring", "", (302, 403, 403, 422)),
    _page("archive_open", "archive", (302, 403, 403, 409), NEVER, "file"),
    _deed("archive_remove", "archive", BOSS_DOES),
    _page("archive_restore", "archive", BOSS, (302, 403, 403, 422)),
    _page("workshop_engineering", "", BOSS, (302, 403, 403, 422)),
    _page("customer_erase", "customer", BOSS, (302, 403, 403, 422)),
]

TABLES = [
    _page("tables", "", READ, NEVER),
    _page("table_kind", "table", READ, (302, 403, 422, 422)),
    _page("table_empty", "table format", OFFICE, NEVER, "file"),
    _page("table_whole", "table format", READ, NEVER, "file"),
    _page("list_out", "list format", READ, NEVER, "file"),
    _page("sheet_list", "", OFFICE, NEVER),
    _page("sheet", "sheet", OFFICE, NEVER),
    _page("sheet_progress", "sheet", OFFICE_DOES, NEVER, "part"),  # by itself it leads to the page
    _page("sheet_problems", "sheet", OFFICE, NEVER, "file"),
    _deed("sheet_reading", "sheet", OFFICE_AGAIN),
    _deed("sheet_check", "sheet", OFFICE_DOES),
    _deed("sheet_reopen", "sheet", OFFICE_DOES),
    _deed("sheet_stop", "sheet", OFFICE_DOES),
    _deed("sheet_save", "sheet", OFFICE_AGAIN),  # one of its cells is wrong
    _deed("sheet_drop", "sheet", OFFICE_DOES),
]

TABLE = {address.name: address for address in (*CATALOG, *DESK, *PEOPLE_AND_VEHICLES, *JOBS, *KEEPING, *TABLES)}


def named(patterns: list[URLPattern | URLResolver] | None = None, before: str = "") -> Iterator[str]:
    """Names of all addresses that the project answers to; one without a name gives its pattern."""
    for pattern in get_resolver().url_patterns if patterns is None else patterns:
        if isinstance(pattern, URLResolver):
            space = f"{pattern.namespace}:" if pattern.namespace else ""
            yield from named(pattern.url_patterns, before + space)
        else:
            yield before + (pattern.name or str(pattern.pattern))
