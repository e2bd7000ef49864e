"""The lists wiring is built from, and the fuse map: nothing of the design missing, sums that agree with the bill."""

from __future__ import annotations

import math

import pytest

from quoting import words
from quoting.documents import cutting, fuse_devices
from quoting.documents.builders import content_of, open_for
from quoting.documents.render import render
from quoting.documents.tracing import allowed_numbers, numbers_on
from tests.quoting.documents import sample
from tests.quoting.documents.many import design_of
from tests.quoting.documents.reading import BODIES, flat, pages, pieces

SIZES = [(5, {}), (20, {"trailer": True, "starter_loads": 3}), (60, {"batteries": 2, "senses": 6})]


def opened(kind, body):
    return open_for(kind, body, sample.PERSONAL, sample.CHECKSUM)


def content(kind, body):
    return content_of(kind, opened(kind, body))


@pytest.mark.parametrize(("circuits", "more"), SIZES)
def test_every_circuit_and_device_is_on_the_schedule(circuits, more):
    body = design_of(circuits, **more)

    rows = content("wiring", body).schedule

    assert [row.tag for row in rows] == [circuit["tag"] for circuit in body["appraisal"]["circuits"]]
    for row, circuit in zip(rows, body["appraisal"]["circuits"], strict=True):
        assert [each.words.split(" ")[0] for each in row.devices] == [each["tag"] for each in circuit["devices"]]


@pytest.mark.parametrize(("circuits", "more"), SIZES)
def test_every_device_is_on_the_fuse_map_once(circuits, more):
    body = design_of(circuits, **more)

    places = content("fuse_map", body).places

    found = sorted(row.tag for place in places for row in place.devices)
    assert found == sorted(d["tag"] for c in body["appraisal"]["circuits"] for d in c["devices"])
    fuses = [d for c in body["appraisal"]["circuits"] for d in c["devices"] if d["what"] == "fuse"]
    assert fuse_devices.spare_counts(opened("fuse_map", body)).total() == len(fuses)


@pytest.mark.parametrize(("circuits", "more"), SIZES)
def test_cable_to_buy_is_the_bills_and_covers_what_is_cut(circuits, more):
    """Pieces and their spare, rounded up to 0.1 m, are what the bill buys of each part."""
    frozen = opened("wiring", design_of(circuits, **more))
    spare = 1 + frozen.brief["policy"]["cable_spare_ratio"]
    laid: dict[str, float] = {}
    for piece in cutting.pieces_of(frozen):
        if not piece.stays and piece.part:
            laid[piece.part] = laid.get(piece.part, 0.0) + piece.length_m

    bought = {part: cutting.bought_m(frozen, part) for part in laid}

    assert laid
    assert bought == pytest.approx(
        {part: math.ceil(round(metres * spare * 10, 6)) / 10 for part, metres in laid.items()}, abs=0.1001
    )
    blocks = cutting.cable_blocks(frozen)
    assert sum(len(block.pieces) for block in blocks) == len(cutting.pieces_of(frozen))


@pytest.mark.parametrize(("circuits", "more"), SIZES)
def test_terminals_listed_are_those_pressed_on_the_pieces(circuits, more):
    frozen = opened("wiring", design_of(circuits, **more))
    ends = [e for p in cutting.pieces_of(frozen) if not p.stays for e in p.ends if e.terminal or e.form or e.stud_mm]

    rows = cutting.terminal_rows(frozen)

    assert sum(int(row.count.replace("\u202f", "")) for row in rows) == len(ends)


def test_a_design_from_before_pieces_still_prints_its_cable_and_terminals():
    body = sample.design_body()
    body["appraisal"].update(pieces=[], modules=[], shed_groups=[], inputs=[], sleeves=[], refused=[], ac=[])
    for circuit in body["appraisal"]["circuits"]:
        circuit.update(negative="", negative_colour="", passes=[], key="")

    made = content("wiring", body)

    bought = [line for line in body["appraisal"]["bill"] if line["rule"].startswith("cable_")]
    assert len(made.cables) == len({line["part"] for line in bought})
    assert [block.buy for block in made.cables if not block.buy] == []
    assert len(made.terminals) == len([line for line in body["appraisal"]["bill"] if line["rule"] == "terminal"])
    assert "Cable to cut" in flat(render("wiring", body, sample.PERSONAL, sample.CHECKSUM).pdf)


def test_what_stays_is_neither_cut_nor_bought():
    body = sample.design_body()
    for piece in body["appraisal"]["pieces"]:
        piece["stays"] = piece["circuit"] == "C7"

    blocks = content("wiring", body).cables

    staying = [block for block in blocks if block.name == "stays in the vehicle"]
    assert {piece.circuit for block in staying for piece in block.pieces} == {"C7"}
    assert [(block.buy, block.spare) for block in staying] == [("", "")] * len(staying)


@pytest.mark.parametrize("kind", BODIES)
def test_what_was_settled_by_hand_stands_on_every_paper_with_its_reason(kind):
    body = BODIES[kind](sample.by_hand)

    lights = next(c for c in body["appraisal"]["circuits"] if c["key"] == "load:lights")
    before = next(each["before"] for each in lights["changed"] if each["field"] == "area_mm2")

    text = flat(render(kind, body, sample.PERSONAL, sample.CHECKSUM).pdf).lower()

    assert "by hand" in text
    assert f"conductor 6 mm², worked out {before:g} mm²" in text
    assert "sturdier behind the tail-light panel (ines okafor-brandt)" in text


