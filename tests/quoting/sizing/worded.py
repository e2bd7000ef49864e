"""Whether everything an Appraisal says can be said in words, and every sum followed."""

from __future__ import annotations

from quoting import words
from quoting.sizing.appraisal import Appraisal
from tests.quoting.sizing.sums import follow


def assert_worded(found: Appraisal) -> None:
    """Every code of the Appraisal has words, and their places are filled."""
    for finding in found.findings:
        title, sentence = words.finding_words(finding)
        assert title != finding.code, f"no words for finding {finding.code}"
        assert "{" not in title + sentence
        for name in finding.params:
            assert f"({name})" not in sentence
    for figure in found.figures.values():
        assert words.figure_words(figure) != figure.code, f"no words for figure {figure.code}"
        assert words.method_words(figure.method) != figure.method, f"no words for method of {figure.code}"
        for line in figure.steps:
            assert line.code in words.STEP, f"no words for step {line.code}"
            assert "(" + line.code not in words.step_words(line)
    for load in found.loads:
        assert all(line.code in words.STEP for line in load.steps), load.key
    for short in found.shortfalls:
        assert short.code in words.SHORTFALL
        assert short.need.code in words.NEED
        assert words.shortfall_words(short)
    for code in found.questions:
        assert words.question_words(code) != code, f"no words for question {code}"
    for circuit in found.circuits:
        assert words.rule_words(circuit.decided_by) != circuit.decided_by, f"no words for rule {circuit.decided_by}"
        assert all(line.code in words.STEP for line in circuit.steps), [x.code for x in circuit.steps]
    for line in found.bill:
        assert words.rule_words(line.rule) != line.rule, f"no words for rule {line.rule}"
    for reading in found.expectations:
        assert words.reading_words(reading) != reading.code, f"no words for reading {reading.code}"


def assert_sums_follow(found: Appraisal) -> None:
    """Every figure's lines lead to its value."""
    for code, figure in found.figures.items():
        value = follow(figure)
        assert abs(value - figure.value) <= 1e-6 * max(1.0, abs(figure.value)), code