@pytest.mark.parametrize("kind", ["wiring", "diagram"])
def test_a_change_that_is_not_taken_is_said_with_its_rule(kind):
    made = content(kind, sample.design_body(sample.by_hand))

    refused = [note for note in made.by_hand if note.no == "–"]

    assert len(refused) >= 1
    assert all("not taken: " in note.words and note.reason == "A larger one was at hand" for note in refused)
    assert next(row for row in made.schedule if row.tag == "C7").marks == ("by hand, note 1",)


@pytest.mark.parametrize("kind", ["wiring", "labels", "fuse_map"])
def test_numbers_of_a_system_settled_by_hand_are_traced(kind):
    body = sample.design_body(sample.by_hand)
    made = render(kind, body, sample.PERSONAL, sample.CHECKSUM)

    allowed = allowed_numbers(body, sample.PERSONAL)

    assert [(page, token) for page, token in numbers_on(made.pdf) if token not in allowed] == []


@pytest.mark.parametrize(("kind", "form"), [("wiring", "a3"), ("fuse_map", "a5")])
def test_papers_of_sixty_circuits_keep_their_margins_and_trace(kind, form):
    body = design_of(60, batteries=2, senses=6)

    made = render(kind, body, sample.PERSONAL, sample.CHECKSUM, form)

    wide = {"a3": 1190.55, "a5": 419.53}[form]
    assert [p for p in pieces(made.pdf) if p.x < 50 or p.right > wide - 51 + 1.5] == []
    assert [p for p in pieces(made.pdf) if p.size < 6.99] == []
    allowed = allowed_numbers(body, sample.PERSONAL)
    assert [(page, token) for page, token in numbers_on(made.pdf) if token not in allowed] == []


def test_the_fuse_map_starts_with_how_to_turn_everything_off():
    body = sample.design_body()

    first = " ".join(pages(render("fuse_map", body, sample.PERSONAL, sample.CHECKSUM).pdf)[0].split())

    assert "Emergency: turn everything off 1. Stop the engine" in first
    assert "Turn the battery isolator off: Q2 (Cargo drawer)." in first
    assert "stays live until that battery is disconnected" in first
    assert "call 000." in first
    assert "Never fit a larger fuse" in first


def test_shed_groups_and_outputs_say_what_the_design_settled():
    body = sample.design_body()
    group = body["appraisal"]["shed_groups"][0]

    made = content("wiring", body)

    assert made.shedding[0].circuits == ", ".join(group["circuits"])
    assert made.shedding[0].below == "20\u00a0%"
    outputs = [row for module in made.modules for row in module.outputs]
    assert len(outputs) == sum(len(module["limits_a"]) for module in body["appraisal"]["modules"])
    assert [row.circuit for row in outputs].count("spare") == sum(
        len(module["free"]) for module in body["appraisal"]["modules"]
    )


def test_an_owner_reads_what_is_dead_before_unhitching():
    body = sample.as_built_body()
    body["brief"]["vehicle"]["hitch"] = {"tow": "engine", "trailer": "rear", "length_m": 1.5}
    body["appraisal"]["dead_unhitched"] = [
        {"what": "load", "key": "lights", "name": "Camp and cargo lights", "essential": False},
        {"what": "source", "key": "engine", "name": "", "essential": False},
    ]

    text = flat(render("handover", body, sample.PERSONAL, sample.CHECKSUM).pdf)

    assert "Dead while the trailer stands alone: Camp and cargo lights, charging from the engine." in text
    assert "Cap both halves at once" in text
    assert "Unhitched" not in flat(render("handover", sample.as_built_body(), sample.PERSONAL, sample.CHECKSUM).pdf)


def test_the_fuse_map_tells_dangers_in_full_and_names_the_rest():
    """At night a fuse is looked for: what a fuse has nothing to do with takes lines, not a page."""
    body = sample.design_body()
    body["appraisal"]["findings"][0]["level"] = "danger"
    made = content("fuse_map", body).notices

    text = flat(render("fuse_map", body, sample.PERSONAL, sample.CHECKSUM).pdf)

    assert made[0].level == "danger"
    assert len([each for each in made if each.level != "danger"]) > 2
    for each in made:
        assert each.title.replace("\u00a0", " ") in text
        assert (each.sentence[:40].replace("\u00a0", " ") in text) == (each.level == "danger")


def test_the_schedule_cuts_no_words_and_claims_nothing_of_a_signals_conductor():
    body = design_of(20, senses=4)
    thin = next(row for row in content("wiring", body).schedule if row.tag == "T1")

    text = flat(render("wiring", body, sample.PERSONAL, sample.CHECKSUM).pdf)

    assert "…" not in text.replace("………………", "")
    assert (thin.current, thin.ampacity, thin.left, thin.decided) == ("0.02", "–", "", "signal")


def test_each_mains_way_names_the_questions_that_are_asked_of_it():
    body = design_of(5)
    made = content("wiring", body)
    asked = {
        link["tag"]: [words.question_words(code) for code in link["questions"]] for link in body["appraisal"]["ac"]
    }

    assert made.ac
    for row in made.ac:
        numbers, *more = row.questions
        assert not more
        assert {made.questions[int(n) - 1] for n in numbers.split(", ")} == set(asked[row.tag])
